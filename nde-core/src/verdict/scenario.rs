//! One way of reading the list - alone, or joined in one of two ways - judged through.

use std::collections::HashSet;

use crate::doubt::{Gate, GateOutcome};
use crate::rules::{Labels, RuleSet};

use super::answer::Answer;
use super::check::JudgeError;
use super::lacking;
use super::several::Asking;
use super::single::judge_single;
use super::standing::{Called, Standing};
use super::words;
use super::{Context, Finding, Verdict, chosen};

/// What one way of reading the list came to.
pub(super) struct Scenario<'a> {
    pub(super) standings: Vec<Standing<'a>>,
    pub(super) findings: Vec<Finding>,
    /// Numbers of the groups that indications of the list were judged in.
    pub(super) group: Vec<Option<u32>>,
    pub(super) conventions: Vec<String>,
}

impl<'a> Scenario<'a> {
    /// Judges `standings`, made of `count` indications.
    pub(super) fn run(
        mut standings: Vec<Standing<'a>>,
        count: usize,
        rules: &RuleSet,
        context: &Context,
        guard: f64,
    ) -> Result<Self, JudgeError> {
        let mut findings = Vec::new();
        let mut conventions = Vec::new();
        let mut groups = Groups { of: vec![None; count], used: 0 };
        if let Some(why) = rules.measure_only() {
            findings.extend(only_measured(&standings, why));
            return Ok(Self { standings, findings, group: groups.of, conventions });
        }
        for standing in &mut standings {
            findings.extend(judge_single(standing, rules.rejects(), context));
            findings
                .extend(rules.labels().and_then(|labels| unlabelled(standing, labels, context)));
        }
        findings.extend(lacking::thickness(&standings, rules.rejects(), context));
        for standing in standings.iter().filter(|s| s.members.len() > 1) {
            groups.number(standing.members.iter().copied());
        }
        let asking = Asking { standings: &standings, guard, context };
        for rule in rules.rejects() {
            let several = asking.ask(rule)?;
            findings.extend(several.findings);
            for group in several.groups {
                groups.number(group.into_iter().flat_map(|s| standings[s].members.iter().copied()));
            }
            if several.looked {
                conventions.extend(rule.conventions());
            }
        }
        Ok(Self { standings, findings, group: groups.of, conventions })
    }

    pub(super) fn verdict(&self) -> Verdict {
        self.findings.iter().map(|f| f.verdict).max().unwrap_or(Verdict::Accept)
    }
}

struct Groups {
    of: Vec<Option<u32>>,
    used: u32,
}

impl Groups {
    /// Numbers what has no number yet.
    fn number(&mut self, members: impl Iterator<Item = usize>) {
        let next = self.used + 1;
        for member in members {
            if self.of[member].is_none() {
                self.of[member] = Some(next);
                self.used = next;
            }
        }
    }
}

/// A set that only measures leaves every indication to a person.
fn only_measured(standings: &[Standing<'_>], why: &str) -> Option<Finding> {
    let judged: Vec<&Standing<'_>> =
        standings.iter().filter(|s| s.called == Called::Judged).collect();
    (!judged.is_empty()).then(|| Finding {
        verdict: Verdict::Review,
        rule: "measures only".into(),
        indications: judged.iter().flat_map(|s| s.ids.clone()).collect(),
        found: format!("{} to be judged by a person", judged.len()),
        limit: "no verdict is given".into(),
        source: chosen("the rule set gives no verdict"),
        action: Some(why.to_owned()),
    })
}

/// A person must say what it is before it can be judged.
fn unlabelled(standing: &Standing<'_>, labels: &Labels, context: &Context) -> Option<Finding> {
    let needed = standing.called == Called::Judged
        && standing.relevant != Answer::No
        && labels.shape.is_none_or(|shape| standing.shape.may_be(shape));
    let found = match standing.label() {
        _ if !needed => return None,
        Some(label) if labels.words.contains(&label) => return None,
        Some(label) => format!("called `{label}`, which no rule knows"),
        None => "nobody said what it is".to_owned(),
    };
    Some(Finding {
        verdict: Verdict::Review,
        rule: "labels".into(),
        indications: standing.ids.clone(),
        found: format!("{}, {found}", words::size(&standing.indication.length, context.unit)),
        limit: labels.words.join(", "),
        source: labels.source.clone(),
        action: Some(format!(
            "{}: say what it is: {}",
            standing.indication.id,
            labels.words.join(", ")
        )),
    })
}

/// A failed gate never ends in accept.
pub(super) fn unfit(gates: &[Gate]) -> impl Iterator<Item = Finding> + '_ {
    gates.iter().filter(|gate| gate.outcome == GateOutcome::Fail).map(|gate| {
        // A count has no unit and no decimals.
        let value = match gate.value {
            None => "not known".to_owned(),
            Some(count) if gate.unit.is_empty() && count.fract() == 0.0 => format!("{count:.0}"),
            Some(value) => format!("{value:.3} {}", gate.unit),
        };
        Finding {
            verdict: Verdict::Review,
            rule: format!("picture: {}", gate.name),
            indications: Vec::new(),
            found: value.trim().to_owned(),
            limit: format!("{} {}", gate.fail, gate.unit).trim().to_owned(),
            source: chosen("fitness of the picture"),
            action: Some(gate.remedy.to_string()),
        }
    })
}

/// What two readings of doubtful gaps agree on; what they do not is for a person. An indication that
/// both readings reject is rejected, be it for other reasons.
pub(super) fn agreed(sure: &Scenario<'_>, possible: &Scenario<'_>) -> Vec<Finding> {
    let mut known: HashSet<(Verdict, &str, &[String])> = HashSet::new();
    let mut all = Vec::new();
    for (one, other) in [(sure, possible), (possible, sure)] {
        let rejected: HashSet<&String> = other
            .findings
            .iter()
            .filter(|f| f.verdict == Verdict::Reject)
            .flat_map(|f| &f.indications)
            .collect();
        for finding in &one.findings {
            if !known.insert((finding.verdict, &finding.rule, &finding.indications)) {
                continue;
            }
            let stands = finding.indications.iter().any(|id| rejected.contains(id));
            let mut finding = finding.clone();
            if finding.verdict == Verdict::Reject && !stands {
                finding.verdict = Verdict::Review;
                finding.found =
                    format!("{}, if the gaps near the joining limit count so", finding.found);
                finding.action = Some(format!(
                    "measure the gaps around {} by hand",
                    finding.indications.join(", ")
                ));
            }
            all.push(finding);
        }
    }
    all
}
