//! What blur does to a narrow mark, and taking it back.
//!
//! A line narrower than a few standard deviations of the blur looks wider than it is: its half
//! height width cannot fall below 2.35 sigma. For a line of even darkness the relation between
//! true and seen width is known, so the seen width is corrected and half of the correction is
//! carried as uncertainty.

/// The seen half-height width of an evenly dark line of width `width` under a Gaussian blur `sigma`.
fn seen_width(width: f64, sigma: f64) -> f64 {
    let s = std::f64::consts::SQRT_2 * sigma;
    let profile =
        |x: f64| 0.5 * (libm::erf((x + 0.5 * width) / s) - libm::erf((x - 0.5 * width) / s));
    let half = 0.5 * profile(0.0);
    let (mut low, mut high) = (0.0, 0.5 * width + 4.0 * sigma);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if profile(middle) > half {
            low = middle;
        } else {
            high = middle;
        }
    }
    low + high
}

/// The true width of a line seen `seen` wide under a Gaussian blur of standard deviation `sigma`
/// (same unit). Never less than 0.4 of what is seen: below that the width is not knowable.
///
/// ```
/// // A line ten times as wide as the blur is seen as it is.
/// assert!((nde_measure::blur::true_width(1.0, 0.1) - 1.0).abs() < 1e-3);
/// // One seen at three sigma is really narrower.
/// assert!(nde_measure::blur::true_width(0.3, 0.1) < 0.26);
/// ```
#[must_use]
pub fn true_width(seen: f64, sigma: f64) -> f64 {
    let least = 0.4 * seen;
    if sigma <= 0.0 || seen <= 0.0 {
        return seen;
    }
    if seen_width(least, sigma) >= seen {
        return least;
    }
    let (mut low, mut high) = (least, seen);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if seen_width(middle, sigma) < seen {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_is_seen_as_wide_as_the_blur() {
        // Full width at half height of a Gaussian: 2 sqrt(2 ln 2) sigma.
        let fwhm = 2.0 * (2.0 * std::f64::consts::LN_2).sqrt();
        assert!((seen_width(1e-6, 1.0) - fwhm).abs() < 1e-3);
    }

    #[test]
    fn correcting_undoes_blurring() {
        for width in [1.5, 2.0, 3.0, 6.0] {
            let seen = seen_width(width, 1.0);
            assert!((true_width(seen, 1.0) - width).abs() < 1e-6, "{width}");
        }
    }
}
