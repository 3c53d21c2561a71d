//! The rule sets that ship with the library, one data file each.

use super::RuleSet;

const SHIPPED: [(&str, &str); 2] = [
    ("weld-vessel-si", include_str!("../../rule-sets/weld-vessel-si.toml")),
    ("weld-vessel-us", include_str!("../../rule-sets/weld-vessel-us.toml")),
];

/// Ids of the rule sets that ship with the library.
pub fn builtin_ids() -> impl Iterator<Item = &'static str> {
    SHIPPED.iter().map(|(id, _)| *id)
}

impl RuleSet {
    /// The shipped rule set with this id; absent when there is none.
    #[must_use]
    pub fn builtin(id: &str) -> Option<Self> {
        let (_, text) = SHIPPED.iter().find(|(known, _)| *known == id)?;
        // Every shipped set is read by a test, so a fault here cannot reach a user.
        Self::parse(text).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Confidence;

    #[test]
    fn every_shipped_set_reads_and_cites_each_number() {
        for (id, text) in SHIPPED {
            let set = RuleSet::parse(text).unwrap_or_else(|error| panic!("{id}: {error}"));
            assert_eq!(set.id(), id);
            assert!(!set.cautions().is_empty(), "{id}");
            for line in set.rules() {
                assert!(line.source.confidence != Confidence::Own, "{id}: {}", line.name);
                assert!(line.source.confidence != Confidence::Unsure, "{id}: {}", line.name);
            }
        }
        assert!(RuleSet::builtin("nothing-of-the-kind").is_none());
    }
}
