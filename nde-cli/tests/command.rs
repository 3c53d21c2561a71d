//! The built command from outside: exit codes, streams, files.

mod run;

use run::{Ran, command};
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::Stdio;

fn nde(dir: &Path, words: &[&str]) -> Ran {
    command(dir, words).output().expect("it starts").into()
}

fn nde_reading(dir: &Path, words: &[&str], input: &[u8]) -> Ran {
    let mut child = command(dir, words)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    // A run that refuses its words ends before it reads.
    let _ = child.stdin.take().expect("piped").write_all(input);
    child.wait_with_output().expect("it ends").into()
}

fn names(dir: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(dir)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// One error line that holds the words, and nothing else that was wrong.
fn assert_refused(ran: &Ran, words: &[&str]) {
    assert_eq!(ran.code, 2, "{}", ran.talk);
    let errors: Vec<&str> = ran.talk.lines().filter(|l| l.starts_with("error: ")).collect();
    let [line] = errors[..] else { panic!("one error line was expected:\n{}", ran.talk) };
    for word in words {
        assert!(line.contains(word), "`{word}` is missing in: {line}");
    }
}

const CONTRACT: &str = "photo,id,kind,length_mm,length_u_mm,width_mm,width_u_mm,ratio,x_px,y_px,x_mm,y_mm,angle_deg,area_mm2,path_mm,contrast,group,relevance,verdict,reason,doubts";

const FOUR_IN_A_ROW: &str = "id,length_mm,width_mm,x_mm,y_mm,angle_deg\n\
    1,2,2,0,0,0\n2,2,2,3.5,0,0\n3,2,2,7,0,0\n4,2,2,10.5,0,0\n";

mod lists {
    use super::*;

    #[test]
    fn a_list_within_the_rules_ends_with_0_and_one_past_them_with_1() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(
            dir.path().join("good.csv"),
            "id,length_mm,width_mm,x_mm,y_mm,angle_deg\na,5,2,0,0,0\n",
        )
        .unwrap();
        let good = nde(dir.path(), &["evaluate", "good.csv", "--rules", "weld-vessel-si"]);
        assert_eq!(good.code, 0, "{}{}", good.out, good.talk);
        assert!(good.out.contains("verdict: accept"));

        fs::write(dir.path().join("row.csv"), FOUR_IN_A_ROW).unwrap();
        let row = nde(dir.path(), &["evaluate", "row.csv", "--rules", "weld-vessel-si"]);
        assert_eq!(row.code, 1, "a gap of exactly 1.5 mm belongs to the row: {}", row.out);
        assert!(row.out.contains("verdict: reject") && row.out.contains("VIII-1 App. 8, 8-4(c)"));

        let wider = FOUR_IN_A_ROW.replace("10.5", "10.500001");
        let wider = nde_reading(
            dir.path(),
            &["evaluate", "-", "--rules", "weld-vessel-si"],
            wider.as_bytes(),
        );
        assert_eq!(wider.code, 0, "a nanometre more and it does not: {}", wider.out);
    }

    #[test]
    fn the_csv_has_the_columns_promised_and_leaves_the_absent_empty() {
        let dir = tempfile::tempdir().unwrap();
        let ran = nde_reading(
            dir.path(),
            &["evaluate", "-", "--limit", "linear=3mm", "--format", "csv"],
            b"id,length_in,width_in\n=1+1,3/16,1/64\n",
        );
        assert_eq!(ran.code, 1);
        let mut lines = ran.out.lines();
        assert!(lines.next().unwrap().starts_with(CONTRACT));
        let row = lines.next().unwrap();
        assert!(row.starts_with("stdin,'=1+1,linear,4.7625,,0.396875,,12.000,,,,,,,,,"), "{row}");
        assert_eq!(lines.next(), None);
    }

    #[test]
    fn own_limits_alone_and_beside_a_rule_set() {
        let dir = tempfile::tempdir().unwrap();
        let list = b"id,length_mm,width_mm,x_mm,y_mm,angle_deg\na,4,3,0,0,0\n";
        let code = |words: &[&str]| {
            nde_reading(dir.path(), &[&["evaluate", "-"], words].concat(), list).code
        };
        assert_eq!(code(&["--limit", "rounded=4mm"]), 0, "a value at the limit passes");
        assert_eq!(code(&["--limit", "rounded=3.9mm"]), 1);
        assert_eq!(code(&["--rules", "weld-vessel-si"]), 0);
        assert_eq!(
            code(&["--rules", "weld-vessel-si", "--limit", "rounded=3mm"]),
            1,
            "both must pass"
        );
        assert_eq!(code(&[]), 0, "nothing was to be judged");
    }

    #[test]
    fn results_and_talk_do_not_mix() {
        let dir = tempfile::tempdir().unwrap();
        let ran = nde_reading(
            dir.path(),
            &["evaluate", "-", "--format", "json"],
            b"id,length_mm,width_mm,colour\na,4,3,red\n",
        );
        let json: serde_json::Value = serde_json::from_str(&ran.out).expect("only JSON on stdout");
        assert_eq!(json["cases"][0]["indications"][0]["length"]["mm"], 4.0);
        assert!(json["cases"][0]["indications"][0]["length"]["u_mm"].is_null());
        assert!(json["rules"].is_null());
        assert!(!json["cautions"].as_array().unwrap().is_empty());
        assert!(ran.talk.contains("not used: colour"));
        assert!(ran.talk.contains("nothing was judged"));
        assert!(
            !ran.talk.contains('\u{1b}') && !ran.out.contains('\u{1b}'),
            "no colours in a pipe"
        );
    }

    #[test]
    fn the_output_folder_holds_the_list_as_csv_and_json() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("row.csv"), FOUR_IN_A_ROW).unwrap();
        let ran = nde(
            dir.path(),
            &["evaluate", "row.csv", "--rules", "weld-vessel-si", "--out", "out/a", "-q"],
        );
        assert_eq!((ran.code, ran.talk.as_str()), (1, ""));
        assert_eq!(
            names(&dir.path().join("out/a")),
            ["indications.csv", "indications.json", "report.html"]
        );
        let json: serde_json::Value =
            serde_json::from_slice(&fs::read(dir.path().join("out/a/indications.json")).unwrap())
                .unwrap();
        assert_eq!(json["rules"]["id"], "weld-vessel-si");
        assert_eq!(json["rules"]["sha256"].as_str().unwrap().len(), 64);
        assert_eq!(
            json["cases"][0]["judgement"]["findings"][0]["indications"],
            serde_json::json!(["1", "2", "3", "4"])
        );
    }

    #[test]
    fn a_bad_list_is_refused_whole_with_its_place() {
        let dir = tempfile::tempdir().unwrap();
        let head = "id,length_mm,width_mm\na,3,1\n";
        for (row, words) in [
            ("b,NaN,1", ["line 3, column length_mm", "decimal such as 1.5"]),
            ("b,-3,1", ["line 3, column length_mm", "`-3`"]),
            ("b,3,0", ["line 3, column width_mm", "is 0"]),
            ("b,1,3", ["line 3, column width_mm", "swap them"]),
            ("a,3,1", ["line 3, column id", "name of its own"]),
            ("b,3,5,1", ["line 3: 4 cells", "decimals with a point"]),
        ] {
            let list = format!("{head}{row}\n");
            let ran = nde_reading(
                dir.path(),
                &["evaluate", "-", "--limit", "linear=3mm", "--out", "out"],
                list.as_bytes(),
            );
            assert_refused(&ran, &words);
            assert!(ran.out.is_empty(), "{}", ran.out);
            assert!(!dir.path().join("out").exists(), "no file of a refused list");
        }
        let four = "id,length_mm,width_mm\n1,2,2\n2,2,2\n3,2,2\n4,2,2\n";
        let places = nde_reading(
            dir.path(),
            &["evaluate", "-", "--rules", "weld-vessel-si"],
            four.as_bytes(),
        );
        assert_refused(&places, &["places", "x_mm,y_mm,angle_deg"]);
    }

    #[test]
    fn words_that_do_nothing_are_refused() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("a.csv"), "id,length_mm,width_mm\n").unwrap();
        let scale = nde(dir.path(), &["evaluate", "a.csv", "--scale", "card"]);
        assert_refused(&scale, &["--region are about photos"]);
        let both = nde(dir.path(), &["evaluate", "a.csv", "b.jpg"]);
        assert_refused(&both, &["evaluated alone"]);
        assert_refused(&nde(dir.path(), &["measure", "a.csv"]), &["nde evaluate"]);
    }
}

