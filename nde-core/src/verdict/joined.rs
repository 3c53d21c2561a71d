//! Which indications of a list are read as one.
//!
//! Gaps near the joining limit may or may not join. So a list is judged twice where that matters: with
//! only the gaps that surely join, and with all that may.

use crate::alignment::{EFFORT, Row, find_rows};
use crate::ground::Ground;
use crate::joining::clusters;
use crate::length::Length;
use crate::rules::{Against, Arranged, Becomes, Joins, Lengths};

use super::check::JudgeError;
use super::standing::{Called, Measure, Standing, margin};

/// Which gaps join.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Which {
    /// Those that surely do.
    Sure,
    /// All that may.
    Possible,
}

/// Joins what the rule reads as one; the rest stands alone.
pub(super) fn join<'a>(
    alone: &[Standing<'a>],
    joins: &Joins,
    measure: Measure<'_>,
    which: Which,
) -> Result<Vec<Standing<'a>>, JudgeError> {
    let mut concerned = Vec::new();
    for (i, standing) in alone.iter().enumerate() {
        let shaped = joins.shape.is_none_or(|wanted| match which {
            Which::Sure => standing.shape.certain() == Some(wanted),
            Which::Possible => standing.shape.may_be(wanted),
        });
        if standing.called == Called::Judged && shaped {
            concerned.push(i);
        }
    }
    let mut groups: Vec<Vec<usize>> = concerned.iter().map(|i| vec![*i]).collect();
    if concerned.len() >= joins.fewest.max(2) {
        for i in &concerned {
            if alone[*i].ground.is_none() {
                return Err(JudgeError::PlaceNeeded {
                    rule: "joining".into(),
                    id: alone[*i].indication.id.clone(),
                });
            }
        }
        let linking = Linking { alone, joins, measure, which };
        groups = linking.group(groups);
    }
    let mut standings: Vec<Standing<'a>> = Vec::new();
    let mut taken = vec![false; alone.len()];
    let becomes = match joins.becomes {
        Becomes::ByRatio => None,
        Becomes::Always(shape) => Some(shape),
    };
    for group in groups.iter().filter(|g| g.len() >= joins.fewest) {
        let parts: Vec<&Standing<'a>> = group.iter().map(|i| &alone[*i]).collect();
        group.iter().for_each(|i| taken[*i] = true);
        standings.push(Standing::joined(&parts, becomes, measure));
    }
    let rest = alone.iter().zip(&taken).filter(|(_, taken)| !**taken).map(|(s, _)| s.clone());
    standings.extend(rest);
    standings.sort_by_key(|s| s.members[0]);
    Ok(standings)
}

pub(super) struct Linking<'b, 'a> {
    alone: &'b [Standing<'a>],
    joins: &'b Joins,
    measure: Measure<'b>,
    which: Which,
}

