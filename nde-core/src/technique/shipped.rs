//! The techniques that ship with the library, one data file each.

use super::Technique;

/// A shipped file under its id.
macro_rules! files {
    ($($id:literal),* $(,)?) => {
        [$(($id, include_str!(concat!("../../techniques/", $id, ".toml")))),*]
    };
}

const SHIPPED: [(&str, &str); 4] =
    files!["tech-iso", "tech-us-general", "tech-us-pressure", "tech-shop-practice"];

/// Ids of the techniques that ship with the library.
pub fn builtin_ids() -> impl Iterator<Item = &'static str> {
    SHIPPED.iter().map(|(id, _)| *id)
}

impl Technique {
    /// The shipped technique with this id; absent when there is none. [`builtin_ids`] lists them.
    #[must_use]
    pub fn builtin(id: &str) -> Option<Self> {
        let (_, text) = SHIPPED.iter().find(|(known, _)| *known == id)?;
        // Every shipped technique is read by a test, so a fault here cannot reach a user.
        Self::parse(text).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Confidence;

    #[test]
    fn every_shipped_technique_reads_and_cites_each_number() {
        for (id, text) in SHIPPED {
            let technique = Technique::parse(text).unwrap_or_else(|error| panic!("{id}: {error}"));
            assert_eq!(technique.id(), id);
            assert!(!technique.cautions().is_empty(), "{id}");
            for line in technique.lines() {
                let own = line.source.confidence == Confidence::Own;
                assert_eq!(own, id == "tech-shop-practice", "{id}: {}", line.item);
            }
        }
        assert!(Technique::builtin("nothing-of-the-kind").is_none());
    }
}
