//! What is said of a mark that is not counted: where it is, how large, and why.

use crate::outline::Body;
use crate::photo::{Grid, Raster};
use crate::redness::Redness;
use crate::regions::Area;
use crate::seen::{Picture, Seen};
use crate::size::{area_and_centroid, convex_hull, largest_circle, max_feret};
use crate::sorting::SetAsideReason;
use crate::{PointMm, PointPx};

/// Something seen and not counted, with its reason.
#[derive(Clone, Debug, PartialEq)]
pub struct SetAside {
    /// Why it is not counted.
    pub reason: SetAsideReason,
    /// Closed outline in the photo, pixels.
    pub outline_px: Vec<PointPx>,
    /// Centroid in the photo.
    pub centroid_px: PointPx,
    /// Centroid on the part.
    pub centroid_mm: PointMm,
    /// Its maximum Feret diameter, mm.
    pub length_mm: f64,
    /// Diameter of the largest circle inside its outline, mm.
    pub width_mm: f64,
    /// Peak loss of green reflectance, 0 to 1.
    pub contrast: f64,
}

/// What is said of a body that is not counted; `None` where its outline has no size.
pub(crate) fn aside(
    body: &Body,
    reason: SetAsideReason,
    picture: &Picture<'_>,
) -> Option<SetAside> {
    let picture = &picture.at(area_and_centroid(&body.outline_px).1);
    let outline_mm = picture.to_part(&body.outline_px);
    Some(SetAside {
        reason,
        outline_px: body.outline_px.clone(),
        centroid_px: area_and_centroid(&body.outline_px).1,
        centroid_mm: area_and_centroid(&outline_mm).1,
        length_mm: max_feret(&outline_mm)?.length,
        width_mm: largest_circle(&outline_mm, 0.01)?.1,
        contrast: body.contrast(),
    })
}

/// A region that is only faintly red: its hull stands for its outline.
pub(crate) fn faint(region: &Area, redness: &Redness, picture: &Picture<'_>) -> Option<SetAside> {
    let (x0, y0) = (redness.window.x0 as f64, redness.window.y0 as f64);
    let corners: Vec<PointPx> = region
        .runs
        .iter()
        .flat_map(|r| {
            let (y, a, b) = (r.y as f64 + y0, r.from as f64 + x0, r.to as f64 + x0);
            [[a, y], [b, y], [b, y + 1.0], [a, y + 1.0]]
        })
        .collect();
    let peak = region.places().map(|(x, y)| redness.d.at(x, y)).fold(0.0, f32::max);
    hulled(&corners, region.size() as f64, peak, SetAsideReason::Faint, picture)
}

/// What is said of a place known only by its corners, its area in pixels and its peak redness.
fn hulled(
    corners: &[PointPx],
    size_px: f64,
    peak: f32,
    reason: SetAsideReason,
    picture: &Picture<'_>,
) -> Option<SetAside> {
    let outline_px = convex_hull(corners);
    let picture = &picture.at(area_and_centroid(&outline_px).1);
    let outline_mm = picture.to_part(&outline_px);
    let length_mm = max_feret(&outline_mm)?.length;
    let centroid_px = area_and_centroid(&outline_px).1;
    let area_mm2 = size_px * picture.scale.plane.mm_per_px(centroid_px).powi(2);
    Some(SetAside {
        reason,
        outline_px,
        centroid_px,
        centroid_mm: area_and_centroid(&outline_mm).1,
        length_mm,
        width_mm: area_mm2 / length_mm.max(1e-9),
        contrast: 1.0 - f64::from(-peak).exp(),
    })
}

/// A red place outside the coat, in cells: its hull stands for its outline.
pub(crate) fn outside(
    area: &Area,
    d: &Raster,
    grid: Grid,
    picture: &Picture<'_>,
) -> Option<SetAside> {
    let side = grid.side as f64;
    let corners: Vec<PointPx> = area
        .runs
        .iter()
        .flat_map(|r| {
            let x = |i: usize| grid.x0 as f64 + i as f64 * side;
            let y = |j: usize| grid.y0 as f64 + j as f64 * side;
            [[x(r.from), y(r.y)], [x(r.to), y(r.y)], [x(r.to), y(r.y + 1)], [x(r.from), y(r.y + 1)]]
        })
        .collect();
    let peak = area.places().map(|(x, y)| d.at(x, y)).fold(0.0, f32::max);
    let size_px = area.size() as f64 * side * side;
    hulled(&corners, size_px, peak, SetAsideReason::OutsideCoat, picture)
}

/// Numbers indications by place, top to bottom, then left to right, and puts both lists in that order.
pub(crate) fn number(indications: &mut [Seen], set_aside: &mut [SetAside]) {
    let order = |a: PointPx, b: PointPx| a[1].total_cmp(&b[1]).then(a[0].total_cmp(&b[0]));
    indications.sort_by(|a, b| order(a.centroid_px, b.centroid_px));
    set_aside.sort_by(|a, b| order(a.centroid_px, b.centroid_px));
    for (k, seen) in indications.iter_mut().enumerate() {
        seen.indication.id = (k + 1).to_string();
    }
}
