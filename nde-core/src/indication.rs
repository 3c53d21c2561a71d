//! One indication: what is seen, its size, its place, and what a person called it.
//!
//! An indication is the bleed-out on the developer, never the flaw itself.

use crate::doubt::Doubt;
use crate::length::{Length, Measured};
use crate::place::{Place, Point};
use std::fmt;

/// One indication, measured or typed.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Indication {
    /// Its name in this list, unique.
    pub id: String,
    /// Length the limits are held against.
    pub length: Measured,
    /// Width the ratio is held against.
    pub width: Measured,
    /// Path length along the centre line, where measured.
    pub path: Option<Length>,
    /// Standard uncertainty of one edge's position, for the class: an edge shift moves length and
    /// width together. Absent for typed values.
    pub edge_shift: Option<Length>,
    /// Where it lies; absent in a typed list without places.
    pub place: Option<Place>,
    /// Shape given by a person, which then stands instead of the computed one.
    pub given_shape: Option<Shape>,
    /// What a person called it.
    pub relevance: Relevance,
    /// What a person says it is, such as `crack`; free text, lower case.
    pub label: Option<String>,
    /// What makes this measurement shaky.
    pub doubts: Vec<Doubt>,
}

impl Indication {
    /// A typed indication: exact sizes, no place, nobody called it yet.
    #[must_use]
    pub fn typed(id: &str, length: Length, width: Length) -> Self {
        Self {
            id: id.to_owned(),
            length: Measured::exact(length),
            width: Measured::exact(width),
            path: None,
            edge_shift: None,
            place: None,
            given_shape: None,
            relevance: Relevance::NotYetCalled,
            label: None,
            doubts: Vec::new(),
        }
    }

    /// The same with a place: a stadium of its length and width around `centre`, turned by millionths
    /// of a degree from x towards y.
    #[must_use]
    pub fn at(mut self, centre: Point, angle_udeg: i64) -> Self {
        let (length, width) = (self.length.value, self.width.value);
        self.place = Some(Place::Stadium { centre, angle_udeg, length, width });
        self
    }
}

/// Linear or rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "lowercase")
)]
pub enum Shape {
    /// Long against its width, as the rule set says.
    Linear,
    /// Not linear.
    Rounded,
}

impl Shape {
    /// `linear` or `rounded`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Linear => "linear",
            Self::Rounded => "rounded",
        }
    }
}

impl fmt::Display for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// What a person called an indication.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum Relevance {
    /// Nobody called it yet: it is judged as relevant.
    #[default]
    NotYetCalled,
    /// From a surface discontinuity.
    Relevant,
    /// From the part's shape or roughness.
    NonRelevant,
    /// Not from bleed-out at all.
    False,
}

impl Relevance {
    /// `not-yet-called`, `relevant`, `non-relevant` or `false`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotYetCalled => "not-yet-called",
            Self::Relevant => "relevant",
            Self::NonRelevant => "non-relevant",
            Self::False => "false",
        }
    }
}

impl fmt::Display for Relevance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}
