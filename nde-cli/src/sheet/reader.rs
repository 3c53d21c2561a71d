//! Reading a sheet's TOML so that every fault is kept with its line and column, not only the first.

use crate::clock::Moment;
use std::cell::RefCell;
use std::fmt;
use std::ops::Range;
use std::str::FromStr;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Something in a sheet that cannot be right: where, what, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SheetFault {
    /// From 1.
    pub line: usize,
    /// In characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub fact: String,
    /// What to do about it.
    pub remedy: String,
}

impl fmt::Display for SheetFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}; {}", self.line, self.column, self.fact, self.remedy)
    }
}

/// The faults of one file.
#[derive(Debug)]
pub(super) struct Faults<'t> {
    text: &'t str,
    all: RefCell<Vec<SheetFault>>,
}

impl<'t> Faults<'t> {
    pub(super) fn of(text: &'t str) -> Self {
        Self { text, all: RefCell::default() }
    }

    pub(super) fn add(
        &self,
        at: &Range<usize>,
        fact: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let before = self.text.get(..at.start.min(self.text.len())).unwrap_or(self.text);
        self.all.borrow_mut().push(SheetFault {
            line: before.matches('\n').count() + 1,
            column: before.rsplit('\n').next().unwrap_or("").chars().count() + 1,
            fact: fact.into(),
            remedy: remedy.into(),
        });
    }

    /// All of them, in the order of the file.
    pub(super) fn take(self) -> Vec<SheetFault> {
        let mut all = self.all.into_inner();
        all.sort_by_key(|fault| (fault.line, fault.column));
        all
    }
}

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(super) struct At<T> {
    pub(super) it: T,
    pub(super) at: Range<usize>,
}

/// One table of the file.
#[derive(Clone)]
pub(super) struct Table<'a> {
    name: String,
    table: Option<&'a DeTable<'a>>,
    faults: &'a Faults<'a>,
}

impl<'a> Table<'a> {
    pub(super) fn top(root: &'a Spanned<DeTable<'a>>, faults: &'a Faults<'a>) -> Self {
        Self { name: String::new(), table: Some(root.get_ref()), faults }
    }

    fn entries(
        &self,
    ) -> impl Iterator<Item = (&'a Spanned<toml::de::DeString<'a>>, &'a Spanned<DeValue<'a>>)> + use<'a>
    {
        self.table.into_iter().flatten()
    }

    fn called(&self) -> &str {
        if self.name.is_empty() { "the sheet" } else { &self.name }
    }

    /// A fault for each key that is not in `known`.
    pub(super) fn only(&self, known: &[&str]) {
        for (key, _) in self.entries() {
            let word: &str = key.get_ref();
            if !known.contains(&word) {
                let near = known.iter().find(|k| near(k, word));
                self.faults.add(
                    &key.span(),
                    format!("`{word}` is not known in {}", self.called()),
                    match near {
                        Some(near) => format!("did you mean `{near}`?"),
                        None => format!("the keys here are {}", known.join(", ")),
                    },
                );
            }
        }
    }

    fn get(&self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.entries().find(|(k, _)| k.get_ref() == key).map(|(_, v)| v)
    }

