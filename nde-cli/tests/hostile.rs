//! Names and texts from outside that mean something to a shell, a spreadsheet, a browser, a terminal or
//! a file system: nothing in them does anything anywhere. Each form is opened by a reader that is not ours.

#![cfg(unix)]

mod run;

use calamine::{Data, Reader as _, Xlsx};
use html5ever::tendril::TendrilSink as _;
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use run::output as nde;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt as _;
use std::path::Path;
use std::process::Output;

/// What does something where it is not made inert.
const TEXTS: [&str; 6] = [
    "=cmd|'!C calc'!A0",
    "<script>alert(1)<img src=x onerror=alert(2)>",
    "@SUM(1+1)*cmd|' \"quoted\" \\",
    "tab\there \u{1b}[2Jand\nnew line",
    "\u{202e}gpj.exe \u{2066}\u{2028}",
    "+1-1 &lt;b&gt; </td></table></body> %s%n $(touch made) `touch made` ; touch made",
];

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

/// Nothing in what is printed steers a terminal.
fn printed_plainly(ran: &Output) {
    for stream in [&ran.stdout, &ran.stderr] {
        for c in text(stream).chars() {
            let turns = matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
            assert!(c == '\n' || !(c.is_control() || turns), "{c:?} in\n{}", text(stream));
        }
    }
}

/// A cell does not begin as a formula does, unless it is a number.
fn inert(cell: &str) {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    assert!(!formula || cell.parse::<f64>().is_ok(), "a formula: {cell}");
}

fn csv_rows(path: &Path) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).expect("a list");
    let heads = reader.headers().expect("headings").clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    rows.iter().flatten().for_each(inert);
    let named = |row: &csv::StringRecord| {
        heads.iter().map(str::to_owned).zip(row.iter().map(str::to_owned)).collect()
    };
    rows.iter().map(named).collect()
}

/// The names of all elements and whether any carries a script; panics where one does.
fn elements(html: &str) -> BTreeMap<String, usize> {
    fn walk(node: &Handle, all: &mut BTreeMap<String, usize>) {
        if let NodeData::Element { name, attrs, .. } = &node.data {
            *all.entry(name.local.to_string()).or_default() += 1;
            for one in attrs.borrow().iter() {
                let (name, value) = (one.name.local.to_string(), one.value.to_string());
                assert!(!name.starts_with("on"), "{name}={value}");
                let leads = ["src", "href"].contains(&name.as_str());
                assert!(!leads || !value.contains("script:"), "{name}={value}");
            }
        }
        node.children.borrow().iter().for_each(|child| walk(child, all));
    }
    let dom = html5ever::parse_document(RcDom::default(), Default::default()).one(html);
    assert!(dom.errors.borrow().is_empty(), "{:?}", dom.errors.borrow());
    let mut all = BTreeMap::new();
    walk(&dom.document, &mut all);
    all
}

fn pdf(path: &Path) -> String {
    let file = lopdf::Document::load(path).expect("a PDF");
    for object in file.objects.values() {
        if let Ok(dict) = object.as_dict() {
            for key in [&b"JS"[..], b"JavaScript", b"URI", b"Launch", b"OpenAction", b"AA"] {
                assert!(!dict.has(key), "{} in the PDF", text(key));
            }
        }
    }
    let pages: Vec<u32> = file.get_pages().keys().copied().collect();
    file.extract_text(&pages).expect("its text")
}

fn names_in(dir: &Path) -> BTreeSet<Vec<u8>> {
    let entries = fs::read_dir(dir).expect("a folder");
    entries.map(|entry| entry.expect("an entry").file_name().as_bytes().to_vec()).collect()
}

fn paint(path: &Path, seed: u32) {
    let mut picture = image::RgbImage::from_pixel(320, 240, image::Rgb([226, 226, 222]));
    for (x, y) in (60..70 + seed).flat_map(|x| (50..58).map(move |y| (x, y))) {
        picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
    }
    // Rust is not counted: it stands in the other list.
    for (x, y) in (200..212).flat_map(|x| (150..160).map(move |y| (x, y))) {
        picture.put_pixel(x, y, image::Rgb([150, 112, 60]));
    }
    picture.save_with_format(path, image::ImageFormat::Png).expect("saved");
}

fn file_names() -> Vec<Vec<u8>> {
    let mut names: Vec<Vec<u8>> =
        TEXTS.iter().map(|text| format!("{}.png", text.replace('/', "")).into_bytes()).collect();
    names.push(b"\xff\xfe\xed\xa0\x80.png".to_vec());
    names.push(format!("{}.png", "long ".repeat(40)).into_bytes());
    names.push(format!("{}.png", "x".repeat(251)).into_bytes());
    names.push("..png".into());
    names
}

fn quoted(text: &str) -> String {
    serde_json::to_string(text).expect("a text")
}

