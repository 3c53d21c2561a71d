//! The worst place of a frame: where it holds the most.
//!
//! An indication counts, with its whole weight (one, its length, its area), where its middle lies in
//! the frame or on its border. So a frame is asked about points, and the question is which points one
//! frame can hold. All comparisons are exact, in whole half-nanometres, so a point on the border of
//! the worst frame is inside.
//!
//! # Why the result is the largest
//! Take the points that some frame holds, and write `a` and `b` for how far they reach along and
//! across a direction. They fit in that direction when `a` and `b` are within the sides (fixed sides),
//! or when `a b` is within the area and both are within the longest side (any rectangle of an area).
//! *Along the axes* the frame slides until its left or lower side meets a point (or both its lower and
//! upper side meet points, for a rectangle of an area): every such place is tried.
//! *In any direction* the fitting directions form closed intervals. Where an interval ends, `a` or `b`
//! equals a side, so two points lie on opposite sides of the frame: every pair is tried. Where a fixed
//! frame fits in all directions, it fits along the axes too. For a rectangle of an area, an interval
//! may end where `a b` equals the area alone; but between two directions at which a side lies along two
//! of the points, `a` and `b` are cosines of the direction, `a b` has no least value inside, so a
//! smaller or equal one stands at such a direction: every pair is tried as a side. (This is why the
//! smallest rectangle around points has a side through two of them; Freeman and Shapira 1975,
//! Communications of the ACM 18(7) 409-413; from memory.)
//! *A circle* that holds two points or more can be moved until two of its points lie on its border
//! without losing any: every pair is tried, with both circles through it.
//!
//! # Cost
//! With `m` points within a frame's diagonal of each of `n`: `n m log m` along the axes with fixed
//! sides, `n m^2` for the first look at every pair otherwise, and up to `m^2` more for the few pairs
//! that may hold more than is allowed. First looks are in floating point and generous; whatever may
//! count is then decided exactly. The search stops at a fixed effort and then says that it is not
//! complete.

mod circle;
mod straight;
mod turned;

use crate::dot::{Dot, as_f64, minus};
use crate::length::Length;

/// A frame to lay at its worst place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Frame {
    /// Any rectangle of this area whose longer side is within `longest`.
    Area { nm2: u128, longest: Length, placed: Placed },
    /// A rectangle of these sides, either way round.
    Sides { sides: [Length; 2], placed: Placed },
    /// A circle.
    Circle { diameter: Length },
}

/// How a frame may lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Placed {
    /// In any direction.
    AnyDirection,
    /// With its sides along x and y.
    AlongAxes,
}

/// The middle of an indication and what it weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Weighted {
    pub(crate) at: Dot,
    pub(crate) weight: u128,
}

/// What the worst place holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Worst {
    /// The sum of weights.
    pub(crate) weight: u128,
    /// Who is in it, ascending.
    pub(crate) members: Vec<usize>,
    /// Whether it is surely the worst; else it is the worst that was found.
    pub(crate) complete: bool,
}

/// Lays `frame` at its worst place, if that holds more than `allowed`; places that hold no more are
/// not told apart. Once such a place is found, only a little more effort is spent to find a worse one.
pub(crate) fn worst(points: &[Weighted], frame: &Frame, allowed: u128) -> Worst {
    let mut search = Search::new(points, frame, allowed);
    match frame {
        Frame::Circle { diameter } => circle::search(&mut search, doubled(*diameter)),
        Frame::Sides { sides, placed } => {
            let sides = sides.map(doubled);
            straight::fixed(&mut search, sides);
            if *placed == Placed::AnyDirection {
                turned::opposite(&mut search, sides[0], (i128::from(sides[1]), 1));
                turned::opposite(&mut search, sides[1], (i128::from(sides[0]), 1));
            }
        }
        Frame::Area { nm2, longest, placed } => {
            let area = i128::try_from(nm2.saturating_mul(4)).unwrap_or(i128::MAX);
            let longest = doubled(*longest);
            match placed {
                Placed::AlongAxes => straight::area(&mut search, area, longest),
                Placed::AnyDirection => {
                    turned::flush(&mut search, area, longest);
                    turned::opposite(&mut search, longest, (area, i128::from(longest)));
                }
            }
        }
    }
    search.finish()
}

/// Half-nanometres; what is longer than 100 m is cut to that, beyond which no place lies.
fn doubled(length: Length) -> i64 {
    i64::try_from(length.nm().saturating_mul(2)).unwrap_or(i64::MAX).min(600_000_000_000)
}

/// Most points looked at before the search gives up, and before it is content with a caught place.
const MOST_STEPS: u64 = 200_000_000;
const MOST_STEPS_CAUGHT: u64 = 10_000_000;

struct Search<'a> {
    points: &'a [Weighted],
    /// Indices by x, to look up what is near.
    by_x: Vec<usize>,
    /// No frame holds two points further apart than this.
    diagonal: f64,
    best: Worst,
    steps: u64,
    limit: u64,
}

