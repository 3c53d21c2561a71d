//! A rule's row of ticks laid out straight, piece below piece, with the comb that was fitted to it.
//!
//! Outside of the rule's edge stands the comb: a line for each number, longer for the longer kinds, dashed
//! where no tick was found; the longest carry their distance from the first. On the rule a bar ends each
//! tick found, where it was seen to end. If the plane is right the ticks stand upright, evenly, under the comb.

use super::ink::{DARK, LIGHT, line};
use image::RgbImage;
use nde_measure::marks::Lettering;
use nde_measure::scale::{RuleSeen, TickPitch};
use nde_measure::{Photo, Plane, PointMm};
use std::collections::BTreeSet;

/// Length of a piece, and what is shown beyond the edge and on the rule, mm. Chosen: a picture that a
/// screen holds; the longest ticks are below 10 mm.
const PIECE_MM: f64 = 60.0;
const OUTSIDE_MM: f64 = 6.0;
const INSIDE_MM: f64 = 11.0;
/// Pixels of the picture for one of the photo, and at most a millimetre. Chosen by eye.
const LARGER: f64 = 2.0;
const MOST_PX_PER_MM: f64 = 26.0;
/// Most pieces: a metre.
const MOST_PIECES: usize = 17;
/// From the edge to the comb, and lengths of its shortest and longest lines, mm. Chosen by eye.
const APART_MM: f64 = 0.5;
const COMB_MM: [f64; 2] = [0.8, 2.8];
/// Height of numbers, mm.
const NUMBER_MM: f64 = 2.0;
/// Pixels between pieces.
const GAP_PX: u32 = 12;

/// Where the rule's edge runs on the part, and which way the ticks go from it.
#[derive(Clone, Copy, Debug)]
struct EdgeSeen {
    y_mm: f64,
    /// 1 towards greater y, -1 towards smaller.
    into: f64,
}

/// The picture; a single pixel where there are no ticks.
pub(super) fn picture(photo: &Photo, plane: &Plane, rule: &RuleSeen) -> RgbImage {
    let ends: Vec<[PointMm; 2]> =
        rule.ticks.iter().map(|tick| tick.ends_px.map(|p| plane.to_part(p))).collect();
    let (Some(edge), Some(middle)) = (edge(&ends), rule.ticks.get(rule.ticks.len() / 2)) else {
        return RgbImage::new(1, 1);
    };
    let px = (LARGER / plane.mm_per_px(middle.ends_px[0])).min(MOST_PX_PER_MM);
    let xs = || ends.iter().map(|e| e[0][0]);
    let (low, high) = (xs().fold(f64::INFINITY, f64::min), xs().fold(f64::NEG_INFINITY, f64::max));
    let from = low - 2.0;
    let pieces = (0..MOST_PIECES).take_while(|n| from + *n as f64 * PIECE_MM < high).count().max(1);
    let side = |mm: f64| whole((mm * px).round());
    let (width, height) = (side(PIECE_MM), side(OUTSIDE_MM + INSIDE_MM));
    let mut picture =
        RgbImage::from_pixel(width, u32::try_from(pieces).unwrap_or(1) * (height + GAP_PX), LIGHT);
    for piece in 0..pieces {
        let top_mm = edge.y_mm - if edge.into > 0.0 { OUTSIDE_MM } else { INSIDE_MM };
        let sheet = Sheet {
            corner_mm: [from + piece as f64 * PIECE_MM, top_mm],
            top_px: u32::try_from(piece).unwrap_or(0) * (height + GAP_PX),
            size_px: [width, height],
            px,
            edge,
        };
        sheet.lay(&mut picture, photo, plane);
        sheet.comb(&mut picture, rule);
        sheet.tips(&mut picture, rule, &ends);
    }
    picture
}

