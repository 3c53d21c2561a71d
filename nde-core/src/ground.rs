//! The ground an indication covers, and the edge-to-edge gap between two of them.
//!
//! A ground is a core of points (one point, a segment or a closed outline) with a radius around it:
//! a typed stadium is a segment with half its width around it, a measured outline has no radius.
//! Everything is in whole half-nanometres, so that half a width is whole too. The ends of a stadium
//! lying along x or y are exact; at any other angle each end is rounded once, to the half-nanometre.
//!
//! A gap is compared with a limit exactly: squared distances are first compared in floating point
//! and, when that is too close to call, in integers of any size.

mod part;

mod gap;

mod hull;

use std::cmp::Ordering;

use crate::dot::{Dot, as_f64, dot, minus};
use crate::length::Length;
use crate::place::{Place, Point};
use gap::{compare_parts, core_gap};
use hull::hull;
use part::Part;

pub(crate) use gap::box_gap;

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

#[cfg(test)]
mod tests;
