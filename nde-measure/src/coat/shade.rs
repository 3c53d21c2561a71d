//! Whether an even area beside the coat is the same coat in a shadow.
//!
//! Across the edge of a shadow the light falls in one step, from one level to the other, and the
//! powder's grain, being a share of the light, stays as it is. At the rim of a part there is more:
//! thinning powder, bare metal, a dark gap, a bright chamfer; and a bench has a grain of its own.

use super::look::Look;
use crate::photo::{Mask, Raster};

/// Two even areas and the ground between them, on the cells.
pub(super) struct Pair<'a> {
    /// ln of red light: as it is asked for (as seen, or averaged over relief), and as seen; its grain as seen.
    pub(super) light: &'a Raster,
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

/// How far each cell is from a mask, cells.
fn distances_to(mask: &Mask) -> Vec<f32> {
    mask.squared_distance_to(true).into_iter().map(f32::sqrt).collect()
}

/// How far light between two areas may lie outside their levels, ln: light also falls off slowly
/// over a coat. Chosen.
const SLACK_LN: f32 = 0.15;
/// A gap is darker than both sides by this, ln. Chosen: troughs of relief lose up to 0.48, see
/// [`super::ReliefOptions::least_trough`].
const GAP_LN: f32 = -0.6;
/// How much rougher the roughest quarter of the ground between may be than that of either, beyond what is allowed
/// for the grain. Chosen: marks and the penumbra add less than half as much; the rough rim of a part many times as much.
const MOST_ROUGH: f64 = 1.5;
/// So many cells of it for each line across are a gap: half a line, one cell wide.
const LEAST_GAP: f32 = 0.5;
/// Share of the ground between that must lie within. Chosen; marks may cross the edge of a shadow.
const LEAST_SHARE: f64 = 0.9;

/// The ground between runs along so much of the side of the smaller one, at least. Chosen: two that meet at a corner
/// only share less.
const LEAST_STRETCH: f32 = 0.5;
/// Ground between up to twice as wide as at its narrowest is looked at, in so many steps. Chosen: finer
/// steps find nothing more.
const WIDTHS: usize = 5;

