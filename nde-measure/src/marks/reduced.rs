//! A picture made smaller by area averages: no red speck may fall between samples.

use image::RgbImage;
use std::ops::Range;

/// The picture at a size not greater than its own: each pixel is the mean of the pixels whose first
/// corners lie in it.
pub(super) fn reduced(rgb: &RgbImage, width: u32, height: u32) -> RgbImage {
    let columns = shares(rgb.width(), width);
    let stride = 3 * rgb.width() as usize;
    let mut small = RgbImage::new(width, height);
    let mut sums = vec![0_u32; stride];
    let pixels = small.chunks_exact_mut(3 * width.max(1) as usize);
    for (out, rows) in pixels.zip(shares(rgb.height(), height)) {
        sums.fill(0);
        let high = rows.len();
        for line in rgb.as_raw()[rows.start * stride..rows.end * stride].chunks_exact(stride) {
            sums.iter_mut().zip(line).for_each(|(sum, byte)| *sum += u32::from(*byte));
        }
        let mut mean = Mean::of(1);
        for (pixel, across) in out.chunks_exact_mut(3).zip(&columns) {
            let count = (high * across.len()) as u64;
            if count != mean.count {
                mean = Mean::of(count);
            }
            let mut sum = [0_u64; 3];
            for part in sums[3 * across.start..3 * across.end].chunks_exact(3) {
                sum = [0, 1, 2].map(|c| sum[c] + u64::from(part[c]));
            }
            pixel.copy_from_slice(&sum.map(|sum| mean.of_sum(sum)));
        }
    }
    small
}

/// Which of `full` pixels each of `parts` pixels stands for.
fn shares(full: u32, parts: u32) -> Vec<Range<usize>> {
    #[expect(clippy::cast_precision_loss, reason = "sides are far below 2^24")]
    let step = full as f32 / parts.max(1) as f32;
    let full = full as usize;
    let share = |k: u32| {
        #[expect(clippy::cast_precision_loss, reason = "sides are far below 2^24")]
        let from = k as f32 * step;
        let first = (from.ceil() as usize).min(full.saturating_sub(1));
        first..((from + step).ceil() as usize).clamp((first + 1).min(full), full)
    };
    (0..parts).map(share).collect()
}

/// Rounded means of so many bytes.
struct Mean {
    count: u64,
    /// Whole-number division by the count is a product with this, its last 42 bits cut off: exact for
    /// counts below 2^17.
    over: u64,
}

impl Mean {
    fn of(count: u64) -> Self {
        Self { count, over: (1_u64 << 42).div_ceil(count.max(1)) }
    }

    fn of_sum(&self, sum: u64) -> u8 {
        let sum = sum + self.count / 2;
        let mean = if self.count < 1 << 17 { (sum * self.over) >> 42 } else { sum / self.count };
        mean as u8
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_image_crate_makes_the_same_thumbnail() {
        for (width, height, small) in
            [(97, 61, (40, 25)), (64, 48, (64, 47)), (301, 7, (100, 2)), (50, 50, (1, 1))]
        {
            let byte = |x: u32, y: u32, c: u32| ((x * x * 37 + y * 101 + c * 59) % 256) as u8;
            let picture = RgbImage::from_fn(width, height, |x, y| {
                image::Rgb([byte(x, y, 0), byte(x, y, 1), byte(x, y, 2)])
            });
            let other = image::imageops::thumbnail(&picture, small.0, small.1);
            assert!(reduced(&picture, small.0, small.1) == other, "{width} x {height}");
        }
    }
}
