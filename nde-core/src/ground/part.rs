//! One piece of a ground: a core of points with a radius around it.

use crate::dot::{Dot, as_f64, cross, minus};

#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) core: Vec<Dot>,
    pub(super) closed: bool,
    pub(super) radius: i64,
    pub(super) low: Dot,
    pub(super) high: Dot,
}

impl Part {
    pub(super) fn new(core: Vec<Dot>, radius: i64) -> Option<Self> {
        let low = [0, 1].map(|k| core.iter().map(|p| p[k]).min().map(|v| v - radius));
        let high = [0, 1].map(|k| core.iter().map(|p| p[k]).max().map(|v| v + radius));
        let closed = core.len() > 2;
        Some(Self { closed, radius, low: [low[0]?, low[1]?], high: [high[0]?, high[1]?], core })
    }

    /// The segments of the core; a single point is a segment of no length.
    pub(super) fn segments(&self) -> impl Iterator<Item = (Dot, Dot)> + '_ {
        let n = self.core.len();
        let count = if self.closed { n } else { (n - 1).max(1) };
        (0..count).map(move |i| (self.core[i], self.core[(i + 1) % n]))
    }

    /// The middle of its core's ends, or the centroid of a closed core's area.
    pub(super) fn middle(&self) -> Dot {
        let n = self.core.len();
        let start = self.core[0];
        if !self.closed {
            let end = self.core[n - 1];
            return [0, 1].map(|k| (start[k] + end[k]).div_euclid(2));
        }
        // Seen from the first corner, so that large coordinates lose nothing.
        let (mut doubled, mut sum) = (0.0, [0.0, 0.0]);
        for (a, b) in self.segments() {
            let (a, b) = (minus(a, start), minus(b, start));
            let turn = crate::root::as_float(cross(a, b));
            doubled += turn;
            for k in 0..2 {
                sum[k] += turn * (as_f64(a[k]) + as_f64(b[k]));
            }
        }
        if doubled.abs() < 1.0 {
            return [0, 1].map(|k| (self.low[k] + self.high[k]).div_euclid(2));
        }
        [0, 1].map(|k| start[k] + rounded(sum[k] / (3.0 * doubled)))
    }

    /// Its area in square half-nanometres.
    pub(super) fn area(&self) -> f64 {
        let r = as_f64(self.radius);
        let around: f64 = if self.closed {
            let doubled: i128 = self
                .segments()
                .map(|(a, b)| cross(minus(a, self.core[0]), minus(b, self.core[0])))
                .sum();
            return crate::root::as_float(doubled.abs()) / 2.0;
        } else {
            self.segments().map(|(a, b)| as_f64(b[0] - a[0]).hypot(as_f64(b[1] - a[1]))).sum()
        };
        around * 2.0 * r + std::f64::consts::PI * r * r
    }

    /// Whether a closed core holds the point inside (even-odd rule, exact).
    pub(super) fn holds(&self, point: Dot) -> bool {
        if !self.closed {
            return false;
        }
        let mut inside = false;
        for (a, b) in self.segments() {
            if (a[1] > point[1]) != (b[1] > point[1]) {
                let turn = cross(minus(b, a), minus(point, a));
                if (turn > 0) == (b[1] > a[1]) {
                    inside = !inside;
                }
            }
        }
        inside
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a centroid lies within the core, whose coordinates stay below 2^53"
)]
fn rounded(value: f64) -> i64 {
    value.round() as i64
}
