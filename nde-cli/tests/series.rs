//! A series of photos as a user runs it: drawn lines of known length that grow and stop.

mod run;

use image::{Rgb, RgbImage};
use std::path::Path;

/// A white coat with a red line of `pixels` x 6 pixels and a dot, at 0.1 mm a pixel.
fn photo(path: &Path, pixels: u32) {
    let mut picture = RgbImage::from_pixel(500, 300, Rgb([225, 225, 222]));
    let dye = Rgb([190, 40, 60]);
    for (x, y) in (150..150 + pixels).flat_map(|x| (140..146).map(move |y| (x, y))) {
        picture.put_pixel(x, y, dye);
    }
    for (x, y) in (390..402).flat_map(|x| (200..212).map(move |y| (x, y))) {
        picture.put_pixel(x, y, dye);
    }
    picture.save(path).expect("it can be written");
}

/// Exit code, results, talk.
fn follow(dir: &Path, words: &[&str]) -> (i32, String, String) {
    run::spoken(dir, &[&["measure", "--series", "--scale", "pitch:0.1mm"], words].concat())
}

#[test]
fn a_line_that_grows_is_told_from_a_spot_that_does_not() {
    let dir = tempfile::tempdir().expect("a folder");
    let dir = dir.path();
    for (name, pixels) in [("early.png", 60), ("later.png", 90), ("last.png", 110)] {
        photo(&dir.join(name), pixels);
    }
    let photos = ["last.png", "early.png", "later.png"];
    let run = |more: &[&str]| follow(dir, &[&photos, more].concat());
    let words = ["--minutes", "20,5,10", "--format", "json", "--plot", "growth.svg"];
    let (code, out, talk) = run(&words);
    assert_eq!(code, 0, "{talk}");
    let series: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    let line = &series["indications"][0];
    assert_eq!(line["says"], "growing");
    let sizes = line["sizes"].as_array().expect("a list");
    assert_eq!(sizes.len(), 3);
    for (size, truth) in sizes.iter().zip([6.0, 9.0, 11.0]) {
        let read = size["length_mm"].as_f64().expect("a number");
        assert!((read - truth).abs() < 0.1, "{sizes:?}");
    }
    assert!((line["latest_growth_mm"].as_f64().expect("a number") - 2.0).abs() < 0.1);
    assert_eq!(series["indications"][1]["says"], "no-growth-shown");
    let svg = std::fs::read_to_string(dir.join("growth.svg")).expect("it was written");
    assert!(svg.starts_with("<svg") && svg.ends_with("</svg>\n"));

    let (_, text, _) = run(&["--minutes", "20,5,10"]);
    assert!(text.contains("still growing") && text.contains("no growth shown"), "{text}");

    // Drawn pictures carry no time.
    let (code, _, talk) = run(&[]);
    assert!(code == 2 && talk.contains("--minutes 5,10,20"), "{talk}");
    let (code, _, talk) = run(&["--minutes", "1,2"]);
    assert!(code == 2 && talk.contains("--minutes gives 2 for 3 photos"), "{talk}");
}

#[test]
fn a_photo_that_cannot_be_read_does_not_stop_the_series() {
    let dir = tempfile::tempdir().expect("a folder");
    let dir = dir.path();
    photo(&dir.join("a.png"), 60);
    photo(&dir.join("c.png"), 60);
    std::fs::write(dir.join("b.png"), "no picture").expect("it can be written");
    let (code, text, talk) = follow(dir, &["a.png", "b.png", "c.png", "--minutes", "5,10,20"]);
    assert_eq!(code, 2);
    assert!(talk.contains("b.png"), "{talk}");
    assert!(text.contains("20 min") && text.contains("no growth shown"), "{text}");
}

#[test]
fn a_picture_that_shifts_by_hand_is_no_other_place() {
    let dir = tempfile::tempdir().expect("a folder");
    let dir = dir.path();
    // Rows of dots at 0.1 mm a pixel, the later ones longer; the camera was held 4 mm aside.
    let draw = |name: &str, aside: u32, length: u32| {
        let mut picture = RgbImage::from_pixel(500, 300, Rgb([225, 225, 222]));
        for [x0, y0] in [[90, 60], [230, 90], [150, 150], [330, 210], [80, 230]] {
            for (x, y) in (0..length).flat_map(|x| (0..8).map(move |y| (x, y))) {
                picture.put_pixel(x0 + aside + x, y0 + y, Rgb([190, 40, 60]));
            }
        }
        picture.save(dir.join(name)).expect("it can be written");
    };
    draw("early.png", 40, 16);
    draw("late.png", 0, 26);
    let words = ["early.png", "late.png", "--minutes", "5,20", "--format", "json"];
    let (code, out, talk) = follow(dir, &words);
    assert_eq!((code, talk.contains("warning")), (0, false), "{talk}");
    let series: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(series["photos"][0]["laid_over_by"], "indications");
    let told = series["indications"].as_array().expect("a list");
    assert!(told.len() == 5 && told.iter().all(|it| it["says"] == "growing"), "{told:?}");
}
