//! What a person called stands in every form beside what was measured.

mod run;

use run::spoken as nde;
use std::fs;
use std::path::Path;

fn pdf_text(path: &Path) -> String {
    let file = lopdf::Document::load(path).expect("a PDF");
    let pages: Vec<u32> = file.get_pages().keys().copied().collect();
    let text = file.extract_text(&pages).expect("its text");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn calls_and_both_verdicts_stand_in_every_form() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    let mut picture = image::RgbImage::from_pixel(320, 240, image::Rgb([226, 226, 222]));
    for (x, y) in (60..120).flat_map(|x| (50..56).map(move |y| (x, y))) {
        picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
    }
    picture.save(at.join("a.png")).unwrap();
    fs::write(
        at.join("calls.csv"),
        "photo,id,relevance,label,reason,by,when,own_length_mm,own_width_mm\n\
         a.png,1,non-relevant,thread root,runs round the bolt,J.R.,2026-05-04T10:05:00+02:00,5.75,0.25\n",
    )
    .unwrap();
    let words = ["evaluate", "a.png", "--scale", "pitch:0.1mm", "--limit", "linear=3mm"];
    let words = [&words[..], &["--region", "0,0 320,0 320,240 0,240"]].concat();
    let out = ["--calls", "calls.csv", "--out", "out", "--xlsx", "--pdf", "--jsonl"];
    let (code, table, talk) = nde(at, &[&words[..], &out].concat());
    assert_eq!(code, 0, "called away by a person: {table}{talk}");
    let said = ["non-relevant", "thread root", "runs round the bolt", "J.R.", "5.75", "0.25"];
    let has = |form: &str, text: &str, also: &[&str]| {
        for word in said.iter().chain(also) {
            assert!(text.contains(word), "`{word}` is missing in {form}:\n{text}");
        }
    };
    has("the table", &table, &["verdict: accept (measured, without any call: reject)"]);

    let html = fs::read_to_string(at.join("out/report.html")).unwrap();
    let (_, called) = html.split_once("<h3>Called by a person</h3>").expect("a heading");
    let called = called.split("<h3>").next().unwrap();
    has("report.html", called, &["v-reject\">reject", "v-accept\">accept"]);

    let pdf = pdf_text(&at.join("out/report.pdf"));
    has("report.pdf", &pdf, &["Measured, without any call: reject. As called: accept."]);

    let mut csv = csv::Reader::from_path(at.join("out/indications.csv")).unwrap();
    let heads = csv.headers().unwrap().clone();
    let row = csv.records().next().unwrap().unwrap();
    let cell = |name: &str| &row[heads.iter().position(|head| head == name).expect("a column")];
    assert_eq!(
        [
            "relevance",
            "label",
            "call_reason",
            "call_by",
            "call_when",
            "own_length_mm",
            "own_width_mm"
        ]
        .map(cell),
        [
            "non-relevant",
            "thread root",
            "runs round the bolt",
            "J.R.",
            "2026-05-04T10:05:00+02:00",
            "5.7500",
            "0.2500"
        ]
    );

    use calamine::{Data, Reader as _, Xlsx};
    let mut book: Xlsx<_> = calamine::open_workbook(at.join("out/indications.xlsx")).unwrap();
    let list = book.worksheet_range("indications").unwrap();
    let cells: Vec<String> = list.rows().nth(1).unwrap().iter().map(Data::to_string).collect();
    has("the spreadsheet", &cells.join("|"), &["2026-05-04"]);
    assert!(list.rows().nth(1).unwrap().contains(&Data::Float(5.75)), "a number as a number");
    let photos = book.worksheet_range("photos").unwrap();
    let heads: Vec<String> = photos.rows().next().unwrap().iter().map(Data::to_string).collect();
    let at_head = |name: &str| heads.iter().position(|head| head == name).expect("a column");
    let photo = photos.rows().nth(1).unwrap();
    assert_eq!(photo[at_head("verdict")], Data::String("accept".into()));
    assert_eq!(photo[at_head("verdict without any call")], Data::String("reject".into()));

    let json: serde_json::Value =
        serde_json::from_slice(&fs::read(at.join("out/indications.json")).unwrap()).unwrap();
    let case = &json["cases"][0];
    assert_eq!(case["indications"][0]["said"]["reason"], "runs round the bolt");
    assert_eq!(case["uncalled"]["verdict"], "reject");
    assert_eq!(case["judgement"]["verdict"], "accept");

    // Without a call nothing of it is said.
    let (_, table, _) = nde(at, &[&words[..], &["--out", "plain"]].concat());
    let html = fs::read_to_string(at.join("plain/report.html")).unwrap();
    assert!(!html.contains("Called by a person") && !table.contains("without any call"));
}
