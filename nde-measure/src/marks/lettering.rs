//! Letters on a picture.

use super::ink;
use crate::PointPx;
use ab_glyph::{Font as _, FontRef, PxScale, ScaleFont as _, point};
use image::{Rgb, RgbImage};

/// One typeface for every picture: DejaVu Sans Condensed Bold, compiled in, so that marked photos
/// are the same on every machine.
#[derive(Clone, Debug)]
pub struct Lettering {
    font: FontRef<'static>,
}

impl Default for Lettering {
    fn default() -> Self {
        Self::new()
    }
}

impl Lettering {
    /// The typeface.
    ///
    /// # Panics
    /// Never: the compiled-in font is read in the tests.
    #[must_use]
    pub fn new() -> Self {
        let font = FontRef::try_from_slice(dejavu::sans_condensed::bold())
            .expect("the compiled-in font is whole");
        Self { font }
    }

    /// Width of a line of letters, pixels, in a line height of `height` pixels.
    #[must_use]
    pub fn width(&self, text: &str, height: f64) -> f64 {
        let scaled = self.font.as_scaled(scale(height));
        text.chars().map(|c| f64::from(scaled.h_advance(scaled.glyph_id(c)))).sum()
    }

    /// From the top of a line box down to its base line, pixels.
    #[must_use]
    pub fn ascent(&self, height: f64) -> f64 {
        f64::from(self.font.as_scaled(scale(height)).ascent())
    }

    /// Writes a line of letters; `left_top` is the corner of its line box.
    pub fn write(
        &self,
        picture: &mut RgbImage,
        text: &str,
        left_top: PointPx,
        height: f64,
        colour: Rgb<u8>,
    ) {
        self.trace(text, left_top, height, |x, y, cover| {
            if let (Ok(x), Ok(y)) = (u32::try_from(x), u32::try_from(y))
                && let Some(pixel) = picture.get_pixel_mut_checked(x, y)
            {
                ink::mix(pixel, colour, cover);
            }
        });
    }

    /// Says for each pixel how much of it the letters cover, 0 to 1; pixels may lie anywhere.
    pub fn trace(
        &self,
        text: &str,
        left_top: PointPx,
        height: f64,
        mut each: impl FnMut(i64, i64, f64),
    ) {
        let scaled = self.font.as_scaled(scale(height));
        let mut x = single(left_top[0]);
        let baseline = single(left_top[1]) + scaled.ascent();
        for c in text.chars() {
            let id = scaled.glyph_id(c);
            let glyph = id.with_scale_and_position(scale(height), point(x, baseline));
            x += scaled.h_advance(id);
            let Some(outline) = self.font.outline_glyph(glyph) else { continue };
            let bounds = outline.px_bounds();
            let (left, top) = (whole(bounds.min.x), whole(bounds.min.y));
            outline.draw(|dx, dy, cover| {
                each(left + i64::from(dx), top + i64::from(dy), f64::from(cover));
            });
        }
    }
}

#[expect(clippy::cast_possible_truncation, reason = "glyph bounds are whole pixels near the text")]
fn whole(value: f32) -> i64 {
    value as i64
}

fn scale(height: f64) -> PxScale {
    PxScale::from(single(height))
}

#[expect(clippy::cast_possible_truncation, reason = "pixels of a picture, far inside f32")]
fn single(value: f64) -> f32 {
    value as f32
}
