//! Each indication close up: cut out of the photo at its full resolution, seen straight from above.

use crate::record::Closeup;
use anyhow::{Result, anyhow};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use image::{Rgb, RgbImage};
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use nde_measure::{Measurement, Photo, PointMm, PointPx, Seen};

/// Most close-ups of one photo, the longest indications. Chosen: a page of a report holds about 12.
pub(crate) const MOST: usize = 48;
/// Part of the surface around an indication, mm. Chosen by eye.
const MARGIN_MM: f64 = 2.0;
/// Least width and height, mm: small indications all show the same piece of the part. Chosen by eye.
const LEAST_MM: [f64; 2] = [12.0, 9.0];
/// Most width and height, mm; an indication longer than this is shown around its middle. Chosen.
const MOST_MM: f64 = 160.0;
/// Most pixels along a side: 80 kB or so as a JPEG. Chosen.
const MOST_PX: f64 = 900.0;
/// Between places this many pixels apart the photo's own places lie on a line, to far below a pixel.
const STRIDE_PX: usize = 16;
/// Quality of the JPEG, 1 to 100. Chosen by eye.
const QUALITY: u8 = 82;

/// Close-ups of the longest indications, in the order of the list.
///
/// # Errors
/// A picture cannot be encoded.
pub(crate) fn closeups(photo: &Photo, measurement: &Measurement) -> Result<Vec<Closeup>> {
    let mut order: Vec<&Seen> = measurement.indications.iter().collect();
    order.sort_by(|a, b| b.feret_mm.total_cmp(&a.feret_mm));
    order.truncate(MOST);
    let kept = |seen: &&Seen| order.iter().any(|one| std::ptr::eq(*one, *seen));
    measurement.indications.iter().filter(kept).map(|seen| one(photo, measurement, seen)).collect()
}

/// The photo's way to the right at a place, on the part.
fn right_at(measurement: &Measurement, [x, y]: PointPx) -> [f64; 2] {
    let plane = &measurement.scale.plane;
    let (from, to) = (plane.to_part([x - 0.5, y]), plane.to_part([x + 0.5, y]));
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let long = dx.hypot(dy);
    if long > 0.0 && long.is_finite() { [dx / long, dy / long] } else { [1.0, 0.0] }
}

fn one(photo: &Photo, measurement: &Measurement, seen: &Seen) -> Result<Closeup> {
    let plane = &measurement.scale.plane;
    let right = right_at(measurement, seen.centroid_px);
    let down = [-right[1], right[0]];
    let middle = seen.centroid_mm;
    let local = |p: PointMm| {
        let d = [p[0] - middle[0], p[1] - middle[1]];
        [d[0] * right[0] + d[1] * right[1], d[0] * down[0] + d[1] * down[1]]
    };
    let outline: Vec<[f64; 2]> = seen.outline_px.iter().map(|p| local(plane.to_part(*p))).collect();
    let span = [0, 1].map(|axis| {
        let of = outline.iter().map(|p| p[axis]);
        let (low, high) = of.fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
        let (centre, size) = (0.5 * (low + high), high - low + 2.0 * MARGIN_MM);
        (centre, size.clamp(LEAST_MM[axis], MOST_MM))
    });
    let size_mm = [span[0].1, span[1].1];
    let corner = [span[0].0 - 0.5 * size_mm[0], span[1].0 - 0.5 * size_mm[1]];
    let on_part = |[x, y]: [f64; 2]| {
        [middle[0] + x * right[0] + y * down[0], middle[1] + x * right[1] + y * down[1]]
    };
    let pitch = plane.mm_per_px(seen.centroid_px);
    let pitch = pitch.max(size_mm[0].max(size_mm[1]) / MOST_PX);
    let picture = cut(photo.rgb(), size_mm, pitch, |x, y| {
        plane.to_photo(on_part([corner[0] + x, corner[1] + y]))
    });
    let thousandth = |v: f64| (v * 1000.0).round() / 1000.0;
    Ok(Closeup {
        id: seen.indication.id.clone(),
        corner_mm: on_part(corner).map(thousandth),
        right: right.map(|v| (v * 1.0e6).round() / 1.0e6),
        size_mm: size_mm.map(thousandth),
        outline_mm: outline
            .iter()
            .map(|p| [p[0] - corner[0], p[1] - corner[1]].map(thousandth))
            .collect(),
        jpeg: STANDARD.encode(jpeg(&picture, QUALITY)?),
    })
}

