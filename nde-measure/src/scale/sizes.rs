//! Whether the sizes told for a board agree with what is seen of it.

use crate::scale::consensus::{Layout, side};
use crate::scale::design::{CardDesign, CardName};
use crate::scale::error::ScaleError;
use crate::scale::plane::Plane;

/// How far markers may be off the size told, ln. Chosen: on painted and rendered boards they measure within 2 % of it
/// and a pixel of the picture they are read on; a millimetre typed wrongly is a twelfth.
const OFF_LN: f64 = 0.03;
const OFF_PX: f64 = 1.5;

/// Sizes typed for a board of one's own are held against each other: the corners of the squares told the plane, and
/// there the markers must measure what was typed. They were read on a picture `block` times as coarse as the photo.
///
/// # Errors
/// [`ScaleError::NotAsTold`].
pub(crate) fn markers_as_told(
    design: &CardDesign,
    layout: &Layout,
    plane: &Plane,
    block: usize,
) -> Result<(), ScaleError> {
    if design.name() != CardName::Own {
        return Ok(());
    }
    let middle_of = |sides: Vec<f64>| {
        f64::from(crate::photo::median(sides.into_iter().map(|side| side as f32).collect()))
    };
    let seen = || layout.seen.iter().map(|seen| seen.corners_px);
    let measured_mm = middle_of(seen().map(|m| side(&m.map(|p| plane.to_part(p)))).collect());
    let side_px = middle_of(seen().map(|m| side(&m)).collect());
    let (squares_mm, told_mm) = (design.square_mm(), design.marker_mm());
    let allowed_ln = OFF_LN + OFF_PX * block as f64 / side_px;
    if (measured_mm / told_mm).ln().abs() > allowed_ln {
        return Err(ScaleError::NotAsTold { squares_mm, measured_mm, told_mm });
    }
    Ok(())
}
