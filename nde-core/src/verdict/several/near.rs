//! Rules about gaps: rows, and marks that lie too near to each other.

use super::{Asking, Several, World};
use crate::alignment::{EFFORT, Row, Rows, find_rows};
use crate::ground::Ground;
use crate::joining::clusters;
use crate::length::{Length, Spread};
use crate::rules::{CountBound, LengthBound, Rule};
use crate::verdict::JudgeError;
use crate::verdict::joined::gap_margin;
use crate::verdict::words;
use crate::verdict::{Finding, Verdict};

impl Asking<'_> {
    pub(super) fn row(
        &self,
        rule: &Rule,
        count: CountBound,
        gap: &LengthBound,
        strip: Length,
    ) -> Result<Several, JudgeError> {
        let row = Row { count: count.fewest(), strip, effort: EFFORT };
        let mut several = Several::default();
        if self.members(rule, World::Possible).len() < row.count {
            return Ok(several);
        }
        several.looked = true;
        let mut taken = vec![false; self.standings.len()];
        for world in self.worlds(rule) {
            let members = self.members(rule, world);
            let grounds = self.grounds(rule, &members)?;
            let near = |a, b| self.near(gap, [members[a], members[b]], world);
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

    pub(super) fn spacing(&self, rule: &Rule, gap: &LengthBound) -> Result<Several, JudgeError> {
        let mut several = Several::default();
        if self.members(rule, World::Possible).len() < 2 {
            return Ok(several);
        }
        several.looked = true;
        let mut taken = vec![false; self.standings.len()];
        for world in self.worlds(rule) {
            let members = self.members(rule, world);
            let grounds = self.grounds(rule, &members)?;
            let near = |a, b| self.near(gap, [members[a], members[b]], world);
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

    /// The questions to ask: one where nothing is in doubt, for both would have one answer.
    fn worlds(&self, rule: &Rule) -> Vec<World> {
        let sure = self.members(rule, World::Sure);
        let exact = |m: &usize| {
            let indication = &self.standings[*m].indication;
            indication.length.spread == Spread::Exact && indication.edge_shift.is_none()
        };
        if sure.iter().all(exact) && sure == self.members(rule, World::Possible) {
            vec![World::Sure]
        } else {
            vec![World::Sure, World::Possible]
        }
    }

    /// Whether the gap between two is caught; never without places.
    fn near(&self, gap: &LengthBound, [a, b]: [usize; 2], world: World) -> bool {
        let grounds = (self.standings[a].ground.as_ref(), self.standings[b].ground.as_ref());
        let (Some(one), Some(other), Some(limit)) =
            (grounds.0, grounds.1, self.limit(gap, a, b, world))
        else {
            return false;
        };
        gap.side.catches(one.compare_gap(other, limit))
    }

    /// The gap limit, moved by the guard: inwards for what is surely near, outwards for what may be.
    /// Absent when no gap is surely near.
    fn limit(&self, gap: &LengthBound, a: usize, b: usize, world: World) -> Option<Length> {
        let limit = gap.limit.length();
        let moved = gap_margin(&self.standings[a], &self.standings[b], limit, self.guard);
        match world {
            World::Sure if moved > limit => None,
            World::Sure => Some(limit.less(moved)),
            World::Possible => Some(limit.plus(moved)),
        }
    }

    /// No gap beyond this is caught by the limit, whatever the doubts.
    fn furthest(&self, gap: &LengthBound, members: &[usize]) -> Length {
        let limit = gap.limit.length();
        let worst = members
            .iter()
            .map(|m| gap_margin(&self.standings[*m], &self.standings[*m], limit, self.guard))
            .max()
            .unwrap_or(Length::ZERO);
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
            length.map(|l| words::gap(*l, self.context.unit, exact)).unwrap_or_default()
        };
        let (least, most) = (links.iter().min(), links.iter().max());
        if least == most {
            format!("edge to edge {}", shown(most))
        } else {
            format!("edge to edge {} to {}", shown(least), shown(most))
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
