//! What a photo and a list must bring before a rule set can decide.

use super::{Rule, RuleSet};
use crate::length::Length;

/// What a rule set needs to decide.
#[derive(Clone, Debug, PartialEq)]
pub struct Needs {
    /// The smallest length that decides anything; absent when the set holds none.
    pub smallest_length: Option<Length>,
    /// Largest pixel pitch on the part, millimetres: see [`RuleSet::needs`].
    pub pitch_mm: Option<f64>,
    /// Largest blur (standard deviation of an edge) on the part, millimetres: see [`RuleSet::needs`].
    pub blur_mm: Option<f64>,
    /// What else must be known, one sentence each: places, labels, thickness, weld.
    pub also: Vec<String>,
}

impl RuleSet {
    /// What a photo must resolve and what must be known beside it.
    ///
    /// An indication of the smallest deciding length that stands right at the linear ratio is as wide
    /// as that length over the ratio. Width is measured honestly from four times the blur upwards, and
    /// the pixel pitch is held to the same quarter. Source: chosen, on simulated lines of known size.
    #[must_use]
    pub fn needs(&self) -> Needs {
        let smallest_length = self.smallest_deciding_size();
        let width = smallest_length.map(|length| length.mm() / self.linear_past().ratio.value());
        let quarter = width.map(|width| width / 4.0);
        let mut also = Vec::new();
        if self.needs_places() {
            also.push("Places: the columns x_mm,y_mm,angle_deg of a typed list.".to_owned());
        }
        if self.rules.iter().any(Rule::needs_thickness) {
            also.push("The thickness of the part: --thickness 12mm.".to_owned());
        }
        if self.rules.iter().any(Rule::needs_weld_axis) {
            also.push(
                "The direction of the weld's axis, degrees from x towards y: --weld-axis 0."
                    .to_owned(),
            );
        }
        if self.rules.iter().any(Rule::needs_weld_length) {
            also.push("The length of the weld: --weld-length 400mm.".to_owned());
        }
        if let Some(labels) = &self.labels {
            also.push(labels.sentence());
        }
        if let Some(why) = &self.measure_only {
            also.push(format!("No verdict is given: {why}"));
        }
        Needs { smallest_length, pitch_mm: quarter, blur_mm: quarter, also }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_vessel_set_needs_an_eighth_of_a_millimetre() {
        let needs = RuleSet::builtin("weld-vessel-si").unwrap().needs();
        // 1.5 mm / 3 / 4.
        assert!((needs.pitch_mm.unwrap() - 0.125).abs() < 1e-12);
        assert_eq!(needs.also.len(), 1);
    }
}
