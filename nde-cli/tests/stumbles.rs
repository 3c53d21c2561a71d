//! What a new user gets wrong, and what the command answers: the fact and the remedy.

mod run;

use run::spoken as nde;
use std::fs;
use std::path::Path;

/// A part with one long mark.
fn paint(path: &Path) {
    let mut picture = image::RgbImage::from_pixel(320, 240, image::Rgb([226, 226, 222]));
    for (x, y) in (60..120).flat_map(|x| (50..56).map(move |y| (x, y))) {
        picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
    }
    picture.save(path).expect("it can be written");
}

fn refused(dir: &Path, words: &[&str], said: &[&str]) {
    let (code, _, talk) = nde(dir, words);
    assert_eq!(code, 2, "{words:?}: {talk}");
    for word in said {
        assert!(talk.contains(word), "`{word}` is missing after {words:?} in:\n{talk}");
    }
}

const SCALED: [&str; 4] = ["--scale", "pitch:0.1mm", "--limit", "linear=3mm"];

fn evaluate(dir: &Path, words: &[&str]) -> (i32, String, String) {
    nde(dir, &[&["evaluate"], words, &SCALED].concat())
}

#[test]
fn slips_of_the_keyboard_are_understood() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    paint(&at.join("chainplate.png"));
    refused(at, &["measure", "chainplatte.png"], &["did you mean chainplate.png?"]);
    refused(at, &["chainplate.png"], &["nde evaluate chainplate.png"]);
    refused(at, &["measure", "chainplate.png"], &["no scale card found", "nde pick"]);
    refused(
        at,
        &["evaluate", "chainplate.png", "--limit", "linear=3,5mm"],
        &["with a point, such as 3.5"],
    );
    refused(
        at,
        &["evaluate", "chainplate.png", "--rules", "weld-vesel-si"],
        &["did you mean weld-vessel-si?"],
    );
    refused(
        at,
        &["sheet", "new", "--technique", "tech-shop-practise"],
        &["did you mean tech-shop-practice?"],
    );
    refused(
        at,
        &["sheet", "new", "--form", "forged", "--temperature", "21"],
        &["error: `forged`", "error: `21`"],
    );
    refused(at, &["card", "--out", "card.jpg"], &["ending in .pdf, .svg or .png"]);
    fs::write(at.join("nde.toml"), "units = in\n").unwrap();
    refused(at, &["measure", "chainplate.png"], &["nde.toml:1:", "in quotes"]);
    assert!(!at.join("sheet.toml").exists() && !at.join("card.jpg").exists());
}

#[test]
fn a_folder_stands_for_its_sheet() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    fs::create_dir(at.join("job")).unwrap();
    let (code, _, talk) = nde(at, &["sheet", "new", "job", "--zone", "eye=eye.jpg"]);
    assert_eq!(code, 0, "{talk}");
    assert!(talk.contains("eye.jpg is not beside the sheet yet"), "{talk}");
    assert!(at.join("job/sheet.toml").is_file());
    for what in ["show", "check"] {
        let (code, out, talk) = nde(at, &["sheet", what, "job"]);
        assert!(code < 2 && !out.is_empty(), "{what}: {talk}");
    }
}

/// Rings and letters hide what lies below: a marked photo could pass where its original does not.
#[test]
fn a_marked_photo_is_never_evaluated() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    paint(&at.join("a.png"));
    let (code, _, talk) = evaluate(at, &["a.png", "--out", "out"]);
    assert_eq!(code, 1, "{talk}");
    assert!(talk.contains("next: open out/report.html"), "{talk}");
    fs::copy(at.join("out/marked/a.jpg"), at.join("copy.jpg")).unwrap();
    let (code, _, talk) = evaluate(at, &["copy.jpg"]);
    assert_eq!(code, 2);
    assert!(talk.contains("not an original"), "{talk}");
    let (code, _, talk) = evaluate(at, &["out/marked"]);
    assert_eq!(code, 2);
    assert!(talk.contains("folder of the originals"), "{talk}");
    fs::remove_file(at.join("copy.jpg")).unwrap();
    let (code, out, talk) = evaluate(at, &[".", "-r", "--format", "csv"]);
    assert_eq!((code, out.lines().count()), (1, 2), "{out}{talk}");
}