impl<'b, 'a> Linking<'b, 'a> {
    /// With all gaps that may join.
    pub(super) const fn possible(
        alone: &'b [Standing<'a>],
        joins: &'b Joins,
        measure: Measure<'b>,
    ) -> Self {
        Self { alone, joins, measure, which: Which::Possible }
    }

    /// Whether two pieces may be linked directly. Growing lengths and rows depend on the rest, so there
    /// any two pieces of a cluster may be.
    pub(super) fn may_hang_together(&self, a: &[usize], b: &[usize]) -> bool {
        if self.joins.lengths == Lengths::Growing || self.joins.arranged != Arranged::Anyhow {
            return true;
        }
        a.iter().any(|i| {
            b.iter().any(|j| {
                let (one, other) = (&self.alone[*i].ground, &self.alone[*j].ground);
                one.as_ref().zip(other.as_ref()).is_some_and(|(one, other)| {
                    let (l, m) = (self.length_of(*i), self.length_of(*j));
                    self.links(one, other, self.limit(l, m), *i, *j)
                })
            })
        })
    }

    /// What a gap between two of these lengths is held against.
    fn limit(&self, a: Length, b: Length) -> Length {
        match &self.joins.against {
            Against::Fixed(length) => length.length(),
            Against::Smaller => a.min(b),
            Against::Larger => a.max(b),
        }
    }

    fn group(&self, mut groups: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
        if let Arranged::InLine(strip) = self.joins.arranged {
            return self.rows(&groups, strip);
        }
        loop {
            let before = groups.len();
            groups = self.once(&groups);
            let settled = groups.len() == before || self.joins.lengths == Lengths::Own;
            if settled {
                return groups;
            }
        }
    }

    /// One round: what is linked becomes one group.
    fn once(&self, groups: &[Vec<usize>]) -> Vec<Vec<usize>> {
        let grounds: Vec<Ground> = groups
            .iter()
            .map(|g| Ground::union(g.iter().filter_map(|i| self.alone[*i].ground.as_ref())))
            .collect();
        let lengths: Vec<Length> = groups
            .iter()
            .zip(&grounds)
            .map(|(group, ground)| match &group[..] {
                [one] => self.length_of(*one),
                _ => ground.extent(),
            })
            .collect();
        let refs: Vec<&Ground> = grounds.iter().collect();
        let near = |a: usize, b: usize| {
            let limit = self.limit(lengths[a], lengths[b]);
            self.links(refs[a], refs[b], limit, groups[a][0], groups[b][0])
        };
        let most = match &self.joins.against {
            Against::Fixed(length) => length.length(),
            Against::Smaller | Against::Larger => {
                lengths.iter().copied().max().unwrap_or(Length::ZERO)
            }
        };
        clusters(&refs, most.plus(self.widest_margin(most)), &near)
            .into_iter()
            .map(|cluster| {
                let mut members: Vec<usize> =
                    cluster.into_iter().flat_map(|g| groups[g].iter().copied()).collect();
                members.sort_unstable();
                members
            })
            .collect()
    }

    /// Rows as groups; a member of two rows stays with the longer one.
    fn rows(&self, groups: &[Vec<usize>], strip: Length) -> Vec<Vec<usize>> {
        let members: Vec<usize> = groups.iter().map(|g| g[0]).collect();
        let grounds: Vec<&Ground> =
            members.iter().filter_map(|i| self.alone[*i].ground.as_ref()).collect();
        let lengths: Vec<Length> = members.iter().map(|i| self.length_of(*i)).collect();
        let near = |a: usize, b: usize| {
            let limit = self.limit(lengths[a], lengths[b]);
            self.links(grounds[a], grounds[b], limit, members[a], members[b])
        };
        let most = match &self.joins.against {
            Against::Fixed(length) => length.length(),
            _ => lengths.iter().copied().max().unwrap_or(Length::ZERO),
        };
        let row = Row { count: self.joins.fewest, strip, effort: EFFORT };
        let mut rows = find_rows(&grounds, row, most.plus(self.widest_margin(most)), &near).rows;
        rows.sort_by_key(|row| (std::cmp::Reverse(row.len()), row[0]));
        let mut taken = vec![false; members.len()];
        let mut found: Vec<Vec<usize>> = Vec::new();
        for row in rows {
            let left: Vec<usize> = row.into_iter().filter(|m| !taken[*m]).collect();
            if left.len() >= self.joins.fewest {
                left.iter().for_each(|m| taken[*m] = true);
                found.push(left.into_iter().map(|m| members[m]).collect());
            }
        }
        found.extend((0..members.len()).filter(|m| !taken[*m]).map(|m| vec![members[m]]));
        found
    }

    fn links(&self, a: &Ground, b: &Ground, limit: Length, i: usize, j: usize) -> bool {
        let moved = self.margin(limit, i, j);
        let limit = match self.which {
            Which::Sure if moved > limit => return false,
            Which::Sure => limit.less(moved),
            Which::Possible => limit.plus(moved),
        };
        self.joins.side.catches(a.compare_gap(b, limit))
    }

    /// The length that counts: the least it surely has, or the most it may.
    fn length_of(&self, i: usize) -> Length {
        let standing = &self.alone[i];
        match self.which {
            Which::Sure => standing.length.least,
            Which::Possible => standing.length.most.unwrap_or(standing.indication.length.value),
        }
    }

    fn margin(&self, gap: Length, i: usize, j: usize) -> Length {
        gap_margin(&self.alone[i], &self.alone[j], gap, self.measure.guard)
    }

    fn widest_margin(&self, gap: Length) -> Length {
        (0..self.alone.len()).map(|i| self.margin(gap, i, i)).max().unwrap_or(Length::ZERO)
    }
}

/// Guard times the standard uncertainty of a gap: both edges may be shifted the same way, so their
/// parts add; the scale takes its share of the gap.
pub(super) fn gap_margin(a: &Standing<'_>, b: &Standing<'_>, gap: Length, guard: f64) -> Length {
    let ((edge_a, scale_a), (edge_b, scale_b)) = (a.edge_and_scale(), b.edge_and_scale());
    margin(guard * (edge_a + edge_b).hypot(gap.mm() * scale_a.max(scale_b)))
}
