//! The file form of a rule set.
//!
//! A bound is written as the document says it, side and unit included: `length = "> 5 mm"`. All
//! lengths of one set are in one unit. `source` says where a number stands and `confidence` how surely
//! it was read there; without both, the number is the user's own.

use toml::de::DeTable;

use super::reader::{At, Fault, RuleSetError, Table};
use super::rule::{Members, Rule, Test};
use super::written::{CountBound, LengthBound, Unit, Written, split_side};
use super::{Relevant, RuleSet, Shaping};
use crate::indication::Shape;
use crate::length::Length;
use crate::shape::LinearPast;
use crate::side::{Ratio, Side};
use crate::source::{Confidence, Source};

/// Most bytes of a rule set: far above any real one.
const MOST_BYTES: usize = 1_000_000;
/// Most rules in a set.
const MOST_RULES: usize = 200;

pub(super) fn read(text: &str) -> Result<RuleSet, RuleSetError> {
    read_faults(text).map_err(|fault| RuleSetError::new(text, fault))
}

fn read_faults(text: &str) -> Result<RuleSet, Fault> {
    if text.len() > MOST_BYTES {
        return Err(Fault::new(
            &(0..0),
            "the rule set is longer than 1 MB",
            "check that this is the right file",
        ));
    }
    let root = DeTable::parse(text).map_err(|error| {
        let at = error.span().unwrap_or(0..0);
        let message = error.message().lines().next().unwrap_or("").trim().to_owned();
        Fault::new(
            &at,
            format!("this is not TOML ({message})"),
            "check quotes, brackets and commas there",
        )
    })?;
    let top = Table::top(&root);
    top.only(&["id", "title", "edition", "unit", "cautions", "linear", "relevant", "reject"])?;
    let unit_at = top.must("unit", "\"mm\" or \"in\"")?;
    let unit = match unit_at.it {
        "mm" => Unit::Millimetre,
        "in" => Unit::Inch,
        other => {
            return Err(unit_at.fault(format!("`{other}` is not a unit"), "write \"mm\" or \"in\""));
        }
    };
    let reading = Reading { unit };
    let shaping = match top.table("linear")? {
        Some(table) => reading.linear(&table)?,
        None => Shaping::common(),
    };
    let relevant = top.table("relevant")?.map(|table| reading.relevant(&table)).transpose()?;
    let mut rules: Vec<Rule> = Vec::new();
    for table in top.tables("reject")? {
        let rule = reading.reject(&table)?;
        if rules.iter().any(|known| known.name == rule.name) {
            let name = table.must("name", "\"..\"")?;
            return Err(name
                .fault(format!("two rules are called `{}`", rule.name), "give each its own name"));
        }
        if rules.len() == MOST_RULES {
            return Err(Fault::new(table.at(), "there are more than 200 rules", "split the set"));
        }
        rules.push(rule);
    }
    if rules.is_empty() {
        return Err(Fault::new(
            &(0..0),
            "the rule set rejects nothing",
            "add at least one [[reject]]",
        ));
    }
    Ok(RuleSet {
        id: id(&top)?,
        title: top.must("title", "\"what it is for\"")?.it.trim().to_owned(),
        edition: top.text("edition")?.map(|t| t.it.trim().to_owned()),
        unit: Some(unit),
        cautions: top.texts("cautions")?.into_iter().map(|t| t.it.to_owned()).collect(),
        shaping,
        relevant,
        rules,
        text: text.to_owned(),
    })
}

fn id(top: &Table<'_>) -> Result<String, Fault> {
    let id = top.must("id", "\"my-shop\"")?;
    let plain = id.it.len() <= 60
        && id.it.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if plain {
        Ok(id.it.to_owned())
    } else {
        Err(id.fault(
            format!("`{}` is not an id", id.it),
            "use up to 60 small letters, digits and `-`",
        ))
    }
}

struct Reading {
    unit: Unit,
}

impl Reading {
    fn linear(&self, table: &Table<'_>) -> Result<Shaping, Fault> {
        table.only(&["length_over_width", "source", "confidence"])?;
        let text = table.must("length_over_width", "\"> 3\"")?;
        let remedy = "write the side and a positive number, such as \"> 3\" (a tie is rounded) or \">= 3\" (a tie is linear)";
        let Some((side @ (Side::Over | Side::AtLeast), number)) = split_side(text.it) else {
            return Err(
                text.fault(format!("`{}` does not say which side is linear", text.it), remedy)
            );
        };
        let ratio = Ratio::parse(number)
            .ok_or_else(|| text.fault(format!("`{number}` is not a ratio"), remedy))?;
        Ok(Shaping { past: LinearPast { ratio, side }, source: source(table)? })
    }

    fn relevant(&self, table: &Table<'_>) -> Result<Relevant, Fault> {
        table.only(&["length", "source", "confidence"])?;
        let length = self.large(table, "length", "\"> 1.5 mm\"")?;
        Ok(Relevant { length, source: source(table)? })
    }

