//! What a person called, for eyes: beside the measurement, with its reason and who says so.

use super::eyes::{length, unit};
use crate::args::Units;
use crate::record::{Case, Row};
use nde_core::{Relevance, Verdict};

/// What a person said of one indication. What was not said is empty.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Spoken {
    /// The indication.
    pub id: String,
    /// What it was called, and that a person added it where one did.
    pub called: String,
    /// What a person says it is.
    pub label: String,
    /// Why.
    pub reason: String,
    /// Who, and when.
    pub by: String,
    /// Size measured by hand, with its unit.
    pub own: String,
}

impl Spoken {
    /// What was said of one indication; absent where nothing was.
    pub(crate) fn of(row: &Row, units: Units) -> Option<Self> {
        let said = row.said.as_ref();
        if said.is_none() && row.relevance == Relevance::NotYetCalled && row.label.is_none() {
            return None;
        }
        let mut called = row.relevance.word().replace('-', " ");
        if row.relevance == Relevance::NonRelevant {
            row.relevance.word().clone_into(&mut called);
        }
        if said.is_some_and(|said| said.added) {
            called.push_str(", added by hand");
        }
        let by = said.map_or_else(Vec::new, |said| {
            said.by.iter().chain(&said.when).map(String::as_str).collect()
        });
        let sizes = said.map_or([None; 2], |said| [said.own_length_mm, said.own_width_mm]);
        let own: Vec<String> = ["long", "wide"]
            .into_iter()
            .zip(sizes)
            .filter_map(|(word, mm)| Some(format!("{} {} {word}", length(mm?, units), unit(units))))
            .collect();
        Some(Self {
            id: row.id.clone(),
            called,
            label: row.label.clone().unwrap_or_default(),
            reason: said.and_then(|said| said.reason.clone()).unwrap_or_default(),
            by: by.join(", "),
            own: own.join(", "),
        })
    }

    /// All that was said of a case's indications.
    pub(crate) fn all(case: &Case, units: Units) -> Vec<Self> {
        case.indications.iter().filter_map(|row| Self::of(row, units)).collect()
    }

    /// In one line, such as `2: non-relevant, thread root; runs round the bolt (J.R.)`.
    pub(crate) fn line(&self) -> String {
        let mut line = format!("{}: {}", self.id, self.called);
        for (before, text, after) in [
            (", ", &self.label, ""),
            ("; by hand ", &self.own, ""),
            ("; ", &self.reason, ""),
            (" (", &self.by, ")"),
        ] {
            if !text.is_empty() {
                line.push_str(&[before, text, after].concat());
            }
        }
        line
    }
}

/// The verdict without any call; absent where nobody called, or nothing was judged.
pub(crate) fn uncalled(case: &Case) -> Option<Verdict> {
    case.judgement.as_ref()?;
    case.uncalled.as_ref().map(|raw| raw.verdict)
}

/// The sentence that sets the two verdicts side by side.
pub(crate) fn both_verdicts(case: &Case) -> Option<String> {
    let (raw, called) = (uncalled(case)?, case.verdict()?);
    Some(format!("Measured, without any call: {}. As called: {}.", raw.word(), called.word()))
}
