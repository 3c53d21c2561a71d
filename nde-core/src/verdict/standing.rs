//! How one indication stands before the rules: its sizes, shape and relevance, each with what it
//! may be instead.

use crate::doubt::Weight;
use crate::ground::Ground;
use crate::indication::{Indication, Relevance, Shape};
use crate::length::{Length, Measured, Spread};
use crate::rules::{LengthBound, Members, Relevant};
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
    pub(super) fn new(measured: &Measured, guard: f64) -> Self {
        let Some(u) = measured.standard_mm() else {
            return Self { least: Length::ZERO, most: None };
        };
        let margin = margin(guard * u);
        Self { least: measured.value.less(margin), most: Some(measured.value.plus(margin)) }
    }

    /// Whether a bound catches it.
    pub(super) fn caught(self, bound: &LengthBound) -> Answer {
        let low = bound.catches(self.least);
        let high = self.most.map_or(bound.side.catches_large(), |most| bound.catches(most));
        if bound.side.catches_large() { Answer::from(low, high) } else { Answer::from(high, low) }
    }
}

/// A margin in millimetres as a length, rounded up so that a guard is never cut short.
pub(super) fn margin(mm: f64) -> Length {
    Length::from_mm(((mm * 1.0e6).ceil() / 1.0e6).max(0.0)).unwrap_or(Length::MAX)
}

/// One indication before the rules.
#[derive(Clone, Debug)]
pub(super) struct Standing<'a> {
    pub(super) indication: &'a Indication,
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

impl<'a> Standing<'a> {
    pub(super) fn new(
        indication: &'a Indication,
        past: LinearPast,
        threshold: Option<&Relevant>,
        guard: f64,
    ) -> Self {
        let unclaimed =
            [&indication.length, &indication.width].iter().any(|m| m.spread == Spread::Unclaimed);
        let weight = indication
            .doubts
            .iter()
            .map(crate::doubt::Doubt::weight)
            .chain(unclaimed.then_some(Weight::Unsized))
            .max()
            .unwrap_or(Weight::Told);
        let mut length = Reach::new(&indication.length, guard);
        let mut width = Reach::new(&indication.width, guard);
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
        let relevant = match threshold {
            Some(threshold) => length.caught(&threshold.length),
            None => Answer::Yes,
        };
        let called = match indication.relevance {
            Relevance::NotYetCalled | Relevance::Relevant => Called::Judged,
            Relevance::NonRelevant | Relevance::False => Called::Away,
        };
        let shape = call_shape(indication, past, guard);
        let settled = shape.certain();
        Self {
            indication,
            length,
            width,
            shape,
            relevant,
            called,
            weight,
            ground: indication.place.as_ref().and_then(Ground::new),
            settled,
        }
    }

    /// Whether a rule looks at it, taken as `shape`.
    pub(super) fn concerns(&self, of: &Members, shape: Shape) -> bool {
        self.called == Called::Judged
            && of.shape.is_none_or(|wanted| wanted == shape)
            && self.labelled(of)
    }

    /// Whether it belongs to a rule that looks at several at once.
    pub(super) fn belongs(&self, of: &Members) -> Answer {
        if self.called == Called::Away || !self.labelled(of) {
            return Answer::No;
        }
        let shape = match of.shape {
            None => Answer::Yes,
            Some(wanted) => Answer::from(self.settled == Some(wanted), self.shape.may_be(wanted)),
        };
        let sized = if self.weight == Weight::Unsized { Answer::Maybe } else { Answer::Yes };
        shape.min(self.relevant).min(sized)
    }

    fn labelled(&self, of: &Members) -> bool {
        of.labels.is_empty()
            || self.indication.label.as_ref().is_some_and(|label| {
                let label = label.trim().to_lowercase();
                of.labels.contains(&label)
            })
    }

    /// Standard uncertainty of its edge, and of the scale as a share of any length, for gaps.
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
