//! What is concluded of one photo or list.

use super::word;
use nde_core::{Finding, Judgement, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The conclusion.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Decided {
    #[schemars(with = "word::VerdictWord")]
    pub verdict: Verdict,
    /// What the readings as they stand would give.
    #[schemars(with = "word::VerdictWord")]
    pub as_measured: Verdict,
    pub findings: Vec<Reasoned>,
    /// Conventions of the rule set that were used.
    pub conventions: Vec<String>,
    pub notes: Vec<String>,
}

/// One finding with its reason and its source.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Reasoned {
    #[schemars(with = "word::VerdictWord")]
    pub verdict: Verdict,
    pub rule: String,
    /// Those it is about; empty: the whole picture.
    pub indications: Vec<String>,
    pub found: String,
    pub limit: String,
    pub source: String,
    /// How surely the number was read in its source.
    pub confidence: String,
    /// What settles it.
    pub action: Option<String>,
}

impl Decided {
    pub(super) fn of(judgement: &Judgement) -> Self {
        Self {
            verdict: judgement.verdict,
            as_measured: judgement.as_measured,
            findings: judgement.findings.iter().map(Reasoned::of).collect(),
            conventions: judgement.conventions.clone(),
            notes: judgement.notes.clone(),
        }
    }
}

impl Reasoned {
    #[must_use]
    pub(crate) fn of(finding: &Finding) -> Self {
        Self {
            verdict: finding.verdict,
            rule: finding.rule.clone(),
            indications: finding.indications.clone(),
            found: finding.found.clone(),
            limit: finding.limit.clone(),
            source: finding.source.text.clone(),
            confidence: finding.source.confidence.word().to_owned(),
            action: finding.action.clone(),
        }
    }
}
