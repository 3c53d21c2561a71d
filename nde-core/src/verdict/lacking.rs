//! What a rule asks beside the indications, and nobody said: the thickness of the part, the axis and
//! the length of the weld. A person can say it, so the outcome is review, never an error and never accept.

use crate::rules::Rule;

use super::standing::Standing;
use super::{Context, Finding, Verdict};

/// What is not known, and how to say it.
#[derive(Clone, Copy, Debug)]
pub(super) enum Lack {
    Thickness,
    WeldAxis,
    WeldLength,
}

impl Lack {
    const fn found(self) -> &'static str {
        match self {
            Self::Thickness => "the thickness of the part is not known",
            Self::WeldAxis => "the direction of the weld's axis is not known",
            Self::WeldLength => "the length of the weld is not known",
        }
    }

    const fn action(self) -> &'static str {
        match self {
            Self::Thickness => "give the thickness of the part, such as --thickness 12mm",
            Self::WeldAxis => {
                "give the direction of the weld's axis in degrees from x towards y, such as --weld-axis 0"
            }
            Self::WeldLength => "give the length of the weld, such as --weld-length 400mm",
        }
    }

    /// The finding about the indications that a rule would look at.
    pub(super) fn finding(self, rule: &Rule, ids: Vec<String>) -> Finding {
        Finding {
            verdict: Verdict::Review,
            rule: rule.name.clone(),
            indications: ids,
            found: self.found().to_owned(),
            limit: rule.limit(),
            source: rule.source.clone(),
            action: Some(self.action().to_owned()),
        }
    }
}

/// Rules that follow the thickness, where it is not known and some indication concerns them.
pub(super) fn thickness<'b>(
    standings: &'b [Standing<'_>],
    rules: &'b [Rule],
    context: &Context,
) -> impl Iterator<Item = Finding> + 'b {
    let unknown = context.thickness.is_none();
    rules.iter().filter(move |rule| unknown && rule.needs_thickness()).filter_map(|rule| {
        let ids: Vec<String> = standings
            .iter()
            .filter(|s| s.belongs(&rule.of).possible())
            .flat_map(|s| s.ids.iter().cloned())
            .collect();
        (!ids.is_empty()).then(|| Lack::Thickness.finding(rule, ids))
    })
}
