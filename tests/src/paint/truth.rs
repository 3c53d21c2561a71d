//! What is true about a painted indication, read off its own field on a fine grid.
//!
//! The field is the share of green light lost on the clean coat. The peak is the 98th percentile of
//! what is above half the maximum; the outline is the isoline at half the peak. Length is the greatest
//! distance between two outline points, width the diameter of the largest inscribed circle. Plain,
//! slow code on purpose: it shares nothing with the measurer.

use super::mark::Mark;
use super::raster::Raster;

/// One body inside the half-peak isoline.
#[derive(Clone, Debug)]
pub struct Body {
    /// Points of the isoline (unordered, closer than a grid step), mm.
    pub edge_mm: Vec<[f64; 2]>,
    /// Centroid of the covered cells, mm.
    pub centroid_mm: [f64; 2],
    /// Covered cells: grid index of each.
    cells: Vec<usize>,
    /// Peak share of green light lost, 0 to 1.
    pub peak: f64,
    /// Greatest distance between two edge points, mm.
    pub length_mm: f64,
    /// Diameter of the largest inscribed circle, mm.
    pub width_mm: f64,
    /// Covered area, mm2.
    pub area_mm2: f64,
}

impl Body {
    /// Linear when the length is more than three times the width.
    #[must_use]
    pub fn is_linear(&self) -> bool {
        self.length_mm > 3.0 * self.width_mm
    }

    /// Length over width.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        self.length_mm / self.width_mm
    }

    /// Distance of a place from the edge, mm, whichever side it lies on.
    #[must_use]
    pub fn edge_distance_mm(&self, p: [f64; 2]) -> f64 {
        self.edge_mm.iter().map(|e| (e[0] - p[0]).hypot(e[1] - p[1])).fold(f64::INFINITY, f64::min)
    }
}

/// All bodies of one field and the pieces too small to be indications of their own.
#[derive(Clone, Debug, Default)]
pub struct Reading {
    /// Indications, longest first.
    pub bodies: Vec<Body>,
    /// Crumbs: smaller pieces of the same drawing.
    pub crumbs: Vec<Body>,
    frame: Option<Frame>,
}

/// The grid a reading was taken on, to tell inside from outside.
#[derive(Clone, Debug)]
struct Frame {
    origin_mm: [f64; 2],
    step_mm: f64,
    width: usize,
}

/// A piece is an indication of its own when it is at least this long, mm, ...
/// Chosen: the same definition as the demo photos' truth.
const LEAST_BODY_MM: f64 = 0.8;
/// ... and at least this share of the longest piece.
const LEAST_BODY_SHARE: f64 = 0.12;

impl Reading {
    /// Reads a field of green loss.
    #[must_use]
    pub fn of(field: &Raster) -> Self {
        let peak = peak_of(field);
        if peak <= 0.0 {
            return Self::default();
        }
        let level = peak / 2.0;
        let mut bodies: Vec<Body> =
            pieces(field, level).into_iter().map(|cells| body(field, level, cells)).collect();
        bodies.sort_by(|a, b| b.length_mm.total_cmp(&a.length_mm));
        let longest = bodies.first().map_or(0.0, |b| b.length_mm);
        let (mut kept, mut crumbs) = (Vec::new(), Vec::new());
        for (i, body) in bodies.into_iter().enumerate() {
            let own = body.length_mm >= LEAST_BODY_MM.max(LEAST_BODY_SHARE * longest);
            if i == 0 || own { kept.push(body) } else { crumbs.push(body) }
        }
        let frame =
            Frame { origin_mm: field.origin_mm, step_mm: field.step_mm, width: field.width };
        Self { bodies: kept, crumbs, frame: Some(frame) }
    }

    /// Whether a place lies in a body.
    #[must_use]
    pub fn covers(&self, body: &Body, p: [f64; 2]) -> bool {
        self.frame.as_ref().is_some_and(|f| {
            let x = ((p[0] - f.origin_mm[0]) / f.step_mm).round();
            let y = ((p[1] - f.origin_mm[1]) / f.step_mm).round();
            if x < 0.0 || y < 0.0 || x as usize >= f.width {
                return false;
            }
            body.cells.binary_search(&(y as usize * f.width + x as usize)).is_ok()
        })
    }

