//! The card as PNG with its resolution stated, edges grey where they fall between pixels.

use super::{EM_OF_LINE, MM_PER_INCH, Page};
use anyhow::{Context as _, Result};
use nde_measure::marks::Lettering;
use nde_measure::scale::design::{Direction, Rect};
use std::io::Write;

/// Writes the page as an 8-bit grey PNG.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn png(page: &Page, dpi: u32, target: &mut dyn Write) -> Result<()> {
    let px_per_mm = f64::from(dpi) / MM_PER_INCH;
    let mut sheet = Sheet::new(page, px_per_mm);
    sheet.fill(&page.ink);
    sheet.cut(&page.cut);
    sheet.write(page);

    let mut encoder = ::png::Encoder::new(target, sheet.width, sheet.height);
    encoder.set_color(::png::ColorType::Grayscale);
    encoder.set_depth(::png::BitDepth::Eight);
    let per_metre = pixel(px_per_mm * 1000.0);
    encoder.set_pixel_dims(Some(::png::PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: ::png::Unit::Meter,
    }));
    let mut writer = encoder.write_header().context("cannot write the PNG")?;
    writer.write_image_data(&sheet.levels).context("cannot write the PNG")?;
    writer.finish().context("cannot write the PNG")
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "sides of a page in pixels, clamped"
)]
fn pixel(value: f64) -> u32 {
    value.round().clamp(0.0, 1.0e6) as u32
}

/// Level of a pixel that is covered with ink by so much of its area.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 255")]
fn grey(cover: f64) -> u8 {
    (255.0 * (1.0 - cover.clamp(0.0, 1.0))).round() as u8
}

struct Sheet {
    width: u32,
    height: u32,
    px_per_mm: f64,
    levels: Vec<u8>,
}

/// Points looked at in each pixel, along each side: an edge is true to an eighth of a pixel.
const POINTS: u32 = 4;

impl Sheet {
    fn new(page: &Page, px_per_mm: f64) -> Self {
        let width = pixel(page.paper.width_mm * px_per_mm).max(1);
        let height = pixel(page.paper.height_mm * px_per_mm).max(1);
        let levels = vec![255; width as usize * height as usize];
        Self { width, height, px_per_mm, levels }
    }

    /// Black where any of the rectangles is. Each pixel asks for its points at once, so that
    /// overlapping and touching rectangles leave no seam.
    fn fill(&mut self, ink: &[Rect]) {
        let mut hit = vec![0_u16; self.levels.len()];
        for rect in ink {
            let points = |mm: f64| pixel(mm * self.px_per_mm * f64::from(POINTS));
            let end = |point: u32, side: u32| point.min(side * POINTS);
            let columns = points(rect.x_mm)..end(points(rect.x_mm + rect.width_mm), self.width);
            let rows = points(rect.y_mm)..end(points(rect.y_mm + rect.height_mm), self.height);
            for row in rows {
                let start = (row / POINTS) as usize * self.width as usize;
                let row_bit = row % POINTS * POINTS;
                for column in columns.clone() {
                    hit[start + (column / POINTS) as usize] |= 1 << (row_bit + column % POINTS);
                }
            }
        }
        for (level, hit) in self.levels.iter_mut().zip(hit) {
            *level = grey(f64::from(hit.count_ones()) / f64::from(POINTS * POINTS));
        }
    }

    /// A thin broken line along the cut.
    fn cut(&mut self, cut: &Rect) {
        const WIDTH_MM: f64 = 0.15;
        const DASH_MM: f64 = 2.0;
        let mut dash = |x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64| {
            let side = |mm: f64| pixel(mm * self.px_per_mm);
            for y in side(y_mm)..side(y_mm + height_mm).max(side(y_mm) + 1).min(self.height) {
                for x in side(x_mm)..side(x_mm + width_mm).max(side(x_mm) + 1).min(self.width) {
                    self.levels[y as usize * self.width as usize + x as usize] = grey(0.4);
                }
            }
        };
        let (right, bottom) = (cut.x_mm + cut.width_mm, cut.y_mm + cut.height_mm);
        let mut at = 0.0;
        while at < cut.width_mm.max(cut.height_mm) {
            for y in [cut.y_mm, bottom] {
                dash(cut.x_mm + at, y, DASH_MM.min(cut.width_mm - at).max(0.0), WIDTH_MM);
            }
            for x in [cut.x_mm, right] {
                dash(x, cut.y_mm + at, WIDTH_MM, DASH_MM.min(cut.height_mm - at).max(0.0));
            }
            at += 2.0 * DASH_MM;
        }
    }

    fn write(&mut self, page: &Page) {
        let letters = Lettering::new();
        for words in &page.words {
            let line = words.em_mm / EM_OF_LINE * self.px_per_mm;
            let [x0, y0] = words.at_mm.map(|mm| i64::from(pixel(mm * self.px_per_mm)));
            // The line's box hangs from its base line by the typeface's ascent.
            let hang = -letters.ascent(line);
            letters.trace(&words.text, [0.0, hang], line, |along, down, cover| {
                let (x, y) = match words.direction {
                    Direction::Across => (x0 + along, y0 + down),
                    Direction::Down => (x0 - down, y0 + along),
                };
                if let (Ok(x), Ok(y)) = (u32::try_from(x), u32::try_from(y))
                    && x < self.width
                    && y < self.height
                {
                    let index = y as usize * self.width as usize + x as usize;
                    self.levels[index] = self.levels[index].min(grey(cover));
                }
            });
        }
    }
}
