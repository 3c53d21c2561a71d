//! Judges random lists with the engine and with the slow evaluator, and prints how often they agree.
//!
//! `cargo run --release -p nde-checks --bin rule_maps -- --maps 100000`

use clap::Parser;
use nde_checks::slow::judge::Verdict;
use nde_checks::slow::trial::{Trial, pairs, trial};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::io::Write as _;
use std::time::Instant;

/// Random indication maps, sizes and places on and around the limits of each set in turn.
#[derive(Parser)]
struct Args {
    /// How many maps, spread over all sets.
    #[arg(long, default_value_t = 100_000)]
    maps: u64,
    /// Seed of the first one.
    #[arg(long, default_value_t = 0)]
    first_seed: u64,
    /// Only the set of this id.
    #[arg(long)]
    only: Option<String>,
}

/// Counts of one set.
#[derive(Default)]
struct Tally {
    maps: u64,
    verdicts: BTreeMap<&'static str, u64>,
    rules: BTreeMap<String, u64>,
    faults: u64,
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    let started = Instant::now();
    let mut sets = pairs();
    sets.retain(|pair| args.only.as_ref().is_none_or(|id| *id == pair.set.id));
    anyhow::ensure!(!sets.is_empty(), "no set has this id");
    let many = u64::try_from(sets.len())?;
    let done: Vec<(u64, Trial)> = (args.first_seed..args.first_seed + args.maps)
        .into_par_iter()
        .map(|seed| (seed, trial(&sets[usize::try_from(seed % many).unwrap_or(0)], seed)))
        .collect();
    let mut out = std::io::stdout().lock();
    let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
    let mut shown = 0;
    for (seed, trial) in &done {
        let id = sets[usize::try_from(seed % many)?].set.id.as_str();
        let tally = tallies.entry(id).or_default();
        tally.maps += 1;
        *tally.verdicts.entry(trial.verdict.map_or("left open", word)).or_default() += 1;
        for rule in &trial.caught {
            *tally.rules.entry(rule.clone()).or_default() += 1;
        }
        if !trial.faults.is_empty() {
            tally.faults += 1;
            if shown < 20 {
                writeln!(out, "{id}, seed {seed}: {}", trial.faults.join("; "))?;
            }
            shown += 1;
        }
    }
    for (id, tally) in &tallies {
        writeln!(
            out,
            "{id}: {} maps, {:?}, {} disagree",
            tally.maps, tally.verdicts, tally.faults
        )?;
        for (rule, count) in &tally.rules {
            writeln!(out, "    {count:>7}  {rule}")?;
        }
    }
    let faults: u64 = tallies.values().map(|t| t.faults).sum();
    writeln!(
        out,
        "{} maps, {} sets, {faults} disagree, {:.1} s",
        done.len(),
        tallies.len(),
        started.elapsed().as_secs_f64()
    )?;
    anyhow::ensure!(faults == 0, "the two disagree");
    Ok(())
}

const fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Accept => "accept",
        Verdict::Review => "review",
        Verdict::Reject => "reject",
    }
}
