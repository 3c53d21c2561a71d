//! Circles.

use std::cmp::Ordering;

use super::Search;
use crate::ground::{Dot, cross, dot, minus};
use crate::root::compare_big;
use num_bigint::BigInt;

/// Both circles of `diameter` through every pair.
pub(super) fn search(search: &mut Search<'_>, diameter: i64) {
    let points = search.points;
    let most = i128::from(diameter) * i128::from(diameter);
    for first in 0..points.len() {
        let near = search.near(first);
        for second in near.iter().copied() {
            if search.exhausted() {
                return;
            }
            let d = minus(points[second].at, points[first].at);
            let apart = dot(d, d);
            if apart > most || apart == 0 {
                continue;
            }
            search.steps += near.len() as u64;
            for hand in [1, -1] {
                let inside: Vec<usize> = near
                    .iter()
                    .copied()
                    .filter(|i| holds(minus(points[*i].at, points[first].at), d, apart, most, hand))
                    .collect();
                search.offer(search.weight_of(&inside), || inside);
            }
        }
    }
}

/// Whether `v` from the first point lies in the circle through both ends of `d`.
///
/// The centre from the first point is `d/2 + hand t w`, with `w` = `d` turned by a quarter and
/// `t = sqrt((most - apart) / (4 apart))`. `|v - c|^2 <= |c|^2` is `v.v - v.d <= 2 hand t (v.w)`,
/// and times `sqrt(apart)`: `(v.v - v.d) sqrt(apart) - hand (v.w) sqrt(most - apart) <= 0`.
fn holds(v: Dot, d: Dot, apart: i128, most: i128, hand: i128) -> bool {
    let x = dot(v, v) - dot(v, d);
    let y = hand * cross(d, v);
    // x sqrt(apart) <= y sqrt(most - apart), times sqrt(apart).
    let estimate = |value: i128| crate::root::as_float(value);
    let (left, right) =
        (estimate(x) * estimate(apart).sqrt(), estimate(y) * estimate(most - apart).sqrt());
    if (left - right).abs() > 1.0e-12 * (left.abs() + right.abs()) {
        return left < right;
    }
    // x apart - y sqrt(apart (most - apart)) <= 0.
    let a = BigInt::from(x) * apart;
    compare_big(&a, &BigInt::from(-y), &(BigInt::from(apart) * (most - apart))) != Ordering::Greater
}
