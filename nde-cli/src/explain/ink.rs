//! Lines that show on any ground and without colour.

use image::{Rgb, RgbImage};
use nde_measure::{Photo, PointPx};

pub(super) const LIGHT: Rgb<u8> = Rgb([255, 255, 255]);
pub(super) const DARK: Rgb<u8> = Rgb([0, 0, 0]);

/// Arm of a cross, pixels: seen on the whole picture, small against a square of the card.
pub(super) fn arm_px(photo: &Photo) -> f64 {
    let [w, h] = photo.size_px().map(f64::from);
    (w.max(h) / 500.0).max(3.0)
}

pub(super) fn closed(picture: &mut RgbImage, ring: &[PointPx], wide: u32) {
    for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
        line(picture, *a, *b, wide);
    }
}

/// A light line with dark dashes, so that it shows on any ground and without colour.
pub(super) fn line(picture: &mut RgbImage, from: PointPx, to: PointPx, wide: u32) {
    let [w, h] = [picture.width(), picture.height()];
    let length = (to[0] - from[0]).hypot(to[1] - from[1]);
    if !length.is_finite() {
        return;
    }
    let mut along = 0.0;
    while along <= length {
        let share = if length > 0.0 { along / length } else { 0.0 };
        let ink = if along % 8.0 < 4.0 { LIGHT } else { DARK };
        let at = [0, 1].map(|k| from[k] + share * (to[k] - from[k]));
        for (dx, dy) in (0..wide).flat_map(|dx| (0..wide).map(move |dy| (dx, dy))) {
            let (x, y) = (at[0] + f64::from(dx), at[1] + f64::from(dy));
            if x >= 0.0 && y >= 0.0 && x < f64::from(w) && y < f64::from(h) {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "inside the picture"
                )]
                picture.put_pixel(x as u32, y as u32, ink);
            }
        }
        along += 0.7;
    }
}
