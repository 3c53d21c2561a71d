//! What a reader must be told beside the findings.

use crate::doubt::{GateOutcome, Weight};
use crate::rules::{Rule, RuleSet};
use crate::source::Confidence;

use super::standing::{Called, Standing};
use super::{JudgeOptions, Verdict};

pub(super) fn notes(
    standings: &[Standing<'_>],
    rules: &RuleSet,
    options: &JudgeOptions,
    verdict: Verdict,
    unjoined: Option<Verdict>,
) -> Vec<String> {
    let mut notes = Vec::new();
    if standings.is_empty() {
        notes.push("No recordable indications were found on the inspected area; this does not mean that there are no cracks.".to_owned());
    }
    let away = standings.iter().filter(|s| s.called == Called::Away).count();
    if away > 0 {
        notes.push(format!(
            "{away} called non-relevant or false by a person; listed and not judged."
        ));
    }
    let heavy = standings
        .iter()
        .filter(|s| s.weight >= Weight::Longer && s.called == Called::Judged)
        .count();
    if heavy > 0 {
        notes.push(format!(
            "{heavy} not fully seen or not sized; such an indication is never accepted."
        ));
    }
    if let Some(unjoined) = unjoined.filter(|unjoined| *unjoined != verdict) {
        notes.push(format!(
            "Judged one by one, without joining, the verdict would be {}.",
            unjoined.word()
        ));
    }
    match rules.confidence() {
        Confidence::Read | Confidence::Own | Confidence::Chosen => {}
        weak => notes.push(format!(
            "The numbers of `{}` are no surer than: {}; check them against your own copy of the document.",
            rules.id(),
            weak.word()
        )),
    }
    notes.extend(beside(rules, options));
    for gate in options
        .gates
        .iter()
        .filter(|g| matches!(g.outcome, GateOutcome::Warn | GateOutcome::Unknown))
    {
        notes.push(format!("Picture, {}: {}.", gate.name, gate.remedy));
    }
    notes.extend(rules.cautions().iter().cloned());
    notes
}

/// What was given beside the indications and is part of the verdict.
fn beside(rules: &RuleSet, options: &JudgeOptions) -> Option<String> {
    let asks = |by: &dyn Fn(&Rule) -> bool| rules.rejects().iter().any(by);
    let mut given = Vec::new();
    if let Some(thickness) = options.thickness.filter(|_| asks(&Rule::needs_thickness)) {
        given.push(format!("thickness of the part {thickness}"));
    }
    if let Some(axis) = options.weld_axis_udeg.filter(|_| asks(&Rule::needs_weld_axis)) {
        // Millionths of a degree, exact in f64 for any turn.
        #[expect(clippy::cast_precision_loss, reason = "for eyes")]
        let degrees = axis as f64 / 1.0e6;
        given.push(format!("weld's axis {degrees} deg from x towards y"));
    }
    if let Some(weld) = options.weld_length.filter(|_| asks(&Rule::needs_weld_length)) {
        given.push(format!("weld {weld} long"));
    }
    (!given.is_empty()).then(|| format!("Judged with: {}.", given.join(", ")))
}
