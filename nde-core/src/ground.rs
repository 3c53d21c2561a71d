//! The ground an indication covers, and the edge-to-edge gap between two of them.
//!
//! A ground is a core of points (one point, a segment or a closed outline) with a radius around it:
//! a typed stadium is a segment with half its width around it, a measured outline has no radius.
//! Everything is in whole half-nanometres, so that half a width is whole too. The ends of a stadium
//! lying along x or y are exact; at any other angle each end is rounded once, to the half-nanometre.
//!
//! A gap is compared with a limit exactly: squared distances are first compared in floating point
//! and, when that is too close to call, in integers of any size.

use std::cmp::Ordering;

use num_bigint::BigInt;

use crate::length::Length;
use crate::place::{Place, Point};

/// A point in half-nanometres.
pub(crate) type Dot = [i64; 2];

/// Furthest a place may lie from the origin: 100 m, in half-nanometres.
const FURTHEST: i64 = 200_000_000_000;

/// The ground one indication, or several joined ones, cover.
#[derive(Clone, Debug)]
pub(crate) struct Ground {
    parts: Vec<Part>,
    /// Corners of the convex hull, each with the radius around it.
    hull: Vec<(Dot, i64)>,
    low: Dot,
    high: Dot,
}

#[derive(Clone, Debug)]
struct Part {
    core: Vec<Dot>,
    closed: bool,
    radius: i64,
    low: Dot,
    high: Dot,
}

impl Ground {
    /// From a place; absent when it has no points, lies beyond 100 m or is longer than that.
    pub(crate) fn new(place: &Place) -> Option<Self> {
        let part = match place {
            Place::Outline(points) => {
                let mut core: Vec<Dot> =
                    points.iter().map(|p| doubled(*p)).collect::<Option<_>>()?;
                core.dedup();
                if core.len() > 1 && core.first() == core.last() {
                    core.pop();
                }
                Part::new(core, 0)?
            }
            Place::Stadium { centre, angle_udeg, length, width } => Part::new(
                stadium_core(doubled(*centre)?, *angle_udeg, *length, *width)?,
                whole(*width)?,
            )?,
        };
        Some(Self::of(vec![part]))
    }

    /// Several grounds taken as one.
    pub(crate) fn union<'a>(grounds: impl IntoIterator<Item = &'a Self>) -> Self {
        Self::of(grounds.into_iter().flat_map(|g| g.parts.iter().cloned()).collect())
    }

    fn of(parts: Vec<Part>) -> Self {
        let low = [0, 1].map(|k| parts.iter().map(|p| p.low[k]).min().unwrap_or(0));
        let high = [0, 1].map(|k| parts.iter().map(|p| p.high[k]).max().unwrap_or(0));
        let hull = hull(&parts);
        Self { parts, hull, low, high }
    }

    /// Lower left and upper right corner of the box around it.
    pub(crate) const fn bounds(&self) -> (Dot, Dot) {
        (self.low, self.high)
    }

    /// Points whose discs span the convex hull.
    pub(crate) fn hull(&self) -> &[(Dot, i64)] {
        &self.hull
    }

    /// How the edge-to-edge gap to `other` compares with `limit`, exactly. Overlap is a gap of zero.
    pub(crate) fn compare_gap(&self, other: &Self, limit: Length) -> Ordering {
        let Some(limit) = whole(limit).and_then(|nm| nm.checked_mul(2)) else {
            return Ordering::Less;
        };
        if box_gap(self.bounds(), other.bounds()) > as_f64(limit) + 4.0 {
            return Ordering::Greater;
        }
        let mut least = Ordering::Greater;
        for a in &self.parts {
            for b in &other.parts {
                least = least.min(compare_parts(a, b, limit));
                if least == Ordering::Less {
                    break;
                }
            }
        }
        // A gap is never less than zero.
        if limit == 0 && least == Ordering::Less { Ordering::Equal } else { least }
    }

    /// The gap, rounded to the nearest nanometre, for reports.
    pub(crate) fn gap(&self, other: &Self) -> Length {
        let mut least = f64::INFINITY;
        for a in &self.parts {
            for b in &other.parts {
                least = least.min(core_gap(a, b) - as_f64(a.radius + b.radius));
            }
        }
        Length::from_mm(least.max(0.0) / 2.0e6).unwrap_or(Length::MAX)
    }

    /// The largest distance between two of its points (maximum Feret diameter), rounded up to a
    /// whole nanometre: exact whenever it is a whole number of nanometres.
    pub(crate) fn extent(&self) -> Length {
        let mut most = 0_u128;
        for (i, (p, r)) in self.hull.iter().enumerate() {
            for (q, s) in &self.hull[i..] {
                let away = minus(*q, *p);
                let squared = dot(away, away).unsigned_abs();
                let root = squared.isqrt();
                let distance = if root * root == squared { root } else { root + 1 };
                let reach = distance + u128::from(r.unsigned_abs() + s.unsigned_abs());
                most = most.max(reach);
            }
        }
        Length::from_nm(u64::try_from(most.div_ceil(2)).unwrap_or(u64::MAX))
    }

    /// Its middle: of a stadium exactly, of an outline the centroid of its area, of several the mean of
    /// theirs; rounded once to the half-nanometre.
    pub(crate) fn middle(&self) -> Dot {
        if let [part] = &self.parts[..] {
            return part.middle();
        }
        let count = i64::try_from(self.parts.len()).unwrap_or(i64::MAX).max(1);
        let middles: Vec<Dot> = self.parts.iter().map(Part::middle).collect();
        [0, 1].map(|k| {
            let sum: i64 = middles.iter().map(|m| m[k]).sum();
            (sum + count / 2).div_euclid(count)
        })
    }

    /// Its area in square nanometres, rounded to the nearest.
    pub(crate) fn area_nm2(&self) -> u128 {
        let quarter: f64 = self.parts.iter().map(Part::area).sum::<f64>() / 4.0;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "areas are positive and below 1e24 by FURTHEST"
        )]
        let rounded = quarter.round() as u128;
        rounded
    }
}

