//! Imports run one way: the order of `mod` lines is the order in which things flow, and a file names only
//! modules above its own. Between crates: command -> measure -> core, and measuring knows no rules.
//!
//! A text check. `super::super` and `#[path]` are banned beside it, because they would get round it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The crates whose files run one way.
const CRATES: [&str; 4] = ["nde-core", "nde-measure", "nde-cli", "tests"];

/// What measuring may take from the rules' crate: the vocabulary.
const VOCABULARY: [&str; 15] = [
    "Confidence",
    "Doubt",
    "Gate",
    "GateOutcome",
    "Indication",
    "Length",
    "LengthError",
    "Measured",
    "Place",
    "Point",
    "Relevance",
    "Shape",
    "Source",
    "Spread",
    "Weight",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the workspace").to_path_buf()
}

/// Source text without comments, strings and unit tests.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]").next().expect("split gives one part");
    let plain = |line: &str| {
        let line = line.split("//").next().expect("split gives one part");
        line.split('"').step_by(2).collect::<Vec<_>>().join("\"\"")
    };
    text.lines().map(plain).collect::<Vec<_>>().join("\n")
}

/// Names that follow a prefix such as `crate::`: one, or the first names of a brace list.
fn names_after(code: &str, prefix: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, _) in code.match_indices(prefix) {
        let before = code[..at].chars().next_back();
        if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':') {
            continue;
        }
        let rest = &code[at + prefix.len()..];
        if let Some(list) = rest.strip_prefix('{') {
            let (mut depth, mut word, mut first) = (0, String::new(), true);
            for c in list.chars() {
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => {
                        names.push(std::mem::take(&mut word));
                        first = true;
                    }
                    ':' => first = false,
                    c if depth == 0 && first && (c.is_alphanumeric() || c == '_') => word.push(c),
                    ' ' if depth == 0 && !word.is_empty() => first = false,
                    _ => {}
                }
            }
            names.push(word);
        } else {
            let word = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            names.push(word);
        }
    }
    names.retain(|n: &String| !n.is_empty());
    names
}

/// Modules a file declares, in order.
fn modules(code: &str) -> Vec<String> {
    code.lines()
        .filter_map(|line| {
            let line = line.trim().trim_start_matches("pub(crate) ").trim_start_matches("pub ");
            line.strip_prefix("mod ")?.strip_suffix(';').map(str::to_owned)
        })
        .collect()
}

/// Which module each re-exported name comes from.
fn reexports(code: &str) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    for line in code.split(';') {
        let Some(at) = line.find("use ") else { continue };
        if !line[..at].trim_end().ends_with(['b', ')']) {
            continue; // Only `pub use` and `pub(crate) use`.
        }
        let Some((module, names)) = line[at + 4..].split_once("::") else { continue };
        for name in names.split(|c: char| !(c.is_alphanumeric() || c == '_')) {
            if !name.is_empty() {
                all.insert(name.to_owned(), module.trim().to_owned());
            }
        }
    }
    all
}

fn files_in(dir: &Path) -> Vec<PathBuf> {
    let mut all = Vec::new();
    let mut next = vec![dir.to_path_buf()];
    while let Some(dir) = next.pop() {
        for entry in std::fs::read_dir(&dir).expect("a readable folder") {
            let path = entry.expect("a readable folder").path();
            if path.is_dir() {
                next.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                all.push(path);
            }
        }
    }
    all.sort();
    all
}

fn read(path: &Path) -> String {
    code(&std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display())))
}

/// Words on which a file breaks the order of one module list.
fn breaks(
    file: &str,
    own: &str,
    order: &[String],
    from: &BTreeMap<String, String>,
    used: &[String],
) -> Vec<String> {
    let place = |name: &str| order.iter().position(|m| m == name);
    let Some(own_place) = place(own) else {
        return vec![format!("{file}: `{own}` has no place in the module list")];
    };
    used.iter()
        .filter_map(|name| {
            let module = from.get(name).map_or(name.as_str(), String::as_str);
            let there = place(module)?;
            (there > own_place)
                .then(|| format!("{file} uses `{name}` of `{module}`, which comes after `{own}`"))
        })
        .collect()
}

