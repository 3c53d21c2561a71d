//! A list held against a set, the slow way.

use super::gap;
use super::joining::{self, Part, components, is_row};
use super::mark::{Core, Mark};
use super::number::{Bound, Exact, Sign};
use super::set::{Frame, Kind, Limit, Rule, Set, Shape};
use super::{circle, window};
use std::collections::{BTreeMap, BTreeSet};

/// What is known beside the list, nanometres.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Facts {
    /// Thickness of the part.
    pub thickness: Option<i64>,
    /// Whether the weld runs along y (else along x).
    pub upright: Option<bool>,
    /// Length of the weld.
    pub weld: Option<i64>,
}

/// What comes out, least severe first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Nothing rejects.
    Accept,
    /// A person must say something first.
    Review,
    /// Something rejects.
    Reject,
}

/// What a rule caught.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Caught {
    /// Each of these, named by what it is made of.
    Each(BTreeSet<BTreeSet<String>>),
    /// All of these stand in some row.
    All(BTreeSet<String>),
    /// So much, at the worst place or in all.
    Weight(i128),
}

/// The outcome of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// The most severe of all.
    pub verdict: Verdict,
    /// What rejects, by the rule's name.
    pub caught: BTreeMap<String, Caught>,
    /// Which are relevant, by name: of what is judged.
    pub relevant: BTreeSet<String>,
    /// The shape of each alone.
    pub shapes: BTreeMap<String, Shape>,
    /// Names of what is read as one.
    pub joined: BTreeSet<BTreeSet<String>>,
    /// The verdict without joining.
    pub unjoined: Option<Verdict>,
}

/// A list with its gaps, which every set asks for.
#[derive(Clone, Debug)]
pub struct Map {
    /// The list.
    pub marks: Vec<Mark>,
    cores: Vec<Option<Core>>,
    squared: BTreeMap<(usize, usize), Exact>,
}

impl Map {
    /// Measures every gap once.
    #[must_use]
    pub fn new(marks: Vec<Mark>) -> Self {
        let cores: Vec<Option<Core>> = marks.iter().map(Mark::core).collect();
        let mut squared = BTreeMap::new();
        for (i, a) in cores.iter().enumerate() {
            for (j, b) in cores.iter().enumerate().skip(i + 1) {
                if let (Some(a), Some(b)) = (a, b) {
                    squared.insert((i, j), gap::squared(a, b));
                }
            }
        }
        Self { marks, cores, squared }
    }

    fn squared(&self, i: usize, j: usize) -> Exact {
        self.squared[&(i.min(j), i.max(j))].clone()
    }

    fn core(&self, i: usize) -> &Core {
        self.cores[i].as_ref().expect("the list has places")
    }

    /// Judges the list; absent where a convention leaves it open (see [`joining::groups`]).
    ///
    /// # Panics
    /// When places are needed and missing.
    #[must_use]
    pub fn judge(&self, set: &Set, facts: &Facts) -> Option<Outcome> {
        let single: Vec<Vec<usize>> = (0..self.marks.len()).map(|i| vec![i]).collect();
        let mut outcome = match &set.joining {
            None => self.run(&single, set, facts),
            Some(rule) => {
                let taken = |i: usize| {
                    let mark = &self.marks[i];
                    !mark.away && rule.of.is_none_or(|shape| shape == self.shape_alone(i, set))
                };
                let parts: Vec<Part> = (0..self.marks.len())
                    .filter(|i| taken(*i))
                    .map(|index| Part {
                        index,
                        length: self.marks[index].length,
                        core: self.core(index).clone(),
                    })
                    .collect();
                let mut groups = joining::groups(&parts, &|i, j| self.squared(i, j), rule)?;
                groups.extend((0..self.marks.len()).filter(|i| !taken(*i)).map(|i| vec![i]));
                let mut outcome = self.run(&groups, set, facts);
                outcome.unjoined = Some(self.run(&single, set, facts).verdict);
                outcome
            }
        };
        for (i, mark) in self.marks.iter().enumerate() {
            outcome.shapes.insert(mark.id.clone(), self.shape_alone(i, set));
        }
        Some(outcome)
    }

