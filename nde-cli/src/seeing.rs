//! One photo: bytes in, measurement out.

use crate::digest::sha256;
use crate::inputs::PhotoFile;
use crate::settings::Seeing;
use anyhow::{Result, anyhow};
use nde_measure::{MeasureError, Measurement, Photo, PhotoLimits, ScaleError, measure};

/// A photo that was read and measured.
#[derive(Debug)]
pub(crate) struct Seen {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Its pixels.
    pub photo: Photo,
    /// What was measured.
    pub measurement: Measurement,
}

/// Reads and measures one photo.
///
/// # Errors
/// The file cannot be read, is no picture, or cannot be measured; the text is the fact and the
/// remedy, without the photo's name.
pub(crate) fn see(file: &PhotoFile, seeing: &Seeing) -> Result<Seen> {
    let bytes = file.bytes()?;
    let sha256 = sha256(&bytes);
    see_bytes(bytes, sha256, seeing)
}

/// The same from the bytes of its file and their digest.
///
/// # Errors
/// See [`see`].
pub(crate) fn see_bytes(bytes: Vec<u8>, sha256: String, seeing: &Seeing) -> Result<Seen> {
    let photo = Photo::decode(&bytes, &PhotoLimits::default())?;
    drop(bytes);
    let measurement =
        measure(&photo, &seeing.scale, &seeing.options).map_err(|error| match error {
            // Two of the ways that the text names need places in the photo.
            MeasureError::Scale(ScaleError::NoCard { .. } | ScaleError::NoRule { .. }) => {
                anyhow!("{error}; `nde pick` on the photo finds the points by clicking")
            }
            error => error.into(),
        })?;
    Ok(Seen { sha256, photo, measurement })
}
