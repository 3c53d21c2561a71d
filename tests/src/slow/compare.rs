//! The engine's judgement beside the slow outcome, point by point.

use super::judge::{Caught, Facts, Outcome, Verdict};
use super::mark::Mark;
use super::set::{Kind, Rule, Set, Shape};
use nde_core::{Finding, JudgeError, JudgeOptions, Judgement, Length, RuleSet, judge};
use std::collections::BTreeSet;

/// What the engine says of a list.
///
/// # Errors
/// The engine refuses the list.
pub fn engine(marks: &[Mark], rules: &RuleSet, facts: &Facts) -> Result<Judgement, JudgeError> {
    let list: Vec<_> = marks.iter().map(Mark::indication).collect();
    let length = |nm: i64| Length::from_nm(u64::try_from(nm).unwrap_or(0));
    let mut options = JudgeOptions::default();
    options.thickness = facts.thickness.map(length);
    options.weld_length = facts.weld.map(length);
    options.weld_axis_udeg = facts.upright.map(|upright| if upright { 90_000_000 } else { 0 });
    judge(&list, rules, &options)
}

/// Where the two differ, in words; empty when they agree.
#[must_use]
pub fn differences(
    judgement: &Judgement,
    slow: &Outcome,
    set: &Set,
    marks: &[Mark],
) -> Vec<String> {
    let mut all = Vec::new();
    let mut differ = |what: &str, fast: String, slow: String| {
        if fast != slow {
            all.push(format!("{what}: the engine says {fast}, the slow evaluator {slow}"));
        }
    };
    differ("verdict", judgement.verdict.word().into(), word(slow.verdict).into());
    differ("as measured", judgement.as_measured.word().into(), word(slow.verdict).into());
    differ(
        "unjoined",
        judgement.unjoined.map_or("", nde_core::Verdict::word).into(),
        slow.unjoined.map_or("", word).into(),
    );
    for judged in &judgement.indications {
        let shape = match judged.shape {
            nde_core::Shape::Linear => Shape::Linear,
            nde_core::Shape::Rounded => Shape::Rounded,
        };
        differ(&judged.id, format!("{shape:?}"), format!("{:?}", slow.shapes[&judged.id]));
        let relevant = slow.relevant.contains(&judged.id);
        differ(&judged.id, format!("relevant {}", judged.relevant), format!("relevant {relevant}"));
    }
    for rule in &set.rules {
        let findings: Vec<&Finding> = judgement
            .findings
            .iter()
            .filter(|f| f.rule == rule.name && f.verdict == nde_core::Verdict::Reject)
            .collect();
        let fast = seen(&findings, rule, slow, marks);
        differ(&rule.name, fast, format!("{:?}", slow.caught.get(&rule.name)));
    }
    all
}

/// The engine's findings in the slow evaluator's words.
fn seen(
    findings: &[&Finding],
    Rule { kind, name: rule, .. }: &Rule,
    slow: &Outcome,
    marks: &[Mark],
) -> String {
    if findings.is_empty() {
        return format!("{:?}", None::<Caught>);
    }
    let names = |f: &&Finding| f.indications.iter().cloned().collect::<BTreeSet<String>>();
    let all: BTreeSet<String> = findings.iter().flat_map(names).collect();
    let caught = match kind {
        Kind::Count(..) => Caught::Weight(i128::try_from(ones(&all, slow)).unwrap_or(0)),
        // A joined length is not told apart from the list's own: only that it is caught is compared.
        Kind::Total(..) | Kind::Share(_) if slow.joined.iter().any(|j| !j.is_disjoint(&all)) => {
            slow.caught.get(rule).cloned().unwrap_or(Caught::Weight(0))
        }
        Kind::Total(..) | Kind::Share(_) => Caught::Weight(
            marks.iter().filter(|m| all.contains(&m.id)).map(|m| i128::from(m.length)).sum(),
        ),
        Kind::Row(..) => Caught::All(all),
        _ => Caught::Each(findings.iter().map(names).collect()),
    };
    format!("{:?}", Some(caught))
}

/// How many these are when what is read as one counts once.
fn ones(ids: &BTreeSet<String>, slow: &Outcome) -> usize {
    let inside: Vec<_> = slow.joined.iter().filter(|j| !j.is_disjoint(ids)).collect();
    ids.iter().filter(|id| !inside.iter().any(|j| j.contains(*id))).count() + inside.len()
}

const fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Accept => "accept",
        Verdict::Review => "review",
        Verdict::Reject => "reject",
    }
}
