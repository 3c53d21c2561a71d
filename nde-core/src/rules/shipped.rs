//! The rule sets and templates that ship with the library, one data file each.

use super::RuleSet;

/// A shipped file under its id.
macro_rules! files {
    ($($id:literal),* $(,)?) => {
        [$(($id, include_str!(concat!("../../rule-sets/", $id, ".toml")))),*]
    };
}

const SHIPPED: [(&str, &str); 15] = files![
    "weld-vessel-si",
    "weld-vessel-us",
    "weld-power-piping-us",
    "weld-power-piping-si2000",
    "weld-process-piping-2016",
    "weld-nuclear-class",
    "weld-level-1",
    "weld-level-2",
    "weld-level-3",
    "weld-level-2x",
    "weld-level-3x",
    "weld-pipeline-girth-si",
    "weld-pipeline-girth-us",
    "weld-structural-visual",
    "label-type-class",
];

const TEMPLATES: [(&str, &str); 5] =
    files!["shop-custom", "forging-class", "casting-grid", "casting-steel-level", "tube-level",];

/// Ids of the rule sets that ship with the library.
pub fn builtin_ids() -> impl Iterator<Item = &'static str> {
    SHIPPED.iter().map(|(id, _)| *id)
}

/// Ids of the templates: starting files whose numbers the user fills in.
pub fn template_ids() -> impl Iterator<Item = &'static str> {
    TEMPLATES.iter().map(|(id, _)| *id)
}

/// The text of a template; absent when there is none of this id. It reads as a rule set once every `?`
/// in it is replaced by a number.
#[must_use]
pub fn template(id: &str) -> Option<&'static str> {
    TEMPLATES.iter().find(|(known, _)| *known == id).map(|(_, text)| *text)
}

/// The JSON schema of a rule set's file form, for editors that check TOML against one.
#[must_use]
pub const fn form_schema() -> &'static str {
    include_str!("../../rule-sets/form.schema.json")
}

impl RuleSet {
    /// The shipped rule set with this id; absent when there is none. [`builtin_ids`] lists them.
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
            for line in set.rules().skip(usize::from(id == "weld-structural-visual")) {
                assert!(line.source.confidence != Confidence::Own, "{id}: {}", line.name);
                assert!(line.source.confidence != Confidence::Unsure, "{id}: {}", line.name);
            }
            assert!(set.title().contains("numbers as published") || set.measure_only().is_some());
        }
        assert!(RuleSet::builtin("nothing-of-the-kind").is_none());
    }

    #[test]
    fn a_template_says_what_to_fill_in_until_it_is_a_set() {
        for id in template_ids() {
            let text = template(id).unwrap();
            let error = RuleSet::parse(text).unwrap_err();
            assert!(
                error.to_string().contains("fill") || error.fact().contains("ratio"),
                "{id}: {error}"
            );
            assert!(text.lines().nth(error.line() - 1).unwrap().contains('?'), "{id}: {error}");
            RuleSet::parse(&text.replace('?', "3")).unwrap_or_else(|error| panic!("{id}: {error}"));
        }
    }

    #[test]
    fn no_set_mixes_units() {
        for (id, text) in SHIPPED {
            let numbers: Vec<&str> = text
                .lines()
                .filter(|l| l.contains("= \"") && (l.contains('<') || l.contains('>')))
                .collect();
            let (mm, inch) = (
                numbers.iter().any(|l| l.contains(" mm")),
                numbers.iter().any(|l| l.contains(" in\"")),
            );
            assert!(!(mm && inch), "{id}");
        }
    }
}
