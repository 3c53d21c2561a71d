//! A grid of numbers.

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
        let mut data = Vec::with_capacity((x1 - x0) * (y1 - y0));
        (y0..y1).for_each(|y| data.extend_from_slice(&self.row(y)[x0..x1]));
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
        Self::blurred_of(self.width, self.height, sigma, |y, out| out.copy_from_slice(self.row(y)))
    }

    /// Gaussian blur of rows that are made as they are needed, each once, from the top.
    pub(crate) fn blurred_of(
        width: usize,
        height: usize,
        sigma: f64,
        mut row_of: impl FnMut(usize, &mut [f32]),
    ) -> Self {
        let kernel = if sigma > 0.0 { gaussian(sigma) } else { vec![1.0] };
        let (taps, reach) = (kernel.len(), kernel.len() / 2);
        let mut padded = vec![0.0_f32; width + 2 * reach];
        // The last rows, blurred across; row y stands at y modulo their number.
        let mut across = Self::filled(width, taps.min(height.max(1)), 0.0);
        let kept = across.height;
        let mut out = Self { width, height, data: Vec::with_capacity(width * height) };
        let mut made = 0;
        for y in 0..height {
            while made <= (y + reach).min(height - 1) {
                row_of(made, &mut padded[reach..reach + width]);
                let (first, last) = (padded[reach], padded[reach + width - 1]);
                padded[..reach].fill(first);
                padded[reach + width..].fill(last);
                let slot = made % kept;
                let to = &mut across.data[slot * width..(slot + 1) * width];
                weigh(to, &kernel, |k, x| &padded[k + x..]);
                made += 1;
            }
            let sources: Vec<&[f32]> = (0..taps)
                .map(|k| across.row((y + k).saturating_sub(reach).min(height - 1) % kept))
                .collect();
            let start = out.data.len();
            out.data.resize(start + width, 0.0);
            weigh(&mut out.data[start..], &kernel, |k, x| &sources[k][x..]);
        }
        out
    }

    /// Mean within a square window, cut at the rim.
    pub(crate) fn boxed(&self, reach: usize) -> Self {
        let (w, h) = (self.width, self.height);
        let mut across = Self::filled(w, h.next_multiple_of(4), 0.0);
        // Four rows side by side: a sum waits for the one before it, four do not wait for each other.
        let mut sums = vec![[0.0_f64; 4]; w + 1];
        let share_of = |at: usize, length: usize| {
            let (a, b) = (at.saturating_sub(reach), (at + reach + 1).min(length));
            (a, b, 1.0 / (b - a) as f64)
        };
        let columns: Vec<(usize, usize, f64)> = (0..w).map(|x| share_of(x, w)).collect();
        for (group, out) in across.data.chunks_exact_mut(4 * w.max(1)).enumerate() {
            let [p, q, r, s] = [0, 1, 2, 3].map(|k| self.row((4 * group + k).min(h - 1)));
            let mut sum = [0.0_f64; 4];
            for (x, upto) in sums[1..].iter_mut().enumerate() {
                let here = [p[x], q[x], r[x], s[x]];
                sum.iter_mut().zip(here).for_each(|(sum, v)| *sum += f64::from(v));
                *upto = sum;
            }
            let (upper, lower) = out.split_at_mut(2 * w);
            let ((first, second), (third, fourth)) = (upper.split_at_mut(w), lower.split_at_mut(w));
            for (x, &(a, b, share)) in columns.iter().enumerate() {
                let (from, to) = (sums[a], sums[b]);
                first[x] = ((to[0] - from[0]) * share) as f32;
                second[x] = ((to[1] - from[1]) * share) as f32;
                third[x] = ((to[2] - from[2]) * share) as f32;
                fourth[x] = ((to[3] - from[3]) * share) as f32;
            }
        }
        let mut down = Self::filled(w, h, 0.0);
        let mut sum = vec![0.0_f64; w];
        let (mut from, mut to) = (0, 0);
        for y in 0..h {
            let (a, b, share) = share_of(y, h);
            while to < b {
                sum.iter_mut().zip(across.row(to)).for_each(|(s, v)| *s += f64::from(*v));
                to += 1;
            }
            while from < a {
                sum.iter_mut().zip(across.row(from)).for_each(|(s, v)| *s -= f64::from(*v));
                from += 1;
            }
            for (o, s) in down.data[y * w..(y + 1) * w].iter_mut().zip(&sum) {
                *o = (s * share) as f32;
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

/// Weighted sums: `out[x]` is the sum over `k` of the k-th weight times the first of `from(k, x)`.
fn weigh<'a>(out: &mut [f32], weights: &[f32], from: impl Fn(usize, usize) -> &'a [f32]) {
    // In small blocks, whose sums stay in registers.
    const BLOCK: usize = 16;
    let mut x = 0;
    let (blocks, rest) = out.as_chunks_mut::<BLOCK>();
    for block in blocks {
        let mut sums = [0.0_f32; BLOCK];
        for (k, &weight) in weights.iter().enumerate() {
            if let Some(values) = from(k, x).first_chunk::<BLOCK>() {
                sums.iter_mut().zip(values).for_each(|(s, v)| *s += weight * v);
            }
        }
        *block = sums;
        x += BLOCK;
    }
    rest.fill(0.0);
    for (k, &weight) in weights.iter().enumerate() {
        rest.iter_mut().zip(from(k, x)).for_each(|(s, v)| *s += weight * v);
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

/// Median; 0 of nothing.
pub(crate) fn median(mut values: Vec<f32>) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f32::total_cmp).1
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
}
