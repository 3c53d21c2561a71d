//! What is known of the part beside its photos: its sheet, its zones, its process, the calls.

use super::judged::Reasoned;
use super::word;
use nde_core::Verdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The part and its test.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Part {
    /// Its name in the sheet.
    pub name: Option<String>,
    /// Its number in the sheet.
    pub number: Option<String>,
    /// What the sheet records, line by line: what, and its value. Empty without a sheet.
    #[serde(default)]
    pub facts: Vec<[String; 2]>,
    /// SHA-256 of the sheet's text; absent without a sheet.
    pub sheet_sha256: Option<String>,
    /// SHA-256 of the calls; absent without calls.
    pub calls_sha256: Option<String>,
    /// Worst of its zones, its photos outside any zone and its process; absent when nothing was judged.
    #[schemars(with = "Option<word::VerdictWord>")]
    pub verdict: Option<Verdict>,
    pub zones: Vec<ZoneSeen>,
    pub technique: Option<TechniqueUsed>,
    /// Every limit of the technique that applies.
    pub process: Vec<ProcessItem>,
    /// What keeps the part from being accepted beside its photos' own findings.
    pub findings: Vec<Reasoned>,
}

/// One zone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct ZoneSeen {
    pub name: String,
    /// Its photos that were read.
    pub photos: Vec<String>,
    /// Area read in them; absent: not inspected.
    pub inspected_mm2: Option<f64>,
    /// Worst of its photos; absent when not inspected or nothing was judged.
    #[schemars(with = "Option<word::VerdictWord>")]
    pub verdict: Option<Verdict>,
}

/// The technique held against.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct TechniqueUsed {
    pub id: String,
    pub title: String,
    /// Of its text.
    pub sha256: String,
}

/// One limit and how it came out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct ProcessItem {
    pub item: String,
    /// `met`, `not met`, `not recorded`, `not covered`.
    pub outcome: String,
    /// Advice decides nothing.
    pub advice: bool,
    pub found: Option<String>,
    pub limit: String,
    pub source: String,
    pub confidence: String,
    pub remedy: Option<String>,
}