impl Part {
    fn new(core: Vec<Dot>, radius: i64) -> Option<Self> {
        let low = [0, 1].map(|k| core.iter().map(|p| p[k]).min().map(|v| v - radius));
        let high = [0, 1].map(|k| core.iter().map(|p| p[k]).max().map(|v| v + radius));
        let closed = core.len() > 2;
        Some(Self { closed, radius, low: [low[0]?, low[1]?], high: [high[0]?, high[1]?], core })
    }

    /// The segments of the core; a single point is a segment of no length.
    fn segments(&self) -> impl Iterator<Item = (Dot, Dot)> + '_ {
        let n = self.core.len();
        let count = if self.closed { n } else { (n - 1).max(1) };
        (0..count).map(move |i| (self.core[i], self.core[(i + 1) % n]))
    }

    /// The middle of its core's ends, or the centroid of a closed core's area.
    fn middle(&self) -> Dot {
        let n = self.core.len();
        let start = self.core[0];
        if !self.closed {
            let end = self.core[n - 1];
            return [0, 1].map(|k| (start[k] + end[k]).div_euclid(2));
        }
        // Seen from the first corner, so that large coordinates lose nothing.
        let (mut doubled, mut sum) = (0.0, [0.0, 0.0]);
        for (a, b) in self.segments() {
            let (a, b) = (minus(a, start), minus(b, start));
            let turn = crate::root::as_float(cross(a, b));
            doubled += turn;
            for k in 0..2 {
                sum[k] += turn * (as_f64(a[k]) + as_f64(b[k]));
            }
        }
        if doubled.abs() < 1.0 {
            return [0, 1].map(|k| (self.low[k] + self.high[k]).div_euclid(2));
        }
        [0, 1].map(|k| start[k] + rounded(sum[k] / (3.0 * doubled)))
    }

    /// Its area in square half-nanometres.
    fn area(&self) -> f64 {
        let r = as_f64(self.radius);
        let around: f64 = if self.closed {
            let doubled: i128 = self
                .segments()
                .map(|(a, b)| cross(minus(a, self.core[0]), minus(b, self.core[0])))
                .sum();
            return crate::root::as_float(doubled.abs()) / 2.0;
        } else {
            self.segments().map(|(a, b)| as_f64(b[0] - a[0]).hypot(as_f64(b[1] - a[1]))).sum()
        };
        around * 2.0 * r + std::f64::consts::PI * r * r
    }

    /// Whether a closed core holds the point inside (even-odd rule, exact).
    fn holds(&self, point: Dot) -> bool {
        if !self.closed {
            return false;
        }
        let mut inside = false;
        for (a, b) in self.segments() {
            if (a[1] > point[1]) != (b[1] > point[1]) {
                let turn = cross(minus(b, a), minus(point, a));
                if (turn > 0) == (b[1] > a[1]) {
                    inside = !inside;
                }
            }
        }
        inside
    }
}