    fn reject(&self, table: &Table<'_>) -> Result<Rule, Fault> {
        const SHARED: [&str; 6] = ["name", "kind", "of", "label", "source", "confidence"];
        let kind = table
            .must("kind", "\"any\", \"length\", \"width\", \"row\", \"spacing\" or \"count\"")?;
        let only = |own: &[&str]| table.only(&[&SHARED[..], own].concat());
        let test = match kind.it {
            "any" => {
                only(&[])?;
                Test::Any
            }
            "length" => {
                only(&["length"])?;
                Test::Length(self.large(table, "length", "\"> 5 mm\"")?)
            }
            "width" => {
                only(&["width"])?;
                Test::Width(self.large(table, "width", "\"> 5 mm\"")?)
            }
            "row" => {
                only(&["count", "gap", "strip"])?;
                Test::Row {
                    count: count(table, 2, "\">= 4\"")?,
                    gap: self.small(table, "gap", "\"<= 1.5 mm\"")?,
                    strip: match table.text("strip")? {
                        Some(text) => self.length(&text, text.it)?.length(),
                        None => Length::ZERO,
                    },
                }
            }
            "spacing" => {
                only(&["gap"])?;
                Test::Spacing(self.small(table, "gap", "\"< 10 mm\"")?)
            }
            "count" => {
                only(&["count"])?;
                Test::Count(count(table, 1, "\"> 10\"")?)
            }
            other => {
                return Err(kind.fault(
                    format!("`{other}` is not a kind of rule"),
                    "the kinds are any, length, width, row, spacing and count",
                ));
            }
        };
        let name = table.must("name", "\"a short name\"")?.it.trim().to_owned();
        Ok(Rule { name, of: members(table)?, test, source: source(table)? })
    }

    /// A bound that catches large lengths.
    fn large(&self, table: &Table<'_>, key: &str, example: &str) -> Result<LengthBound, Fault> {
        self.bound(table, key, example, true)
    }

    /// A bound that catches small lengths.
    fn small(&self, table: &Table<'_>, key: &str, example: &str) -> Result<LengthBound, Fault> {
        self.bound(table, key, example, false)
    }

    fn bound(
        &self,
        table: &Table<'_>,
        key: &str,
        example: &str,
        large: bool,
    ) -> Result<LengthBound, Fault> {
        let text = table.must(key, example)?;
        match split_side(text.it) {
            Some((side, rest)) if side.catches_large() == large => {
                Ok(LengthBound { side, limit: self.length(&text, rest)? })
            }
            Some((side, _)) => Err(text.fault(
                format!("`{}` is the wrong way round for `{key}`", side.sign()),
                format!("write it such as {example}"),
            )),
            None => Err(text.fault(
                format!("`{}` does not say what happens at the limit", text.it),
                format!("write the sign with it, such as {example}"),
            )),
        }
    }

    fn length(&self, place: &At<&str>, text: &str) -> Result<Written, Fault> {
        let example = match self.unit {
            Unit::Millimetre => "1.5 mm",
            Unit::Inch => "1/16 in",
        };
        let written = Written::parse(text).map_err(|fact| {
            place.fault(fact, format!("write a number with its unit, such as {example}"))
        })?;
        if written.unit() == self.unit {
            Ok(written)
        } else {
            Err(place.fault(
                format!("`{text}` is not in the unit of this set (`{}`)", self.unit.word()),
                "copy the number from the document in that unit; never convert it",
            ))
        }
    }
}

fn count(table: &Table<'_>, fewest: usize, example: &str) -> Result<CountBound, Fault> {
    let text = table.must("count", example)?;
    let wrong = |fact: String| text.fault(fact, format!("write it such as {example}"));
    let Some((side @ (Side::Over | Side::AtLeast), number)) = split_side(text.it) else {
        return Err(wrong(format!("`{}` does not say what happens at the limit", text.it)));
    };
    let plain =
        !number.is_empty() && number.len() <= 6 && number.bytes().all(|b| b.is_ascii_digit());
    let limit = if plain { number.parse().ok() } else { None };
    let limit = limit.ok_or_else(|| wrong(format!("`{number}` is not a whole number")))?;
    let bound = CountBound { side, limit };
    if bound.fewest() < fewest {
        return Err(wrong(format!("`{}` catches fewer than {fewest}", text.it)));
    }
    Ok(bound)
}

fn members(table: &Table<'_>) -> Result<Members, Fault> {
    let shape = match table.text("of")? {
        None => None,
        Some(of) => match of.it {
            "linear" => Some(Shape::Linear),
            "rounded" => Some(Shape::Rounded),
            "either" => None,
            other => {
                return Err(of.fault(
                    format!("`{other}` is not a shape"),
                    "write \"linear\", \"rounded\" or \"either\"",
                ));
            }
        },
    };
    let mut labels = Vec::new();
    for label in table.texts("label")? {
        let word = label.it.trim();
        if word.is_empty() || word != word.to_lowercase() {
            return Err(label.fault(
                format!("`{}` is not a label", label.it),
                "write it in small letters, such as \"crack\"",
            ));
        }
        labels.push(word.to_owned());
    }
    Ok(Members { shape, labels })
}

