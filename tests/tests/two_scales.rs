//! Two scales in one photo: the nearer one measures, and what they disagree on is said and allowed for.

use nde_core::Doubt;
use nde_measure::{MeasureOptions, Measurement, Photo, Plane, Scale, ScaleSpec, measure_at, scale};

/// A white coat with one red line of 60 x 8 pixels.
fn photo() -> Photo {
    let mut picture = image::RgbImage::from_pixel(800, 600, image::Rgb([225, 225, 222]));
    for (x, y) in (500..560).flat_map(|x| (300..308).map(move |y| (x, y))) {
        picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
    }
    Photo::from_rgb(picture)
}

/// A scale of so many millimetres a pixel that lies around a place of the photo.
fn lying(photo: &Photo, mm_per_px: f64, around_px: [f64; 2]) -> Scale {
    let spec: ScaleSpec = "pitch:0.1mm".parse().expect("a pitch");
    let mut one = scale::find(photo, &[spec]).expect("a pitch is a scale");
    let corners = [[-20.0, -20.0], [20.0, -20.0], [20.0, 20.0], [-20.0, 20.0]]
        .map(|d| [around_px[0] + d[0], around_px[1] + d[1]]);
    let on_part = corners.map(|c| c.map(|v| v * mm_per_px));
    one.plane = Plane::through(&corners, &on_part).expect("four corners");
    one.outline_mm = on_part.to_vec();
    one
}

fn read(far_mm_per_px: f64, near_mm_per_px: f64) -> Measurement {
    let photo = photo();
    let mut scale = lying(&photo, far_mm_per_px, [100.0, 100.0]);
    scale.others.push(lying(&photo, near_mm_per_px, [600.0, 300.0]));
    measure_at(&photo, scale, &MeasureOptions::default()).expect("measured")
}

#[test]
fn scales_that_agree_raise_no_doubt_and_the_nearer_one_measures() {
    // One per cent apart: within the uncertainty of two stated pitches.
    let seen = read(0.1, 0.101);
    let [line] = &seen.indications[..] else { panic!("{}", seen.indications.len()) };
    assert!(
        (line.feret_mm / (60.5_f64.hypot(8.0) * 0.101) - 1.0).abs() < 0.02,
        "{}",
        line.feret_mm
    );
    let other = read(0.101, 0.1);
    assert!((line.feret_mm / other.indications[0].feret_mm - 1.01).abs() < 0.001);
    let told = |m: &Measurement| {
        m.indications[0].indication.doubts.iter().any(|d| matches!(d, Doubt::ScalesDisagree { .. }))
    };
    assert!(!told(&seen) && !told(&other));
}

#[test]
fn scales_that_disagree_are_a_doubt_with_both_readings_and_widen_the_uncertainty() {
    let (apart, agreeing) = (read(0.1, 0.112), read(0.112, 0.112));
    let doubts = &apart.indications[0].indication.doubts;
    let found = doubts.iter().find_map(|d| match d {
        Doubt::ScalesDisagree { used_mm, other_mm } => Some((*used_mm, *other_mm)),
        _ => None,
    });
    let (used_mm, other_mm) = found.unwrap_or_else(|| panic!("{doubts:?}"));
    assert!((used_mm / other_mm - 1.12).abs() < 0.001, "{used_mm} {other_mm}");
    let u = |m: &Measurement| m.indications[0].indication.length.expanded_mm().expect("claimed");
    // The other reading lies inside the stated interval.
    assert!(u(&apart) > u(&agreeing), "{} {}", u(&apart), u(&agreeing));
    assert!(u(&apart) >= used_mm - other_mm, "{} for {used_mm} and {other_mm}", u(&apart));
}
