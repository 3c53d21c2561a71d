//! From light on the sensor to the bytes of a JPEG.
//!
//! blur -> white balance and exposure -> noise -> colour smoothing -> 8 bit sRGB with saturation,
//! contrast curve and sharpening -> JPEG with halved colour resolution. None of it can be undone exactly.

use super::dice::Dice;
use image::RgbImage;
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use rayon::prelude::*;

/// Linear light of the three channels, row by row.
#[derive(Clone, Debug)]
pub struct LightField {
    /// Pixels along x.
    pub width: usize,
    /// Pixels along y.
    pub height: usize,
    /// One plane a channel.
    pub planes: [Vec<f32>; 3],
}

/// How the camera turns light into a picture.
#[derive(Clone, Debug)]
pub struct Sensor {
    /// Standard deviation of lens blur, pixels.
    pub blur_px: f64,
    /// Gain of red and blue against green.
    pub balance: [f64; 2],
    /// Gain of all channels.
    pub exposure: f64,
    /// Electrons at full white: more is less noise.
    pub electrons: f64,
    /// Noise of reading out, share of full white.
    pub read_noise: f64,
    /// Saturation: 1 leaves colours alone.
    pub saturation: f64,
    /// Strength of the contrast curve, 0 to 1.
    pub curve: f64,
    /// Strength of sharpening, 0 to 1.
    pub sharpen: f64,
    /// JPEG quality, 1 to 100.
    pub quality: u8,
}

impl Sensor {
    /// A camera somebody might hold.
    #[must_use]
    pub fn thrown(dice: &mut Dice) -> Self {
        Self {
            blur_px: dice.between(0.6, 2.0),
            balance: [dice.between(0.78, 1.22), dice.between(0.78, 1.22)],
            exposure: dice.between(0.55, 1.02),
            electrons: dice.log_between(2_000.0, 25_000.0),
            read_noise: dice.between(0.001, 0.003),
            saturation: dice.between(0.9, 1.5),
            curve: dice.between(0.0, 0.6),
            sharpen: if dice.chance(0.5) { dice.between(0.1, 0.8) } else { 0.0 },
            quality: 75 + dice.below(21) as u8,
        }
    }

    /// Blur of an edge in green light, pixels: lens and the pixel's own area.
    #[must_use]
    pub fn edge_blur_px(&self) -> f64 {
        // A square pixel spreads a place by sqrt(1/12) of its side.
        self.blur_px.hypot(1.0 / 12.0_f64.sqrt())
    }

    /// The 8 bit picture.
    ///
    /// # Panics
    /// Never: the picture has as many bytes as its size asks for.
    #[must_use]
    pub fn developed(&self, mut light: LightField, dice: &Dice) -> RgbImage {
        let (w, h) = (light.width, light.height);
        let weights = bell(self.blur_px);
        let gains = [self.balance[0], 1.0, self.balance[1]].map(|g| g * self.exposure);
        for (channel, plane) in light.planes.iter_mut().enumerate() {
            *plane = smoothed(plane, w, &weights);
            let noise = dice.branch(channel as u64 + 1);
            plane.par_chunks_mut(w).enumerate().for_each(|(row, line)| {
                let mut dice = noise.branch(row as u64 + 1);
                for value in line {
                    let clean = f64::from(*value) * gains[channel];
                    let sd = (clean.max(0.0) / self.electrons + self.read_noise.powi(2)).sqrt();
                    *value = (clean + sd * dice.normal()) as f32;
                }
            });
            // A mosaic sensor sees red and blue at every other pixel and fills in between.
            if channel != 1 {
                *plane = smoothed(plane, w, &[0.25, 0.5, 0.25]);
            }
        }
        let toned: Vec<[f32; 3]> = (0..w * h)
            .into_par_iter()
            .map(|i| self.toned([0, 1, 2].map(|k| f64::from(light.planes[k][i]))))
            .collect();
        drop(light);
        let luma: Vec<f32> =
            toned.iter().map(|c| 0.299 * c[0] + 0.587 * c[1] + 0.114 * c[2]).collect();
        let soft = if self.sharpen > 0.0 { smoothed(&luma, w, &bell(1.0)) } else { luma.clone() };
        let bytes = toned
            .iter()
            .zip(luma.iter().zip(&soft))
            .flat_map(|(colour, (sharp, soft))| {
                let lift = self.sharpen as f32 * (sharp - soft);
                colour.map(|v| ((v + lift).clamp(0.0, 1.0) * 255.0).round() as u8)
            })
            .collect();
        RgbImage::from_raw(w as u32, h as u32, bytes).expect("three bytes a pixel")
    }

    fn toned(&self, linear: [f64; 3]) -> [f32; 3] {
        let coded = linear.map(|v| {
            // sRGB transfer function, IEC 61966-2-1 (from memory).
            let v = v.clamp(0.0, 1.0);
            if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }
        });
        let luma = 0.299 * coded[0] + 0.587 * coded[1] + 0.114 * coded[2];
        coded.map(|v| {
            let v = (luma + (v - luma) * self.saturation).clamp(0.0, 1.0);
            let s = v * v * (3.0 - 2.0 * v);
            (v + self.curve * (s - v)) as f32
        })
    }

    /// The picture as JPEG bytes with colour at half resolution.
    ///
    /// # Panics
    /// When the picture is larger than JPEG allows (65 535 pixels a side).
    #[must_use]
    pub fn jpeg(&self, picture: &RgbImage) -> Vec<u8> {
        jpeg(picture, self.quality)
    }
}

/// A picture as JPEG bytes with colour at half resolution.
///
/// # Panics
/// When the picture is larger than JPEG allows (65 535 pixels a side).
#[must_use]
pub fn jpeg(picture: &RgbImage, quality: u8) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, quality);
    encoder.set_sampling_factor(SamplingFactor::F_2_2);
    let side = |n: u32| u16::try_from(n).expect("at most 65 535 pixels a side");
    encoder
        .encode(picture.as_raw(), side(picture.width()), side(picture.height()), ColorType::Rgb)
        .expect("writing to memory does not fail");
    bytes
}

/// Weights of a Gaussian of this standard deviation in pixels, sum 1.
fn bell(sigma: f64) -> Vec<f32> {
    let reach = (4.0 * sigma).ceil() as i32;
    let raw: Vec<f64> =
        (-reach..=reach).map(|k| (-0.5 * (f64::from(k) / sigma).powi(2)).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|v| (v / sum) as f32).collect()
}

/// Both directions, edge pixels repeated.
fn smoothed(plane: &[f32], width: usize, weights: &[f32]) -> Vec<f32> {
    let (height, reach) = (plane.len() / width, weights.len() / 2);
    let mut rows = vec![0.0_f32; plane.len()];
    rows.par_chunks_mut(width).enumerate().for_each(|(y, out)| {
        let line = &plane[y * width..(y + 1) * width];
        let mut padded = vec![line[0]; reach];
        padded.extend_from_slice(line);
        padded.extend(std::iter::repeat_n(line[width - 1], reach));
        for (k, weight) in weights.iter().enumerate() {
            for (o, v) in out.iter_mut().zip(&padded[k..]) {
                *o += weight * v;
            }
        }
    });
    let mut columns = vec![0.0_f32; plane.len()];
    columns.par_chunks_mut(width).enumerate().for_each(|(y, out)| {
        for (k, weight) in weights.iter().enumerate() {
            let from = (y + k).saturating_sub(reach).min(height - 1);
            for (o, v) in out.iter_mut().zip(&rows[from * width..(from + 1) * width]) {
                *o += weight * v;
            }
        }
    });
    columns
}
