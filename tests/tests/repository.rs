//! The repository as a whole: nothing in it knows the machine it was written on, and what it says exists.

use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the workspace").to_path_buf()
}

/// Every file that is kept, without build products.
fn kept() -> Vec<PathBuf> {
    let mut all = Vec::new();
    let mut next = vec![root()];
    while let Some(dir) = next.pop() {
        for entry in std::fs::read_dir(&dir).expect("a readable folder") {
            let path = entry.expect("a readable folder").path();
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            if path.is_dir() {
                if !name.starts_with("target") && name != ".git" {
                    next.push(path);
                }
            } else if name != ".git" {
                all.push(path);
            }
        }
    }
    assert!(all.len() > 40, "the repository was not found");
    all
}

#[test]
fn no_file_holds_a_machine_path_or_a_private_host() {
    // Written in halves so that this file does not hold them itself.
    let words = [
        ["/wo", "rk/"],
        ["/ro", "ot/"],
        ["/ho", "me/"],
        ["arti", "factory"],
        ["shared/", "design"],
        ["C:\\Us", "ers"],
    ]
    .map(|half| half.concat());
    let mut faults = Vec::new();
    for path in kept() {
        let bytes = std::fs::read(&path).expect("a readable file");
        let text = String::from_utf8_lossy(&bytes);
        for word in &words {
            if text.contains(word.as_str()) {
                faults.push(format!("{} holds {word}", path.display()));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn no_test_is_switched_off() {
    let off = ["#[ign", "ore"].concat();
    for path in kept().iter().filter(|p| p.extension().is_some_and(|e| e == "rs")) {
        let text = std::fs::read_to_string(path).expect("a readable file");
        assert!(!text.contains(&off), "{} switches a test off", path.display());
    }
}

#[test]
fn every_fixture_is_accounted_for() {
    let dir = root().join("fixtures");
    let told = std::fs::read_to_string(dir.join("README.md")).expect("fixtures/README.md");
    let mut looked = 0;
    for path in kept().iter().filter(|p| p.starts_with(&dir)) {
        let name = path.file_name().expect("a file").to_string_lossy().into_owned();
        let truth_of_photo =
            path.extension().is_some_and(|e| e == "json") && path.with_extension("jpg").exists();
        let folder =
            path.parent().expect("a folder").file_name().unwrap_or_default().to_string_lossy();
        let named =
            told.contains(&name) || told.contains(&format!("## {folder}")) && truth_of_photo;
        assert!(
            named || name == "README.md",
            "fixtures/README.md does not tell of {}",
            path.display()
        );
        looked += 1;
    }
    assert!(looked >= 8, "only {looked} fixtures were looked at");
}

#[test]
fn every_demo_photo_says_that_it_is_rendered_and_has_its_truth() {
    let dir = root().join("fixtures/photos");
    let mut looked = 0;
    for entry in std::fs::read_dir(&dir).expect("the demo photos") {
        let path = entry.expect("a readable folder").path();
        if path.extension().is_some_and(|e| e == "jpg") {
            let text = std::fs::read_to_string(path.with_extension("json")).expect("its truth");
            let truth: serde_json::Value = serde_json::from_str(&text).expect("JSON");
            assert_eq!(truth["rendered"], true, "{}", path.display());
            assert!(
                truth["indications"].as_array().is_some_and(|a| !a.is_empty()),
                "{}",
                path.display()
            );
            looked += 1;
        }
    }
    assert!((1..=4).contains(&looked), "{looked} demo photos");
}
