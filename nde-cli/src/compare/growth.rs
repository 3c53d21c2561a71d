//! How much longer, how sure, and whether it is real.

use super::marks::Mark;
use serde::Serialize;

/// Coverage factor of the stated uncertainty.
const COVERAGE: f64 = 2.0;

/// Whether both photos hold the same scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Scales {
    /// Each its own: their errors are independent.
    Apart,
    /// The same card with the same readings: the error of its size is common and stretches both alike.
    Same,
}

/// What is said of a change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Change {
    /// Longer by more than its uncertainty.
    Grown,
    /// Shorter by more than its uncertainty.
    Shorter,
    /// Not more than its uncertainty: no change is shown, and none is ruled out.
    WithinUncertainty,
    /// One of the two lengths has no uncertainty claimed, so nothing can be said.
    NotKnown,
}

impl Change {
    /// For eyes.
    #[must_use]
    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Grown => "grown",
            Self::Shorter => "shorter",
            Self::WithinUncertainty => "no change shown",
            Self::NotKnown => "not known",
        }
    }
}

/// The difference of two lengths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Growth {
    /// New less old.
    pub mm: f64,
    /// Expanded uncertainty of it, k = 2; absent when not claimed.
    pub u_mm: Option<f64>,
    /// What it is.
    pub change: Change,
}

/// The growth from `old` to `new`; `own_u` are the relative standard uncertainties that each scale's own
/// size brings.
///
/// Law of propagation (GUM, JCGM 100:2008, 5.1 and 5.2, from memory): independent parts add in squares; the
/// part that a common scale brings is proportional to the difference itself.
pub(super) fn growth(old: &Mark, new: &Mark, own_u: [f64; 2], scales: Scales) -> Growth {
    let mm = new.length_mm - old.length_mm;
    let (Some(old_u), Some(new_u)) = (old.u_mm, new.u_mm) else {
        return Growth { mm, u_mm: None, change: Change::NotKnown };
    };
    let edges = old_u[0].hypot(new_u[0]);
    let scale = match scales {
        Scales::Apart => old_u[1].hypot(new_u[1]),
        Scales::Same => {
            let rest = |u: f64, own: f64, length: f64| (u * u - (own * length).powi(2)).max(0.0);
            let apart =
                rest(old_u[1], own_u[0], old.length_mm) + rest(new_u[1], own_u[1], new.length_mm);
            (apart + (own_u[0].max(own_u[1]) * mm).powi(2)).sqrt()
        }
    };
    let u_mm = COVERAGE * edges.hypot(scale);
    let change = if mm > u_mm {
        Change::Grown
    } else if mm < -u_mm {
        Change::Shorter
    } else {
        Change::WithinUncertainty
    };
    Growth { mm, u_mm: Some(u_mm), change }
}