mod rule_sets {
    use super::*;

    #[test]
    fn they_are_listed_and_shown_with_sources() {
        let dir = tempfile::tempdir().unwrap();
        let list = nde(dir.path(), &["rules"]);
        assert_eq!(list.code, 0);
        assert!(list.out.contains("weld-vessel-si") && list.out.contains("weld-vessel-us"));
        let shown = nde(dir.path(), &["rules", "show", "weld-vessel-us"]);
        assert_eq!(shown.code, 0);
        assert!(
            shown.out.contains("VIII-1 App. 8, 8-4(b)") && shown.out.contains("3/16 in"),
            "{}",
            shown.out
        );
    }

    #[test]
    fn a_bad_rule_file_is_named_with_line_and_column() {
        let dir = tempfile::tempdir().unwrap();
        let good = "id = \"shop\"\ntitle = \"our limits\"\nunit = \"mm\"\n\n[[reject]]\nname = \"long\"\nkind = \"length\"\nof = \"linear\"\nlength = \"> 3 mm\"\n";
        fs::write(dir.path().join("good.toml"), good).unwrap();
        let checked = nde(dir.path(), &["rules", "check", "good.toml"]);
        assert_eq!(checked.code, 0, "{}", checked.talk);
        assert!(checked.out.starts_with("good.toml: good; `shop`"));

        let unknown_key = good.replace("of = ", "off = ");
        let zero_ratio = format!("{good}\n[linear]\nlength_over_width = \"> 0\"\n");
        for (text, words) in
            [(unknown_key, ["bad.toml:8:1: ", "off"]), (zero_ratio, ["bad.toml:12:", "ratio"])]
        {
            fs::write(dir.path().join("bad.toml"), text).unwrap();
            assert_refused(&nde(dir.path(), &["rules", "check", "bad.toml"]), &words);
            let used = nde_reading(
                dir.path(),
                &["evaluate", "-", "--rules", "bad.toml"],
                b"id,length_mm,width_mm\n",
            );
            assert_refused(&used, &words);
        }
        assert_refused(
            &nde(dir.path(), &["rules", "show", "nothing"]),
            &["neither", "`nde rules` lists"],
        );
        assert_refused(
            &nde(dir.path(), &["rules", "show", "weld-vesel-si"]),
            &["did you mean weld-vessel-si?"],
        );
        assert_refused(&nde(dir.path(), &["rules", "needs", "tech-iso"]), &["is a technique"]);
        assert_refused(&nde(dir.path(), &["rules", "show", "shop-custom"]), &["is a template"]);
    }
}

