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

    fn start(&mut self) {
        self.walk += 1;
    }

    fn first_visit(&mut self, place: usize) -> bool {
        std::mem::replace(&mut self.of[place], self.walk) != self.walk
    }
}

/// Connected places above a level, with room for a ring around.
#[derive(Debug)]
pub(super) struct Part {
    pub(super) places: Vec<usize>,
    pub(super) x0: usize,
    pub(super) y0: usize,
    pub(super) mask: Mask,
}

impl Default for Part {
    fn default() -> Self {
        Self { places: Vec::new(), x0: 0, y0: 0, mask: Mask::empty(0, 0) }
    }
}

impl Part {
    /// Places of `support` at or above `level` that hang together with `seed`.
    pub(super) fn around(
        field: &Raster,
        support: &Mask,
        seed: usize,
        level: f32,
        room: f64,
        stamps: &mut Stamps,
    ) -> Self {
        let (w, h) = (field.width, field.height);
        if field.data[seed] < level {
            return Self::default();
        }
        stamps.start();
        stamps.first_visit(seed);
        let mut places = vec![seed];
        let mut next = 0;
        while next < places.len() {
            let (x, y) = (places[next] % w, places[next] / w);
            next += 1;
            for ny in y.saturating_sub(1)..=(y + 1).min(h - 1) {
                for nx in x.saturating_sub(1)..=(x + 1).min(w - 1) {
                    let i = ny * w + nx;
                    if support.data[i] && field.data[i] >= level && stamps.first_visit(i) {
                        places.push(i);
                    }
                }
            }
        }
        let room = room.ceil() as usize + 2;
        let (mut x0, mut y0, mut x1, mut y1) = (w, h, 0, 0);
        for &i in &places {
            (x0, y0, x1, y1) = (x0.min(i % w), y0.min(i / w), x1.max(i % w), y1.max(i / w));
        }
        let (x0, y0) = (x0.saturating_sub(room), y0.saturating_sub(room));
        let mut mask = Mask::empty((x1 + room + 1).min(w) - x0, (y1 + room + 1).min(h) - y0);
        for &i in &places {
            mask.set(i % w - x0, i / w - y0, true);
        }
        Self { places, x0, y0, mask }
    }

    /// Diagonal of the box around the places.
    pub(super) fn reach(&self) -> f64 {
        let b = self.mask.bounds().unwrap_or([0; 4]);
        ((b[2] - b[0]) as f64).hypot((b[3] - b[1]) as f64)
    }

    /// Losses of red, green and blue light as shares of the loss of green, over the part and its
    /// skirt, weighted by the loss of green (least squares through the ground).
    pub(super) fn loss_ratios(
        &self,
        soft: &[Raster; 3],
        grounds: [f64; 3],
        stride: usize,
    ) -> [f64; 3] {
        let skirt = self.mask.grown(2.0);
        let mut sums = [0.0; 3];
        for y in 0..skirt.height {
            for x in 0..skirt.width {
                if skirt.at(x, y) {
                    let i = (self.y0 + y) * stride + self.x0 + x;
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
    pub(super) fn ring(&self, ring_px: [f64; 2], stride: usize) -> Vec<usize> {
        let squared = self.mask.squared_distance_to(true);
        let (near, far) = ((ring_px[0] * ring_px[0]) as f32, (ring_px[1] * ring_px[1]) as f32);
        (0..squared.len())
            .filter(|&i| squared[i] >= near && squared[i] <= far)
            .map(|i| (self.y0 + i / self.mask.width) * stride + self.x0 + i % self.mask.width)
            .collect()
    }

    /// Outer outline of the part on `field`, in the big window's grid.
    pub(super) fn outline(&self, field: &Raster, level: f32) -> Option<Vec<[f64; 2]>> {
        let mut own = Raster::filled(self.mask.width, self.mask.height, 0.0);
        for y in 0..own.height {
            for x in 0..own.width {
                let v = field.at(self.x0 + x, self.y0 + y);
                // Other bodies' high ground is cut off just below the level.
                own.data[y * own.width + x] =
                    if self.mask.at(x, y) { v } else { v.min(level - 1e-4) };
            }
        }
        let line = level_lines(&own, level)
            .into_iter()
            .max_by(|a, b| area_and_centroid(a).0.abs().total_cmp(&area_and_centroid(b).0.abs()))?;
        Some(line.iter().map(|p| [p[0] + self.x0 as f64, p[1] + self.y0 as f64]).collect())
    }
}

/// Mean fall of a field across a closed line, from inside to outside, per grid step. Along the
/// normal, so that grain averages out instead of adding up.
pub(super) fn mean_slope(field: &Raster, line: &[[f64; 2]]) -> f64 {
    let n = line.len();
    let turn = area_and_centroid(line).0.signum();
    let mut sum = 0.0;
    for (k, p) in line.iter().enumerate() {
        let (before, after) = (line[(k + n - 2) % n], line[(k + 2) % n]);
        let (tx, ty) = (after[0] - before[0], after[1] - before[1]);
        let length = tx.hypot(ty).max(1e-9);
        let (nx, ny) = (turn * ty / length, -turn * tx / length);
        let inside = field.between(p[0] - nx, p[1] - ny);
        let outside = field.between(p[0] + nx, p[1] + ny);
        sum += 0.5 * f64::from(inside - outside);
    }
    sum / n.max(1) as f64
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
