//! Many photos on a few threads: bounded memory, results in the order given, stopped between photos.
//!
//! ```sh
//! cargo run --release -p nde-measure --example many_photos -- fixtures/photos/*.jpg
//! ```
//!
//! Each thread holds one photo at a time, so that memory is the number of threads times about 7 MB a
//! megapixel. A fault of one photo is its own result and stops nothing.
#![allow(clippy::print_stdout, reason = "an example that prints")]

use nde_core::{JudgeError, JudgeOptions, Judgement, RuleSet, judge};
use nde_measure::{
    MeasureError, MeasureOptions, Measurement, Photo, PhotoError, PhotoLimits, measure,
};
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Why one photo has no result; each kind asks for another answer.
#[derive(Debug)]
enum Fault {
    /// The disk: try again.
    File(std::io::Error),
    /// No picture: copy it again.
    Photo(PhotoError),
    /// A picture that cannot be measured: take another.
    Measure(MeasureError),
    /// A list that the rules cannot judge.
    Judge(JudgeError),
    /// The run was stopped before its turn.
    Stopped,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File(fault) => fault.fmt(f),
            Self::Photo(fault) => fault.fmt(f),
            Self::Measure(fault) => fault.fmt(f),
            Self::Judge(fault) => fault.fmt(f),
            Self::Stopped => f.write_str("not read: the run was stopped"),
        }
    }
}

impl std::error::Error for Fault {}

/// One photo, from its file to its verdict. Its pixels are gone when this returns.
fn one(path: &Path, rules: &RuleSet) -> Result<(Measurement, Judgement), Fault> {
    let bytes = std::fs::read(path).map_err(Fault::File)?;
    let photo = Photo::decode(&bytes, &PhotoLimits::default()).map_err(Fault::Photo)?;
    drop(bytes);
    let found = measure(&photo, &[], &MeasureOptions::default()).map_err(Fault::Measure)?;
    let how = JudgeOptions::default().with_gates(&found.gates);
    let judged = judge(&found.list(), rules, &how).map_err(Fault::Judge)?;
    Ok((found, judged))
}

/// All photos, in their order, on so many threads; `stop` is looked at before each.
fn all(
    paths: &[PathBuf],
    rules: &RuleSet,
    threads: usize,
    stop: &AtomicBool,
) -> Vec<Result<(Measurement, Judgement), Fault>> {
    let next = AtomicUsize::new(0);
    let results = Mutex::new(Vec::with_capacity(paths.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            scope.spawn(|| {
                while let Some((number, path)) = {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    paths.get(number).map(|path| (number, path))
                } {
                    let stopped = stop.load(Ordering::Relaxed);
                    let result = if stopped { Err(Fault::Stopped) } else { one(path, rules) };
                    if let Ok(mut results) = results.lock() {
                        results.push((number, result));
                    }
                }
            });
        }
    });
    let mut results = results.into_inner().unwrap_or_default();
    results.sort_by_key(|(number, _)| *number);
    results.into_iter().map(|(_, result)| result).collect()
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let paths: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let rules = RuleSet::builtin("weld-vessel-si").ok_or("it ships")?;
    let threads = std::thread::available_parallelism()?.get();
    // A user interface sets this from its own button.
    let stop = AtomicBool::new(false);
    for (path, result) in paths.iter().zip(all(&paths, &rules, threads, &stop)) {
        match result {
            Ok((found, judged)) => {
                let area_cm2 = found.coat.area_mm2 / 100.0;
                println!("{}: {} ({area_cm2:.1} cm2 read)", path.display(), judged.verdict);
                for finding in &judged.findings {
                    println!("  {}: {}; {}", finding.verdict, finding.found, finding.limit);
                }
            }
            Err(fault) => println!("{}: {fault}", path.display()),
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use nde_core::Verdict;

    #[test]
    fn the_demo_photos_are_judged_in_order_and_a_fault_stays_alone() {
        let photos = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/photos");
        let paths = ["deck-fitting-cast.jpg", "none.jpg", "deck-fitting-cast.json"];
        let paths = paths.map(|name| photos.join(name));
        let rules = RuleSet::builtin("weld-vessel-si").expect("it ships");
        let results = all(&paths, &rules, 2, &AtomicBool::new(false));
        assert!(matches!(&results[0], Ok((_, judged)) if judged.verdict == Verdict::Reject));
        assert!(matches!(results[1], Err(Fault::File(_))));
        assert!(matches!(results[2], Err(Fault::Photo(PhotoError::UnknownFormat))));
        let stopped = all(&paths, &rules, 2, &AtomicBool::new(true));
        assert!(stopped.iter().all(|result| matches!(result, Err(Fault::Stopped))));
    }
}