mod cards {
    use super::*;

    #[test]
    fn three_files_or_the_one_asked_for() {
        let dir = tempfile::tempdir().unwrap();
        let ran = nde(dir.path(), &["card", "--out", "cards", "--size", "small", "--dpi", "150"]);
        assert_eq!(ran.code, 0, "{}", ran.talk);
        let names_made = names(&dir.path().join("cards"));
        assert_eq!(names_made, ["nde-card-small.pdf", "nde-card-small.png", "nde-card-small.svg"]);
        assert!(
            fs::read(dir.path().join("cards/nde-card-small.pdf")).unwrap().starts_with(b"%PDF-")
        );

        assert_eq!(nde(dir.path(), &["card", "--out", "one.svg", "--paper", "letter"]).code, 0);
        let svg = fs::read_to_string(dir.path().join("one.svg")).unwrap();
        assert!(svg.contains("width=\"215.9mm\" height=\"279.4mm\" viewBox=\"0 0 215.9 279.4\""));
        assert_eq!(names(dir.path()), ["cards", "one.svg"]);
    }

    #[test]
    fn a_target_that_cannot_be_written_is_said() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("note.txt"), "x").unwrap();
        assert_refused(
            &nde(dir.path(), &["card", "--out", "note.txt"]),
            &["is neither a folder nor"],
        );
        assert_eq!(names(dir.path()), ["note.txt"]);
        assert_eq!(nde(dir.path(), &["card", "--dpi", "9"]).code, 2);
    }
}

