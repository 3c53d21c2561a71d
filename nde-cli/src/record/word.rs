//! The words of verdict, shape and relevance for the published schema. The rules' crate writes and reads them.

use schemars::JsonSchema;

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

#[cfg(test)]
mod tests {
    use super::*;
    use nde_core::{Relevance, Shape, Verdict};
    use serde::de::DeserializeOwned;

    fn same<T: DeserializeOwned + std::fmt::Debug, S: JsonSchema>() {
        let schema = serde_json::to_value(schemars::schema_for!(S)).unwrap();
        let published: Vec<&str> =
            schema["enum"].as_array().unwrap().iter().map(|word| word.as_str().unwrap()).collect();
        // An unknown word is refused with all the words there are: unknown variant `?`, expected `linear` or ...
        let said = serde_json::from_value::<T>("?".into()).unwrap_err().to_string();
        let known: Vec<&str> = said.split('`').skip(1).step_by(2).collect();
        assert_eq!(known[0], "?", "{said}");
        assert_eq!(known[1..], published, "{said}");
    }

    #[test]
    fn the_published_words_are_those_read_and_written() {
        same::<Verdict, VerdictWord>();
        same::<Shape, KindWord>();
        same::<Relevance, RelevanceWord>();
    }
}
