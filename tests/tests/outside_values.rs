//! Single steps of the measurer against values that other people's code or documents give.

use nde_measure::photo::{LINEAR_OF_SRGB, linear_of_srgb};
use nde_measure::{Photo, PhotoLimits, Plane, size};
use serde_json::Value;

fn outside(name: &str) -> String {
    let path = format!("{}/../fixtures/outside/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn points(value: &Value) -> Vec<[f64; 2]> {
    let number = |v: &Value| v.as_f64().expect("a number");
    value.as_array().expect("points").iter().map(|p| [number(&p[0]), number(&p[1])]).collect()
}

/// Source: IEC 61966-2-1 as scikit-image computes it (`tests/scripts/linear_light.py`), every byte.
#[test]
fn linear_light_of_every_byte_is_the_other_library_s() {
    let mut looked = 0;
    for line in outside("linear-light.csv").lines().filter(|l| !l.starts_with('#')) {
        let (byte, light) = line.split_once(',').expect("byte,light");
        let byte: u8 = byte.parse().expect("a byte");
        let light: f64 = light.parse().expect("a number");
        // The library's matrix row sums to 1 within 1e-6; our table is in single precision.
        assert!((linear_of_srgb(f64::from(byte) / 255.0) - light).abs() < 2.0e-6, "{byte}");
        assert!((f64::from(LINEAR_OF_SRGB[usize::from(byte)]) - light).abs() < 2.0e-6, "{byte}");
        looked += 1;
    }
    assert_eq!(looked, 256);
}

/// Source: values printed in many places for IEC 61966-2-1: byte 128 is 0.2159, 188 is 0.5029, 55 is 0.0382.
#[test]
fn well_known_greys() {
    for (byte, light) in [(128.0, 0.2159), (188.0, 0.5029), (55.0, 0.0382), (10.0, 0.0030)] {
        assert!((linear_of_srgb(byte / 255.0) - light).abs() < 5.0e-5, "{byte}");
    }
}

/// Source: scikit-image's feret_diameter_max and scipy's distance transform on a 0.0025 mm grid
/// (`tests/scripts/shapes.py`), good to two grid steps.
#[test]
fn lengths_and_widths_of_shapes_are_the_other_libraries_s() {
    let told: Value = serde_json::from_str(&outside("shapes.json")).expect("JSON");
    let good_to = 2.0 * told["step_mm"].as_f64().expect("a step") + 5.0e-4;
    let shapes = told["shapes"].as_array().expect("shapes");
    for shape in shapes {
        let name = &shape["name"];
        let outline = points(&shape["outline_mm"]);
        let feret = size::max_feret(&outline).expect("an outline").length;
        let (_, circle) = size::largest_circle(&outline, 1.0e-4).expect("an outline");
        let (area, _) = size::area_and_centroid(&outline);
        let want = |key: &str| shape[key].as_f64().expect("a number");
        assert!((feret - want("feret_mm")).abs() < good_to, "{name}: Feret {feret}");
        assert!((circle - want("inscribed_mm")).abs() < good_to, "{name}: circle {circle}");
        assert!((area.abs() / want("area_mm2") - 1.0).abs() < 0.002, "{name}: area {area}");
    }
    assert!(shapes.len() >= 10);
}

/// The search for the circle stops at this share of the shape's shorter side, in radius.
const STOPS_AT: f64 = 1.0e-3;

/// By hand: a square of 2 at any turn has Feret 2 sqrt 2 and holds a circle of 2; a 3-4-5 triangle holds one of 2.
#[test]
fn shapes_known_by_hand() {
    for degrees in [0.0_f64, 7.0, 45.0, 133.0] {
        let (s, c) = degrees.to_radians().sin_cos();
        let square: Vec<[f64; 2]> = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]
            .iter()
            .map(|p| [c * p[0] - s * p[1] + 40.0, s * p[0] + c * p[1] - 7.0])
            .collect();
        let feret = size::max_feret(&square).expect("four points").length;
        assert!((feret - 8.0_f64.sqrt()).abs() < 1.0e-9);
        let circle = size::largest_circle(&square, 1.0e-5).expect("four points").1;
        assert!((circle - 2.0).abs() < 2.0 * STOPS_AT * 3.0, "{circle}");
    }
    let triangle = [[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]];
    let circle = size::largest_circle(&triangle, 1.0e-5).expect("three points").1;
    assert!((circle - 2.0).abs() < 2.0 * STOPS_AT * 3.0, "{circle}");
}

/// Decoding hostile bytes is an error, never a panic.
#[test]
fn bytes_that_are_no_photo_are_refused() {
    let limits = PhotoLimits::default();
    let mut noise = nde_checks::paint::dice::Dice::new(1);
    let picture = image::RgbImage::from_fn(400, 300, |x, y| {
        image::Rgb([noise.bits().to_le_bytes()[0], x.to_le_bytes()[0], y.to_le_bytes()[0]])
    });
    let mut jpeg = nde_checks::paint::sensor::jpeg(&picture, 80);
    assert!(Photo::decode(&jpeg, &limits).is_ok());
    jpeg.truncate(jpeg.len() * 2 / 3);
    let not_photos: [&[u8]; 4] = [b"", b"\xff\xd8\xff", b"%PDF-1.7", &jpeg];
    for bytes in not_photos {
        let refused = Photo::decode(bytes, &limits).expect_err("no photo");
        assert!(
            refused.to_string().contains(';') || refused.to_string().contains('('),
            "{refused}"
        );
    }
}

/// Source: opencv-python 5.0.0 `findHomography`, least squares on the part; ours is least squares in
/// the photo, so with scattered corners the two differ by a part of the scatter (0.15 px, about 0.015 mm).
#[test]
fn planes_through_known_corners_are_the_other_library_s() {
    let told: Value = serde_json::from_str(&outside("homography.json")).expect("JSON");
    let cases = told["cases"].as_array().expect("cases");
    assert_eq!(cases.len(), 8);
    for case in cases {
        let plane = Plane::through(&points(&case["photo_px"]), &points(&case["part_mm"]))
            .expect("24 corners span a plane");
        let scattered = case["noise_px"].as_f64().expect("number") > 0.0;
        let allowed = if scattered { 0.015 } else { 0.001 };
        for (at, there) in points(&case["probe_px"]).iter().zip(points(&case["probe_mm"])) {
            let here = plane.to_part(*at);
            let apart = (here[0] - there[0]).hypot(here[1] - there[1]);
            assert!(apart < allowed, "{}: {apart} mm at {at:?}", case["name"]);
        }
    }
}
