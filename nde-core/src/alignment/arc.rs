//! The directions of the lines that touch two grounds.

use std::cmp::Ordering;

use num_bigint::BigInt;

use crate::dot::{Dot, as_f64, cross, dot, minus};
use crate::ground::Ground;
use crate::root::compare_big;

/// Directions closer than this to an arc's end are decided in integers, radians.
/// Chosen: a thousand times the error of the arithmetic that makes an arc.
const TOO_CLOSE: f64 = 1.0e-9;

/// The directions (mod pi) of the lines that touch both grounds of a pair.
#[derive(Clone, Copy, Debug)]
pub(super) enum Arc {
    /// The grounds overlap: every direction.
    All,
    /// From `from` to `to` radians, `to - from < pi`, each end with the corners its tangent touches.
    Between { from: f64, to: f64, from_at: Tangent, to_at: Tangent },
}

/// The difference of two corners and the radii around them together: a line through the origin at
/// distance `radius` from `v` is parallel to the tangent.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tangent {
    v: Dot,
    radius: i64,
}

impl Arc {
    /// The arc of two grounds for a strip of `strip` half-nanometres (zero for a line).
    pub(super) fn new(a: &Ground, b: &Ground, strip: i64) -> Self {
        let mut ends: Option<(f64, f64, Tangent, Tangent)> = None;
        let mut middle = 0.0;
        for tangent in differences(a, b, strip) {
            let (x, y) = (as_f64(tangent.v[0]), as_f64(tangent.v[1]));
            let distance = x.hypot(y);
            if distance <= as_f64(tangent.radius) {
                return Self::All;
            }
            let half = (as_f64(tangent.radius) / distance).asin();
            let angle = y.atan2(x);
            let Some((from, to, from_at, to_at)) = &mut ends else {
                middle = angle;
                ends = Some((angle - half, angle + half, tangent, tangent));
                continue;
            };
            // Seen from the middle, so that the cone is not torn at +-pi.
            let turn = (angle - middle + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU)
                - std::f64::consts::PI;
            let angle = middle + turn;
            if angle - half < *from {
                (*from, *from_at) = (angle - half, tangent);
            }
            if angle + half > *to {
                (*to, *to_at) = (angle + half, tangent);
            }
        }
        match ends {
            Some((from, to, from_at, to_at)) if to - from < std::f64::consts::PI => {
                Self::Between { from, to, from_at, to_at }
            }
            _ => Self::All,
        }
    }
}

fn differences<'a>(a: &'a Ground, b: &'a Ground, strip: i64) -> impl Iterator<Item = Tangent> + 'a {
    a.hull().iter().flat_map(move |(p, r)| {
        b.hull().iter().map(move |(q, s)| Tangent { v: minus(*q, *p), radius: r + s + strip })
    })
}

/// Directions that many arcs share: pieces of `[0, pi)`, once a little wide and once a little narrow.
#[derive(Clone, Debug)]
pub(super) struct Shared {
    wide: Vec<(f64, f64)>,
    narrow: Vec<(f64, f64)>,
}

impl Shared {
    pub(super) fn all() -> Self {
        let all = vec![(0.0, std::f64::consts::PI)];
        Self { wide: all.clone(), narrow: all }
    }

    /// What is left after another arc.
    pub(super) fn with(&self, arc: Arc) -> Self {
        match arc {
            Arc::All => self.clone(),
            Arc::Between { from, to, .. } => Self {
                wide: cut(&self.wide, from - TOO_CLOSE, to + TOO_CLOSE),
                narrow: cut(&self.narrow, from + TOO_CLOSE, to - TOO_CLOSE),
            },
        }
    }

    pub(super) fn may_exist(&self) -> bool {
        !self.wide.is_empty()
    }

    pub(super) fn surely_exists(&self) -> bool {
        !self.narrow.is_empty()
    }

    /// What is left of both.
    pub(super) fn and(&self, other: &Self) -> Self {
        let both = |a: &[(f64, f64)], b: &[(f64, f64)]| {
            b.iter().flat_map(|(from, to)| cut(a, *from, *to)).collect()
        };
        Self { wide: both(&self.wide, &other.wide), narrow: both(&self.narrow, &other.narrow) }
    }

