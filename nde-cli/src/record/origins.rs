//! Where a stated uncertainty comes from: every source with what it brings.

use nde_measure::budget::{Distribution, Term, combined, freedom};
use nde_measure::{LengthTerms, Scale};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One source of uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Origin {
    pub source: String,
    /// Standard deviation, or half width where the distribution is rectangular.
    pub stated: f64,
    pub unit: String,
    /// `normal` or `rectangular`.
    pub distribution: String,
    /// Standard uncertainty, in the unit.
    pub standard_u: f64,
    /// Change of the result for a change of one unit.
    pub sensitivity: f64,
    /// Standard uncertainty that it brings to the result.
    pub contribution: f64,
    pub degrees_of_freedom: Option<f64>,
}

/// Sources that belong together, and what they come to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Origins {
    pub sources: Vec<Origin>,
    /// Combined standard uncertainty, k = 1.
    pub combined: f64,
    /// Absent where every source is taken as known.
    pub degrees_of_freedom: Option<f64>,
}

/// Where the uncertainty of one length comes from, mm, k = 1.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct LengthOrigins {
    /// Common to the photo.
    pub scale: Origins,
    /// Its own; absent where it is too faint for a stated uncertainty.
    pub edge: Option<Origins>,
    /// Both together; absent with the edge part.
    pub combined: Option<f64>,
    pub degrees_of_freedom: Option<f64>,
}

impl Origin {
    fn of(term: &Term) -> Self {
        let distribution = match term.distribution {
            Distribution::Normal => "normal",
            Distribution::Rectangular => "rectangular",
        };
        Self {
            source: term.name.to_owned(),
            stated: term.stated,
            unit: term.unit.to_owned(),
            distribution: distribution.to_owned(),
            standard_u: term.standard(),
            sensitivity: term.sensitivity,
            contribution: term.contribution(),
            degrees_of_freedom: term.freedom,
        }
    }
}

impl Origins {
    fn of(terms: &[Term]) -> Self {
        Self {
            sources: terms.iter().map(Origin::of).collect(),
            combined: combined(terms),
            degrees_of_freedom: freedom(terms),
        }
    }

    /// Of a length next to the scale, as shares of it.
    #[must_use]
    pub(super) fn of_scale(scale: &Scale) -> Self {
        let beside = scale.outline_mm.first().copied().unwrap_or_default();
        Self::of(&scale.terms_at(beside))
    }
}

impl LengthOrigins {
    #[must_use]
    pub(super) fn of(terms: &LengthTerms) -> Self {
        let all: Vec<Term> = terms.scale.iter().chain(&terms.edge).cloned().collect();
        let claimed = !terms.edge.is_empty();
        Self {
            scale: Origins::of(&terms.scale),
            edge: claimed.then(|| Origins::of(&terms.edge)),
            combined: claimed.then(|| combined(&all)),
            degrees_of_freedom: if claimed { freedom(&all) } else { None },
        }
    }
}
