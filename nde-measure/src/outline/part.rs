//! Connected places above a level, and what is read on and around them.

use crate::contour::level_lines;
use crate::photo::{Mask, Raster};
use crate::size::area_and_centroid;

/// Which places a walk has been to, without clearing the grid before each walk.
pub(super) struct Stamps {
    walk: u32,
    of: Vec<u32>,
}

impl Stamps {
    pub(super) fn new(places: usize) -> Self {
        Self { walk: 0, of: vec![0; places] }
    }
}

/// Connected places above a level, in a big window.
#[derive(Debug, Default)]
pub(super) struct Part {
    pub(super) places: Vec<usize>,
    /// Least and greatest column and row, the last two not included.
    bounds: [usize; 4],
    /// Width and height of the big window.
    size: [usize; 2],
}

/// A part's mask and where its first place lies in the big window.
pub(super) struct Cut {
    pub(super) x0: usize,
    pub(super) y0: usize,
    pub(super) mask: Mask,
}

impl Part {
    /// Places of `support` at or above `level` that hang together with `seed`.
    pub(super) fn around(
        field: &Raster,
        support: &Mask,
        seed: usize,
        level: f32,
        stamps: &mut Stamps,
    ) -> Self {
        let (w, h) = (field.width, field.height);
        if field.data[seed] < level {
            return Self::default();
        }
        stamps.walk += 1;
        stamps.of[seed] = stamps.walk;
        let mut places = vec![seed];
        let mut corners = vec![[(seed % w) as u32, (seed / w) as u32]];
        let mut bounds = [w, h, 0, 0];
        let mut next = 0;
        while next < places.len() {
            let [x, y] = corners[next].map(|v| v as usize);
            bounds =
                [bounds[0].min(x), bounds[1].min(y), bounds[2].max(x + 1), bounds[3].max(y + 1)];
            next += 1;
            let (left, right) = (x.saturating_sub(1), (x + 2).min(w));
            for ny in y.saturating_sub(1)..(y + 2).min(h) {
                let (from, to) = (ny * w + left, ny * w + right);
                let support = &support.data[from..to];
                let values = &field.data[from..to];
                let visited = stamps.of[from..to].iter_mut();
                for (k, ((visited, support), value)) in visited.zip(support).zip(values).enumerate()
                {
                    // Each place is looked at once, whether it is one or not.
                    if *visited != stamps.walk {
                        *visited = stamps.walk;
                        if *support && *value >= level {
                            places.push(from + k);
                            corners.push([(left + k) as u32, ny as u32]);
                        }
                    }
                }
            }
        }
        Self { places, bounds, size: [w, h] }
    }

    /// The part's mask with `room` places around it, as far as the big window goes.
    pub(super) fn cut(&self, room: f64) -> Cut {
        let w = self.size[0];
        let [x0, y0, x1, y1] = self.box_with(room);
        let mut mask = Mask::empty(x1 - x0, y1 - y0);
        for &i in &self.places {
            mask.set(i % w - x0, i / w - y0, true);
        }
        Cut { x0, y0, mask }
    }

    /// The box around the places with `room` around it, as far as the big window goes.
    pub(super) fn box_with(&self, room: f64) -> [usize; 4] {
        let (room, [w, h]) = (room.ceil() as usize, self.size);
        let [x0, y0, x1, y1] = self.bounds;
        let (x0, y0) = (x0.saturating_sub(room), y0.saturating_sub(room));
        [x0, y0, (x1 + room).min(w), (y1 + room).min(h)]
    }

    /// Diagonal of the box around the places.
    pub(super) fn reach(&self) -> f64 {
        let b = self.bounds;
        ((b[2] - b[0]) as f64).hypot((b[3] - b[1]) as f64)
    }

    /// Losses of red, green and blue light as shares of the loss of green, over the part and its
    /// skirt, weighted by the loss of green (least squares through the ground).
    pub(super) fn loss_ratios(&self, soft: &[Raster; 3], grounds: [f64; 3]) -> [f64; 3] {
        let Cut { x0, y0, mask } = self.cut(3.0);
        let skirt = mask.grown(2.0);
        let mut sums = [0.0; 3];
        for y in 0..skirt.height {
            for x in 0..skirt.width {
                if skirt.at(x, y) {
                    let i = (y0 + y) * self.size[0] + x0 + x;
                    let loss = [0, 1, 2].map(|c| f64::from(soft[c].data[i]) - grounds[c]);
                    for c in 0..3 {
                        sums[c] += loss[c] * loss[1];
                    }
                }
            }
        }
        sums.map(|s| s / sums[1].max(1e-9))
    }

