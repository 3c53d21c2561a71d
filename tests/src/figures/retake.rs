//! Painted photos as another camera, or another light, might have made them.
//!
//! A measurer that reads the painter's own camera well may read no other: colour, tone and sharpness are where
//! telephones differ most. Each change is mild; a person would still take the photo for a good one. Strengths chosen.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "grey levels are clamped before they are cut"
)]

use super::spoil::{changed, noisy};
use crate::paint::sensor::jpeg;
use image::{Rgb, RgbImage, imageops};

/// What is different.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Retake {
    /// Half the light.
    Dim,
    /// Warm light, of which the camera corrected a part.
    Warm,
    /// The light of an overcast sky.
    Cold,
    /// Light of tubes.
    Green,
    /// Strong colours.
    Vivid,
    /// Pale colours.
    Pale,
    /// A steeper tone curve.
    Steep,
    /// A flatter one.
    Flat,
    /// Noise of 7 grey levels.
    Noisy,
    /// Blur of 1.6 px more.
    Soft,
    /// Sharpened.
    Sharp,
    /// Light that falls off to one side.
    Sloped,
    /// A shadow over one half.
    Shaded,
    /// A coarser JPEG.
    Coarse,
}

impl Retake {
    /// Every kind.
    pub const ALL: [Self; 14] = [
        Self::Dim,
        Self::Warm,
        Self::Cold,
        Self::Green,
        Self::Vivid,
        Self::Pale,
        Self::Steep,
        Self::Flat,
        Self::Noisy,
        Self::Soft,
        Self::Sharp,
        Self::Sloped,
        Self::Shaded,
        Self::Coarse,
    ];

    /// Each scene has its kind.
    #[must_use]
    pub const fn of(seed: u64) -> Self {
        Self::ALL[(seed % Self::ALL.len() as u64) as usize]
    }

    /// For tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dim => "half the light",
            Self::Warm => "warm light",
            Self::Cold => "cold light",
            Self::Green => "green light",
            Self::Vivid => "strong colours",
            Self::Pale => "pale colours",
            Self::Steep => "steep tone",
            Self::Flat => "flat tone",
            Self::Noisy => "noise",
            Self::Soft => "blur",
            Self::Sharp => "sharpened",
            Self::Sloped => "sloping light",
            Self::Shaded => "shadow",
            Self::Coarse => "coarse JPEG",
        }
    }

    /// The photo taken anew, as JPEG bytes.
    ///
    /// # Errors
    /// When the bytes are no photo.
    pub fn photo(self, bytes: &[u8]) -> image::ImageResult<Vec<u8>> {
        let picture = image::load_from_memory(bytes)?.to_rgb8();
        Ok(jpeg(&self.done_to(&picture), if self == Self::Coarse { 60 } else { 95 }))
    }

    fn done_to(self, picture: &RgbImage) -> RgbImage {
        let [w, h] = [picture.width(), picture.height()].map(f64::from);
        let gains = |red: f64, green: f64, blue: f64| {
            changed(picture, |_, _, c| [c[0] * red, c[1] * green, c[2] * blue])
        };
        match self {
            Self::Dim => gains(0.5, 0.5, 0.5),
            Self::Warm => gains(1.05, 0.9, 0.62),
            Self::Cold => gains(0.78, 0.92, 1.05),
            Self::Green => gains(0.85, 1.03, 0.85),
            Self::Vivid => levels(picture, |c| around_grey(c, 1.35)),
            Self::Pale => levels(picture, |c| around_grey(c, 0.7)),
            Self::Steep => levels(picture, |c| c.map(|v| v.powf(1.35))),
            Self::Flat => levels(picture, |c| c.map(|v| v.powf(0.75))),
            Self::Noisy => noisy(picture, 7.0),
            Self::Soft => imageops::blur(picture, 1.6),
            Self::Sharp => sharpened(picture),
            Self::Sloped => {
                changed(picture, |x, _, c| c.map(|v| v * (0.45 + 0.65 * f64::from(x) / w)))
            }
            Self::Shaded => changed(picture, |x, y, c| {
                let into = 0.8 * f64::from(x) + 0.6 * f64::from(y) - 0.55 * (0.8 * w + 0.6 * h);
                c.map(|v| v * (1.0 - 0.5 / (1.0 + (-into / 25.0).exp())))
            }),
            Self::Coarse => picture.clone(),
        }
    }
}