/// How the gap between two parts compares with `limit` half-nanometres.
fn compare_parts(a: &Part, b: &Part, limit: i64) -> Ordering {
    let reach = limit + a.radius + b.radius;
    if box_gap((a.low, a.high), (b.low, b.high)) > as_f64(limit) + 4.0 {
        return Ordering::Greater;
    }
    if a.holds(b.core[0]) || b.holds(a.core[0]) {
        return 0.cmp(&reach);
    }
    let slack = 2.0 + as_f64(reach) * 1.0e-12;
    let mut least = Ordering::Greater;
    for s in a.segments() {
        let s_box =
            ([s.0[0].min(s.1[0]), s.0[1].min(s.1[1])], [s.0[0].max(s.1[0]), s.0[1].max(s.1[1])]);
        let around = (
            [b.low[0] + b.radius, b.low[1] + b.radius],
            [b.high[0] - b.radius, b.high[1] - b.radius],
        );
        if box_gap(s_box, around) > as_f64(reach) + slack {
            continue;
        }
        for t in b.segments() {
            let about = segment_gap(s, t);
            if about > as_f64(reach) + slack {
                continue;
            }
            if about < as_f64(reach) - slack {
                return Ordering::Less;
            }
            least = least.min(compare_segments(s, t, reach));
            if least == Ordering::Less {
                return least;
            }
        }
    }
    least
}

fn core_gap(a: &Part, b: &Part) -> f64 {
    if a.holds(b.core[0]) || b.holds(a.core[0]) {
        return 0.0;
    }
    let mut least = f64::INFINITY;
    for s in a.segments() {
        for t in b.segments() {
            least = least.min(segment_gap(s, t));
        }
    }
    least
}

/// Distance between two segments in floating point.
fn segment_gap(s: (Dot, Dot), t: (Dot, Dot)) -> f64 {
    if segments_meet(s, t) {
        return 0.0;
    }
    point_gap(s.0, t).min(point_gap(s.1, t)).min(point_gap(t.0, s)).min(point_gap(t.1, s))
}

fn point_gap(p: Dot, (a, b): (Dot, Dot)) -> f64 {
    let (ab, ap) = (minus(b, a), minus(p, a));
    let (dx, dy) = (as_f64(ab[0]), as_f64(ab[1]));
    let (px, py) = (as_f64(ap[0]), as_f64(ap[1]));
    let squared = dx.mul_add(dx, dy * dy);
    if squared <= 0.0 {
        return px.hypot(py);
    }
    let along = (px.mul_add(dx, py * dy) / squared).clamp(0.0, 1.0);
    (px - along * dx).hypot(py - along * dy)
}

/// Exact comparison of the distance between two segments with `reach`.
fn compare_segments(s: (Dot, Dot), t: (Dot, Dot), reach: i64) -> Ordering {
    if segments_meet(s, t) {
        return 0.cmp(&reach);
    }
    [(s.0, t), (s.1, t), (t.0, s), (t.1, s)]
        .into_iter()
        .map(|(p, segment)| compare_point(p, segment, reach))
        .min()
        .unwrap_or(Ordering::Greater)
}

fn compare_point(p: Dot, (a, b): (Dot, Dot), reach: i64) -> Ordering {
    let (ab, ap) = (minus(b, a), minus(p, a));
    let along = dot(ab, ap);
    let length = dot(ab, ab);
    let reach = BigInt::from(reach);
    if along <= 0 || length == 0 {
        BigInt::from(dot(ap, ap)).cmp(&(&reach * &reach))
    } else if along >= length {
        let bp = minus(p, b);
        BigInt::from(dot(bp, bp)).cmp(&(&reach * &reach))
    } else {
        let across = BigInt::from(cross(ab, ap));
        (&across * &across).cmp(&(&reach * &reach * length))
    }
}

/// Whether two segments share a point (exact).
fn segments_meet(s: (Dot, Dot), t: (Dot, Dot)) -> bool {
    let side = |(a, b): (Dot, Dot), p: Dot| cross(minus(b, a), minus(p, a)).signum();
    let (s0, s1, t0, t1) = (side(t, s.0), side(t, s.1), side(s, t.0), side(s, t.1));
    if s0 * s1 < 0 && t0 * t1 < 0 {
        return true;
    }
    let within = |(a, b): (Dot, Dot), p: Dot| {
        (0..2).all(|k| a[k].min(b[k]) <= p[k] && p[k] <= a[k].max(b[k]))
    };
    (s0 == 0 && within(t, s.0))
        || (s1 == 0 && within(t, s.1))
        || (t0 == 0 && within(s, t.0))
        || (t1 == 0 && within(s, t.1))
}

