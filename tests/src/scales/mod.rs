//! How well the scale is found in painted stills: one still looked at, tables over many.
//!
//! ```text
//! look (one still) -> bands (what kind of still) -> tables (many)
//! ```

pub mod look;
pub mod bands;
pub mod tables;
