//! The painter: a forward model of a photo, from a seed to JPEG bytes, with the truth beside it.
//!
//! ```text
//! dice -> grain -> raster -> pigment -> mark -> truth -> card -> camera -> relief -> light -> part -> layer
//!      -> nuisance -> recipe -> sensor -> painted -> spatter -> scene -> development -> picture -> rule -> bench -> still -> stills
//! ```
//!
//! It calls nothing of the measurer. Its figures rank methods and are upper bounds: model and measurer
//! share assumptions (multiplicative light, a dye that takes green first), so they are no field performance.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "painted pictures: every value cast is bounded by the size of the picture or field"
)]

pub mod dice;
pub mod grain;
pub mod raster;
pub mod pigment;
pub mod mark;
pub mod truth;
pub mod card;
pub mod camera;
pub mod relief;
pub mod light;
pub mod part;
pub mod layer;
pub mod nuisance;
pub mod recipe;
pub mod sensor;
mod painted;
pub mod spatter;
pub mod scene;
pub mod development;
mod picture;
pub mod rule;
pub mod bench;
pub mod still;
pub mod stills;
