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

mod options;

mod check;

mod standing;

mod words;

mod joined;

mod lacking;

mod several;

mod single;

mod partial;

mod scenario;

mod notes;

pub use check::JudgeError;
pub use options::{Guard, JudgeOptions};

use crate::doubt::GateOutcome;
use crate::indication::{Indication, Relevance, Shape};
use crate::length::{Length, Spread};
use crate::rules::{Joins, RuleSet, Unit};
use crate::shape::length_over_width;
use crate::source::{Confidence, Source};

use answer::Answer;
use joined::{Which, join};
use scenario::{Scenario, agreed, unfit};
use standing::{Called, Measure, Standing};

/// Standard uncertainties between the measured value and the limit.
/// Source: ISO 14253-1:2017, 95 % on one side (from memory); 0.95 quantile of the normal distribution.
const GUARD: f64 = 1.645;

/// What is concluded, least severe first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "lowercase")
)]
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

impl std::fmt::Display for Verdict {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.word())
    }
}

/// What the rules need to know beside the indications.
struct Context {
    unit: Option<Unit>,
    thickness: Option<Length>,
    weld_axis_udeg: Option<i64>,
    weld_length: Option<Length>,
}

/// The outcome for one list of indications.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Judgement {
    /// The most severe of all findings.
    pub verdict: Verdict,
    /// What [`Guard::AsMeasured`] would have said.
    pub as_measured: Verdict,
    /// What would have been said without joining; absent when the set joins nothing.
    pub unjoined: Option<Verdict>,
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
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
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
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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
    let plain = judge_with(indications, rules, options, 0.0)?;
    // Without uncertainty there is nothing to guard against.
    let measured = indications.iter().any(|indication| {
        [indication.length, indication.width].iter().any(|m| m.spread != Spread::Exact)
            || indication.edge_shift.is_some()
    });
    let mut judgement = if measured && options.guard == Guard::AcceptSide {
        judge_with(indications, rules, options, GUARD)?
    } else {
        plain.clone()
    };
    judgement.as_measured = plain.verdict;
    Ok(judgement)
}

fn judge_with(
    indications: &[Indication],
    rules: &RuleSet,
    options: &JudgeOptions,
    guard: f64,
) -> Result<Judgement, JudgeError> {
    let measure = Measure { past: rules.linear_past(), threshold: rules.relevant(), guard };
    let context = Context {
        unit: rules.unit(),
        thickness: options.thickness,
        weld_axis_udeg: options.weld_axis_udeg,
        weld_length: options.weld_length,
    };
    let run = |standings| Scenario::run(standings, indications.len(), rules, &context, guard);
    let alone: Vec<Standing<'_>> =
        indications.iter().enumerate().map(|(i, it)| Standing::new(it, i, measure)).collect();
    let mut unjoined = None;
    let (scenario, mut findings) = match rules.joins() {
        None => {
            let scenario = run(alone)?;
            let findings = scenario.findings.clone();
            (scenario, findings)
        }
        Some(joins) => {
            let possible = join(&alone, joins, measure, Which::Possible)?;
            let sure = join(&alone, joins, measure, Which::Sure)?;
            let same = possible.iter().map(|s| &s.members).eq(sure.iter().map(|s| &s.members));
            let parts = if same || rules.measure_only().is_some() {
                Vec::new()
            } else {
                partial::in_part(&alone, &sure, &possible, rules, joins, measure, &context)
            };
            unjoined = Some(run(alone)?.verdict());
            let possible = run(possible)?;
            let mut findings =
                if same { possible.findings.clone() } else { agreed(&run(sure)?, &possible) };
            let known: std::collections::HashSet<String> =
                findings.iter().flat_map(|f| f.indications.iter().cloned()).collect();
            // What is rejected or reviewed either way needs no further reading.
            let news = |f: &Finding| f.indications.iter().any(|id| !known.contains(id));
            findings.extend(parts.into_iter().filter(news));
            (possible, findings)
        }
    };
    findings.extend(unfit(&options.gates));
    findings.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    let verdict = findings.iter().map(|f| f.verdict).max().unwrap_or(Verdict::Accept);
    let picture = options.gates.iter().any(|g| g.outcome == GateOutcome::Fail);
    Ok(Judgement {
        verdict,
        as_measured: verdict,
        unjoined,
        notes: notes::notes(&scenario.standings, rules, options, verdict, unjoined),
        indications: judged(indications, &scenario, &findings, rules, measure, picture),
        conventions: conventions(rules, &scenario),
        findings,
    })
}

