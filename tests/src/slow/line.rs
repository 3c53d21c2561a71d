//! Whether one straight line, or strip, touches all of several grounds.
//!
//! A direction is written as `n = (1 - t^2, 2 t) / (1 + t^2)` with any number `t`, so that "the shadows
//! of two discs along `n` meet" is a quadratic in `t` being at most zero. Intervals on a line have a
//! common point when every two have one. The directions that do for every pair form a closed set; if
//! it is neither empty nor everything, it has an end, and there some quadratic is zero. So every root of
//! every quadratic is tried, and `t = 0`, exactly.

use super::mark::Core;
use super::number::at_most_zero;
use num_bigint::BigInt;

/// `a t^2 + b t + c <= 0`.
struct Quadratic {
    a: BigInt,
    b: BigInt,
    c: BigInt,
}

/// `t = (p + q sqrt(r)) / s` with `s` above zero.
struct Root {
    p: BigInt,
    q: BigInt,
    r: BigInt,
    s: BigInt,
}

/// Whether one strip `strip` nanometres wide (zero: a line) touches every core.
#[must_use]
pub fn touches_all(cores: &[&Core], strip: i64) -> bool {
    // Each pair gives two conditions: one of the first list holds, and one of the second.
    let mut conditions: Vec<Vec<Quadratic>> = Vec::new();
    for (i, a) in cores.iter().enumerate() {
        for b in &cores[i + 1..] {
            for hand in [1, -1] {
                conditions.push(meeting(a, b, strip, hand));
            }
        }
    }
    let holds = |root: &Root| conditions.iter().all(|one| one.iter().any(|q| q.holds_at(root)));
    let level = Root { p: 0.into(), q: 0.into(), r: 0.into(), s: 1.into() };
    holds(&level) || conditions.iter().flatten().flat_map(Quadratic::roots).any(|root| holds(&root))
}

/// The two shadows meet seen from one side: some corner of `b` less some corner of `a` reaches no
/// further along `hand n` than their radii and the strip.
fn meeting(a: &Core, b: &Core, strip: i64, hand: i64) -> Vec<Quadratic> {
    let reach = a.radius + b.radius + 2 * strip;
    let mut all = Vec::new();
    for p in &a.corners {
        for q in &b.corners {
            let [x, y] = [hand * (q[0] - p[0]), hand * (q[1] - p[1])];
            // x (1 - t^2) + 2 y t <= reach (1 + t^2)
            all.push(Quadratic {
                a: BigInt::from(-x - reach),
                b: BigInt::from(2 * y),
                c: BigInt::from(x - reach),
            });
        }
    }
    all
}

impl Quadratic {
    fn roots(&self) -> Vec<Root> {
        let zero = BigInt::from(0);
        let positive = |p: BigInt, q: i64, r: BigInt, s: BigInt| {
            if s < zero {
                Root { p: -p, q: BigInt::from(-q), r, s: -s }
            } else {
                Root { p, q: BigInt::from(q), r, s }
            }
        };
        if self.a == zero {
            if self.b == zero {
                return Vec::new();
            }
            return vec![positive(-&self.c, 0, zero.clone(), self.b.clone())];
        }
        let r: BigInt = &self.b * &self.b - 4 * &self.a * &self.c;
        if r < zero {
            return Vec::new();
        }
        [1, -1].map(|hand| positive(-&self.b, hand, r.clone(), 2 * &self.a)).into()
    }

    /// Whether it is at most zero there: `a (p + q w)^2 + b (p + q w) s + c s^2 <= 0`, `w^2 = r`.
    fn holds_at(&self, at: &Root) -> bool {
        let Root { p, q, r, s } = at;
        let whole = &self.a * (p * p + q * q * r) + &self.b * p * s + &self.c * s * s;
        let root = 2 * &self.a * p * q + &self.b * q * s;
        at_most_zero(&whole, &root, r)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn disc(x: i64, y: i64, radius: i64) -> Core {
        Core { corners: vec![[x, y]], radius }
    }

    #[test]
    fn a_line_touches_three_discs_up_to_the_last_half_nanometre() {
        // Outer discs on the x axis: the line leans on both from one side, and the middle one may reach
        // up to it from as far as both radii.
        let at = |y: i64| {
            let discs = [disc(-1000, 0, 10), disc(0, y, 10), disc(1000, 0, 10)];
            touches_all(&discs.iter().collect::<Vec<_>>(), 0)
        };
        assert!(at(0) && at(20) && at(-20));
        assert!(!at(21) && !at(-21));
        let strip = |y: i64, nm: i64| {
            let discs = [disc(-1000, 0, 10), disc(0, y, 10), disc(1000, 0, 10)];
            touches_all(&discs.iter().collect::<Vec<_>>(), nm)
        };
        assert!(strip(24, 2) && !strip(25, 2));
    }

    #[test]
    fn any_direction_is_found() {
        for [x, y] in [[3, 4], [-3, 4], [0, 7], [7, 0], [-12, -5]] {
            let discs = [disc(0, 0, 1), disc(100 * x, 100 * y, 1), disc(250 * x, 250 * y, 1)];
            assert!(touches_all(&discs.iter().collect::<Vec<_>>(), 0), "{x} {y}");
            let discs = [disc(0, 0, 1), disc(100 * x, 100 * y, 1), disc(-250 * y, 250 * x, 1)];
            assert!(!touches_all(&discs.iter().collect::<Vec<_>>(), 0), "{x} {y}");
        }
        assert!(touches_all(&[&disc(5, 5, 1), &disc(5, 5, 1)], 0));
    }
}
