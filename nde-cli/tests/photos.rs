//! The built command on the demo photos.

mod run;

use run::output as nde;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/photos")
}

fn talk(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Every file below a folder with its bytes.
fn files(dir: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(dir).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            all.extend(files(&path));
        } else {
            all.insert(path.clone(), fs::read(&path).expect("a file"));
        }
    }
    all
}

fn copy_of(photo: &str, to: &Path) {
    fs::copy(demo().join(photo), to).expect("a demo photo");
}

#[test]
fn the_demo_folder_gives_list_record_and_marked_photos_the_same_each_time() {
    let dir = tempfile::tempdir().unwrap();
    let photos = demo();
    let before = files(&photos);
    let words =
        |out| ["evaluate", photos.to_str().unwrap(), "--rules", "weld-vessel-si", "--out", out];
    let first = nde(dir.path(), &words("out"));
    assert_eq!(first.status.code(), Some(1), "{}", talk(&first));
    assert_eq!(files(&photos), before, "the photos are as they were");

    let out = dir.path().join("out");
    let csv = fs::read_to_string(out.join("indications.csv")).unwrap();
    let json: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("indications.json")).unwrap()).unwrap();
    let cases = json["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 4);
    for case in cases {
        let photo = case["photo"].as_str().unwrap();
        assert!(!photo.contains('/'), "relative to the folder: {photo}");
        let marked = image::open(out.join(case["marked"].as_str().unwrap())).unwrap();
        assert_eq!(marked.width(), 1800, "{photo}");
        assert_eq!(case["picture"]["scale"]["kind"], "card", "{photo}");
        let count = case["indications"].as_array().unwrap().len();
        let rows = csv.lines().filter(|row| row.starts_with(&format!("{photo},"))).count();
        assert_eq!(rows, count, "{photo}");
        assert!(count > 0, "{photo}");
    }
    let aside: usize = cases.iter().map(|c| c["set_aside"].as_array().unwrap().len()).sum();
    let aside_rows = fs::read_to_string(out.join("set_aside.csv")).unwrap().lines().count() - 1;
    assert_eq!(aside, aside_rows);

    // What the README shows is what it prints. After a change that alters values: paste it anew.
    let readme = fs::read_to_string(photos.join("../../README.md")).unwrap();
    let shown = readme.split("```text\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    let printed = String::from_utf8(first.stdout.clone()).unwrap();
    assert!(
        printed.contains(shown),
        "the README shows\n{shown}\nand the command prints\n{printed}"
    );

    let second = nde(dir.path(), &words("again"));
    assert_eq!(first.stdout, second.stdout);
    let names = |dir: &str| -> Vec<Vec<u8>> { files(&dir_of(&out, dir)).into_values().collect() };
    assert!(names("out") == names("again"), "the same bytes, whichever worker came first");
}

fn dir_of(out: &Path, name: &str) -> PathBuf {
    out.parent().expect("it has one").join(name)
}

#[test]
fn one_bad_photo_does_not_stop_the_rest() {
    let dir = tempfile::tempdir().unwrap();
    fs::create_dir(dir.path().join("in")).unwrap();
    copy_of("chainplate-port.jpg", &dir.path().join("in/good.jpg"));
    let bytes = fs::read(demo().join("chainplate-port.jpg")).unwrap();
    fs::write(dir.path().join("in/bad.jpg"), &bytes[..bytes.len() / 4]).unwrap();
    let ran = nde(dir.path(), &["evaluate", "in", "--limit", "count=100", "--out", "out", "-q"]);
    assert_eq!(ran.status.code(), Some(2), "{}", talk(&ran));
    assert!(talk(&ran).starts_with("error: bad.jpg: "), "{}", talk(&ran));
    assert_eq!(talk(&ran).lines().count(), 1);
    let table = String::from_utf8(ran.stdout).unwrap();
    assert!(table.contains("good.jpg") && table.contains("1 photo could not be done"), "{table}");
    assert!(dir.path().join("out/marked/good.jpg").exists());
    assert!(!dir.path().join("out/marked/bad.jpg").exists());
}

#[test]
fn two_photos_of_one_name_get_a_marked_photo_each() {
    let dir = tempfile::tempdir().unwrap();
    for folder in ["a", "b"] {
        fs::create_dir(dir.path().join(folder)).unwrap();
        copy_of("chainplate-port.jpg", &dir.path().join(folder).join("1.jpg"));
    }
    let ran = nde(dir.path(), &["evaluate", "a", "b", "--out", "out", "--format", "csv", "-q"]);
    assert_eq!(ran.status.code(), Some(0), "{}", talk(&ran));
    let csv = String::from_utf8(ran.stdout).unwrap();
    assert!(csv.contains("\na/1.jpg,1,") && csv.contains("\nb/1.jpg,1,"), "{csv}");
    let marked: Vec<PathBuf> = files(&dir.path().join("out/marked")).into_keys().collect();
    assert_eq!(marked.len(), 2, "{marked:?}");
}

#[test]
fn no_photo_is_written_over() {
    let dir = tempfile::tempdir().unwrap();
    fs::create_dir_all(dir.path().join("out/marked")).unwrap();
    let photo = dir.path().join("out/marked/part.jpg");
    copy_of("chainplate-port.jpg", &photo);
    let before = fs::read(&photo).unwrap();
    let ran = nde(dir.path(), &["evaluate", "out/marked", "--out", "out"]);
    assert_eq!(ran.status.code(), Some(2));
    assert!(talk(&ran).contains("would write over the photo"), "{}", talk(&ran));
    assert_eq!(fs::read(&photo).unwrap(), before);
}

#[test]
fn a_region_holds_the_reading_to_it() {
    let dir = tempfile::tempdir().unwrap();
    copy_of("chainplate-port.jpg", &dir.path().join("p.jpg"));
    let rows = |words: &[&str]| {
        let ran = nde(dir.path(), &[&["measure", "p.jpg", "--format", "csv"], words].concat());
        assert_eq!(ran.status.code(), Some(0), "{}", talk(&ran));
        String::from_utf8(ran.stdout).unwrap().lines().count() - 1
    };
    let whole = rows(&[]);
    // The lower left of the coat, where nothing is.
    let empty = rows(&["--region", "1000,1400 1500,1400 1500,1850 1000,1850"]);
    assert!(whole >= 3, "{whole}");
    assert_eq!(empty, 0);
}

/// The printed card, laid into a grey picture so many times.
fn picture_of_cards(dir: &Path, count: u32) -> PathBuf {
    let made = nde(dir, &["card", "--out", "card.png", "--dpi", "150"]);
    assert_eq!(made.status.code(), Some(0), "{}", talk(&made));
    let card = image::open(dir.join("card.png")).expect("a PNG").to_rgb8();
    let (width, height) = card.dimensions();
    let mut picture =
        image::RgbImage::from_pixel(width * 2 + 150, height + 100, image::Rgb([120, 122, 125]));
    for n in 0..count {
        image::imageops::replace(&mut picture, &card, i64::from(50 + n * (width + 50)), 50);
    }
    let path = dir.join(format!("{count}.png"));
    picture.save(&path).expect("it can be written");
    path
}

#[test]
fn two_cards_stand_in_one_frame_and_the_printed_one_is_found() {
    let dir = tempfile::tempdir().unwrap();
    picture_of_cards(dir.path(), 2);
    let region = ["--format", "json", "--region", "900,60 1200,60 1200,700 900,700"];
    let two = nde(dir.path(), &[&["measure", "2.png"][..], &region].concat());
    assert_eq!(two.status.code(), Some(0), "{}", talk(&two));
    let json: serde_json::Value = serde_json::from_slice(&two.stdout).unwrap();
    let scale = &json["cases"][0]["picture"]["scale"];
    let others = scale["others"].as_array().unwrap();
    assert_eq!(others.len(), 1);
    assert_eq!(others[0]["card"]["markers_seen"], 17);

    // The paper around the card stands for the coat: nothing red is on it.
    picture_of_cards(dir.path(), 1);
    let words =
        ["measure", "1.png", "--format", "json", "--region", "900,60 1500,60 1500,700 900,700"];
    let one = nde(dir.path(), &words);
    assert_eq!(one.status.code(), Some(0), "{}", talk(&one));
    let json: serde_json::Value = serde_json::from_slice(&one.stdout).unwrap();
    let scale = &json["cases"][0]["picture"]["scale"];
    assert_eq!(scale["card"]["markers_seen"], 17);
    // 150 dots an inch: one pixel is 25.4 / 150 mm, as printed.
    let h = &scale["part_from_photo"];
    let pitch = h[0][0].as_f64().unwrap() / h[2][2].as_f64().unwrap();
    assert!((pitch / (25.4 / 150.0) - 1.0).abs() < 0.001, "{pitch}");
}

#[test]
fn a_height_shortens_what_lies_nearer_and_the_budget_adds_up_to_the_stated_u() {
    let photo = demo().join("deck-fitting-cast.jpg");
    let read = |more: &[&str]| {
        let words = [&["measure", photo.to_str().unwrap(), "--format", "csv"][..], more].concat();
        let output = nde(&demo(), &words);
        assert_eq!(output.status.code(), Some(0), "{}", talk(&output));
        let mut rows = csv::Reader::from_reader(&output.stdout[..]);
        let names = rows.headers().unwrap().clone();
        rows.records()
            .map(|row| {
                let row = row.unwrap();
                names.iter().zip(&row).map(|(k, v)| (k.to_owned(), v.to_owned())).collect()
            })
            .collect::<Vec<BTreeMap<String, String>>>()
    };
    let number = |row: &BTreeMap<String, String>, key: &str| row[key].parse::<f64>().unwrap();
    let level = read(&[]);
    let raised = read(&["--height", "6mm±0.2mm"]);
    let below = read(&["--height", "-6mm"]);
    for ((row, higher), lower) in level.iter().zip(&raised).zip(&below) {
        let size = |row| number(row, "length_mm");
        assert!(size(higher) < 0.99 * size(row) && size(lower) > 1.01 * size(row), "{row:?}");
    }
    let sources = read(&["--budget"]);
    assert!(sources.len() > 10);
    for row in &level {
        let of_part = |part: &str| {
            let squares = sources
                .iter()
                .filter(|s| s["id"] == row["id"] && s["part"] == part)
                .map(|s| number(s, "contribution_mm").powi(2));
            2.0 * squares.sum::<f64>().sqrt()
        };
        let (scale, edge) = (of_part("scale"), of_part("edge"));
        assert!((scale - number(row, "length_scale_u_mm")).abs() < 0.001, "{row:?}");
        assert!((edge - number(row, "length_edge_u_mm")).abs() < 0.001, "{row:?}");
        assert!((scale.hypot(edge) - number(row, "length_u_mm")).abs() < 0.001, "{row:?}");
    }
}

#[test]
fn each_stage_s_picture_is_written_on_request() {
    let dir = tempfile::tempdir().unwrap();
    let photo = demo().join("deck-fitting-cast.jpg");
    let words = ["measure", photo.to_str().unwrap(), "--explain", "why", "--quiet"];
    let output = nde(dir.path(), &words);
    assert_eq!(output.status.code(), Some(0), "{}", talk(&output));
    let folder = dir.path().join("why/deck-fitting-cast.seen");
    for name in ["1-scale.jpg", "2-coat.jpg", "3-redness.jpg", "4-regions.jpg"] {
        let picture = image::open(folder.join(name)).unwrap();
        assert!(picture.width() >= 1800, "{name}");
    }
    let told = fs::read_to_string(folder.join("reasons.txt")).unwrap();
    assert!(told.contains("standard card, 17 of 17 markers seen"), "{told}");
    assert!(told.contains("1 at ") && told.contains("counted"), "{told}");
    // The redness of the long crack is dark, the coat beside it is not.
    let redness = image::open(folder.join("3-redness.jpg")).unwrap().to_luma8();
    let dark = redness.pixels().filter(|p| p.0[0] < 100).count();
    assert!(dark > 500 && dark < redness.len() / 10, "{dark}");
}

/// Marks of one length, 9 pixels apart: a row of ticks, but no rule.
#[test]
fn what_was_seen_of_a_scale_that_could_not_be_read_is_shown() {
    let dir = tempfile::tempdir().unwrap();
    let marked = |x: u32, y: u32| x % 9 < 2 && (300..340).contains(&y);
    let grey = |x, y| image::Rgb([if marked(x, y) { 40 } else { 190 }; 3]);
    image::RgbImage::from_fn(900, 700, grey).save(dir.path().join("row.png")).unwrap();
    let words = ["measure", "row.png", "--scale", "ticks:1mm", "--explain", "why", "--quiet"];
    let output = nde(dir.path(), &words);
    assert_eq!(output.status.code(), Some(2), "{}", talk(&output));
    let told = fs::read_to_string(dir.path().join("why/row.seen/reasons.txt")).unwrap();
    assert!(told.starts_with("not measured: no rule could be read"), "{told}");
    assert!(told.contains("ticks, their lengths show no graduation"), "{told}");
    let shown = image::open(dir.path().join("why/row.seen/1-scale.jpg")).unwrap().to_luma8();
    let changed = shown.enumerate_pixels().filter(|(x, y, p)| {
        let was = f64::from(grey(*x, *y).0[0]);
        (f64::from(p.0[0]) - was).abs() > 60.0
    });
    assert!(changed.count() > 500, "crosses on the ticks");
}
