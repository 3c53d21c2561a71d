//! Whether an even area beside the coat is the same coat in a shadow.
//!
//! Across the edge of a shadow the light falls in one step, from one level to the other, and the
//! powder's grain, being a share of the light, stays as it is. At the rim of a part there is more:
//! thinning powder, bare metal, a dark gap, a bright chamfer; and a bench has a grain of its own.

use super::look::Look;
use crate::photo::{Mask, Raster};

/// Two even areas and the ground between them, on the cells.
pub(super) struct Pair<'a> {
    /// ln of red light, and its grain.
    pub(super) bright: &'a Raster,
    pub(super) grain: &'a Raster,
    /// Even core of the coat, and how it looks.
    pub(super) coat: (&'a Mask, Look),
    /// Even core of the area beside it, and how it looks.
    pub(super) area: (&'a Mask, Look),
    /// Ground that belongs to neither, whatever its light (card, rule).
    pub(super) covered: &'a Mask,
    /// Widest ground between the two, cells.
    pub(super) widest: f64,
}

/// How far light between two areas may lie outside their levels, ln: light also falls off slowly
/// over a coat. Chosen.
const SLACK_LN: f32 = 0.15;
/// Share of the ground between that must lie within. Chosen; marks may cross the edge of a shadow.
const LEAST_SHARE: f64 = 0.9;

impl Pair<'_> {
    /// Whether light falls in one step from the coat to the area, along a good part of its side, over ground
    /// of the same powder.
    pub(super) fn light_falls_in_one_step(&self, most_grain: f64) -> bool {
        let far = |mask: &Mask| -> Vec<f32> {
            mask.squared_distance_to(true).into_iter().map(f32::sqrt).collect()
        };
        let (to_coat, to_area) = (far(self.coat.0), far(self.area.0));
        let between =
            |i: usize| !self.coat.0.data[i] && !self.area.0.data[i] && !self.covered.data[i];
        let way = |i: usize| to_coat[i] + to_area[i];
        let narrowest =
            (0..to_coat.len()).filter(|&i| between(i)).map(way).fold(f32::MAX, f32::min);
        if f64::from(narrowest) > self.widest {
            return false;
        }
        let most = 1.2 * narrowest + 1.0;
        let (coat, area) = (self.coat.1, self.area.1);
        let (dim, light) = (area.ln_red.min(coat.ln_red), area.ln_red.max(coat.ln_red));
        let (dim, light) = (dim as f32 - SLACK_LN, light as f32 + SLACK_LN);
        let mut within = 0_usize;
        let mut grain = Vec::new();
        for i in (0..to_coat.len()).filter(|&i| between(i) && way(i) <= most) {
            within += usize::from((dim..=light).contains(&self.bright.data[i]));
            grain.push(self.grain.data[i]);
        }
        let all = grain.len();
        let side = (self.area.0.count() as f64).sqrt();
        let one_step = all as f64 >= 0.5 * side * f64::from(narrowest)
            && within as f64 >= LEAST_SHARE * all as f64;
        // The rim of a part between two surfaces, or thinning powder, is coarser than the coat in that light.
        one_step && {
            let quarter = all / 4;
            let grain = f64::from(*grain.select_nth_unstable_by(quarter, f32::total_cmp).1);
            let dimmer = if area.ln_red < coat.ln_red { area } else { coat };
            Look { grain, ..dimmer }.has_grain_of(&coat, most_grain)
        }
    }
}
