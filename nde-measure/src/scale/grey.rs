//! Grey pictures for finding things: reduced, with places in photo pixels kept straight.
//!
//! Places are pixels with centres at .5. Reduction averages whole blocks, so a place in the
//! reduced picture times the block side is the same place in the photo, without any shift.

use crate::{Photo, PointPx};

/// An 8 bit grey picture that stands for a photo.
#[derive(Clone, Debug)]
pub(crate) struct Grey {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) levels: Vec<u8>,
    /// Side of the block of photo pixels that one grey pixel stands for.
    pub(crate) block: usize,
}

impl Grey {
    /// The photo's green channel (the one that phone cameras and JPEG keep sharpest), averaged over
    /// blocks; rows and columns left over at the far edges are dropped.
    pub(crate) fn reduced(photo: &Photo, block: usize) -> Self {
        let block = block.min(usize::from(u16::MAX / 255));
        let rgb = photo.rgb();
        let full_width = rgb.width() as usize;
        let (width, height) = (full_width / block, rgb.height() as usize / block);
        let bytes: &[u8] = rgb.as_raw();
        let mut levels = vec![0; width * height];
        if block == 1 {
            for (level, pixel) in levels.iter_mut().zip(bytes.chunks_exact(3)) {
                *level = pixel[1];
            }
            return Self { width, height, levels, block };
        }
        // Whole lines are added up first, in as small numbers as hold them: one sweep over memory.
        let mut sums = vec![0_u16; full_width * 3];
        #[expect(clippy::cast_possible_truncation, reason = "photos are below 2^32 pixels wide")]
        let count = (block * block) as u32;
        // Sums stay below 2^25 and counts below 2^17, so that a product with this, its last 42 bits cut
        // off, is the whole-number quotient.
        let over_count = (1_u64 << 42).div_ceil(u64::from(count));
        for (y, row) in levels.chunks_exact_mut(width.max(1)).enumerate() {
            sums.fill(0);
            for line in bytes[y * block * full_width * 3..].chunks_exact(full_width * 3).take(block)
            {
                for (sum, byte) in sums.iter_mut().zip(line) {
                    *sum += u16::from(*byte);
                }
            }
            for (level, run) in row.iter_mut().zip(sums.chunks_exact(3 * block)) {
                let sum: u32 = run.iter().skip(1).step_by(3).map(|s| u32::from(*s)).sum();
                #[expect(clippy::cast_possible_truncation, reason = "a mean of bytes is a byte")]
                let mean = ((u64::from(sum + count / 2) * over_count) >> 42) as u8;
                *level = mean;
            }
        }
        Self { width, height, levels, block }
    }

    /// The level at a place of this picture, between pixel centres; none outside it.
    pub(crate) fn at(&self, place: [f64; 2]) -> Option<f64> {
        bilinear(place, self.width, self.height, |x, y| f64::from(self.levels[y * self.width + x]))
    }
}

/// The photo's green at a place, between pixel centres; none outside the photo.
pub(crate) fn green_at(photo: &Photo, place: PointPx) -> Option<f64> {
    let rgb = photo.rgb();
    let (width, height) = (rgb.width() as usize, rgb.height() as usize);
    let bytes: &[u8] = rgb.as_raw();
    bilinear(place, width, height, |x, y| f64::from(bytes[(y * width + x) * 3 + 1]))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the place was checked to lie inside the picture"
)]
fn bilinear(
    [x, y]: [f64; 2],
    width: usize,
    height: usize,
    level: impl Fn(usize, usize) -> f64,
) -> Option<f64> {
    let (x, y) = (x - 0.5, y - 0.5);
    let inside = |v: f64, n: usize| v >= 0.0 && v <= n as f64 - 1.0;
    if !(inside(x, width) && inside(y, height)) {
        return None;
    }
    // By way of whole numbers of 32 bits, which are turned to and fro much faster.
    let (left, top) = (x as i32, y as i32);
    let (fx, fy) = (x - f64::from(left), y - f64::from(top));
    let (left, top) = (left as usize, top as usize);
    let (right, below) = ((left + 1).min(width - 1), (top + 1).min(height - 1));
    let upper = level(left, top) * (1.0 - fx) + level(right, top) * fx;
    let lower = level(left, below) * (1.0 - fx) + level(right, below) * fx;
    Some(upper * (1.0 - fy) + lower * fy)
}

/// Linear light of an 8 bit level, 0 to 1. Source: IEC 61966-2-1 (sRGB), the usual two-part curve
/// (from memory).
pub(crate) fn linear(level: f64) -> f64 {
    let v = level / 255.0;
    if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp(width: u32, height: u32) -> Photo {
        Photo::from_rgb(image::RgbImage::from_fn(width, height, |x, _| {
            image::Rgb([0, u8::try_from(x * 10).unwrap(), 0])
        }))
    }

    #[test]
    fn a_place_times_the_block_is_the_same_place() {
        let photo = ramp(24, 8);
        let small = Grey::reduced(&photo, 4);
        assert_eq!((small.width, small.height), (6, 2));
        let there = small.at([2.0, 1.0]).unwrap();
        let here = green_at(&photo, [8.0, 4.0]).unwrap();
        assert!((there - here).abs() < 1e-9, "{there} {here}");
    }

    #[test]
    fn levels_are_rounded_means_of_their_blocks() {
        for block in [2_usize, 3, 7, 40] {
            let side = u32::try_from(6 * block).unwrap();
            let level = |x: u32, y: u32| u8::try_from((x * x * 31 + y * 97) % 256).unwrap();
            let picture =
                image::RgbImage::from_fn(side, side, |x, y| image::Rgb([9, level(x, y), 9]));
            let small = Grey::reduced(&Photo::from_rgb(picture.clone()), block);
            for (k, got) in small.levels.iter().enumerate() {
                let first = |k: usize| u32::try_from(k * block).unwrap();
                let (x0, y0, n) = (first(k % 6), first(k / 6), u32::try_from(block).unwrap());
                let places = (y0..y0 + n).flat_map(|y| (x0..x0 + n).map(move |x| (x, y)));
                let sum: u32 = places.map(|(x, y)| u32::from(picture.get_pixel(x, y)[1])).sum();
                assert_eq!(u32::from(*got), (sum + n * n / 2) / (n * n));
            }
        }
    }

    #[test]
    fn outside_is_none() {
        let photo = ramp(24, 8);
        assert_eq!(green_at(&photo, [0.2, 4.0]), None);
        assert_eq!(green_at(&photo, [f64::NAN, 4.0]), None);
        assert!(green_at(&photo, [23.5, 7.5]).is_some());
        let nothing = Grey::reduced(&photo, 100);
        assert_eq!(nothing.at([0.5, 0.5]), None);
    }
}
