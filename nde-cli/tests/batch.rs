//! Many photos with the built command: resumed, shared out, broken off, watched.

mod run;

use run::{command, output as nde};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::Duration;

/// A small coat with red marks, read by a stated pitch; `seed` makes each differ.
fn paint(path: &Path, seed: u32) {
    let mut picture = image::RgbImage::from_pixel(320, 240, image::Rgb([226, 226, 222]));
    let (x0, y0) = (60 + seed * 7 % 150, 50 + seed * 13 % 110);
    for (x, y) in (x0..x0 + 20 + seed % 30).flat_map(|x| (y0..y0 + 4).map(move |y| (x, y))) {
        picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
    }
    fs::create_dir_all(path.parent().expect("a folder")).expect("it can be made");
    picture.save(path).expect("it can be written");
}

fn talk(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Every file below a folder with its bytes, by its place in it.
fn files(dir: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    fn inside(root: &Path, dir: &Path, all: &mut BTreeMap<PathBuf, Vec<u8>>) {
        for entry in fs::read_dir(dir).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                inside(root, &path, all);
            } else {
                let place = path.strip_prefix(root).expect("inside").to_owned();
                all.insert(place, fs::read(&path).expect("a file"));
            }
        }
    }
    let mut all = BTreeMap::new();
    inside(dir, dir, &mut all);
    all
}

const WORDS: [&str; 11] = [
    "evaluate",
    "in",
    "--recursive",
    "--scale",
    "pitch:0.1mm",
    "--region",
    "0,0 320,0 320,240 0,240",
    "--limit",
    "linear=3mm",
    "--out",
    "out",
];

fn words<'a>(out: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let mut words = WORDS.to_vec();
    words[10] = out;
    words.extend(more);
    words
}

/// A folder of twelve photos, two of them broken.
fn job() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    for n in 0..10 {
        paint(&dir.path().join(format!("in/{}/{n}.png", ["port", "starboard"][n as usize % 2])), n);
    }
    fs::write(dir.path().join("in/broken.jpg"), b"no picture").expect("it can be written");
    fs::write(dir.path().join("in/empty.png"), b"").expect("it can be written");
    dir
}

fn modified(path: &Path) -> std::time::SystemTime {
    fs::metadata(path).and_then(|m| m.modified()).expect("a file")
}

#[test]
fn a_second_run_does_nothing_again_and_gives_the_same_bytes() {
    let dir = job();
    let first = nde(dir.path(), &words("out", &[]));
    assert_eq!(first.status.code(), Some(2), "{}", talk(&first));
    assert_eq!(talk(&first).matches("error: ").count(), 2, "{}", talk(&first));
    assert!(!talk(&first).contains('\r'), "no progress in a pipe: {}", talk(&first));
    let out = dir.path().join("out");
    let before = files(&out);
    let marked = out.join("marked/3.jpg");
    let then = modified(&marked);
    let second = nde(dir.path(), &words("out", &[]));
    assert_eq!(second.stdout, first.stdout);
    assert!(talk(&second).contains("11 of 12 done in an earlier run"), "{}", talk(&second));
    assert!(files(&out) == before);
    assert_eq!(modified(&marked), then, "it was not drawn again");

    // Another photo under the same name, and other limits, are done anew.
    paint(&dir.path().join("in/port/0.png"), 77);
    let third = nde(dir.path(), &words("out", &[]));
    assert!(talk(&third).contains("10 of 12 done"), "{}", talk(&third));
    let other = nde(dir.path(), &words("out", &["--limit", "count=3"]));
    assert!(!talk(&other).contains("earlier run"), "{}", talk(&other));
}

#[test]
fn a_killed_run_resumes_to_the_same_bytes() {
    let dir = job();
    nde(dir.path(), &words("whole", &[]));
    let whole = files(&dir.path().join("whole"));
    for wait in [5, 60, 150, 300] {
        let mut child = command(dir.path(), &words("out", &[]))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("it starts");
        std::thread::sleep(Duration::from_millis(wait));
        child.kill().expect("it can be killed");
        child.wait().expect("it ends");
        // What stands there is whole.
        if dir.path().join("out/photos").exists() {
            for (path, bytes) in files(&dir.path().join("out/photos")) {
                if path.extension().is_some_and(|e| e == "json") {
                    serde_json::from_slice::<serde_json::Value>(&bytes).expect("whole");
                }
            }
        }
    }
    let last = nde(dir.path(), &words("out", &[]));
    assert_eq!(last.status.code(), Some(2), "{}", talk(&last));
    assert!(files(&dir.path().join("out")) == whole);
}

