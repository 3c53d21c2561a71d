//! Why a photo could not be measured: each fact with its remedy.

use crate::ScaleError;

/// Why a photo could not be measured.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MeasureError {
    /// No scale.
    #[error(transparent)]
    Scale(#[from] ScaleError),
    /// The scale says that a pixel is absurdly long or short on the part.
    #[error(
        "the scale gives {mm_per_px:.4} mm a pixel, outside 0.002 to 1; check the scale's numbers"
    )]
    Pitch {
        /// Millimetres a pixel.
        mm_per_px: f64,
    },
    /// The scale does not say how well it is known, so that no length could claim an uncertainty.
    #[error(
        "the scale's uncertainty is no number; give every source of it as a number, zero or above"
    )]
    NoUncertainty,
    /// A photo without pixels.
    #[error("the photo has no pixels ({width} x {height}); give a decoded photo")]
    EmptyPhoto {
        /// Width of the photo.
        width: u32,
        /// Height of the photo.
        height: u32,
    },
    /// No developer coat.
    #[error("no white developer coat found; photograph the developed part, or outline the coat")]
    NoCoat,
    /// A corner of the region given by the user lies outside the photo: a slip of the pen, or another photo's region.
    #[error(
        "the region's corner {x},{y} lies outside the photo ({width} x {height} pixels); give corners in pixels of this photo, upright, x from the left, y from the top"
    )]
    RegionOutside {
        /// The corner.
        x: f64,
        /// See `x`.
        y: f64,
        /// Width of the photo.
        width: u32,
        /// Height of the photo.
        height: u32,
    },
    /// The region given by the user lies outside the photo or is too small.
    #[error(
        "the region encloses nothing of the photo ({width} x {height} pixels); give corners in pixels, x from the left, y from the top"
    )]
    EmptyRegion {
        /// Width of the photo.
        width: u32,
        /// Height of the photo.
        height: u32,
    },
}

#[cfg(test)]
mod tests {
    /// Errors speak of the thing; which option a command has for it, the command says.
    #[test]
    fn no_error_speaks_of_an_option() {
        for file in [
            include_str!("error.rs"),
            include_str!("photo/error.rs"),
            include_str!("scale/design.rs"),
            include_str!("scale/error.rs"),
            include_str!("scale/height.rs"),
            include_str!("scale/spec.rs"),
        ] {
            let code = file.split("#[cfg(test)]").next().unwrap();
            assert!(code.contains("#[error("), "no errors in: {code}");
            let option = code.lines().find(|line| line.contains(" --") || line.contains("\"--"));
            assert_eq!(option, None);
        }
    }
}
