//! The inspection sheet and its bench clock from outside.

use std::fs;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

fn command(dir: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_nde"));
    command.args(words).current_dir(dir).stdin(Stdio::null());
    command
}

/// Exit code, results, talk.
fn nde(dir: &Path, words: &[&str]) -> (i32, String, String) {
    let output = command(dir, words).output().expect("it starts");
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    (output.status.code().expect("it ended"), text(output.stdout), text(output.stderr))
}

fn running(dir: &Path) -> (Child, ChildStdin, BufReader<ChildStdout>) {
    let mut child = command(dir, &["sheet", "run"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    let input = child.stdin.take().expect("piped");
    let output = BufReader::new(child.stdout.take().expect("piped"));
    (child, input, output)
}

fn line(output: &mut BufReader<ChildStdout>) -> String {
    let mut line = String::new();
    output.read_line(&mut line).expect("UTF-8");
    line
}

#[test]
fn a_sheet_is_started_from_words_checked_and_shown_without_a_terminal() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("eye.jpg"), b"x").unwrap();
    let words = [
        "sheet",
        "new",
        "--part",
        "Toggle 4",
        "--material",
        "bronze",
        "--form",
        "casting",
        "--technique",
        "tech-shop-practice",
        "--temperature",
        "70 F",
    ];
    let (code, out, talk) = nde(dir.path(), &words);
    assert_eq!((code, out.as_str()), (0, "sheet.toml\n"), "{talk}");
    let text = fs::read_to_string(dir.path().join("sheet.toml")).unwrap();
    assert!(text.contains("name = \"eye\"\nphotos = [\"eye.jpg\"]"), "{text}");
    // It is not written over.
    assert_eq!(nde(dir.path(), &words).0, 2);
    let (code, out, _) = nde(dir.path(), &["sheet", "check"]);
    assert_eq!(code, 1);
    assert!(out.contains("dwell") && out.contains("not recorded"), "{out}");
    assert!(out.contains("tested_by in [people]"), "{out}");
    let (code, out, _) = nde(dir.path(), &["sheet", "show"]);
    assert_eq!(code, 0);
    assert!(out.contains("Toggle 4") && out.contains("70 F"), "{out}");
    let (code, _, talk) = nde(dir.path(), &["sheet", "new", "other.toml", "--material", "wood"]);
    assert_eq!(code, 2);
    assert!(talk.contains("`wood` is not known") && !dir.path().join("other.toml").exists());
}

#[test]
fn every_fault_has_its_place() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("sheet.toml"), "[part]\nnam = \"x\"\nbare = \"no\"\n").unwrap();
    let (code, out, talk) = nde(dir.path(), &["sheet", "check"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(talk.contains("error: sheet.toml:2:1: `nam` is not known in [part]"), "{talk}");
    assert!(talk.contains("error: sheet.toml:3:8: `bare` is neither true nor false"), "{talk}");
    let (code, _, talk) = nde(dir.path(), &["sheet", "show", "missing.toml"]);
    assert_eq!(code, 2);
    assert!(talk.contains("missing.toml: cannot be read"), "{talk}");
}

#[test]
fn techniques_are_listed_and_shown_with_their_sources() {
    let dir = tempfile::tempdir().unwrap();
    let (code, out, _) = nde(dir.path(), &["rules"]);
    assert_eq!(code, 0);
    assert!(out.contains("tech-shop-practice"), "{out}");
    let (code, out, _) = nde(dir.path(), &["rules", "show", "tech-us-pressure"]);
    assert_eq!(code, 0);
    for words in [">= 20 min", "doubled from 40 to 50 F", "secondary source", "sha256"] {
        assert!(out.contains(words), "{words}: {out}");
    }
    let own = "id = \"own\"\ntitle = \"own\"\n[clock]\nwet = \"dry\"\ndry = \"applied\"\n[[limit]]\nitem = \"kept-wet\"\n";
    fs::write(dir.path().join("own.toml"), own).unwrap();
    assert_eq!(nde(dir.path(), &["rules", "check", "own.toml"]).0, 0);
    assert!(nde(dir.path(), &["rules", "show", "own.toml"]).1.contains("kept-wet"));
}

/// Times are on the disk at once: a run that is killed in mid-dwell has lost nothing, and the next one
/// counts the true elapsed time.
#[test]
fn a_run_killed_in_mid_dwell_goes_on_from_the_disk() {
    let dir = tempfile::tempdir().unwrap();
    let made = nde(dir.path(), &["sheet", "new", "--technique", "tech-shop-practice"]);
    assert_eq!(made.0, 0, "{}", made.2);
    let (mut child, mut input, mut output) = running(dir.path());
    input.write_all(b"\n\n").unwrap();
    assert!(line(&mut output).contains("cleaning begins"));
    assert!(line(&mut output).contains("last cleaner"));
    // Five minutes of drying are not over: the first Enter is asked back.
    input.write_all(b"\n\n").unwrap();
    let penetrant = line(&mut output);
    assert!(penetrant.contains("penetrant goes on"), "{penetrant}");
    child.kill().unwrap(); // SIGKILL where there is one: nothing can be tidied up
    assert!(!child.wait().unwrap().success());

    let text = fs::read_to_string(dir.path().join("sheet.toml")).unwrap();
    let logged = penetrant.split_whitespace().next().unwrap();
    assert!(text.contains(&format!("start = {logged}")), "{text}");
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1, "no half-written file is left");

    std::thread::sleep(std::time::Duration::from_millis(1500));
    let (child, mut input, mut output) = running(dir.path());
    input.write_all(b"note it was dark\nquit\n").unwrap();
    assert!(line(&mut output).contains("note: it was dark"));
    let ended = child.wait_with_output().unwrap();
    let talk = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(0), "{talk}");
    let ago = talk
        .lines()
        .find_map(|l| l.strip_prefix("goes on after: penetrant goes on at "))
        .and_then(|l| l.split(", 0:").nth(1)?.split_whitespace().next()?.parse::<u64>().ok());
    assert!(ago.is_some_and(|seconds| (1..60).contains(&seconds)), "{talk}");
    assert!(talk.contains("its removal begins: Enter, not before"), "{talk}");
}

/// The blank has `bare = ""`: an answer written between the quotes counts like one without.
#[test]
fn an_answer_between_the_blanks_quotes_is_taken() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    assert_eq!(nde(at, &["sheet", "new"]).0, 0);
    let blank = std::fs::read_to_string(at.join("sheet.toml")).unwrap();
    for (written, shown) in [("\"true\"", "yes"), ("true", "yes"), ("\"false\"", "no")] {
        let text = blank.replace("bare = \"\"", &format!("bare = {written}"));
        assert_ne!(text, blank);
        std::fs::write(at.join("sheet.toml"), text).unwrap();
        let (code, out, talk) = nde(at, &["sheet", "show"]);
        let line = out.lines().find(|line| line.trim_start().starts_with("bare")).unwrap_or("");
        assert!(code < 2 && line.ends_with(shown), "{written}: {line}\n{talk}");
    }
    std::fs::write(at.join("sheet.toml"), blank.replace("bare = \"\"", "bare = \"perhaps\""))
        .unwrap();
    let (code, _, talk) = nde(at, &["sheet", "show"]);
    assert_eq!(code, 2);
    assert!(talk.contains("write bare = true or bare = false"), "{talk}");
}
