//! From a photo of developed red penetrant, with a scale in the frame, to measured indications.
//!
//! ```text
//! photo -> scale -> coat -> white -> redness -> regions -> outline -> size -> sharpness
//!       -> fitness -> measure -> marks
//! ```
//!
//! Photo places are pixels of the upright photo, x right, y down, pixel **centres at .5** (the
//! first pixel covers 0..1). Part places are millimetres on the surface plane.
//!
//! # Does not
//! Judge: what is allowed stands in `nde-core`. Size the flaw: an indication is the bleed-out.

pub mod marks;
mod measure;
pub mod photo;
pub mod scale;

pub use measure::{
    Coat, MeasureError, MeasureOptions, Measurement, Resolution, Seen, SetAside, SetAsideReason,
    measure,
};
pub use photo::{Photo, PhotoError, PhotoLimits};
pub use scale::{CardDesign, CardName, Plane, Scale, ScaleError, ScaleKind, ScaleSpec};

/// A place in the upright photo, pixels, pixel centres at .5.
pub type PointPx = [f64; 2];
/// A place on the surface plane, millimetres.
pub type PointMm = [f64; 2];
