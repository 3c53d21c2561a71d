//! The rules that look at several indications at once.
//!
//! Each such rule only grows worse with more members, longer ones and smaller gaps. So it is asked
//! twice: once with what surely belongs and is surely near (a violation there stands whatever the
//! doubts), once with all that may (no violation there means there is none).

mod near;
mod sums;

use super::answer::Answer;
use super::check::JudgeError;
use super::standing::Standing;
use super::words;
use super::{Context, Finding, Verdict};
use crate::ground::Ground;
use crate::rules::{Rule, Test};

/// What a rule found in one set of indications.
#[derive(Default)]
pub(super) struct Several {
    /// What is not accepted.
    pub(super) findings: Vec<Finding>,
    /// Groups to number, as indices of standings.
    pub(super) groups: Vec<Vec<usize>>,
    /// Whether the rule had anything to look at, so that its conventions were used.
    pub(super) looked: bool,
}

/// Everything a rule that looks at several needs.
pub(super) struct Asking<'a> {
    pub(super) standings: &'a [Standing<'a>],
    pub(super) guard: f64,
    pub(super) context: &'a Context,
}

/// Which of two questions is asked.
#[derive(Clone, Copy, PartialEq, Eq)]
enum World {
    Sure,
    Possible,
}

impl Asking<'_> {
    /// Asks one rule; a rule that looks at one indication at a time finds nothing here.
    pub(super) fn ask(&self, rule: &Rule) -> Result<Several, JudgeError> {
        match &rule.test {
            Test::Any | Test::Length(_) | Test::Width(_) => Ok(Several::default()),
            Test::Row { count, gap, strip } => self.row(rule, *count, gap, *strip),
            Test::Spacing(gap) => self.spacing(rule, gap),
            Test::Count { .. }
            | Test::TotalLength { .. }
            | Test::TotalArea { .. }
            | Test::WeldShare(_) => self.sum(rule),
        }
    }

    /// Indices of what belongs to a rule.
    fn members(&self, rule: &Rule, world: World) -> Vec<usize> {
        let belongs = |answer: Answer| match world {
            World::Sure => answer.sure(),
            World::Possible => answer.possible(),
        };
        (0..self.standings.len())
            .filter(|i| belongs(self.standings[*i].belongs(&rule.of)))
            .collect()
    }

    fn grounds(&self, rule: &Rule, members: &[usize]) -> Result<Vec<&Ground>, JudgeError> {
        members
            .iter()
            .map(|m| {
                let standing = &self.standings[*m];
                standing.ground.as_ref().ok_or_else(|| JudgeError::PlaceNeeded {
                    rule: rule.name.clone(),
                    id: standing.indication.id.clone(),
                })
            })
            .collect()
    }

    fn finding(&self, rule: &Rule, world: World, members: &[usize], found: String) -> Finding {
        let action = (world == World::Possible).then(|| {
            members
                .iter()
                .find_map(|m| words::settle_membership(&self.standings[*m], rule.of.shape))
                .unwrap_or_else(|| {
                    let ids: Vec<&str> =
                        members.iter().map(|m| self.standings[*m].indication.id.as_str()).collect();
                    format!("measure the gaps between {} by hand", ids.join(", "))
                })
        });
        Finding {
            verdict: if world == World::Sure { Verdict::Reject } else { Verdict::Review },
            rule: rule.name.clone(),
            indications: members.iter().flat_map(|m| self.standings[*m].ids.clone()).collect(),
            found,
            limit: rule.limit(),
            source: rule.source.clone(),
            action,
        }
    }
}
