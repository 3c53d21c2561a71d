//! One indication of a typed list: whole nanometres, exact.

use super::set::Shape;
use nde_core::{Indication, Length, Place, Point, Relevance};

/// An indication.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Its name.
    pub id: String,
    /// Length, nanometres.
    pub length: i64,
    /// Width, nanometres.
    pub width: i64,
    /// Where it lies.
    pub body: Body,
    /// Shape given by a person.
    pub given: Option<Shape>,
    /// Whether a person called it non-relevant or false.
    pub away: bool,
    /// What a person says it is.
    pub label: Option<String>,
}

/// Where an indication lies, in nanometres.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Body {
    /// Nobody said.
    Nowhere,
    /// A stadium along x, or along y when upright, around its middle.
    Stadium {
        /// Its middle.
        at: [i64; 2],
        /// Whether its length lies along y.
        upright: bool,
    },
    /// A closed outline.
    Outline(Vec<[i64; 2]>),
}

/// What a gap is measured between: corners, closed when three or more, with a radius around them.
/// Half-nanometres, so that half a width is whole.
#[derive(Clone, Debug)]
pub struct Core {
    /// The corners.
    pub corners: Vec<[i64; 2]>,
    /// The radius around them.
    pub radius: i64,
}

impl Mark {
    /// A mark that nobody called anything.
    #[must_use]
    pub fn new(id: impl Into<String>, length: i64, width: i64, body: Body) -> Self {
        Self { id: id.into(), length, width, body, given: None, away: false, label: None }
    }

    /// The ground it covers; absent when nobody said where it lies.
    #[must_use]
    pub fn core(&self) -> Option<Core> {
        match &self.body {
            Body::Nowhere => None,
            Body::Stadium { at, upright } => {
                // From middle to middle of the round ends: half of it in half-nanometres.
                let half = self.length - self.width;
                let [dx, dy] = if *upright { [0, half] } else { [half, 0] };
                let [x, y] = [2 * at[0], 2 * at[1]];
                let corners =
                    if half == 0 { vec![[x, y]] } else { vec![[x - dx, y - dy], [x + dx, y + dy]] };
                Some(Core { corners, radius: self.width })
            }
            Body::Outline(points) => Some(Core {
                corners: points.iter().map(|p| [2 * p[0], 2 * p[1]]).collect(),
                radius: 0,
            }),
        }
    }

    /// Its middle in half-nanometres. Outlines of lists made here have a centre of symmetry.
    #[must_use]
    pub fn middle(&self) -> Option<[i64; 2]> {
        let corners = self.core()?.corners;
        let of = |k: usize| {
            let (low, high) = corners
                .iter()
                .map(|c| c[k])
                .fold((i64::MAX, i64::MIN), |(l, h), c| (l.min(c), h.max(c)));
            i64::midpoint(low, high)
        };
        Some([of(0), of(1)])
    }

    /// The same for the engine.
    ///
    /// # Panics
    /// When a length is below zero.
    #[must_use]
    pub fn indication(&self) -> Indication {
        let length = |nm: i64| Length::from_nm(u64::try_from(nm).expect("not below zero"));
        let point = |p: &[i64; 2]| Point { x_nm: p[0], y_nm: p[1] };
        let mut it = Indication::typed(&self.id, length(self.length), length(self.width));
        match &self.body {
            Body::Nowhere => {}
            Body::Stadium { at, upright } => {
                it = it.at(point(at), if *upright { 90_000_000 } else { 0 });
            }
            Body::Outline(points) => {
                it.place = Some(Place::Outline(points.iter().map(point).collect()));
            }
        }
        it.given_shape = self.given.map(|shape| match shape {
            Shape::Linear => nde_core::Shape::Linear,
            Shape::Rounded => nde_core::Shape::Rounded,
        });
        it.relevance = if self.away { Relevance::NonRelevant } else { Relevance::NotYetCalled };
        it.label.clone_from(&self.label);
        it
    }
}
