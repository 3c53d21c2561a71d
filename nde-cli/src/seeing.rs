//! One photo: bytes in, measurement out.

use crate::digest::sha256;
use crate::inputs::PhotoFile;
use crate::settings::Seeing;
use anyhow::{Error, Result, anyhow, bail};
use nde_measure::{MeasureError, Measurement, Photo, PhotoLimits, PointPx, ScaleError, measure};

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
    inside(&seeing.options.region_px, photo.size_px())?;
    let measurement =
        measure(&photo, &seeing.scale, &seeing.options).map_err(|error| with_option(&error))?;
    Ok(Seen { sha256, photo, measurement })
}

/// The error with the option that takes what its remedy asks for: the measurer knows no command line.
fn with_option(error: &MeasureError) -> Error {
    let option = match error {
        MeasureError::Scale(ScaleError::NoCard { .. } | ScaleError::NoRule { .. }) => {
            " with --scale; `nde pick` on the photo finds the points by clicking"
        }
        MeasureError::Scale(ScaleError::NoPoints | ScaleError::NotYetRead { .. }) => {
            " with --scale"
        }
        MeasureError::Scale(ScaleError::TooHigh { .. }) => " (--height)",
        MeasureError::NoCoat => " with --region; `nde pick` on the photo writes its text",
        _ => "",
    };
    anyhow!("{error}{option}")
}

/// Refuses outlines of the coat that leave the photo: they were drawn for another one, or before it was turned
/// or resized. A corner may lie on the border.
fn inside(regions_px: &[Vec<PointPx>], size_px: [u32; 2]) -> Result<()> {
    let [width, height] = size_px;
    for corners in regions_px {
        let outside = |[x, y]: &PointPx| {
            !(0.0..=f64::from(width)).contains(x) || !(0.0..=f64::from(height)).contains(y)
        };
        if let Some([x, y]) = corners.iter().find(|corner| outside(corner)) {
            bail!(
                "the corner {x},{y} of --region lies outside the photo, which is {width} x {height} pixels when upright; give corners from 0,0 to {width},{height}, or click them with `nde pick`"
            );
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_remedy_names_the_option_that_takes_it() {
        let said = |error: MeasureError| with_option(&error).to_string();
        let card = said(ScaleError::NoCard { detail: "no marker".into() }.into());
        assert!(card.contains("points:X1,Y1,X2,Y2=50mm or pitch:0.083mm with --scale"), "{card}");
        assert!(card.ends_with("`nde pick` on the photo finds the points by clicking"), "{card}");
        let high = said(ScaleError::TooHigh { height_mm: 300.0, camera_mm: 250.0 }.into());
        assert!(high.ends_with("check the height and its sign (--height)"), "{high}");
        let coat = said(MeasureError::NoCoat);
        assert!(coat.contains("or outline the coat with --region"), "{coat}");
        // What needs no option gets none.
        let error = ScaleError::NotFlat { rms_px: 3.0, allowed_px: 1.0 };
        assert_eq!(said(error.clone().into()), error.to_string());
    }
}