#[test]
fn parts_put_together_are_the_whole() {
    let dir = job();
    nde(dir.path(), &words("whole", &[]));
    let whole = files(&dir.path().join("whole"));
    for part in ["1/3", "2/3", "3/3"] {
        nde(dir.path(), &words("out", &["--shard", part]));
    }
    assert!(!dir.path().join("out/indications.csv").exists(), "a part writes no list");
    let last = nde(dir.path(), &words("out", &[]));
    assert!(talk(&last).contains("11 of 12 done in an earlier run"), "{}", talk(&last));
    assert!(files(&dir.path().join("out")) == whole);

    // A part in which nothing can be read takes nothing away that others may have written.
    nde(dir.path(), &words("lone", &["--shard", "1/12"]));
    assert_eq!(files(&dir.path().join("lone/photos")).len(), 2, "its record and the lock");

    // On disks of their own.
    for (part, out) in [("1/2", "a"), ("2/2", "b")] {
        nde(dir.path(), &words(out, &["--shard", part]));
    }
    let last = nde(dir.path(), &words("joined", &["--reuse", "a", "--reuse", "b"]));
    assert!(talk(&last).contains("11 of 12 done in an earlier run"), "{}", talk(&last));
    assert!(files(&dir.path().join("joined")) == whole);
}

#[test]
fn photos_come_from_a_list_and_a_pattern() {
    let dir = job();
    fs::write(dir.path().join("names"), "in/port/0.png\nin/starboard/1.png\n").unwrap();
    let common = ["--scale", "pitch:0.1mm", "--format", "csv", "-q"];
    let named = nde(dir.path(), &[&["evaluate", "--list", "names"][..], &common].concat());
    assert_eq!(named.status.code(), Some(0), "{}", talk(&named));
    let csv = String::from_utf8(named.stdout).unwrap();
    assert!(csv.contains("\nin/port/0.png,1,") && csv.contains("\nin/starboard/1.png,1,"), "{csv}");
    let some = nde(
        dir.path(),
        &[&["evaluate", "in", "--recursive", "--match", "port/*.png"][..], &common].concat(),
    );
    let csv = String::from_utf8(some.stdout).unwrap();
    assert!(csv.contains("\nport/8.png,1,") && !csv.contains("starboard"), "{csv}");
}

#[test]
fn photos_that_arrive_are_evaluated() {
    let dir = tempfile::tempdir().unwrap();
    fs::create_dir(dir.path().join("in")).unwrap();
    let child = command(dir.path(), &words("out", &["--watch", "--watch-end", "4", "-v"]))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    for n in 0..2 {
        std::thread::sleep(Duration::from_millis(1500));
        paint(&dir.path().join(format!("in/{n}.png")), n);
    }
    let ended = child.wait_with_output().unwrap();
    assert_eq!(ended.status.code(), Some(0), "{}", talk(&ended));
    assert!(talk(&ended).contains("\n1.png: accept"), "{}", talk(&ended));
    // The same as if both had been there.
    nde(dir.path(), &words("once", &[]));
    assert!(files(&dir.path().join("out")) == files(&dir.path().join("once")));
}

#[cfg(unix)]
mod trouble {
    use super::*;
    use std::os::unix::fs::PermissionsExt as _;

    #[test]
    fn a_folder_that_cannot_be_written_is_said_before_the_work() {
        let dir = job();
        let out = dir.path().join("out");
        fs::create_dir(&out).unwrap();
        fs::set_permissions(&out, fs::Permissions::from_mode(0o555)).unwrap();
        if fs::write(out.join("probe"), b"x").is_ok() {
            // The superuser writes anywhere; a file in the way stops him too.
            fs::remove_dir_all(&out).unwrap();
            fs::write(&out, b"a file").unwrap();
        }
        let ran = nde(dir.path(), &words("out", &[]));
        assert_eq!(ran.status.code(), Some(2));
        assert!(talk(&ran).starts_with("error: ") && talk(&ran).contains("give another folder"));
        assert_eq!(talk(&ran).lines().count(), 1, "{}", talk(&ran));
        assert!(ran.stdout.is_empty());
    }

