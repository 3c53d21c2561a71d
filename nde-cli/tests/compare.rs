//! The built command on the same part at two times.

mod run;

use image::{Rgb, RgbImage};
use run::spoken as nde;
use std::path::Path;

/// A coat with marks that begin at these places, 6 mm x 0.6 mm at 0.1 mm a pixel.
fn paint(path: &Path, marks: &[[u32; 2]]) {
    let mut picture = RgbImage::from_pixel(480, 240, Rgb([226, 226, 222]));
    for [left, top] in marks {
        for (x, y) in (0..60).flat_map(|x| (0..6).map(move |y| (left + x, top + y))) {
            picture.put_pixel(x, y, Rgb([190, 40, 60]));
        }
    }
    picture.save(path).expect("it can be written");
}

const SCALE: [&str; 4] = ["--scale", "pitch:0.1mm", "--region", "5,5 475,5 475,235 5,235"];
const LEFT_HALF: [&str; 4] = ["--scale", "pitch:0.1mm", "--region", "5,5 240,5 240,235 5,235"];

#[test]
fn ground_that_was_not_read_is_neither_gone_nor_new() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    paint(&at.join("a.png"), &[[60, 50], [320, 120], [90, 180]]);
    paint(&at.join("b.png"), &[[60, 50], [320, 120]]);
    for (photo, region, out) in [("a.png", SCALE, "whole"), ("b.png", LEFT_HALF, "half")] {
        let words = [&["evaluate", photo, "--out", out, "-q"][..], &region].concat();
        let (code, _, talk) = nde(at, &words);
        assert_eq!(code, 0, "{talk}");
    }
    let words = |out: &str| -> Vec<String> {
        let rows = out.lines().skip(1).map(|row| row.split(',').nth(2).unwrap_or("").to_owned());
        let mut words: Vec<String> = rows.collect();
        words.sort();
        words
    };
    let (code, out, talk) = nde(at, &["compare", "whole", "half", "--format", "csv"]);
    assert_eq!(code, 1, "{talk}");
    // The one at the right lies where nothing was read; the lowest is gone, for that half was read.
    assert_eq!(words(&out), ["gone", "matched", "not-read-now"], "{out}");
    let (_, out, _) = nde(at, &["compare", "half", "whole", "--format", "csv"]);
    assert_eq!(words(&out), ["matched", "new", "not-read-then"], "{out}");
    let (_, out, _) = nde(at, &["compare", "whole", "half"]);
    assert!(out.contains("lies outside the area read now: it may still be there"), "{out}");
    assert!(out.contains("is not counted now"), "{out}");
    // 47 mm x 23 mm, and half of it.
    assert!(out.contains("area read: then 10.") && out.contains(", now 5."), "{out}");
    let (_, out, _) = nde(at, &["compare", "half", "whole"]);
    assert!(out.contains("lies outside the area read then: it may have been there"), "{out}");
    // Photos measured on the spot are told apart alike.
    let spot = [&["compare", "a.png", "b.png", "--format", "csv"][..], &LEFT_HALF].concat();
    let (_, out, talk) = nde(at, &spot);
    assert_eq!(words(&out), ["gone", "matched"], "{out}{talk}");
}

#[test]
fn nothing_at_either_time_is_said_and_how_much_was_read() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    paint(&at.join("a.png"), &[]);
    paint(&at.join("b.png"), &[]);
    let (code, out, talk) = nde(at, &[&["compare", "a.png", "b.png"][..], &SCALE].concat());
    assert_eq!(code, 0, "{talk}");
    assert!(out.contains("neither holds an indication, then or now"), "{out}");
    assert!(out.contains("area read: then 10."), "{out}");
    // What was read at no time together compares nothing, and that is no all-clear.
    let right = ["--scale", "pitch:0.1mm", "--region", "245,5 475,5 475,235 245,235"];
    for (photo, region, out) in [("a.png", LEFT_HALF, "left"), ("b.png", right, "right")] {
        let words = [&["evaluate", photo, "--out", out, "-q"][..], &region].concat();
        assert_eq!(nde(at, &words).0, 0);
    }
    let (code, out, talk) = nde(at, &["compare", "left", "right"]);
    assert_eq!(code, 1, "{out}");
    assert!(talk.contains("no ground was read in both"), "{talk}");
}
