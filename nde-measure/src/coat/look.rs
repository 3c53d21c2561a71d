//! How an even area looks as a whole: light, cast, and the grain of its surface.
//!
//! Powder has a fine, even grain that is a share of the light. Bare metal may be as bright and as
//! neutral, but it is streaky or mottled: two to five times as coarse. Noise of the camera adds grain where there is
//! little light; powder and metal are grey, so grain in which the colours differ is noise.

use super::paper::AgainstPaper;
use crate::photo::{Cells, Raster};
use crate::regions::Area;

/// How an area looks as a whole.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    /// Median ln of red light.
    pub(super) ln_red: f64,
    /// Upper quartile of it: the lit part, where a shadow goes over softly into the rest.
    pub(super) lit: f64,
    /// ln R/G and ln B/G against the reference white.
    pub(super) colour: [f64; 2],
    /// Lower quartile of the grain: what lies evenest, without beads and marks.
    pub(super) grain: f64,
    /// What noise adds to that, as far as red and green tell by differing.
    pub(super) noise: f64,
    /// Upper quartile of the grain: what lies roughest.
    pub(super) rough: f64,
    /// Against the paper beside it, where there is any.
    pub(super) against: Option<AgainstPaper>,
}

impl Look {
    /// Its look on the cells, against `white`: ln of red, green, blue, of which only the differences count.
    pub(super) fn of(
        area: &Area,
        cells: &Cells,
        [grain, noise]: [&Raster; 2],
        white: [f64; 3],
        against: Option<AgainstPaper>,
    ) -> Self {
        let quantile = |value: &dyn Fn(usize) -> f64, part: usize| {
            let mut all: Vec<f64> =
                area.places().map(|(x, y)| value(y * cells.width() + x)).collect();
            let at = all.len() / part;
            *all.select_nth_unstable_by(at, f64::total_cmp).1
        };
        let upper = |value: &dyn Fn(usize) -> f64| -quantile(&|i| -value(i), 4);
        let median = |value: &dyn Fn(usize) -> f64| quantile(value, 2);
        let colour_of = |channel: usize| {
            let c =
                median(&|i| f64::from(cells.ln[channel].data[i]) - f64::from(cells.ln[1].data[i]));
            c - (white[channel] - white[1])
        };
        Self {
            ln_red: median(&|i| f64::from(cells.ln[0].data[i])),
            lit: upper(&|i| f64::from(cells.ln[0].data[i])),
            colour: [colour_of(0), colour_of(2)],
            grain: quantile(&|i| f64::from(grain.data[i]), 4),
            // Of two channels that differ each has its half.
            noise: std::f64::consts::FRAC_1_SQRT_2 * quantile(&|i| f64::from(noise.data[i]), 4),
            rough: upper(&|i| f64::from(grain.data[i])),
            against,
        }
    }

    /// Its colour cast: the greater of |ln R/G| and |ln B/G|.
    pub(super) fn cast(&self) -> f64 {
        self.colour[0].abs().max(self.colour[1].abs())
    }

    /// By how much it is lighter than another area, ln, and by how much its colour differs.
    pub(super) fn beside(&self, other: &Self) -> (f64, f64) {
        let off = |k: usize| (self.colour[k] - other.colour[k]).abs();
        (self.ln_red - other.ln_red, off(0).max(off(1)))
    }

    /// How much coarser its grain is than another's.
    pub(super) fn grain_beside(&self, other: &Self) -> f64 {
        self.grain.max(LEAST_GRAIN) / other.grain.max(LEAST_GRAIN)
    }

    /// Whether its grain is no coarser than that of the coat in its light: bare metal is streaky.
    pub(super) fn has_grain_of(&self, coat: &Self, most_grain: f64) -> bool {
        // Noise is a larger share of less light, and a camera's tone curve flattens what is bright. Chosen
        // on painted scenes.
        self.has_grain_within(coat, most_grain, 0.3)
    }

    /// Whether its grain may be that of the coat in its light for all that noise can add: noise of light itself grows
    /// with the root of less light, as a share of it.
    pub(super) fn may_have_grain_of(&self, coat: &Self, most_grain: f64) -> bool {
        self.has_grain_within(coat, most_grain, 0.5)
    }

    /// As seen, or without what noise adds.
    fn has_grain_within(&self, coat: &Self, most_grain: f64, power: f64) -> bool {
        let darker = (power * (coat.ln_red - self.ln_red).max(0.0)).exp();
        let most = most_grain * darker;
        let within = |own: f64, coat: f64| own <= most * coat.max(LEAST_GRAIN);
        within(self.grain, coat.grain) || within(self.surface(), coat.surface())
    }

    /// Grain of the surface itself.
    fn surface(&self) -> f64 {
        (self.grain.powi(2) - self.noise.powi(2)).max(0.0).sqrt()
    }
}

/// Where a coat is nearly burnt out its grain is flattened away: grain of this much is that of powder. Chosen.
const LEAST_GRAIN: f64 = 0.0021;

/// Grain: by how much each cell differs from the mean of its four neighbours. Light and
/// its edges leave little of it in the quartile of an area.
pub(super) fn grain(field: &Raster) -> Raster {
    let (w, h) = (field.width, field.height);
    let mut out = Raster::filled(w, h, 0.0);
    for y in 1..h.saturating_sub(1) {
        let (above, own, below) = (field.row(y - 1), field.row(y), field.row(y + 1));
        for x in 1..w.saturating_sub(1) {
            let mean = 0.25 * (above[x] + below[x] + own[x - 1] + own[x + 1]);
            out.data[y * w + x] = (own[x] - mean).abs();
        }
    }
    out
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Neutral ground of so much light and grain, ln, without noise or paper.
    pub(in crate::coat) fn look(ln_red: f64, grain: f64) -> Look {
        let (lit, rough) = (ln_red, grain);
        Look { ln_red, lit, colour: [0.0; 2], grain, noise: 0.0, rough, against: None }
    }

    #[test]
    fn grain_that_the_colours_do_not_share_is_noise() {
        let coat = look(-0.3, 0.004);
        let noisy = |noise: f64| Look { noise, ..look(-1.2, 0.0090) };
        assert!(!noisy(0.0).has_grain_of(&coat, 1.3));
        assert!(!noisy(0.004).has_grain_of(&coat, 1.3));
        assert!(noisy(0.007).has_grain_of(&coat, 1.3));
        // Noise that is all there is hides the powder: what is left of nothing tells nothing.
        assert!(!look(-1.2, 0.0090).has_grain_of(&Look { noise: 0.004, ..coat }, 1.3));
    }

    #[test]
    fn metal_as_bright_as_the_coat_is_told_by_its_grain() {
        let coat = look(-0.3, 0.004);
        assert!(look(-0.4, 0.0045).has_grain_of(&coat, 1.3));
        assert!(!look(-0.3, 0.009).has_grain_of(&coat, 1.3));
        // In a shadow noise is a larger share of the light.
        assert!(!look(-0.3, 0.0060).has_grain_of(&coat, 1.3));
        assert!(look(-1.2, 0.0060).has_grain_of(&coat, 1.3));
    }

    #[test]
    fn a_slope_of_light_has_no_grain() {
        let mut field = Raster::filled(20, 20, 0.0);
        for (i, v) in field.data.iter_mut().enumerate() {
            *v = 0.1 * (i % 20) as f32 - 0.05 * (i / 20) as f32;
        }
        assert!(grain(&field).data.iter().all(|v| *v < 1e-5));
        field.data[10 * 20 + 10] += 1.0;
        assert!((grain(&field).at(10, 10) - 1.0).abs() < 1e-5);
    }
}
