//! The engine beside the slow evaluator: random lists, and vectors on every side of every limit.
//!
//! A few thousand lists here; `cargo run --release -p nde-checks --bin rule_maps -- --maps 100000` tries
//! as many as wanted.

use nde_checks::slow::boundary::edges;
use nde_checks::slow::compare::{differences, engine};
use nde_checks::slow::judge::Verdict;
use nde_checks::slow::trial::{pairs, trial};
use rayon::prelude::*;

/// Lists tried here. Chosen: a few seconds.
const MAPS: usize = 3_000;

#[test]
fn random_lists_are_judged_alike_whatever_their_order_and_place() {
    let sets = pairs();
    let trials: Vec<_> = (0..MAPS)
        .into_par_iter()
        .map(|seed| (seed, trial(&sets[seed % sets.len()], 1_000_000 + seed as u64)))
        .collect();
    let faults: Vec<String> = trials
        .iter()
        .filter(|(_, trial)| !trial.faults.is_empty())
        .map(|(seed, trial)| {
            format!("{} {seed}: {}", sets[seed % sets.len()].set.id, trial.faults.join("; "))
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    // The lists must be able to tell an engine that says always the same.
    for wanted in [Verdict::Accept, Verdict::Review, Verdict::Reject] {
        let count = trials.iter().filter(|(_, trial)| trial.verdict == Some(wanted)).count();
        assert!(count > MAPS / 40, "{wanted:?} only {count} times");
    }
    for pair in &sets {
        for rule in &pair.set.rules {
            let hit = trials.iter().any(|(seed, trial)| {
                sets[seed % sets.len()].set.id == pair.set.id && trial.caught.contains(&rule.name)
            });
            assert!(hit, "no list is rejected by `{}` of {}", rule.name, pair.set.id);
        }
    }
}

#[test]
fn every_limit_of_every_shipped_set_divides_where_its_side_says() {
    let mut vectors = 0;
    for pair in pairs().iter().filter(|p| nde_core::rules::builtin_ids().any(|id| id == p.set.id)) {
        for edge in edges(&pair.set) {
            let outcomes = edge.outcomes(&pair.set);
            let about = format!("{}, {}", pair.set.id, edge.limit);
            assert!(edge.divides(&outcomes), "{about}: {outcomes:#?}");
            for (case, slow) in edge.cases.iter().zip(&outcomes) {
                let fast = engine(&case.marks, &pair.rules, &case.facts).expect("it can be judged");
                let faults = differences(&fast, slow, &pair.set, &case.marks);
                assert!(faults.is_empty(), "{about}: {}\n{:#?}", faults.join("; "), case.marks);
                vectors += 1;
            }
        }
    }
    assert!(vectors > 250, "only {vectors} vectors were made");
}
