//! The file form of a technique. Keys and words are those of [`Item`] and of the process facts.

use std::fmt;

use super::Technique;
use super::item::{Item, Kind};
use super::limit::{Clock, ClockStart, Heft, Limit, Must, When};
use super::process::{Developer, Flaw, Form, Material, Removal};
use super::quantity::{Dimension, Quantity};
use crate::rules::{At, Fault, RuleSetError, Table, source, split_side, tables_of};
use crate::side::Side;

/// Most bytes of a technique: far above any real one.
const MOST_BYTES: usize = 1_000_000;
/// Most limits in a technique.
const MOST_LIMITS: usize = 500;

/// Why a technique cannot be read: where, what is wrong, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TechniqueError(RuleSetError);

impl TechniqueError {
    /// Line of the fault, from 1.
    #[must_use]
    pub const fn line(&self) -> usize {
        self.0.line()
    }

    /// Column of the fault in characters, from 1.
    #[must_use]
    pub const fn column(&self) -> usize {
        self.0.column()
    }

    /// What is wrong.
    #[must_use]
    pub fn fact(&self) -> &str {
        self.0.fact()
    }

    /// What to do about it.
    #[must_use]
    pub fn remedy(&self) -> &str {
        self.0.remedy()
    }
}

impl fmt::Display for TechniqueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl std::error::Error for TechniqueError {}

pub(super) fn read(text: &str) -> Result<Technique, TechniqueError> {
    read_faults(text).map_err(|fault| TechniqueError(RuleSetError::new(text, fault)))
}

fn read_faults(text: &str) -> Result<Technique, Fault> {
    if text.len() > MOST_BYTES {
        return Err(Fault::new(
            &(0..0),
            "the technique is longer than 1 MB",
            "check that this is the right file",
        ));
    }
    let root = tables_of(text)?;
    let top = Table::top(&root, "the technique");
    top.only(&["id", "title", "edition", "cautions", "clock", "limit"])?;
    let id = top.must("id", "\"my-shop\"")?;
    let plain = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    if id.it.len() > 60 || !id.it.bytes().all(plain) {
        return Err(id.fault(
            format!("`{}` is not an id", id.it),
            "use up to 60 small letters, digits and `-`",
        ));
    }
    let mut limits = Vec::new();
    for table in top.tables("limit")? {
        if limits.len() == MOST_LIMITS {
            return Err(Fault::new(table.at(), "there are more than 500 limits", "split it"));
        }
        limits.push(limit(&table)?);
    }
    let has = |item: Item| limits.iter().any(|l: &Limit| l.item == item);
    if limits.is_empty() {
        return Err(Fault::new(
            &(0..0),
            "the technique limits nothing",
            "add at least one [[limit]]",
        ));
    }
    for (used, item) in [
        (limits.iter().any(|l| !l.when.removal.is_empty()), Item::ExcessRemoval),
        (limits.iter().any(|l| !l.when.developer.is_empty()), Item::DeveloperForm),
    ] {
        if used && !has(item) {
            return Err(Fault::new(
                &(0..0),
                format!("a limit depends on `{}`, which nothing asks for", item.word()),
                format!("add a [[limit]] with item = \"{}\"", item.word()),
            ));
        }
    }
    let clock = match top.table("clock")? {
        Some(table) => clock(&table)?,
        None => {
            return Err(Fault::new(
                &(0..0),
                "nothing says when the developing time starts",
                "add [clock] with wet = \"dry\" and dry = \"applied\"",
            ));
        }
    };
    Ok(Technique {
        id: id.it.to_owned(),
        title: top.must("title", "\"what it is for\"")?.it.trim().to_owned(),
        edition: top.text("edition")?.map(|t| t.it.trim().to_owned()),
        cautions: top.texts("cautions")?.into_iter().map(|t| t.it.to_owned()).collect(),
        clock,
        limits,
        text: text.to_owned(),
    })
}

fn clock(table: &Table<'_>) -> Result<Clock, Fault> {
    table.only(&["wet", "dry", "source", "confidence"])?;
    let start = |key: &str, example: &str| {
        let word = table.must(key, example)?;
        match word.it {
            "applied" => Ok(ClockStart::Applied),
            "dry" => Ok(ClockStart::Dry),
            other => Err(word.fault(
                format!("`{other}` is not a start"),
                "write \"applied\" or \"dry\" (when its coat is dry)",
            )),
        }
    };
    Ok(Clock {
        wet: start("wet", "\"dry\"")?,
        dry: start("dry", "\"applied\"")?,
        source: source(table)?,
    })
}

fn limit(table: &Table<'_>) -> Result<Limit, Fault> {
    table.only(&["item", "holds", "allows", "when", "weight", "source", "confidence"])?;
    let word = table.must("item", "\"dwell\"")?;
    let item = Item::from_word(word.it).ok_or_else(|| {
        let all: Vec<&str> = Item::ALL.iter().map(|i| i.word()).collect();
        word.fault(
            format!("`{}` is not an item", word.it),
            format!("write one of {}", all.join(", ")),
        )
    })?;
    let must = match item.kind() {
        Kind::Number(dimension) => {
            refuse(table, "allows", &word, "a number: write holds = \">= ...\"")?;
            let text = table.must("holds", &format!("\">= {}\"", dimension.example()))?;
            let (side, quantity) = bound(&text, dimension)?;
            Must::Hold(side, quantity)
        }
        Kind::Words => {
            refuse(table, "holds", &word, "a matter of words: write allows = [\"...\"]")?;
            let known = item.words();
            let mut words = Vec::new();
            for text in table.texts("allows")? {
                let found = known.iter().find(|w| **w == text.it).ok_or_else(|| {
                    text.fault(
                        format!("`{}` is not known for `{}`", text.it, item.word()),
                        format!("write one of {}", known.join(", ")),
                    )
                })?;
                words.push(*found);
            }
            if words.is_empty() {
                return Err(Fault::new(
                    table.at(),
                    format!("`{}` allows nothing", item.word()),
                    format!("add allows = [\"{}\"]", known[0]),
                ));
            }
            Must::Be(words)
        }
        Kind::Yes => {
            refuse(table, "holds", &word, "a question of yes or no: leave it out")?;
            refuse(table, "allows", &word, "a question of yes or no: leave it out")?;
            Must::Yes
        }
    };
    Ok(Limit {
        item,
        must,
        when: when(table)?,
        heft: table.choice("weight", &[("must", Heft::Must), ("advice", Heft::Advice)])?,
        source: source(table)?,
    })
}

