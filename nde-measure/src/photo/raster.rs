//! A grid of numbers, and a grid of yes and no.

/// A grid of numbers, row by row.
#[derive(Clone, Debug)]
pub(crate) struct Raster {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) data: Vec<f32>,
}

impl Raster {
    pub(crate) fn filled(width: usize, height: usize, value: f32) -> Self {
        Self { width, height, data: vec![value; width * height] }
    }

    pub(crate) fn at(&self, x: usize, y: usize) -> f32 {
        self.data[y * self.width + x]
    }

    pub(crate) fn row(&self, y: usize) -> &[f32] {
        &self.data[y * self.width..(y + 1) * self.width]
    }

    /// The places `x0..x1` by `y0..y1`.
    pub(crate) fn cropped(&self, [x0, y0, x1, y1]: [usize; 4]) -> Self {
        let data = (y0..y1).flat_map(|y| self.row(y)[x0..x1].iter().copied()).collect();
        Self { width: x1 - x0, height: y1 - y0, data }
    }

    /// Value between grid points; grid points stand at whole numbers, places outside are cut to the rim.
    pub(crate) fn between(&self, x: f64, y: f64) -> f32 {
        let (x0, fx) = split(x, self.width);
        let (y0, fy) = split(y, self.height);
        let x1 = (x0 + 1).min(self.width - 1);
        let y1 = (y0 + 1).min(self.height - 1);
        let top = self.at(x0, y0) * (1.0 - fx) + self.at(x1, y0) * fx;
        let bottom = self.at(x0, y1) * (1.0 - fx) + self.at(x1, y1) * fx;
        top * (1.0 - fy) + bottom * fy
    }

    /// Gaussian blur with a standard deviation in grid steps; the rim is repeated outwards.
    pub(crate) fn blurred(&self, sigma: f64) -> Self {
        if sigma <= 0.0 {
            return self.clone();
        }
        let kernel = gaussian(sigma);
        let reach = kernel.len() / 2;
        let mut across = Self::filled(self.width, self.height, 0.0);
        let mut padded = vec![0.0_f32; self.width + 2 * reach];
        for y in 0..self.height {
            let row = self.row(y);
            padded[reach..reach + self.width].copy_from_slice(row);
            padded[..reach].fill(row[0]);
            padded[reach + self.width..].fill(row[self.width - 1]);
            let out = &mut across.data[y * self.width..(y + 1) * self.width];
            for (k, &weight) in kernel.iter().enumerate() {
                for (o, &v) in out.iter_mut().zip(&padded[k..k + self.width]) {
                    *o += weight * v;
                }
            }
        }
        let mut down = Self::filled(self.width, self.height, 0.0);
        for y in 0..self.height {
            let out = &mut down.data[y * self.width..(y + 1) * self.width];
            for (k, &weight) in kernel.iter().enumerate() {
                let source = (y + k).saturating_sub(reach).min(self.height - 1);
                for (o, &v) in out.iter_mut().zip(across.row(source)) {
                    *o += weight * v;
                }
            }
        }
        down
    }

    /// Mean within a square window, cut at the rim.
    pub(crate) fn boxed(&self, reach: usize) -> Self {
        let (w, h) = (self.width, self.height);
        let mut across = Self::filled(w, h, 0.0);
        let mut sums = vec![0.0_f64; w.max(h) + 1];
        for y in 0..h {
            for (x, &v) in self.row(y).iter().enumerate() {
                sums[x + 1] = sums[x] + f64::from(v);
            }
            for x in 0..w {
                let (a, b) = (x.saturating_sub(reach), (x + reach + 1).min(w));
                across.data[y * w + x] = ((sums[b] - sums[a]) / (b - a) as f64) as f32;
            }
        }
        let mut down = Self::filled(w, h, 0.0);
        for x in 0..w {
            for y in 0..h {
                sums[y + 1] = sums[y] + f64::from(across.at(x, y));
            }
            for y in 0..h {
                let (a, b) = (y.saturating_sub(reach), (y + reach + 1).min(h));
                down.data[y * w + x] = ((sums[b] - sums[a]) / (b - a) as f64) as f32;
            }
        }
        down
    }

