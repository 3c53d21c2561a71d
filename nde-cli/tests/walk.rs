//! A first inspection from the empty sheet to next year's comparison, as the README walks it: the loft's
//! port chainplate, whose rendered photo lies in `fixtures/photos`.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

/// Exit code and results.
fn nde(dir: &Path, words: &[&str]) -> (i32, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_nde"))
        .args(words)
        .current_dir(dir)
        .stdin(Stdio::null())
        .output()
        .expect("it starts");
    let talk = String::from_utf8_lossy(&output.stderr).into_owned();
    let out = String::from_utf8(output.stdout).expect("UTF-8");
    (output.status.code().expect("it ended"), out + &talk)
}

fn has(text: &str, words: &[&str]) {
    for word in words {
        assert!(text.contains(word), "`{word}` is missing in\n{text}");
    }
}

/// Fills in keys of one table of the sheet that stand there empty.
fn fill(sheet: &Path, table: &str, keys: &[(&str, &str)]) {
    let text = fs::read_to_string(sheet).expect("the sheet is there");
    let at = text.find(&format!("[{table}]\n")).expect("a blank sheet has every table");
    let end = text[at + 1..].find("\n[").map_or(text.len(), |n| at + 1 + n);
    let mut block = text[at..end].to_owned();
    for (key, value) in keys {
        let empty = format!("\n{key} = \"\"");
        assert!(block.contains(&empty), "{table}.{key}");
        block = block.replacen(&empty, &format!("\n{key} = {value}"), 1);
    }
    fs::write(sheet, format!("{}{block}{}", &text[..at], &text[end..])).expect("it can be written");
}

#[test]
fn a_first_inspection_from_sheet_to_comparison() {
    let dir = tempfile::tempdir().unwrap();
    let here = dir.path();
    let part = here.join("chainplate");
    fs::create_dir(&part).unwrap();
    let photos = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/photos");
    fs::copy(photos.join("chainplate-port.jpg"), part.join("upper-eye.jpg")).unwrap();

    // A sheet, and what is still missing in it.
    let (code, said) = nde(
        here,
        &[
            "sheet",
            "new",
            "chainplate/sheet.toml",
            "--part",
            "Chainplate, port",
            "--material",
            "stainless-steel",
            "--form",
            "wrought",
            "--technique",
            "tech-shop-practice",
            "--rules",
            "weld-vessel-si",
            "--temperature",
            "21 C",
            "--zone",
            "upper eye=upper-eye.jpg",
            "--zone",
            "lower eye",
        ],
    );
    assert_eq!(code, 0, "{said}");
    let (code, said) = nde(here, &["evaluate", "chainplate"]);
    assert_eq!(code, 1);
    has(
        &said,
        &["process: dwell: not recorded", "zone lower eye is not inspected", "part: reject"],
    );

    // The times, as the bench clock would have logged them on the day of the photo.
    let sheet = part.join("sheet.toml");
    fill(&sheet, "part", &[("bare", "true")]);
    fill(
        &sheet,
        "steps.clean",
        &[("start", "2025-03-01T08:40:00Z"), ("end", "2025-03-01T08:50:00Z")],
    );
    fill(
        &sheet,
        "steps.penetrant",
        &[("start", "2025-03-01T09:00:00Z"), ("end", "2025-03-01T09:12:00Z"), ("dried", "false")],
    );
    fill(&sheet, "steps.remove", &[("method", "\"dry-then-damp-cloth\"")]);
    fill(
        &sheet,
        "steps.develop",
        &[
            ("start", "2025-03-01T09:14:00Z"),
            ("end", "2025-03-01T09:15:00Z"),
            ("form", "\"non-aqueous\""),
            ("coat", "\"thin\""),
        ],
    );
    fill(
        &sheet,
        "steps.read",
        &[("start", "2025-03-01T09:26:00Z"), ("end", "2025-03-01T09:40:00Z")],
    );
    let (code, said) = nde(here, &["sheet", "check", "chainplate/sheet.toml"]);
    assert_eq!(code, 1);
    has(&said, &["11 min to 25 min", "tested_by in [people]", "zone `lower eye` has no photo"]);
    assert!(!said.contains("not met:"), "{said}");

    // Judged with the sheet.
    // With what is handed over beside: none of it decides a result.
    let (code, said) =
        nde(here, &["evaluate", "chainplate", "--out", "first", "--pdf", "--xlsx", "--jsonl"]);
    assert_eq!(code, 1);
    has(&said, &["process by tech-shop-practice: 9 of 9 limits met", "part: reject"]);
    let report = fs::read_to_string(here.join("first/report.html")).unwrap();
    has(&report, &["Chainplate, port", "cleaner-drying", "zone lower eye", "not inspected"]);
    assert!(!report.contains("No inspection sheet was given"));
    let record = fs::read(here.join("first/indications.json")).unwrap();
    let record: serde_json::Value = serde_json::from_slice(&record).unwrap();
    assert_eq!(record["part"]["zones"][1]["inspected_mm2"], serde_json::Value::Null);
    assert!(record["part"]["zones"][0]["inspected_mm2"].as_f64().unwrap() > 5000.0);
    assert_eq!(record["part"]["technique"]["sha256"].as_str().unwrap().len(), 64);

    // A person calls one indication away; the measurement and the verdict without the call stay.
    let calls = "photo,id,relevance,label,reason,by,when\n\
        upper-eye.jpg,1,non-relevant,,thread root,second rigger,2025-03-01\n";
    fs::write(here.join("calls.csv"), calls).unwrap();
    let (code, said) = nde(
        here,
        &["evaluate", "chainplate", "--calls", "calls.csv", "--out", "called", "--format", "json"],
    );
    assert_eq!(code, 1);
    let called: serde_json::Value =
        serde_json::from_str(said.split("\nnote:").next().unwrap()).unwrap();
    let row = &called["cases"][0]["indications"][0];
    assert_eq!(row["relevance"], "non-relevant");
    assert_eq!(row["said"]["reason"], "thread root");
    assert_eq!(row["verdict"], "accept");
    assert_eq!(row["length"], record["cases"][0]["indications"][0]["length"]);
    assert_eq!(called["cases"][0]["uncalled"]["verdict"], "reject");
    let lost = "photo,id,relevance,reason,x_px,y_px\nupper-eye.jpg,9,false,lint,10,10\n";
    fs::write(here.join("lost.csv"), lost).unwrap();
    let (_, said) = nde(here, &["evaluate", "chainplate", "--calls", "lost.csv"]);
    has(&said, &["finds no indication"]);

    // Everything once more from the originals.
    let (code, said) = nde(here, &["evaluate", "--again", "first/indications.json"]);
    assert_eq!(code, 0, "{said}");
    has(&said, &["agrees: 1 read again from the originals"]);
    let text = fs::read_to_string(here.join("first/indications.json")).unwrap();
    fs::write(here.join("forged.json"), text.replacen("\"reject\"", "\"accept\"", 1)).unwrap();
    let (code, said) = nde(here, &["evaluate", "--again", "forged.json"]);
    assert_eq!(code, 1);
    has(&said, &["differs: part.verdict: \"accept\" recorded, \"reject\" now"]);

    // Next year.
    let (code, said) = nde(here, &["compare", "first", "called", "--plot", "growth.svg"]);
    assert_eq!(code, 0, "{said}");
    has(&said, &["laid over by 3 indications", "no change shown"]);
    assert!(fs::read_to_string(here.join("growth.svg")).unwrap().starts_with("<svg"));
}