fn refuse(table: &Table<'_>, key: &str, item: &At<&str>, what: &str) -> Result<(), Fault> {
    if table.has(key) {
        return Err(item.fault(format!("`{}` has no `{key}`", item.it), format!("it is {what}")));
    }
    Ok(())
}

fn bound(text: &At<&str>, dimension: Dimension) -> Result<(Side, Quantity), Fault> {
    let (side, number) = split_side(text.it).ok_or_else(|| {
        text.fault(
            format!("`{}` does not say its side", text.it),
            format!("write what is kept, such as \">= {}\"", dimension.example()),
        )
    })?;
    let quantity = Quantity::parse(number, dimension).map_err(|_| {
        text.fault(
            format!("`{number}` is not of this kind"),
            format!("write a number with its unit, such as {}", dimension.example()),
        )
    })?;
    Ok((side, quantity))
}

fn when(table: &Table<'_>) -> Result<When, Fault> {
    let Some(table) = table.table("when")? else { return Ok(When::default()) };
    table.only(&["material", "form", "flaw", "removal", "developer", "temperature"])?;
    let mut temperature = Vec::new();
    for text in table.texts("temperature")? {
        temperature.push(bound(&text, Dimension::Temperature)?);
    }
    Ok(When {
        material: words(&table, "material", Material::ALL, Material::word)?,
        form: words(&table, "form", Form::ALL, Form::word)?,
        flaw: words(&table, "flaw", Flaw::ALL, Flaw::word)?,
        removal: words(&table, "removal", Removal::ALL, Removal::word)?,
        developer: words(&table, "developer", Developer::ALL, Developer::word)?,
        temperature,
    })
}

fn words<T: Copy>(
    table: &Table<'_>,
    key: &str,
    all: &[T],
    word: fn(T) -> &'static str,
) -> Result<Vec<T>, Fault> {
    table
        .texts(key)?
        .into_iter()
        .map(|text| {
            all.iter().copied().find(|it| word(*it) == text.it).ok_or_else(|| {
                let known: Vec<&str> = all.iter().map(|it| word(*it)).collect();
                text.fault(
                    format!("`{}` is not known for `{key}`", text.it),
                    format!("write one of {}", known.join(", ")),
                )
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::Technique;

    const CLOCK: &str = "id = \"a\"\ntitle = \"t\"\n[clock]\nwet = \"dry\"\ndry = \"applied\"\n";

    #[test]
    fn every_fault_is_placed_and_has_a_remedy() {
        let limit = |text: &str| format!("{CLOCK}[[limit]]\n{text}\n");
        let cases = [
            ("id = ".to_owned(), 1, "not TOML"),
            ("id = \"A b\"\ntitle = \"t\"\n".into(), 1, "not an id"),
            (CLOCK.to_owned(), 1, "limits nothing"),
            (
                "id = \"a\"\ntitle = \"t\"\n[[limit]]\nitem = \"kept-wet\"\n".into(),
                1,
                "when the developing",
            ),
            (limit("item = \"dwel\""), 7, "not an item"),
            (limit("item = \"dwell\""), 6, "no `holds`"),
            (limit("item = \"dwell\"\nholds = \"5 min\""), 8, "its side"),
            (limit("item = \"dwell\"\nholds = \">= 5 C\""), 8, "not of this kind"),
            (
                limit("item = \"dwell\"\nholds = \">= 5 min\"\nallows = [\"x\"]"),
                7,
                "has no `allows`",
            ),
            (limit("item = \"kept-wet\"\nholds = \">= 5 min\""), 7, "has no `holds`"),
            (limit("item = \"retest\""), 6, "allows nothing"),
            (limit("item = \"retest\"\nallows = [\"never\"]"), 8, "not known for `retest`"),
            (
                limit("item = \"kept-wet\"\nwhen = { material = [\"wood\"] }"),
                8,
                "not known for `material`",
            ),
            (
                limit("item = \"kept-wet\"\nwhen = { removal = [\"water-rinse\"] }"),
                1,
                "nothing asks for",
            ),
            (limit("item = \"kept-wet\"\nconfidence = \"read\""), 6, "without a source"),
            (limit("item = \"kept-wet\"\nweight = \"heavy\""), 8, "not known for `weight`"),
            (
                format!("{CLOCK}wets = \"dry\"\n[[limit]]\nitem = \"kept-wet\"\n"),
                6,
                "`wets` is not known in [clock]",
            ),
        ];
        for (text, line, words) in cases {
            let error = Technique::parse(&text).expect_err(&text);
            assert!(error.fact().contains(words), "{words}: {error}");
            assert_eq!(error.line(), line, "{error}");
            assert!(!error.remedy().is_empty());
        }
    }
}