    /// Nearly Gaussian blur by three box means: cost does not grow with `sigma`. For wide blurs.
    pub(crate) fn widely_blurred(&self, sigma: f64) -> Self {
        // Three boxes of width w have the variance 3 (w^2 - 1) / 12.
        let reach = (0.5 * ((4.0 * sigma * sigma + 1.0).sqrt() - 1.0)).round() as usize;
        self.boxed(reach).boxed(reach).boxed(reach)
    }
}

fn split(at: f64, length: usize) -> (usize, f32) {
    let last = (length - 1) as f64;
    let at = if at.is_finite() { at.clamp(0.0, last) } else { 0.0 };
    let whole = at.floor();
    (whole as usize, (at - whole) as f32)
}

/// Weights of a Gaussian out to three standard deviations, summing to one.
fn gaussian(sigma: f64) -> Vec<f32> {
    let reach = (3.0 * sigma).ceil().max(1.0) as i32;
    let weights: Vec<f64> =
        (-reach..=reach).map(|i| (-0.5 * (f64::from(i) / sigma).powi(2)).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|w| (w / sum) as f32).collect()
}

/// A grid of yes and no, row by row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Mask {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) data: Vec<bool>,
}

impl Mask {
    pub(crate) fn empty(width: usize, height: usize) -> Self {
        Self { width, height, data: vec![false; width * height] }
    }

    pub(crate) fn at(&self, x: usize, y: usize) -> bool {
        self.data[y * self.width + x]
    }

    pub(crate) fn set(&mut self, x: usize, y: usize, value: bool) {
        self.data[y * self.width + x] = value;
    }

    pub(crate) fn count(&self) -> usize {
        self.data.iter().filter(|&&yes| yes).count()
    }

    /// The places `x0..x1` by `y0..y1`.
    pub(crate) fn cropped(&self, [x0, y0, x1, y1]: [usize; 4]) -> Self {
        let row = |y: usize| &self.data[y * self.width + x0..y * self.width + x1];
        Self {
            width: x1 - x0,
            height: y1 - y0,
            data: (y0..y1).flat_map(|y| row(y).iter().copied()).collect(),
        }
    }

    /// Least and greatest x and y of yes, the last two not included; `None` of nothing.
    pub(crate) fn bounds(&self) -> Option<[usize; 4]> {
        let mut b = [usize::MAX, usize::MAX, 0, 0];
        for (y, row) in self.data.chunks_exact(self.width.max(1)).enumerate() {
            if let (Some(first), Some(last)) =
                (row.iter().position(|v| *v), row.iter().rposition(|v| *v))
            {
                b = [b[0].min(first), b[1].min(y), b[2].max(last + 1), y + 1];
            }
        }
        (b[2] > 0).then_some(b)
    }

    /// Yes where any place within `radius` grid steps (as the crow flies) is yes.
    pub(crate) fn grown(&self, radius: f64) -> Self {
        self.with_distance(radius, true)
    }

    /// Yes where every place within `radius` grid steps is yes; beyond the rim counts as yes.
    pub(crate) fn shrunk(&self, radius: f64) -> Self {
        self.with_distance(radius, false)
    }

    fn with_distance(&self, radius: f64, grow: bool) -> Self {
        let squared = self.squared_distance_to(grow);
        let limit = (radius * radius) as f32 + 1e-3;
        let data = squared.iter().map(|&d| if grow { d <= limit } else { d > limit }).collect();
        Self { width: self.width, height: self.height, data }
    }

