//! What the exit code says.
//!
//! 0 everything judged and accepted, or nothing was to be judged; 1 something is rejected or
//! needs review; 2 something could not be done. 2 wins over 1.

use std::process::ExitCode;

/// How a run ended; the greater one wins.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// Everything judged and accepted, or nothing was to be judged. Exit code 0.
    #[default]
    Accepted,
    /// Something is rejected or needs review. Exit code 1.
    Attention,
    /// Something could not be done. Exit code 2.
    Failed,
}

impl Outcome {
    /// The exit code as a number.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Accepted => 0,
            Self::Attention => 1,
            Self::Failed => 2,
        }
    }

    /// The graver of the two.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        self.max(other)
    }
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        Self::from(outcome.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_could_not_be_done_wins_over_a_reject() {
        assert_eq!(Outcome::Attention.and(Outcome::Failed).code(), 2);
        assert_eq!(Outcome::Failed.and(Outcome::Accepted).code(), 2);
        assert_eq!(Outcome::Accepted.and(Outcome::Attention).code(), 1);
    }
}
