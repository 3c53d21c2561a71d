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
    /// A burnt-out stripe over the coat.
    Glare,
    /// Thin dye over much of the coat.
    Pink,
    /// Grain as of a dark photo brightened, everywhere alike.
    Noise,
    /// Light that falls off across the coat.
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
            Self::Uneven => "light 1 to 14 on the coat",
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
        let picture = self.done_to(&scene.picture(), px_per_mm, coat_across(scene));
        let (width, height) = picture.dimensions();
        scene.camera = scene.camera.resized(width as usize, height as usize);
        jpeg(&picture, 92)
    }

    /// `coat` is where the coat begins and ends across the picture, as shares of the width.
    fn done_to(self, picture: &RgbImage, px_per_mm: f64, coat: [f64; 2]) -> RgbImage {
        let (w, h) = picture.dimensions();
        let along = |x: u32| (f64::from(x) / f64::from(w) - coat[0]) / (coat[1] - coat[0]);
        match self {
            Self::Nothing | Self::Tilt => picture.clone(),
            Self::Blur => imageops::blur(picture, (0.3 * px_per_mm) as f32),
            Self::Far => {
                let share = 4.0 / px_per_mm;
                let side = |s: u32| (f64::from(s) * share).round().max(1.0) as u32;
                imageops::resize(picture, side(w), side(h), imageops::FilterType::Triangle)
            }
            Self::Glare => {
                // From top to bottom through the middle of the coat, 0.13 of its width.
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
            Self::Uneven => {
                // As a share the light falls off alike everywhere.
                changed(picture, |x, _, c| c.map(|v| v * 14_f64.powf(-along(x).clamp(0.0, 1.0))))
            }
        }
    }
}

/// Where the coat that a photo shows begins and ends from left to right, as shares of its width; a twentieth of it left
/// out on either side.
fn coat_across(scene: &Scene) -> [f64; 2] {
    const STEPS: u32 = 100;
    let side = |k: u32, of: usize| (f64::from(k) + 0.5) / f64::from(STEPS) * of as f64;
    let is_coat = |x: u32, y: u32| {
        let at_px = [side(x, scene.camera.width), side(y, scene.camera.height)];
        scene.camera.to_part(at_px).is_some_and(|p| scene.part.coat_inside_mm(p) > 0.0)
    };
    let columns: Vec<u32> = (0..STEPS)
        .flat_map(|x| (0..STEPS).filter(|&y| is_coat(x, y)).map(|_| x).collect::<Vec<_>>())
        .collect();
    let at = |twentieth: usize| {
        let column = columns.get(columns.len() * twentieth / 20);
        column.map(|x| (f64::from(*x) + 0.5) / f64::from(STEPS))
    };
    // Without a coat in view: the whole photo.
    match (at(1), at(19)) {
        (Some(from), Some(to)) if from < to => [from, to],
        _ => [0.0, 1.0],
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

    /// What spoils is done to the coat, wherever it lies in the photo.
    #[test]
    fn a_stripe_and_a_slope_of_light_lie_on_the_coat() {
        let scene = Spoil::Uneven.scene(5, true);
        let coat = coat_across(&scene);
        assert!(coat[0] > 0.0 && coat[1] < 1.0 && coat[1] - coat[0] > 0.2, "{coat:?}");
        let grey = RgbImage::from_pixel(400, 10, Rgb([200; 3]));
        let level = |picture: &RgbImage, along: f64| {
            let x = 400.0 * (coat[0] + along * (coat[1] - coat[0]));
            picture.get_pixel(x as u32, 5).0[0]
        };
        let at = |picture: &RgbImage, along: f64| f64::from(level(picture, along));
        let uneven = Spoil::Uneven.done_to(&grey, 10.0, coat);
        let [lit, dim] = [at(&uneven, 0.01), at(&uneven, 0.99)];
        // As linear light a grey of 200 is 0.578; a fourteenth of that is a grey of 57.
        assert!((lit - 200.0).abs() < 5.0 && (dim - 57.0).abs() < 4.0, "{lit} {dim}");
        let burnt = Spoil::Glare.done_to(&grey, 10.0, coat);
        assert_eq!([0.5, 0.3, 0.7].map(|along| level(&burnt, along)), [255, 200, 200]);
    }

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
