//! From a photo of developed red penetrant, with a scale in the frame, to measured indications.
//!
//! ```text
//! budget -> photo -> scale -> coat -> white -> redness -> regions -> outline -> size -> sharpness
//!       -> fitness -> measure -> marks
//! ```
//!
//! Photo places are pixels of the upright photo, x right, y down, pixel **centres at .5** (the
//! first pixel covers 0..1). Part places are millimetres on the surface plane.
//!
//! # Does not
//! Judge: what is allowed stands in `nde-core`. Size the flaw: an indication is the bleed-out.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "pixel counts and grid places stay far below 2^31, and rounding to a pixel is meant"
)]

// In the order in which data flows.
pub mod budget;
pub mod photo;
pub mod scale;
mod regions;
pub mod coat;
pub mod white;
pub mod redness;
pub mod detect;
mod contour;
pub mod size;
mod path;
mod beads;
pub mod blur;
pub mod outline;
pub mod sorting;
mod seen;
mod asides;
mod fitness;
mod measure;
pub mod marks;

pub use asides::SetAside;
pub use fitness::Resolution;
pub use measure::{Coat, MeasureError, MeasureOptions, Measurement, measure, measure_at};
pub use photo::{Photo, PhotoError, PhotoLimits, TakenAt};
pub use scale::{CardDesign, CardName, Plane, Scale, ScaleError, ScaleKind, ScaleSpec};
pub use seen::{LengthTerms, Seen};
pub use sorting::SetAsideReason;

/// A place in the upright photo, pixels, pixel centres at .5.
pub type PointPx = [f64; 2];
/// A place on the surface plane, millimetres.
pub type PointMm = [f64; 2];
