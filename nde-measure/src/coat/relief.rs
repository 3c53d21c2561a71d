//! Coat on relief: weld ripple, threads, flanks.
//!
//! Relief breaks light and shade up as bare metal does, so ground on it is not even. But developer on
//! relief keeps the light of the coat beside it on the average, its colour, and even its troughs are
//! not dark; bare metal and overspray are darker on the average or have dark places.

use crate::photo::{Cells, Mask, Raster, median};
use crate::regions::{Area, areas};

/// How coat on relief is told. Lengths are millimetres on the part.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct ReliefOptions {
    /// Side of the blocks that are looked at, mm; the light is averaged over three by three of them.
    pub block_mm: f64,
    /// How far around the coat's light counts as the light beside, mm (standard deviation).
    pub beside_mm: f64,
    /// Largest difference of the average light from that beside, ln. Chosen: flanks of rendered weld
    /// beads and bosses stay within 0.2; bare metal beside them is 0.5 and more below.
    pub most_off: f64,
    /// Largest difference of colour from that beside, ln R/G and ln B/G. Chosen as above.
    pub most_cast: f64,
    /// Largest standard deviation of light, ln. Chosen: ripples up to 0.2, overspray above 0.3.
    pub most_spread: f64,
    /// What light is left one and a half standard deviations below the average, as a share of the light
    /// beside, at least. Chosen.
    pub least_trough: f64,
    /// Share of the ground's rim that must lie beside coat: a bead or a thread in a coat has it on both
    /// sides, bright bare metal around a coat on one. Chosen.
    pub least_beside: f64,
    /// The same for ground about as even as the coat itself...
    pub least_beside_even: f64,
    /// ...its spread of light and its grain being at most this many times the coat's.
    pub as_even: f64,
    /// Ground that keeps the light and colour of the coat beside it closely, all over, is coat on relief though
    /// most of its rim is the rim of the coat: this share must lie beside coat. Chosen: painted threads at
    /// the rim of a coat have 0.26 and more, bare metal just as bright 0.2 (and more where it is less like).
    pub least_beside_close: f64,
    /// The less closely, the more of the rim must lie beside coat, up to `least_beside`.
    /// How closely: the middle of the light, ln...
    pub close_off: f64,
    /// ...its range between the first and the last tenth, ln...
    pub close_range: f64,
    /// ...and the middle of the colour, ln R/G and ln B/G together. Chosen: painted relief at the rim of a coat
    /// keeps light within 0.06 and 0.14, colour within 0.025; most bare metal beside it is off by half as
    /// much again in one of them or another.
    pub close_cast: f64,
    /// A band of relief up to this width is coat where it has coat on both sides, whatever lies at its
    /// ends, mm. Chosen: a cap weld is about that wide.
    pub between_mm: f64,
}

impl Default for ReliefOptions {
    fn default() -> Self {
        Self {
            block_mm: 1.2,
            beside_mm: 8.0,
            most_off: 0.25,
            most_cast: 0.06,
            most_spread: 0.22,
            least_trough: 0.62,
            least_beside: 0.6,
            least_beside_even: 0.25,
            as_even: 1.5,
            least_beside_close: 0.24,
            close_off: 0.07,
            close_range: 0.14,
            close_cast: 0.029,
            between_mm: 20.0,
        }
    }
}

/// Ground that is so many times as far from keeping light and colour is held for metal on relief; what is nearer and
/// has too little coat beside it may be either. Chosen.
const FAR: f64 = 1.3;

impl ReliefOptions {
    /// Share of the rim that must lie beside coat, by how far the ground is from keeping its light and colour.
    fn needed_beside(&self, farness: f64) -> f64 {
        let part = ((farness - 1.0) / (FAR - 1.0)).clamp(0.0, 1.0);
        self.least_beside_close + part * (self.least_beside - self.least_beside_close).max(0.0)
    }
}

