//! Smooth lines, rings and blocks on a picture.
//!
//! A line is every pixel near enough to it, its edge softened over one pixel. A ring runs at a
//! distance outside a closed outline. Nothing here depends on the order of equal distances, so
//! the same marks give the same bytes.

use crate::PointPx;
use image::{Rgb, RgbImage};

/// How a line is drawn.
#[derive(Clone, Debug)]
pub(super) struct Stroke {
    pub(super) colour: Rgb<u8>,
    pub(super) width: f64,
    pub(super) dash: Dash,
    pub(super) halo: Halo,
}

/// A lighter rim on both sides of a line.
#[derive(Clone, Debug)]
pub(super) struct Halo {
    pub(super) colour: Rgb<u8>,
    pub(super) width: f64,
}

/// Whether a line is broken.
#[derive(Clone, Copy, Debug)]
pub(super) enum Dash {
    Solid,
    /// On for so many pixels, off for as many.
    Every(f64),
}

/// An open line.
pub(super) fn line(picture: &mut RgbImage, points: &[PointPx], stroke: &Stroke) {
    draw(picture, &[Way::open(points)], stroke, None);
}

/// A closed line `gap` pixels outside a closed outline.
pub(super) fn ring(picture: &mut RgbImage, outline: &[PointPx], gap: f64, stroke: &Stroke) {
    ring_around(picture, &[outline.to_vec()], gap, stroke);
}

/// The closed line `gap` pixels outside all of several closed outlines: where rings would cross,
/// only the outermost is drawn.
pub(super) fn ring_around(
    picture: &mut RgbImage,
    outlines: &[Vec<PointPx>],
    gap: f64,
    stroke: &Stroke,
) {
    let ways: Vec<Way> = outlines.iter().map(|outline| Way::closed(outline)).collect();
    draw(picture, &ways, stroke, Some(gap));
}

/// Rows that are drawn at a time, so that little memory is needed however large a ring is. Any value
/// gives the same picture.
const BAND_ROWS: usize = 64;

fn draw(picture: &mut RgbImage, ways: &[Way], stroke: &Stroke, gap: Option<f64>) {
    let reach = reach(stroke, gap.unwrap_or(0.0));
    let Some([left, top, right, bottom]) = bounds(ways) else { return };
    let columns = span(left - reach, right + reach, picture.width());
    let rows = span(top - reach, bottom + reach, picture.height());
    for first in rows.clone().step_by(BAND_ROWS) {
        let band = first..(first + BAND_ROWS as u32).min(rows.end);
        Field::near(columns.clone(), band, ways, reach).draw(picture, ways, stroke, gap);
    }
}

/// A filled upright rectangle.
pub(super) fn block(
    picture: &mut RgbImage,
    [left, top]: PointPx,
    [width, height]: [f64; 2],
    colour: Rgb<u8>,
    opacity: f64,
) {
    let (columns, rows) =
        (span(left, left + width, picture.width()), span(top, top + height, picture.height()));
    for y in rows {
        for x in columns.clone() {
            mix(picture.get_pixel_mut(x, y), colour, opacity);
        }
    }
}

/// Moves a pixel towards a colour.
pub(super) fn mix(pixel: &mut Rgb<u8>, colour: Rgb<u8>, share: f64) {
    let share = share.clamp(0.0, 1.0);
    for (have, want) in pixel.0.iter_mut().zip(colour.0) {
        let value = f64::from(*have) + (f64::from(want) - f64::from(*have)) * share;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between two bytes"
        )]
        {
            *have = value.round() as u8;
        }
    }
}

fn reach(stroke: &Stroke, gap: f64) -> f64 {
    gap + stroke.width / 2.0 + stroke.halo.width + 1.0
}

/// Whole pixels whose centres lie between two places.
fn span(from: f64, to: f64, most: u32) -> std::ops::Range<u32> {
    let most = f64::from(most);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the picture; NaN becomes 0"
    )]
    let at = |v: f64| (v - 0.5).ceil().clamp(0.0, most) as u32;
    at(from)..at(to).max(at(from))
}

/// A line as short pieces, with how far along it each starts.
struct Way {
    pieces: Vec<Piece>,
    length: f64,
}

struct Piece {
    from: PointPx,
    to: PointPx,
    start: f64,
}

/// Pieces longer than this are cut, so that the pixels looked at stay near the line. Any value
/// gives the same picture.
const PIECE_PX: f64 = 24.0;

impl Way {
    fn open(points: &[PointPx]) -> Self {
        let mut way = Self { pieces: Vec::new(), length: 0.0 };
        let mut points = points.iter().copied().filter(|p| p[0].is_finite() && p[1].is_finite());
        if let Some(mut last) = points.next() {
            let mut only = true;
            for point in points {
                // Nearer than a pixel adds work and nothing to see.
                if distance(last, point) > 0.9 {
                    way.add(last, point);
                    last = point;
                    only = false;
                }
            }
            if only {
                way.pieces.push(Piece { from: last, to: last, start: 0.0 });
            }
        }
        way
    }

    fn closed(points: &[PointPx]) -> Self {
        let mut way = Self::open(points);
        if let (Some(first), Some(last)) = (way.pieces.first(), way.pieces.last()) {
            let (from, to) = (last.to, first.from);
            way.add(from, to);
        }
        way
    }