#[test]
fn what_somebody_else_wrote_is_not_written_over() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    paint(&at.join("a.png"));
    fs::create_dir(at.join("out")).unwrap();
    fs::write(at.join("out/report.html"), "mine").unwrap();
    let (code, _, talk) = evaluate(at, &["a.png", "--out", "out"]);
    assert_eq!(code, 2);
    assert!(talk.contains("report.html was not written by this tool"), "{talk}");
    fs::remove_file(at.join("out/report.html")).unwrap();
    fs::create_dir(at.join("out/marked")).unwrap();
    fs::write(at.join("out/marked/a.jpg"), "mine").unwrap();
    let (code, _, talk) = evaluate(at, &["a.png", "--out", "out"]);
    assert_eq!(code, 2);
    assert!(talk.contains("a.jpg was not made by this tool"), "{talk}");
    assert_eq!(fs::read(at.join("out/marked/a.jpg")).unwrap(), b"mine");
    // Files of other names stay where they are, and a second run goes over its own.
    fs::remove_dir_all(at.join("out")).unwrap();
    fs::create_dir(at.join("out")).unwrap();
    fs::write(at.join("out/notes.txt"), "mine").unwrap();
    for _ in 0..2 {
        assert_eq!(evaluate(at, &["a.png", "--out", "out"]).0, 1);
    }
    assert_eq!(fs::read(at.join("out/notes.txt")).unwrap(), b"mine");
}

/// Another job's lists would be replaced, and its marked photos mixed with these.
#[test]
fn another_jobs_results_are_not_replaced_and_the_same_job_is() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    for (folder, name) in [("one", "a.png"), ("two", "a.png"), ("two", "b.png")] {
        fs::create_dir_all(at.join(folder)).unwrap();
        paint(&at.join(folder).join(name));
    }
    // The same name in another folder is no proof of the same job: other bytes.
    image::RgbImage::from_pixel(320, 240, image::Rgb([226, 226, 221]))
        .save(at.join("two/a.png"))
        .unwrap();
    image::RgbImage::from_pixel(320, 240, image::Rgb([225, 226, 221]))
        .save(at.join("two/b.png"))
        .unwrap();
    assert_eq!(evaluate(at, &["one", "--out", "out"]).0, 1);
    let kept = fs::read(at.join("out/indications.json")).unwrap();
    let marked = fs::read(at.join("out/marked/a.jpg")).unwrap();
    let list = "id,length_mm,width_mm\n1,2,2\n";
    fs::write(at.join("by-hand.csv"), list).unwrap();
    refused(
        at,
        &[&["evaluate", "two", "--out", "out"][..], &SCALED].concat(),
        &["out holds the results of another job (a.png)", "give another --out"],
    );
    refused(
        at,
        &["evaluate", "by-hand.csv", "--limit", "linear=3mm", "--out", "out"],
        &["holds the results of another job"],
    );
    assert_eq!(fs::read(at.join("out/indications.json")).unwrap(), kept);
    assert_eq!(fs::read(at.join("out/marked/a.jpg")).unwrap(), marked);
    // With another limit, a photo more, one photo of it alone, and a photo taken anew it is the same job.
    assert_eq!(evaluate(at, &["one", "--out", "out", "--limit", "rounded=1mm"]).0, 1);
    fs::copy(at.join("two/b.png"), at.join("one/b.png")).unwrap();
    assert_eq!(evaluate(at, &["one", "--out", "out"]).0, 1);
    let (code, _, talk) = evaluate(at, &["one/a.png", "--out", "out"]);
    assert_eq!(code, 1);
    assert!(talk.contains("b.png of the earlier run is not read now and leaves them"), "{talk}");
    fs::copy(at.join("two/a.png"), at.join("one/a.png")).unwrap();
    let (code, _, talk) = evaluate(at, &["one/a.png", "--out", "out"]);
    assert!(code < 2, "{talk}");
    assert!(talk.contains("same names and other contents, which are replaced"), "{talk}");
    let (code, _, talk) = evaluate(at, &["one/a.png", "--out", "out"]);
    assert!(code < 2 && !talk.contains("replaced"), "{talk}");
    // A list that was corrected is the same list.
    for rows in [list, "id,length_mm,width_mm\n1,2.5,2\n"] {
        fs::write(at.join("by-hand.csv"), rows).unwrap();
        let words = ["evaluate", "by-hand.csv", "--limit", "linear=3mm", "--out", "list"];
        let (code, _, talk) = nde(at, &words);
        assert_eq!(code, 0, "{talk}");
    }
}

