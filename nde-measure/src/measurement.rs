//! What was seen in one photo, every stage's result kept.

use crate::asides::SetAside;
use crate::fitness::Resolution;
use crate::seen::Seen;
use crate::{PointPx, Scale};
use nde_core::{Gate, Indication};

/// Everything seen in one photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurement {
    /// Photo size, pixels.
    pub size_px: [u32; 2],
    /// How lengths were found.
    pub scale: Scale,
    /// The coat that was read. Dye is looked for on burnt-out ground beside it as well, and counted there with the
    /// doubt that part may be hidden.
    pub coat: Coat,
    /// Counted indications, ids in order of place. [`Measurement::list`] is what is judged of them.
    pub indications: Vec<Seen>,
    /// Seen and not counted.
    pub set_aside: Vec<SetAside>,
    /// Is the picture fit to judge. They belong into [`nde_core::JudgeOptions::gates`]: without them a
    /// picture that shows nothing because it is out of focus is accepted.
    pub gates: Vec<Gate>,
    /// What the picture can resolve.
    pub resolution: Resolution,
}

/// The developer-covered area that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Coat {
    /// Its outlines, pixels (outer rings only).
    pub outlines_px: Vec<Vec<PointPx>>,
    /// Inspected area, mm².
    pub area_mm2: f64,
    /// Outlines of ground beside it that may be coat, pixels: too dark, too rough or too little of it beside the coat to be sure of.
    /// It was not read. Empty where the user drew the coat.
    pub doubtful_px: Vec<Vec<PointPx>>,
    /// Area of that ground.
    pub doubtful_mm2: f64,
}

impl Measurement {
    /// The list to judge: what the rules need of each counted indication, in the same order.
    ///
    /// It is judged with [`Measurement::gates`] beside it, or the picture's own fitness is lost:
    ///
    /// ```
    /// use nde_core::{JudgeError, JudgeOptions, Judgement, RuleSet, judge};
    /// use nde_measure::Measurement;
    /// fn judged(found: &Measurement, rules: &RuleSet) -> Result<Judgement, JudgeError> {
    ///     judge(&found.list(), rules, &JudgeOptions::default().with_gates(&found.gates))
    /// }
    /// ```
    #[must_use]
    pub fn list(&self) -> Vec<Indication> {
        self.indications.iter().map(|seen| seen.indication.clone()).collect()
    }
}