/// A picture of `size_mm`, a pixel `pitch` long; `from` tells the place in the photo of a place in it.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "sides are at most MOST_PX, places are clamped to the photo"
)]
fn cut(
    photo: &RgbImage,
    size_mm: [f64; 2],
    pitch: f64,
    from: impl Fn(f64, f64) -> PointPx,
) -> RgbImage {
    let side = |mm: f64| (mm / pitch).round().clamp(1.0, MOST_PX) as u32;
    let (columns, rows) = (side(size_mm[0]), side(size_mm[1]));
    let (width, height) = (f64::from(photo.width()), f64::from(photo.height()));
    let [last_x, last_y] =
        [photo.width(), photo.height()].map(|side| i32::try_from(side).unwrap_or(i32::MAX) - 1);
    let (bytes, stride) = (photo.as_raw().as_slice(), 3 * photo.width() as usize);
    let mut picture = RgbImage::from_pixel(columns, rows, Rgb([236, 236, 232]));
    let row_bytes = 3 * columns as usize;
    for (y, row) in picture.chunks_exact_mut(row_bytes).enumerate() {
        let at = |x: usize| from((x as f64 + 0.5) * pitch, (y as f64 + 0.5) * pitch);
        for (block, pixels) in row.chunks_mut(3 * STRIDE_PX).enumerate() {
            // Pixel centres stand at .5.
            let ([x0, y0], [x1, y1]) = (at(block * STRIDE_PX), at((block + 1) * STRIDE_PX));
            let step = [(x1 - x0) / STRIDE_PX as f64, (y1 - y0) / STRIDE_PX as f64];
            for (k, pixel) in pixels.chunks_exact_mut(3).enumerate() {
                let (px, py) = (x0 - 0.5 + step[0] * k as f64, y0 - 0.5 + step[1] * k as f64);
                if !(px > -1.0 && py > -1.0 && px < width && py < height) {
                    continue;
                }
                let (px, py) = (px.max(0.0), py.max(0.0));
                let (left, top) = ((px as i32).min(last_x), (py as i32).min(last_y));
                let (u, v) = ((px - f64::from(left)) as f32, (py - f64::from(top)) as f32);
                let (right, below) =
                    (if left < last_x { 3 } else { 0 }, if top < last_y { stride } else { 0 });
                let upper = top as usize * stride + 3 * left as usize;
                let lower = upper + below;
                let corners = [upper, upper + right, lower, lower + right]
                    .map(|at| bytes[at..].first_chunk().copied().unwrap_or([0_u8; 3]));
                for (c, byte) in pixel.iter_mut().enumerate() {
                    let [a, b, c, d] = corners.map(|corner| f32::from(corner[c]));
                    let (upper, lower) = (a + (b - a) * u, c + (d - c) * u);
                    *byte = (upper + (lower - upper) * v + 0.5) as u8;
                }
            }
        }
    }
    picture
}

/// A picture as a JPEG file.
///
/// # Errors
/// It is larger than a JPEG can be.
pub(crate) fn jpeg(picture: &RgbImage, quality: u8) -> Result<Vec<u8>> {
    let side = |full: u32| u16::try_from(full).map_err(|_| anyhow!("the picture is too large"));
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, quality);
    // Full colour resolution: thin blue lines beside red would smear.
    encoder.set_sampling_factor(SamplingFactor::F_1_1);
    let (width, height) = (side(picture.width())?, side(picture.height())?);
    encoder.encode(picture.as_raw(), width, height, ColorType::Rgb)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use nde_measure::{MeasureOptions, ScaleSpec, measure};

    #[test]
    fn a_closeup_shows_the_mark_in_its_middle_at_true_size() {
        let mut picture = RgbImage::from_pixel(600, 400, Rgb([225, 225, 222]));
        for (x, y) in (300..330).flat_map(|x| (200..204).map(move |y| (x, y))) {
            picture.put_pixel(x, y, Rgb([190, 40, 60]));
        }
        let scale: ScaleSpec = "pitch:0.1mm".parse().unwrap();
        let photo = Photo::from_rgb(picture);
        let found = measure(&photo, &[scale], &MeasureOptions::default()).unwrap();
        let all = closeups(&photo, &found).unwrap();
        let [one] = &all[..] else { panic!("one close-up was expected: {}", all.len()) };
        assert_eq!(format!("{:?}", one.size_mm), "[12.0, 9.0]");
        let bytes = STANDARD.decode(&one.jpeg).unwrap();
        let shown = image::load_from_memory(&bytes).unwrap().to_rgb8();
        assert_eq!(shown.dimensions(), (120, 90));
        assert!(shown.get_pixel(60, 45).0[1] < 110, "the mark is in the middle");
        assert!(shown.get_pixel(60, 30).0[1] > 200, "the coat is around it");
        let wide = one.outline_mm.iter().map(|p| p[0]).fold(0.0_f64, f64::max)
            - one.outline_mm.iter().map(|p| p[0]).fold(99.0, f64::min);
        assert!((wide - 3.0).abs() < 0.15, "{wide}");
    }
}