    /// The body that covers most of another reading's body.
    #[must_use]
    pub fn covering(&self, other: &Reading, body: &Body) -> Option<&Body> {
        let frame = other.frame.as_ref()?;
        let places: Vec<[f64; 2]> = body
            .cells
            .iter()
            .step_by((body.cells.len() / 400).max(1))
            .map(|i| {
                let (x, y) = (i % frame.width, i / frame.width);
                [
                    frame.origin_mm[0] + x as f64 * frame.step_mm,
                    frame.origin_mm[1] + y as f64 * frame.step_mm,
                ]
            })
            .collect();
        let (count, best) = self
            .bodies
            .iter()
            .chain(&self.crumbs)
            .map(|b| (places.iter().filter(|p| self.covers(b, **p)).count(), b))
            .max_by_key(|(count, _)| *count)?;
        (count > 0).then_some(best)
    }

    /// Length of the longest stroke's centre line inside a body, mm.
    #[must_use]
    pub fn path_mm(&self, body: &Body, mark: &Mark) -> f64 {
        let fine = 0.02;
        let inside = |stroke: &Vec<super::mark::Bead>| -> f64 {
            stroke
                .windows(2)
                .map(|pair| {
                    let (a, b) = (pair[0].at_mm, pair[1].at_mm);
                    let length = (b[0] - a[0]).hypot(b[1] - a[1]);
                    let n = (length / fine).ceil().max(1.0) as usize;
                    let hits = (0..n)
                        .filter(|i| {
                            let t = (*i as f64 + 0.5) / n as f64;
                            let p = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
                            self.covers(body, p)
                        })
                        .count();
                    length * hits as f64 / n as f64
                })
                .sum()
        };
        // The centre line ends half a width inside the outline at both ends.
        mark.strokes.iter().map(inside).fold(0.0, f64::max).max(body.length_mm)
    }
}

/// 98th percentile of what is above half the maximum.
fn peak_of(field: &Raster) -> f64 {
    let greatest = field.values.iter().copied().fold(0.0_f32, f32::max);
    let mut high: Vec<f32> = field.values.iter().copied().filter(|v| *v > greatest / 2.0).collect();
    if high.is_empty() {
        return 0.0;
    }
    high.sort_by(f32::total_cmp);
    f64::from(high[((high.len() - 1) as f64 * 0.98).round() as usize])
}

/// Groups of touching cells (corners count) at or above a level; each group sorted.
fn pieces(field: &Raster, level: f64) -> Vec<Vec<usize>> {
    let (w, h) = (field.width, field.height);
    let above = |i: usize| f64::from(field.values[i]) >= level;
    let mut seen = vec![false; w * h];
    let mut found = Vec::new();
    for start in 0..w * h {
        if seen[start] || !above(start) {
            continue;
        }
        seen[start] = true;
        let (mut cells, mut next) = (Vec::new(), vec![start]);
        while let Some(i) = next.pop() {
            cells.push(i);
            let (x, y) = (i % w, i / w);
            for yy in y.saturating_sub(1)..(y + 2).min(h) {
                for xx in x.saturating_sub(1)..(x + 2).min(w) {
                    let j = yy * w + xx;
                    if !seen[j] && above(j) {
                        seen[j] = true;
                        next.push(j);
                    }
                }
            }
        }
        cells.sort_unstable();
        found.push(cells);
    }
    found
}

