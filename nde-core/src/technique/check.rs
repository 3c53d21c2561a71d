//! The recorded facts of one test held against a technique.

use super::Technique;
use super::item::{Found, Item};
use super::limit::{Applies, ClockStart, Heft, Limit, Must, keeps};
use super::process::Process;
use crate::source::Source;
use crate::verdict::{Finding, Verdict};

/// How one limit came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum Outcome {
    /// Kept.
    Met,
    /// The fact is not recorded.
    NotRecorded,
    /// The technique says nothing for this material, form or temperature.
    NotCovered,
    /// Not kept.
    NotMet,
}

impl Outcome {
    /// For eyes: `met`, `not recorded`, `not covered`, `not met`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::NotRecorded => "not recorded",
            Self::NotCovered => "not covered",
            Self::NotMet => "not met",
        }
    }
}

/// One limit and how it came out.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Checked {
    /// The item's word, such as `dwell`.
    pub item: &'static str,
    /// How it came out.
    pub outcome: Outcome,
    /// Whether it is advice, which decides nothing.
    pub advice: bool,
    /// What was found; absent when not recorded.
    pub found: Option<String>,
    /// What must hold, and when.
    pub limit: String,
    /// Where the limit stands.
    pub source: Source,
    /// What to do; absent when it is kept.
    pub remedy: Option<String>,
}

/// All limits of one technique that apply to one test.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct ProcessCheck {
    /// The technique's id.
    pub technique: String,
    /// Every limit that applies or may apply, in the technique's order.
    pub items: Vec<Checked>,
}

impl ProcessCheck {
    /// Whether every limit is known to be kept.
    #[must_use]
    pub fn stands(&self) -> bool {
        self.obstacles().next().is_none()
    }

    /// What is not known to be kept, advice left out.
    pub fn obstacles(&self) -> impl Iterator<Item = &Checked> {
        self.items.iter().filter(|it| it.outcome != Outcome::Met && !it.advice)
    }

    /// The verdict of the indications together with the process: a test that is not known to be valid
    /// is never accepted, and a reject stays a reject.
    ///
    /// ```
    /// use nde_core::technique::{Process, Technique, check};
    /// use nde_core::Verdict;
    /// let technique = Technique::builtin("tech-iso").expect("it ships");
    /// let nothing_recorded = check(&Process::default(), &technique);
    /// assert_eq!(nothing_recorded.held_with(Verdict::Accept), Verdict::Review);
    /// assert_eq!(nothing_recorded.held_with(Verdict::Reject), Verdict::Reject);
    /// ```
    #[must_use]
    pub fn held_with(&self, verdict: Verdict) -> Verdict {
        if self.stands() { verdict } else { verdict.max(Verdict::Review) }
    }

    /// One finding for each limit that is not known to be kept.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        self.obstacles()
            .map(|it| Finding {
                verdict: Verdict::Review,
                rule: format!("process: {}", it.item),
                indications: Vec::new(),
                found: match (it.outcome, &it.found) {
                    (Outcome::NotMet, Some(found)) => found.clone(),
                    (outcome, _) => outcome.word().into(),
                },
                limit: it.limit.clone(),
                source: it.source.clone(),
                action: it.remedy.clone(),
            })
            .collect()
    }
}

/// Holds the facts against the technique.
#[must_use]
pub fn check(process: &Process, technique: &Technique) -> ProcessCheck {
    let mut items: Vec<Checked> =
        technique.limits.iter().filter_map(|limit| held(limit, process, technique)).collect();
    // A dwell table that has no line for this part is no licence.
    let dwells = || technique.limits.iter().filter(|l| l.item == Item::Dwell && is_least(l));
    if let Some(first) = dwells().next()
        && dwells().all(|limit| limit.applies(process) == Applies::No)
    {
        items.push(Checked {
            item: Item::Dwell.word(),
            outcome: Outcome::NotCovered,
            advice: false,
            found: process.dwell.map(|d| d.to_string()),
            limit: "a least dwell for this material, form and temperature".into(),
            source: first.source.clone(),
            remedy: Some(
                "have the dwell qualified for this part, and name a technique that holds it".into(),
            ),
        });
    }
    ProcessCheck { technique: technique.id.clone(), items }
}

fn is_least(limit: &Limit) -> bool {
    limit.heft == Heft::Must && limit.number().is_some_and(|(side, _)| side.catches_large())
}

/// How one limit came out; absent where it does not apply.
fn held(limit: &Limit, process: &Process, technique: &Technique) -> Option<Checked> {
    let applies = limit.applies(process);
    let missing = match applies {
        Applies::No => return None,
        Applies::Perhaps(key) => Some(key),
        Applies::Yes => None,
    };
    let found = match limit.item {
        Item::Developing => developing(process, technique),
        item => item.found(process),
    };
    let kept = found.as_ref().map(|found| keeps_limit(&limit.must, found));
    let (outcome, remedy) = match (kept, missing) {
        (Some(true), _) => (Outcome::Met, None),
        (_, Some(key)) => (Outcome::NotRecorded, Some(format!("write {key}"))),
        (None, None) => (Outcome::NotRecorded, Some(limit.item.ask().to_owned())),
        (Some(false), None) => (Outcome::NotMet, Some(limit.item.remedy().to_owned())),
    };
    Some(Checked {
        item: limit.item.word(),
        outcome,
        advice: limit.heft == Heft::Advice,
        found: found.as_ref().map(|found| words(found, limit.item, process)),
        limit: limit.to_string(),
        source: limit.source.clone(),
        remedy,
    })
}

/// The developing time by the technique's own clock. Where the developer is not recorded, the later
/// start is taken, which is the shorter time; it is then not recorded when that one is not.
fn developing(process: &Process, technique: &Technique) -> Option<Found> {
    let start = process.developer.map_or(ClockStart::Dry, |d| technique.clock_start(d));
    let reading = match start {
        ClockStart::Applied => process.since_applied,
        ClockStart::Dry => process.since_dry,
    }?;
    Some(Found::Span(reading.first, reading.last))
}

fn keeps_limit(must: &Must, found: &Found) -> bool {
    match (must, found) {
        (_, Found::Beside(_)) => true,
        (Must::Hold(side, bound), Found::Number(it)) => keeps(*side, *it, *bound),
        (Must::Hold(side, bound), Found::Span(first, last)) => {
            keeps(*side, *first, *bound) && keeps(*side, *last, *bound)
        }
        (Must::Be(words), Found::Word(word)) => words.contains(word),
        (Must::Yes, Found::Answer(yes, _)) => *yes,
        // The form gives each item a limit of its own kind.
        _ => false,
    }
}

fn words(found: &Found, item: Item, process: &Process) -> String {
    match (found, item) {
        (Found::Number(it), _) => it.to_string(),
        (Found::Span(first, last), _) if first == last => first.to_string(),
        (Found::Span(first, last), _) => format!("{first} to {last}"),
        (Found::Word(word) | Found::Beside(word), _) => (*word).to_owned(),
        (Found::Answer(_, words), Item::MakerDwell) => match (process.dwell, process.maker_dwell) {
            (Some(dwell), Some(least)) => format!("{dwell} against the maker's {least}"),
            _ => (*words).to_owned(),
        },
        (Found::Answer(_, words), _) => (*words).to_owned(),
    }
}

#[cfg(test)]
mod tests;
