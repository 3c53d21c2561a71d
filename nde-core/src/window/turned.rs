//! Frames in any direction.

use std::cmp::Ordering;

use num_bigint::BigInt;

use super::Search;
use crate::ground::{Dot, cross, dot, minus};
use crate::root::{as_float, compare_big, compare_to_zero};

/// Any rectangle of an area with a side through two points: every ordered pair, with the frame to its
/// left.
pub(super) fn flush(search: &mut Search<'_>, area: i128, longest: i64) {
    let points = search.points;
    let longest = i128::from(longest);
    for first in 0..points.len() {
        let near = search.near(first);
        for second in near.iter().copied() {
            if search.exhausted() {
                return;
            }
            let d = minus(points[second].at, points[first].at);
            let apart = dot(d, d);
            if apart == 0 {
                continue;
            }
            search.steps += near.len() as u64;
            let side = Side { apart, area, longest };
            // Reach along and across, each times the side's own length.
            let mut beside: Vec<(i128, i128, usize)> = Vec::new();
            let mut weight = 0;
            for i in near.iter().copied() {
                let v = minus(points[i].at, points[first].at);
                let (along, across) = (dot(d, v), cross(d, v));
                if across >= 0 && side.fits(along.max(apart) - along.min(0), across) {
                    beside.push((across, along, i));
                    weight += points[i].weight;
                }
            }
            if weight > search.best.weight {
                rising(search, &side, beside);
            }
        }
    }
}

/// A side of the frame, and what may lie beside it.
struct Side {
    apart: i128,
    area: i128,
    longest: i128,
}

impl Side {
    /// Whether reaches of `along` and `across`, each times `sqrt(apart)`, fit.
    fn fits(&self, along: i128, across: i128) -> bool {
        let root = as_float(self.apart).sqrt();
        let within = |reach: i128| {
            let (x, most) = (as_float(reach), as_float(self.longest) * root);
            if (x - most).abs() > 1.0e-12 * most {
                return x < most;
            }
            let most = BigInt::from(self.longest);
            BigInt::from(reach) * reach <= &most * &most * self.apart
        };
        let in_area = || {
            let (x, most) =
                (as_float(along) * as_float(across), as_float(self.area) * as_float(self.apart));
            if (x - most).abs() > 1.0e-12 * most {
                return x < most;
            }
            BigInt::from(along) * across <= BigInt::from(self.area) * self.apart
        };
        within(along) && within(across) && in_area()
    }
}

/// Raises the far side point by point, and slides along for each height.
fn rising(search: &mut Search<'_>, side: &Side, mut beside: Vec<(i128, i128, usize)>) {
    beside.sort_unstable();
    let mut sorted: Vec<(i128, usize)> = Vec::with_capacity(beside.len());
    for (n, (across, along, i)) in beside.iter().enumerate() {
        let place = sorted.partition_point(|known| *known < (*along, *i));
        sorted.insert(place, (*along, *i));
        // All of one height together.
        if beside.get(n + 1).is_some_and(|next| next.0 == *across) {
            continue;
        }
        if search.exhausted() {
            return;
        }
        let order: Vec<usize> = sorted.iter().map(|s| s.1).collect();
        if search.weight_of(&order) <= search.best.weight {
            continue;
        }
        let mut first = 0;
        let mut weight = 0_u128;
        for last in 0..order.len() {
            weight += search.points[order[last]].weight;
            while !side.fits(sorted[last].0 - sorted[first].0, *across) {
                weight -= search.points[order[first]].weight;
                first += 1;
            }
            search.offer(weight, || order[first..=last].to_vec());
        }
        search.steps += order.len() as u64;
    }
}

/// A rectangle with two points on opposite sides, `width` apart, and a height within `most.0/most.1`.
pub(super) fn opposite(search: &mut Search<'_>, width: i64, most: (i128, i128)) {
    let points = search.points;
    let width = i128::from(width);
    for first in 0..points.len() {
        let near = search.near(first);
        for second in near.iter().copied() {
            let d = minus(points[second].at, points[first].at);
            let apart = dot(d, d);
            if apart < width * width {
                continue;
            }
            for hand in [1, -1] {
                if search.exhausted() {
                    return;
                }
                search.steps += near.len() as u64;
                let turned = Turned { d, apart, width, root: apart - width * width, hand };
                let mut inside: Vec<usize> = near
                    .iter()
                    .copied()
                    .filter(|i| turned.between(minus(points[*i].at, points[first].at)))
                    .collect();
                if search.weight_of(&inside) <= search.best.weight {
                    continue;
                }
                inside.sort_by(|a, b| {
                    turned.compare_across(minus(points[*a].at, points[*b].at)).then(a.cmp(b))
                });
                search.slide(&inside, &|a, b| {
                    turned.across_within(minus(points[b].at, points[a].at), most)
                });
                if width * width == apart {
                    // Both hands are one.
                    break;
                }
            }
        }
    }
}

/// The direction `u = (width d + hand sqrt(root) w) / apart`, with `w` = `d` turned by a quarter: the
/// ends of `d` lie `width` apart along it.
struct Turned {
    d: Dot,
    apart: i128,
    width: i128,
    root: i128,
    hand: i128,
}

impl Turned {
    /// Whether `v` from the first point lies between the two sides.
    fn between(&self, v: Dot) -> bool {
        let along = |v: Dot, less: i128| {
            compare_to_zero(
                self.width * dot(self.d, v) - less,
                self.hand * cross(self.d, v),
                self.root,
            )
        };
        along(v, 0) != Ordering::Less && along(v, self.width * self.apart) != Ordering::Greater
    }

    /// Parts of the reach across, times `apart`: a whole number and one times the root.
    fn across(&self, v: Dot) -> (i128, i128) {
        (self.width * cross(self.d, v), -self.hand * dot(self.d, v))
    }

    fn compare_across(&self, v: Dot) -> Ordering {
        let (whole, root) = self.across(v);
        compare_to_zero(whole, root, self.root)
    }

    /// Whether `v` reaches no further across than `most.0 / most.1`.
    fn across_within(&self, v: Dot, most: (i128, i128)) -> bool {
        let (whole, root) = self.across(v);
        let reach = as_float(whole) + as_float(root) * as_float(self.root).sqrt();
        let size = as_float(whole).abs() + as_float(root).abs() * as_float(self.root).sqrt();
        let limit = as_float(most.0) / as_float(most.1) * as_float(self.apart);
        if (reach - limit).abs() > 1.0e-12 * (size + limit) {
            return reach < limit;
        }
        let whole = BigInt::from(whole) * most.1 - BigInt::from(most.0) * self.apart;
        compare_big(&whole, &(BigInt::from(root) * most.1), &BigInt::from(self.root))
            != Ordering::Greater
    }
}