    /// Squared distance, grid steps, of every place to the nearest place whose value is `value`.
    /// Two passes of lower envelopes of parabolas (Felzenszwalb and Huttenlocher, "Distance
    /// transforms of sampled functions", Theory of Computing 8, 2012; from memory).
    pub(crate) fn squared_distance_to(&self, value: bool) -> Vec<f32> {
        const FAR: f32 = 1e12;
        let mut field: Vec<f32> =
            self.data.iter().map(|&v| if v == value { 0.0 } else { FAR }).collect();
        let longest = self.width.max(self.height);
        let mut line = vec![0.0_f32; longest];
        let mut scratch = Envelope::new(longest);
        for x in 0..self.width {
            for y in 0..self.height {
                line[y] = field[y * self.width + x];
            }
            scratch.lower(&line[..self.height]);
            for y in 0..self.height {
                field[y * self.width + x] = scratch.out[y];
            }
        }
        for row in field.chunks_exact_mut(self.width) {
            scratch.lower(row);
            row.copy_from_slice(&scratch.out[..row.len()]);
        }
        field
    }
}

/// Working space for one line of the distance transform.
struct Envelope {
    apex: Vec<usize>,
    from: Vec<f32>,
    out: Vec<f32>,
}

impl Envelope {
    fn new(length: usize) -> Self {
        Self { apex: vec![0; length], from: vec![0.0; length + 1], out: vec![0.0; length] }
    }

    fn lower(&mut self, f: &[f32]) {
        let n = f.len();
        let mut k = 0_usize;
        self.apex[0] = 0;
        self.from[0] = f32::NEG_INFINITY;
        self.from[1] = f32::INFINITY;
        for q in 1..n {
            loop {
                let v = self.apex[k];
                let (qf, vf) = (q as f32, v as f32);
                let s = ((f[q] + qf * qf) - (f[v] + vf * vf)) / (2.0 * qf - 2.0 * vf);
                // The first parabola reaches from minus infinity, so this ends there at the latest.
                if s <= self.from[k] {
                    k -= 1;
                    continue;
                }
                k += 1;
                self.apex[k] = q;
                self.from[k] = s;
                self.from[k + 1] = f32::INFINITY;
                break;
            }
        }
        k = 0;
        for q in 0..n {
            while self.from[k + 1] < q as f32 {
                k += 1;
            }
            let v = self.apex[k];
            let d = q as f32 - v as f32;
            self.out[q] = d * d + f[v];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blur_keeps_the_mean_of_a_spot_and_a_flat_field() {
        let mut spot = Raster::filled(41, 41, 0.0);
        spot.data[20 * 41 + 20] = 1.0;
        let sum: f32 = spot.blurred(2.0).data.iter().sum();
        assert!((sum - 1.0).abs() < 1e-4);
        assert!(Raster::filled(9, 7, 3.0).blurred(1.3).data.iter().all(|v| (v - 3.0).abs() < 1e-5));
    }

    #[test]
    fn distances_agree_with_a_search_over_all_places() {
        let mut mask = Mask::empty(17, 11);
        for (x, y) in [(2, 3), (12, 9), (16, 0)] {
            mask.set(x, y, true);
        }
        let fast = mask.squared_distance_to(true);
        for y in 0..11_i32 {
            for x in 0..17_i32 {
                let slow = [(2, 3), (12, 9), (16, 0)]
                    .iter()
                    .map(|(a, b)| (a - x).pow(2) + (b - y).pow(2))
                    .min();
                assert_eq!(Some(fast[(y * 17 + x) as usize] as i32), slow);
            }
        }
    }

    #[test]
    fn growing_then_shrinking_a_disc_gives_the_disc() {
        let mut disc = Mask::empty(40, 40);
        for y in 0..40_i32 {
            for x in 0..40_i32 {
                disc.set(x as usize, y as usize, (x - 20).pow(2) + (y - 20).pow(2) <= 64);
            }
        }
        assert_eq!(disc.grown(4.0).shrunk(4.0).count(), disc.count());
    }
}
