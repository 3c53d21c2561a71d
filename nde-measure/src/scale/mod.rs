//! Pixels to millimetres: the card, two known points, or a known pitch.

pub mod design;
pub mod dictionary;

pub use design::{CardDesign, CardName};

use crate::{Photo, PointMm, PointPx};
use nalgebra::Matrix3;
use nde_core::Doubt;

/// What the user says is in the frame. One small grammar, the same on the command line and in a sheet.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum ScaleSpec {
    /// `card` or `card:99.2,99.4`: the printed card, with the two bars as read with a calliper.
    Card {
        /// Calliper readings across and down, mm.
        bars_mm: Option<[f64; 2]>,
    },
    /// `points:X1,Y1,X2,Y2=50mm`
    Points {
        /// First point in the upright photo.
        from_px: PointPx,
        /// Second point.
        to_px: PointPx,
        /// Their true distance.
        distance_mm: f64,
    },
    /// `pitch:0.083mm`: one pixel is so long on the part.
    Pitch {
        /// Millimetres a pixel.
        mm_per_px: f64,
    },
}

/// How the scale was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum ScaleKind {
    /// By the printed card.
    Card,
    /// By two points.
    Points,
    /// By a stated pitch.
    Pitch,
}

/// The plane of the part's surface, seen in the photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Plane {
    /// Homography from photo pixels to millimetres on the part.
    pub part_from_photo: Matrix3<f64>,
    /// Its inverse.
    pub photo_from_part: Matrix3<f64>,
}

impl Plane {
    /// Where a photo place lies on the part.
    #[must_use]
    pub fn to_part(&self, at_px: PointPx) -> PointMm {
        project(&self.part_from_photo, at_px)
    }

    /// Where a part place lies in the photo.
    #[must_use]
    pub fn to_photo(&self, at_mm: PointMm) -> PointPx {
        project(&self.photo_from_part, at_mm)
    }

    /// Millimetres a pixel at a photo place, the geometric mean over directions.
    #[must_use]
    pub fn mm_per_px(&self, at_px: PointPx) -> f64 {
        let [x, y] = at_px;
        let o = self.to_part([x, y]);
        let a = self.to_part([x + 1.0, y]);
        let b = self.to_part([x, y + 1.0]);
        ((a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])).abs().sqrt()
    }
}

fn project(h: &Matrix3<f64>, p: [f64; 2]) -> [f64; 2] {
    let w = h[(2, 0)] * p[0] + h[(2, 1)] * p[1] + h[(2, 2)];
    [
        (h[(0, 0)] * p[0] + h[(0, 1)] * p[1] + h[(0, 2)]) / w,
        (h[(1, 0)] * p[0] + h[(1, 1)] * p[1] + h[(1, 2)]) / w,
    ]
}

/// The scale of one photo.
#[derive(Clone, Debug)]
pub struct Scale {
    /// How it was found.
    pub kind: ScaleKind,
    /// Photo to part.
    pub plane: Plane,
    /// Relative standard uncertainty of a length next to the scale.
    pub relative_u: f64,
    /// What of the photo the scale itself covers (card with its margin): polygons, pixels.
    pub covers_px: Vec<Vec<PointPx>>,
    /// Reference features found, pixels (card corners, the two points).
    pub features_px: Vec<PointPx>,
    /// Root mean square distance of the features from the fitted plane, pixels; absent without redundancy.
    pub residual_px: Option<f64>,
    /// Tilt of the view against the plane's normal at the scale, degrees; absent where unknown.
    pub tilt_deg: Option<f64>,
    /// Doubts that every length of this photo shares.
    pub doubts: Vec<Doubt>,
}

/// Why there is no scale.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ScaleError {
    /// No card was seen.
    #[error(
        "no scale card found ({detail}); lay the card whole and sharp in the frame, or give --scale points:X1,Y1,X2,Y2=50mm or --scale pitch:0.083mm"
    )]
    NoCard {
        /// What was seen.
        detail: String,
    },
}

/// Finds the scale in the photo.
///
/// # Errors
/// See [`ScaleError`].
pub fn find(_photo: &Photo, _specs: &[ScaleSpec]) -> Result<Scale, ScaleError> {
    Err(ScaleError::NoCard { detail: "not looked for".into() })
}