mod photos {
    use super::*;

    /// A PNG header that promises 100 000 x 100 000 pixels, its checksum right.
    fn huge_png() -> Vec<u8> {
        let mut chunk = b"IHDR".to_vec();
        for side in [100_000_u32, 100_000] {
            chunk.extend(side.to_be_bytes());
        }
        chunk.extend([8, 2, 0, 0, 0]);
        let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
        png.extend(13_u32.to_be_bytes());
        png.extend(&chunk);
        png.extend(crc32(&chunk).to_be_bytes());
        png.extend(8_u32.to_be_bytes());
        png.extend(b"IDAT12345678");
        png
    }

    /// CRC-32 of ISO 3309, bit by bit.
    fn crc32(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(u32::MAX, |crc, byte| {
            (0..8).fold(crc ^ u32::from(*byte), |c, _| {
                if c & 1 == 1 { (c >> 1) ^ 0xedb8_8320 } else { c >> 1 }
            })
        })
    }

    fn jpeg(width: u32, height: u32) -> Vec<u8> {
        let mut bytes = std::io::Cursor::new(Vec::new());
        image::RgbImage::from_fn(width, height, |x, y| {
            let level = u8::try_from((x * 7 + y * 13) % 40).expect("below 40");
            image::Rgb([200 + level, 205 + level, 210 + level])
        })
        .write_to(&mut bytes, image::ImageFormat::Jpeg)
        .expect("memory takes it");
        bytes.into_inner()
    }

    #[test]
    fn what_is_no_photo_is_refused_in_one_line_and_leaves_nothing() {
        let dir = tempfile::tempdir().unwrap();
        let mut truncated = jpeg(640, 480);
        truncated.truncate(truncated.len() / 3);
        for (name, bytes) in [
            ("empty.jpg", Vec::new()),
            ("text.jpg", b"not a picture at all".to_vec()),
            ("cut.jpg", truncated),
            ("huge.png", huge_png()),
            ("blank.jpg", jpeg(640, 480)), // a picture, but no card in it
        ] {
            fs::write(dir.path().join(name), bytes).unwrap();
            let ran =
                nde(dir.path(), &["evaluate", name, "--rules", "weld-vessel-si", "--out", "out"]);
            assert_refused(&ran, &[name, ";"]);
            assert!(!dir.path().join("out").exists(), "{name} left files");
        }
        let missing = nde(dir.path(), &["measure", "nowhere.jpg"]);
        assert_refused(&missing, &["nowhere.jpg", "check the name"]);
    }