/// Light and colour of the cells in blocks. They do not change while a coat grows over them.
pub(super) struct Blocks {
    /// Cells and millimetres a side, and how far around the coat's light counts as the light beside, blocks.
    side: usize,
    block_mm: f64,
    beside: f64,
    /// Average of ln light, ln R/G, ln B/G; of the light's square.
    means: [Raster; 4],
    /// Cells that can be coat, and their share of each block.
    readable: Mask,
    usable: Raster,
    /// The first three averages over three by three blocks, and how far the light there spreads.
    here: [Raster; 3],
    spreads: Raster,
    /// Average grain.
    grain: Raster,
}

impl Blocks {
    pub(super) fn of(
        cells: &Cells,
        bright: &Raster,
        grain: &Raster,
        covered: &Mask,
        cell_mm: f64,
        options: &ReliefOptions,
    ) -> Self {
        let side = ((options.block_mm / cell_mm).round() as usize).max(1);
        let (w, h) = (cells.width().div_ceil(side), cells.height().div_ceil(side));
        let mut means = [(); 4].map(|()| Raster::filled(w, h, 0.0));
        let mut usable = Raster::filled(w, h, 0.0);
        let mut grains = Raster::filled(w, h, 0.0);
        let mut readable = covered.clone();
        for (yes, lost) in readable.data.iter_mut().zip(&cells.lost.data) {
            *yes = !*yes && *lost < 0.5;
        }
        let share = 1.0 / (side * side) as f32;
        for y in 0..cells.height() {
            for x in 0..cells.width() {
                let (i, b) = (y * cells.width() + x, (y / side) * w + x / side);
                if !readable.data[i] {
                    continue;
                }
                let [red, green, blue] = [0, 1, 2].map(|c| cells.ln[c].data[i]);
                let light = bright.data[i];
                for (mean, value) in
                    means.iter_mut().zip([light, red - green, blue - green, light * light])
                {
                    mean.data[b] += share * value;
                }
                usable.data[b] += share;
                grains.data[b] += share * grain.data[i];
            }
        }
        let grain = over(grains, &usable);
        let total = usable.boxed(1);
        let [light, red_green, blue_green, squares] =
            means.each_ref().map(|mean| over(mean.boxed(1), &total));
        let mut spreads = squares;
        for (spread, &mean) in spreads.data.iter_mut().zip(&light.data) {
            let mean = f64::from(mean);
            *spread = (f64::from(*spread) - mean * mean).max(0.0).sqrt() as f32;
        }
        let block_mm = side as f64 * cell_mm;
        let beside = options.beside_mm / block_mm;
        Self {
            side,
            block_mm,
            beside,
            means,
            readable,
            usable,
            here: [light, red_green, blue_green],
            spreads,
            grain,
        }
    }

    /// Which blocks are coat.
    fn coated(&self, coat: &Mask) -> Mask {
        let mut shares = Raster::filled(self.usable.width, self.usable.height, 0.0);
        let share = 1.0 / (self.side * self.side) as f32;
        for (i, _) in coat.data.iter().enumerate().filter(|(_, yes)| **yes) {
            let (x, y) = (i % coat.width, i / coat.width);
            if self.readable.data[i] {
                shares.data[(y / self.side) * shares.width + x / self.side] += share;
            }
        }
        let is_coat = |(share, usable): (&f32, &f32)| *share > 0.5 * usable.max(1e-6);
        Mask {
            width: shares.width,
            height: shares.height,
            data: shares.data.iter().zip(&self.usable.data).map(is_coat).collect(),
        }
    }

    /// By how much light and colour differ from those of the coat beside.
    fn off(&self, coat: &Mask) -> Off {
        let on_coat = |field: &Raster| {
            let mut field = field.clone();
            for (v, _) in field.data.iter_mut().zip(&coat.data).filter(|(_, yes)| !**yes) {
                *v = 0.0;
            }
            field.widely_blurred(self.beside)
        };
        let weight = on_coat(&self.usable);
        let mut by = self.here.clone();
        for (off, mean) in by.iter_mut().zip(&self.means) {
            let beside = over(on_coat(mean), &weight);
            off.data.iter_mut().zip(beside.data).for_each(|(off, beside)| *off -= beside);
        }
        Off { by, weight }
    }