fn body(field: &Raster, level: f64, cells: Vec<usize>) -> Body {
    let w = field.width;
    let mut edge_mm = Vec::new();
    let mut sum = [0.0, 0.0];
    let mut greatest = Vec::new();
    for &i in &cells {
        let (x, y) = (i % w, i / w);
        let here = f64::from(field.values[i]);
        greatest.push(here);
        let p = field.place(x, y);
        sum = [sum[0] + p[0], sum[1] + p[1]];
        let mut cross = |dx: f64, dy: f64, neighbour: Option<usize>| {
            let there = neighbour.map_or(0.0, |j| f64::from(field.values[j]));
            if there < level {
                let t = (here - level) / (here - there) * field.step_mm;
                edge_mm.push([p[0] + dx * t, p[1] + dy * t]);
            }
        };
        cross(-1.0, 0.0, (x > 0).then(|| i - 1));
        cross(1.0, 0.0, (x + 1 < w).then(|| i + 1));
        cross(0.0, -1.0, (y > 0).then(|| i - w));
        cross(0.0, 1.0, (y + 1 < field.height).then(|| i + w));
    }
    greatest.sort_by(f64::total_cmp);
    let n = cells.len() as f64;
    let length_mm = greatest_distance(&edge_mm);
    let width_mm = inscribed(field, &cells, &edge_mm);
    Body {
        centroid_mm: [sum[0] / n, sum[1] / n],
        peak: greatest[((greatest.len() - 1) as f64 * 0.98).round() as usize],
        length_mm,
        width_mm,
        area_mm2: n * field.step_mm * field.step_mm,
        edge_mm,
        cells,
    }
}

