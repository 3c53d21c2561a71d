//! How to judge: the guard near a limit, and what is known beside the indications.

use crate::doubt::Gate;
use crate::length::Length;

/// How uncertainty meets a limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Guard {
    /// Accept only what clears the limit by 1.645 u, reject only what passes it by as much.
    #[default]
    AcceptSide,
    /// Compare the measured value as it stands; false accepts near the limit are shared risk.
    AsMeasured,
}

/// How to judge: from [`JudgeOptions::default`], with what is known beside the indications.
///
/// ```
/// use nde_core::{Guard, JudgeOptions, Length};
/// let how = JudgeOptions::default()
///     .with_guard(Guard::AsMeasured)
///     .with_thickness(Length::parse_mm("12")?);
/// assert!(how.gates.is_empty()); // a list typed by hand has no picture to be fit or not
/// # Ok::<(), nde_core::LengthError>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct JudgeOptions {
    /// How uncertainty meets a limit.
    pub guard: Guard,
    /// Whether the picture is fit to judge; a failed gate never ends in accept.
    pub gates: Vec<Gate>,
    /// Thickness of the part, for limits that follow it; absent when not known.
    pub thickness: Option<Length>,
    /// Direction of the weld's axis, millionths of a degree from x towards y; absent when not known.
    pub weld_axis_udeg: Option<i64>,
    /// Length of the weld, for limits that are a share of it; absent when not known.
    pub weld_length: Option<Length>,
}

impl JudgeOptions {
    /// With this way in which uncertainty meets a limit.
    #[must_use]
    pub const fn with_guard(mut self, guard: Guard) -> Self {
        self.guard = guard;
        self
    }

    /// With what was found of the picture's fitness.
    #[must_use]
    pub fn with_gates(mut self, gates: &[Gate]) -> Self {
        gates.clone_into(&mut self.gates);
        self
    }

    /// With the part's thickness.
    #[must_use]
    pub const fn with_thickness(mut self, thickness: Length) -> Self {
        self.thickness = Some(thickness);
        self
    }

    /// With the direction of the weld's axis, millionths of a degree from x towards y.
    #[must_use]
    pub const fn with_weld_axis_udeg(mut self, weld_axis_udeg: i64) -> Self {
        self.weld_axis_udeg = Some(weld_axis_udeg);
        self
    }

    /// With the weld's length.
    #[must_use]
    pub const fn with_weld_length(mut self, weld_length: Length) -> Self {
        self.weld_length = Some(weld_length);
        self
    }
}