    /// Blocks that keep the light and colour of the coat beside them.
    fn alike(&self, off: &Off, options: &ReliefOptions) -> Mask {
        let mut like = Mask::empty(self.usable.width, self.usable.height);
        for (i, yes) in like.data.iter_mut().enumerate() {
            let by = |k: usize| f64::from(off.by[k].data[i]);
            let spread = f64::from(self.spreads.data[i]);
            *yes = self.usable.data[i] > 0.5
                // Far from the coat nothing lies beside.
                && off.weight.data[i] > 0.02
                && by(0).abs() <= options.most_off
                && by(1).abs() <= options.most_cast
                && by(2).abs() <= options.most_cast
                && spread <= options.most_spread
                && by(0) - 1.5 * spread >= options.least_trough.ln();
        }
        like
    }

    /// Cells on relief that belong to the coat they touch, those that are coat already left out.
    pub(super) fn on_relief(
        &self,
        covered: &Mask,
        coat: &Mask,
        options: &ReliefOptions,
    ) -> OnRelief {
        let own = self.coated(coat);
        let off = self.off(&own);
        let mut rest = self.alike(&off, options);
        rest.take_out(&own);
        // The rim of a coat thins out over a block or two and would pass; relief is wider.
        let wide = rest.shrunk(1.0).grown(1.5);
        for (yes, &kept) in rest.data.iter_mut().zip(&wide.data) {
            *yes &= kept;
        }
        let near = own.grown(1.5);
        let half = 0.5 * options.between_mm / self.block_mm;
        let between = own.bridged(half);
        let middle = |field: &Raster, places: &mut dyn Iterator<Item = usize>| {
            f64::from(median(places.map(|i| field.data[i]).collect()))
        };
        let coat_middle =
            |field: &Raster| middle(field, &mut (0..own.data.len()).filter(|&i| own.data[i]));
        let even =
            [&self.spreads, &self.grain].map(|field| (field, options.as_even * coat_middle(field)));
        let mut found = OnRelief {
            coat: Mask::empty(coat.width, coat.height),
            doubtful: Mask::empty(coat.width, coat.height),
        };
        for area in areas(&rest) {
            let as_even = even.iter().all(|(field, most)| {
                middle(field, &mut area.places().map(|(x, y)| y * own.width + x)) <= *most
            });
            let farness = off.farness(&area, options);
            let needed =
                if as_even { options.least_beside_even } else { options.needed_beside(farness) };
            let whole = share_beside(&area, &near, &self.usable) >= needed;
            for (x, y) in area.places() {
                let into = if whole || between.at(x, y) {
                    &mut found.coat
                } else if farness < FAR {
                    &mut found.doubtful
                } else {
                    continue;
                };
                let (x0, y0) = (x * self.side, y * self.side);
                for cy in y0..(y0 + self.side).min(into.height) {
                    for cx in x0..(x0 + self.side).min(into.width) {
                        into.set(cx, cy, !coat.at(cx, cy) && !covered.at(cx, cy));
                    }
                }
            }
        }
        found
    }
}

/// Cells on relief, each in one of the two or in neither.
pub(super) struct OnRelief {
    /// Those that are coat.
    pub(super) coat: Mask,
    /// Those that keep the light and colour of the coat beside, too little of which lies around them.
    pub(super) doubtful: Mask,
}

/// By how much blocks differ from the coat beside them: ln light, ln R/G, ln B/G; how much coat lies beside.
struct Off {
    by: [Raster; 3],
    weight: Raster,
}

impl Off {
    /// How far an area is from keeping light and colour closely all over: 1 where it just does.
    fn farness(&self, area: &Area, options: &ReliefOptions) -> f64 {
        let [light, red, blue] = self.by.each_ref().map(|field| {
            let mut all: Vec<f32> =
                area.places().map(|(x, y)| field.data[y * field.width + x]).collect();
            all.sort_unstable_by(f32::total_cmp);
            [1, 5, 9].map(|tenth| f64::from(all[(all.len() - 1) * tenth / 10]))
        });
        (light[1].abs() / options.close_off)
            .max((light[2] - light[0]) / options.close_range)
            .max(red[1].hypot(blue[1]) / options.close_cast)
    }
}

/// One field over another.
fn over(mut field: Raster, weight: &Raster) -> Raster {
    for (v, w) in field.data.iter_mut().zip(&weight.data) {
        *v /= w.max(1e-6);
    }
    field
}

