//! Painted parts whose photo is spoiled on purpose.
//!
//! `cargo run --release -p nde-checks --bin spoiled -- --scenes 20 --first-seed 9000`
//!
//! First blank ones, of which none may end in accept: of a blank part a spoiled photo shows nothing, which is what
//! must not be taken for a clean part. Then parts with marks: where no gate failed, does the photo hide any?

use clap::Parser;
use nde_checks::figures::outcome::{ASKED, Finding, Outcome, ScaleGiven, measured};
use nde_checks::figures::spoil::Spoil;
use nde_core::{GateOutcome, Indication, JudgeOptions, RuleSet, Verdict, judge};
use nde_measure::size::contains;
use nde_measure::{MeasureOptions, Measurement, Photo, PhotoLimits, ScaleSpec, measure};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::io::Write as _;

/// Spoil painted photos, print how each kind ends.
#[derive(Parser)]
struct Args {
    /// How many scenes of each kind.
    #[arg(long, default_value_t = 20)]
    scenes: u64,
    /// Seed of the first one.
    #[arg(long, default_value_t = 9000)]
    first_seed: u64,
}

/// How one photo ended: a word, and the gates that failed or warned.
fn ended(seed: u64, spoil: Spoil, rules: &RuleSet) -> anyhow::Result<(String, Vec<String>)> {
    let bytes = spoil.photo(&mut spoil.scene(seed, true));
    let photo = Photo::decode(&bytes, &PhotoLimits::default())?;
    let card = ScaleSpec::Card { bars_mm: Some([100.0, 100.0]) };
    let found = match measure(&photo, &[card], &MeasureOptions::default()) {
        Ok(found) => found,
        Err(why) => return Ok(("refused".into(), vec![why.to_string()])),
    };
    let marks: Vec<Indication> = found.indications.iter().map(|s| s.indication.clone()).collect();
    let mut how = JudgeOptions::default();
    how.gates = found.gates.clone();
    let verdict = judge(&marks, rules, &how)?.verdict;
    let said = found
        .gates
        .iter()
        .filter(|g| matches!(g.outcome, GateOutcome::Fail | GateOutcome::Warn))
        .map(|g| format!("{} {:?}", g.name, g.outcome).to_lowercase())
        .collect();
    let word = match verdict {
        Verdict::Accept => "accept",
        Verdict::Review => "review",
        Verdict::Reject => "reject",
    };
    Ok((word.into(), said))
}

/// Photos of one kind and what became of their marks.
#[derive(Default)]
struct Marks {
    photos: usize,
    refused: usize,
    /// True marks of at least `ASKED`, those counted, and those neither counted nor set aside.
    asked: [usize; 3],
    /// The same of those that lie in the area read, patches left out of it included.
    inside: [usize; 3],
}

impl Marks {
    fn add(&mut self, outcome: &Outcome, measurement: Option<&Measurement>) {
        self.photos += 1;
        self.refused += usize::from(outcome.refused.is_some());
        for finding in &outcome.findings {
            let (truth, counted, silent) = match finding {
                Finding::Hit(truth, _) => (truth, true, false),
                // Two bodies that the photo's blur joined can only be counted as one.
                Finding::Missed { truth, aside, joined: false } => (truth, false, aside.is_none()),
                Finding::Missed { .. } | Finding::False { .. } => continue,
            };
            if truth.peak < ASKED {
                continue;
            }
            let inside = measurement
                .is_some_and(|m| m.coat.outlines_px.iter().any(|ring| contains(ring, truth.at_px)));
            let add = [1, usize::from(counted), usize::from(silent)];
            for (sum, n) in self.asked.iter_mut().zip(add) {
                *sum += n;
            }
            for (sum, n) in self.inside.iter_mut().zip(add).filter(|_| inside) {
                *sum += n;
            }
        }
    }

    fn line(&self) -> String {
        let share = |[all, counted, silent]: [usize; 3]| {
            let part = counted as f64 / all.max(1) as f64;
            format!("{counted:>4} of {all:<4} = {part:.2}, {silent:>3} not listed")
        };
        format!(
            "{:>3} photos ({} refused): {}; in the area read {}",
            self.photos,
            self.refused,
            share(self.asked),
            share(self.inside)
        )
    }
}

/// How one photo of a part with marks was read.
fn read(seed: u64, spoil: Spoil) -> (Outcome, Option<Measurement>) {
    let mut scene = spoil.scene(seed, false);
    let bytes = spoil.photo(&mut scene);
    measured(&scene, &bytes, ScaleGiven::Card)
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    anyhow::ensure!(args.scenes > 0, "nothing to paint; give --scenes 1 or more");
    let rules = RuleSet::builtin("weld-vessel-si")
        .ok_or_else(|| anyhow::anyhow!("weld-vessel-si does not ship any more"))?;
    let mut out = std::io::stdout().lock();
    writeln!(out, "blank painted parts, seeds from {}, {} a kind", args.first_seed, args.scenes)?;
    for spoil in Spoil::ALL {
        let ends: Vec<(String, Vec<String>)> = (args.first_seed..args.first_seed + args.scenes)
            .into_par_iter()
            .map(|seed| ended(seed, spoil, &rules))
            .collect::<anyhow::Result<_>>()?;
        let (mut words, mut said) = (BTreeMap::new(), BTreeMap::new());
        for (word, why) in ends {
            *words.entry(word).or_insert(0) += 1;
            for line in why {
                *said.entry(line).or_insert(0) += 1;
            }
        }
        writeln!(out, "{:<24} {words:?}", spoil.name())?;
        for (line, n) in said {
            writeln!(out, "    {n:>3}  {line}")?;
        }
    }
    writeln!(
        out,
        "parts with marks, the same seeds: marks that took {:.0} % of the green or more, counted",
        100.0 * ASKED
    )?;
    for spoil in Spoil::ALL {
        let all: Vec<(Outcome, Option<Measurement>)> = (args.first_seed
            ..args.first_seed + args.scenes)
            .into_par_iter()
            .map(|seed| read(seed, spoil))
            .collect();
        let [mut fit, mut unfit] = [Marks::default(), Marks::default()];
        for (outcome, measurement) in &all {
            let gates = measurement.as_ref().map(|m| &m.gates);
            let is_fit = gates.is_some_and(|g| g.iter().all(|g| g.outcome != GateOutcome::Fail));
            let marks = if is_fit { &mut fit } else { &mut unfit };
            marks.add(outcome, measurement.as_ref());
        }
        writeln!(out, "{}\n    no gate failed {}", spoil.name(), fit.line())?;
        writeln!(out, "    the others     {}", unfit.line())?;
    }
    Ok(())
}