    #[test]
    fn a_folder_names_every_bad_photo() {
        let dir = tempfile::tempdir().unwrap();
        fs::create_dir(dir.path().join("in")).unwrap();
        for name in ["b.jpg", "a.png", "c.heic"] {
            fs::write(dir.path().join("in").join(name), b"x").unwrap();
        }
        let ran =
            nde(dir.path(), &["evaluate", "in", "--rules", "weld-vessel-si", "--out", "out", "-q"]);
        assert_eq!(ran.code, 2);
        let named: Vec<&str> = ran.talk.lines().map(|l| l.split(": ").nth(1).unwrap()).collect();
        assert_eq!(named, ["a.png", "b.jpg", "c.heic"]);
        assert_eq!(ran.out, "", "nothing that could be taken for a clean part");
        assert!(!dir.path().join("out").exists());
    }

    #[test]
    fn bad_words_end_with_2() {
        let dir = tempfile::tempdir().unwrap();
        for words in [
            &["measure"][..],
            &["measure", "a.jpg", "--region", "1,2 3,4"],
            &["measure", "a.jpg", "--scale", "pitch:0mm"],
            &["evaluate", "a.jpg", "--limit", "linear=3"],
            &["evaluate", "a.jpg", "--guard", "maybe"],
            &["evaluate", "a.jpg", "--guard", "as-measured"],
            &["frobnicate"],
        ] {
            let ran = nde(dir.path(), words);
            assert_eq!(ran.code, 2, "{words:?}");
            assert!(ran.out.is_empty() && !ran.talk.is_empty(), "{words:?}");
        }
    }
}

#[test]
fn help_and_version_are_results() {
    let dir = tempfile::tempdir().unwrap();
    for words in [&["--help"][..], &["--version"], &["evaluate", "--help"]] {
        let ran = nde(dir.path(), words);
        assert_eq!((ran.code, ran.talk.as_str()), (0, ""));
        assert!(ran.out.contains("nde"));
    }
}

