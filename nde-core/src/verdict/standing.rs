//! How one indication, or several read as one, stands before the rules: its sizes, shape and
//! relevance, each with what it may be instead.

use std::borrow::Cow;

use crate::doubt::{Doubt, Weight};
use crate::ground::Ground;
use crate::indication::{Indication, Relevance, Shape};
use crate::length::{Length, Measured, Spread};
use crate::rules::{Joined, Members, Relevant, Resolved};
use crate::shape::{LinearPast, ShapeCall, call_shape};

use super::answer::Answer;

/// The lengths a value may have; without an upper end it may be of any length.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    pub(super) least: Length,
    pub(super) most: Option<Length>,
}

impl Reach {
    /// `guard` standard uncertainties to each side, rounded outwards to whole nanometres.
    fn new(measured: &Measured, guard: f64) -> Self {
        let Some(u) = measured.standard_mm() else {
            return Self { least: Length::ZERO, most: None };
        };
        let margin = margin(guard * u);
        Self { least: measured.value.less(margin), most: Some(measured.value.plus(margin)) }
    }

    /// Whether a bound catches it.
    pub(super) fn caught(self, bound: &Resolved) -> Answer {
        let low = bound.catches(self.least);
        let high = self.most.map_or(bound.catches_large(), |most| bound.catches(most));
        if bound.catches_large() { Answer::from(low, high) } else { Answer::from(high, low) }
    }
}

/// A margin in millimetres as a length, rounded up so that a guard is never cut short.
pub(super) fn margin(mm: f64) -> Length {
    Length::from_mm(((mm * 1.0e6).ceil() / 1.0e6).max(0.0)).unwrap_or(Length::MAX)
}

/// One indication, or several read as one, before the rules.
#[derive(Clone, Debug)]
pub(super) struct Standing<'a> {
    pub(super) indication: Cow<'a, Indication>,
    /// The indications it is made of, as indices into the list.
    pub(super) members: Vec<usize>,
    /// Their names.
    pub(super) ids: Vec<String>,
    pub(super) length: Reach,
    pub(super) width: Reach,
    pub(super) shape: ShapeCall,
    /// By its size; what a person called it is in `called`.
    pub(super) relevant: Answer,
    pub(super) called: Called,
    pub(super) weight: Weight,
    pub(super) ground: Option<Ground>,
    /// The shape it may be taken as when rules look at several at once: its certain shape, or the
    /// one left when the other is rejected on its own already.
    pub(super) settled: Option<Shape>,
}

/// Whether a person took it out of the judging.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Called {
    Judged,
    Away,
}

/// What turns an indication into how it stands.
#[derive(Clone, Copy, Debug)]
pub(super) struct Measure<'a> {
    pub(super) past: LinearPast,
    pub(super) threshold: Option<&'a Relevant>,
    pub(super) guard: f64,
}

impl<'a> Standing<'a> {
    pub(super) fn new(indication: &'a Indication, index: usize, measure: Measure<'_>) -> Self {
        let ground = indication.place.as_ref().and_then(Ground::new);
        let ids = vec![indication.id.clone()];
        Self::of(Cow::Borrowed(indication), vec![index], ids, ground, measure)
    }

    /// Several as one: as long as their longest overall extent, as wide as the widest of them.
    pub(super) fn joined(parts: &[&Self], becomes: Option<Shape>, measure: Measure<'_>) -> Self {
        let ids: Vec<String> = parts.iter().flat_map(|p| p.ids.clone()).collect();
        let members = parts.iter().flat_map(|p| p.members.clone()).collect();
        let grounds: Vec<&Ground> = parts.iter().filter_map(|p| p.ground.as_ref()).collect();
        let ground = Ground::union(grounds);
        let widest = parts
            .iter()
            .max_by_key(|p| p.indication.width.value)
            .map_or(Measured::exact(Length::ZERO), |p| p.indication.width);
        let mut doubts: Vec<Doubt> = Vec::new();
        for doubt in parts.iter().flat_map(|p| &p.indication.doubts) {
            // What one part alone looks like says nothing about the shape of the whole.
            let about_one = matches!(
                doubt,
                Doubt::TooSmallToClassify | Doubt::WideSpotOnLine | Doubt::TouchingSpots { .. }
            );
            if !about_one && !doubts.contains(doubt) {
                doubts.push(doubt.clone());
            }
        }
        let first = &parts[0].indication.label;
        let one_label = parts.iter().all(|p| p.indication.label == *first);
        let indication = Indication {
            id: ids.join(" + "),
            length: Measured { value: ground.extent(), spread: spread(parts, ground.extent()) },
            width: widest,
            path: None,
            edge_shift: parts.iter().filter_map(|p| p.indication.edge_shift).max(),
            place: None,
            given_shape: becomes,
            relevance: Relevance::NotYetCalled,
            label: if one_label { first.clone() } else { None },
            doubts,
        };
        Self::of(Cow::Owned(indication), members, ids, Some(ground), measure)
    }

