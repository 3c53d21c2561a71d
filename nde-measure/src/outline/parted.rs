//! What a connected place falls apart into just above half of its contrast.
//!
//! Where its ground shades a crack, its colour does not dip at all, and it does not fall apart.

use super::OutlineOptions;
use super::fields::Fields;
use super::half::Core;
use super::part::{Part, Stamps, percentile};
use crate::photo::{Mask, Raster};

/// The dip between touching marks holds less than this share of their dye, ... Chosen on painted scenes:
/// touching marks dip to 0.06 to 0.27, single cracks to 0.33 and above.
const DYE_DIP: f64 = 0.29;
/// ... and less than this share of their contrast, spots' being the least deep. Chosen: between spots
/// whose halos meet it is 0.68 to 0.71.
const DIP_OF_SPOTS: f64 = 0.72;
/// Where redness still implies this share of its own contrast, dye is not interrupted: a shadow or a
/// ridge of the coat takes light from all colours. Redness has half the resolution, so it dips less.
/// Chosen.
const REDNESS_DIP: f64 = 0.85;
/// Every piece rises again to this share of the contrast. Chosen: what is weaker is a tip or a halo.
const ALIKE: f64 = 0.85;
/// Grain of the ground against the contrast from which on a dip says nothing. Chosen: dips by grain
/// alone reach 0.55 at one sixth, 0.59 at 0.15, where they are also as short as those between marks.
const MOST_GRAIN: f64 = 0.12;
/// Weaker marks break on the powder itself. Chosen: the contrast from which on lengths are stated.
const LEAST_CONTRAST: f64 = 0.23;
/// A piece has this area, mm2 and pixels: less is grain. Chosen: a disc of 0.4 mm, of 5 pixels.
const LEAST_AREA_MM2: f64 = 0.12;
const LEAST_PIECE_PX: f64 = 20.0;
/// What falls into more pieces than these stays one, which errs to the safe side. Chosen: it is a pattern, and
/// each pair of pieces costs time.
const MOST_PIECES: usize = 32;
/// The same for pieces times the pixels around them all: each is held for each. Chosen: 120 MB.
const MOST_PLACES: usize = 30_000_000;
/// Ways from piece to piece that are longer than the shortest by up to this lead through what both
/// share, pixels. Chosen.
const SHARED_PX: f32 = 3.0;

/// How much dye takes this share of the light, as the ratio of absorption to scattering (Kubelka and
/// Munk, 1931, from memory).
fn dye_of_loss(loss: f64) -> f64 {
    loss.powi(2) / (2.0 * (1.0 - loss).max(1e-3))
}

/// The share of the light that so much dye takes.
fn loss_of_dye(dye: f64) -> f64 {
    (dye * dye + 2.0 * dye).sqrt() - dye
}

/// What a connected place falls apart into just above half of its contrast.
pub(super) struct Parted<'a> {
    pub(super) fields: &'a Fields,
    pub(super) core: &'a Core,
    pub(super) options: &'a OutlineOptions,
    pub(super) all: Vec<Part>,
    /// The window that all lie in with room for their skirts, and how far each of its places is from each piece.
    window: [usize; 4],
    far: Vec<Vec<f32>>,
}

impl<'a> Parted<'a> {
    /// `None` where there are not two, or where a dip says nothing.
    pub(super) fn of(
        fields: &'a Fields,
        core: &'a Core,
        support: &Mask,
        options: &'a OutlineOptions,
        stamps: &mut Stamps,
    ) -> Option<Self> {
        let Core { part, peak, ground, spread, .. } = core;
        let contrast = peak - ground;
        if contrast < LEAST_CONTRAST || *spread > MOST_GRAIN * contrast {
            return None;
        }
        let (w, h) = (support.width, support.height);
        let least = (LEAST_AREA_MM2 / fields.mm_per_px.powi(2)).max(LEAST_PIECE_PX);
        if (part.places.len() as f64) < 2.0 * least {
            return None;
        }
        let dip = loss_of_dye(DYE_DIP * dye_of_loss(contrast)).min(DIP_OF_SPOTS * contrast);
        let level = (ground + dip) as f32;
        // The loss that redness implies, 1 - exp(-redness), above a ground without any.
        let red = part.places.iter().map(|&i| fields.d.data[i]);
        let red_peak = 1.0 - f64::from(-percentile(red, options.peak_share)).exp();
        let red_level = -(1.0 - REDNESS_DIP * red_peak).max(1e-6).ln() as f32;
        let mut rest = Mask::empty(w, h);
        for &i in &part.places {
            rest.data[i] = fields.green.data[i] >= level || fields.d.data[i] >= red_level;
        }
        let full = (ground + ALIKE * contrast) as f32;
        let mut all: Vec<Part> = Vec::new();
        for &i in &part.places {
            if rest.data[i] {
                let piece = Part::around(&fields.green, &rest, i, f32::NEG_INFINITY, stamps);
                piece.places.iter().for_each(|&k| rest.data[k] = false);
                let light = piece.places.iter().map(|&k| fields.green.data[k]);
                let top = percentile(light, options.peak_share);
                if piece.places.len() as f64 >= least && top >= full {
                    all.push(piece);
                }
            }
        }
        let window = part.box_with(options.skirt_mm / fields.mm_per_px + 6.0);
        let size = (window[2] - window[0]) * (window[3] - window[1]);
        if all.len() < 2 || all.len() > MOST_PIECES || all.len() * size > MOST_PLACES {
            return None;
        }
        let far = all.iter().map(|piece| {
            let mut own = Mask::empty(w, h);
            piece.places.iter().for_each(|&i| own.data[i] = true);
            let squared = own.cropped(window).squared_distance_to(true);
            squared.into_iter().map(f32::sqrt).collect()
        });
        let far = far.collect();
        Some(Self { fields, core, options, all, window, far })
    }