/// The end at which the ticks lie even is the rule's edge.
fn edge(ends: &[[PointMm; 2]]) -> Option<EdgeSeen> {
    let median = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied()
    };
    let mut all = Vec::new();
    for side in 0..2 {
        let y_mm = median(ends.iter().map(|e| e[side][1]).collect())?;
        let uneven: f64 = ends.iter().map(|e| (e[side][1] - y_mm).abs().min(1.0)).sum();
        all.push((uneven, y_mm));
    }
    let (near, far) =
        if all[0].0 <= all[1].0 { (all[0].1, all[1].1) } else { (all[1].1, all[0].1) };
    Some(EdgeSeen { y_mm: near, into: (far - near).signum() })
}

/// One piece of the picture.
struct Sheet {
    corner_mm: PointMm,
    top_px: u32,
    size_px: [u32; 2],
    px: f64,
    edge: EdgeSeen,
}

impl Sheet {
    /// Where a place of the part stands in the picture.
    fn place(&self, [x, y]: PointMm) -> [f64; 2] {
        let [left, top] = self.corner_mm;
        [(x - left) * self.px, (y - top) * self.px + f64::from(self.top_px)]
    }

    fn holds(&self, x_mm: f64) -> bool {
        (0.0..PIECE_MM).contains(&(x_mm - self.corner_mm[0]))
    }

    /// So far from the edge, outwards.
    fn outside(&self, mm: f64) -> f64 {
        self.edge.y_mm - self.edge.into * mm
    }

    /// The photo, straight from above; paper where the comb stands.
    fn lay(&self, picture: &mut RgbImage, photo: &Photo, plane: &Plane) {
        let [width, height] = self.size_px;
        for (x, y) in (0..height).flat_map(|y| (0..width).map(move |x| (x, y))) {
            let [u, v] = [x, y].map(|n| (f64::from(n) + 0.5) / self.px);
            let at = [self.corner_mm[0] + u, self.corner_mm[1] + v];
            if (self.edge.y_mm - at[1]) * self.edge.into > APART_MM {
                continue;
            }
            let [px, py] = plane.to_photo(at);
            let inside = |v: f64, n: u32| v >= 0.0 && v < f64::from(n);
            if inside(px, photo.rgb().width()) && inside(py, photo.rgb().height()) {
                let seen = photo.rgb().get_pixel(whole(px), whole(py));
                picture.put_pixel(x, self.top_px + y, *seen);
            }
        }
    }

    fn comb(&self, picture: &mut RgbImage, rule: &RuleSeen) {
        let found: BTreeSet<i64> = rule.ticks.iter().map(|tick| tick.number).collect();
        let (Some(first), Some(last)) = (found.first(), found.last()) else { return };
        let shortest = rule.kinds.iter().max().copied().unwrap_or(0).max(1) as f64;
        let letters = Lettering::new();
        for number in *first..=*last {
            let x = number as f64 * rule.pitch.mm();
            if !self.holds(x) {
                continue;
            }
            let turn = number.rem_euclid(i64::try_from(rule.kinds.len()).unwrap_or(1).max(1));
            let kind = usize::try_from(turn).ok().and_then(|n| rule.kinds.get(n)).copied();
            let kind = kind.unwrap_or(0);
            let short = kind as f64 / shortest;
            let long = COMB_MM[1] + (COMB_MM[0] - COMB_MM[1]) * short;
            let ends = [APART_MM, APART_MM + long].map(|mm| self.place([x, self.outside(mm)]));
            if found.contains(&number) {
                solid(picture, ends);
            } else {
                line(picture, ends[0], ends[1], 1);
            }
            if kind == 0 {
                let text = distance(rule, number);
                let high = NUMBER_MM * self.px;
                // Above or below the line's end, in its middle.
                let off = if self.edge.into > 0.0 { -high } else { 0.0 };
                let left = ends[1][0] - letters.width(&text, high) / 2.0;
                letters.write(picture, &text, [left.max(0.0), ends[1][1] + off], high, DARK);
            }
        }
    }