    fn shape_alone(&self, i: usize, set: &Set) -> Shape {
        let mark = &self.marks[i];
        mark.given.unwrap_or_else(|| by_ratio(mark.length, mark.width, set))
    }

    fn run(&self, groups: &[Vec<usize>], set: &Set, facts: &Facts) -> Outcome {
        let ones: Vec<One> = groups.iter().map(|g| self.one(g, set)).collect();
        let judged: Vec<&One> = ones.iter().filter(|one| !one.away).collect();
        let names = |one: &One| -> BTreeSet<String> {
            one.members.iter().map(|m| self.marks[*m].id.clone()).collect()
        };
        let mut outcome = Outcome {
            verdict: Verdict::Accept,
            caught: BTreeMap::new(),
            relevant: judged.iter().filter(|o| o.relevant).flat_map(|o| names(o)).collect(),
            shapes: BTreeMap::new(),
            joined: ones.iter().filter(|o| o.members.len() > 1).map(names).collect(),
            unjoined: None,
        };
        if set.measures_only {
            outcome.verdict = if judged.is_empty() { Verdict::Accept } else { Verdict::Review };
            return outcome;
        }
        let relevant: Vec<&One> = judged.into_iter().filter(|one| one.relevant).collect();
        if let Some((shape, words)) = &set.labels {
            let unknown = |one: &&&One| {
                shape.is_none_or(|s| s == one.shape)
                    && one.label.as_ref().is_none_or(|label| !words.contains(label))
            };
            if relevant.iter().any(|one| unknown(&one)) {
                outcome.verdict = Verdict::Review;
            }
        }
        for rule in &set.rules {
            let members: Vec<&One> =
                relevant.iter().copied().filter(|one| concerns(rule, one)).collect();
            match self.ask(rule, &members, facts) {
                Answer::No => {}
                Answer::Unknown => outcome.verdict = outcome.verdict.max(Verdict::Review),
                Answer::Caught(caught) => {
                    outcome.verdict = Verdict::Reject;
                    outcome.caught.insert(rule.name.clone(), caught);
                }
            }
        }
        outcome
    }

    /// One or several as one.
    fn one(&self, group: &[usize], set: &Set) -> One {
        let marks: Vec<&Mark> = group.iter().map(|i| &self.marks[*i]).collect();
        let joined = group.len() > 1;
        let length = if joined {
            gap::extent(&group.iter().map(|i| self.core(*i)).collect::<Vec<_>>())
        } else {
            marks[0].length
        };
        let width = marks.iter().map(|m| m.width).max().expect("a group has members");
        let shape = if joined {
            let becomes = set.joining.as_ref().and_then(|j| j.becomes);
            becomes.unwrap_or_else(|| by_ratio(length, width, set))
        } else {
            self.shape_alone(group[0], set)
        };
        let label = marks[0].label.clone();
        One {
            members: group.to_vec(),
            length,
            width,
            shape,
            relevant: set.relevant.as_ref().is_none_or(|b| b.catches(&Exact::whole(length))),
            away: marks[0].away,
            label: if marks.iter().all(|m| m.label == label) { label } else { None },
        }
    }