/// Distance between two boxes; zero when they touch.
pub(crate) fn box_gap(a: (Dot, Dot), b: (Dot, Dot)) -> f64 {
    let apart = |k: usize| (b.0[k] - a.1[k]).max(a.0[k] - b.1[k]).max(0);
    as_f64(apart(0)).hypot(as_f64(apart(1)))
}

/// Corners of the convex hull of the cores, with the radius around each (counter-clockwise for
/// cores without radius; discs inside the hull of the others may stay, which does no harm).
fn hull(parts: &[Part]) -> Vec<(Dot, i64)> {
    let mut radii: Vec<i64> = parts.iter().map(|p| p.radius).collect();
    radii.sort_unstable();
    radii.dedup();
    radii
        .into_iter()
        .flat_map(|radius| {
            let points =
                parts.iter().filter(|p| p.radius == radius).flat_map(|p| p.core.iter().copied());
            hull_of_points(points.collect()).into_iter().map(move |p| (p, radius))
        })
        .collect()
}

fn hull_of_points(mut points: Vec<Dot>) -> Vec<Dot> {
    points.sort_unstable();
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let chain = |points: &mut dyn Iterator<Item = Dot>| {
        let mut chain: Vec<Dot> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..] {
                if cross(minus(b, a), minus(p, a)) > 0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut corners = chain(&mut points.iter().copied());
    corners.extend(chain(&mut points.iter().rev().copied()));
    corners
}

/// The two ends of a stadium's core (one point when length equals width).
fn stadium_core(centre: Dot, angle_udeg: i64, length: Length, width: Length) -> Option<Vec<Dot>> {
    // (length - width) nanometres is half the core's length in half-nanometres.
    let half = whole(length.less(width))?;
    if half == 0 {
        return Some(vec![centre]);
    }
    let [dx, dy] = match angle_udeg.rem_euclid(180_000_000) {
        0 => [half, 0],
        90_000_000 => [0, half],
        turned => {
            let angle = (as_f64(turned) / 1.0e6).to_radians();
            [rounded(as_f64(half) * angle.cos()), rounded(as_f64(half) * angle.sin())]
        }
    };
    Some(vec![[centre[0] - dx, centre[1] - dy], [centre[0] + dx, centre[1] + dy]])
}

#[expect(clippy::cast_possible_truncation, reason = "|value| is at most a core's half length")]
fn rounded(value: f64) -> i64 {
    value.round() as i64
}

fn doubled(point: Point) -> Option<Dot> {
    let double = |nm: i64| nm.checked_mul(2).filter(|v| v.abs() <= FURTHEST);
    Some([double(point.x_nm)?, double(point.y_nm)?])
}

/// Nanometres of a length no longer than 100 m.
fn whole(length: Length) -> Option<i64> {
    i64::try_from(length.nm()).ok().filter(|nm| *nm <= FURTHEST)
}

pub(crate) const fn minus(a: Dot, b: Dot) -> Dot {
    [a[0] - b[0], a[1] - b[1]]
}

pub(crate) fn cross(a: Dot, b: Dot) -> i128 {
    i128::from(a[0]) * i128::from(b[1]) - i128::from(a[1]) * i128::from(b[0])
}

pub(crate) fn dot(a: Dot, b: Dot) -> i128 {
    i128::from(a[0]) * i128::from(b[0]) + i128::from(a[1]) * i128::from(b[1])
}

#[expect(clippy::cast_precision_loss, reason = "coordinates stay below 2^53 by FURTHEST")]
pub(crate) const fn as_f64(value: i64) -> f64 {
    value as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stadium(x: &str, y_mm: f64, angle: i64, length: &str, width: &str) -> Ground {
        let x = Length::parse_mm(x).unwrap();
        let centre =
            Point { x_nm: i64::try_from(x.nm()).unwrap(), y_nm: Point::from_mm(0.0, y_mm).y_nm };
        let (length, width) = (Length::parse_mm(length).unwrap(), Length::parse_mm(width).unwrap());
        Ground::new(&Place::Stadium { centre, angle_udeg: angle * 1_000_000, length, width })
            .unwrap()
    }

    fn outline(points: &[(f64, f64)]) -> Ground {
        Ground::new(&Place::Outline(points.iter().map(|(x, y)| Point::from_mm(*x, *y)).collect()))
            .unwrap()
    }

    #[test]
    fn stadium_gaps_are_exact_to_the_nanometre() {
        let a = stadium("0", 0.0, 0, "2", "2");
        for (x, order) in [
            ("3.5", Ordering::Equal),
            ("3.500001", Ordering::Greater),
            ("3.499999", Ordering::Less),
        ] {
            let b = stadium(x, 0.0, 0, "2", "2");
            assert_eq!(a.compare_gap(&b, Length::from_um(1500)), order, "{x}");
        }
        // 3-4-5: centres 5 mm apart across the axes, radii 1 mm: the gap is 3 mm exactly.
        let c = stadium("3", 4.0, 0, "2", "2");
        assert_eq!(a.compare_gap(&c, Length::from_um(3000)), Ordering::Equal);
        assert_eq!(a.compare_gap(&c, Length::from_nm(2_999_999)), Ordering::Greater);
        assert_eq!(a.gap(&c), Length::from_um(3000));
    }

    #[test]
    fn long_stadiums_end_at_their_length() {
        // 6 x 1 along x and along y: tip to side.
        let flat = stadium("0", 0.0, 0, "6", "1");
        let tall = stadium("5", 0.0, 90, "6", "1");
        assert_eq!(flat.compare_gap(&tall, Length::from_um(1500)), Ordering::Equal);
        assert_eq!(flat.extent(), Length::from_um(6000));
        // At an angle each end is rounded to the half-nanometre.
        assert!(stadium("0", 0.0, 45, "6", "1").extent().nm().abs_diff(6_000_000) <= 1);
    }

    #[test]
    fn overlap_is_a_gap_of_zero() {
        let a = stadium("0", 0.0, 0, "2", "2");
        let b = stadium("1", 0.0, 0, "2", "2");
        assert_eq!(a.gap(&b), Length::ZERO);
        assert_eq!(a.compare_gap(&b, Length::ZERO), Ordering::Equal);
        let square = outline(&[(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)]);
        assert_eq!(square.gap(&a), Length::ZERO);
        assert_eq!(square.compare_gap(&a, Length::from_um(1)), Ordering::Less);
    }

    #[test]
    fn outlines_measure_edge_to_edge_not_hull_to_hull() {
        // A U-shape around a small square: 1 mm to its walls although its hull covers the square.
        let u = outline(&[
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 10.0),
            (8.0, 10.0),
            (8.0, 2.0),
            (2.0, 2.0),
            (2.0, 10.0),
            (0.0, 10.0),
        ]);
        let square = outline(&[(3.0, 5.0), (6.0, 5.0), (6.0, 8.0), (3.0, 8.0)]);
        assert_eq!(u.gap(&square), Length::from_um(1000));
        assert_eq!(u.compare_gap(&square, Length::from_um(1000)), Ordering::Equal);
        assert_eq!(u.hull().len(), 4);
    }

    #[test]
    fn places_too_far_away_are_refused() {
        let far = Place::Outline(vec![Point { x_nm: 200_000_000_000, y_nm: 0 }]);
        assert!(Ground::new(&far).is_none());
        assert!(Ground::new(&Place::Outline(vec![])).is_none());
    }

    #[test]
    fn a_union_spans_its_parts() {
        let (a, b) = (stadium("0", 0.0, 0, "3", "0.5"), stadium("4.4", 0.0, 0, "2", "0.5"));
        assert_eq!(Ground::union([&a, &b]).extent(), Length::from_um(6900));
        assert_eq!(Ground::union([&a, &b]).middle(), [4_400_000, 0]);
    }

    #[test]
    fn middles_and_areas_are_those_of_the_shape() {
        let square = outline(&[(1.0, 1.0), (3.0, 1.0), (3.0, 3.0), (1.0, 3.0)]);
        assert_eq!(square.middle(), [4_000_000, 4_000_000]);
        assert_eq!(square.area_nm2(), 4_000_000_000_000);
        // 2 x 1 rectangle and a circle of diameter 1: 2 + pi / 4 = 2.785398 mm2.
        let stadium = stadium("5", 2.0, 30, "3", "1");
        // Its ends are rounded to the half-nanometre.
        assert!(stadium.area_nm2().abs_diff(2_785_398_163_397) < 2_000_000);
        assert_eq!(stadium.middle(), [10_000_000, 4_000_000]);
    }
}
