//! Pictures that shops really take, drawn here pixel by pixel: one fact each.

#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test may stop, and grey levels are clamped before they are cut"
)]

use image::{Rgb, RgbImage};
use nde_core::{Doubt, GateOutcome};
use nde_measure::{MeasureOptions, Measurement, Photo, ScaleSpec, measure};

/// A coat of 600 x 400 pixels at 0.1 mm, with a grain of one grey level; `paint` says what share of
/// green and of red is left at a place.
fn picture(paint: impl Fn(f64, f64) -> (f64, f64)) -> RgbImage {
    let mut seed = 12_345_u32;
    RgbImage::from_fn(600, 400, |x, y| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let grain = f64::from(seed >> 16 & 3) - 1.5;
        let (green, red) = paint(f64::from(x) + 0.5, f64::from(y) + 0.5);
        let level = |share: f64| {
            // sRGB of 0.75 linear light times the share (IEC 61966-2-1).
            let linear = 0.75 * share;
            (255.0 * (1.055 * linear.powf(1.0 / 2.4) - 0.055) + grain).round().clamp(0.0, 255.0)
                as u8
        };
        Rgb([level(red), level(green), level(green)])
    })
}

fn read(picture: RgbImage) -> Measurement {
    let scale: ScaleSpec = "pitch:0.1mm".parse().unwrap();
    measure(&Photo::from_rgb(picture), &[scale], &MeasureOptions::default()).unwrap()
}

/// Loss of green of a line along x with soft edges of one pixel.
fn line(x: f64, y: f64, from: f64, to: f64, half: f64) -> f64 {
    let soft = |d: f64| 1.0 / (1.0 + (2.0 * d).exp());
    soft(from - x) * soft(x - to) * soft((y - 200.0).abs() - half)
}

#[test]
fn a_weak_line_that_thins_in_the_middle_is_one() {
    let found = read(picture(|x, y| {
        let thin = if (295.0..304.0).contains(&x) { 0.42 } else { 1.0 };
        let loss = 0.30 * thin * line(x, y, 200.0, 400.0, 4.0);
        (1.0 - loss, 1.0 - 0.1 * loss)
    }));
    assert_eq!(found.indications.len(), 1, "{:?}", found.indications);
    assert!((found.indications[0].feret_mm - 20.0).abs() < 0.3);
}

#[test]
fn weak_dashes_on_clean_ground_stay_apart() {
    let found = read(picture(|x, y| {
        let loss = 0.30 * (line(x, y, 200.0, 295.0, 4.0) + line(x, y, 304.0, 400.0, 4.0));
        (1.0 - loss, 1.0 - 0.1 * loss)
    }));
    assert_eq!(found.indications.len(), 2);
}

#[test]
fn a_shadow_with_a_hard_edge_does_not_end_the_coat() {
    let found = read(picture(|x, y| {
        let light = if x + 0.4 * y > 420.0 { 0.38 } else { 1.0 };
        let loss = 0.7 * line(x, y, 480.0, 520.0, 4.0);
        (light * (1.0 - loss), light * (1.0 - 0.1 * loss))
    }));
    assert!(found.coat.area_mm2 > 0.85 * 2400.0, "{}", found.coat.area_mm2);
    assert_eq!(found.indications.len(), 1);
    assert!((found.indications[0].feret_mm - 4.0).abs() < 0.2);
}

#[test]
fn a_mark_just_inside_a_shadow_is_counted() {
    let shaded = picture(|x, y| {
        let light = 0.45 + 0.55 / (1.0 + ((y - 186.0) / 1.5).exp());
        let loss = 0.45 * line(x, y, 200.0, 300.0, 5.0);
        (light * (1.0 - loss), light * (1.0 - 0.1 * loss))
    });
    let photo = Photo::from_rgb(shaded);
    let counted = |shaded: f64| {
        let mut options = MeasureOptions::default();
        options.sorting.shaded = shaded;
        let scale: ScaleSpec = "pitch:0.1mm".parse().unwrap();
        measure(&photo, &[scale], &options).unwrap().indications.len()
    };
    // By its loss of red alone it would pass for dirt.
    assert_eq!(counted(f64::INFINITY), 0);
    assert_eq!(counted(MeasureOptions::default().sorting.shaded), 1);
}

#[test]
fn touching_spots_are_said_to_touch() {
    let disc =
        |x: f64, y: f64, cx: f64| 1.0 / (1.0 + (2.0 * ((x - cx).hypot(y - 200.0) - 10.0)).exp());
    let found = read(picture(|x, y| {
        let loss = 0.8 * disc(x, y, 250.0).max(disc(x, y, 269.5)).max(disc(x, y, 289.0));
        (1.0 - loss, 1.0 - 0.1 * loss)
    }));
    assert_eq!(found.indications.len(), 1);
    let words: Vec<&str> =
        found.indications[0].indication.doubts.iter().map(nde_core::Doubt::word).collect();
    assert!(words.contains(&"touching-spots"), "{words:?}");
}

