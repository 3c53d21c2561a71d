//! What is known of the focal length before the ticks are asked.

use crate::scale::camera::{STATED_FOCAL_U, TYPICAL_FOCAL_WITHIN};

/// A photo that tells no focal length and was not seen to be cut was most likely taken with a phone's main
/// camera: so many of them, and within this relative standard deviation of the typical one. Chosen:
/// 23 to 28 mm are sold today, older phones had up to 33.
const MAIN_CAMERA: f64 = 0.9;
const MAIN_U: f64 = 0.1;
/// The others, logarithmic: wide lenses have half, portrait lenses and macro lenses two and three times the
/// typical focal length. Chosen.
const OTHER_U: f64 = 0.4;

/// How the focal length is known that the reading starts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FocalKnown {
    /// The photo tells it, or the user.
    Told,
    /// Not told: a typical one is taken.
    Typical,
    /// Not told, and the photo was cut or shrunk: a typical one is taken, but any may hold.
    Unknown,
}

impl FocalKnown {
    /// How likely it is that the focal length is `off.exp()` times the one taken, up to a factor.
    pub(super) fn weight(self, off: f64) -> f64 {
        let normal = |u: f64| (-0.5 * (off / u).powi(2)).exp() / u;
        match self {
            Self::Told => normal(STATED_FOCAL_U),
            Self::Typical => MAIN_CAMERA * normal(MAIN_U) + (1.0 - MAIN_CAMERA) * normal(OTHER_U),
            Self::Unknown => normal(self.u()),
        }
    }

    /// Relative standard uncertainty within which any focal length may be believed.
    pub(super) fn u(self) -> f64 {
        match self {
            Self::Told => STATED_FOCAL_U,
            Self::Typical => OTHER_U,
            // Rectangular.
            Self::Unknown => TYPICAL_FOCAL_WITHIN / 3.0_f64.sqrt(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clear_ticks_outweigh_a_typical_focal_length_but_not_a_told_one() {
        // Ticks that show twice the focal length to 5 %.
        let twice = 2.0_f64.ln();
        let ticks = |off: f64| (-0.5 * ((off - twice) / 0.05).powi(2)).exp();
        let mean = |known: FocalKnown| {
            let (mut sum, mut first) = (0.0, 0.0);
            for off in (-100..=100).map(|i| f64::from(i) / 100.0) {
                sum += known.weight(off) * ticks(off);
                first += off * known.weight(off) * ticks(off);
            }
            first / sum
        };
        assert!((mean(FocalKnown::Typical) - twice).abs() < 0.03);
        assert!((mean(FocalKnown::Unknown) - twice).abs() < 0.03);
        assert!(mean(FocalKnown::Told) < 0.7 * twice);
    }

    #[test]
    fn without_ticks_the_spread_is_that_of_the_cameras() {
        let spread = |known: FocalKnown| {
            let (mut sum, mut second) = (0.0, 0.0);
            for off in (-200..=200).map(|i| f64::from(i) / 100.0) {
                sum += known.weight(off);
                second += off * off * known.weight(off);
            }
            (second / sum).sqrt()
        };
        // Nine parts of 0.1 squared and one of 0.4 squared.
        assert!((spread(FocalKnown::Typical) - 0.158).abs() < 0.002);
        assert!((spread(FocalKnown::Told) - 0.04).abs() < 0.001);
    }
}
