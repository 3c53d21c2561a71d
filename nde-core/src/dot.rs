//! Points of the surface plane in whole half-nanometres, so that half a width is whole too, and what
//! is reckoned with them: products of two are exact in 128 bits.

/// A point, or the way between two.
pub(crate) type Dot = [i64; 2];

pub(crate) const fn minus(a: Dot, b: Dot) -> Dot {
    [a[0] - b[0], a[1] - b[1]]
}

pub(crate) fn cross(a: Dot, b: Dot) -> i128 {
    i128::from(a[0]) * i128::from(b[1]) - i128::from(a[1]) * i128::from(b[0])
}

pub(crate) fn dot(a: Dot, b: Dot) -> i128 {
    i128::from(a[0]) * i128::from(b[0]) + i128::from(a[1]) * i128::from(b[1])
}

#[expect(
    clippy::cast_precision_loss,
    reason = "coordinates stay below 2^53 by the furthest place allowed"
)]
pub(crate) const fn as_f64(value: i64) -> f64 {
    value as f64
}
