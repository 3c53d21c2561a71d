//! Painted photos spoiled on purpose.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "grey levels and sides are clamped before they are cut"
)]

use crate::paint::scene::{Scene, SceneOptions};
use crate::paint::sensor::jpeg;
use image::{Rgb, RgbImage, imageops};

/// What is done to a photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spoil {
    /// Left as painted.
    Nothing,
    /// Out of focus.
    Blur,
    /// Too few pixels a millimetre.
    Far,
    /// Too slanted a view.
    Tilt,
    /// A burnt-out stripe.
    Glare,
    /// Thin dye over much of the coat.
    Pink,
    /// Grain as of a dark photo brightened, everywhere alike.
    Noise,
    /// Light that falls off across the photo.
    Uneven,
}

impl Spoil {
    /// Every kind.
    pub const ALL: [Self; 8] = [
        Self::Nothing,
        Self::Blur,
        Self::Far,
        Self::Tilt,
        Self::Glare,
        Self::Pink,
        Self::Noise,
        Self::Uneven,
    ];

    /// For tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Nothing => "as painted",
            Self::Blur => "out of focus, 0.3 mm",
            Self::Far => "far away, 4 px/mm",
            Self::Tilt => "tilt of 45 to 50 deg",
            Self::Glare => "a tenth burnt out",
            Self::Pink => "a third stained pink",
            Self::Noise => "noise of 30 grey levels",
            Self::Uneven => "light 1 to 14 across",
        }
    }

    /// A scene that can be spoiled so: clean but for its indications, a blank part or one with marks.
    #[must_use]
    pub fn scene(self, seed: u64, blank: bool) -> Scene {
        let options = SceneOptions {
            blank_share: if blank { 1.0 } else { 0.0 },
            nuisance_chance: 0.0,
            px_per_mm: [10.0, 14.0],
            tilt_deg: if self == Self::Tilt { [45.0, 50.0] } else { [0.0, 10.0] },
            ..SceneOptions::default()
        };
        Scene::of(seed, &options)
    }

    /// The spoiled photo as JPEG bytes. A photo that is made smaller gives the scene a camera of fewer pixels, so
    /// that its truth lies where this photo shows it.
    #[must_use]
    pub fn photo(self, scene: &mut Scene) -> Vec<u8> {
        let px_per_mm = 1.0 / scene.camera.mm_per_px([0.0, 0.0]);
        let picture = self.done_to(&scene.picture(), px_per_mm);
        let (width, height) = picture.dimensions();
        scene.camera = scene.camera.resized(width as usize, height as usize);
        jpeg(&picture, 92)
    }

    fn done_to(self, picture: &RgbImage, px_per_mm: f64) -> RgbImage {
        let (w, h) = picture.dimensions();
        let along = |x: u32| f64::from(x) / f64::from(w);
        match self {
            Self::Nothing | Self::Tilt => picture.clone(),
            Self::Blur => imageops::blur(picture, (0.3 * px_per_mm) as f32),
            Self::Far => {
                let share = 4.0 / px_per_mm;
                let side = |s: u32| (f64::from(s) * share).round().max(1.0) as u32;
                imageops::resize(picture, side(w), side(h), imageops::FilterType::Triangle)
            }
            Self::Glare => {
                // A burnt-out stripe from top to bottom through the middle, 0.13 of the width.
                changed(picture, |x, _, c| {
                    let off = (along(x) - 0.5).abs();
                    let add = ((0.07 - off) / 0.01).clamp(0.0, 1.0) * 4.0;
                    c.map(|v| v + add)
                })
            }
            Self::Pink => changed(picture, |x, y, c| {
                let wave = (f64::from(x) / (9.0 * px_per_mm)).sin()
                    * (f64::from(y) / (7.0 * px_per_mm)).cos();
                let loss = 0.28 * wave.max(0.0);
                [c[0] * (1.0 - 0.08 * loss), c[1] * (1.0 - loss), c[2] * (1.0 - 0.8 * loss)]
            }),
            Self::Noise => noisy(picture, 30.0),
            Self::Uneven => changed(picture, |x, _, c| c.map(|v| v / (1.0 + 13.0 * along(x)))),
        }
    }
}

/// A picture with noise of a standard deviation in grey levels, the same wherever it is made.
pub(super) fn noisy(picture: &RgbImage, sd: f64) -> RgbImage {
    let mut seed = 88_172_645_463_325_252_u64;
    let mut out = picture.clone();
    for v in out.iter_mut() {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        // The sum of four dice is bell-shaped enough.
        let dice: f64 = (0..4).map(|k| f64::from((seed >> (16 * k)) as u16)).sum();
        let noise = (dice / 65_535.0 - 2.0) * sd / 0.577;
        *v = (f64::from(*v) + noise).clamp(0.0, 255.0) as u8;
    }
    out
}

/// A picture with its linear light changed.
pub(super) fn changed(
    picture: &RgbImage,
    change: impl Fn(u32, u32, [f64; 3]) -> [f64; 3],
) -> RgbImage {
    let linear = |v: u8| {
        let u = f64::from(v) / 255.0;
        if u <= 0.040_45 { u / 12.92 } else { ((u + 0.055) / 1.055).powf(2.4) }
    };
    let level = |l: f64| {
        let l = l.clamp(0.0, 1.0);
        let u = if l <= 0.003_130_8 { 12.92 * l } else { 1.055 * l.powf(1.0 / 2.4) - 0.055 };
        (255.0 * u).round() as u8
    };
    RgbImage::from_fn(picture.width(), picture.height(), |x, y| {
        Rgb(change(x, y, picture.get_pixel(x, y).0.map(linear)).map(level))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Blurred, resized and told again: an indication stands where the smaller photo's camera says.
    #[test]
    fn a_smaller_photo_shows_the_marks_where_its_scene_says() {
        let mut scene = Spoil::Far.scene(3, false);
        let before = scene.camera.clone();
        let bytes = Spoil::Far.photo(&mut scene);
        let photo = image::load_from_memory(&bytes).expect("a photo").to_rgb8();
        assert_eq!((photo.width() as usize, photo.height() as usize), {
            (scene.camera.width, scene.camera.height)
        });
        assert!((1.0 / scene.camera.mm_per_px([0.0, 0.0]) - 4.0).abs() < 0.02);
        let share = f64::from(photo.width()) / before.width as f64;
        let mut looked = 0;
        for (_, body) in scene.bodies() {
            let (old, new) =
                (before.to_photo(body.centroid_mm), scene.camera.to_photo(body.centroid_mm));
            assert!((0..2).all(|k| (old[k] * share - new[k]).abs() < 0.5), "{old:?} {new:?}");
            if body.peak > 0.5 && body.width_mm > 1.0 && body.ratio() < 2.0 {
                let [red, green, _] = photo.get_pixel(new[0] as u32, new[1] as u32).0;
                assert!(red > green + 30, "{red} {green} at {new:?}");
                looked += 1;
            }
        }
        assert!(looked > 0, "no strong spot");
    }
}
