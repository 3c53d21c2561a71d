//! Reading TOML (rule sets, techniques) so that every fault points at its line and column.

use std::fmt;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Why a rule set cannot be read: where, what is wrong, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleSetError {
    line: usize,
    column: usize,
    fact: String,
    remedy: String,
}

impl RuleSetError {
    /// Line of the fault, from 1.
    #[must_use]
    pub const fn line(&self) -> usize {
        self.line
    }

    /// Column of the fault in characters, from 1.
    #[must_use]
    pub const fn column(&self) -> usize {
        self.column
    }

    /// What is wrong.
    #[must_use]
    pub fn fact(&self) -> &str {
        &self.fact
    }

    /// What to do about it.
    #[must_use]
    pub fn remedy(&self) -> &str {
        &self.remedy
    }

    pub(crate) fn new(text: &str, fault: Fault) -> Self {
        let start = fault.at.start.min(text.len());
        let before = text.get(..start).unwrap_or(text);
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        Self { line, column, fact: fault.fact, remedy: fault.remedy }
    }
}

impl fmt::Display for RuleSetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: {}; {}", self.line, self.column, self.fact, self.remedy)
    }
}

impl std::error::Error for RuleSetError {}

/// A fault at a byte range of the text.
#[derive(Clone, Debug)]
pub(crate) struct Fault {
    at: Range<usize>,
    fact: String,
    remedy: String,
}

impl Fault {
    pub(crate) fn new(
        at: &Range<usize>,
        fact: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self { at: at.clone(), fact: fact.into(), remedy: remedy.into() }
    }
}

/// A piece of the file and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct At<T> {
    pub(crate) it: T,
    pub(crate) at: Range<usize>,
}

impl<T> At<T> {
    pub(crate) fn fault(&self, fact: impl Into<String>, remedy: impl Into<String>) -> Fault {
        Fault::new(&self.at, fact, remedy)
    }
}

/// The file's tables, or where it stops being TOML.
pub(crate) fn tables_of(text: &str) -> Result<Spanned<DeTable<'_>>, Fault> {
    DeTable::parse(text).map_err(|error| {
        let at = error.span().unwrap_or(0..0);
        let message = error.message().lines().next().unwrap_or("").trim().to_owned();
        let line =
            text.get(..at.start).map_or("", |before| before.rsplit('\n').next().unwrap_or(""));
        let remedy = if message.contains("duplicate key") {
            if line.starts_with('[') && !line.starts_with("[[") {
                "write each of its kind in double brackets, such as [[reject]], and every other heading once"
            } else {
                "keep one of them"
            }
        } else {
            "check quotes, brackets and commas there"
        };
        Fault::new(&at, format!("this is not TOML ({message})"), remedy)
    })
}

/// One table of the file.
#[derive(Clone, Debug)]
pub(crate) struct Table<'a> {
    name: String,
    table: &'a DeTable<'a>,
    at: Range<usize>,
}

/// `write ..` for a known word that a slip of two letters at most turns into this one.
pub(super) fn meant(word: &str, known: &[&str]) -> Option<String> {
    let word = word.to_lowercase();
    let (slips, nearest) = known.iter().map(|known| (slips(&word, known), known)).min()?;
    // In a short word two slips make any other.
    (slips <= 2 && slips * 2 <= nearest.len()).then(|| format!("write `{nearest}`"))
}