    /// Where a place of the field lies in the window.
    fn in_window(&self, i: usize) -> usize {
        let ([x0, y0, x1, _], width) = (self.window, self.fields.green.width);
        (i / width - y0) * (x1 - x0) + i % width - x0
    }

    /// The highest way from one piece to another, where it is as far from either and a third is no nearer.
    pub(super) fn pass(&self, k: usize, j: usize) -> Option<usize> {
        let (far, green) = (&self.far, &self.fields.green.data);
        let gap = apart(&far[k], &far[j]);
        let others = (0..far.len()).filter(|&m| m != k && m != j);
        let own = self.core.part.places.iter().copied().filter(|&i| {
            let at = self.in_window(i);
            let nearest = far[k][at].min(far[j][at]);
            (far[k][at] - far[j][at]).abs() <= 1.5
                && far[k][at] <= gap
                && others.clone().all(|m| far[m][at] >= nearest)
        });
        own.max_by(|&a, &b| green[a].total_cmp(&green[b]))
    }

    /// How high a piece rises above the ground in a field.
    pub(super) fn top(&self, field: &Raster, k: usize) -> f64 {
        let all = self.all[k].places.iter().map(|&i| field.data[i]);
        f64::from(percentile(all, self.options.peak_share)) - self.core.ground
    }

    /// How far each place of the window is from the nearest of some pieces.
    pub(super) fn far_from(&self, own: &[usize]) -> Vec<f32> {
        let nearest =
            |at: usize| own.iter().map(|&k| self.far[k][at]).fold(f32::INFINITY, f32::min);
        (0..self.far[0].len()).map(nearest).collect()
    }

    /// The highest place of some pieces.
    pub(super) fn highest_of(&self, own: &[usize]) -> Option<usize> {
        let green = &self.fields.green.data;
        let places = own.iter().flat_map(|&k| self.all[k].places.iter().copied());
        places.max_by(|&a, &b| green[a].total_cmp(&green[b]))
    }

    /// The places that may belong to mark `m`: `far` tells how far each is from each mark, `others` which the others
    /// are and how far from it, where they are neighbours.
    pub(super) fn alone(
        &self,
        support: &Mask,
        m: usize,
        far: &[Vec<f32>],
        others: &[(usize, Option<f32>)],
    ) -> Mask {
        let [x0, y0, x1, y1] = self.window;
        let mut own = support.clone();
        for (x, y) in (y0..y1).flat_map(|y| (x0..x1).map(move |x| (x, y))) {
            let at = (y - y0) * (x1 - x0) + x - x0;
            let here = far[m][at];
            // Where the skirts of both add up, the edge of each lies higher than half.
            let shared = |&(j, gap): &(usize, Option<f32>)| {
                let both = here + far[j][at];
                let between = |gap: f32| both <= gap + SHARED_PX.max(0.5 * gap);
                far[j][at] < here || (here > 0.0 && gap.is_some_and(between))
            };
            if others.iter().any(shared) {
                own.data[y * support.width + x] = false;
            }
        }
        own
    }
}

/// How far two marks are from each other: the distances from each to every place of a window are given.
pub(super) fn apart(own: &[f32], other: &[f32]) -> f32 {
    let places = own.iter().zip(other).filter(|(own, _)| **own <= 0.0);
    places.map(|(_, other)| *other).fold(f32::INFINITY, f32::min)
}
