//! The edge-to-edge gap between two pieces.
//!
//! Squared distances are first compared in floating point and, when that is too close to call, in
//! integers of any size.

use std::cmp::Ordering;

use num_bigint::BigInt;

use super::part::Part;
use crate::dot::{Dot, as_f64, cross, dot, minus};

/// How the gap between two parts compares with `limit` half-nanometres.
pub(super) fn compare_parts(a: &Part, b: &Part, limit: i64) -> Ordering {
    let reach = limit + a.radius + b.radius;
    if box_gap((a.low, a.high), (b.low, b.high)) > as_f64(limit) + 4.0 {
        return Ordering::Greater;
    }
    if a.holds(b.core[0]) || b.holds(a.core[0]) {
        return 0.cmp(&reach);
    }
    let slack = 2.0 + as_f64(reach) * 1.0e-12;
    let mut least = Ordering::Greater;
    for s in a.segments() {
        let s_box =
            ([s.0[0].min(s.1[0]), s.0[1].min(s.1[1])], [s.0[0].max(s.1[0]), s.0[1].max(s.1[1])]);
        let around = (
            [b.low[0] + b.radius, b.low[1] + b.radius],
            [b.high[0] - b.radius, b.high[1] - b.radius],
        );
        if box_gap(s_box, around) > as_f64(reach) + slack {
            continue;
        }
        for t in b.segments() {
            let about = segment_gap(s, t);
            if about > as_f64(reach) + slack {
                continue;
            }
            if about < as_f64(reach) - slack {
                return Ordering::Less;
            }
            least = least.min(compare_segments(s, t, reach));
            if least == Ordering::Less {
                return least;
            }
        }
    }
    least
}

pub(super) fn core_gap(a: &Part, b: &Part) -> f64 {
    if a.holds(b.core[0]) || b.holds(a.core[0]) {
        return 0.0;
    }
    let mut least = f64::INFINITY;
    for s in a.segments() {
        for t in b.segments() {
            least = least.min(segment_gap(s, t));
        }
    }
    least
}

/// Distance between two segments in floating point.
fn segment_gap(s: (Dot, Dot), t: (Dot, Dot)) -> f64 {
    if segments_meet(s, t) {
        return 0.0;
    }
    point_gap(s.0, t).min(point_gap(s.1, t)).min(point_gap(t.0, s)).min(point_gap(t.1, s))
}

fn point_gap(p: Dot, (a, b): (Dot, Dot)) -> f64 {
    let (ab, ap) = (minus(b, a), minus(p, a));
    let (dx, dy) = (as_f64(ab[0]), as_f64(ab[1]));
    let (px, py) = (as_f64(ap[0]), as_f64(ap[1]));
    let squared = dx.mul_add(dx, dy * dy);
    if squared <= 0.0 {
        return px.hypot(py);
    }
    let along = (px.mul_add(dx, py * dy) / squared).clamp(0.0, 1.0);
    (px - along * dx).hypot(py - along * dy)
}

/// Exact comparison of the distance between two segments with `reach`.
fn compare_segments(s: (Dot, Dot), t: (Dot, Dot), reach: i64) -> Ordering {
    if segments_meet(s, t) {
        return 0.cmp(&reach);
    }
    [(s.0, t), (s.1, t), (t.0, s), (t.1, s)]
        .into_iter()
        .map(|(p, segment)| compare_point(p, segment, reach))
        .min()
        .unwrap_or(Ordering::Greater)
}

fn compare_point(p: Dot, (a, b): (Dot, Dot), reach: i64) -> Ordering {
    let (ab, ap) = (minus(b, a), minus(p, a));
    let along = dot(ab, ap);
    let length = dot(ab, ab);
    let reach = BigInt::from(reach);
    if along <= 0 || length == 0 {
        BigInt::from(dot(ap, ap)).cmp(&(&reach * &reach))
    } else if along >= length {
        let bp = minus(p, b);
        BigInt::from(dot(bp, bp)).cmp(&(&reach * &reach))
    } else {
        let across = BigInt::from(cross(ab, ap));
        (&across * &across).cmp(&(&reach * &reach * length))
    }
}

/// Whether two segments share a point (exact).
fn segments_meet(s: (Dot, Dot), t: (Dot, Dot)) -> bool {
    let side = |(a, b): (Dot, Dot), p: Dot| cross(minus(b, a), minus(p, a)).signum();
    let (s0, s1, t0, t1) = (side(t, s.0), side(t, s.1), side(s, t.0), side(s, t.1));
    if s0 * s1 < 0 && t0 * t1 < 0 {
        return true;
    }
    let within = |(a, b): (Dot, Dot), p: Dot| {
        (0..2).all(|k| a[k].min(b[k]) <= p[k] && p[k] <= a[k].max(b[k]))
    };
    (s0 == 0 && within(t, s.0))
        || (s1 == 0 && within(t, s.1))
        || (t0 == 0 && within(s, t.0))
        || (t1 == 0 && within(s, t.1))
}

/// Distance between two boxes; zero when they touch.
pub(crate) fn box_gap(a: (Dot, Dot), b: (Dot, Dot)) -> f64 {
    let apart = |k: usize| (b.0[k] - a.1[k]).max(a.0[k] - b.1[k]).max(0);
    as_f64(apart(0)).hypot(as_f64(apart(1)))
}
