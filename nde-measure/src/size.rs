//! Length and width of an outline on the part.
//!
//! Outlines are closed polygons in millimetres, first point not repeated.
//! - length: the maximum Feret diameter, the greatest distance between two outline points: what a
//!   calliper laid on the indication would read, whatever way it runs;
//! - width: the diameter of the largest circle that fits inside;
//! - path length: along the centre line, for curved and branched indications (thinned mask, smoothed).
//!
//! Bounding rectangles and moment ellipses are not used: they call every curved crack wide.
//!
#![doc = include_str!("../doc/sizes.svg")]

use crate::PointMm;
use std::collections::BinaryHeap;
use std::f64::consts::SQRT_2;

/// Greatest distance between two points of an outline, and those points.
///
/// ```
/// let square = [[0.0, 0.0], [3.0, 0.0], [3.0, 4.0], [0.0, 4.0]];
/// let feret = nde_measure::size::max_feret(&square).expect("four points");
/// assert_eq!(feret.length, 5.0);
/// ```
///
/// `None` for fewer than two points.
#[must_use]
pub fn max_feret(outline: &[PointMm]) -> Option<Feret> {
    let hull = convex_hull(outline);
    let mut best: Option<Feret> = None;
    // Hulls of indications have tens of corners, so all pairs are as fast as callipers and plainer.
    for (i, a) in hull.iter().enumerate() {
        for b in &hull[i + 1..] {
            let length = (a[0] - b[0]).hypot(a[1] - b[1]);
            if best.is_none_or(|f| length > f.length) {
                best = Some(Feret { length, ends: [*a, *b] });
            }
        }
    }
    best
}

/// A greatest distance and its two ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feret {
    /// The distance, mm.
    pub length: f64,
    /// The two outline points.
    pub ends: [PointMm; 2],
}

impl Feret {
    /// Direction, degrees from x towards y, in [0, 180).
    #[must_use]
    pub fn angle_deg(&self) -> f64 {
        let [a, b] = self.ends;
        let angle = (b[1] - a[1]).atan2(b[0] - a[0]).to_degrees().rem_euclid(180.0);
        if angle >= 180.0 { 0.0 } else { angle }
    }
}

