//! sRGB bytes to linear light.
//!
//! Source: IEC 61966-2-1, the sRGB transfer function (from memory; checked against published
//! values in the outside checks). Blur is linear in light, so edges are read in light, and
//! redness is a difference of logarithms of light, which cancels how bright the lamp is.

use std::sync::LazyLock;

/// Linear light, 0 to 1, of an sRGB value in 0 to 1.
#[must_use]
pub fn linear_of_srgb(value: f64) -> f64 {
    if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
}

/// Linear light, 0 to 1, of each sRGB byte.
pub static LINEAR_OF_SRGB: LazyLock<[f32; 256]> = LazyLock::new(|| table(linear_of_srgb));

/// Natural logarithm of linear light of each sRGB byte; black counts as half the darkest step.
static LN_OF_SRGB: LazyLock<[f32; 256]> =
    LazyLock::new(|| table(|v| linear_of_srgb(v.max(0.5 / 255.0)).ln()));

/// Linear light of each sRGB byte as [`ln_of_srgb`] has it.
static FLOORED_LIGHT: LazyLock<[f32; 256]> =
    LazyLock::new(|| table(|v| linear_of_srgb(v.max(0.5 / 255.0))));

/// The table of light in which black is not quite black, for loops over pixels.
pub(crate) fn light_of_srgb() -> &'static [f32; 256] {
    &FLOORED_LIGHT
}

/// The table of logarithms, for loops over pixels.
pub(crate) fn ln_of_srgb() -> &'static [f32; 256] {
    &LN_OF_SRGB
}

fn table(f: impl Fn(f64) -> f64) -> [f32; 256] {
    let mut values = [0.0; 256];
    for (byte, value) in (0_u8..=255).zip(values.iter_mut()) {
        *value = f(f64::from(byte) / 255.0) as f32;
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_and_joint_of_the_curve() {
        assert!((linear_of_srgb(0.0)).abs() < 1e-12);
        assert!((linear_of_srgb(1.0) - 1.0).abs() < 1e-12);
        let step = linear_of_srgb(0.040_450_001) - linear_of_srgb(0.040_45);
        assert!(step.abs() < 1e-6, "the two pieces meet");
    }
}
