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
    /// The same, and it has not moved against the part: what the surface's height brings, and what of a soft
    /// edge counts, is common too.
    Still,
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
/// part that a common scale brings is proportional to the difference itself; of another common part the
/// difference of what it brings to either is left.
pub(super) fn growth(old: &Mark, new: &Mark, own_u: [f64; 2], scales: Scales) -> Growth {
    let mm = new.length_mm - old.length_mm;
    let (Some(old_u), Some(new_u)) = (old.u_mm, new.u_mm) else {
        return Growth { mm, u_mm: None, change: Change::NotKnown };
    };
    let of = |mark: &Mark, name: &str| {
        mark.shared_u_mm.iter().find(|(n, _)| *n == name).map_or(0.0, |(_, u)| *u)
    };
    let mut common: Vec<[f64; 2]> = Vec::new();
    if scales == Scales::Still {
        common.extend(old.shared_u_mm.iter().map(|(name, u)| [*u, of(new, name)]));
    }
    let own = match scales {
        Scales::Apart => [0.0; 2],
        Scales::Same | Scales::Still => [own_u[0] * old.length_mm, own_u[1] * new.length_mm],
    };
    let alone = |n: usize, [edge, scale]: [f64; 2]| {
        let scale = (scale * scale - own[n] * own[n]).max(0.0);
        let shared: f64 = common.iter().map(|both| both[n] * both[n]).sum();
        (edge * edge + scale - shared).max(0.0)
    };
    let size = if scales == Scales::Apart { 0.0 } else { own_u[0].max(own_u[1]) * mm };
    let shared: f64 = common.iter().map(|[a, b]| (a - b).powi(2)).sum();
    let u_mm = COVERAGE * (alone(0, old_u) + alone(1, new_u) + size * size + shared).sqrt();
    let change = if mm > u_mm {
        Change::Grown
    } else if mm < -u_mm {
        Change::Shorter
    } else {
        Change::WithinUncertainty
    };
    Growth { mm, u_mm: Some(u_mm), change }
}