#[test]
fn marks_on_a_thread_keep_their_shape() {
    // A row of three spots of 2 mm on grooves of 1.6 mm: light and shade of a quarter, as deep as the dye.
    let spot =
        |x: f64, y: f64, cx: f64| 1.0 / (1.0 + (2.0 * ((x - cx).hypot(y - 200.0) - 10.0)).exp());
    let found = read(picture(|x, y| {
        let groove = 0.25 * (std::f64::consts::TAU * (x + 0.2 * y) / 16.0).sin();
        let light = 1.0 + if (140.0..260.0).contains(&y) { groove } else { 0.0 };
        let loss = 0.40 * [230.0, 265.0, 300.0].map(|cx| spot(x, y, cx)).iter().sum::<f64>();
        (0.75 * light * (1.0 - loss), 0.75 * light * (1.0 - 0.1 * loss))
    }));
    assert_eq!(found.indications.len(), 3);
    for spot in &found.indications {
        let (length, width) = (spot.feret_mm, spot.seen_width_mm);
        assert!((length - 2.0).abs() < 0.2 && (width - 2.0).abs() < 0.2, "{length} x {width}");
    }
}

#[test]
fn a_white_surface_is_not_taken_for_a_clean_part_on_a_typed_scale_alone() {
    // A wall, a shirt: even, white, nothing red. With its outline drawn a person says that it is developer.
    let photo = Photo::from_rgb(picture(|_, _| (1.0, 1.0)));
    let fails = |region_px: Vec<Vec<[f64; 2]>>| {
        let mut options = MeasureOptions::default();
        options.region_px = region_px;
        let scale: ScaleSpec = "pitch:0.1mm".parse().unwrap();
        let found = measure(&photo, &[scale], &options).unwrap();
        found.gates.iter().filter(|gate| gate.outcome == nde_core::GateOutcome::Fail).count()
    };
    assert_eq!(fails(Vec::new()), 1);
    assert_eq!(fails(vec![vec![[0.0, 0.0], [600.0, 0.0], [600.0, 400.0], [0.0, 400.0]]]), 0);
}

#[test]
fn what_grain_adds_to_a_spot_is_partly_taken_off() {
    // Spots of 3 mm with soft edges on a coat with as much grain as powder has.
    let mut seed = 9_u32;
    let mut draw = || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(seed >> 16) / 65_536.0 - 0.5
    };
    let grain: Vec<f64> = (0..600 * 400).map(|_| 0.06 * (draw() + draw())).collect();
    let found = read(picture(|x, y| {
        let (dx, dy) = (x.rem_euclid(100.0) - 50.0, y.rem_euclid(100.0) - 50.0);
        let loss = 0.3 / (1.0 + (0.5 * (dx.hypot(dy) - 15.0)).exp());
        let left = 1.0 + grain[y as usize * 600 + x as usize];
        (left * (1.0 - loss), left * (1.0 - 0.1 * loss))
    }));
    let spots = &found.indications;
    assert_eq!(spots.len(), 24);
    let mean = |length: &dyn Fn(&nde_measure::Seen) -> f64| {
        spots.iter().map(length).sum::<f64>() / spots.len() as f64
    };
    let told = mean(&|s| s.feret_mm);
    let drawn = mean(&|s| 0.1 * nde_measure::size::max_feret(&s.outline_px).unwrap().length);
    // The two farthest of many points that grain has moved: a part of that is taken off, and no more than it is.
    assert!((3.0..drawn - 0.02).contains(&told), "{told} {drawn}");
}

/// Light grows across the coat until white is burnt out over its right half; marks of 2 mm across lie in the light and
/// in what is burnt out.
#[test]
fn a_mark_on_burnt_out_coat_is_counted_and_its_ground_is_not_read() {
    let left = [150.0, 200.0];
    let right = [480.0, 200.0];
    // In neutral, warm and cold light: what is burnt out has no colour.
    for red in [1.0, 1.2, 0.83] {
        let mut found = read(picture(|x, y| {
            let light = (1.0 + (x - 150.0).max(0.0) / 300.0).min(2.0);
            let spot =
                |[cx, cy]: [f64; 2]| 1.0 / (1.0 + (2.0 * ((x - cx).hypot(y - cy) - 10.0)).exp());
            let loss = 0.7 * (spot(left) + spot(right));
            (light * (1.0 - loss), red * light * (1.0 - 0.1 * loss))
        }));
        assert_eq!(found.indications.len(), 2, "{red}: {:?}", found.set_aside);
        found.indications.sort_by(|a, b| a.centroid_px[0].total_cmp(&b.centroid_px[0]));
        for (seen, at) in found.indications.iter().zip([left, right]) {
            let off = (seen.centroid_px[0] - at[0]).hypot(seen.centroid_px[1] - at[1]);
            assert!(off < 2.0 && (seen.feret_mm - 2.0).abs() < 0.3, "{red}: {seen:?}");
            let doubted = seen.indication.doubts.contains(&Doubt::TouchesGlare);
            assert_eq!(doubted, at[0] > 300.0, "{red}");
        }
        // Green grows from 0.75 of the light to all of it at x = 250, red of 0.83 at x = 332.
        let burnt_from_mm = if red < 1.0 { 33.2 } else { 25.0 };
        let share = found.coat.area_mm2 / (burnt_from_mm * 40.0);
        assert!((0.85..=1.0).contains(&share), "{red}: {share}");
        // Nothing is accepted, and for the right reason.
        let outcome = |name: &str| found.gates.iter().find(|g| g.name == name).unwrap().outcome;
        assert_eq!(outcome("glare"), GateOutcome::Fail, "{red}");
        assert_eq!(outcome("pink background"), GateOutcome::Pass, "{red}");
    }
}
