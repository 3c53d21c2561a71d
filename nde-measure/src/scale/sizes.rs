//! Whether the sizes told for a board agree with what is seen of it.

use crate::scale::consensus::{Layout, centre, side};
use crate::scale::design::{CardDesign, CardName};
use crate::scale::error::ScaleError;
use crate::scale::plane::{Pair, fit};

/// How far markers may be off the size told, ln. Chosen: on painted and rendered boards they measure within 2 % of it
/// and a pixel of the picture they are read on; a millimetre typed wrongly is a twelfth.
const OFF_LN: f64 = 0.03;
const OFF_PX: f64 = 1.5;

/// Sizes typed for a board of one's own are held against each other: where the markers stand tells the scale by the
/// squares, and there they must measure what was typed. They were read on a picture `block` times as coarse as the photo.
///
/// # Errors
/// [`ScaleError::NotAsTold`].
pub(crate) fn markers_as_told(
    design: &CardDesign,
    layout: &Layout,
    block: usize,
) -> Result<(), ScaleError> {
    if design.name() != CardName::Own {
        return Ok(());
    }
    let (markers, first) = (design.markers(), design.ids()[0]);
    let pairs: Vec<Pair> = layout
        .seen
        .iter()
        .map(|seen| Pair {
            part: centre(&markers[seen.id - first].outside.corners()),
            photo: centre(&seen.corners_px),
        })
        .collect();
    // Too few in a row tell no plane; nothing contradicts them.
    let Some(fitted) = fit(&pairs, f64::INFINITY) else { return Ok(()) };
    let sides =
        layout.seen.iter().map(|seen| side(&seen.corners_px.map(|p| fitted.plane.to_part(p))));
    let measured_mm = f64::from(crate::photo::median(sides.map(|mm| mm as f32).collect()));
    let (squares_mm, told_mm) = (design.square_mm(), design.marker_mm());
    let sides_px = layout.seen.iter().map(|seen| side(&seen.corners_px) as f32);
    let side_px = f64::from(crate::photo::median(sides_px.collect()));
    let allowed_ln = OFF_LN + OFF_PX * block as f64 / side_px;
    if (measured_mm / told_mm).ln().abs() > allowed_ln {
        return Err(ScaleError::NotAsTold { squares_mm, measured_mm, told_mm });
    }
    Ok(())
}
