//! Exact comparisons of whole numbers with one square root among them.
//!
//! A floating-point estimate answers when it is clear; else whole numbers of any size do.

use std::cmp::Ordering;

use num_bigint::{BigInt, Sign};

/// `a + b sqrt(c)` compared with zero; `c` is not negative.
pub(crate) fn compare_to_zero(a: i128, b: i128, c: i128) -> Ordering {
    let (x, y) = (as_float(a), as_float(b) * as_float(c).sqrt());
    // Each part is right to a few units in the last place.
    if (x + y).abs() > 1.0e-12 * (x.abs() + y.abs()) {
        return if x + y > 0.0 { Ordering::Greater } else { Ordering::Less };
    }
    compare_big(&BigInt::from(a), &BigInt::from(b), &BigInt::from(c))
}

/// `a + b sqrt(c)` compared with zero, in whole numbers throughout.
pub(crate) fn compare_big(a: &BigInt, b: &BigInt, c: &BigInt) -> Ordering {
    let b_sign = if c.sign() == Sign::NoSign { Sign::NoSign } else { b.sign() };
    let sign = match (a.sign(), b_sign) {
        (sign, Sign::NoSign) | (Sign::NoSign, sign) => sign,
        (one, other) if one == other => one,
        (one, other) => match (a * a).cmp(&(b * b * c)) {
            Ordering::Greater => one,
            Ordering::Less => other,
            Ordering::Equal => Sign::NoSign,
        },
    };
    sign.cmp(&Sign::NoSign)
}

#[expect(
    clippy::cast_precision_loss,
    reason = "an estimate; close calls are decided in whole numbers"
)]
pub(crate) const fn as_float(value: i128) -> f64 {
    value as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ties_are_seen_as_ties() {
        // 6 - 2 sqrt(9) = 0, and one unit to each side of it at any size.
        let big = 1_000_000_000_000_000_000_i128;
        assert_eq!(compare_to_zero(6, -2, 9), Ordering::Equal);
        assert_eq!(compare_to_zero(3 * big, -big, 9), Ordering::Equal);
        assert_eq!(compare_to_zero(3 * big + 1, -big, 9), Ordering::Greater);
        assert_eq!(compare_to_zero(3 * big - 1, -big, 9), Ordering::Less);
        assert_eq!(compare_to_zero(-1, 1, 2), Ordering::Greater);
        assert_eq!(compare_to_zero(0, -1, 2), Ordering::Less);
        assert_eq!(compare_to_zero(0, -1, 0), Ordering::Equal);
    }
}
