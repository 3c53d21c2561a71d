//! The rules that look at several indications at once.
//!
//! Each such rule only grows worse with more members and smaller gaps. So it is asked twice: once with
//! what surely belongs and is surely near (a violation there stands whatever the doubts), once with
//! all that may (no violation there means there is none).

use crate::alignment::{Row, Rows, find_rows};
use crate::ground::Ground;
use crate::joining::clusters;
use crate::length::{Length, Spread};
use crate::rules::{CountBound, LengthBound, Rule, Test, Unit};

use super::answer::Answer;
use super::check::JudgeError;
use super::standing::{Standing, margin};
use super::words;
use super::{Finding, Verdict};

/// What a rule found in one set of indications.
pub(super) struct Several {
    /// What is not accepted.
    pub(super) findings: Vec<Finding>,
    /// Groups to number, as indices into the list.
    pub(super) groups: Vec<Vec<usize>>,
    /// Whether the rule had anything to look at, so that its conventions were used.
    pub(super) looked: bool,
}

/// Everything a rule that looks at several needs.
pub(super) struct Asking<'a> {
    pub(super) standings: &'a [Standing<'a>],
    pub(super) guard: f64,
    pub(super) unit: Option<Unit>,
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
            Test::Any | Test::Length(_) | Test::Width(_) => {
                Ok(Several { findings: vec![], groups: vec![], looked: false })
            }
            Test::Row { count, gap, strip } => self.row(rule, *count, gap, *strip),
            Test::Spacing(gap) => self.spacing(rule, gap),
            Test::Count(count) => Ok(self.count(rule, *count)),
        }
    }

    fn row(
        &self,
        rule: &Rule,
        count: CountBound,
        gap: &LengthBound,
        strip: Length,
    ) -> Result<Several, JudgeError> {
        let row = Row { count: count.fewest(), strip };
        let mut several = Several { findings: vec![], groups: vec![], looked: false };
        if self.members(rule, World::Possible).len() < row.count {
            return Ok(several);
        }
        several.looked = true;
        let mut taken = vec![false; self.standings.len()];
        for world in [World::Sure, World::Possible] {
            let members = self.members(rule, world);
            let grounds = self.grounds(rule, &members)?;
            let near = |a: usize, b: usize| {
                let limit = self.limit(gap, members[a], members[b], world);
                limit.is_some_and(|l| gap.side.catches(grounds[a].compare_gap(grounds[b], l)))
            };
            let reach = self.furthest(gap, &members);
            let Rows { rows, complete } = find_rows(&grounds, row, reach, &near);
            for found in rows {
                let found: Vec<usize> = found.into_iter().map(|m| members[m]).collect();
                if found.iter().all(|m| taken[*m]) {
                    continue;
                }
                found.iter().for_each(|m| taken[*m] = true);
                let words = format!("{} in line, {}", found.len(), self.gaps(&found));
                several.findings.push(self.finding(rule, world, &found, words));
                several.groups.push(found);
            }
            if !complete {
                several.findings.push(Finding {
                    verdict: Verdict::Review,
                    action: Some(
                        "look along the marks with a straight edge and count them by hand".into(),
                    ),
                    ..self.finding(
                        rule,
                        World::Sure,
                        &members,
                        "the marks stand too thick to try every line".into(),
                    )
                });
            }
        }
        Ok(several)
    }

    fn spacing(&self, rule: &Rule, gap: &LengthBound) -> Result<Several, JudgeError> {
        let mut several = Several { findings: vec![], groups: vec![], looked: false };
        if self.members(rule, World::Possible).len() < 2 {
            return Ok(several);
        }
        several.looked = true;
        let mut taken = vec![false; self.standings.len()];
        for world in [World::Sure, World::Possible] {
            let members = self.members(rule, world);
            let grounds = self.grounds(rule, &members)?;
            let near = |a: usize, b: usize| {
                let limit = self.limit(gap, members[a], members[b], world);
                limit.is_some_and(|l| gap.side.catches(grounds[a].compare_gap(grounds[b], l)))
            };
            for found in clusters(&grounds, self.furthest(gap, &members), &near) {
                let found: Vec<usize> = found.into_iter().map(|m| members[m]).collect();
                if found.len() < 2 || found.iter().all(|m| taken[*m]) {
                    continue;
                }
                found.iter().for_each(|m| taken[*m] = true);
                let words = self.gaps(&found);
                several.findings.push(self.finding(rule, world, &found, words));
                several.groups.push(found);
            }
        }
        Ok(several)
    }

    fn count(&self, rule: &Rule, count: CountBound) -> Several {
        let mut findings = Vec::new();
        for world in [World::Sure, World::Possible] {
            let members = self.members(rule, world);
            if count.catches(members.len()) {
                let words = format!("{} in all", members.len());
                findings.push(self.finding(rule, world, &members, words));
                break;
            }
        }
        Several { findings, groups: vec![], looked: true }
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
                    rule: rule.name().to_owned(),
                    id: standing.indication.id.clone(),
                })
            })
            .collect()
    }

    /// The gap limit, moved by the guard: inwards for what is surely near, outwards for what may be.
    /// Absent when no gap is surely near.
    fn limit(&self, gap: &LengthBound, a: usize, b: usize, world: World) -> Option<Length> {
        let limit = gap.limit.length();
        let moved = self.gap_margin(limit, a, b);
        match world {
            World::Sure if moved > limit => None,
            World::Sure => Some(limit.less(moved)),
            World::Possible => Some(limit.plus(moved)),
        }
    }

    /// Guard times the standard uncertainty of a gap: both edges may be shifted the same way, so
    /// their parts add; the scale takes its share of the gap.
    fn gap_margin(&self, gap: Length, a: usize, b: usize) -> Length {
        let (edge_a, scale_a) = self.standings[a].edge_and_scale();
        let (edge_b, scale_b) = self.standings[b].edge_and_scale();
        margin(self.guard * (edge_a + edge_b).hypot(gap.mm() * scale_a.max(scale_b)))
    }

    /// No gap beyond this is caught by the limit, whatever the doubts.
    fn furthest(&self, gap: &LengthBound, members: &[usize]) -> Length {
        let limit = gap.limit.length();
        let worst =
            members.iter().map(|m| self.gap_margin(limit, *m, *m)).max().unwrap_or(Length::ZERO);
        limit.plus(worst)
    }

    /// The gaps by which members hang together, in words.
    fn gaps(&self, members: &[usize]) -> String {
        /// More than this are not worth the time for a sentence.
        const MOST: usize = 200;
        if members.len() > MOST {
            return "many gaps".into();
        }
        let grounds: Vec<&Ground> =
            members.iter().filter_map(|m| self.standings[*m].ground.as_ref()).collect();
        let exact =
            members.iter().all(|m| self.standings[*m].indication.length.spread == Spread::Exact);
        let links = links(&grounds);
        let shown = |length: Option<&Length>| {
            length.map(|l| words::gap(*l, self.unit, exact)).unwrap_or_default()
        };
        let (least, most) = (links.iter().min(), links.iter().max());
        if least == most {
            format!("edge to edge {}", shown(most))
        } else {
            format!("edge to edge {} to {}", shown(least), shown(most))
        }
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
            rule: rule.name().to_owned(),
            indications: members.iter().map(|m| self.standings[*m].indication.id.clone()).collect(),
            found,
            limit: rule.limit(),
            source: rule.source().clone(),
            action,
        }
    }
}

/// The shortest gaps that hang all of them together.
fn links(grounds: &[&Ground]) -> Vec<Length> {
    let mut left: Vec<(usize, Length)> =
        (1..grounds.len()).map(|i| (i, grounds[0].gap(grounds[i]))).collect();
    let mut links = Vec::new();
    while let Some(at) = (0..left.len()).min_by_key(|i| left[*i].1) {
        let (nearest, gap) = left.swap_remove(at);
        links.push(gap);
        for (other, known) in &mut left {
            *known = (*known).min(grounds[nearest].gap(grounds[*other]));
        }
    }
    links
}
