//! Yes, no, or not to be said.

/// Whether something holds, given everything that may be otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Answer {
    /// It does not, whatever the doubts.
    No,
    /// It may.
    Maybe,
    /// It does, whatever the doubts.
    Yes,
}

impl Answer {
    /// From what surely holds and what possibly does.
    pub(super) const fn from(sure: bool, possible: bool) -> Self {
        match (sure, possible) {
            (true, _) => Self::Yes,
            (false, true) => Self::Maybe,
            (false, false) => Self::No,
        }
    }

    pub(super) const fn possible(self) -> bool {
        !matches!(self, Self::No)
    }

    pub(super) const fn sure(self) -> bool {
        matches!(self, Self::Yes)
    }
}
