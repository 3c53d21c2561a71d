//! Where a number comes from.
//!
//! Every number that decides something carries one of these up to the report.

/// Document, edition and place of a number, and how surely it was read there.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Source {
    /// Document and clause, such as `VIII-1 App. 8, 8-4(a)`; for a user's own limit, the user's words.
    pub text: String,
    /// How surely the number was read in that place.
    pub confidence: Confidence,
}

/// How surely a number was read in its source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "lowercase")
)]
#[non_exhaustive]
pub enum Confidence {
    /// The clause itself was read.
    Read,
    /// Read in a secondary source that agrees with memory.
    Secondary,
    /// From memory, well known: shown as unverified.
    Memory,
    /// From memory, unsure: never enabled without the user's own check.
    Unsure,
    /// The user's own limit.
    Own,
    /// Chosen in this project; its text says how.
    Chosen,
}

impl Confidence {
    /// One word for reports.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "read in the source",
            Self::Secondary => "secondary source",
            Self::Memory => "from memory, unverified",
            Self::Unsure => "from memory, unsure",
            Self::Own => "user's own",
            Self::Chosen => "chosen here",
        }
    }
}
