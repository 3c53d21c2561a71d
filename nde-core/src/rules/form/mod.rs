//! The file form of a rule set.
//!
//! A bound is written as the document says it, side and unit included: `length = "> 5 mm"`. All
//! lengths of one set are in one unit. `source` says where a number stands and `confidence` how surely
//! it was read there; without both, the number is the user's own. The whole form is listed in
//! `rule-sets/form.schema.json`.

mod amounts;
mod rejects;

use super::joins::{Against, Arranged, Becomes, Joins, Labels, Lengths};
use super::reader::{Fault, RuleSetError, Table, tables_of};
use super::rule::Rule;
use super::written::{Unit, split_side};
use super::{Relevant, RuleSet, Shaping};
use crate::indication::Shape;
use crate::length::Length;
use crate::shape::LinearPast;
use crate::side::{Ratio, Side};
use crate::source::{Confidence, Source};
use amounts::Reading;

/// Most bytes of a rule set: far above any real one.
const MOST_BYTES: usize = 1_000_000;
/// Most rules in a set.
const MOST_RULES: usize = 200;

const TOP: [&str; 12] = [
    "id",
    "title",
    "edition",
    "unit",
    "size_basis",
    "measure_only",
    "cautions",
    "linear",
    "relevant",
    "joining",
    "labels",
    "reject",
];

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
    let root = tables_of(text)?;
    let top = Table::top(&root, "the rule set");
    top.only(&TOP)?;
    let unit_at = top.must("unit", "\"mm\" or \"in\"")?;
    let unit = match unit_at.it {
        "mm" => Unit::Millimetre,
        "in" => Unit::Inch,
        other => {
            return Err(unit_at.fault(format!("`{other}` is not a unit"), "write \"mm\" or \"in\""));
        }
    };
    let reading = Reading { unit };
    let measure_only = measure_only(&top)?;
    let shaping = match top.table("linear")? {
        Some(table) => linear(&table)?,
        None => Shaping::common(),
    };
    let relevant = top.table("relevant")?.map(|table| relevant(&reading, &table)).transpose()?;
    let joins = top.table("joining")?.map(|table| joins(&reading, &table)).transpose()?;
    let labels = top.table("labels")?.map(|table| labels(&table)).transpose()?;
    let rules = rejects(&reading, &top)?;
    if rules.is_empty() && measure_only.is_none() {
        return Err(Fault::new(
            &(0..0),
            "the rule set rejects nothing",
            "add at least one [[reject]]",
        ));
    }
    if let (Some(_), Some(rule)) = (&measure_only, top.tables("reject")?.first()) {
        return Err(Fault::new(
            rule.at(),
            "a set that only measures rejects something",
            "leave out [[reject]], or `measure_only` and `size_basis`",
        ));
    }
    Ok(RuleSet {
        id: id(&top)?,
        title: top.must("title", "\"what it is for\"")?.it.trim().to_owned(),
        edition: top.text("edition")?.map(|t| t.it.trim().to_owned()),
        unit: Some(unit),
        measure_only,
        cautions: top.texts("cautions")?.into_iter().map(|t| t.it.to_owned()).collect(),
        shaping,
        relevant,
        joins,
        labels,
        rules,
        text: text.to_owned(),
    })
}

