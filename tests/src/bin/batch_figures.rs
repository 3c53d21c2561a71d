//! Loads the built command with a season's photos and states what came of it: rate, peak memory, and
//! whether runs killed at random moments end in the same bytes as one that was not.
//!
//! ```sh
//! cargo build --release -p nde-cli && cargo run --release -p nde-checks --bin batch_figures -- --photos 1000
//! ```

use anyhow::{Context as _, Result, bail, ensure};
use clap::Parser;
use nde_checks::paint::dice::Dice;
use std::collections::BTreeMap;
use std::fs;
use std::hash::{DefaultHasher, Hasher as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// States rate, peak memory and what killing does.
#[derive(Debug, Parser)]
struct Words {
    /// How many photos; one in twenty is damaged.
    #[arg(long, default_value_t = 1000)]
    photos: usize,
    /// Photos that are used again under other names.
    #[arg(long, default_value = "fixtures/photos")]
    from: PathBuf,
    /// How often a run is killed before it may end.
    #[arg(long, default_value_t = 10)]
    kills: u64,
    /// The built command.
    #[arg(long, default_value = "target/release/nde")]
    nde: PathBuf,
    /// Seed of the moments and the damage.
    #[arg(long, default_value_t = 7)]
    seed: u64,
}

/// What a run took.
struct Ran {
    seconds: f64,
    /// Processor time: what counts on a machine that others use too.
    worked_s: f64,
    peak_mb: f64,
    code: Option<i32>,
}

#[expect(clippy::print_stdout, reason = "a program that prints figures")]
fn main() -> Result<()> {
    let words = Words::parse();
    let nde =
        words.nde.canonicalize().context("build it first: cargo build --release -p nde-cli")?;
    let dir = std::env::temp_dir().join(format!("nde-batch-{}", std::process::id()));
    fs::create_dir_all(&dir)?;
    let done = all(&words, &nde, &dir);
    fs::remove_dir_all(&dir)?;
    println!("{}", done?);
    Ok(())
}

fn all(words: &Words, nde: &Path, dir: &Path) -> Result<String> {
    let mut dice = Dice::new(words.seed);
    let damaged = fill(words, &dir.join("in"), &mut dice)?;
    let whole = run(nde, dir, "whole")?;
    ensure!(whole.code == Some(2), "damaged photos end in exit code 2, not {:?}", whole.code);
    let truth = files(&dir.join("whole"))?;
    let record: serde_json::Value =
        serde_json::from_slice(&fs::read(dir.join("whole/indications.json"))?)?;
    let count = |name: &str| record[name].as_array().map_or(0, Vec::len);
    ensure!(
        count("could_not_be_done") == damaged,
        "{} could not be done",
        count("could_not_be_done")
    );
    ensure!(count("cases") == words.photos - damaged);
    let mut lines = vec![format!(
        "{} photos, {damaged} damaged: {:.0} s, {:.2} a second; {:.2} s of processor time a photo; peak memory {:.0} MB",
        words.photos,
        whole.seconds,
        words.photos as f64 / whole.seconds,
        whole.worked_s / words.photos as f64,
        whole.peak_mb
    )];
    let again = run(nde, dir, "whole")?;
    ensure!(files(&dir.join("whole"))? == truth, "a second run changed bytes");
    lines.push(format!("again, nothing to do: {:.1} s, the same bytes", again.seconds));

    let (mut killed, mut shares) = (0, Vec::new());
    let mut kept = 0;
    for left in (1..=words.kills).rev() {
        // A random moment of an equal share of the work left, so that every run is killed at work.
        let rest = 1.0 - kept as f64 / words.photos as f64;
        let moment = dice.between(0.05, 0.95) * 2.0 * whole.seconds * rest / (left + 1) as f64;
        let mut child = start(nde, dir, "killed")?;
        std::thread::sleep(Duration::from_secs_f64(moment));
        if child.try_wait()?.is_none() {
            child.kill()?;
            killed += 1;
        }
        child.wait()?;
        kept = fs::read_dir(dir.join("killed/photos")).map_or(0, Iterator::count).saturating_sub(1);
        shares.push(kept.to_string());
    }
    run(nde, dir, "killed")?;
    ensure!(files(&dir.join("killed"))? == truth, "after killing, the bytes differ");
    lines.push(format!(
        "killed {killed} times, with {} results kept by then, then ended: the same bytes",
        shares.join(", ")
    ));
    Ok(lines.join("\n"))
}

/// Photos under many names, one in twenty damaged in turn in five ways.
fn fill(words: &Words, to: &Path, dice: &mut Dice) -> Result<usize> {
    fs::create_dir_all(to)?;
    let mut sources: Vec<PathBuf> = fs::read_dir(&words.from)?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "jpg"))
        .collect();
    sources.sort();
    if sources.is_empty() {
        bail!("{}: no photo", words.from.display());
    }
    let mut damaged = 0;
    for n in 0..words.photos {
        let mut bytes = fs::read(&sources[n % sources.len()])?;
        if n % 20 == 7 {
            let part = bytes.len() * (5 + dice.below(75)) / 100;
            match damaged % 5 {
                0 => bytes.truncate(part),
                1 => bytes.clear(),
                2 => bytes = b"not a picture at all".to_vec(),
                3 => bytes[..part.min(4096)].fill(0),
                _ => bytes = bytes.split_off(part),
            }
            damaged += 1;
        } else {
            // Each photo has bytes of its own; what follows a picture's end is not read.
            bytes.extend(n.to_le_bytes());
        }
        fs::write(to.join(format!("{n:05}.jpg")), bytes)?;
    }
    Ok(damaged)
}