    /// A direction in the middle of the widest piece, radians.
    pub(super) fn middle(&self) -> Option<f64> {
        const PI: f64 = std::f64::consts::PI;
        let pieces = if self.narrow.is_empty() { &self.wide } else { &self.narrow };
        let mut pieces = pieces.clone();
        pieces.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Directions just above 0 and just below pi are one piece.
        if let [first, .., last] = pieces[..]
            && first.0 <= 0.0
            && last.1 >= PI
        {
            pieces.push((last.0 - PI, first.1));
        }
        let width = |piece: &(f64, f64)| piece.1 - piece.0;
        pieces
            .iter()
            .max_by(|a, b| width(a).total_cmp(&width(b)))
            .map(|(from, to)| f64::midpoint(*from, *to))
    }
}

fn cut(pieces: &[(f64, f64)], from: f64, to: f64) -> Vec<(f64, f64)> {
    const PI: f64 = std::f64::consts::PI;
    if to < from {
        return Vec::new();
    }
    if to - from >= PI {
        return pieces.to_vec();
    }
    let start = from.rem_euclid(PI);
    let end = start + (to - from);
    let arcs = if end > PI { vec![(start, PI), (0.0, end - PI)] } else { vec![(start, end)] };
    let mut left = Vec::with_capacity(pieces.len());
    for piece in pieces {
        for arc in &arcs {
            let (low, high) = (piece.0.max(arc.0), piece.1.min(arc.1));
            if low <= high {
                left.push((low, high));
            }
        }
    }
    left
}

/// Whether some direction lies in the arc of every pair, decided in integers.
///
/// If any does, then the end of some pair's arc does: shrink the set of shared directions to one of
/// its ends, which is an end of one of the arcs (or every arc is the full circle).
pub(super) fn in_line_exactly(members: &[&Ground], strip: i64) -> bool {
    let mut pairs = Vec::new();
    for (i, a) in members.iter().enumerate() {
        for b in &members[i + 1..] {
            pairs.push((*a, *b, Arc::new(a, b, strip)));
        }
    }
    let mut ends = pairs.iter().filter_map(|(_, _, arc)| match arc {
        Arc::All => None,
        Arc::Between { from_at, to_at, .. } => Some([*from_at, *to_at]),
    });
    let Some(first) = ends.next() else { return true };
    std::iter::once(first).chain(ends).flatten().any(|end| {
        [1, -1].into_iter().any(|hand| {
            pairs
                .iter()
                .all(|(a, b, arc)| matches!(arc, Arc::All) || touched_along(a, b, strip, end, hand))
        })
    })
}

/// Whether one line parallel to the tangent `end` touches both grounds.
///
/// The unit normal of that tangent is `n = (R v0 + hand w0 sqrt(C)) / D` with `v0` and `R` of the
/// tangent, `w0` = `v0` turned by a quarter, `C = |v0|^2 - R^2`, `D = |v0|^2`. The line touches both
/// when the differences of their corners do not all lie further than their radii to one side of it.
fn touched_along(a: &Ground, b: &Ground, strip: i64, end: Tangent, hand: i32) -> bool {
    let (v0, r0) = (end.v, i128::from(end.radius));
    let d = dot(v0, v0);
    let c = d - r0 * r0;
    if c < 0 {
        return true;
    }
    let c = BigInt::from(c);
    let (mut not_left, mut not_right) = (false, false);
    for Tangent { v, radius } in differences(a, b, strip) {
        let along = BigInt::from(r0) * dot(v0, v);
        let root = BigInt::from(cross(v0, v)) * hand;
        let far = BigInt::from(radius) * d;
        // n.v <= R and n.v >= -R, each times D.
        not_left |= compare_big(&(&along - &far), &root, &c) != Ordering::Greater;
        not_right |= compare_big(&(&along + &far), &root, &c) != Ordering::Less;
    }
    not_left && not_right
}
