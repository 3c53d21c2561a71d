//! Indications held against a rule set: accept, reject, or review, with every reason.
//!
//! # Who is judged
//! What nobody called yet is judged as relevant; what a person called non-relevant or false is listed
//! and not judged.
//!
//! # Near a limit
//! With `g` the guard and `u` the standard uncertainty, a size is accepted when `size + g u` is within
//! the limit and rejected when `size - g u` is past it; between the two a person decides. With
//! [`Guard::AcceptSide`] `g` is 1.645: five in a hundred on each side. Sources: JCGM 106:2012 8.3 and
//! ISO 14253-1:2017 (both from memory). Typed sizes are exact, so the guard does nothing to them.

mod answer;
mod check;
mod several;
mod single;
mod standing;
mod words;

pub use check::JudgeError;

use crate::doubt::{Gate, GateOutcome, Weight};
use crate::indication::{Indication, Relevance, Shape};
use crate::rules::RuleSet;
use crate::shape::length_over_width;
use crate::source::{Confidence, Source};

use answer::Answer;
use several::Asking;
use standing::{Called, Standing};

/// Standard uncertainties between the measured value and the limit.
/// Source: ISO 14253-1:2017, 95 % on one side (from memory); 0.95 quantile of the normal distribution.
const GUARD: f64 = 1.645;

/// What is concluded, least severe first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Within the criteria.
    Accept,
    /// A person must decide; a finding says what settles it.
    Review,
    /// Past the criteria.
    Reject,
}

impl Verdict {
    /// `accept`, `review` or `reject`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Accept => "accept",
            Self::Review => "review",
            Self::Reject => "reject",
        }
    }
}

/// How uncertainty meets a limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Guard {
    /// Accept only what clears the limit by 1.645 u, reject only what passes it by as much.
    #[default]
    AcceptSide,
    /// Compare the measured value as it stands; false accepts near the limit are shared risk.
    AsMeasured,
}

/// How to judge.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct JudgeOptions {
    /// How uncertainty meets a limit.
    pub guard: Guard,
    /// Whether the picture is fit to judge; a failed gate never ends in accept.
    pub gates: Vec<Gate>,
}

/// The outcome for one list of indications.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// The most severe of all findings.
    pub verdict: Verdict,
    /// What [`Guard::AsMeasured`] would have said.
    pub as_measured: Verdict,
    /// What is not accepted, most severe first.
    pub findings: Vec<Finding>,
    /// Every indication of the list, in its order.
    pub indications: Vec<Judged>,
    /// Conventions used that no document publishes.
    pub conventions: Vec<String>,
    /// What a reader must be told.
    pub notes: Vec<String>,
}

/// One indication's outcome.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// Its name.
    pub id: String,
    /// Its shape; in doubt when the reason says so.
    pub shape: Shape,
    /// Probability of linear; absent when typed or given.
    pub p_linear: Option<f64>,
    /// Length over width; absent without a width.
    pub ratio: Option<f64>,
    /// Whether it was judged as relevant.
    pub relevant: bool,
    /// Number of the group it was judged in, from 1; absent when it stands alone.
    pub group: Option<u32>,
    /// The most severe of the findings that name it.
    pub verdict: Verdict,
    /// Why.
    pub reason: String,
}

/// One reason not to accept.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Reject or review.
    pub verdict: Verdict,
    /// The rule's name.
    pub rule: String,
    /// The indications it is about; empty when it is about the whole picture.
    pub indications: Vec<String>,
    /// What was found.
    pub found: String,
    /// What it was held against.
    pub limit: String,
    /// Where the limit stands.
    pub source: Source,
    /// The one action that settles it; given with every review.
    pub action: Option<String>,
}

/// Judges a list of indications.
///
/// ```
/// use nde_core::{Indication, JudgeOptions, Length, Measured, RuleSet, Verdict, judge};
/// let mut mark = Indication::typed("1", Length::parse_mm("3.01")?, Length::parse_mm("1")?);
/// let rules = RuleSet::builtin("weld-vessel-si").expect("it ships");
/// let judged = judge(std::slice::from_ref(&mark), &rules, &JudgeOptions::default())?;
/// assert_eq!(judged.verdict, Verdict::Reject); // longer than three times its width: linear
/// mark.width = Measured::exact(Length::parse_mm("1.01")?);
/// assert_eq!(judge(&[mark], &rules, &JudgeOptions::default())?.verdict, Verdict::Accept);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A list that cannot be judged: two of one name, no length or width, a typed length below its width,
/// places that a rule needs and that are not there.
pub fn judge(
    indications: &[Indication],
    rules: &RuleSet,
    options: &JudgeOptions,
) -> Result<Judgement, JudgeError> {
    check::check(indications)?;
    let plain = judge_with(indications, rules, &options.gates, 0.0)?;
    let mut judgement = match options.guard {
        Guard::AsMeasured => plain.clone(),
        Guard::AcceptSide => judge_with(indications, rules, &options.gates, GUARD)?,
    };
    judgement.as_measured = plain.verdict;
    Ok(judgement)
}