    fn of(
        indication: Cow<'a, Indication>,
        members: Vec<usize>,
        ids: Vec<String>,
        ground: Option<Ground>,
        measure: Measure<'_>,
    ) -> Self {
        let unclaimed =
            [&indication.length, &indication.width].iter().any(|m| m.spread == Spread::Unclaimed);
        let weight = indication
            .doubts
            .iter()
            .map(Doubt::weight)
            .chain(unclaimed.then_some(Weight::Unsized))
            .max()
            .unwrap_or(Weight::Told);
        let mut length = Reach::new(&indication.length, measure.guard);
        let mut width = Reach::new(&indication.width, measure.guard);
        match weight {
            Weight::Unsized => {
                length = Reach { least: Length::ZERO, most: None };
                width = length;
            }
            Weight::Longer => {
                length.most = None;
                width.most = None;
            }
            Weight::Told | Weight::Shape => {}
        }
        let relevant = match measure.threshold {
            Some(threshold) => length.caught(&Resolved::fixed(&threshold.length)),
            None => Answer::Yes,
        };
        let called = match indication.relevance {
            Relevance::NotYetCalled | Relevance::Relevant => Called::Judged,
            Relevance::NonRelevant | Relevance::False => Called::Away,
        };
        let shape = call_shape(&indication, measure.past, measure.guard);
        let settled = shape.certain();
        Self {
            indication,
            members,
            ids,
            length,
            width,
            shape,
            relevant,
            called,
            weight,
            ground,
            settled,
        }
    }

    /// Whether a rule looks at it, taken as `shape`.
    pub(super) fn concerns(&self, of: &Members, shape: Shape) -> bool {
        self.called == Called::Judged
            && of.shape.is_none_or(|wanted| wanted == shape)
            && self.matches(of)
    }

    /// Whether it belongs to a rule that looks at several at once.
    pub(super) fn belongs(&self, of: &Members) -> Answer {
        if self.called == Called::Away || !self.matches(of) {
            return Answer::No;
        }
        let shape = match of.shape {
            None => Answer::Yes,
            Some(wanted) => Answer::from(self.settled == Some(wanted), self.shape.may_be(wanted)),
        };
        shape.min(self.relevant).min(self.sized())
    }

    /// An unknown size never decides.
    pub(super) const fn sized(&self) -> Answer {
        if matches!(self.weight, Weight::Unsized) { Answer::Maybe } else { Answer::Yes }
    }

    /// What a person called it, in small letters.
    pub(super) fn label(&self) -> Option<String> {
        self.indication.label.as_ref().map(|l| l.trim().to_lowercase()).filter(|l| !l.is_empty())
    }

    /// Whether its label and its making are what a rule looks at.
    fn matches(&self, of: &Members) -> bool {
        let joined = if self.members.len() > 1 { Joined::Yes } else { Joined::No };
        of.joined.is_none_or(|wanted| wanted == joined)
            && (of.labels.is_empty()
                || self.label().is_some_and(|label| of.labels.contains(&label)))
    }

    /// Standard uncertainty of its edge in millimetres, and of the scale as a share of any length.
    pub(super) fn edge_and_scale(&self) -> (f64, f64) {
        let Spread::Standard { edge, scale } = self.indication.length.spread else {
            return (self.indication.edge_shift.map_or(0.0, Length::mm), 0.0);
        };
        let length = self.indication.length.value.mm();
        let share = if length > 0.0 { scale.mm() / length } else { 0.0 };
        // Two edges make a length: without a stated shift, its edge part stands for both.
        (self.indication.edge_shift.map_or(edge.mm() / 2.0, Length::mm), share)
    }
}

/// How well the extent of several is known: two outer edges, and the scale's share of the whole.
fn spread(parts: &[&Standing<'_>], extent: Length) -> Spread {
    let spreads = || parts.iter().map(|p| p.indication.length.spread);
    if spreads().any(|s| s == Spread::Unclaimed) {
        return Spread::Unclaimed;
    }
    if spreads().all(|s| s == Spread::Exact) {
        return Spread::Exact;
    }
    let edge = parts.iter().map(|p| p.edge_and_scale().0).fold(0.0, f64::max);
    let share = parts.iter().map(|p| p.edge_and_scale().1).fold(0.0, f64::max);
    Spread::Standard { edge: margin(2.0 * edge), scale: margin(share * extent.mm()) }
}
