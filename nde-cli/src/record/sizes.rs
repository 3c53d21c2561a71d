//! A size with its uncertainty, and what is told of it.

use nde_core::{Doubt, Measured, Spread};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where a size comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Basis {
    /// By a person: taken as it stands.
    Typed,
    /// By this tool.
    Measured,
}

/// A length or a width.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Size {
    /// Best estimate, mm.
    pub mm: f64,
    /// Expanded uncertainty, k = 2; absent when typed (it has none) or not claimed.
    pub u_mm: Option<f64>,
    /// The part that this value's own edges bring, k = 2.
    pub edge_u_mm: Option<f64>,
    /// The part that all lengths of the photo share through their scale, k = 2.
    pub scale_u_mm: Option<f64>,
    /// Where it comes from.
    pub basis: Basis,
}

impl Size {
    #[must_use]
    pub(crate) fn of(measured: &Measured) -> Self {
        let parts = match measured.spread {
            Spread::Standard { edge, scale } => Some([2.0 * edge.mm(), 2.0 * scale.mm()]),
            _ => None,
        };
        let exact = measured.spread == Spread::Exact;
        Self {
            mm: measured.value.mm(),
            u_mm: if exact { None } else { measured.expanded_mm() },
            edge_u_mm: parts.map(|p| p[0]),
            scale_u_mm: parts.map(|p| p[1]),
            basis: if exact { Basis::Typed } else { Basis::Measured },
        }
    }
}

/// A doubt as it is told.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Told {
    /// Its fixed word.
    pub word: String,
    /// The fact and the remedy.
    pub sentence: String,
}

impl Told {
    #[must_use]
    pub(crate) fn of(doubt: &Doubt) -> Self {
        Self { word: doubt.word().to_owned(), sentence: doubt.to_string() }
    }
}