#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let dir = tempfile::tempdir().unwrap();
    let mut child = command(dir.path(), &["rules", "show", "weld-vessel-si"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let ran: Ran = child.wait_with_output().unwrap().into();
    assert_eq!((ran.code, ran.talk.as_str()), (0, ""));
}

#[cfg(target_os = "linux")]
#[test]
fn results_that_cannot_be_written_are_a_failure() {
    let dir = tempfile::tempdir().unwrap();
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let ran: Ran = command(dir.path(), &["rules"])
        .stdout(full)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
        .wait_with_output()
        .unwrap()
        .into();
    assert_refused(&ran, &["could not be written"]);
}

mod handing_over {
    use super::*;
    use serde_json::Value;

    /// A little of the schema language: what `nde schema` uses.
    fn check(schema: &Value, root: &Value, value: &Value, at: &str) {
        if let Some(name) = schema["$ref"].as_str() {
            let inner = &root["$defs"][name.trim_start_matches("#/$defs/")];
            assert!(inner.is_object(), "{name} is not defined");
            return check(inner, root, value, at);
        }
        if let Some(any) = schema["anyOf"].as_array() {
            let null = any.iter().any(|s| s["type"] == "null");
            if value.is_null() {
                assert!(null, "{at} is absent");
            } else {
                let other = any.iter().find(|s| s["type"] != "null").expect("one that is not null");
                check(other, root, value, at);
            }
            return;
        }
        if let Some(words) = schema["enum"].as_array() {
            assert!(words.contains(value), "{at}: {value}");
        }
        let kind = match value {
            Value::Null => "null",
            Value::Bool(_) => "boolean",
            Value::Number(n) if n.is_u64() => "integer",
            Value::Number(_) => "number",
            Value::String(_) => "string",
            Value::Array(_) => "array",
            Value::Object(_) => "object",
        };
        let fits = |t: &Value| t == kind || (t == "number" && kind == "integer");
        match &schema["type"] {
            Value::Array(kinds) => assert!(kinds.iter().any(fits), "{at}: {kind} in {kinds:?}"),
            Value::Null => {}
            one => assert!(fits(one), "{at}: {kind} where {one} was promised"),
        }
        if let (Some(known), Some(object)) = (schema["properties"].as_object(), value.as_object()) {
            for name in schema["required"].as_array().into_iter().flatten() {
                assert!(object.contains_key(name.as_str().expect("a name")), "{at}.{name}");
            }
            for (name, value) in object {
                let inner = known.get(name).unwrap_or_else(|| panic!("{at}.{name} is not told"));
                check(inner, root, value, &format!("{at}.{name}"));
            }
        }
        for (n, item) in value.as_array().into_iter().flatten().enumerate() {
            check(&schema["items"], root, item, &format!("{at}[{n}]"));
        }
    }

    #[test]
    fn the_record_is_as_its_schema_says() {
        let dir = tempfile::tempdir().unwrap();
        let mut picture = image::RgbImage::from_pixel(320, 240, image::Rgb([226, 226, 222]));
        for (x, y) in (60..120).flat_map(|x| (50..56).map(move |y| (x, y))) {
            picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
        }
        picture.save(dir.path().join("a.png")).unwrap();
        fs::write(dir.path().join("b.png"), b"no picture").unwrap();
        let words = ["evaluate", ".", "--scale", "pitch:0.1mm", "--limit", "linear=3mm"];
        let ran = nde(dir.path(), &[&words[..], &["--format", "json", "-q"]].concat());
        let record: Value = serde_json::from_str(&ran.out).unwrap();
        let schema: Value = serde_json::from_str(&nde(dir.path(), &["schema"]).out).unwrap();
        assert_eq!(record["form"], schema["properties"]["form"]["const"]);
        check(&schema, &schema, &record, "record");
        assert_eq!(record["cases"][0]["indications"].as_array().unwrap().len(), 1);
        for of in ["line", "rules"] {
            let ran = nde(dir.path(), &["schema", of]);
            assert!(
                serde_json::from_str::<Value>(&ran.out).unwrap()["$schema"].is_string(),
                "{of}"
            );
        }
    }

    #[test]
    fn shells_and_the_manual_know_every_command() {
        let dir = tempfile::tempdir().unwrap();
        for shell in ["bash", "zsh", "fish"] {
            assert!(nde(dir.path(), &["completions", shell]).out.contains("evaluate"), "{shell}");
        }
        assert!(nde(dir.path(), &["man"]).out.contains("Exit code"));
        assert_eq!(nde(dir.path(), &["man", "--out", "pages"]).code, 0);
        let pages = names(&dir.path().join("pages"));
        for page in ["nde.1", "nde-evaluate.1", "nde-rules.1"] {
            assert!(pages.iter().any(|name| name == page), "{pages:?}");
        }
    }
}

mod shop_defaults {
    use super::*;

    #[test]
    fn a_file_in_the_folder_fills_in_and_is_said() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(
            dir.path().join("nde.toml"),
            "limits = [\"linear=3mm\"]\nunits = \"in\"\nscale = \"card\"\n",
        )
        .unwrap();
        fs::write(dir.path().join("a.csv"), "id,length_in,width_in\n1,3/16,1/32\n").unwrap();
        let ran = nde(dir.path(), &["evaluate", "a.csv"]);
        assert_eq!(ran.code, 1, "{}{}", ran.out, ran.talk);
        assert!(ran.talk.contains("note: from nde.toml: --limit linear=3mm"), "{}", ran.talk);
        assert!(ran.out.contains("length in") && ran.out.contains("0.1875"), "{}", ran.out);
        let csv = nde(dir.path(), &["evaluate", "a.csv", "--format", "csv", "--units", "in"]);
        assert!(csv.out.contains(",4.7625,"), "files keep millimetres: {}", csv.out);
        let other = nde(dir.path(), &["evaluate", "a.csv", "--config", "none.toml"]);
        assert_refused(&other, &["none.toml", "check the name"]);
        fs::write(dir.path().join("nde.toml"), "rule = 1\n").unwrap();
        assert_refused(
            &nde(dir.path(), &["evaluate", "a.csv"]),
            &["nde.toml:1", "write one of these"],
        );
    }
}