/// Greatest distance between two of the points: hull first, then every pair.
fn greatest_distance(points: &[[f64; 2]]) -> f64 {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let turn = |o: [f64; 2], a: [f64; 2], b: [f64; 2]| {
        (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
    };
    let half = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for p in points {
            while let [.., o, a] = chain[..] {
                if turn(o, a, p) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain
    };
    let mut hull = half(&mut sorted.iter().copied());
    hull.extend(half(&mut sorted.iter().rev().copied()));
    let mut greatest = 0.0_f64;
    for (i, a) in hull.iter().enumerate() {
        for b in &hull[i + 1..] {
            greatest = greatest.max((a[0] - b[0]).hypot(a[1] - b[1]));
        }
    }
    greatest
}

/// Diameter of the largest circle inside the edge: the best cell by a coarse count of rings, then a
/// climb on the true distance to the edge points.
fn inscribed(field: &Raster, cells: &[usize], edge: &[[f64; 2]]) -> f64 {
    let clearance = |p: [f64; 2]| {
        edge.iter()
            .map(|e| (e[0] - p[0]).powi(2) + (e[1] - p[1]).powi(2))
            .fold(f64::INFINITY, f64::min)
    };
    let w = field.width;
    // Peel: the layer at which a cell disappears when the body is eroded, four and eight neighbours in turn.
    let mut layer = vec![0_u32; field.values.len()];
    let mut rest: Vec<usize> = cells.to_vec();
    for &i in &rest {
        layer[i] = u32::MAX;
    }
    let mut depth = 1;
    let mut last = rest.clone();
    while !rest.is_empty() {
        let gone: Vec<usize> = rest
            .iter()
            .copied()
            .filter(|&i| {
                let (x, y) = (i % w, i / w);
                if x == 0 || y == 0 || x + 1 == w || y + 1 == field.height {
                    return true;
                }
                let four = [i - 1, i + 1, i - w, i + w];
                let corners = [i - w - 1, i - w + 1, i + w - 1, i + w + 1];
                four.iter().any(|&j| layer[j] < depth)
                    || (depth % 2 == 0 && corners.iter().any(|&j| layer[j] < depth))
            })
            .collect();
        for &i in &gone {
            layer[i] = depth;
        }
        last.clone_from(&rest);
        rest.retain(|&i| layer[i] == u32::MAX);
        depth += 1;
    }
    // Outside the body the distance to the edge grows without end, so the climb must stay in it.
    let inside = |p: [f64; 2]| {
        let at = [0, 1].map(|k| ((p[k] - field.origin_mm[k]) / field.step_mm).round());
        let in_field = at[0] >= 0.0 && at[1] >= 0.0;
        let (x, y) = (at[0] as usize, at[1] as usize);
        in_field && x < w && y < field.height && layer[y * w + x] > 0
    };
    // The octagon of the peel is within 10 % of a circle: keep every cell that could be the best one.
    let least = (f64::from(depth - 1) * 0.85).floor() as u32;
    let mut candidates: Vec<usize> = cells.iter().copied().filter(|&i| layer[i] >= least).collect();
    if candidates.is_empty() {
        candidates = last;
    }
    let thin = (candidates.len() / 600).max(1);
    let mut starts: Vec<(f64, [f64; 2])> = candidates
        .iter()
        .step_by(thin)
        .map(|&i| {
            let p = field.place(i % w, i / w);
            (clearance(p), p)
        })
        .collect();
    starts.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut best = 0.0_f64;
    for (value, place) in starts.into_iter().take(8) {
        let (mut value, mut place, mut step) = (value, place, field.step_mm * 2.0);
        while step > field.step_mm / 16.0 {
            let next = (0..8)
                .map(|k| {
                    let (sin, cos) = (std::f64::consts::FRAC_PI_4 * f64::from(k)).sin_cos();
                    let p = [place[0] + step * cos, place[1] + step * sin];
                    (if inside(p) { clearance(p) } else { 0.0 }, p)
                })
                .max_by(|a, b| a.0.total_cmp(&b.0));
            match next {
                Some((v, p)) if v > value => (value, place) = (v, p),
                _ => step /= 2.0,
            }
        }
        best = best.max(value);
    }
    2.0 * best.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paint::dice::Dice;
    use crate::paint::grain::Grain;
    use crate::paint::mark::Kind;

    fn read(mut mark: Mark) -> Reading {
        mark.softness_mm = 0.01;
        let grain = Grain::powder(&mut Dice::new(1));
        Reading::of(&mark.laid(0.4, [3.0, -2.0]).dye(&grain, 0.02))
    }

    #[test]
    fn a_stadium_reads_as_it_was_drawn() {
        let reading = read(Mark::line(Kind::Line, 6.0, 0.8));
        assert_eq!(reading.bodies.len(), 1);
        let body = &reading.bodies[0];
        assert!((body.length_mm - 6.0).abs() < 0.01, "{}", body.length_mm);
        assert!((body.width_mm - 0.8).abs() < 0.01, "{}", body.width_mm);
        assert!((body.centroid_mm[0] - 3.0).abs() < 0.01);
        let area = 5.2 * 0.8 + std::f64::consts::PI * 0.16;
        assert!((body.area_mm2 - area).abs() < 0.02 * area);
    }

    #[test]
    fn a_dot_and_an_oval_read_as_drawn() {
        let dot = read(Mark::dot(Kind::Dot, 2.5));
        assert!((dot.bodies[0].length_mm - 2.5).abs() < 0.01);
        assert!((dot.bodies[0].width_mm - 2.5).abs() < 0.02, "{}", dot.bodies[0].width_mm);
        let oval = read(Mark::oval(Kind::Oval, 3.0, 1.0));
        assert!((oval.bodies[0].length_mm - 3.0).abs() < 0.02, "{}", oval.bodies[0].length_mm);
        assert!((oval.bodies[0].width_mm - 1.0).abs() < 0.02, "{}", oval.bodies[0].width_mm);
    }

    /// A line two cells wide: a climb that leaves it would never end.
    #[test]
    fn a_hair_line_has_its_own_width() {
        let reading = read(Mark::line(Kind::Line, 3.0, 0.05));
        let width = reading.bodies[0].width_mm;
        assert!((width - 0.05).abs() < 0.02, "{width}");
    }

    #[test]
    fn a_gap_makes_two_bodies_and_a_crumb_stays_a_crumb() {
        let mut mark = Mark::line(Kind::Dashed, 4.0, 0.5);
        let far = mark.strokes[0].iter().map(|b| {
            let mut b = *b;
            b.at_mm[0] += 5.0;
            b
        });
        let far: Vec<_> = far.collect();
        let mut crumb = far[0];
        crumb.at_mm = [0.0, 2.0];
        crumb.radius_mm = 0.2;
        mark.strokes.push(far);
        mark.strokes.push(vec![crumb]);
        let reading = read(mark);
        assert_eq!((reading.bodies.len(), reading.crumbs.len()), (2, 1));
    }
}