#[test]
fn nothing_from_outside_does_anything() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    let job = at.join("job");
    fs::create_dir(&job).unwrap();
    let names = file_names();
    for (n, name) in (0..).zip(&names) {
        // A name that begins with a dot is a hidden file, and left alone.
        paint(&job.join(OsStr::from_bytes(name)), n);
    }
    fs::write(job.join("bad.png"), "x").unwrap();
    fs::rename(job.join("bad.png"), job.join(format!("{} bad.png", TEXTS[1].replace('/', ""))))
        .unwrap();
    let seen = names.iter().filter(|name| !name.starts_with(b".")).count();

    // Rules, sheet and calls with such texts.
    let rules = format!(
        "id = {}\ntitle = {}\nedition = {}\nunit = \"mm\"\ncautions = [{}]\n\n[[reject]]\nname = {}\nkind = \"length\"\nof = \"linear\"\nlength = \"> 1 mm\"\n",
        quoted("own-1"),
        quoted(TEXTS[1]),
        quoted(TEXTS[0]),
        quoted(TEXTS[4]),
        quoted(TEXTS[2])
    );
    fs::write(at.join("own.toml"), rules).unwrap();
    let checked = nde(at, &["rules", "check", "own.toml"]);
    printed_plainly(&checked);
    assert_eq!(checked.status.code(), Some(0), "{}", text(&checked.stderr));
    printed_plainly(&nde(at, &["rules", "show", "own.toml"]));
    let sheet = format!(
        "[part]\nname = {}\nnumber = {}\narea = {}\n\n[people]\ntested_by = {}\n\n[materials.penetrant]\nproduct = {}\nbatch = {}\n",
        quoted(TEXTS[1]),
        quoted(TEXTS[0]),
        quoted(TEXTS[2]),
        quoted(TEXTS[4]),
        quoted(TEXTS[3]),
        quoted(TEXTS[5])
    );
    fs::write(at.join("sheet.toml"), sheet).unwrap();
    printed_plainly(&nde(at, &["sheet", "show", "sheet.toml"]));
    let mut calls = csv::Writer::from_path(at.join("calls.csv")).unwrap();
    calls.write_record(["photo", "id", "relevance", "label", "reason", "by"]).unwrap();
    for (n, says) in TEXTS.iter().enumerate() {
        let photo = format!("{}.png", TEXTS[n].replace('/', ""));
        calls.write_record([&photo, "1", "non-relevant", says, says, says]).unwrap();
    }
    calls.flush().unwrap();

    let before = names_in(at);
    let run = |more: &[&str]| {
        let words = [
            "evaluate",
            "job",
            "--scale",
            "pitch:0.1mm",
            "--rules",
            "own.toml",
            "--sheet",
            "sheet.toml",
            "--calls",
            "calls.csv",
        ];
        nde(at, &[&words[..], more].concat())
    };
    let ran = run(&["--out", "out", "--xlsx", "--jsonl", "--pdf", "-v"]);
    printed_plainly(&ran);
    assert_eq!(ran.status.code(), Some(2), "one is no picture: {}", text(&ran.stderr));
    for form in ["csv", "json", "jsonl", "table"] {
        let ran = run(&["--format", form, "-q"]);
        assert_eq!(ran.status.code(), Some(2));
        if form == "table" {
            printed_plainly(&ran);
        }
    }
    let made = &names_in(at) - &before;
    assert_eq!(
        made,
        BTreeSet::from([b"out".to_vec()]),
        "nothing is made beside the folder asked for"
    );
    let out = at.join("out");

    let list = csv_rows(&out.join("indications.csv"));
    assert_eq!(list.len(), seen, "one indication a photo");
    let photos: BTreeSet<&str> = list.iter().map(|row| row["photo"].as_str()).collect();
    assert_eq!(photos.len(), seen, "no two photos of one name");
    assert!(list.iter().any(|row| row["call_reason"] == format!("'{}", TEXTS[0])), "{list:?}");
    let aside = csv_rows(&out.join("set_aside.csv"));
    assert!(aside.len() >= seen, "{aside:?}");

    let json: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("indications.json")).unwrap()).unwrap();
    assert_eq!(json["cases"].as_array().map(Vec::len), Some(seen));
    assert_eq!(json["rules"]["title"], TEXTS[1]);
    let named = |photo: &serde_json::Value| photo["photo"].as_str().expect("a name").to_owned();
    let in_json: BTreeSet<String> = json["cases"].as_array().unwrap().iter().map(named).collect();
    assert!(
        in_json.contains("\\xff\\xfe\\xed\\xa0\\x80.png")
            && in_json.contains("=cmd|'!C calc'!A0.png")
    );
    let lines = fs::read_to_string(out.join("indications.jsonl")).unwrap();
    let lines: Vec<serde_json::Value> =
        lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines.len(), seen + 1, "a line a photo");

    let mut book: Xlsx<_> = calamine::open_workbook(out.join("indications.xlsx")).unwrap();
    for name in book.sheet_names() {
        let formulas = book.worksheet_formula(&name).unwrap();
        assert!(formulas.used_cells().all(|(_, _, text)| text.is_empty()), "a formula in {name}");
    }
    let cells = book.worksheet_range("indications").unwrap();
    assert_eq!(cells.rows().count(), seen + 1);
    assert!(cells.used_cells().any(|(_, _, cell)| *cell == Data::String(TEXTS[0].into())));

    let html = fs::read_to_string(out.join("report.html")).unwrap();
    let found = elements(&html);
    assert_eq!((found["script"], found["img"], found["style"]), (1, seen, 1), "{found:?}");
    assert!(html.contains("&lt;script&gt;alert(1)") && !html.contains('\u{202e}'));
    let told = pdf(&out.join("report.pdf"));
    assert!(told.contains("=cmd|'!C calc'!A0") && !told.contains('\u{202e}'), "{told}");

    let marked = names_in(&out.join("marked"));
    assert_eq!(marked.len(), seen);
    for name in &marked {
        let name = text(name);
        assert!(name.len() <= 170 && name.ends_with(".jpg"), "{name}");
        assert!(
            !name.contains(['<', '>', ':', '"', '|', '?', '*', '\\', '/', '\u{202e}', '\u{2028}']),
            "{name}"
        );
        assert!(!name.chars().any(char::is_control), "{name}");
    }
    for name in names_in(&out.join("photos")) {
        let stem = text(&name).replace(".json", "");
        assert!(
            stem == ".lock" || (stem.len() == 16 && stem.bytes().all(|b| b.is_ascii_hexdigit())),
            "{stem}"
        );
    }
}
