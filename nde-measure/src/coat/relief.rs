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
    /// ...its spread of light being at most this many times the coat's.
    pub as_even: f64,
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
        }
    }
}

/// Light and colour of the blocks.
struct Blocks {
    /// Cells a side.
    side: usize,
    /// Average of ln light, ln R/G, ln B/G; of the light's square.
    means: [Raster; 4],
    /// Share of the block's cells that can be coat, and that are.
    usable: Raster,
    coat: Raster,
}

impl Blocks {
    fn of(cells: &Cells, bright: &Raster, covered: &Mask, coat: &Mask, side: usize) -> Self {
        let (w, h) = (cells.width().div_ceil(side), cells.height().div_ceil(side));
        let mut means = [(); 4].map(|()| Raster::filled(w, h, 0.0));
        let (mut usable, mut on_coat) = (Raster::filled(w, h, 0.0), Raster::filled(w, h, 0.0));
        let share = 1.0 / (side * side) as f32;
        for y in 0..cells.height() {
            for x in 0..cells.width() {
                let (i, b) = (y * cells.width() + x, (y / side) * w + x / side);
                if covered.data[i] || cells.lost.data[i] >= 0.5 {
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
                on_coat.data[b] += if coat.data[i] { share } else { 0.0 };
            }
        }
        Self { side, means, usable, coat: on_coat }
    }

    /// Weighted mean of the light's and colours' averages: `weight` times their sums, smoothed by `smooth`.
    fn averaged(&self, weight: impl Fn(usize) -> f32, smooth: impl Fn(&Raster) -> Raster) -> Self {
        let (w, h) = (self.usable.width, self.usable.height);
        let weights = Raster { width: w, height: h, data: (0..w * h).map(&weight).collect() };
        let total = smooth(&Raster {
            data: weights.data.iter().zip(&self.usable.data).map(|(w, u)| w * u).collect(),
            ..weights
        });
        let means = self.means.each_ref().map(|mean| {
            let sums = Raster {
                width: w,
                height: h,
                data: mean.data.iter().zip(&weights.data).map(|(m, w)| m * w).collect(),
            };
            let mut out = smooth(&sums);
            for (o, t) in out.data.iter_mut().zip(&total.data) {
                *o /= t.max(1e-6);
            }
            out
        });
        Self { side: self.side, means, usable: total, coat: self.coat.clone() }
    }
}

/// Cells on relief that belong to the coat they touch, those that are coat already left out.
pub(super) fn on_relief(
    cells: &Cells,
    bright: &Raster,
    covered: &Mask,
    coat: &Mask,
    cell_mm: f64,
    options: &ReliefOptions,
) -> Mask {
    let side = ((options.block_mm / cell_mm).round() as usize).max(1);
    let blocks = Blocks::of(cells, bright, covered, coat, side);
    let (w, h) = (blocks.usable.width, blocks.usable.height);
    let mut found = Mask::empty(cells.width(), cells.height());
    let sigma = options.beside_mm / (side as f64 * cell_mm);
    let is_coat = |i: usize| blocks.coat.data[i] > 0.5 * blocks.usable.data[i].max(1e-6);
    let beside =
        blocks.averaged(|i| if is_coat(i) { 1.0 } else { 0.0 }, |f| f.widely_blurred(sigma));
    let here = blocks.averaged(|_| 1.0, |f| f.boxed(1));
    let mut like = Mask::empty(w, h);
    let mut spreads = Raster::filled(w, h, 0.0);
    for i in 0..w * h {
        let off = |k: usize| f64::from(here.means[k].data[i] - beside.means[k].data[i]);
        let mean = f64::from(here.means[0].data[i]);
        let spread = (f64::from(here.means[3].data[i]) - mean * mean).max(0.0).sqrt();
        spreads.data[i] = spread as f32;
        like.data[i] = blocks.usable.data[i] > 0.5
            // Far from the coat nothing lies beside.
            && beside.usable.data[i] > 0.02
            && off(0).abs() <= options.most_off
            && off(1).abs() <= options.most_cast
            && off(2).abs() <= options.most_cast
            && spread <= options.most_spread
            && off(0) - 1.5 * spread >= options.least_trough.ln();
    }
    let mut rest = like;
    for (i, yes) in rest.data.iter_mut().enumerate() {
        *yes &= !is_coat(i);
    }
    // The rim of a coat thins out over a block or two and would pass; relief is wider.
    let wide = rest.shrunk(1.0).grown(1.5);
    for (yes, &kept) in rest.data.iter_mut().zip(&wide.data) {
        *yes &= kept;
    }
    let mut own = Mask::empty(w, h);
    for (i, yes) in own.data.iter_mut().enumerate() {
        *yes = is_coat(i);
    }
    let near = own.grown(1.5);
    let coat_spread = median((0..w * h).filter(|i| is_coat(*i)).map(|i| spreads.data[i]).collect());
    for area in areas(&rest) {
        let spread = median(area.places().map(|(x, y)| spreads.at(x, y)).collect());
        let needed = if f64::from(spread) <= options.as_even * f64::from(coat_spread) {
            options.least_beside_even
        } else {
            options.least_beside
        };
        if share_beside(&area, &near, &blocks.usable) < needed {
            continue;
        }
        for (x, y) in area.places() {
            let (x0, y0) = (x * blocks.side, y * blocks.side);
            for cy in y0..(y0 + blocks.side).min(found.height) {
                for cx in x0..(x0 + blocks.side).min(found.width) {
                    found.set(cx, cy, !coat.at(cx, cy) && !covered.at(cx, cy));
                }
            }
        }
    }
    found
}

/// Share of an area's rim that lies beside what is near the coat; what cannot be coat (card, glare) and the
/// frame do not count.
fn share_beside(area: &Area, near: &Mask, usable: &Raster) -> f64 {
    let mut own = Mask::empty(near.width, near.height);
    for (x, y) in area.places() {
        own.set(x, y, true);
    }
    let (mut all, mut beside) = (0_usize, 0_usize);
    for (x, y) in area.places() {
        let around = [(x.wrapping_sub(1), y), (x + 1, y), (x, y.wrapping_sub(1)), (x, y + 1)];
        for (nx, ny) in around.into_iter().filter(|&(nx, ny)| nx < near.width && ny < near.height) {
            if own.at(nx, ny) || usable.at(nx, ny) < 0.5 {
                continue;
            }
            all += 1;
            beside += usize::from(near.at(nx, ny));
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
    fn part(ripple: f32) -> Cells {
        let (w, h) = (300, 200);
        let mut red = Raster::filled(w, h, 0.0);
        for y in 0..h {
            for x in 0..w {
                let (mm_x, mm_y) = (x as f32 * 0.3, y as f32 * 0.3);
                let grain = 0.02 * ((x * 37 + y * 91) % 17) as f32 / 17.0;
                let coated = (15.0..75.0).contains(&mm_x);
                let bead = (25.0..35.0).contains(&mm_y);
                red.data[y * w + x] = match (coated, bead) {
                    (true, true) => -0.3 + grain + ripple * (mm_x * 3.5).sin(),
                    (true, false) => -0.3 + grain,
                    (false, _) => -1.2 + 0.25 * ((y * 53) % 13) as f32 / 13.0,
                };
            }
        }
        let ln = [red.clone(), red.clone(), red];
        Cells { grid: Grid { x0: 0, y0: 0, side: 3 }, ln, lost: Raster::filled(w, h, 0.0) }
    }

    fn share_of_coat_found(ripple: f32) -> (f64, f64) {
        let cells = part(ripple);
        let nothing = Mask::empty(300, 200);
        let coat = propose(&cells, &nothing, None, 0.3, &CoatOptions::default()).unwrap();
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
            let (coat, metal) = share_of_coat_found(ripple);
            assert!(coat > 0.9, "ripple {ripple}: {coat}");
            assert!(metal < 0.01, "ripple {ripple}: {metal}");
        }
    }

    #[test]
    fn what_is_broken_up_more_than_ripple_is_left_out() {
        let (coat, _) = share_of_coat_found(0.6);
        assert!(coat < 0.9, "{coat}");
    }
}