    /// A text; a fault when it is something else or empty.
    pub(super) fn text(&self, key: &str) -> Option<At<&'a str>> {
        let value = self.get(key)?;
        let at = value.span();
        match value.get_ref() {
            // An empty cell of the blank sheet is nothing recorded.
            DeValue::String(text) if text.trim().is_empty() => None,
            DeValue::String(text) => Some(At { it: text.trim(), at }),
            _ => {
                self.faults.add(
                    &at,
                    format!("`{key}` is not a text"),
                    format!("write {key} = \"...\""),
                );
                None
            }
        }
    }

    pub(super) fn owned(&self, key: &str) -> Option<String> {
        self.text(key).map(|t| t.it.to_owned())
    }

    /// A text that stands for a value; its fault is the reader's own sentence.
    pub(super) fn parsed<T>(
        &self,
        key: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Option<At<T>> {
        let text = self.text(key)?;
        match read(text.it) {
            Ok(it) => Some(At { it, at: text.at }),
            Err(why) => {
                let (fact, remedy) = halves(&why);
                self.faults.add(&text.at, fact, remedy);
                None
            }
        }
    }

    /// A list of texts that stand for values; a text alone is a list of one.
    pub(super) fn list<T>(
        &self,
        key: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Vec<At<T>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let alone = [value.clone()];
        let items: &[Spanned<DeValue<'_>>] = match value.get_ref() {
            DeValue::Array(items) => items,
            _ => &alone,
        };
        let mut all = Vec::new();
        for item in items {
            let DeValue::String(text) = item.get_ref() else {
                self.faults.add(
                    &item.span(),
                    format!("`{key}` is not a list of texts"),
                    format!("write {key} = [\"...\"]"),
                );
                continue;
            };
            match read(text.trim()) {
                _ if text.trim().is_empty() => {}
                Ok(it) => all.push(At { it, at: item.span() }),
                Err(why) => {
                    let (fact, remedy) = halves(&why);
                    self.faults.add(&item.span(), fact, remedy);
                }
            }
        }
        all
    }

    /// One of a few words.
    pub(super) fn word<T: Copy>(
        &self,
        key: &str,
        all: &[T],
        word: fn(T) -> &'static str,
    ) -> Option<T> {
        self.parsed(key, |text| among(key, text, all, word)).map(|it| it.it)
    }

    /// Several of a few words.
    pub(super) fn words<T: Copy>(
        &self,
        key: &str,
        all: &[T],
        word: fn(T) -> &'static str,
    ) -> Vec<T> {
        self.list(key, |text| among(key, text, all, word)).into_iter().map(|it| it.it).collect()
    }

    /// `true` or `false`.
    pub(super) fn answer(&self, key: &str) -> Option<bool> {
        let value = self.get(key)?;
        match value.get_ref() {
            DeValue::Boolean(yes) => Some(*yes),
            DeValue::String(text) if text.trim().is_empty() => None,
            // The blank's quotes may be left where the answer is written in.
            DeValue::String(text) if text.trim() == "true" => Some(true),
            DeValue::String(text) if text.trim() == "false" => Some(false),
            _ => {
                self.faults.add(
                    &value.span(),
                    format!("`{key}` is neither true nor false"),
                    format!("write {key} = true or {key} = false; \"\" means not recorded"),
                );
                None
            }
        }
    }

    /// A time with its zone offset.
    pub(super) fn moment(&self, key: &str) -> Option<At<Moment>> {
        let value = self.get(key)?;
        let at = value.span();
        let example = "write date, time and zone without quotes, such as 2026-05-04T10:05:00+02:00";
        match value.get_ref() {
            DeValue::Datetime(written) => match Moment::from_toml(written) {
                Some(it) => Some(At { it, at }),
                None => {
                    let fact = if written.date.is_none() || written.time.is_none() {
                        format!("`{key}` is only half of a moment")
                    } else if written.offset.is_none() {
                        format!("`{key}` has no zone offset")
                    } else {
                        format!("`{key}` is no moment of any calendar")
                    };
                    self.faults.add(&at, fact, example);
                    None
                }
            },
            DeValue::String(text) if text.trim().is_empty() => None,
            _ => {
                self.faults.add(&at, format!("`{key}` is not a time"), example);
                None
            }
        }
    }

    /// A table in this one; an empty one when absent.
    pub(super) fn table(&self, key: &str) -> Self {
        let name = if self.name.is_empty() {
            format!("[{key}]")
        } else {
            format!("[{}.{key}]", self.name.trim_matches(['[', ']']))
        };
        let mut found = Table { name, table: None, faults: self.faults };
        if let Some(value) = self.get(key) {
            match value.get_ref() {
                DeValue::Table(table) => found.table = Some(table),
                _ => self.faults.add(
                    &value.span(),
                    format!("`{key}` is not a table"),
                    format!("write it as {}", found.name),
                ),
            }
        }
        found
    }

    /// A list of tables in this one, each with its place; empty when absent.
    pub(super) fn tables(&self, key: &str) -> Vec<At<Self>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let wrong = |at: &Range<usize>| {
            self.faults.add(
                at,
                format!("`{key}` is not a list of tables"),
                format!("write each one as [[{key}]]"),
            );
        };
        let DeValue::Array(items) = value.get_ref() else {
            wrong(&value.span());
            return Vec::new();
        };
        let mut all = Vec::new();
        for item in items {
            match item.get_ref() {
                DeValue::Table(table) => all.push(At {
                    it: Table {
                        name: format!("[[{key}]]"),
                        table: Some(table),
                        faults: self.faults,
                    },
                    at: item.span(),
                }),
                _ => wrong(&item.span()),
            }
        }
        all
    }
}

/// A value from its own reader, whose sentence becomes the fault.
pub(super) fn from_str<T: FromStr>(text: &str) -> Result<T, String>
where
    T::Err: fmt::Display,
{
    text.parse().map_err(|e: T::Err| e.to_string())
}

fn among<T: Copy>(
    key: &str,
    text: &str,
    all: &[T],
    word: fn(T) -> &'static str,
) -> Result<T, String> {
    all.iter().copied().find(|it| word(*it) == text).ok_or_else(|| {
        let known: Vec<&str> = all.iter().map(|it| word(*it)).collect();
        format!("`{text}` is not known for `{key}`; write one of {}", known.join(", "))
    })
}

/// A sentence of the form "fact; remedy" in its halves.
fn halves(sentence: &str) -> (String, String) {
    match sentence.split_once("; ") {
        Some((fact, remedy)) => (fact.to_owned(), remedy.to_owned()),
        None => (sentence.to_owned(), "correct it".to_owned()),
    }
}

/// One letter changed, added, left out or two swapped: likely a slip.
fn near(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    if a.len().abs_diff(b.len()) > 1 {
        return false;
    }
    let head = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let tail = |n: usize, m: usize| a.get(head + n..) == b.get(head + m..);
    let swapped = a.len() == b.len()
        && head + 1 < a.len()
        && (a[head], a[head + 1]) == (b[head + 1], b[head])
        && tail(2, 2);
    swapped || tail(1, 1) || tail(1, 0) || tail(0, 1)
}