    /// A limit on file size stands for the full disk: writing beyond it fails just so.
    #[test]
    fn a_full_disk_stops_the_run_and_leaves_nothing_half_written() {
        let dir = job();
        let script = format!(
            "trap '' XFSZ; ulimit -f 4; exec '{}' {}",
            env!("CARGO_BIN_EXE_nde"),
            words("out", &[]).iter().map(|word| format!("'{word}'")).collect::<Vec<_>>().join(" ")
        );
        let ran = Command::new("sh").args(["-c", &script]).current_dir(&dir).output().unwrap();
        assert_eq!(ran.status.code(), Some(2), "{}", talk(&ran));
        let error = talk(&ran);
        assert_eq!(error.lines().count(), 1, "{error}");
        assert!(error.contains("cannot write") && error.contains("same command again"), "{error}");
        for (path, bytes) in files(&dir.path().join("out")) {
            let name = path.to_string_lossy().into_owned();
            assert!(!name.contains(".nde-"), "{name} is half written");
            if name.ends_with(".json") {
                serde_json::from_slice::<serde_json::Value>(&bytes).expect("whole");
            }
        }
        // With room again it goes on.
        let again = nde(dir.path(), &words("out", &[]));
        assert!(dir.path().join("out/indications.csv").exists(), "{}", talk(&again));
    }

    #[test]
    fn hostile_names_are_inert() {
        use std::os::unix::ffi::OsStrExt as _;
        let dir = tempfile::tempdir().unwrap();
        let names: [&[u8]; 4] =
            [b"=cmd|calc.png", b"<script>alert(1)<.png", b"new\nline.png", b"\xff\xfe.png"];
        for (n, name) in (0..).zip(names) {
            let path = dir.path().join("plain.png");
            paint(&path, n);
            fs::create_dir_all(dir.path().join("in")).unwrap();
            fs::rename(path, dir.path().join("in").join(std::ffi::OsStr::from_bytes(name)))
                .unwrap();
        }
        let ran = nde(dir.path(), &words("out", &["-v"]));
        assert_eq!(ran.status.code(), Some(0), "{}", talk(&ran));
        let csv = fs::read_to_string(dir.path().join("out/indications.csv")).unwrap();
        assert!(csv.contains("\n'=cmd|calc.png,1,"), "{csv}");
        assert!(csv.contains("\\xff\\xfe.png,1,") && csv.contains("\"new\nline.png\",1,"), "{csv}");
        assert!(talk(&ran).contains("new line.png: accept"), "{}", talk(&ran));
        assert_eq!(files(&dir.path().join("out/marked")).len(), 4);
    }
}

/// What a reader of PDFs that is not ours finds; checked where `pdftotext` is installed.
#[test]
fn the_report_as_pdf_says_what_the_page_says() {
    let dir = tempfile::tempdir().unwrap();
    paint(&dir.path().join("in/Gr\u{fc}\u{df}e \u{3b1}\u{3b2}.png"), 3);
    let ran = nde(dir.path(), &words("out", &["--pdf", "--xlsx", "--jsonl"]));
    assert_eq!(ran.status.code(), Some(0), "{}", talk(&ran));
    for file in ["report.html", "indications.xlsx", "indications.jsonl"] {
        assert!(dir.path().join("out").join(file).exists(), "{file}");
    }
    let pdf = fs::read(dir.path().join("out/report.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-1."));
    let Ok(read) = Command::new("pdftotext")
        .args(["-layout", "report.pdf", "-"])
        .current_dir(dir.path().join("out"))
        .output()
    else {
        println!("no pdftotext found: the PDF's text was not checked");
        assert!(std::env::var_os("NDE_ALL_TOOLS").is_none(), "NDE_ALL_TOOLS asks for pdftotext");
        return;
    };
    let text = String::from_utf8(read.stdout).unwrap();
    let csv = fs::read_to_string(dir.path().join("out/indications.csv")).unwrap();
    let length: f64 = csv.lines().nth(1).unwrap().split(',').nth(3).unwrap().parse().unwrap();
    for part in [
        "Gr\u{fc}\u{df}e \u{3b1}\u{3b2}.png",
        "qualified person",
        "No inspection sheet was given",
        "own limit linear",
        "Date, signature",
        &format!("{length:.2} \u{b1}"),
    ] {
        assert!(text.contains(part), "`{part}` is missing in\n{text}");
    }
}
