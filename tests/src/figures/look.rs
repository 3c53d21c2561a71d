//! Pictures of an outcome: truth and reading drawn over the photo, and crops of the worst cases.

use super::outcome::{ASKED, Finding, Outcome};
use crate::paint::scene::Scene;
use crate::paint::sensor::jpeg;
use image::{Rgb, RgbImage};
use nde_measure::Measurement;

/// One case worth looking at.
#[derive(Clone, Debug)]
pub struct Case {
    /// How bad it is; greater is worse.
    pub badness: f64,
    /// One line: what, where, how much.
    pub line: String,
    /// Where in the photo.
    pub at_px: [f64; 2],
    /// Half the side of a fitting crop, pixels.
    pub half_px: f64,
}

/// The cases of one outcome: misses, false calls, wrong sizes, wrong classes.
#[must_use]
pub fn cases(outcome: &Outcome) -> Vec<Case> {
    outcome.findings.iter().filter_map(|f| case(outcome, f)).collect()
}

fn case(outcome: &Outcome, finding: &Finding) -> Option<Case> {
    let place = |at: &[f64; 2]| {
        format!(
            "scene {} at {:.0},{:.0} ({:.1} px/mm)",
            outcome.seed, at[0], at[1], outcome.px_per_mm
        )
    };
    let half = |length_mm: f64| (length_mm * outcome.px_per_mm * 0.7).clamp(60.0, 300.0);
    match finding {
        Finding::Missed { joined: true, .. } => None,
        Finding::Missed { truth, aside, .. } => Some(Case {
            badness: 4.0 * truth.seen_peak + 0.05 * truth.size_mm[0].min(20.0),
            line: format!(
                "MISSED {} {:.2} x {:.2} mm, peak {:.2} (seen {:.2}), set aside: {}; {}",
                truth.kind,
                truth.size_mm[0],
                truth.size_mm[1],
                truth.peak,
                truth.seen_peak,
                aside.unwrap_or("no"),
                place(&truth.at_px)
            ),
            at_px: truth.at_px,
            half_px: half(truth.size_mm[0]),
        }),
        Finding::False { call, cause } => Some(Case {
            badness: 0.8 + 2.0 * call.contrast + 0.05 * call.feret_mm.min(20.0),
            line: format!(
                "FALSE {cause}: {:.2} x {:.2} mm, contrast {:.2}; {}",
                call.feret_mm,
                call.width_mm,
                call.contrast,
                place(&call.at_px)
            ),
            at_px: call.at_px,
            half_px: half(call.feret_mm),
        }),
        Finding::Hit(truth, call) => {
            let [length, width] = truth.seen_mm.unwrap_or(truth.size_mm);
            let error = call.feret_mm - length;
            let class = truth.linear != call.linear && truth.peak >= ASKED;
            Some(Case {
                badness: (error.abs() / 0.3).min(6.0) * if truth.peak < ASKED { 0.4 } else { 1.0 }
                    + if class { 0.5 } else { 0.0 },
                line: format!(
                    "SIZE {} {:.2} x {:.2} mm read {:.2} x {:.2} (seen {length:.2} x {width:.2}), U {}, peak {:.2}, doubts {:?}{}; {}",
                    truth.kind,
                    truth.size_mm[0],
                    truth.size_mm[1],
                    call.feret_mm,
                    call.width_mm,
                    call.length_u_mm.map_or("none".into(), |u| format!("{u:.2}")),
                    truth.peak,
                    call.doubts,
                    if class { ", WRONG CLASS" } else { "" },
                    place(&truth.at_px)
                ),
                at_px: truth.at_px,
                half_px: half(length),
            })
        }
    }
}

/// The photo with true edges (green dots), measured outlines (blue), set-aside ones (yellow).
#[must_use]
pub fn overlay(scene: &Scene, photo: &RgbImage, measurement: Option<&Measurement>) -> RgbImage {
    let mut picture = photo.clone();
    for (_, body) in scene.bodies() {
        for edge in &body.edge_mm {
            dot(&mut picture, scene.camera.to_photo(*edge), [0, 170, 0]);
        }
    }
    if let Some(measurement) = measurement {
        for seen in &measurement.indications {
            ring(&mut picture, &seen.outline_px, [0, 60, 255]);
        }
        for aside in &measurement.set_aside {
            ring(&mut picture, &aside.outline_px, [230, 180, 0]);
        }
        for outline in &measurement.coat.outlines_px {
            ring(&mut picture, outline, [0, 200, 220]);
        }
    }
    picture
}

/// Photo and overlay side by side round a case, three times enlarged, as JPEG bytes.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the picture before"
)]
pub fn crop(case: &Case, photo: &RgbImage, overlay: &RgbImage) -> Vec<u8> {
    let side = (2.0 * case.half_px) as u32;
    let (side_x, side_y) = (side.min(photo.width()), side.min(photo.height()));
    let from = |at: f64, side: u32, size: u32| {
        (at - f64::from(side) / 2.0).clamp(0.0, f64::from(size - side)) as u32
    };
    let x0 = from(case.at_px[0], side_x, photo.width());
    let y0 = from(case.at_px[1], side_y, photo.height());
    let zoom = if side < 250 { 3 } else { 2 };
    let picture = RgbImage::from_fn(2 * zoom * side_x, zoom * side_y, |x, y| {
        let source = if x < zoom * side_x { photo } else { overlay };
        *source.get_pixel(x0 + x % (zoom * side_x) / zoom, y0 + y / zoom)
    });
    jpeg(&picture, 90)
}

fn ring(picture: &mut RgbImage, outline: &[[f64; 2]], colour: [u8; 3]) {
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        let steps = (b[0] - a[0]).abs().max((b[1] - a[1]).abs()).ceil().clamp(1.0, 1.0e4);
        let mut t = 0.0;
        while t < steps {
            let s = t / steps;
            dot(picture, [a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s], colour);
            t += 1.0;
        }
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "checked to lie in the picture"
)]
fn dot(picture: &mut RgbImage, at: [f64; 2], colour: [u8; 3]) {
    let inside = at[0] >= 0.0
        && at[1] >= 0.0
        && at[0] < f64::from(picture.width())
        && at[1] < f64::from(picture.height());
    if inside {
        picture.put_pixel(at[0] as u32, at[1] as u32, Rgb(colour));
    }
}
