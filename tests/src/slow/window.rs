//! The most that one rectangle holds, or one length of weld, by trying every direction that may count.
//!
//! For each direction every lower, upper and left point is tried. Directions: along x and y, along
//! every two points, and those in which two points lie exactly a side apart. That no other direction
//! holds more is checked apart from this, by halving the directions until each piece is settled
//! (`tests/worst_place.rs`).

use super::number::at_most_zero;
use num_bigint::BigInt;

/// A point in half-nanometres and its weight.
pub type Weighted = ([i64; 2], i128);

/// What fits.
#[derive(Clone, Debug)]
pub enum Size {
    /// An area (square half-nanometres) and a longest side.
    Area(i128, i64),
    /// Two sides, either way round.
    Sides(i64, i64),
}

impl Size {
    /// Whether `a` by `b` fits, each given times the root of `scale`.
    fn holds(&self, a: i128, b: i128, scale: i128) -> bool {
        let within = |x: i128, side: i64| big(x).pow(2) <= big(side.into()).pow(2) * scale;
        match self {
            Self::Area(area, longest) => {
                within(a, *longest) && within(b, *longest) && big(a) * b <= big(*area) * scale
            }
            Self::Sides(p, q) => within(a, *p) && within(b, *q) || within(a, *q) && within(b, *p),
        }
    }
}

/// The greatest weight in one rectangle, turned or along the axes, borders included.
#[must_use]
pub fn most(points: &[Weighted], size: &Size, turned: bool) -> i128 {
    let mut best = along(points, size, [1, 0]);
    if !turned {
        return best;
    }
    for (i, (p, _)) in points.iter().enumerate() {
        for (q, _) in &points[i + 1..] {
            if p != q {
                best = best.max(along(points, size, [q[0] - p[0], q[1] - p[1]]));
            }
        }
    }
    let pairs = match size {
        Size::Area(area, longest) => vec![(*longest, (*area, *longest))],
        Size::Sides(a, b) => vec![(*a, (i128::from(*b), 1)), (*b, (i128::from(*a), 1))],
    };
    for (width, height) in pairs {
        best = best.max(apart(points, width, height));
    }
    best
}

/// The greatest weight in a rectangle whose one side lies along `d`.
fn along(points: &[Weighted], size: &Size, d: [i64; 2]) -> i128 {
    let [dx, dy] = d.map(i128::from);
    let scale = dx * dx + dy * dy;
    let turned: Vec<(i128, i128, i128)> = points
        .iter()
        .map(|(p, weight)| {
            let [x, y] = p.map(i128::from);
            (x * dx + y * dy, y * dx - x * dy, *weight)
        })
        .collect();
    let mut best = 0;
    for low in &turned {
        for high in &turned {
            let height = high.1 - low.1;
            let band: Vec<_> = turned.iter().filter(|p| p.1 >= low.1 && p.1 <= high.1).collect();
            if height < 0 || band.iter().map(|p| p.2).sum::<i128>() <= best {
                continue;
            }
            for left in &band {
                let inside = |p: &&&(i128, i128, i128)| {
                    p.0 >= left.0 && size.holds(p.0 - left.0, height, scale)
                };
                best = best.max(band.iter().filter(inside).map(|p| p.2).sum());
            }
        }
    }
    best
}

/// The greatest weight in a rectangle with two points on opposite sides, `width` apart; it may be as
/// high as `height.0 / height.1`.
///
/// With `d` between the two, `w` a quarter turn from it and `c = |d|^2 - width^2`, the direction across
/// is `(width d + hand sqrt(c) w) / |d|^2`.
fn apart(points: &[Weighted], width: i64, height: (i128, i64)) -> i128 {
    let mut best = 0;
    for (first, _) in points {
        for (second, _) in points {
            let d = [i128::from(second[0] - first[0]), i128::from(second[1] - first[1])];
            let square = big(d[0]).pow(2) + big(d[1]).pow(2);
            let c = &square - big(width.into()).pow(2);
            if c < big(0) {
                continue;
            }
            for hand in [1, -1] {
                // (across, along), each a whole part and a part times sqrt(c), times |d|^2.
                let place = |p: &[i64; 2]| {
                    let v = [i128::from(p[0] - first[0]), i128::from(p[1] - first[1])];
                    let dot = big(d[0]) * v[0] + big(d[1]) * v[1];
                    let turn = big(d[0]) * v[1] - big(d[1]) * v[0];
                    ([&dot * width, &turn * hand], [&turn * width, &dot * -hand])
                };
                let far = &square * width;
                let between = |a: &[BigInt; 2]| {
                    at_most_zero(&-&a[0], &-&a[1], &c) && at_most_zero(&(&a[0] - &far), &a[1], &c)
                };
                let inside: Vec<([BigInt; 2], i128)> = points
                    .iter()
                    .map(|(p, weight)| (place(p), *weight))
                    .filter(|((across, _), _)| between(across))
                    .map(|((_, along), weight)| (along, weight))
                    .collect();
                for (low, _) in &inside {
                    let held = inside.iter().filter(|(p, _)| {
                        let v = [&p[0] - &low[0], &p[1] - &low[1]];
                        let top = big(height.0) * &square;
                        at_most_zero(&-&v[0], &-&v[1], &c)
                            && at_most_zero(&(&v[0] * height.1 - top), &(&v[1] * height.1), &c)
                    });
                    best = best.max(held.map(|(_, weight)| weight).sum());
                }
            }
        }
    }
    best
}

fn big(value: i128) -> BigInt {
    BigInt::from(value)
}

/// The greatest weight in a length along one axis.
#[must_use]
pub fn most_along(places: &[(i64, i128)], length: i64) -> i128 {
    let from = |start: i64| {
        places.iter().filter(|(at, _)| *at >= start && at - start <= length).map(|(_, w)| w).sum()
    };
    places.iter().map(|(at, _)| from(*at)).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_holds_what_lies_on_its_border() {
        let corners = |d: i64| -> Vec<Weighted> {
            [[0, 0], [30 + d, 0], [0, 20], [30 + d, 20]].map(|p| (p, 1)).into()
        };
        for size in [Size::Area(600, 40), Size::Sides(20, 30)] {
            assert_eq!(most(&corners(0), &size, true), 4, "{size:?}");
            assert_eq!(most(&corners(1), &size, true), 2, "{size:?}");
        }
        // The same turned by the 3-4-5 triangle, five times as large.
        let turned: Vec<Weighted> =
            [[0, 0], [90, 120], [-80, 60], [10, 180]].map(|p| (p, 1)).into();
        assert_eq!(most(&turned, &Size::Sides(100, 150), true), 4);
        assert_eq!(most(&turned, &Size::Sides(100, 149), true), 2);
        assert_eq!(most(&turned, &Size::Sides(100, 150), false), 2);
        assert_eq!(most(&turned, &Size::Area(15_000, 150), true), 4);
        assert_eq!(most(&turned, &Size::Area(14_999, 150), true), 2);
    }

    #[test]
    fn a_slanted_diagonal_fits_between_the_sides() {
        // Two points 13 apart fit 12 by 5 exactly.
        let two: Vec<Weighted> = vec![([0, 0], 1), ([13, 0], 1)];
        assert_eq!(most(&two, &Size::Sides(12, 5), true), 2);
        assert_eq!(most(&two, &Size::Sides(12, 4), true), 1);
    }
}