fn judge_with(
    indications: &[Indication],
    rules: &RuleSet,
    gates: &[Gate],
    guard: f64,
) -> Result<Judgement, JudgeError> {
    let mut standings: Vec<Standing<'_>> = indications
        .iter()
        .map(|i| Standing::new(i, rules.linear_past(), rules.relevant(), guard))
        .collect();
    let mut findings = Vec::new();
    for standing in &mut standings {
        findings.extend(single::judge_single(standing, rules.rejects(), rules.unit()));
    }
    let asking = Asking { standings: &standings, guard, unit: rules.unit() };
    let mut conventions: Vec<String> = Vec::new();
    let mut group = vec![None; indications.len()];
    let mut groups = 0_u32;
    for rule in rules.rejects() {
        let several = asking.ask(rule)?;
        findings.extend(several.findings);
        for members in several.groups {
            groups += 1;
            for member in members {
                group[member].get_or_insert(groups);
            }
        }
        if several.looked {
            for sentence in rule.conventions() {
                if !conventions.contains(&sentence) {
                    conventions.push(sentence);
                }
            }
        }
    }
    findings.extend(gates.iter().filter(|g| g.outcome == GateOutcome::Fail).map(gate_finding));
    findings.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    let unfit = gates.iter().any(|g| g.outcome == GateOutcome::Fail);
    let judged = judged(&standings, &findings, &group, rules, unfit);
    Ok(Judgement {
        verdict: findings.iter().map(|f| f.verdict).max().unwrap_or(Verdict::Accept),
        as_measured: Verdict::Accept,
        notes: notes(&standings, rules, gates),
        indications: judged,
        findings,
        conventions,
    })
}

/// Each indication's most severe finding, as its verdict and reason.
fn judged(
    standings: &[Standing<'_>],
    findings: &[Finding],
    group: &[Option<u32>],
    rules: &RuleSet,
    unfit: bool,
) -> Vec<Judged> {
    let mut worst: std::collections::HashMap<&str, &Finding> = std::collections::HashMap::new();
    for finding in findings {
        for id in &finding.indications {
            worst.entry(id).or_insert(finding);
        }
    }
    let outcome = |standing: &Standing<'_>| {
        let indication = standing.indication;
        if let Some(finding) = worst.get(indication.id.as_str()) {
            let reason = format!(
                "{}: {} ({}; {})",
                finding.rule, finding.found, finding.limit, finding.source.text
            );
            return (finding.verdict, reason);
        }
        if standing.called == Called::Away {
            return (Verdict::Accept, away(indication).to_owned());
        }
        let fit = if unfit { Verdict::Review } else { Verdict::Accept };
        let size = words::size(&indication.length, rules.unit());
        let reason = match rules.relevant() {
            Some(threshold) if standing.relevant == Answer::No => {
                format!("not relevant: {size} long, and relevant is {}", threshold.length)
            }
            _ => format!("{}, {size} long: no rule rejects it", words::shape(standing.shape.best)),
        };
        (fit, if unfit { format!("{reason}; but the picture is not fit to judge") } else { reason })
    };
    standings
        .iter()
        .zip(group)
        .map(|(standing, group)| {
            let indication = standing.indication;
            let (verdict, reason) = outcome(standing);
            Judged {
                id: indication.id.clone(),
                shape: standing.shape.best,
                p_linear: standing.shape.p_linear,
                ratio: length_over_width(indication.length.value, indication.width.value),
                relevant: standing.called == Called::Judged && standing.relevant.possible(),
                group: *group,
                verdict,
                reason,
            }
        })
        .collect()
}

const fn away(indication: &Indication) -> &'static str {
    match indication.relevance {
        Relevance::False => "called false by a person; not judged",
        _ => "called non-relevant by a person; not judged",
    }
}

fn gate_finding(gate: &Gate) -> Finding {
    let value =
        gate.value.map_or_else(|| "not known".to_owned(), |v| format!("{v:.3} {}", gate.unit));
    Finding {
        verdict: Verdict::Review,
        rule: format!("picture: {}", gate.name),
        indications: Vec::new(),
        found: value.trim().to_owned(),
        limit: format!("{} {}", gate.fail, gate.unit).trim().to_owned(),
        source: chosen("fitness of the picture"),
        action: Some(gate.remedy.to_owned()),
    }
}

fn chosen(text: &str) -> Source {
    Source { text: text.to_owned(), confidence: Confidence::Chosen }
}

fn notes(standings: &[Standing<'_>], rules: &RuleSet, gates: &[Gate]) -> Vec<String> {
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
    match rules.confidence() {
        Confidence::Read | Confidence::Own | Confidence::Chosen => {}
        weak => notes.push(format!(
            "The numbers of `{}` are no surer than: {}; check them against your own copy of the document.",
            rules.id(),
            weak.word()
        )),
    }
    for gate in
        gates.iter().filter(|g| matches!(g.outcome, GateOutcome::Warn | GateOutcome::Unknown))
    {
        notes.push(format!("Picture, {}: {}.", gate.name, gate.remedy));
    }
    notes.extend(rules.cautions().iter().cloned());
    notes
}

#[cfg(test)]
mod tests;
