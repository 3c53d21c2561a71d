//! What is handed over of photos: one row a photo, and how each picture stood its checks.

mod run;

use calamine::{Data, Reader as _, Xlsx};
use image::{Rgb, RgbImage};
use run::spoken as nde;
use std::fs;
use std::path::Path;

/// A coat, with or without a mark, evenly lit or one end in deep shade.
fn paint(path: &Path, marked: bool, shade: f64) {
    let picture = RgbImage::from_fn(480, 240, |x, y| {
        let red = marked && (60..120).contains(&x) && (50..56).contains(&y);
        let ground = if red { [190.0, 40.0, 60.0] } else { [226.0, 226.0, 222.0] };
        let light = 1.0 - shade * f64::from(x) / 480.0;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 255")]
        Rgb(ground.map(|v: f64| (v * light) as u8))
    });
    picture.save(path).expect("it can be written");
}

#[test]
fn no_photo_vanishes_from_what_is_handed_over() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    fs::create_dir(at.join("job")).unwrap();
    paint(&at.join("job/blank.png"), false, 0.0);
    paint(&at.join("job/marked.png"), true, 0.0);
    paint(&at.join("job/shaded.png"), false, 0.7);
    fs::write(at.join("job/torn.png"), b"\x89PNG\r\n\x1a\n").unwrap();
    let region = "2,2 478,2 478,238 2,238";
    let words = ["evaluate", "job", "--scale", "pitch:0.1mm", "--region", region];
    let more = ["--limit", "linear=3mm", "--out", "out", "--xlsx", "--pdf"];
    let (code, table, talk) = nde(at, &[&words[..], &more].concat());
    assert_eq!(code, 2, "{talk}");
    // Photos and indications are counted each by its name.
    assert!(table.contains("3 photos read: 1 accept, 1 review, 1 reject; 1 indication in them; 1 photo could not be done"), "{table}");
    // Both limits of a check stand beside it.
    assert!(table.contains("uneven light"), "{table}");
    assert!(
        table.contains("(warns above 3 brightest : darkest, not fit above 5 brightest : darkest)"),
        "{table}"
    );

    let mut rows = csv::Reader::from_path(at.join("out/photos.csv")).unwrap();
    let head = rows.headers().unwrap().clone();
    assert_eq!(
        head.iter().collect::<Vec<_>>().join(","),
        "photo,done,verdict,indications,set_aside,area_read_mm2,checks_not_fit,checks_warning,checks,why_not_done,sha256"
    );
    let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    let column = |n: usize| rows.iter().map(|row| row[n].to_owned()).collect::<Vec<_>>();
    assert_eq!(column(0), ["blank.png", "marked.png", "shaded.png", "torn.png"]);
    assert_eq!(column(1), ["yes", "yes", "yes", "no"]);
    assert_eq!(column(2), ["accept", "reject", "review", ""]);
    assert_eq!(column(3), ["0", "1", "0", ""], "absent is empty");
    // 47.6 mm x 23.6 mm, to the cells' size.
    let area: f64 = rows[0][5].parse().unwrap();
    assert!((area - 1123.0).abs() < 60.0, "{area}");
    assert!(rows[2][8].contains("not fit: uneven light"), "{:?}", rows[2]);
    assert_eq!(&rows[2][6], "1");
    assert!(rows[3][9].contains(';') && !rows[3][9].is_empty(), "{:?}", rows[3]);

    let mut book: Xlsx<_> = calamine::open_workbook(at.join("out/indications.xlsx")).unwrap();
    let sheet = book.worksheet_range("photos").unwrap();
    let of = |heading: &str| {
        let place = |n: &u32| sheet.get_value((0, *n)) == Some(&Data::String(heading.into()));
        (0..20).find(place).unwrap_or_else(|| panic!("no column {heading}"))
    };
    assert_eq!(sheet.get_value((3, of("checks not fit"))), Some(&Data::Float(1.0)));
    for (n, row) in (1..).zip(&rows[..3]) {
        let told = sheet.get_value((n, of("checks of the picture")));
        assert_eq!(told, Some(&Data::String(row[8].to_owned())), "both say the same");
    }

    let page = fs::read_to_string(at.join("out/report.html")).unwrap();
    assert!(page.contains("not fit: uneven light"));
    let first = pdf_text(&at.join("out/report.pdf"));
    let first = first.split("Could not be done").next().unwrap_or_default();
    for part in ["picture checks", "not fit: uneven light", "unknown: blur, tilt"] {
        assert!(first.contains(part), "`{part}` is missing in\n{first}");
    }
}

/// All that a PDF says, as another library reads it, lines put together.
fn pdf_text(path: &Path) -> String {
    let file = lopdf::Document::load(path).expect("a PDF");
    let pages: Vec<u32> = file.get_pages().into_keys().collect();
    let text = file.extract_text(&pages).expect("text");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
