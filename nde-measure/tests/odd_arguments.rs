//! What a caller may hand over that no command line can: each is refused by name, and never measured.
#![allow(clippy::unwrap_used, reason = "a test may stop")]

use nde_measure::image::{Rgb, RgbImage};
use nde_measure::scale::{self, Height, ScaleOptions};
use nde_measure::{
    MeasureError, MeasureOptions, Photo, Plane, Scale, ScaleError, ScaleKind, ScaleSpec, marks,
    measure, measure_at,
};

/// A white coat with a red line of 3.0 x 0.4 mm at 0.1 mm a pixel.
fn coat_with_a_line() -> Photo {
    let mut picture = RgbImage::from_pixel(400, 300, Rgb([225, 225, 222]));
    for (x, y) in (150..180).flat_map(|x| (140..144).map(move |y| (x, y))) {
        picture.put_pixel(x, y, Rgb([190, 40, 60]));
    }
    Photo::from_rgb(picture)
}

fn pitch() -> ScaleSpec {
    "pitch:0.1mm".parse().unwrap()
}

/// Ten pixels a millimetre, seen squarely.
fn plane() -> Plane {
    let seen = [[0.0, 0.0], [400.0, 0.0], [400.0, 300.0], [0.0, 300.0]];
    let known = seen.map(|[x, y]| [0.1 * x, 0.1 * y]);
    Plane::through(&seen, &known).unwrap()
}

#[test]
fn a_photo_without_pixels_is_refused() {
    for size in [[0, 0], [0, 5], [5, 0]] {
        let photo = Photo::from_rgb(RgbImage::new(size[0], size[1]));
        let refused = measure(&photo, &[pitch()], &MeasureOptions::default());
        let expected = MeasureError::EmptyPhoto { width: size[0], height: size[1] };
        assert_eq!(refused.unwrap_err(), expected);
        assert!(measure(&photo, &[], &MeasureOptions::default()).is_err());
    }
}

#[test]
fn a_corner_that_is_no_number_lies_outside_the_photo() {
    let photo = coat_with_a_line();
    for stray in [[f64::NAN, 20.0], [20.0, f64::INFINITY]] {
        let mut options = MeasureOptions::default();
        options.region_px = vec![vec![[10.0, 10.0], stray, [300.0, 250.0], [10.0, 250.0]]];
        let refused = measure(&photo, &[pitch()], &options);
        assert!(matches!(refused, Err(MeasureError::RegionOutside { .. })), "{refused:?}");
    }
}

#[test]
fn a_height_or_a_focal_length_that_is_none_is_refused() {
    let photo = coat_with_a_line();
    let height = |mm, within_mm| {
        scale::find_with(
            &photo,
            &[pitch()],
            &ScaleOptions::default().with_height(Some(Height { mm, within_mm })),
        )
    };
    assert!(height(1.0, 0.5).is_ok());
    for (mm, within_mm) in [(f64::NAN, 0.5), (1.0, f64::NAN), (1.0, -0.5), (1.0, f64::INFINITY)] {
        let refused = height(mm, within_mm);
        assert!(matches!(refused, Err(ScaleError::NoHeight { .. })), "{mm} {within_mm}");
    }
    let focal = |mm| {
        let options = ScaleOptions::default().with_focal_35mm(Some(mm));
        scale::find_with(&photo, &[pitch()], &options)
    };
    assert!(focal(26.0).is_ok());
    for mm in [f64::NAN, 0.0, -26.0, 1.0e300] {
        let refused = focal(mm);
        assert!(matches!(refused, Err(ScaleError::NoFocal { .. })), "{mm}");
    }
}

#[test]
fn an_uncertainty_that_is_no_number_claims_nothing() {
    for relative_u in [f64::NAN, -0.01, 1.5, f64::INFINITY] {
        let refused = Scale::given(plane(), relative_u);
        assert!(matches!(refused, Err(ScaleError::NoUncertainty { .. })), "{relative_u}");
    }
    let mut broken = Scale::given(plane(), 0.01).unwrap();
    broken.terms[0].sensitivity = f64::NAN;
    let refused = measure_at(&coat_with_a_line(), broken, &MeasureOptions::default());
    assert_eq!(refused.unwrap_err(), MeasureError::NoUncertainty);
}

#[test]
fn a_plane_that_the_caller_knows_measures_as_the_same_pitch() {
    let photo = coat_with_a_line();
    let options = MeasureOptions::default();
    let given = Scale::given(plane(), 0.02).unwrap();
    assert_eq!(given.kind, ScaleKind::Given);
    let given = measure_at(&photo, given, &options).unwrap();
    let stated = measure(&photo, &[pitch()], &options).unwrap();
    let [a, b] = [&given, &stated].map(|m| m.list()[0].length);
    assert!((a.value.mm() - b.value.mm()).abs() < 1e-6, "{a:?} {b:?}");
    // Two per cent of 3 mm, both sides: the edges add their own.
    assert!(a.expanded_mm().unwrap() > 2.0 * 0.02 * 3.0 * 0.99, "{a:?}");
    assert!(a.expanded_mm() > b.expanded_mm());
    // Nothing says that this is a coat, as with any scale that is only stated.
    let names = |m: &nde_measure::Measurement| {
        m.gates.iter().map(|g| g.name.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(names(&given), names(&stated));
    assert!(names(&given).iter().any(|name| name == "coats nobody outlined"));
}

#[test]
fn letters_of_no_height_are_drawn_small() {
    let photo = coat_with_a_line();
    let found = measure(&photo, &[pitch()], &MeasureOptions::default()).unwrap();
    let size = |text_share| {
        let mut options = marks::MarkOptions::default();
        options.text_share = text_share;
        marks::draw(&photo, &found, &[], &options).dimensions()
    };
    assert_eq!(size(f64::NAN), size(0.0));
}