fn source(table: &Table<'_>) -> Result<Source, Fault> {
    let text = table.text("source")?;
    let confidence = match table.text("confidence")? {
        None => None,
        Some(word) => Some(match word.it {
            "read" => Confidence::Read,
            "secondary" => Confidence::Secondary,
            "memory" => Confidence::Memory,
            "unsure" => Confidence::Unsure,
            "own" => Confidence::Own,
            other => {
                return Err(word.fault(
                    format!("`{other}` is not a confidence"),
                    "write \"read\", \"secondary\", \"memory\", \"unsure\" or \"own\"",
                ));
            }
        }),
    };
    match (text, confidence) {
        (None, None | Some(Confidence::Own)) => {
            Ok(Source { text: "the user's own".into(), confidence: Confidence::Own })
        }
        (Some(text), confidence) => Ok(Source {
            text: text.it.trim().to_owned(),
            confidence: confidence.unwrap_or(Confidence::Own),
        }),
        (None, Some(_)) => Err(Fault::new(
            table.at(),
            "a confidence stands here without a source",
            "add source = \"document, edition, clause\"",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "id = \"x\"\ntitle = \"x\"\nunit = \"mm\"\n";
    const RULE: &str = "[[reject]]\nname = \"long\"\nkind = \"length\"\nlength = \"> 3 mm\"\n";

    fn fault(text: &str) -> (usize, usize, String) {
        let error = read(text).unwrap_err();
        assert!(!error.fact().is_empty() && !error.remedy().is_empty());
        (error.line(), error.column(), error.to_string())
    }

    #[test]
    fn faults_point_at_line_and_column() {
        let (line, column, text) = fault(&format!("{HEAD}{RULE}colour = \"red\"\n"));
        assert_eq!((line, column), (8, 1), "{text}");
        assert!(text.contains("`colour` is not known"), "{text}");
        let (line, column, text) = fault(&format!("{HEAD}{}", RULE.replace("3 mm", "1/8 in")));
        assert_eq!((line, column), (7, 10), "{text}");
        assert!(text.contains("never convert"), "{text}");
        let (line, _, text) = fault(&format!("{HEAD}[linear\n"));
        assert_eq!(line, 4, "{text}");
    }

    #[test]
    fn a_ratio_is_a_positive_number_with_its_side() {
        for ratio in ["> 0", "> -3", "> NaN", "3", "< 3", "> 1/0", ">"] {
            let (line, column, text) =
                fault(&format!("{HEAD}[linear]\nlength_over_width = \"{ratio}\"\n{RULE}"));
            assert_eq!((line, column), (5, 21), "{text}");
        }
        let set = read(&format!("{HEAD}[linear]\nlength_over_width = \">= 2.5\"\n{RULE}")).unwrap();
        assert_eq!(set.linear_past().side, Side::AtLeast);
    }

    #[test]
    fn nonsense_is_refused() {
        for text in [
            String::new(),
            HEAD.to_owned(),
            format!("{HEAD}reject = 3\n"),
            format!("{HEAD}reject = [3]\n"),
            format!("{HEAD}{RULE}{RULE}"),
            format!("{HEAD}{}", RULE.replace("> 3 mm", "3 mm")),
            format!("{HEAD}{}", RULE.replace("> 3 mm", "< 3 mm")),
            format!("{HEAD}{}", RULE.replace("\"> 3 mm\"", "3")),
            format!("{HEAD}{}", RULE.replace("> 3 mm", "> -3 mm")),
            format!("{HEAD}{}", RULE.replace("\"length\"", "\"depth\"")),
            format!("{HEAD}{RULE}of = \"square\"\n"),
            format!("{HEAD}{RULE}label = [\"Crack\"]\n"),
            format!("{HEAD}{RULE}confidence = \"read\"\n"),
            format!("{HEAD}{RULE}source = \"a\"\nconfidence = \"sure\"\n"),
            format!("{}{RULE}", HEAD.replace("\"mm\"", "\"cm\"")),
            format!("{}{RULE}", HEAD.replace("id = \"x\"", "id = \"X y\"")),
            format!("{HEAD}{}", "[".repeat(100_000)),
            "\u{0}\u{feff}\u{2028}".to_owned(),
        ] {
            fault(&text);
        }
    }

    #[test]
    fn numbers_without_a_source_are_the_users_own() {
        let set = read(&format!("{HEAD}{RULE}")).unwrap();
        assert_eq!(set.rules().last().unwrap().source.confidence, Confidence::Own);
        let set = read(&format!("{HEAD}{RULE}source = \"drawing 12\"\n")).unwrap();
        assert_eq!(set.rules().last().unwrap().source.text, "drawing 12");
    }
}