impl Pair<'_> {
    /// Whether the light of the ground between keeps within the light of both, along a good part of the side: there
    /// is no rim of a part between, and no thinning powder. Light averaged over relief keeps so as well.
    pub(super) fn light_keeps_between(&self) -> bool {
        self.between().is_some_and(|(places, narrowest)| {
            self.share_within(&places) >= LEAST_SHARE && !self.is_gap_across(&places, narrowest)
        })
    }

    /// Whether light falls in one step from the coat to the area, along a good part of its side, over ground
    /// of the same powder.
    pub(super) fn light_falls_in_one_step(&self, most_grain: f64) -> bool {
        let Some((places, _)) = self.between() else { return false };
        let one_step = self.share_within(&places) >= LEAST_SHARE;
        // The rim of a part between two surfaces, or thinning powder, is coarser than the coat in that light.
        one_step && {
            let mut all: Vec<f32> = places.iter().map(|&i| self.grain.data[i]).collect();
            let mut quarter = |k: usize| {
                let at = (all.len() - 1) * k / 4;
                f64::from(*all.select_nth_unstable_by(at, f32::total_cmp).1)
            };
            let (grain, rough) = (quarter(1), quarter(3));
            let (coat, area) = (self.coat.1, self.area.1);
            let dimmer = if area.ln_red < coat.ln_red { area } else { coat };
            // Part of it lies in the light: no more of its grain is noise than there.
            let noise = coat.noise.min(area.noise);
            Look { grain, noise, ..dimmer }.has_grain_of(&coat, most_grain)
                && rough <= MOST_ROUGH * most_grain * coat.rough.max(area.rough)
        }
    }

    /// Whether a dark line runs between the two: the gap beside a part is too narrow to show in averaged light.
    fn is_gap_across(&self, places: &[usize], narrowest: f32) -> bool {
        let (coat, area) = (self.coat.1.ln_red, self.area.1.ln_red);
        let dark = coat.min(area) as f32 + GAP_LN;
        let seen = places.iter().filter(|&&i| self.bright.data[i] < dark).count();
        seen as f32 * narrowest > LEAST_GAP * places.len() as f32
    }

    /// The ground between where the two lie about closest, and how wide it was taken, cells; `None` where
    /// they lie far apart, meet at a corner only or have a card between them.
    fn between(&self) -> Option<(Vec<usize>, f32)> {
        let (to_coat, to_area) = (distances_to(self.coat.0), distances_to(self.area.0));
        let between = |i: usize| to_coat[i] > 0.0 && to_area[i] > 0.0 && !self.covered.data[i];
        let way = |i: usize| to_coat[i] + to_area[i];
        let narrowest =
            (0..to_coat.len()).filter(|&i| between(i)).map(way).fold(f32::MAX, f32::min);
        if f64::from(narrowest) > self.widest {
            return None;
        }
        // Where their sides are not parallel, ground a little wider than the narrowest counts as well.
        let most = |width: f32| 1.2 * width + 1.0;
        let widest = most(2.0 * narrowest);
        let mut ways: Vec<f32> = (0..to_coat.len())
            .filter(|&i| between(i))
            .map(way)
            .filter(|&way| way <= widest)
            .collect();
        ways.sort_unstable_by(f32::total_cmp);
        let smaller = self.area.0.count().min(self.coat.0.count()) as f32;
        let stretch = LEAST_STRETCH * smaller.sqrt();
        let width =
            (0..=WIDTHS).map(|k| narrowest * (1.0 + k as f32 / WIDTHS as f32)).find(|&w| {
                let places = ways.partition_point(|&way| way <= most(w));
                f64::from(w) <= self.widest && places as f32 >= stretch * w
            })?;
        let places: Vec<usize> =
            (0..to_coat.len()).filter(|&i| between(i) && way(i) <= most(width)).collect();
        // Across a card the two rims of open ground tell nothing.
        let hidden = |i: &usize| self.covered.data[*i] && to_coat[*i] + to_area[*i] <= most(width);
        let hidden = (0..to_coat.len()).filter(hidden).count();
        (hidden <= places.len()).then_some((places, width))
    }

    /// Share of places whose light lies between that of the two.
    fn share_within(&self, places: &[usize]) -> f64 {
        let (coat, area) = (self.coat.1.ln_red, self.area.1.ln_red);
        let dim = area.min(coat) as f32 - SLACK_LN;
        let light = area.max(coat) as f32 + SLACK_LN;
        let within =
            places.iter().filter(|&&i| (dim..=light).contains(&self.light.data[i])).count();
        within as f64 / places.len().max(1) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coat::look::tests::look;

    /// Two areas 30 cells apart with `between` as the light there, ln; both areas read -0.3 and -0.5.
    fn keeps(between: impl Fn(usize) -> f32) -> bool {
        let (w, h) = (130, 60);
        let mut light = Raster::filled(w, h, 0.0);
        let (mut left, mut right) = (Mask::empty(w, h), Mask::empty(w, h));
        for i in 0..w * h {
            let x = i % w;
            light.data[i] = match x {
                0..50 => -0.3,
                50..80 => between(x - 50),
                _ => -0.5,
            };
            left.data[i] = x < 50;
            right.data[i] = x >= 80;
        }
        let pair = Pair {
            light: &light.boxed(6),
            bright: &light,
            grain: &Raster::filled(w, h, 0.004),
            coat: (&left, look(-0.3, 0.004)),
            area: (&right, look(-0.5, 0.004)),
            covered: &Mask::empty(w, h),
            widest: 40.0,
        };
        pair.light_keeps_between()
    }

    #[test]
    fn a_shadow_askew_to_the_other_area_falls_in_one_step() {
        // The ground between is 10 cells wide at one end, twice that at the other.
        let (w, h) = (130, 60);
        let mut light = Raster::filled(w, h, 0.0);
        let (mut left, mut right) = (Mask::empty(w, h), Mask::empty(w, h));
        for i in 0..w * h {
            let (x, y) = (i % w, i / w);
            let askew = 60 + y / 6;
            (left.data[i], right.data[i]) = (x < 50, x >= askew);
            light.data[i] = if x < 50 + (askew - 50) / 2 { -0.3 } else { -1.2 };
        }
        let mut card = Mask::empty(w, h);
        card.data.iter_mut().enumerate().for_each(|(i, yes)| *yes = (51..59).contains(&(i % w)));
        let falls = |grain: f32, covered: &Mask| {
            let pair = Pair {
                light: &light,
                bright: &light,
                grain: &Raster::filled(w, h, grain),
                coat: (&left, look(-0.3, 0.004)),
                area: (&right, look(-1.2, 0.004)),
                covered,
                widest: 40.0,
            };
            pair.light_falls_in_one_step(1.3)
        };
        assert!(falls(0.004, &Mask::empty(w, h)));
        assert!(!falls(0.010, &Mask::empty(w, h)));
        // What shows beside a card tells nothing of what lies under it.
        assert!(!falls(0.004, &card));
    }

    #[test]
    fn a_thread_between_two_areas_keeps_their_light_and_a_bare_rim_does_not() {
        assert!(keeps(|x| -0.4 + 0.3 * (x as f32 * 1.3).sin()));
        assert!(!keeps(|x| if (5..25).contains(&x) { -1.2 } else { -0.4 }));
        // A gap of a millimetre beside a part hides in light averaged over 3.6 mm.
        assert!(!keeps(|x| if (14..17).contains(&x) { -1.3 } else { -0.4 }));
    }
}