#[test]
fn files_use_only_modules_above_their_own() {
    let mut faults = Vec::new();
    let mut looked = 0;
    for name in CRATES {
        let src = root().join(name).join("src");
        let lib = read(&src.join("lib.rs"));
        let (order, from) = (modules(&lib), reexports(&lib));
        for path in files_in(&src) {
            let inner = path.strip_prefix(&src).expect("it was found there");
            let parts: Vec<String> =
                inner.with_extension("").iter().map(|p| p.to_string_lossy().into_owned()).collect();
            let first = parts[0].as_str();
            if ["lib", "main", "bin"].contains(&first)
                || parts.last().is_some_and(|p| p.ends_with("tests"))
            {
                continue;
            }
            looked += 1;
            let file = format!("{name}/src/{}", inner.display());
            let text = read(&path);
            if text.contains("super::super") || text.contains("#[path") {
                faults.push(format!("{file} gets round the module list"));
            }
            faults.extend(breaks(&file, first, &order, &from, &names_after(&text, "crate::")));
            let last = parts.last().expect("a file has a name").as_str();
            if parts.len() == 1 {
                let used = names_after(&text, "super::");
                let up: Vec<_> = used.iter().filter(|n| order.contains(n)).collect();
                if !up.is_empty() {
                    faults.push(format!("{file} names {up:?} by super::, write crate::"));
                }
            } else if last != "mod" {
                // Beside `mod.rs` or `parent.rs`, the parent's list is the order.
                let folder = path.parent().expect("it lies in a folder");
                let beside = folder.join("mod.rs");
                let parent = if beside.exists() { beside } else { folder.with_extension("rs") };
                let parent = read(&parent);
                let used = names_after(&text, "super::");
                faults.extend(breaks(&file, last, &modules(&parent), &BTreeMap::new(), &used));
            }
        }
    }
    assert!(looked > 20, "only {looked} files were looked at");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn crates_point_one_way() {
    let depends = |name: &str| {
        let manifest =
            std::fs::read_to_string(root().join(name).join("Cargo.toml")).expect("a manifest");
        let own: Vec<String> = manifest
            .lines()
            .filter_map(|l| l.split(['.', ' ', '=']).next())
            .filter(|l| l.starts_with("nde-"))
            .map(str::to_owned)
            .collect();
        own
    };
    assert!(depends("nde-core").is_empty());
    assert_eq!(depends("nde-measure"), ["nde-core"]);
    let mut command = depends("nde-cli");
    command.sort();
    command.dedup();
    assert_eq!(command, ["nde-core", "nde-measure"]);
}

/// The rules' crate can be used alone: nothing in its tree reads pictures, draws, or runs threads.
#[test]
fn the_tree_of_the_rules_holds_no_picture() {
    let lock = std::fs::read_to_string(root().join("Cargo.lock")).expect("a lock file");
    let lock: toml::Table = lock.parse().expect("the lock file is TOML");
    let packages = lock["package"].as_array().expect("packages");
    let name = |p: &toml::Value| p["name"].as_str().expect("a name").to_owned();
    // By name alone, whatever the version, and with what only its tests use: more than is asked.
    let mut tree = vec!["nde-core".to_owned()];
    let mut at = 0;
    while at < tree.len() {
        let looked_at = tree[at].clone();
        for package in packages.iter().filter(|p| name(p) == looked_at) {
            let needs = package.get("dependencies").and_then(toml::Value::as_array);
            for need in needs.into_iter().flatten().filter_map(toml::Value::as_str) {
                let need = need.split(' ').next().expect("a name").to_owned();
                if !tree.contains(&need) {
                    tree.push(need);
                }
            }
        }
        at += 1;
    }
    assert!(tree.iter().any(|n| n == "toml"), "the tree was not walked: {tree:?}");
    for word in ["image", "imageproc", "png", "tiff", "jpeg-encoder", "nalgebra", "rayon", "clap"] {
        assert!(!tree.iter().any(|n| n == word), "{word} is in the tree of the rules");
    }
}

#[test]
fn measuring_knows_no_rules_and_no_files_and_core_no_pixels() {
    let mut faults = Vec::new();
    for path in files_in(&root().join("nde-measure/src")) {
        let text = read(&path);
        for name in names_after(&text, "nde_core::") {
            if !VOCABULARY.contains(&name.as_str()) {
                faults.push(format!("{} takes `{name}` from the rules", path.display()));
            }
        }
    }
    let outer =
        ["std::fs", "std::net", "std::process", "std::env", "SystemTime", "println!", "eprintln!"];
    for name in ["nde-core", "nde-measure"] {
        for path in files_in(&root().join(name).join("src")) {
            let text = read(&path);
            faults.extend(
                outer
                    .iter()
                    .filter(|w| text.contains(**w))
                    .map(|w| format!("{} uses {w}", path.display())),
            );
            if name == "nde-core" && (text.contains("image::") || text.contains("std::path")) {
                faults.push(format!("{} sees a picture or a path", path.display()));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_painter_calls_nothing_of_the_measurer() {
    let files = files_in(&root().join("tests/src/paint"));
    assert!(files.len() > 10, "the painter was not found");
    for path in files {
        let text = read(&path);
        for word in ["nde_measure", "nde_core", "nde_cli"] {
            assert!(!text.contains(word), "{} names {word}", path.display());
        }
    }
}

/// The collectors themselves.
#[test]
fn names_are_collected_from_single_and_brace_imports() {
    let text = code(
        "use crate::length::Length; // crate::later\nuse crate::{\n    place::{Point, Place}, Doubt,\n    shape as s,\n};\nlet x = \"crate::no\";\nlet y = crate::a::B; my_crate::c;\n#[cfg(test)]\nuse crate::z;",
    );
    assert_eq!(names_after(&text, "crate::"), ["length", "place", "Doubt", "shape", "a"]);
    assert_eq!(modules("mod a;\npub mod b;\n  pub(crate) mod c;\nmod d {}\n"), ["a", "b", "c"]);
    let from = reexports("pub use a::{X, Y};\nuse b::Z;\npub(crate) use c::W;");
    assert_eq!(from.get("Y").map(String::as_str), Some("a"));
    assert_eq!((from.contains_key("Z"), from.get("W").map(String::as_str)), (false, Some("c")));
    let order = ["a".to_owned(), "b".to_owned()];
    let used = ["b".to_owned()];
    assert_eq!(breaks("f", "a", &order, &BTreeMap::new(), &used).len(), 1);
    assert_eq!(breaks("f", "b", &order, &BTreeMap::new(), &used).len(), 0);
}