fn start(nde: &Path, dir: &Path, out: &str) -> Result<Child> {
    let words = ["evaluate", "in", "--rules", "weld-vessel-si", "--quiet", "--out", out];
    Ok(Command::new(nde)
        .args(words)
        .current_dir(dir)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?)
}

/// A run to its end, its memory looked at all the while.
fn run(nde: &Path, dir: &Path, out: &str) -> Result<Ran> {
    let begun = Instant::now();
    let mut child = start(nde, dir, out)?;
    let (mut peak_mb, mut worked_s) = (0.0_f64, 0.0_f64);
    loop {
        let stat = fs::read_to_string(format!("/proc/{}/stat", child.id())).unwrap_or_default();
        // Behind the name in brackets; clock ticks are hundredths of a second on this system.
        let numbers = stat.rsplit(')').next().unwrap_or_default().split_whitespace();
        let ticks: f64 = numbers.skip(11).take(2).filter_map(|n| n.parse::<f64>().ok()).sum();
        worked_s = worked_s.max(ticks / 100.0);
        let status = fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kb = line.and_then(|line| line.split_whitespace().next()?.parse::<f64>().ok());
        peak_mb = peak_mb.max(kb.unwrap_or(0.0) / 1024.0);
        if let Some(status) = child.try_wait()? {
            let seconds = begun.elapsed().as_secs_f64();
            return Ok(Ran { seconds, worked_s, peak_mb, code: status.code() });
        }
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// Every file below a folder, its bytes summed up.
fn files(dir: &Path) -> Result<BTreeMap<PathBuf, (usize, u64)>> {
    let (mut all, mut next) = (BTreeMap::new(), vec![dir.to_owned()]);
    while let Some(here) = next.pop() {
        for entry in fs::read_dir(&here)? {
            let path = entry?.path();
            if path.is_dir() {
                next.push(path);
            } else {
                let bytes = fs::read(&path)?;
                let mut sum = DefaultHasher::new();
                sum.write(&bytes);
                let sum = (bytes.len(), sum.finish());
                all.insert(path.strip_prefix(dir)?.to_owned(), sum);
            }
        }
    }
    Ok(all)
}
