//! Decoded pixels, upright, and what light they stand for.

mod stamp;
mod error;
mod profile;
#[cfg(feature = "heic")]
mod heic;
mod decode;
mod light;
mod raster;
mod disc;
mod mask;
mod cells;

pub use decode::Photo;
pub use error::{PhotoError, PhotoLimits};
pub use light::{LINEAR_OF_SRGB, linear_of_srgb};
pub use stamp::{Frame, Stamp, TakenAt};

pub(crate) use cells::{Cells, Grid};
pub(crate) use light::{light_of_srgb, ln_of_srgb};
pub(crate) use mask::Mask;
pub(crate) use raster::{Raster, median};