fn rejects(reading: &Reading, top: &Table<'_>) -> Result<Vec<Rule>, Fault> {
    let mut rules: Vec<Rule> = Vec::new();
    for table in top.tables("reject")? {
        let rule = rejects::reject(reading, &table)?;
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
    Ok(rules)
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

/// Why a set gives no verdict, where it gives none.
fn measure_only(top: &Table<'_>) -> Result<Option<String>, Fault> {
    let why = top.text("measure_only")?;
    let Some(basis) = top.text("size_basis")? else {
        return Ok(why.map(|w| w.it.trim().to_owned()));
    };
    match (basis.it, why) {
        ("indication", why) => Ok(why.map(|w| w.it.trim().to_owned())),
        ("discontinuity", Some(why)) => Ok(Some(why.it.trim().to_owned())),
        ("discontinuity", None) => Err(basis.fault(
            "limits on the discontinuity cannot be judged by the size of its indication",
            "add measure_only = \"who judges it, and how\"",
        )),
        (other, _) => Err(basis.fault(
            format!("`{other}` is not a basis"),
            "write \"indication\" or \"discontinuity\"",
        )),
    }
}

fn linear(table: &Table<'_>) -> Result<Shaping, Fault> {
    table.only(&["length_over_width", "source", "confidence"])?;
    let text = table.must("length_over_width", "\"> 3\"")?;
    let remedy = "write the side and a positive number, such as \"> 3\" (a tie is rounded) or \">= 3\" (a tie is linear)";
    let Some((side @ (Side::Over | Side::AtLeast), number)) = split_side(text.it) else {
        return Err(text.fault(format!("`{}` does not say which side is linear", text.it), remedy));
    };
    amounts::blank(&text, number)?;
    let ratio = Ratio::parse(number)
        .ok_or_else(|| text.fault(format!("`{number}` is not a ratio"), remedy))?;
    Ok(Shaping { past: LinearPast { ratio, side }, source: source(table)? })
}

fn relevant(reading: &Reading, table: &Table<'_>) -> Result<Relevant, Fault> {
    table.only(&["length", "source", "confidence"])?;
    let length = reading.large(table, "length", "\"> 1.5 mm\"")?;
    Ok(Relevant { length, source: source(table)? })
}

fn joins(reading: &Reading, table: &Table<'_>) -> Result<Joins, Fault> {
    table.only(&[
        "of",
        "gap",
        "lengths",
        "fewest",
        "arranged",
        "strip",
        "becomes",
        "source",
        "confidence",
    ])?;
    let example = "\"< smaller\", \"< larger\" or \"< 2 mm\"";
    let gap = table.must("gap", example)?;
    let (side, against) = match split_side(gap.it) {
        Some((side @ (Side::Under | Side::AtMost), rest)) => match rest {
            "smaller" => (side, Against::Smaller),
            "larger" => (side, Against::Larger),
            rest => (side, Against::Fixed(reading.length(&gap, rest)?)),
        },
        _ => {
            return Err(gap.fault(
                format!("`{}` does not say which gaps join", gap.it),
                format!("write it such as {example}"),
            ));
        }
    };
    let strip = table.text("strip")?.map(|t| reading.length(&t, t.it)).transpose()?;
    let strip = strip.map_or(Length::ZERO, |s| s.length());
    Ok(Joins {
        shape: shape(table, "of")?,
        side,
        against,
        lengths: table
            .choice("lengths", &[("own", Lengths::Own), ("growing", Lengths::Growing)])?,
        fewest: match table.text("fewest")? {
            None => 2,
            Some(text) => {
                text.it.parse().ok().filter(|n| (2..=1000).contains(n)).ok_or_else(|| {
                    text.fault(
                        format!("`{}` is not a number from 2", text.it),
                        "write it such as \"3\"",
                    )
                })?
            }
        },
        arranged: table.choice(
            "arranged",
            &[("anyhow", Arranged::Anyhow), ("in line", Arranged::InLine(strip))],
        )?,
        becomes: table.choice(
            "becomes",
            &[
                ("by ratio", Becomes::ByRatio),
                ("linear", Becomes::Always(Shape::Linear)),
                ("rounded", Becomes::Always(Shape::Rounded)),
            ],
        )?,
        source: source(table)?,
    })
}

fn labels(table: &Table<'_>) -> Result<Labels, Fault> {
    table.only(&["of", "words", "source", "confidence"])?;
    let words = words(table, "words")?;
    if words.is_empty() {
        return Err(Fault::new(table.at(), "[labels] has no words", "add words = [\"crack\", ..]"));
    }
    Ok(Labels { shape: shape(table, "of")?, words, source: source(table)? })
}

fn shape(table: &Table<'_>, key: &str) -> Result<Option<Shape>, Fault> {
    table.choice(
        key,
        &[("either", None), ("linear", Some(Shape::Linear)), ("rounded", Some(Shape::Rounded))],
    )
}

/// Labels in small letters.
fn words(table: &Table<'_>, key: &str) -> Result<Vec<String>, Fault> {
    let mut words = Vec::new();
    for label in table.texts(key)? {
        let word = label.it.trim();
        if word.is_empty() || word != word.to_lowercase() {
            return Err(label.fault(
                format!("`{}` is not a label", label.it),
                "write it in small letters, such as \"crack\"",
            ));
        }
        words.push(word.to_owned());
    }
    Ok(words)
}

pub(crate) fn source(table: &Table<'_>) -> Result<Source, Fault> {
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
mod tests;