/// Corners of the convex hull, in turning order (Andrew's monotone chain).
#[must_use]
pub fn convex_hull(points: &[PointMm]) -> Vec<PointMm> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let half = |points: &mut dyn Iterator<Item = &PointMm>| {
        let mut chain: Vec<PointMm> = Vec::new();
        for &p in points {
            while let [.., a, b] = chain[..] {
                if (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut sorted.iter());
    hull.extend(half(&mut sorted.iter().rev()));
    hull
}

/// Signed area (mm²) and centroid of a polygon; positive where x turns towards y.
#[must_use]
pub fn area_and_centroid(outline: &[PointMm]) -> (f64, PointMm) {
    let Some(&origin) = outline.first() else { return (0.0, [0.0, 0.0]) };
    let (mut twice, mut sx, mut sy) = (0.0, 0.0, 0.0);
    for (a, b) in outline.iter().zip(outline.iter().cycle().skip(1)) {
        let (ax, ay) = (a[0] - origin[0], a[1] - origin[1]);
        let (bx, by) = (b[0] - origin[0], b[1] - origin[1]);
        let cross = ax * by - bx * ay;
        twice += cross;
        sx += (ax + bx) * cross;
        sy += (ay + by) * cross;
    }
    if twice.abs() < 1e-12 {
        return (0.0, origin);
    }
    (0.5 * twice, [origin[0] + sx / (3.0 * twice), origin[1] + sy / (3.0 * twice)])
}

/// Largest circle inside a polygon: its centre and diameter (mm), to within `precision` (mm, or a
/// thousandth of the polygon's shorter side where that is more).
///
/// Searched by halving squares and leaving out those that cannot hold a larger circle, so the
/// result is the true optimum to `precision`, whatever the shape. `None` for fewer than three points.
#[must_use]
pub fn largest_circle(outline: &[PointMm], precision: f64) -> Option<(PointMm, f64)> {
    if outline.len() < 3 {
        return None;
    }
    let (mut low, mut high) = (outline[0], outline[0]);
    for p in outline {
        for k in 0..2 {
            low[k] = low[k].min(p[k]);
            high[k] = high[k].max(p[k]);
        }
    }
    let (w, h) = (high[0] - low[0], high[1] - low[1]);
    let side = w.min(h);
    if side.is_nan() || side <= 0.0 {
        return None;
    }
    let precision = precision.max(1e-3 * side);
    let edges = Edge::around(outline);
    let mut search =
        Search { precision, best: ([0.0; 2], 0.0), queue: BinaryHeap::new(), squared: Vec::new() };
    // Long outlines are cut into at most 64 squares along their length.
    let side = side.max(w.max(h) / 64.0);
    let (columns, rows) = ((w / side).ceil(), (h / side).ceil());
    for i in 0..columns as usize {
        for j in 0..rows as usize {
            let centre = [low[0] + (i as f64 + 0.5) * side, low[1] + (j as f64 + 0.5) * side];
            search.consider(centre, 0.5 * side, &edges, contains(outline, centre));
        }
    }
    // The bound shrinks by half each level, so this ends; the count only guards against strange floats.
    for _ in 0..100_000 {
        let Some(square) = search.queue.pop() else { break };
        if square.most <= search.best.1 + precision {
            break;
        }
        let half = 0.5 * square.half;
        for (sx, sy) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let centre = [square.centre[0] + sx * half, square.centre[1] + sy * half];
            // Between the two middles lies no edge if the nearest one is farther away.
            let same_side = square.distance.abs() > half * SQRT_2;
            let inside = if same_side { square.distance > 0.0 } else { contains(outline, centre) };
            search.consider(centre, half, &square.near, inside);
        }
    }
    let (centre, radius) = search.best;
    (radius > 0.0).then_some((centre, 2.0 * radius))
}

/// The search for the largest circle.
struct Search {
    precision: f64,
    best: (PointMm, f64),
    queue: BinaryHeap<Square>,
    /// Working space: squared distances of edges.
    squared: Vec<f64>,
}

impl Search {
    /// Looks at the middle of a square, and keeps the square where a larger circle may stand in it.
    /// `near` holds every edge that is nearest to any place of the square.
    fn consider(&mut self, centre: PointMm, half: f64, near: &[Edge], inside: bool) {
        self.squared.clear();
        self.squared.extend(near.iter().map(|edge| edge.squared_distance(centre)));
        let nearest = self.squared.iter().copied().fold(f64::INFINITY, f64::min).sqrt();
        let distance = if inside { nearest } else { -nearest };
        if distance > self.best.1 {
            self.best = (centre, distance);
        }
        let most = distance + half * SQRT_2;
        if most > self.best.1 + self.precision {
            // What is nearest to a place of the square is not farther from its middle than this.
            let reach = (nearest + 2.0 * half * SQRT_2).powi(2) * (1.0 + 1e-9);
            let kept = near.iter().zip(&self.squared).filter(|(_, d)| **d <= reach);
            let near = kept.map(|(edge, _)| *edge).collect();
            self.queue.push(Square { centre, half, distance, most, near });
        }
    }
}

/// An edge of an outline.
#[derive(Clone, Copy, Debug)]
struct Edge {
    from: PointMm,
    step: PointMm,
    over_squared_length: f64,
}

impl Edge {
    fn around(outline: &[PointMm]) -> Vec<Self> {
        let Some(&last) = outline.last() else { return Vec::new() };
        let mut from = last;
        outline
            .iter()
            .map(|&to| {
                let step = [to[0] - from[0], to[1] - from[1]];
                let squared = (step[0] * step[0] + step[1] * step[1]).max(1e-30);
                Self {
                    from: std::mem::replace(&mut from, to),
                    step,
                    over_squared_length: 1.0 / squared,
                }
            })
            .collect()
    }

    fn squared_distance(&self, at: PointMm) -> f64 {
        let (x, y) = (at[0] - self.from[0], at[1] - self.from[1]);
        let along = (x * self.step[0] + y * self.step[1]) * self.over_squared_length;
        let along = along.clamp(0.0, 1.0);
        let (dx, dy) = (x - along * self.step[0], y - along * self.step[1]);
        dx * dx + dy * dy
    }
}

/// A square that may hold a circle's centre, ordered by the largest radius it could give.
#[derive(Clone, Debug)]
struct Square {
    centre: PointMm,
    half: f64,
    /// From its middle to the outline, negative outside.
    distance: f64,
    most: f64,
    near: Vec<Edge>,
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for Square {}
impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Square {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.most.total_cmp(&other.most)
    }
}

/// Whether a point lies inside a polygon (even-odd rule).
#[must_use]
pub fn contains(outline: &[[f64; 2]], at: [f64; 2]) -> bool {
    let Some(&last) = outline.last().filter(|_| outline.len() >= 3) else { return false };
    let mut inside = false;
    let mut a = last;
    for &b in outline {
        if (a[1] > at[1]) != (b[1] > at[1])
            && a[0] - at[0] - (a[1] - at[1]) * (b[0] - a[0]) / (b[1] - a[1]) > 0.0
        {
            inside = !inside;
        }
        a = b;
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn circle(radius: f64, corners: usize) -> Vec<PointMm> {
        (0..corners)
            .map(|i| {
                let t = 2.0 * PI * i as f64 / corners as f64;
                [7.0 + radius * t.cos(), -3.0 + radius * t.sin()]
            })
            .collect()
    }

    #[test]
    fn a_circle_is_as_long_as_wide() {
        let outline = circle(2.0, 360);
        assert!((max_feret(&outline).unwrap().length - 4.0).abs() < 1e-3);
        let (centre, width) = largest_circle(&outline, 1e-4).unwrap();
        assert!((width - 4.0).abs() < 5e-3, "{width}");
        assert!((centre[0] - 7.0).abs() < 0.05 && (centre[1] + 3.0).abs() < 0.05);
        let (area, middle) = area_and_centroid(&outline);
        assert!((area - 4.0 * PI).abs() < 1e-2);
        assert!((middle[0] - 7.0).abs() < 1e-9);
    }

    #[test]
    fn a_bent_bar_keeps_its_width() {
        let bent = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [9.0, 10.0], [9.0, 1.0], [0.0, 1.0]];
        let (_, width) = largest_circle(&bent, 1e-4).unwrap();
        // In the corner fits a circle touching both outer sides and the inner corner.
        let corner = 2.0 * 2.0_f64.sqrt() / (1.0 + 2.0_f64.sqrt());
        assert!((width - corner).abs() < 1e-3, "{width} {corner}");
    }

    #[test]
    fn nothing_has_no_size() {
        assert!(max_feret(&[]).is_none());
        assert!(max_feret(&[[1.0, 1.0]]).is_none());
        assert!(largest_circle(&[[0.0, 0.0], [1.0, 1.0]], 0.01).is_none());
        assert!(largest_circle(&[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]], 0.01).is_none());
    }
}
