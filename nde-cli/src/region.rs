//! An area of a photo, given as its corners.

use nde_measure::PointPx;
use std::str::FromStr;

/// A polygon in the upright photo, pixels.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Region {
    corners_px: Vec<PointPx>,
}

/// Why a text is not a region.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub(crate) enum RegionError {
    /// Too few corners.
    #[error(
        "{corners} corners do not enclose an area; give at least three, such as \"100,100 900,100 900,700\""
    )]
    TooFewCorners {
        /// Corners given.
        corners: usize,
    },
    /// Not a corner.
    #[error(
        "`{text}` is not a corner; write x,y in pixels and a blank between corners, such as \"100,100 900,100 900,700\""
    )]
    NotACorner {
        /// The part that is wrong.
        text: String,
    },
}

impl Region {
    /// Its corners.
    #[must_use]
    pub(crate) fn corners_px(&self) -> &[PointPx] {
        &self.corners_px
    }
}

impl FromStr for Region {
    type Err = RegionError;

    fn from_str(text: &str) -> Result<Self, RegionError> {
        // Beyond this no photo reaches; it keeps the arithmetic finite.
        const FAR_PX: f64 = 1.0e6;
        let corner = |part: &str| {
            let number = |t: &str| t.trim().parse::<f64>().ok().filter(|v| v.abs() <= FAR_PX);
            part.split_once(',')
                .and_then(|(x, y)| Some([number(x)?, number(y)?]))
                .ok_or_else(|| RegionError::NotACorner { text: part.to_owned() })
        };
        let corners_px = text.split_whitespace().map(corner).collect::<Result<Vec<_>, _>>()?;
        if corners_px.len() < 3 {
            return Err(RegionError::TooFewCorners { corners: corners_px.len() });
        }
        Ok(Self { corners_px })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_are_read_and_nonsense_is_named() {
        let region: Region = "1,2 3.5,4  5,6".parse().unwrap();
        assert_eq!(region.corners_px(), [[1.0, 2.0], [3.5, 4.0], [5.0, 6.0]]);
        assert_eq!("1,2 3,4".parse::<Region>(), Err(RegionError::TooFewCorners { corners: 2 }));
        for text in ["1,2 3;4 5,6", "1,2 3,4 5,nan", "1,2 3,4 inf,6", "1 2 3 4 5 6"] {
            assert!(
                matches!(text.parse::<Region>(), Err(RegionError::NotACorner { .. })),
                "{text}"
            );
        }
    }
}
