//! Decoded pixels, upright, and what light they stand for.

mod stamp;
mod error;
mod profile;
#[cfg(feature = "heic")]
mod heic;
mod decode;
mod light;
mod raster;
mod cells;

pub use decode::Photo;
pub use error::{PhotoError, PhotoLimits};
pub use light::{LINEAR_OF_SRGB, linear_of_srgb};
pub use stamp::{Frame, Stamp, TakenAt};

pub(crate) use cells::{Cells, Grid};
pub(crate) use light::ln_of_srgb;
pub(crate) use raster::{Mask, Raster};
