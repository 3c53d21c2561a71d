//! What even areas lie on.

use super::CoatOptions;
use crate::photo::{Mask, Raster};
use std::cell::OnceCell;

/// Light is averaged over so much where relief may lie, mm. Chosen: a few turns of a thread; a gap narrower than
/// this is looked for in the light as seen.
const RELIEF_MM: f64 = 3.6;

/// What the areas lie on, on the cells.
pub(super) struct Ground<'a> {
    /// ln of red light.
    pub(super) bright: &'a Raster,
    /// The same with what dye takes given back, and its grain.
    pub(super) without_dye: &'a Raster,
    pub(super) grain: &'a Raster,
    /// Not coat, whatever it looks like: card, rule.
    pub(super) covered: &'a Mask,
    /// Side of a cell, mm.
    pub(super) cell_mm: f64,
    pub(super) options: &'a CoatOptions,
    /// See [`Ground::averaged`].
    pub(super) averaged: OnceCell<Raster>,
}

impl Ground<'_> {
    /// Light averaged over relief, which leaves its mean: so shade is told from rims. Most photos never ask.
    pub(super) fn averaged(&self) -> &Raster {
        let reach = (0.5 * RELIEF_MM / self.cell_mm).round() as usize;
        self.averaged.get_or_init(|| self.without_dye.boxed(reach))
    }
}
