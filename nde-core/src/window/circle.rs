//! Circles.

use std::cmp::Ordering;

use num_bigint::BigInt;

use super::{Search, Way};
use crate::dot::{Dot, as_f64, cross, dot};
use crate::root::{as_float, compare_big};

/// Both circles of `diameter` through every pair.
pub(super) fn search(search: &mut Search<'_>, diameter: i64) {
    let most = i128::from(diameter) * i128::from(diameter);
    // Generous by far more than the arithmetic is wrong.
    let radius = as_f64(diameter) / 2.0 * (1.0 + 1.0e-9) + 1.0;
    for first in 0..search.points.len() {
        let near = search.ways(first);
        for second in &near {
            if search.exhausted() {
                return;
            }
            let d = second.way;
            let apart = dot(d, d);
            if apart > most || apart == 0 {
                continue;
            }
            search.steps += near.len() as u64;
            let off = (as_float(most - apart) / (4.0 * as_float(apart))).sqrt();
            for hand in [1, -1] {
                let turned = if hand == 1 { off } else { -off };
                let (x, y) =
                    (second.x / 2.0 - turned * second.y, second.y / 2.0 + turned * second.x);
                let may = |p: &&Way| (p.x - x).hypot(p.y - y) <= radius;
                let weight: u128 = near.iter().filter(may).map(|p| p.weight).sum();
                if weight <= search.best.weight {
                    continue;
                }
                let inside: Vec<usize> = near
                    .iter()
                    .filter(may)
                    .filter(|p| holds(p.way, d, apart, most, hand))
                    .map(|p| p.index)
                    .collect();
                search.offer(search.weight_of(&inside), || inside);
            }
        }
    }
}

/// Whether `v` from the first point lies in the circle through both ends of `d`.
///
/// The centre from the first point is `d/2 + hand t w`, with `w` = `d` turned by a quarter and
/// `t = sqrt((most - apart) / (4 apart))`. `|v - c|^2 <= |c|^2` is `v.v - v.d <= 2 hand t (v.w)`, and
/// times `apart`: `(v.v - v.d) apart - hand (v.w) sqrt(apart (most - apart)) <= 0`.
fn holds(v: Dot, d: Dot, apart: i128, most: i128, hand: i128) -> bool {
    let whole = BigInt::from(dot(v, v) - dot(v, d)) * apart;
    let root = BigInt::from(-hand * cross(d, v));
    compare_big(&whole, &root, &(BigInt::from(apart) * (most - apart))) != Ordering::Greater
}
