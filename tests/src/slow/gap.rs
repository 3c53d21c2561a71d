//! Edge-to-edge gaps and overall extents, by trying every pair of edges.

use super::mark::Core;
use super::number::{Bound, Exact, Sign};
use num_bigint::BigInt;

type Dot = [i64; 2];
type Edge = (Dot, Dot);

/// The squared distance between two cores, square half-nanometres; zero when they share a point.
#[must_use]
pub fn squared(a: &Core, b: &Core) -> Exact {
    let inside = |core: &Core, other: &Core| {
        core.corners.len() > 2 && other.corners.iter().any(|p| holds(&core.corners, *p))
    };
    let mut least: Option<Exact> = None;
    for s in edges(a) {
        for t in edges(b) {
            if cross_or_touch(s, t) {
                return Exact::whole(0);
            }
            for (point, edge) in [(s.0, t), (s.1, t), (t.0, s), (t.1, s)] {
                let found = point_to_edge(point, edge);
                if least.as_ref().is_none_or(|known| found < *known) {
                    least = Some(found);
                }
            }
        }
    }
    match least {
        Some(least) if !inside(a, b) && !inside(b, a) => least,
        _ => Exact::whole(0),
    }
}

/// Whether a bound in nanometres catches the gap between two cores that lie `squared` apart. A gap is
/// never below zero.
#[must_use]
pub fn catches(bound: &Bound, squared: &Exact, radii: i64) -> bool {
    // gap < g exactly when distance < 2 g + radii; both sides are not negative, so squares compare.
    let reach = &(&bound.limit + &bound.limit) + &Exact::whole(radii);
    let found = squared.cmp(&(&reach * &reach));
    match bound.sign {
        Sign::AtMost => found.is_le(),
        Sign::Under => found.is_lt() && bound.limit > Exact::whole(0),
        Sign::Over | Sign::AtLeast => panic!("a gap is bounded from above"),
    }
}

/// The largest distance between two points of several cores, in nanometres, rounded up to a whole one.
#[must_use]
pub fn extent(cores: &[&Core]) -> i64 {
    let discs: Vec<(Dot, i64)> =
        cores.iter().flat_map(|c| c.corners.iter().map(|p| (*p, c.radius))).collect();
    let mut most = 0;
    for (p, r) in &discs {
        for (q, s) in &discs {
            let radii = r + s;
            // The least whole nanometre that reaches: 2 nm - radii >= distance.
            let root = i64::try_from(square_length(*p, *q).sqrt()).expect("lists are small");
            let mut nm = (root + radii) / 2 - 1;
            while 2 * nm < radii || BigInt::from(2 * nm - radii).pow(2) < square_length(*p, *q) {
                nm += 1;
            }
            most = most.max(nm);
        }
    }
    most
}

fn edges(core: &Core) -> Vec<Edge> {
    let c = &core.corners;
    match c.len() {
        1 => vec![(c[0], c[0])],
        2 => vec![(c[0], c[1])],
        n => (0..n).map(|i| (c[i], c[(i + 1) % n])).collect(),
    }
}

fn dot(a: Dot, b: Dot) -> BigInt {
    BigInt::from(a[0]) * b[0] + BigInt::from(a[1]) * b[1]
}

const fn from(a: Dot, b: Dot) -> Dot {
    [b[0] - a[0], b[1] - a[1]]
}

fn square_length(p: Dot, q: Dot) -> BigInt {
    dot(from(p, q), from(p, q))
}

/// By the foot of the perpendicular, where it lies on the edge.
fn point_to_edge(p: Dot, (a, b): Edge) -> Exact {
    let (along, length) = (dot(from(a, b), from(a, p)), square_length(a, b));
    let zero = BigInt::from(0);
    if along <= zero {
        Exact::whole(square_length(a, p))
    } else if along >= length {
        Exact::whole(square_length(b, p))
    } else {
        &Exact::whole(square_length(a, p)) - &Exact::new(along.pow(2), length)
    }
}

/// On which side of `a` to `b` a point lies.
fn turn(a: Dot, b: Dot, p: Dot) -> i32 {
    let area = i128::from(b[0] - a[0]) * i128::from(p[1] - a[1])
        - i128::from(b[1] - a[1]) * i128::from(p[0] - a[0]);
    i32::from(area > 0) - i32::from(area < 0)
}

fn cross_or_touch((a, b): Edge, (c, d): Edge) -> bool {
    let on = |p: Dot, (a, b): Edge| {
        turn(a, b, p) == 0 && (0..2).all(|k| p[k] >= a[k].min(b[k]) && p[k] <= a[k].max(b[k]))
    };
    let apart = turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
    apart || on(a, (c, d)) || on(b, (c, d)) || on(c, (a, b)) || on(d, (a, b))
}

/// Whether a convex outline holds a point: it lies on one side of every edge, or on an edge.
fn holds(outline: &[Dot], p: Dot) -> bool {
    let turns = (0..outline.len()).map(|i| turn(outline[i], outline[(i + 1) % outline.len()], p));
    let (low, high) = turns.fold((0, 0), |(l, h), t| (l.min(t), h.max(t)));
    low == 0 || high == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stadium(from: Dot, to: Dot, radius: i64) -> Core {
        Core { corners: vec![from, to], radius }
    }

    #[test]
    fn distances_are_exact() {
        let (a, b) = (stadium([0, 0], [10, 0], 2), stadium([13, 4], [13, 9], 3));
        assert_eq!(squared(&a, &b), Exact::whole(25));
        // Distance 5, radii 5: no gap at all.
        let gap = |sign, half_nm: i64| Bound { sign, limit: Exact::new(half_nm, 2) };
        assert!(catches(&gap(Sign::AtMost, 0), &squared(&a, &b), 5));
        assert!(!catches(&gap(Sign::Under, 0), &squared(&a, &b), 5));
        assert!(catches(&gap(Sign::Under, 1), &squared(&a, &b), 5));
        // A slanted edge: distance of (0, 5) from the line through (0, 0) and (3, 1) is 15 / sqrt 10.
        let slanted = stadium([-30, -10], [30, 10], 0);
        assert_eq!(squared(&slanted, &stadium([0, 5], [0, 5], 0)), Exact::new(225, 10));
        let square = Core { corners: vec![[0, 0], [9, 0], [9, 9], [0, 9]], radius: 0 };
        assert_eq!(squared(&square, &stadium([4, 4], [5, 5], 1)), Exact::whole(0));
    }

    #[test]
    fn an_extent_is_rounded_up() {
        let (a, b) = (stadium([0, 0], [0, 0], 2), stadium([6, 8], [6, 8], 2));
        assert_eq!(extent(&[&a, &b]), 7);
        assert_eq!(extent(&[&a, &stadium([6, 9], [6, 9], 2)]), 8); // sqrt 117 + 4 is 14.8
        assert_eq!(extent(&[&a]), 2);
    }
}
