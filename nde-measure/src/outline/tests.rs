use super::*;
use crate::detect::{DetectOptions, Levels, regions, runs_on_coat};
use crate::photo::{Cells, Photo, Raster, light_of_srgb};
use crate::redness::{Redness, RednessOptions};
use crate::white::{White, WhiteOptions};

const SIZE: (usize, usize) = (240, 180);
const MM_PER_PX: f64 = 0.1;

/// From one place to another, half width, and how much green light its dye takes.
type Capsule = ([f64; 2], [f64; 2], f64, f64);

/// The bodies of a white coat with dye on it, blurred, the later dye over the earlier.
fn read(dye: &[Capsule], blur_px: f64) -> Vec<Body> {
    let (w, h) = SIZE;
    let mut loss = Raster::filled(w, h, 0.0);
    for (i, v) in loss.data.iter_mut().enumerate() {
        let p = [(i % w) as f64, (i / w) as f64];
        for (a, b, r, taken) in dye {
            let d = [b[0] - a[0], b[1] - a[1]];
            let t = (p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1];
            let t = (t / (d[0] * d[0] + d[1] * d[1]).max(1e-9)).clamp(0.0, 1.0);
            if (p[0] - a[0] - t * d[0]).hypot(p[1] - a[1] - t * d[1]) <= *r {
                *v = *taken as f32;
            }
        }
    }
    let loss = loss.blurred(blur_px);
    let light = light_of_srgb();
    let shown = |left: f32| {
        let wanted = light[225] * left;
        let off = |v: &u8| (light[usize::from(*v)] - wanted).abs();
        (0..=255).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap()
    };
    let picture = image::RgbImage::from_fn(w as u32, h as u32, |x, y| {
        let loss = loss.data[y as usize * w + x as usize];
        image::Rgb([0.1, 1.0, 0.9].map(|share| shown(1.0 - share * loss)))
    });
    let photo = Photo::from_rgb(picture);
    let cells = Cells::of(&photo, 3);
    let coat = Mask { data: vec![true; 80 * 60], ..Mask::empty(80, 60) };
    let white = White::of(&cells, &coat, 0.3, &WhiteOptions::default());
    let window = Window { x0: 0, y0: 0, width: w, height: h };
    let options = RednessOptions::default();
    let redness = Redness::of(&photo, window, &white, cells.grid, MM_PER_PX, &options);
    let levels = Levels::of(&redness, &DetectOptions::default());
    let red = runs_on_coat(&redness, &coat, cells.grid, levels.low);
    let (grid, mm_per_px) = (cells.grid, MM_PER_PX);
    let site = Site { photo: &photo, redness: &redness, white: &white, grid, mm_per_px };
    let options = OutlineOptions::default();
    let found = regions(&redness, &red, levels, 3.0)
        .iter()
        .flat_map(|region| bodies(&site, region, levels.high, &options))
        .collect();
    joined(found, |_| site, &options)
}

/// A strong spot.
const fn spot(x: f64) -> Capsule {
    ([x, 90.0], [x, 90.0], 6.0, 0.8)
}

#[test]
fn the_common_halo_of_spots_is_no_mark() {
    let halo = ([92.0, 90.0], [148.0, 90.0], 14.0, 0.22);
    let bodies = read(&[halo, spot(92.0), spot(120.0), spot(148.0)], 1.0);
    assert_eq!(bodies.iter().filter(|b| !b.around_stronger).count(), 3);
    // It is kept all the same, so that it is told.
    assert_eq!(bodies.len(), 4);
    // What runs on from them is one.
    let streak = ([60.0, 90.0], [190.0, 90.0], 14.0, 0.22);
    assert_eq!(read(&[streak, spot(92.0), spot(120.0), spot(148.0)], 1.0).len(), 4);
}

#[test]
fn a_gap_in_faint_dye_parts_two_marks() {
    let line = |from: f64, to: f64| ([from, 90.0], [to, 90.0], 5.0, 0.2);
    // The skirts of both fill the gap to 0.4 of their contrast.
    assert_eq!(read(&[line(60.0, 113.25), line(126.75, 180.0)], 2.5).len(), 2);
}
