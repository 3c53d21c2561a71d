//! Words of the record for the kinds of things, read back as they were written.

use nde_core::{Relevance, Shape, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

/// Something that stands in a record as one fixed word.
pub(super) trait Word: Copy + 'static {
    /// All there are.
    const ALL: &'static [Self];

    /// Its word.
    fn word(self) -> &'static str;
}

impl Word for Verdict {
    const ALL: &'static [Self] = &[Self::Accept, Self::Review, Self::Reject];

    fn word(self) -> &'static str {
        Self::word(self)
    }
}

impl Word for Shape {
    const ALL: &'static [Self] = &[Self::Linear, Self::Rounded];

    fn word(self) -> &'static str {
        Self::word(self)
    }
}

impl Word for Relevance {
    const ALL: &'static [Self] =
        &[Self::NotYetCalled, Self::Relevant, Self::NonRelevant, Self::False];

    fn word(self) -> &'static str {
        Self::word(self)
    }
}

/// The words of each kind, for the published schema; unit tests hold them to [`Word::ALL`].
#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case")]
#[expect(dead_code, reason = "only its schema is used")]
pub(super) enum VerdictWord {
    Accept,
    Review,
    Reject,
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case")]
#[expect(dead_code, reason = "only its schema is used")]
pub(super) enum KindWord {
    Linear,
    Rounded,
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case")]
#[expect(dead_code, reason = "only its schema is used")]
pub(super) enum RelevanceWord {
    NotYetCalled,
    Relevant,
    NonRelevant,
    False,
}

fn find<'de, T: Word, D: Deserializer<'de>>(text: &str) -> Result<T, D::Error> {
    let known = T::ALL.iter().copied().find(|value| value.word() == text);
    known.ok_or_else(|| D::Error::custom(format_args!("`{text}` is no word of this record")))
}

pub(super) fn serialize<T: Word, S: Serializer>(value: &T, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(value.word())
}

pub(super) fn deserialize<'de, T: Word, D: Deserializer<'de>>(from: D) -> Result<T, D::Error> {
    find::<T, D>(&String::deserialize(from)?)
}

/// The same where there may be none.
pub(super) mod maybe {
    use super::{Word, find};
    use serde::{Deserialize as _, Deserializer, Serializer};

    pub(in crate::record) fn serialize<T: Word, S: Serializer>(
        value: &Option<T>,
        to: S,
    ) -> Result<S::Ok, S::Error> {
        match value {
            Some(value) => to.serialize_some(value.word()),
            None => to.serialize_none(),
        }
    }

    pub(in crate::record) fn deserialize<'de, T: Word, D: Deserializer<'de>>(
        from: D,
    ) -> Result<Option<T>, D::Error> {
        Option::<String>::deserialize(from)?.map(|text| find::<T, D>(&text)).transpose()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn same<T: Word, S: JsonSchema>() {
        let schema = serde_json::to_value(schemars::schema_for!(S)).unwrap();
        let words: Vec<&str> = T::ALL.iter().map(|value| value.word()).collect();
        assert_eq!(schema["enum"], serde_json::json!(words));
    }

    #[test]
    fn the_published_words_are_those_written() {
        same::<Verdict, VerdictWord>();
        same::<Shape, KindWord>();
        same::<Relevance, RelevanceWord>();
    }
}