    fn add(&mut self, from: PointPx, to: PointPx) {
        let long = distance(from, to);
        // No picture is wider than 1e6 pixels; beyond that a place is off the picture anyway.
        let parts = (long / PIECE_PX).ceil().clamp(1.0, 50_000.0);
        let at = |n: f64| {
            let share = n / parts;
            [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share]
        };
        let mut n = 0.0;
        while n < parts {
            self.pieces.push(Piece {
                from: at(n),
                to: at(n + 1.0),
                start: self.length + long * n / parts,
            });
            n += 1.0;
        }
        self.length += long;
    }
}

/// Left, top, right and bottom of several ways.
fn bounds(ways: &[Way]) -> Option<[f64; 4]> {
    let mut places = ways.iter().flat_map(|way| &way.pieces).flat_map(|p| [p.from, p.to]);
    let first = places.next()?;
    Some(places.fold([first[0], first[1], first[0], first[1]], |b, p| {
        [b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])]
    }))
}

fn distance(a: PointPx, b: PointPx) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// For each pixel near some ways: the distance to the nearest, and which part of a broken line
/// lies there.
struct Field {
    columns: std::ops::Range<u32>,
    rows: std::ops::Range<u32>,
    cells: Vec<Cell>,
}

#[derive(Clone, Copy)]
struct Cell {
    /// Squared distance to the nearest place.
    squared: f64,
    /// Share of the way's length up to that place, and that length.
    along: [f64; 2],
}

impl Field {
    fn near(
        columns: std::ops::Range<u32>,
        rows: std::ops::Range<u32>,
        ways: &[Way],
        reach: f64,
    ) -> Self {
        let count = columns.len() * rows.len();
        let empty = Cell { squared: f64::INFINITY, along: [0.0, 0.0] };
        let mut field = Self { columns, rows, cells: vec![empty; count] };
        for way in ways {
            for piece in &way.pieces {
                field.stamp(piece, way.length, reach);
            }
        }
        field
    }

    fn stamp(&mut self, piece: &Piece, length: f64, reach: f64) {
        let [a, b] = [piece.from, piece.to];
        let within = |range: &std::ops::Range<u32>, low: f64, high: f64| {
            let wanted = span(low - reach, high + reach, range.end);
            wanted.start.max(range.start)..wanted.end
        };
        let columns = within(&self.columns, a[0].min(b[0]), a[0].max(b[0]));
        let rows = within(&self.rows, a[1].min(b[1]), a[1].max(b[1]));
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let square = dx * dx + dy * dy;
        let long = square.sqrt();
        for y in rows {
            for x in columns.clone() {
                let (px, py) = (f64::from(x) + 0.5 - a[0], f64::from(y) + 0.5 - a[1]);
                let share =
                    if square > 0.0 { ((px * dx + py * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
                let squared = (px - dx * share).powi(2) + (py - dy * share).powi(2);
                let index = self.index(x, y);
                if squared < self.cells[index].squared {
                    let along = [piece.start + long * share, length];
                    self.cells[index] = Cell { squared, along };
                }
            }
        }
    }

    fn index(&self, x: u32, y: u32) -> usize {
        let (column, row) = (x - self.columns.start, y - self.rows.start);
        row as usize * self.columns.len() + column as usize
    }

    fn draw(&self, picture: &mut RgbImage, ways: &[Way], stroke: &Stroke, gap: Option<f64>) {
        let inside = gap.map(|_| self.inside(ways));
        let half = stroke.width / 2.0;
        for pass in [(stroke.halo.colour, half + stroke.halo.width), (stroke.colour, half)] {
            for y in self.rows.clone() {
                for x in self.columns.clone() {
                    let index = self.index(x, y);
                    let Cell { squared, along } = self.cells[index];
                    if !squared.is_finite() || is_off(stroke.dash, along) {
                        continue;
                    }
                    let away = squared.sqrt();
                    let signed = match &inside {
                        Some(inside) if inside[index] => -away,
                        _ => away,
                    };
                    let off_line = (signed - gap.unwrap_or(0.0)).abs();
                    let share = pass.1 + 0.5 - off_line;
                    if share > 0.0 {
                        mix(picture.get_pixel_mut(x, y), pass.0, share);
                    }
                }
            }
        }
    }

    /// Which pixel centres lie inside any of the closed ways (even-odd for each).
    fn inside(&self, ways: &[Way]) -> Vec<bool> {
        let mut inside = vec![false; self.cells.len()];
        for way in ways {
            let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); self.rows.len()];
            for piece in &way.pieces {
                let (low, high) = if piece.from[1] < piece.to[1] {
                    (piece.from, piece.to)
                } else {
                    (piece.to, piece.from)
                };
                let crossed = span(low[1], high[1], self.rows.end);
                for y in crossed.start.max(self.rows.start)..crossed.end {
                    let share = (f64::from(y) + 0.5 - low[1]) / (high[1] - low[1]);
                    crossings[(y - self.rows.start) as usize]
                        .push(low[0] + (high[0] - low[0]) * share);
                }
            }
            for (y, mut row) in self.rows.clone().zip(crossings) {
                row.sort_by(f64::total_cmp);
                for pair in row.chunks_exact(2) {
                    for x in span(pair[0], pair[1], self.columns.end) {
                        if x >= self.columns.start {
                            inside[self.index(x, y)] = true;
                        }
                    }
                }
            }
        }
        inside
    }
}

/// Whether a place along a broken line falls between two dashes. A closed line gets a whole
/// number of them.
fn is_off(dash: Dash, [along, length]: [f64; 2]) -> bool {
    match dash {
        Dash::Solid => false,
        Dash::Every(on) => {
            let periods = (length / (2.0 * on)).round().max(2.0);
            (along / length.max(f64::MIN_POSITIVE) * periods).fract() >= 0.5
        }
    }
}