    fn tips(&self, picture: &mut RgbImage, rule: &RuleSeen, ends: &[[PointMm; 2]]) {
        let half = 0.35 * rule.pitch.mm();
        for (_, ends) in rule.ticks.iter().zip(ends).filter(|(_, e)| self.holds(e[0][0])) {
            let depth = |p: &PointMm| (p[1] - self.edge.y_mm) * self.edge.into;
            let tip = if depth(&ends[0]) > depth(&ends[1]) { ends[0] } else { ends[1] };
            let [a, b] = [-half, half].map(|d| self.place([tip[0] + d, tip[1]]));
            for (off, ink) in [(-1.0, LIGHT), (0.0, DARK), (1.0, LIGHT)] {
                level(picture, [a[0], b[0]], a[1] + off, ink);
            }
        }
    }
}

/// Distance from the first of the longest ticks: millimetres, or inches of inch rules.
fn distance(rule: &RuleSeen, number: i64) -> String {
    match rule.pitch {
        TickPitch::Millimetre | TickPitch::HalfMillimetre => {
            format!("{:.0}", number as f64 * rule.pitch.mm())
        }
        _ => format!("{:.0} in", number as f64 * rule.pitch.mm() / 25.4),
    }
}

/// A dark line two pixels wide, straight down.
fn solid(picture: &mut RgbImage, [a, b]: [[f64; 2]; 2]) {
    let (top, bottom) = (a[1].min(b[1]), a[1].max(b[1]));
    let mut y = top;
    while y <= bottom {
        level(picture, [a[0] - 1.0, a[0] + 1.0], y, DARK);
        y += 1.0;
    }
}

fn level(picture: &mut RgbImage, [from, to]: [f64; 2], y: f64, ink: image::Rgb<u8>) {
    let mut x = from;
    while x < to {
        if x >= 0.0 && y >= 0.0 && x < f64::from(picture.width()) && y < f64::from(picture.height())
        {
            picture.put_pixel(whole(x), whole(y), ink);
        }
        x += 1.0;
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "places in a picture")]
fn whole(value: f64) -> u32 {
    value as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;
    use nde_measure::scale::TickSeen;

    /// A row of ten ticks a millimetre apart, one of them not found.
    fn row() -> RuleSeen {
        let tick = |number: i64| {
            let kind = usize::from(number % 5 != 0);
            let x = 100.0 + 10.0 * number as f64;
            let tip = if kind == 0 { 260.0 } else { 230.0 };
            TickSeen { number, kind, ends_px: [[x, 200.0], [x, tip]] }
        };
        let ticks = (0..=10).filter(|n| *n != 3).map(tick).collect();
        RuleSeen { pitch: TickPitch::Millimetre, ticks, kinds: vec![0, 1, 1, 1, 1] }
    }

    #[test]
    fn the_comb_stands_outside_the_edge_and_shows_what_was_not_found() {
        let known = [[100.0, 200.0], [200.0, 200.0], [200.0, 300.0], [100.0, 300.0]];
        let part = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];
        let plane = Plane::through(&known, &part).unwrap();
        let photo = Photo::from_rgb(RgbImage::from_pixel(400, 400, Rgb([150; 3])));
        let shown = picture(&photo, &plane, &row());
        // 20 pixels a millimetre, from 2 mm before the first tick; the edge 6 mm from the top.
        assert_eq!(shown.width(), 1200);
        let ink = |number: u32, mm: f64| {
            let x = 40 + 20 * number;
            shown.get_pixel(x, whole((6.0 - mm) * 20.0)).0[0]
        };
        assert_eq!(ink(4, 1.0), 0, "a found tick");
        assert_eq!(ink(5, 3.0), 0, "a longer one");
        assert_eq!(ink(4, 3.0), 255, "the shorter ends before");
        let column: Vec<u8> = (0..14).map(|k| ink(3, 0.55 + f64::from(k) * 0.05)).collect();
        assert!(column.contains(&255), "not found, so dashed: {column:?}");
        assert_eq!(shown.get_pixel(50, 130).0, [150; 3], "the rule itself, inside of the edge");
    }
}