#[test]
fn a_corner_outside_the_photo_is_named_with_the_photos_size() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    paint(&at.join("a.png"));
    for (region, corner) in
        [("-5,10 300,10 300,200", "-5,10"), ("5,10 300,10 320.5,200", "320.5,200")]
    {
        let words = [&["evaluate", "a.png", "--region", region][..], &SCALED].concat();
        let said = [
            &format!("the corner {corner} of --region lies outside the photo"),
            "320 x 240 pixels",
            "from 0,0 to 320,240",
        ];
        refused(at, &words, &said);
    }
    refused(at, &["measure", "a.png", "--region", "-q"], &["`-q` is not a corner"]);
    // The border itself is inside.
    let (code, _, talk) = evaluate(at, &["a.png", "--region", "0,0 320,0 320,240 0,240"]);
    assert_eq!(code, 1, "{talk}");
}

#[test]
fn a_thickness_of_nothing_is_refused_with_the_unit() {
    let dir = tempfile::tempdir().unwrap();
    for (words, said) in [
        (["--thickness", "0mm"], ["`0mm`", "more than zero", "12mm or 1/2in"]),
        (["--weld-length", "0in"], ["`0in`", "more than zero", "12mm or 1/2in"]),
        (["--thickness", "amm"], ["`amm` is not a length", "its unit", "12mm or 1/2in"]),
        (["--thickness", "12"], ["`12` has no unit", "12mm", "1/2in"]),
    ] {
        let rest = ["evaluate", "a.png", "--limit", "linear=3mm"];
        refused(dir.path(), &[&rest[..], &words].concat(), &said);
    }
}

/// A plot named before the photos takes the first of them for its file.
#[test]
fn a_plot_or_a_page_never_takes_the_place_of_a_photo() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    for name in ["after-5.png", "after-10.png", "after-20.png"] {
        paint(&at.join(name));
    }
    let photo = fs::read(at.join("after-5.png")).unwrap();
    let photos = ["after-5.png", "after-10.png", "after-20.png"];
    let series = ["measure", "--series", "--scale", "pitch:0.1mm", "--minutes", "5,10", "--plot"];
    let remedy = ["does not end in .svg", "such as growth.svg"];
    refused(at, &[&series[..], &photos].concat(), &remedy);
    refused(at, &["compare", "after-10.png", "after-20.png", "--plot", "after-5.png"], &remedy);
    refused(at, &["pick", "after-10.png", "--out", "after-5.png"], &["does not end in .html"]);
    assert!(fs::read(at.join("after-5.png")).unwrap() == photo);
}

#[test]
fn what_has_no_lines_a_photo_is_not_printed_as_such() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    for name in ["old.png", "new.png"] {
        paint(&at.join(name));
    }
    let scaled = ["--scale", "pitch:0.1mm", "--format", "jsonl"];
    refused(at, &[&["compare", "old.png", "new.png"], &scaled[..]].concat(), &["json or csv"]);
    let series = ["measure", "--series", "old.png", "new.png", "--minutes", "5,10"];
    refused(at, &[&series[..], &scaled].concat(), &["json or csv"]);
}