    /// Places between two distances from the part, in the big window.
    pub(super) fn ring(&self, [near, far]: [f64; 2]) -> Vec<usize> {
        let Cut { x0, y0, mask } = self.cut(far + 1.0);
        let mut ring = Vec::new();
        mask.each_between(near, far, |x, y| ring.push((y0 + y) * self.size[0] + x0 + x));
        ring
    }

    /// Outer outline of the part on `field`, in the big window's grid.
    pub(super) fn outline(&self, field: &Raster, level: f32) -> Option<Vec<[f64; 2]>> {
        if self.places.is_empty() {
            return None;
        }
        // One place around: the outline lies between the part and its neighbours.
        let Cut { x0, y0, mask } = self.cut(1.0);
        let mut own = field.cropped([x0, y0, x0 + mask.width, y0 + mask.height]);
        for (v, _) in own.data.iter_mut().zip(&mask.data).filter(|(_, inside)| !**inside) {
            // Other bodies' high ground is cut off just below the level.
            *v = v.min(level - 1e-4);
        }
        let line = level_lines(&own, level)
            .into_iter()
            .max_by(|a, b| area_and_centroid(a).0.abs().total_cmp(&area_and_centroid(b).0.abs()))?;
        Some(line.iter().map(|p| [p[0] + x0 as f64, p[1] + y0 as f64]).collect())
    }
}

/// Mean fall of a field across a closed line, from inside to outside, per grid step. Along the
/// normal, so that grain averages out instead of adding up.
pub(super) fn mean_slope(field: &Raster, line: &[[f64; 2]]) -> f64 {
    slope_over(field, line, 1.0)
}

/// The same between places so many grid steps inside and outside the line. Next to the line grain makes it
/// steep, since the line follows the grain; a few steps away it does not.
pub(super) fn slope_over(field: &Raster, line: &[[f64; 2]], reach: f64) -> f64 {
    let n = line.len();
    // The normal is that of a stretch as long as the way across.
    let along = ((1.5 * reach).round() as usize).min(n / 8).max(2);
    let turn = area_and_centroid(line).0.signum();
    let mut sum = 0.0;
    for (k, p) in line.iter().enumerate() {
        let (before, after) = (line[(k + n * along - along) % n], line[(k + along) % n]);
        let (tx, ty) = (after[0] - before[0], after[1] - before[1]);
        let length = tx.hypot(ty).max(1e-9);
        let (nx, ny) = (turn * ty / length, -turn * tx / length);
        let inside = field.between(p[0] - reach * nx, p[1] - reach * ny);
        let outside = field.between(p[0] + reach * nx, p[1] + reach * ny);
        sum += f64::from(inside - outside);
    }
    sum / (2.0 * reach * n.max(1) as f64)
}

/// Standard deviation of a Gaussian edge of a height that falls by so much a step.
pub(super) fn edge_spread(height: f64, slope: f64) -> f64 {
    height / (slope.max(1e-6) * (2.0 * std::f64::consts::PI).sqrt())
}

/// The value below which the share `share` lies; 0 of nothing.
pub(super) fn percentile(values: impl Iterator<Item = f32>, share: f64) -> f32 {
    let mut all: Vec<f32> = values.collect();
    if all.is_empty() {
        return 0.0;
    }
    let k = ((all.len() - 1) as f64 * share).round() as usize;
    *all.select_nth_unstable_by(k, f32::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grain_makes_an_outline_steep_but_not_the_fall_beyond_it() {
        // A cone that falls by 0.02 a step, with grain from a small congruential generator.
        let mut state = 1_u32;
        let mut grain = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1 << 24) - 0.5
        };
        let mut cone = Raster::filled(80, 80, 0.0);
        for (i, v) in cone.data.iter_mut().enumerate() {
            let off = ((i % 80) as f64 - 39.5).hypot((i / 80) as f64 - 39.5);
            *v = (0.8 - 0.02 * off + 0.2 * grain()) as f32;
        }
        let cone = cone.blurred(0.5);
        let line = level_lines(&cone, 0.4).into_iter().max_by_key(Vec::len).unwrap();
        let (next, wide) = (mean_slope(&cone, &line), slope_over(&cone, &line, 4.0));
        assert!(next > 0.028, "{next}");
        assert!((0.014..0.022).contains(&wide), "{wide}");
    }
}