/// Share of an area's rim that lies beside what is near the coat; what cannot be coat (card, glare) does not
/// count. The frame does: beyond a strip along it nobody knows what comes.
fn share_beside(area: &Area, near: &Mask, usable: &Raster) -> f64 {
    let own = area.mask(near.width, near.height);
    let (mut all, mut beside) = (0_usize, 0_usize);
    for (x, y) in area.places() {
        let around = [(x.wrapping_sub(1), y), (x + 1, y), (x, y.wrapping_sub(1)), (x, y + 1)];
        for (nx, ny) in around {
            let in_frame = nx < near.width && ny < near.height;
            if in_frame && (own.at(nx, ny) || usable.at(nx, ny) < 0.5) {
                continue;
            }
            all += 1;
            beside += usize::from(in_frame && near.at(nx, ny));
        }
    }
    beside as f64 / all.max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coat::{CoatOptions, propose};
    use crate::photo::Grid;

    /// 90 x 60 mm of 0.3 mm cells: developer from x = 15 to 75 mm with a rippled bead across it, bare
    /// metal beside, 0.9 ln darker and streaky.
    fn part(ripple: f32, shade: impl Fn(f32, f32) -> f32) -> Cells {
        let (w, h) = (300, 200);
        let mut red = Raster::filled(w, h, 0.0);
        for y in 0..h {
            for x in 0..w {
                let (mm_x, mm_y) = (x as f32 * 0.3, y as f32 * 0.3);
                // Without a direction of its own: a pattern that repeats along the rows has no grain in its quartile.
                let grain = 0.02 * ((x * x * 37 + x * y * 53 + y * 91) % 17) as f32 / 17.0;
                let coated = (15.0..75.0).contains(&mm_x);
                let bead = (25.0..35.0).contains(&mm_y);
                red.data[y * w + x] = match (coated, bead) {
                    (true, true) => -0.3 + grain + ripple * (mm_x * 3.5).sin(),
                    (true, false) => -0.3 + grain,
                    (false, _) => -1.2 + 0.25 * ((y * 53) % 13) as f32 / 13.0,
                } - shade(mm_x, mm_y);
            }
        }
        let ln = [red.clone(), red.clone(), red];
        Cells { grid: Grid { x0: 0, y0: 0, side: 3 }, ln, lost: Raster::filled(w, h, 0.0) }
    }

    fn share_of_coat_found(ripple: f32, shade: impl Fn(f32, f32) -> f32) -> (f64, f64) {
        let cells = part(ripple, shade);
        let nothing = Mask::empty(300, 200);
        let coat = propose(&cells, &nothing, None, 0.3, &CoatOptions::default()).unwrap().coat;
        let count = |inside: bool| {
            let at = |i: &usize| (50..250).contains(&(i % 300)) == inside;
            let of = (0..coat.data.len()).filter(at);
            let (all, yes) = of.fold((0, 0), |(n, y), i| (n + 1, y + usize::from(coat.data[i])));
            f64::from(yes as u32) / f64::from(all)
        };
        (count(true), count(false))
    }

    #[test]
    fn a_rippled_bead_and_the_coat_beyond_it_are_read_and_metal_is_not() {
        for ripple in [0.0, 0.1, 0.18] {
            let (coat, metal) = share_of_coat_found(ripple, |_, _| 0.0);
            assert!(coat > 0.9, "ripple {ripple}: {coat}");
            assert!(metal < 0.01, "ripple {ripple}: {metal}");
        }
    }

    #[test]
    fn what_is_broken_up_more_than_ripple_is_left_out() {
        let (coat, _) = share_of_coat_found(0.6, |_, _| 0.0);
        assert!(coat < 0.9, "{coat}");
    }

    #[test]
    fn a_bead_beside_a_shadow_is_held_against_the_lit_coat() {
        // A millimetre and a half along the metal is left out.
        let askew = |x: f32, y: f32| if y > 51.0 - 0.2 * x { 1.0 } else { 0.0 };
        let (coat, metal) = share_of_coat_found(0.15, askew);
        assert!(coat > 0.92 && metal < 0.01, "{coat} {metal}");
    }
}