/// Those of the rules that had something to look at.
fn conventions(rules: &RuleSet, scenario: &Scenario<'_>) -> Vec<String> {
    let joining = if scenario.standings.is_empty() { None } else { rules.joins() };
    let mut used = joining.map(Joins::conventions).unwrap_or_default();
    for sentence in &scenario.conventions {
        if !used.contains(sentence) {
            used.push(sentence.clone());
        }
    }
    used
}

/// Each indication's most severe finding, as its verdict and reason.
fn judged(
    indications: &[Indication],
    scenario: &Scenario<'_>,
    findings: &[Finding],
    rules: &RuleSet,
    measure: Measure<'_>,
    unfit: bool,
) -> Vec<Judged> {
    let mut worst: std::collections::HashMap<&str, &Finding> = std::collections::HashMap::new();
    for finding in findings {
        for id in &finding.indications {
            worst.entry(id).or_insert(finding);
        }
    }
    let mut part_of = vec![0; indications.len()];
    for (s, standing) in scenario.standings.iter().enumerate() {
        for member in &standing.members {
            part_of[*member] = s;
        }
    }
    indications
        .iter()
        .enumerate()
        .map(|(i, indication)| {
            let whole = &scenario.standings[part_of[i]];
            let alone = crate::shape::call_shape(indication, measure.past, measure.guard);
            let (verdict, reason) = match worst.get(indication.id.as_str()) {
                Some(finding) => (
                    finding.verdict,
                    format!(
                        "{}: {} ({}; {})",
                        finding.rule, finding.found, finding.limit, finding.source.text
                    ),
                ),
                None => unfound(indication, whole, rules, unfit),
            };
            Judged {
                id: indication.id.clone(),
                shape: alone.best,
                p_linear: alone.p_linear,
                ratio: length_over_width(indication.length.value, indication.width.value),
                relevant: whole.called == Called::Judged && whole.relevant.possible(),
                group: scenario.group[i],
                verdict,
                reason,
            }
        })
        .collect()
}

/// Verdict and reason of an indication that no finding names.
fn unfound(
    indication: &Indication,
    whole: &Standing<'_>,
    rules: &RuleSet,
    unfit: bool,
) -> (Verdict, String) {
    if whole.called == Called::Away {
        return (Verdict::Accept, away(indication).to_owned());
    }
    let size = words::size(&whole.indication.length, rules.unit());
    let joined = if whole.members.len() > 1 {
        format!("read as one ({}), ", whole.indication.id)
    } else {
        String::new()
    };
    let reason = match rules.relevant() {
        Some(threshold) if whole.relevant == Answer::No => {
            format!("{joined}not relevant: {size} long, and relevant is {}", threshold.length)
        }
        _ => format!("{joined}{}, {size} long: no rule rejects it", words::shape(whole.shape.best)),
    };
    if unfit {
        (Verdict::Review, format!("{reason}; but the picture is not fit to judge"))
    } else {
        (Verdict::Accept, reason)
    }
}

const fn away(indication: &Indication) -> &'static str {
    match indication.relevance {
        Relevance::False => "called false by a person; not judged",
        _ => "called non-relevant by a person; not judged",
    }
}

fn chosen(text: &str) -> Source {
    Source { text: text.to_owned(), confidence: Confidence::Chosen }
}

#[cfg(test)]
mod tests;
