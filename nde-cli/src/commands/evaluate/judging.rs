//! Indications held against the rule set in force.

use crate::settings::Criteria;
use anyhow::Result;
use nde_core::{Gate, Indication, Judgement, judge};

/// The judgement; none where nothing is to be judged.
pub(super) fn judged(
    indications: &[Indication],
    criteria: &Criteria,
    gates: &[Gate],
) -> Result<Option<Judgement>> {
    let Some(rules) = &criteria.rules else { return Ok(None) };
    Ok(Some(judge(indications, rules, &criteria.options(gates))?))
}
