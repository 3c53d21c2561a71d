//! The most that one circle holds: every set of points whose every three fit in it.
//!
//! Points fit in a circle when every three of them do: the discs of its radius around them have a
//! common point when every three have (Helly's theorem in the plane, 1923; from memory).

use num_bigint::BigInt;

/// The greatest weight in one circle of `diameter` half-nanometres, borders included.
#[must_use]
pub fn most(points: &[([i64; 2], i128)], diameter: i64) -> i128 {
    let mut best = 0;
    grow(points, BigInt::from(diameter), 0, &mut Vec::new(), 0, &mut best);
    best
}

fn grow(
    points: &[([i64; 2], i128)],
    diameter: BigInt,
    next: usize,
    taken: &mut Vec<usize>,
    weight: i128,
    best: &mut i128,
) {
    *best = (*best).max(weight);
    for i in next..points.len() {
        let at = |k: usize| points[k].0;
        let fits = taken.iter().enumerate().all(|(n, a)| {
            pair_fits(at(*a), at(i), &diameter)
                && taken[n + 1..].iter().all(|b| three_fit([at(*a), at(*b), at(i)], &diameter))
        });
        if fits {
            taken.push(i);
            grow(points, diameter.clone(), i + 1, taken, weight + points[i].1, best);
            taken.pop();
        }
    }
}

fn square(p: [i64; 2], q: [i64; 2]) -> BigInt {
    BigInt::from(p[0] - q[0]).pow(2) + BigInt::from(p[1] - q[1]).pow(2)
}

fn pair_fits(p: [i64; 2], q: [i64; 2], diameter: &BigInt) -> bool {
    square(p, q) <= diameter * diameter
}

/// Right or obtuse: the longest side is the diameter. Acute: the circle through all three, whose
/// squared diameter is the product of the squared sides over four times the squared area.
fn three_fit(p: [[i64; 2]; 3], diameter: &BigInt) -> bool {
    let mut sides = [square(p[0], p[1]), square(p[1], p[2]), square(p[2], p[0])];
    sides.sort();
    let most = diameter * diameter;
    if sides[2] >= &sides[0] + &sides[1] {
        return sides[2] <= most;
    }
    let area = BigInt::from(p[1][0] - p[0][0]) * (p[2][1] - p[0][1])
        - BigInt::from(p[1][1] - p[0][1]) * (p[2][0] - p[0][0]);
    &sides[0] * &sides[1] * &sides[2] <= most * &area * &area
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn borders_are_inside() {
        let points = |list: &[[i64; 2]]| list.iter().map(|p| (*p, 1)).collect::<Vec<_>>();
        // A 6-8-10 triangle, and an acute one: sides 10, squared 12 and 12 below a height of 12.
        assert_eq!(most(&points(&[[0, 0], [6, 0], [0, 8]]), 10), 3);
        assert_eq!(most(&points(&[[0, 0], [6, 0], [0, 8]]), 9), 2);
        // Sides 10, 13, 13: circumdiameter 10 * 169 / (2 * 60) = 14.08.
        assert_eq!(most(&points(&[[0, 0], [10, 0], [5, 12]]), 15), 3);
        assert_eq!(most(&points(&[[0, 0], [10, 0], [5, 12]]), 14), 2);
    }
}
