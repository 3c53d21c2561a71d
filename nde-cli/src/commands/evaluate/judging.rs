//! Indications held against the rule set in force, as measured and as called.

use crate::settings::Criteria;
use anyhow::Result;
use nde_core::calls::{CallEvent, Called, judge_called};
use nde_core::{Finding, Gate, Indication, Judgement, judge};

/// What is concluded.
#[derive(Debug)]
pub(super) struct Conclusion {
    /// What stands.
    pub(super) judgement: Judgement,
    /// What a person called, and what stood without it; absent without calls.
    pub(super) called: Option<(Called, Judgement)>,
}

/// The conclusion, with `more` findings that the rules do not know of; none where nothing is to be
/// judged.
pub(super) fn judged(
    indications: &[Indication],
    criteria: &Criteria,
    gates: &[Gate],
    calls: Option<&[CallEvent]>,
    more: Vec<Finding>,
) -> Result<Option<Conclusion>> {
    let Some(rules) = &criteria.rules else { return Ok(None) };
    let options = criteria.options(gates);
    let mut conclusion = match calls {
        None => Conclusion { judgement: judge(indications, rules, &options)?, called: None },
        Some(events) => {
            let (called, both) = judge_called(indications, events, rules, &options)?;
            Conclusion { judgement: both.called, called: Some((called, both.raw)) }
        }
    };
    let raw = conclusion.called.as_mut().map(|(_, raw)| raw);
    for judgement in [Some(&mut conclusion.judgement), raw].into_iter().flatten() {
        for finding in &more {
            judgement.verdict = judgement.verdict.max(finding.verdict);
            judgement.as_measured = judgement.as_measured.max(finding.verdict);
            judgement.findings.push(finding.clone());
        }
        judgement.findings.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    }
    Ok(Some(conclusion))
}