    fn ask(&self, rule: &Rule, members: &[&One], facts: &Facts) -> Answer {
        let names = |one: &One| {
            one.members.iter().map(|m| self.marks[*m].id.clone()).collect::<BTreeSet<_>>()
        };
        let each = |caught: Vec<&One>| {
            if caught.is_empty() {
                return Answer::No;
            }
            Answer::Caught(Caught::Each(caught.into_iter().map(names).collect()))
        };
        match &rule.kind {
            Kind::Any => each(members.to_vec()),
            Kind::Length(limit) => size(limit, members, &|one| one.length, facts, &each),
            Kind::Width(limit) => size(limit, members, &|one| one.width, facts, &each),
            Kind::Row(count, gap, strip) => {
                let ids = self.in_rows(members, count, gap, strip.nm());
                if ids.is_empty() { Answer::No } else { Answer::Caught(Caught::All(ids)) }
            }
            Kind::Spacing(gap) => {
                let clusters =
                    components(members.len(), &|i, j| self.near(members[i], members[j], gap));
                let sets: BTreeSet<BTreeSet<String>> = clusters
                    .into_iter()
                    .filter(|c| c.len() > 1)
                    .map(|c| c.into_iter().flat_map(|i| names(members[i])).collect())
                    .collect();
                if sets.is_empty() { Answer::No } else { Answer::Caught(Caught::Each(sets)) }
            }
            Kind::Count(bound, frame) => self.sum(bound, frame.as_ref(), members, &|_| 1, facts),
            Kind::Total(bound, frame) => {
                self.sum(bound, frame.as_ref(), members, &|one| i128::from(one.length), facts)
            }
            Kind::Share(bound) => {
                let total: i128 = members.iter().map(|one| i128::from(one.length)).sum();
                let Some(weld) = facts.weld else {
                    return if members.is_empty() { Answer::No } else { Answer::Unknown };
                };
                // total / weld against the share, without dividing.
                let scaled = Bound { sign: bound.sign, limit: &bound.limit * &Exact::whole(weld) };
                weighed(&scaled, if members.is_empty() { None } else { Some(total) })
            }
        }
    }

    /// Everything that stands in a row of the fewest that are caught.
    fn in_rows(
        &self,
        members: &[&One],
        count: &Bound,
        gap: &Bound,
        strip: i64,
    ) -> BTreeSet<String> {
        let fewest =
            (0..).find(|n| count.catches(&Exact::whole(*n))).expect("some count is caught");
        let mut ids = BTreeSet::new();
        let near = |i: usize, j: usize| self.near(members[i], members[j], gap);
        let linked: Vec<Vec<bool>> = (0..members.len())
            .map(|i| (0..members.len()).map(|j| i != j && near(i, j)).collect())
            .collect();
        // Rows hold single marks only: no set joins and asks for rows.
        let core = |i: usize| self.core(members[i].members[0]);
        let mut row = Vec::new();
        subsets(members.len(), fewest, 0, &mut row, &mut |row| {
            let name = |i: &usize| self.marks[members[*i].members[0]].id.clone();
            if !row.iter().all(|i| ids.contains(&name(i)))
                && is_row(row, &|i, j| linked[i][j], &core, strip)
            {
                ids.extend(row.iter().map(name));
            }
        });
        ids
    }

    fn near(&self, a: &One, b: &One, bound: &Bound) -> bool {
        a.members.iter().any(|i| {
            b.members.iter().any(|j| {
                let radii = self.core(*i).radius + self.core(*j).radius;
                gap::catches(bound, &self.squared(*i, *j), radii)
            })
        })
    }

    fn sum(
        &self,
        bound: &Bound,
        frame: Option<&Frame>,
        members: &[&One],
        weight: &dyn Fn(&One) -> i128,
        facts: &Facts,
    ) -> Answer {
        let total: i128 = members.iter().map(|one| weight(one)).sum();
        let Some(frame) = frame else {
            return weighed(bound, if members.is_empty() { None } else { Some(total) });
        };
        // No place holds more than there is.
        if members.is_empty() || !bound.catches(&Exact::whole(total)) {
            return Answer::No;
        }
        let middle = |one: &One| self.marks[one.members[0]].middle().expect("the list has places");
        let points: Vec<([i64; 2], i128)> =
            members.iter().map(|one| (middle(one), weight(one))).collect();
        let half = |length: &Exact| 2 * length.nm();
        let most = match frame {
            Frame::Area(area, longest, turned) => {
                let area = i128::try_from((area * &Exact::whole(4)).floor()).expect("areas fit");
                window::most(&points, &window::Size::Area(area, half(longest)), *turned)
            }
            Frame::Sides(a, b, turned) => {
                window::most(&points, &window::Size::Sides(half(a), half(b)), *turned)
            }
            Frame::Circle(diameter) => circle::most(&points, half(diameter)),
            Frame::Weld(length) => {
                let Some(upright) = facts.upright else { return Answer::Unknown };
                let places: Vec<(i64, i128)> =
                    points.iter().map(|(p, w)| (p[usize::from(upright)], *w)).collect();
                window::most_along(&places, half(length))
            }
        };
        weighed(bound, Some(most))
    }
}

