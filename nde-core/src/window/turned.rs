//! Frames in any direction.

use std::cmp::Ordering;

use num_bigint::BigInt;

use super::{Search, Way};
use crate::dot::{Dot, as_f64, cross, dot};
use crate::root::{as_float, compare_big, compare_to_zero};

/// Share of a product of two ways by which first looks are generous: far more than they are wrong.
const GENEROUS: f64 = 1.0e-9;

/// Any rectangle of an area with a side through two points: every ordered pair, with the frame to its
/// left.
pub(super) fn flush(search: &mut Search<'_>, area: i128, longest: i64) {
    for first in 0..search.points.len() {
        let near = search.ways(first);
        let mut beside: Vec<Beside> = Vec::with_capacity(near.len());
        for second in &near {
            if search.exhausted() {
                return;
            }
            let apart = dot(second.way, second.way);
            if apart == 0 {
                continue;
            }
            search.steps += near.len() as u64;
            let side = Side::new(apart, area, longest, search.diagonal);
            beside.clear();
            let mut weight = 0;
            let square = as_float(apart);
            for p in &near {
                let along = second.x.mul_add(p.x, second.y * p.y);
                let across = second.x.mul_add(p.y, -(second.y * p.x));
                let reach = along.max(square) - along.min(0.0);
                if across >= -side.slack && side.may_fit(reach, across) {
                    weight += p.weight;
                    beside.push(Beside { across: 0, along: 0, way: *p });
                }
            }
            if weight > search.best.weight {
                rising(search, &side, second.way, &mut beside);
            }
        }
    }
}

/// A point beside a side: its reach along and across, each times the side's own length.
#[derive(Clone, Copy)]
struct Beside {
    across: i128,
    along: i128,
    way: Way,
}

/// A side of the frame, and what may lie beside it.
struct Side {
    apart: i128,
    area: i128,
    longest: i128,
    /// `longest` and `area` in floating point, times the side's own length or its square.
    longest_reach: f64,
    area_reach: f64,
    slack: f64,
}

impl Side {
    fn new(apart: i128, area: i128, longest: i64, diagonal: f64) -> Self {
        let length = as_float(apart).sqrt();
        let slack = GENEROUS * length * diagonal + 1.0;
        Self {
            apart,
            area,
            longest: i128::from(longest),
            longest_reach: as_f64(longest) * length,
            area_reach: as_float(area) * as_float(apart),
            slack,
        }
    }

    /// A first look, generous.
    fn may_fit(&self, along: f64, across: f64) -> bool {
        let most = self.longest_reach + self.slack;
        along <= most
            && across <= most
            && along * across <= self.area_reach + self.slack * (along + across.abs() + self.slack)
    }

    /// Whether reaches of `along` and `across`, each times `sqrt(apart)`, fit.
    fn fits(&self, along: i128, across: i128) -> bool {
        let within = |reach: i128| {
            let (x, most) = (as_float(reach), self.longest_reach);
            if (x - most).abs() > 1.0e-12 * most {
                return x < most;
            }
            let most = BigInt::from(self.longest);
            BigInt::from(reach) * reach <= &most * &most * self.apart
        };
        let in_area = || {
            let (x, most) = (as_float(along) * as_float(across), self.area_reach);
            if (x - most).abs() > 1.0e-12 * most {
                return x < most;
            }
            BigInt::from(along) * across <= BigInt::from(self.area) * self.apart
        };
        within(along) && within(across) && in_area()
    }
}

/// Raises the far side point by point, and slides along for each height.
fn rising(search: &mut Search<'_>, side: &Side, d: Dot, beside: &mut Vec<Beside>) {
    for point in beside.iter_mut() {
        point.across = cross(d, point.way.way);
        point.along = dot(d, point.way.way);
    }
    beside.retain(|point| point.across >= 0);
    beside.sort_unstable_by_key(|p| (p.along, p.way.index));
    let mut heights: Vec<i128> = beside.iter().map(|p| p.across).collect();
    heights.sort_unstable();
    heights.dedup();
    let mut below: Vec<Beside> = Vec::with_capacity(beside.len());
    for height in heights {
        if search.exhausted() {
            return;
        }
        // The frame holds both ends of its side, so nothing further along than this is in it.
        let fits = |p: &Beside| {
            p.across <= height
                && side
                    .may_fit(as_float(p.along.max(side.apart) - p.along.min(0)), as_float(height))
        };
        below.clear();
        below.extend(beside.iter().copied().filter(fits));
        search.steps += beside.len() as u64;
        let weight: u128 = below.iter().map(|p| p.way.weight).sum();
        if weight <= search.best.weight {
            continue;
        }
        let mut first = 0;
        let mut weight = 0_u128;
        for last in 0..below.len() {
            weight += below[last].way.weight;
            while !side.fits(below[last].along - below[first].along, height) {
                weight -= below[first].way.weight;
                first += 1;
                if first > last {
                    break;
                }
            }
            search.offer(weight, || below[first..=last].iter().map(|p| p.way.index).collect());
        }
    }
}

/// A rectangle with two points on opposite sides, `width` apart, and a height within `most.0/most.1`.
pub(super) fn opposite(search: &mut Search<'_>, width: i64, most: (i128, i128)) {
    let points = search.points;
    let width = i128::from(width);
    for first in 0..points.len() {
        let near = search.ways(first);
        for second in &near {
            let d = second.way;
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
                let may = turned.first_look(second, search.diagonal);
                let weight: u128 = near.iter().filter(|p| may(p)).map(|p| p.weight).sum();
                if weight <= search.best.weight {
                    continue;
                }
                let mut inside: Vec<Way> =
                    near.iter().copied().filter(|p| may(p) && turned.between(p.way)).collect();
                inside.sort_by(|a, b| {
                    turned.compare_across(a.way, b.way).then(a.index.cmp(&b.index))
                });
                let order: Vec<usize> = inside.iter().map(|p| p.index).collect();
                search.slide(&order, &|a, b| {
                    let v = crate::dot::minus(points[b].at, points[a].at);
                    turned.across_within(v, most)
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
    /// Whether a point may lie between the two sides; generous.
    fn first_look(&self, second: &Way, diagonal: f64) -> impl Fn(&Way) -> bool + use<> {
        let apart = as_float(self.apart);
        let turn = as_float(self.root).sqrt() * as_float(self.hand);
        let width = as_float(self.width);
        let u = (
            (width * second.x - turn * second.y) / apart,
            (width * second.y + turn * second.x) / apart,
        );
        let slack = GENEROUS * diagonal + 1.0;
        move |p: &Way| (-slack..=width + slack).contains(&u.0.mul_add(p.x, u.1 * p.y))
    }

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

    /// Which of two ways reaches further across.
    fn compare_across(&self, a: Dot, b: Dot) -> Ordering {
        let (whole, root) = self.across(crate::dot::minus(a, b));
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
        let root = BigInt::from(root) * most.1;
        compare_big(&whole, &root, &BigInt::from(self.root)) != Ordering::Greater
    }
}