/// Letters to add, drop or change on the way from one word to the other.
fn slips(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate().take(60) {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, other) in b.iter().enumerate() {
            let kept = diagonal + usize::from(letter != *other);
            diagonal = row[j + 1];
            row[j + 1] = kept.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

impl<'a> Table<'a> {
    /// The whole file, called `name` in faults.
    pub(crate) fn top(root: &'a Spanned<DeTable<'a>>, name: &str) -> Self {
        Self { name: name.to_owned(), table: root.get_ref(), at: 0..0 }
    }

    pub(crate) const fn at(&self) -> &Range<usize> {
        &self.at
    }

    /// Refuses keys that are not in `known`.
    pub(crate) fn only(&self, known: &[&str]) -> Result<(), Fault> {
        for key in self.table.keys() {
            let word: &str = key.get_ref();
            if !known.contains(&word) {
                return Err(Fault::new(
                    &key.span(),
                    format!("`{word}` is not known in {}", self.name),
                    meant(word, known)
                        .unwrap_or_else(|| format!("the keys here are {}", known.join(", "))),
                ));
            }
        }
        Ok(())
    }

    fn get(&self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.table.iter().find(|(k, _)| k.get_ref() == key).map(|(_, v)| v)
    }

    /// A text, where present; never empty.
    pub(crate) fn text(&self, key: &str) -> Result<Option<At<&'a str>>, Fault> {
        let Some(value) = self.get(key) else { return Ok(None) };
        let at = value.span();
        match value.get_ref() {
            DeValue::String(text) if text.trim().is_empty() => {
                Err(Fault::new(&at, format!("`{key}` is empty"), "write it, or leave the key out"))
            }
            DeValue::String(text) => Ok(Some(At { it: text, at })),
            _ => Err(Fault::new(
                &at,
                format!("`{key}` is not a text"),
                "put it in quotes, with its sign and unit where it has them, such as \"> 1.5 mm\"",
            )),
        }
    }

    /// A text that must be there.
    pub(crate) fn must(&self, key: &str, example: &str) -> Result<At<&'a str>, Fault> {
        self.text(key)?.ok_or_else(|| {
            Fault::new(
                &self.at,
                format!("{} has no `{key}`", self.name),
                format!("add {key} = {example}"),
            )
        })
    }

    /// A list of texts; empty when absent.
    pub(crate) fn texts(&self, key: &str) -> Result<Vec<At<&'a str>>, Fault> {
        let Some(value) = self.get(key) else { return Ok(Vec::new()) };
        let wrong = |at: Range<usize>| {
            Fault::new(
                &at,
                format!("`{key}` is not a list of texts"),
                format!("write {key} = [\"...\", \"...\"]"),
            )
        };
        let DeValue::Array(items) = value.get_ref() else { return Err(wrong(value.span())) };
        items
            .iter()
            .map(|item| match item.get_ref() {
                DeValue::String(text) => Ok(At { it: text.as_ref(), at: item.span() }),
                _ => Err(wrong(item.span())),
            })
            .collect()
    }

    /// One of a few words; the first when absent.
    pub(crate) fn choice<T: Clone>(&self, key: &str, words: &[(&str, T)]) -> Result<T, Fault> {
        let text = self.text(key)?;
        let wanted = text.as_ref().map_or(words[0].0, |t| t.it);
        words.iter().find(|(word, _)| *word == wanted).map(|(_, it)| it.clone()).ok_or_else(|| {
            let known: Vec<String> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
            Fault::new(
                text.as_ref().map_or(&self.at, |t| &t.at),
                format!("`{wanted}` is not known for `{key}`"),
                format!("write {}", known.join(" or ")),
            )
        })
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.get(key).is_some()
    }

    /// A table in this one.
    pub(crate) fn table(&self, key: &str) -> Result<Option<Self>, Fault> {
        let Some(value) = self.get(key) else { return Ok(None) };
        match value.get_ref() {
            DeValue::Table(table) => {
                Ok(Some(Table { name: format!("[{key}]"), table, at: self.key_at(key, value) }))
            }
            _ => Err(Fault::new(
                &value.span(),
                format!("`{key}` is not a table"),
                format!("write it as [{key}]"),
            )),
        }
    }

    /// A list of tables in this one; empty when absent.
    pub(crate) fn tables(&self, key: &str) -> Result<Vec<Self>, Fault> {
        let Some(value) = self.get(key) else { return Ok(Vec::new()) };
        let wrong = |at: Range<usize>| {
            Fault::new(
                &at,
                format!("`{key}` is not a list of tables"),
                format!("write each one as [[{key}]]"),
            )
        };
        let DeValue::Array(items) = value.get_ref() else { return Err(wrong(value.span())) };
        items
            .iter()
            .map(|item| match item.get_ref() {
                DeValue::Table(table) => {
                    Ok(Table { name: format!("[[{key}]]"), table, at: item.span() })
                }
                _ => Err(wrong(item.span())),
            })
            .collect()
    }

    /// Where a table's heading stands.
    fn key_at(&self, key: &str, value: &Spanned<DeValue<'_>>) -> Range<usize> {
        self.table.keys().find(|k| k.get_ref() == key).map_or_else(|| value.span(), Spanned::span)
    }
}
