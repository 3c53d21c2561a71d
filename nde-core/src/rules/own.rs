//! A rule set of the user's own limits, alone or beside another set.

use std::fmt::Write as _;

use super::amount::Size;
use super::limit::Limit;
use super::rule::{Members, Rule, Test};
use super::written::{CountBound, LengthBound, Written};
use super::{Relevant, RuleSet, Shaping};
use crate::indication::Shape;
use crate::length::Length;
use crate::side::Side;
use crate::source::{Confidence, Source};

/// Why limits do not make a rule set.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum OwnLimitsError {
    /// Nothing that rejects.
    #[error(
        "no limit rejects anything; give at least one of linear, rounded, row, spacing or count"
    )]
    RejectsNothing,
    /// One kind of limit twice.
    #[error("the limit `{name}` is given twice; give it once")]
    Twice {
        /// Its name.
        name: &'static str,
    },
    /// Limits beside a set that gives no verdict.
    #[error("the rule set `{id}` only measures; give the limits without it")]
    MeasureOnly {
        /// The rule set's id.
        id: String,
    },
    /// A relevance threshold beside a set that has its own.
    #[error(
        "`relevant=` cannot change the rule set `{id}`, which says itself what is relevant; leave it out, or write your own rule set"
    )]
    RelevanceIsSet {
        /// The rule set's id.
        id: String,
    },
}

impl RuleSet {
    /// A set of these limits alone. Without `relevant=`, every indication is relevant; linear is
    /// more than three times as long as wide.
    ///
    /// # Errors
    /// No limit that rejects, or one kind twice.
    pub fn from_limits(limits: &[Limit]) -> Result<Self, OwnLimitsError> {
        let empty = Self {
            id: "own-limits".into(),
            title: "the user's own limits".into(),
            edition: None,
            unit: None,
            measure_only: None,
            cautions: Vec::new(),
            shaping: Shaping::common(),
            relevant: None,
            joins: None,
            labels: None,
            rules: Vec::new(),
            text: String::new(),
        };
        let set = empty.with_limits(limits)?;
        if set.rules.is_empty() { Err(OwnLimitsError::RejectsNothing) } else { Ok(set) }
    }

    /// This set with further limits of the user's own: each rejects beside what the set rejects.
    ///
    /// # Errors
    /// One kind twice, or `relevant=` beside a set that says itself what is relevant.
    pub fn with_limits(&self, limits: &[Limit]) -> Result<Self, OwnLimitsError> {
        let mut set = self.clone();
        if self.measure_only.is_some() && !limits.is_empty() {
            return Err(OwnLimitsError::MeasureOnly { id: self.id.clone() });
        }
        for (i, limit) in limits.iter().enumerate() {
            if limits[..i].iter().any(|other| other.name() == limit.name()) {
                return Err(OwnLimitsError::Twice { name: limit.name() });
            }
            let source = Source { text: format!("--limit {limit}"), confidence: Confidence::Own };
            if let Limit::Relevant(length) = limit {
                if set.relevant.is_some() || !self.rules.is_empty() {
                    return Err(OwnLimitsError::RelevanceIsSet { id: self.id.clone() });
                }
                set.relevant = Some(Relevant { length: over(length), source });
            } else {
                let (shape, test) = test(limit);
                let of = Members { shape, ..Members::default() };
                set.rules.push(Rule {
                    name: format!("own limit {}", limit.name()),
                    of,
                    test,
                    source,
                });
            }
            if !set.text.is_empty() && !set.text.ends_with('\n') {
                set.text.push('\n');
            }
            // The text is what a report hashes, so the limits belong in it.
            let _ = writeln!(set.text, "# --limit {limit}");
            let written = match limit {
                Limit::Linear(l) | Limit::Rounded(l) | Limit::Relevant(l) | Limit::Spacing(l) => {
                    Some(l)
                }
                Limit::Row { gap, .. } => Some(gap),
                Limit::Count(_) => None,
            };
            if let Some(written) = written {
                let first = self.rules.is_empty() && i == 0;
                set.unit = if first {
                    Some(written.unit())
                } else {
                    set.unit.filter(|u| *u == written.unit())
                };
            }
        }
        Ok(set)
    }
}

fn test(limit: &Limit) -> (Option<Shape>, Test) {
    match limit {
        Limit::Linear(length) => (Some(Shape::Linear), Test::Length(Size::Fixed(over(length)))),
        Limit::Rounded(length) => (Some(Shape::Rounded), Test::Length(Size::Fixed(over(length)))),
        Limit::Relevant(length) => (None, Test::Length(Size::Fixed(over(length)))),
        Limit::Row { count, gap } => (
            None,
            Test::Row {
                count: CountBound { side: Side::AtLeast, limit: *count },
                gap: LengthBound { side: Side::AtMost, limit: gap.clone() },
                strip: Length::ZERO,
            },
        ),
        Limit::Spacing(gap) => {
            (None, Test::Spacing(LengthBound { side: Side::Under, limit: gap.clone() }))
        }
        Limit::Count(count) => (
            None,
            Test::Count { count: CountBound { side: Side::Over, limit: *count }, within: None },
        ),
    }
}

fn over(length: &Written) -> LengthBound {
    LengthBound { side: Side::Over, limit: length.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(texts: &[&str]) -> Vec<Limit> {
        texts.iter().map(|t| t.parse().unwrap()).collect()
    }

    #[test]
    fn limits_make_a_set() {
        let set = RuleSet::from_limits(&limits(&["relevant=1.5mm", "linear=3mm", "row=4@1.5mm"]))
            .unwrap();
        assert!(set.needs_places());
        assert_eq!(set.smallest_deciding_size(), Some(Length::from_um(1500)));
        assert_eq!(set.unit(), Some(crate::rules::Unit::Millimetre));
        assert_eq!(
            set.text(),
            "# --limit relevant=1.5mm\n# --limit linear=3mm\n# --limit row=4@1.5mm\n"
        );
    }

    #[test]
    fn limits_that_say_nothing_or_too_much_are_refused() {
        assert_eq!(RuleSet::from_limits(&[]), Err(OwnLimitsError::RejectsNothing));
        assert_eq!(
            RuleSet::from_limits(&limits(&["relevant=1mm"])),
            Err(OwnLimitsError::RejectsNothing)
        );
        assert_eq!(
            RuleSet::from_limits(&limits(&["linear=1mm", "linear=2mm"])),
            Err(OwnLimitsError::Twice { name: "linear" })
        );
        let vessel = RuleSet::builtin("weld-vessel-si").unwrap();
        assert!(vessel.with_limits(&limits(&["relevant=1mm"])).is_err());
        assert!(vessel.with_limits(&limits(&["count=10"])).is_ok());
    }
}
