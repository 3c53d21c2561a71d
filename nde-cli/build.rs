//! Sums up the sources, so that results kept on disk are known to be of just this program: a version
//! number alone stays the same while the program is worked on.

use std::fs;
use std::path::{Path, PathBuf};

/// What decides over results.
const SOURCES: [&str; 6] = [
    "src",
    "../nde-core/src",
    "../nde-core/rule-sets",
    "../nde-core/techniques",
    "../nde-measure/src",
    "../Cargo.lock",
];

fn main() {
    let mut files = Vec::new();
    for source in SOURCES.map(Path::new).into_iter().filter(|source| source.exists()) {
        println!("cargo::rerun-if-changed={}", source.display());
        collect(source, &mut files);
    }
    files.sort();
    // FNV-1a, 64 bits. Source: its published constants (from memory).
    let mut sum: u64 = 0xcbf2_9ce4_8422_2325;
    for file in files {
        // A crate taken from a registry stands alone: what is not there is not summed up.
        for byte in fs::read(&file).unwrap_or_default() {
            sum = (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
    println!("cargo::rustc-env=NDE_SOURCES={sum:016x}");
}

fn collect(path: &Path, files: &mut Vec<PathBuf>) {
    if path.is_file() {
        files.push(path.to_owned());
    }
    for entry in fs::read_dir(path).into_iter().flatten().flatten() {
        collect(&entry.path(), files);
    }
}
