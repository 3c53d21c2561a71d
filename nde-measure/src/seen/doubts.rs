//! What makes one mark's measurement shaky.

use super::{LEAST_SIZED_CONTRAST, Picture};
use crate::PointMm;
use crate::beads::touching_spots;
use crate::outline::Body;
use crate::size::max_feret;
use crate::sorting::Surroundings;
use nde_core::Doubt;

/// What was measured on a mark, as far as doubts depend on it.
pub(super) struct Sizes {
    pub(super) feret_mm: f64,
    pub(super) path_mm: f64,
    pub(super) curved: bool,
    pub(super) visible_mm: f64,
    pub(super) tips_mm: f64,
    pub(super) seen_width_mm: f64,
    pub(super) median_width_mm: f64,
    pub(super) branches: usize,
    pub(super) sigma_mm: f64,
    pub(super) pitch: f64,
    pub(super) centroid_mm: PointMm,
}

/// The doubts about one mark and its picture.
pub(super) fn doubts(
    body: &Body,
    around: &Surroundings<'_>,
    picture: &Picture<'_>,
    s: &Sizes,
) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    let [w, h] = picture.size_px.map(f64::from);
    if body.outline_px.iter().any(|p| p[0] < 2.0 || p[1] < 2.0 || p[0] > w - 2.0 || p[1] > h - 2.0)
    {
        doubts.push(Doubt::CutByPhoto);
    } else if around.cut_by_rim(body) {
        doubts.push(Doubt::CutByCoat);
    }
    if touches_glare(body, picture) {
        doubts.push(Doubt::TouchesGlare);
    }
    if body.contrast() < LEAST_SIZED_CONTRAST {
        doubts.push(Doubt::TooFaintToSize { contrast: body.contrast() });
    }
    if s.feret_mm < 5.0 * s.sigma_mm {
        doubts.push(Doubt::TooSmallToClassify);
    } else if s.seen_width_mm < 4.0 * s.sigma_mm {
        doubts.push(Doubt::WidthIsUpperBound {
            width_mm: s.seen_width_mm,
            least_mm: 4.0 * s.sigma_mm,
        });
    }
    if s.tips_mm > 0.3 {
        doubts
            .push(Doubt::FadingEnds { half_mm: s.feret_mm - s.tips_mm, visible_mm: s.visible_mm });
    }
    if s.branches > 0 {
        doubts.push(Doubt::Branched { branch_points: s.branches });
    } else if s.curved {
        doubts.push(Doubt::Curved { feret_mm: s.feret_mm, path_mm: s.path_mm });
    }
    // Colour has half the resolution of brightness, so it reads a few pixels short at thin ends.
    let ratio = max_feret(&picture.to_part(&body.redness_px)).map_or(0.0, |f| f.length);
    let half = s.feret_mm - s.tips_mm;
    if (ratio - half).abs() > 0.3_f64.max(6.0 * s.pitch).max(0.1 * half) {
        doubts.push(Doubt::SignalsDisagree { green_mm: half, ratio_mm: ratio });
    }
    if s.seen_width_mm > 1.8 * s.median_width_mm && s.feret_mm < 5.0 * s.seen_width_mm {
        doubts.push(Doubt::WideSpotOnLine);
    }
    let spots = touching_spots(&body.mask, (s.feret_mm - s.tips_mm) / s.pitch);
    if spots > 1 {
        doubts.push(Doubt::TouchingSpots { spots });
    }
    if body.in_even_light {
        doubts.push(Doubt::ShadeTakenOut);
    }
    if around.is_pink(body, picture.sorting) {
        doubts.push(Doubt::InPinkBackground);
    }
    if let Some(distance_mm) = picture.scale.distance_mm(s.centroid_mm).filter(|d| *d > 80.0) {
        doubts.push(Doubt::FarFromScale { distance_mm });
    }
    doubts.extend(picture.scale.doubts.iter().cloned());
    doubts
}

/// Whether the outline runs over burnt-out or black cells.
fn touches_glare(body: &Body, picture: &Picture<'_>) -> bool {
    let (cells, glare) = (picture.cells, picture.glare);
    body.outline_px.iter().any(|p| {
        let (x, y) = cells.grid.place_of(p[0], p[1]);
        let (i, j) = (x.round().max(0.0) as usize, y.round().max(0.0) as usize);
        i < cells.width() && j < cells.height() && (cells.lost.at(i, j) > 0.5 || glare.at(i, j))
    })
}
