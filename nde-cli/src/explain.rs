//! Pictures of what each stage saw of one photo, for the case that a result surprises.
//!
//! ```text
//! 1-scale.jpg     features the scale rests on, what it covers, a 10 mm grid around it
//! 1-ticks.jpg     of a rule: the row laid out straight, the comb fitted to it, each tick found to its tip
//! 2-coat.jpg      the area read; what lies outside it is darkened, ground that may be coat less so
//! 3-redness.jpg   red over green light against the coat: white is none, black is strong
//! 4-regions.jpg   what was counted, with its sizes, and what was set aside
//! reasons.txt     every region with its place, and why it is counted or not
//! ```
//! Of a photo that could not be measured: `reasons.txt` with the reason, and `1-scale.jpg` with the scale
//! where it was read, else with what may belong to one.

mod ink;
mod ticks;
mod unread;

use crate::closeups::jpeg;
use crate::inputs::PhotoFile;
use crate::record::Case;
use crate::save;
use crate::settings::Seeing;
use anyhow::Result;
use image::{Rgb, RgbImage};
use ink::{arm_px, closed, line};
use nde_measure::marks::{self, Emphasis, MarkLabel, MarkOptions};
use nde_measure::{Measurement, Photo, PhotoLimits, PointPx, Scale, scale};
use std::fmt::Write as _;
use std::path::Path;

/// Quality of the pictures. Chosen: single pixels stay to be told apart.
const QUALITY: u8 = 90;
/// Redness, in natural logarithms of red over green, that is shown black. Chosen: strong dye.
const BLACK_REDNESS: f64 = 1.5;

/// Writes the pictures of one photo into its own folder.
///
/// # Errors
/// They cannot be written.
pub(crate) fn write(dir: &Path, photo: &Photo, seen: &Measurement, case: &Case) -> Result<()> {
    save::folder(dir)?;
    let put = |name: &str, picture: &RgbImage| put(dir, name, picture);
    scale_pictures(dir, photo, &seen.scale)?;
    put("2-coat.jpg", &coat(photo, seen))?;
    put("3-redness.jpg", &redness(photo, seen))?;
    let labels: Vec<MarkLabel> = case
        .indications
        .iter()
        .map(|row| MarkLabel {
            text: format!("{}  {:.2} mm", row.id, row.length.mm),
            emphasis: Emphasis::Plain,
        })
        .collect();
    put("4-regions.jpg", &marks::draw(photo, seen, &labels, &MarkOptions::default()))?;
    let text = reasons(seen, case);
    save::file(&dir.join("reasons.txt"), |target| Ok(target.write_all(text.as_bytes())?))
}

/// Writes what is seen in a photo that could not be measured, and why it could not.
///
/// # Errors
/// The pictures cannot be written.
pub(crate) fn write_unread(
    dir: &Path,
    file: &PhotoFile,
    seeing: &Seeing,
    why: &anyhow::Error,
) -> Result<()> {
    // What is no picture has nothing to show.
    let Ok(photo) = Photo::decode(&file.bytes()?, &PhotoLimits::default()) else { return Ok(()) };
    save::folder(dir)?;
    let mut text = format!("not measured: {why:#}\n");
    match scale::find_with(&photo, &seeing.scale, &seeing.options.scale) {
        Ok(scale) => scale_pictures(dir, &photo, &scale)?,
        Err(_) => {
            let seen = scale::sighted(&photo, &seeing.scale);
            put(dir, "1-scale.jpg", &unread::picture(&photo, &seen))?;
            text.push_str(&unread::told(&seen));
        }
    }
    save::file(&dir.join("reasons.txt"), |target| Ok(target.write_all(text.as_bytes())?))
}

fn put(dir: &Path, name: &str, picture: &RgbImage) -> Result<()> {
    let bytes = jpeg(picture, QUALITY)?;
    save::file(&dir.join(name), |target| Ok(target.write_all(&bytes)?))
}

fn scale_pictures(dir: &Path, photo: &Photo, scale: &Scale) -> Result<()> {
    put(dir, "1-scale.jpg", &scale_picture(photo, scale))?;
    match &scale.rule {
        Some(rule) => put(dir, "1-ticks.jpg", &ticks::picture(photo, &scale.plane, rule)),
        None => Ok(()),
    }
}

/// What the scale rests on.
fn scale_picture(photo: &Photo, scale: &Scale) -> RgbImage {
    let mut picture = photo.rgb().clone();
    let arm = arm_px(photo);
    for one in std::iter::once(scale).chain(&scale.others) {
        grid(&mut picture, one);
        for p in &one.features_px {
            for [dx, dy] in [[arm, 0.0], [0.0, arm]] {
                line(&mut picture, [p[0] - dx, p[1] - dy], [p[0] + dx, p[1] + dy], 1);
            }
        }
    }
    for ring in &scale.covers_px {
        closed(&mut picture, ring, 2);
    }
    picture
}

/// A 10 mm grid on the surface, 100 mm around the scale's outline or the photo's middle.
fn grid(picture: &mut RgbImage, scale: &Scale) {
    let [w, h] = [picture.width(), picture.height()].map(f64::from);
    let n = scale.outline_mm.len() as f64;
    let middle = if scale.outline_mm.is_empty() {
        scale.plane.to_part([w / 2.0, h / 2.0])
    } else {
        [0, 1].map(|k| scale.outline_mm.iter().map(|p| p[k]).sum::<f64>() / n)
    };
    let centre = middle.map(|v| (v / 10.0).round() * 10.0);
    for step in -10..=10 {
        let off = 10.0 * f64::from(step);
        for along in -10..10 {
            let [from, to] = [10.0 * f64::from(along), 10.0 * f64::from(along + 1)];
            for [a, b] in [[[off, from], [off, to]], [[from, off], [to, off]]] {
                let ends =
                    [a, b].map(|d| scale.plane.to_photo([centre[0] + d[0], centre[1] + d[1]]));
                let near = |p: &PointPx| p[0] > -w && p[0] < 2.0 * w && p[1] > -h && p[1] < 2.0 * h;
                if ends.iter().all(near) {
                    line(picture, ends[0], ends[1], 1);
                }
            }
        }
    }
}

