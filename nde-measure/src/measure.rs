//! The whole chain, every stage's result kept.

use crate::{Photo, PointMm, PointPx, Scale, ScaleError, ScaleSpec};
use nde_core::{Gate, Indication};

/// Settings of the whole chain; each stage has its own part.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct MeasureOptions {
    /// Coat given by the user, polygons in the upright photo; empty: proposed by the tool.
    pub region_px: Vec<Vec<PointPx>>,
}

/// Why a photo could not be measured.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MeasureError {
    /// No scale.
    #[error(transparent)]
    Scale(#[from] ScaleError),
    /// No developer coat.
    #[error(
        "no white developer coat found; photograph the developed part, or outline the coat with --region"
    )]
    NoCoat,
}

/// Everything seen in one photo.
#[derive(Clone, Debug)]
pub struct Measurement {
    /// Photo size, pixels.
    pub size_px: [u32; 2],
    /// How lengths were found.
    pub scale: Scale,
    /// Where was looked.
    pub coat: Coat,
    /// Counted indications, ids in order of place.
    pub indications: Vec<Seen>,
    /// Seen and not counted.
    pub set_aside: Vec<SetAside>,
    /// Is the picture fit to judge.
    pub gates: Vec<Gate>,
    /// What the picture can resolve.
    pub resolution: Resolution,
}

/// The developer-covered area that was read.
#[derive(Clone, Debug)]
pub struct Coat {
    /// Its outlines, pixels (outer rings only).
    pub outlines_px: Vec<Vec<PointPx>>,
    /// Inspected area.
    pub area_mm2: f64,
}

/// What the picture can resolve, on the part.
#[derive(Clone, Copy, Debug)]
pub struct Resolution {
    /// Pixel pitch at the middle of the coat, mm.
    pub pitch_mm: f64,
    /// Edge blur, standard deviation, mm; absent when not measured.
    pub blur_mm: Option<f64>,
    /// Least width sized honestly, mm.
    pub least_width_mm: f64,
    /// Gaps smaller than this are seen as none, mm.
    pub least_gap_mm: f64,
}

/// One counted indication with everything measured on it.
#[derive(Clone, Debug)]
pub struct Seen {
    /// What the rules need.
    pub indication: Indication,
    /// Closed outline in the photo, pixels.
    pub outline_px: Vec<PointPx>,
    /// Centroid in the photo.
    pub centroid_px: PointPx,
    /// Centroid on the part.
    pub centroid_mm: PointMm,
    /// Direction of the length on the part, degrees from x towards y, in [0, 180).
    pub angle_deg: f64,
    /// Area inside the outline.
    pub area_mm2: f64,
    /// Greatest distance between two points of the outline.
    pub feret_mm: f64,
    /// Length along the centre line.
    pub path_mm: f64,
    /// Maximum Feret diameter of the visible extent (lower contour).
    pub visible_mm: f64,
    /// Area divided by path length.
    pub mean_width_mm: f64,
    /// Peak loss of green reflectance, 0 to 1.
    pub contrast: f64,
    /// Colour direction E/D: about 0 to 0.6 for dye, below -0.35 for rust and oil.
    pub colour_direction: f64,
}

/// Something seen and not counted, with its reason.
#[derive(Clone, Debug)]
pub struct SetAside {
    /// Why it is not counted.
    pub reason: SetAsideReason,
    /// Closed outline in the photo, pixels.
    pub outline_px: Vec<PointPx>,
    /// Centroid in the photo.
    pub centroid_px: PointPx,
    /// Centroid on the part.
    pub centroid_mm: PointMm,
    /// Its maximum Feret diameter.
    pub length_mm: f64,
    /// Its width.
    pub width_mm: f64,
    /// Peak loss of green reflectance, 0 to 1.
    pub contrast: f64,
}

/// Why something seen is not counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum SetAsideReason {
    /// Too faint to count: look here.
    Faint,
    /// Colour not like penetrant (brownish).
    Brownish,
    /// A soft pink area without an edge of its own: excess penetrant.
    PinkArea,
    /// Outside the readable coat.
    OutsideCoat,
    /// Smaller than can be told from noise.
    TooSmall,
}

/// Measures one photo.
///
/// # Errors
/// See [`MeasureError`].
pub fn measure(
    _photo: &Photo,
    _scale: &[ScaleSpec],
    _options: &MeasureOptions,
) -> Result<Measurement, MeasureError> {
    Err(MeasureError::NoCoat)
}