/// One indication, or several read as one.
struct One {
    members: Vec<usize>,
    length: i64,
    width: i64,
    shape: Shape,
    relevant: bool,
    away: bool,
    label: Option<String>,
}

enum Answer {
    No,
    /// Something beside the list is not known.
    Unknown,
    Caught(Caught),
}

fn by_ratio(length: i64, width: i64, set: &Set) -> Shape {
    let times = &set.linear.limit * &Exact::whole(width);
    let linear = Bound { sign: set.linear.sign, limit: times };
    if linear.catches(&Exact::whole(length)) { Shape::Linear } else { Shape::Rounded }
}

fn concerns(rule: &Rule, one: &One) -> bool {
    rule.of.is_none_or(|shape| shape == one.shape)
        && rule.joined.is_none_or(|joined| joined == (one.members.len() > 1))
        && (rule.labels.is_empty()
            || one.label.as_ref().is_some_and(|label| rule.labels.contains(label)))
}

/// Each whose size is caught. A limit that needs a thickness nobody gave leaves them open.
fn size<'a>(
    limit: &Limit,
    members: &[&'a One],
    of: &dyn Fn(&One) -> i64,
    facts: &Facts,
    each: &dyn Fn(Vec<&'a One>) -> Answer,
) -> Answer {
    let times = |bound: &Bound, by: i64| Bound {
        sign: bound.sign,
        limit: &bound.limit * &Exact::whole(by),
    };
    let thickness = match (limit, facts.thickness) {
        (Limit::Fixed(_), _) => 0,
        (_, Some(thickness)) => thickness,
        (_, None) if members.is_empty() => return Answer::No,
        (_, None) => return Answer::Unknown,
    };
    let bound = match limit {
        Limit::Fixed(bound) => Some(bound.clone()),
        Limit::OfThickness(bound) => Some(times(bound, thickness)),
        Limit::Bands(bands) => {
            let band = bands.iter().find(|(b, _)| b.catches(&Exact::whole(thickness)));
            band.map(|(_, limit)| match limit {
                Limit::Fixed(bound) => bound.clone(),
                Limit::OfThickness(bound) => times(bound, thickness),
                Limit::Bands(_) => panic!("bands hold no bands"),
            })
        }
    };
    let caught =
        |one: &&&One| bound.as_ref().is_some_and(|bound| bound.catches(&Exact::whole(of(one))));
    each(members.iter().filter(caught).copied().collect())
}

fn weighed(bound: &Bound, weight: Option<i128>) -> Answer {
    match weight {
        Some(weight) if bound.catches(&Exact::whole(weight)) => {
            Answer::Caught(Caught::Weight(weight))
        }
        _ => Answer::No,
    }
}

/// Every choice of `size` from `count`.
fn subsets(
    count: usize,
    size: usize,
    from: usize,
    taken: &mut Vec<usize>,
    visit: &mut dyn FnMut(&[usize]),
) {
    if taken.len() == size {
        visit(taken);
        return;
    }
    for i in from..count {
        taken.push(i);
        subsets(count, size, i + 1, taken, visit);
        taken.pop();
    }
}

impl Sign {
    /// Whether large values are caught.
    #[must_use]
    pub const fn is_upper(self) -> bool {
        matches!(self, Self::Over | Self::AtLeast)
    }
}
