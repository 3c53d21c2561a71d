//! One random list judged both ways, changed in what must not matter, and grown by one mark.

use super::changes;
use super::compare::{differences, engine};
use super::judge::{Facts, Map, Verdict};
use super::maps::{FURTHER, map};
use super::mark::Mark;
use super::set::Set;
use crate::paint::dice::Dice;
use nde_core::{RuleSet, rules};

/// A rule set as both sides read it.
#[derive(Clone, Debug)]
pub struct Pair {
    /// As the engine reads it.
    pub rules: RuleSet,
    /// As the slow evaluator reads it.
    pub set: Set,
}

impl Pair {
    /// From the text of a set.
    ///
    /// # Panics
    /// When the text is no rule set.
    #[must_use]
    pub fn read(text: &str) -> Self {
        let rules = RuleSet::parse(text).unwrap_or_else(|error| panic!("{error}: {text}"));
        Self { rules, set: Set::read(text) }
    }
}

/// Every shipped set, and the further ones.
#[must_use]
pub fn pairs() -> Vec<Pair> {
    let shipped = rules::builtin_ids().filter_map(RuleSet::builtin);
    let mut all: Vec<Pair> = shipped.map(|rules| Pair::read(rules.text())).collect();
    all.extend(FURTHER.iter().map(|(_, text)| Pair::read(text)));
    all
}

/// What came of one list.
#[derive(Clone, Debug)]
pub struct Trial {
    /// What both said, where they could.
    pub verdict: Option<Verdict>,
    /// Rules that rejected.
    pub caught: Vec<String>,
    /// What must not be, in words.
    pub faults: Vec<String>,
}

/// Tries the list of this seed.
#[must_use]
pub fn trial(pair: &Pair, seed: u64) -> Trial {
    let mut dice = Dice::new(seed);
    let (marks, facts) = map(&pair.set, &mut dice);
    let mut faults = Vec::new();
    let judgement = match engine(&marks, &pair.rules, &facts) {
        Ok(judgement) => judgement,
        Err(error) => {
            let faults = vec![format!("the engine refuses the list: {error}")];
            return Trial { verdict: None, caught: Vec::new(), faults };
        }
    };
    let slow = Map::new(marks.clone()).judge(&pair.set, &facts);
    if let Some(slow) = &slow {
        faults.extend(differences(&judgement, slow, &pair.set, &marks));
    }
    let said = |marks: &[Mark], facts: &Facts| engine(marks, &pair.rules, facts).map(|j| j.verdict);
    for (how, marks, facts) in changes::all(&marks, &facts, &mut dice) {
        // A row that shares members with another goes to one of them by the order of the list.
        if slow.is_some() && said(&marks, &facts) != Ok(judgement.verdict) {
            faults.push(format!("another {how} gives {:?}", said(&marks, &facts)));
        }
    }
    if pair.set.is_monotone() && judgement.verdict == nde_core::Verdict::Reject {
        let mut more = marks.clone();
        let (others, _) = map(&pair.set, &mut dice);
        more.extend(others.into_iter().take(1).map(|mark| Mark { id: "more".into(), ..mark }));
        if said(&more, &facts) != Ok(nde_core::Verdict::Reject) {
            faults.push(format!("one more mark ({:?}) ends the reject", more.last()));
        }
    }
    let caught = slow.as_ref().map(|s| s.caught.keys().cloned().collect()).unwrap_or_default();
    Trial { verdict: slow.map(|s| s.verdict), caught, faults }
}