impl<'a> Search<'a> {
    fn new(points: &'a [Weighted], frame: &Frame, allowed: u128) -> Self {
        let mut by_x: Vec<usize> = (0..points.len()).collect();
        by_x.sort_by_key(|i| (points[*i].at, *i));
        let diagonal = match frame {
            Frame::Circle { diameter } => as_f64(doubled(*diameter)),
            Frame::Sides { sides: [a, b], .. } => as_f64(doubled(*a)).hypot(as_f64(doubled(*b))),
            Frame::Area { nm2, longest, .. } => {
                let longest = as_f64(doubled(*longest));
                let area = crate::root::as_float(i128::try_from(*nm2).unwrap_or(i128::MAX)) * 4.0;
                longest.hypot(area / longest)
            }
        } + 4.0;
        let mut search = Self {
            points,
            by_x,
            diagonal,
            best: Worst { weight: allowed, ..Worst::default() },
            steps: 0,
            limit: MOST_STEPS,
        };
        search.offer_same_places();
        search
    }

    /// Points of one place are in one frame, whatever its size.
    fn offer_same_places(&mut self) {
        let by_x = self.by_x.clone();
        for same in by_x.chunk_by(|a, b| self.points[*a].at == self.points[*b].at) {
            self.offer(self.weight_of(same), || same.to_vec());
        }
    }

    /// What lies within a diagonal of a point, itself included, by x, with the way there.
    fn ways(&mut self, of: usize) -> Vec<Way> {
        let at = self.points[of].at;
        let near = self.near(of);
        near.into_iter()
            .map(|index| {
                let way = minus(self.points[index].at, at);
                let weight = self.points[index].weight;
                Way { index, way, x: as_f64(way[0]), y: as_f64(way[1]), weight }
            })
            .collect()
    }

    /// What lies within a diagonal of a point, itself included, by x.
    fn near(&mut self, of: usize) -> Vec<usize> {
        let at = self.points[of].at;
        let start = self
            .by_x
            .partition_point(|i| as_f64(self.points[*i].at[0]) < as_f64(at[0]) - self.diagonal);
        let mut near = Vec::new();
        for i in self.by_x[start..].iter().copied() {
            let away = minus(self.points[i].at, at);
            if as_f64(away[0]) > self.diagonal {
                break;
            }
            self.steps += 1;
            if as_f64(away[0]).hypot(as_f64(away[1])) <= self.diagonal {
                near.push(i);
            }
        }
        near
    }

    fn weight_of(&self, members: &[usize]) -> u128 {
        members.iter().map(|i| self.points[*i].weight).sum()
    }

    fn offer(&mut self, weight: u128, members: impl FnOnce() -> Vec<usize>) {
        if weight > self.best.weight {
            let mut members = members();
            members.sort_unstable();
            self.best = Worst { weight, members, complete: false };
            self.limit = self.limit.min(self.steps + MOST_STEPS_CAUGHT);
        }
    }

    const fn exhausted(&self) -> bool {
        self.steps > self.limit
    }

    /// Slides a window over `sorted`, whose members fit together when the first and the last do.
    fn slide(&mut self, sorted: &[usize], fits: &dyn Fn(usize, usize) -> bool) {
        let mut first = 0;
        let mut weight = 0_u128;
        for last in 0..sorted.len() {
            weight += self.points[sorted[last]].weight;
            while !fits(sorted[first], sorted[last]) {
                weight -= self.points[sorted[first]].weight;
                first += 1;
            }
            self.offer(weight, || sorted[first..=last].to_vec());
        }
        self.steps += sorted.len() as u64;
    }

    fn finish(mut self) -> Worst {
        if self.best.members.is_empty() {
            self.best.weight = 0;
        }
        self.best.complete = !self.exhausted();
        self.best
    }
}

/// A point near another one, and the way there: exact, and in floating point for a first look.
#[derive(Clone, Copy)]
struct Way {
    index: usize,
    way: Dot,
    x: f64,
    y: f64,
    weight: u128,
}

/// The worst place of a window of `length` along one direction: `at` is where each point lies.
pub(crate) fn worst_along(points: &[(i64, u128)], length: Length) -> Worst {
    let mut by_place: Vec<usize> = (0..points.len()).collect();
    by_place.sort_by_key(|i| (points[*i].0, *i));
    let length = doubled(length);
    let mut best = Worst { complete: true, ..Worst::default() };
    let (mut first, mut weight) = (0, 0_u128);
    for last in 0..by_place.len() {
        weight += points[by_place[last]].1;
        while points[by_place[last]].0 - points[by_place[first]].0 > length {
            weight -= points[by_place[first]].1;
            first += 1;
        }
        if weight > best.weight {
            let mut members = by_place[first..=last].to_vec();
            members.sort_unstable();
            best = Worst { weight, members, complete: true };
        }
    }
    best
}

#[cfg(test)]
mod tests;
