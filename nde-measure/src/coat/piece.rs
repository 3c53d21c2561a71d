//! One piece of the coat: what paper and the frame tell of another area against it, what lies near, and the
//! light between.

use super::frame::{runs_along_the_frame, sides_of_frame};
use super::ground::Ground;
use super::look::Look;
use super::shade::Pair;
use crate::photo::{Mask, Raster};
use crate::regions::Area;
use std::cell::OnceCell;

/// An even area, shaved a little on all sides, and how it looks.
pub(super) type Even = (Area, Look);

/// One even area of the coat.
pub(super) struct Piece<'a> {
    pub(super) ground: &'a Ground<'a>,
    /// How much light shadows take here, ln.
    shadow_ln: f64,
    mask: Mask,
    pub(super) look: Look,
    pub(super) size: usize,
    bounds: [usize; 4],
    /// It reaches two sides of the frame itself: no bench lies around it.
    fills_frame: bool,
    near: OnceCell<Mask>,
    beyond: OnceCell<Mask>,
}

impl<'a> Piece<'a> {
    pub(super) fn of((area, look): &Even, ground: &'a Ground<'a>, shadow_ln: f64) -> Self {
        let mask = area.mask(ground.bright().width, ground.bright().height);
        Self {
            ground,
            shadow_ln,
            look: *look,
            size: area.size(),
            bounds: area.bounds(),
            fills_frame: sides_of_frame(area, mask.width, mask.height) >= 2,
            mask,
            near: OnceCell::new(),
            beyond: OnceCell::new(),
        }
    }

    /// `within` is a share of the limits.
    pub(super) fn is_as_white_as_paper_tells(&self, look: &Look, within: f64) -> bool {
        let (Some(own), Some(other)) = (self.look.against, look.against) else { return false };
        let (lighter, cast) = other.off(&own);
        lighter.abs() < within * AS_WHITE_LN && cast < within * AS_WHITE_COLOUR
    }

    pub(super) fn paper_tells_darker(&self, look: &Look) -> bool {
        let (Some(own), Some(other)) = (self.look.against, look.against) else { return false };
        other.off(&own).0 < -AS_WHITE_LN
    }

    /// A painted or plastic surface has hardly any grain. Chosen: half of the powder's.
    pub(super) fn has_twice_the_grain_of(&self, look: &Look) -> bool {
        2.0 * look.grain < self.look.grain
    }

    pub(super) fn runs_along_the_frame(&self, area: &Area) -> bool {
        runs_along_the_frame(area, self.mask.width, self.mask.height)
    }

    /// Around a coat that does not reach the frame itself, what lies along three of its sides is the bench.
    pub(super) fn may_be_bench(&self, area: &Area) -> bool {
        !self.fills_frame && sides_of_frame(area, self.mask.width, self.mask.height) >= 3
    }

    /// Whether most of the box around this area lies in another's: a bench goes around its part.
    pub(super) fn lies_within(&self, [x0, y0, x1, y1]: [usize; 4]) -> bool {
        let [a0, b0, a1, b1] = self.bounds;
        let overlap = |low: usize, high: usize| high.saturating_sub(low);
        let shared = overlap(x0.max(a0), x1.min(a1)) * overlap(y0.max(b0), y1.min(b1));
        3 * shared > 2 * overlap(a0, a1) * overlap(b0, b1)
    }

    /// Whether a shadow, or the end of one, can make the same powder look so.
    pub(super) fn may_lie_in_a_shadow(&self, look: &Look) -> bool {
        let (lighter, cast) = look.beside(&self.look);
        lighter.abs() < self.shadow_ln && cast < self.ground.options.shadow_cast
    }

    /// Twice what cores of even ground were shaved by, cells.
    fn shaved(&self) -> f64 {
        self.ground.options.neck_mm / self.ground.cell_mm
    }

    /// How far the edge of a shadow may part two areas, cells.
    fn reach(&self) -> f64 {
        self.shaved() + self.ground.options.shadow_edge_mm / self.ground.cell_mm
    }

    pub(super) fn near(&self) -> &Mask {
        self.near.get_or_init(|| self.within(self.reach()))
    }

    pub(super) fn beyond(&self) -> &Mask {
        let twin = self.ground.options.twin_mm / self.ground.cell_mm;
        self.beyond.get_or_init(|| self.within(self.shaved() + twin))
    }

    /// What lies within `reach` of the area, or of a card or a rule that does.
    fn within(&self, reach: f64) -> Mask {
        let mut near = self.mask.grown(reach);
        let covered = self.ground.covered;
        if near.data.iter().zip(&covered.data).any(|(n, c)| *n && *c) {
            near.add(covered);
            near = near.grown(reach);
        }
        near
    }

    pub(super) fn light_falls_in_one_step(&self, area: &Area, look: &Look) -> bool {
        let most_grain = self.ground.options.most_grain;
        self.is_so_between(area, look, self.ground.options.twin_mm, self.ground.bright(), |pair| {
            pair.light_falls_in_one_step(most_grain)
        })
    }

    pub(super) fn light_keeps_between(&self, area: &Area, look: &Look) -> bool {
        let through = self.ground.options.through_mm;
        self.is_so_between(area, look, through, self.ground.averaged(), |pair| {
            pair.light_keeps_between()
        })
    }

    /// Whether something holds of `light` on the ground between this area and another, at most so far away.
    fn is_so_between(
        &self,
        area: &Area,
        look: &Look,
        widest_mm: f64,
        light: &Raster,
        holds: impl Fn(&Pair<'_>) -> bool,
    ) -> bool {
        let widest = self.shaved() + widest_mm / self.ground.cell_mm;
        let (a, b) = (self.bounds, area.bounds());
        // Cheap, and there may be many areas.
        if gap(a, b) > widest {
            return false;
        }
        // What lies between two areas lies in the box around both.
        let both = [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])];
        holds(&Pair {
            light: &light.cropped(both),
            bright: &self.ground.bright().cropped(both),
            grain: &self.ground.grain.cropped(both),
            coat: (&self.mask.cropped(both), self.look),
            area: (&area.mask(self.mask.width, self.mask.height).cropped(both), *look),
            covered: &self.ground.covered.cropped(both),
            widest,
        })
    }
}

/// Equally white against the paper beside, ln of light and of colour. Chosen: a benchtop or metal as white as
/// this is told by its grain.
const AS_WHITE_LN: f64 = 0.2;
const AS_WHITE_COLOUR: f64 = 0.06;

/// How far two boxes are apart, cells.
fn gap(a: [usize; 4], b: [usize; 4]) -> f64 {
    let apart = |k: usize| a[k].saturating_sub(b[k + 2]).max(b[k].saturating_sub(a[k + 2])) as f64;
    apart(0).hypot(apart(1))
}

/// Whether a good part of an area's rim lies in `near`, not just a corner.
pub(super) fn touches(area: &Area, near: &Mask) -> bool {
    let close = area.places().filter(|&(x, y)| near.at(x, y)).count();
    close as f64 > 2.0 * (area.size() as f64).sqrt()
}
