//! What the even areas lie on: light, grain and paper of a photo, on its cells.

use super::CoatOptions;
use super::look::{Look, grain};
use super::paper::Paper;
use crate::photo::{Cells, Mask, Raster};
use crate::regions::Area;
use std::cell::OnceCell;

/// Light is averaged over so much where relief may lie, mm. Chosen: a few turns of a thread; a gap narrower than
/// this is looked for in the light as seen.
const RELIEF_MM: f64 = 3.6;

/// Evenness and colour of a place are told by so much on either side of it, mm. Chosen: wider than grain and narrower
/// than what a coat's rim feathers out over.
const EVEN_MM: f64 = 0.8;

/// Red light that dye takes for each unit of redness, both as logarithms. Chosen: dyes on rendered
/// photos and the reflectance of red dye (from memory) lie between 0.08 and 0.2.
pub(crate) const RED_SHARE_OF_DYE: f32 = 0.13;

/// What the areas lie on, on the cells.
pub(super) struct Ground<'a> {
    pub(super) cells: &'a Cells,
    /// Not coat, whatever it looks like: card, rule.
    pub(super) covered: &'a Mask,
    /// Known white in the frame, and what lies beside it.
    pub(super) paper: Option<&'a Paper>,
    beside_paper: Option<Mask>,
    /// Side of a cell, mm.
    pub(super) cell_mm: f64,
    pub(super) options: &'a CoatOptions,
    /// ln of red light with what dye takes given back, and its grain and unevenness.
    pub(super) without_dye: Raster,
    pub(super) grain: Raster,
    pub(super) unevenness: Raster,
    /// Grain of ln R/G: what the two do not share.
    noise: Raster,
    /// See [`Ground::blue`].
    blue: OnceCell<Raster>,
    /// See [`Ground::averaged`].
    averaged: OnceCell<Raster>,
}

impl<'a> Ground<'a> {
    pub(super) fn of(
        cells: &'a Cells,
        covered: &'a Mask,
        paper: Option<&'a Paper>,
        cell_mm: f64,
        options: &'a CoatOptions,
    ) -> Self {
        // Dye takes a little red light too; without giving that back a mark at the rim of the coat
        // would count as rim.
        let cast = paper.map_or(0.0, |p| p.white_ln[0] - p.white_ln[1]) as f32;
        let mut without_dye = cells.ln[0].clone();
        let red_green = cells.against_green(0);
        for (v, red_green) in without_dye.data.iter_mut().zip(&red_green.data) {
            *v += RED_SHARE_OF_DYE * (red_green - cast).max(0.0);
        }
        Self {
            cells,
            covered,
            paper,
            beside_paper: paper.map(|_| Paper::beside(covered, cell_mm)),
            cell_mm,
            options,
            grain: grain(&without_dye),
            noise: grain(&red_green),
            unevenness: unevenness(&without_dye, even_reach(cell_mm)),
            without_dye,
            blue: OnceCell::new(),
            averaged: OnceCell::new(),
        }
    }

    /// ln of red light.
    pub(super) fn bright(&self) -> &'a Raster {
        &self.cells.ln[0]
    }

    /// Whether a cell can be coat at all: not covered, and not burnt out for the most part.
    pub(super) fn is_usable(&self, i: usize) -> bool {
        !self.covered.data[i] && self.cells.lost.data[i] < 0.5
    }

    /// Whether the ground at a cell reflects blue light as white does, ln of red, green, blue: dye takes hardly more blue
    /// than green, but wood, board, brass and rust do.
    pub(super) fn is_blue_enough(&self, i: usize, white_ln: [f64; 3]) -> bool {
        f64::from(self.blue().data[i]) >= white_ln[2] - white_ln[1] - self.options.most_cast
    }

    /// ln of blue against green, averaged as evenness is. Beside paper nobody asks.
    fn blue(&self) -> &Raster {
        self.blue.get_or_init(|| self.cells.against_green(2).boxed(even_reach(self.cell_mm)))
    }

    /// How an area looks as a whole, against white (ln of red, green, blue) and the paper beside it.
    pub(super) fn look(&self, area: &Area, white_ln: [f64; 3]) -> Look {
        let paper = self.paper.zip(self.beside_paper.as_ref());
        let against =
            paper.and_then(|(paper, near)| paper.against(area, near, self.cells, self.cell_mm));
        Look::of(area, self.cells, [&self.grain, &self.noise], white_ln, against)
    }

    /// Light averaged over relief, which leaves its mean: so shade is told from rims. Most photos never ask.
    pub(super) fn averaged(&self) -> &Raster {
        let reach = (0.5 * RELIEF_MM / self.cell_mm).round() as usize;
        self.averaged.get_or_init(|| self.without_dye.boxed(reach))
    }
}

/// [`EVEN_MM`] in cells.
fn even_reach(cell_mm: f64) -> usize {
    (EVEN_MM / cell_mm).round().max(1.0) as usize
}

/// Unevenness: root mean square of what is left of a field after its mean in a square window of
/// `2 reach + 1` cells, over the same window. Slow shading, as on relief, leaves nothing.
fn unevenness(field: &Raster, reach: usize) -> Raster {
    let mut rest = field.boxed(reach);
    for (r, f) in rest.data.iter_mut().zip(&field.data) {
        *r = (f - *r).powi(2);
    }
    let mut out = rest.boxed(reach);
    out.data.iter_mut().for_each(|v| *v = v.sqrt());
    out
}