/// The area read, the rest darkened.
fn coat(photo: &Photo, seen: &Measurement) -> RgbImage {
    let (read, doubtful) = (inside(&seen.coat.outlines_px), inside(&seen.coat.doubtful_px));
    let mut picture = photo.rgb().clone();
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let (x, y) = (f64::from(x) + 0.5, f64::from(y) + 0.5);
        // Rings are outer ones: doubtful ground in a gap of the coat lies within them.
        let is_doubtful = doubtful(x, y);
        if is_doubtful || !read(x, y) {
            let left = if is_doubtful { 200 } else { 85 };
            #[expect(clippy::cast_possible_truncation, reason = "a share of a byte is a byte")]
            let dimmed = |v: u8| (u16::from(v) * left / 255) as u8;
            pixel.0 = pixel.0.map(dimmed);
        }
    }
    for ring in seen.coat.outlines_px.iter().chain(&seen.coat.doubtful_px) {
        closed(&mut picture, ring, 1);
    }
    picture
}

/// Whether a place lies within the rings. They are looked up row by row: the crossings of a row are
/// kept until the next.
fn inside(rings: &[Vec<PointPx>]) -> impl Fn(f64, f64) -> bool {
    let held = std::cell::RefCell::new((f64::NAN, Vec::<f64>::new()));
    move |x, y| {
        let mut held = held.borrow_mut();
        if held.0.total_cmp(&y).is_ne() {
            let crossing = |a: &PointPx, b: &PointPx| {
                ((a[1] > y) != (b[1] > y))
                    .then(|| a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
            };
            let all = rings.iter().flat_map(|ring| {
                ring.iter().zip(ring.iter().cycle().skip(1)).filter_map(|(a, b)| crossing(a, b))
            });
            *held = (y, all.collect());
        }
        held.1.iter().filter(|at| x < **at).count() % 2 == 1
    }
}

/// Red over green against the coat's middle value.
fn redness(photo: &Photo, seen: &Measurement) -> RgbImage {
    let light: Vec<f64> = (0..=255_u8)
        .map(|v| nde_measure::photo::linear_of_srgb(f64::from(v) / 255.0).max(0.002))
        .collect();
    let of = |p: &Rgb<u8>| (light[usize::from(p.0[0])] / light[usize::from(p.0[1])]).ln();
    let inside = inside(&seen.coat.outlines_px);
    let mut on_coat: Vec<f64> = photo
        .rgb()
        .enumerate_pixels()
        .filter(|(x, y, _)| x % 7 == 0 && y % 7 == 0)
        .filter(|(x, y, _)| inside(f64::from(*x) + 0.5, f64::from(*y) + 0.5))
        .map(|(_, _, p)| of(p))
        .collect();
    on_coat.sort_by(f64::total_cmp);
    let white = on_coat.get(on_coat.len() / 2).copied().unwrap_or(0.0);
    let mut picture = photo.rgb().clone();
    for pixel in picture.pixels_mut() {
        let share = ((of(pixel) - white) / BLACK_REDNESS).clamp(0.0, 1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a share of 255"
        )]
        let level = (255.0 * (1.0 - share)).round() as u8;
        pixel.0 = [level; 3];
    }
    picture
}

// Every `let _ = write!` below goes into a String, which takes everything.

fn reasons(seen: &Measurement, case: &Case) -> String {
    let scale = &seen.scale;
    let mut text = String::new();
    if let Some(card) = &scale.card {
        let _ = writeln!(
            text,
            "scale: {} card, {} of {} markers seen, {} corners used",
            card.design.name(),
            card.markers_seen,
            card.design.marker_count(),
            card.corners_kept
        );
    } else if let Some(rule) = &scale.rule {
        let (ticks, pitch) = (rule.ticks.len(), rule.pitch.word());
        let _ = writeln!(text, "scale: rule, {ticks} ticks of {pitch} found");
    } else {
        let _ = writeln!(text, "scale: {} features used", scale.features_px.len());
    }
    for other in &scale.others {
        if let Some(card) = &other.card {
            let _ = writeln!(text, "further card: {}", card.design.name());
        }
    }
    if let Some(residual) = scale.residual_px {
        let _ = writeln!(text, "they lie {residual:.2} px (root mean square) off their plane");
    }
    for gate in case.picture.iter().flat_map(|p| &p.gates) {
        if let Some((word, told)) = gate.told() {
            let _ = writeln!(text, "picture {word}: {told}; {}", gate.remedy);
        }
    }
    for row in &case.indications {
        let [x, y] = row.at_px.unwrap_or_default();
        let _ = writeln!(text, "{} at {x:.0},{y:.0}: counted, {:.2} mm", row.id, row.length.mm);
        for doubt in &row.doubts {
            let _ = writeln!(text, "   {}", doubt.sentence);
        }
    }
    for aside in &case.set_aside {
        let [x, y] = aside.at_px;
        let _ = writeln!(
            text,
            "- at {x:.0},{y:.0}: not counted, {}, {:.2} x {:.2} mm, loss of green {:.0} %",
            crate::record::aside_words(&aside.reason),
            aside.length_mm,
            aside.width_mm,
            100.0 * aside.contrast
        );
    }
    text
}
