//! Every command's help has examples, and every example is run.

#![cfg(unix)]

mod run;

use run::spoken as nde;
use std::fs;
use std::path::Path;
use std::process::Command;

/// The commands that a help text lists.
fn listed(help: &str) -> Vec<String> {
    let Some((_, rest)) = help.split_once("\nCommands:\n") else { return Vec::new() };
    let block = rest.split("\n\n").next().unwrap_or_default();
    let name = |line: &str| {
        let line = line.strip_prefix("  ").filter(|l| !l.starts_with(' '))?;
        line.split_whitespace().next().map(str::to_owned)
    };
    block.lines().filter_map(name).filter(|name| name != "help").collect()
}

/// The lines below `Examples:`, put together where one goes on, without what is said beside them.
fn examples(help: &str) -> Vec<String> {
    let Some((_, rest)) = help.split_once("Example").and_then(|(_, r)| r.split_once(":\n")) else {
        return Vec::new();
    };
    let block = rest.split("\n\n").next().unwrap_or_default().replace("\\\n", " ");
    let lines = block.lines().map(|line| line.trim().split("    ").next().unwrap_or_default());
    lines.map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
}

/// A place where all that the examples name is there.
fn bench() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    let at = dir.path();
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures");
    let photo = fixtures.join("photos/chainplate-port.jpg");
    for folder in ["job-117", "season", "inbox", "chainplate", "old", "new"] {
        fs::create_dir(at.join(folder)).expect("made");
    }
    for name in [
        "chainplate.jpg",
        "job-117/a.jpg",
        "season/a.jpg",
        "inbox/a.jpg",
        "chainplate/upper-eye.jpg",
        "old/upper-eye.jpg",
        "new/upper-eye.jpg",
        "after-5.jpg",
        "after-10.jpg",
        "after-20.jpg",
    ] {
        fs::copy(&photo, at.join(name)).expect("copied");
    }
    fs::copy(fixtures.join("lists/chainplates-by-hand.csv"), at.join("by-hand.csv")).expect("list");
    fs::copy(fixtures.join("rules/rigging-loft.toml"), at.join("our-limits.toml")).expect("rules");
    let rule = image::RgbImage::from_pixel(1000, 800, image::Rgb([226, 226, 222]));
    rule.save(at.join("toggle.jpg")).expect("saved");
    for out in ["first", "next-year"] {
        let words = ["evaluate", "chainplate", "--rules", "weld-vessel-si", "--out", out, "-q"];
        assert_eq!(nde(at, &words).0, 1);
    }
    dir
}

#[test]
fn every_help_has_examples_and_each_example_runs() {
    let dir = bench();
    let at = dir.path();
    let mut commands: Vec<Vec<String>> =
        listed(&nde(at, &["--help"]).1).into_iter().map(|name| vec![name]).collect();
    let mut n = 0;
    let mut all = Vec::new();
    while n < commands.len() {
        let words: Vec<&str> = commands[n].iter().map(String::as_str).chain(["--help"]).collect();
        let (code, help, _) = nde(at, &words);
        assert_eq!(code, 0, "{words:?}");
        let found = examples(&help);
        assert!(!found.is_empty(), "{words:?} has no example:\n{help}");
        all.extend(found);
        let deeper = listed(&help);
        let parent = commands[n].clone();
        commands.extend(deeper.into_iter().map(|name| [parent.clone(), vec![name]].concat()));
        n += 1;
    }
    assert!(n > 15 && all.len() > 30, "{n} commands, {} examples", all.len());
    for line in &all {
        assert!(line.contains("nde "), "{line}");
        run(at, line);
    }
}

/// In the shell, as a person pastes it. What needs a person or never ends is only parsed.
fn run(at: &Path, line: &str) {
    let bin = Path::new(env!("CARGO_BIN_EXE_nde")).parent().expect("a folder");
    let path = format!("{}:{}", bin.display(), std::env::var("PATH").unwrap_or_default());
    let mut line = line.to_owned();
    for (from, to) in [
        // A reader of manuals is not everywhere.
        ("| man -l -", "> /dev/null"),
        ("~/", "home/"),
        ("-newer last ", ""),
        ("--watch ", "--watch --watch-end 1 "),
        // A blank picture holds no rule.
        ("nde measure toggle.jpg --scale ticks:1mm", "nde measure toggle.jpg --scale pitch:0.1mm"),
    ] {
        line = line.replace(from, to);
    }
    // What an example writes anew must not be there yet.
    if line.contains("rules new our-limits.toml") {
        line = line.replace("our-limits.toml", "fresh.toml; rm fresh.toml");
    }
    if line.starts_with("nde sheet new") {
        line = format!("rm -f sheet.toml chainplate/sheet.toml; {line}");
    }
    if line.starts_with("nde sheet") && !line.contains(" new") {
        line =
            format!("test -f chainplate/sheet.toml || nde sheet new chainplate/sheet.toml; {line}");
    }
    let script = format!(
        "mkdir -p home/.local/share/bash-completion/completions home/.config/fish/completions home/.local/share/man/man1; {line}"
    );
    let ran = Command::new("sh")
        .args(["-c", &script])
        .env("PATH", path)
        .current_dir(at)
        .output()
        .expect("a shell");
    let talk = String::from_utf8_lossy(&ran.stderr);
    assert!(
        matches!(ran.status.code(), Some(0 | 1)) && !talk.contains("error: "),
        "`{line}` ended with {:?}:\n{talk}",
        ran.status.code()
    );
}
