//! The rules that look at one indication at a time.
//!
//! An indication of doubtful shape is held against the rules under both shapes: equal answers decide,
//! different ones call for a look.

use crate::doubt::Weight;
use crate::indication::Shape;
use crate::rules::{Rule, Test, Unit};

use super::answer::Answer;
use super::standing::{Called, Standing};
use super::words;
use super::{Context, Finding, Verdict};

/// A rule's answer for one indication taken as one shape.
struct Hit<'a> {
    rule: &'a Rule,
    shape: Shape,
    answer: Answer,
}

const SHAPES: [Shape; 2] = [Shape::Linear, Shape::Rounded];

/// Judges one indication alone: findings for whatever is not accepted. Settles its shape for the
/// rules that look at several at once, where one of its shapes is rejected on its own already.
pub(super) fn judge_single(
    standing: &mut Standing<'_>,
    rules: &[Rule],
    context: &Context,
) -> Vec<Finding> {
    if standing.called == Called::Away {
        return Vec::new();
    }
    let mut hits = Vec::new();
    let mut worst = Vec::new();
    for shape in SHAPES.into_iter().filter(|s| standing.shape.may_be(*s)) {
        let mut most = Answer::No;
        for rule in rules {
            let answer = answer(standing, rule, shape, context);
            if answer.possible() {
                hits.push(Hit { rule, shape, answer });
            }
            most = most.max(answer);
        }
        worst.push((shape, most));
    }
    if let [(Shape::Linear, as_linear), (Shape::Rounded, as_rounded)] = worst[..] {
        standing.settled = match (as_linear.sure(), as_rounded.sure()) {
            (true, false) => Some(Shape::Rounded),
            (false, true) => Some(Shape::Linear),
            _ => None,
        };
    }
    let verdict = verdict_of(worst.iter().map(|(_, a)| *a));
    let differ = worst.windows(2).any(|pair| pair[0].1 != pair[1].1);
    let mut findings: Vec<Finding> = hits
        .iter()
        .filter(|hit| verdict == Verdict::Review || hit.answer.sure())
        .map(|hit| finding(standing, hit, verdict, differ, worst.len(), context.unit))
        .collect();
    if findings.is_empty() && standing.weight >= Weight::Longer {
        findings.extend(unaccepted(standing, context.unit));
    }
    findings
}

/// All shapes rejected: reject. None: accept. Else a person looks.
fn verdict_of(answers: impl Iterator<Item = Answer> + Clone) -> Verdict {
    if answers.clone().all(|a| a == Answer::No) {
        Verdict::Accept
    } else if answers.clone().all(Answer::sure) {
        Verdict::Reject
    } else {
        Verdict::Review
    }
}

fn answer(standing: &Standing<'_>, rule: &Rule, shape: Shape, context: &Context) -> Answer {
    if !standing.concerns(&rule.of, shape) {
        return Answer::No;
    }
    let caught = match &rule.test {
        Test::Any => Answer::Yes,
        Test::Length(size) | Test::Width(size) => {
            let reach = match rule.test {
                Test::Width(_) => standing.width,
                _ => standing.length,
            };
            match size.resolve(context.thickness) {
                Ok(Some(limit)) => reach.caught(&limit),
                // Without the thickness nothing is said here; see `lacking`.
                Ok(None) | Err(_) => Answer::No,
            }
        }
        _ => return Answer::No,
    };
    caught.min(standing.relevant).min(standing.sized())
}

fn finding(
    standing: &Standing<'_>,
    hit: &Hit<'_>,
    verdict: Verdict,
    differ: bool,
    shapes: usize,
    unit: Option<Unit>,
) -> Finding {
    let indication = &standing.indication;
    let measured = match hit.rule.test {
        Test::Width(_) => ("wide", &indication.width),
        _ => ("long", &indication.length),
    };
    let mut found =
        format!("{}, {} {}", words::shape(hit.shape), words::size(measured.1, unit), measured.0);
    if shapes == 2 {
        found = match verdict {
            Verdict::Reject => format!(
                "{found}, if taken as {0} (its shape is in doubt; both ways it is rejected)",
                words::shape(hit.shape)
            ),
            _ => {
                format!("{found}, if taken as {0} (its shape is in doubt)", words::shape(hit.shape))
            }
        };
    }
    let action = (verdict == Verdict::Review).then(|| {
        if differ && hit.answer.sure() {
            words::settle_shape(standing)
        } else {
            words::settle_size(standing)
        }
    });
    Finding {
        verdict,
        rule: hit.rule.name.clone(),
        indications: standing.ids.clone(),
        found,
        limit: hit.rule.limit(),
        source: hit.rule.source.clone(),
        action,
    }
}

/// A heavy doubt never ends in accept.
fn unaccepted(standing: &Standing<'_>, unit: Option<Unit>) -> Option<Finding> {
    let indication = &standing.indication;
    let doubt = words::heavy_doubt(indication);
    let found = match doubt {
        Some(doubt) => format!("{}, {}", words::size(&indication.length, unit), doubt.fact()),
        None => words::size(&indication.length, unit),
    };
    Some(Finding {
        verdict: Verdict::Review,
        rule: doubt.map_or("size not claimed", |d| d.word()).to_owned(),
        indications: standing.ids.clone(),
        found,
        limit: "a size that is known".to_owned(),
        source: super::chosen("a size not fully seen is never accepted"),
        action: Some(words::settle_size(standing)),
    })
}