/// A picture with its levels, 0 to 1, changed.
fn levels(picture: &RgbImage, change: impl Fn([f64; 3]) -> [f64; 3]) -> RgbImage {
    let byte = |v: f64| (255.0 * v.clamp(0.0, 1.0)).round() as u8;
    let mut out = picture.clone();
    out.pixels_mut().for_each(|p| *p = Rgb(change(p.0.map(|v| f64::from(v) / 255.0)).map(byte)));
    out
}

/// A colour moved away from its grey, or towards it.
fn around_grey(colour: [f64; 3], strength: f64) -> [f64; 3] {
    let grey = colour.iter().sum::<f64>() / 3.0;
    colour.map(|v| grey + strength * (v - grey))
}

fn sharpened(picture: &RgbImage) -> RgbImage {
    let soft = imageops::blur(picture, 1.5);
    RgbImage::from_fn(picture.width(), picture.height(), |x, y| {
        let (own, soft) = (picture.get_pixel(x, y).0, soft.get_pixel(x, y).0);
        Rgb([0, 1, 2].map(|k| {
            let (own, soft) = (f64::from(own[k]), f64::from(soft[k]));
            (own + 1.2 * (own - soft)).clamp(0.0, 255.0).round() as u8
        }))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every kind changes the photo, and none so much that white would no longer be light.
    #[test]
    fn each_kind_changes_a_photo_mildly() {
        let picture = RgbImage::from_fn(64, 48, |x, y| {
            Rgb(if (20..40).contains(&x) && (20..26).contains(&y) {
                [190, 40, 60]
            } else {
                [215; 3]
            })
        });
        for kind in Retake::ALL {
            let bytes = kind.photo(&jpeg(&picture, 95)).expect("a photo");
            let taken = image::load_from_memory(&bytes).expect("a photo").to_rgb8();
            assert_eq!(taken.dimensions(), picture.dimensions(), "{kind:?}");
            let off: f64 = taken
                .iter()
                .zip(picture.iter())
                .map(|(a, b)| (f64::from(*a) - f64::from(*b)).abs())
                .sum::<f64>()
                / taken.len() as f64;
            assert!((0.05..80.0).contains(&off), "{kind:?}: {off}");
            let [red, green, _] = taken.get_pixel(30, 23).0;
            assert!(red > green + 40, "{kind:?}: {red} {green}");
            let corner = taken.get_pixel(60, 4).0;
            assert!(corner.iter().all(|v| *v > 90), "{kind:?}: {corner:?}");
            let [r, g, b] = corner.map(i32::from);
            let step =
                i32::from(taken.get_pixel(30, 10).0[1]) - i32::from(taken.get_pixel(30, 20).0[1]);
            let is_as_told = match kind {
                Retake::Dim => g < 180 && (r - b).abs() < 4,
                Retake::Warm => r > g && b < g - 20,
                Retake::Cold => r < g - 10 && b > g,
                Retake::Green => g > r + 10 && g > b + 10,
                Retake::Vivid => i32::from(red) - i32::from(green) > 170,
                Retake::Pale => i32::from(red) - i32::from(green) < 130,
                Retake::Steep => g < 205 && green < 35,
                Retake::Flat => g > 218 && green > 50,
                Retake::Noisy | Retake::Coarse => off < 8.0,
                Retake::Soft => step < 150,
                Retake::Sharp => g > 205 && step > 150,
                Retake::Sloped => i32::from(taken.get_pixel(3, 4).0[1]) < g - 40,
                Retake::Shaded => i32::from(taken.get_pixel(3, 4).0[1]) > g + 10,
            };
            assert!(is_as_told, "{kind:?}: {corner:?}, mark {red} {green}, step {step}, off {off}");
        }
    }
}
