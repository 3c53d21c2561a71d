//! One limit of a technique: what must hold, and when it applies.

use std::fmt;

use super::item::Item;
use super::process::{Developer, Flaw, Form, Material, Process, Removal};
use super::quantity::Quantity;
use crate::side::Side;
use crate::source::Source;

/// What must hold for one item.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Limit {
    pub(crate) item: Item,
    pub(crate) must: Must,
    pub(crate) when: When,
    pub(crate) heft: Heft,
    pub(crate) source: Source,
}

/// What must hold.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Must {
    /// A number on its side: what the side catches is kept.
    Hold(Side, Quantity),
    /// One of these words.
    Be(Vec<&'static str>),
    /// Yes.
    Yes,
}

/// How much a limit weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heft {
    /// Not kept: a person must decide.
    Must,
    /// Not kept: it is listed, and decides nothing.
    Advice,
}

/// When a limit applies; an empty list asks nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct When {
    pub(crate) material: Vec<Material>,
    pub(crate) form: Vec<Form>,
    pub(crate) flaw: Vec<Flaw>,
    pub(crate) removal: Vec<Removal>,
    pub(crate) developer: Vec<Developer>,
    pub(crate) temperature: Vec<(Side, Quantity)>,
}

/// Whether a limit applies to one test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Applies {
    Yes,
    /// A fact that decides it is not recorded; the key to record it.
    Perhaps(&'static str),
    No,
}

/// When the developing time starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockStart {
    /// When the developer is on.
    Applied,
    /// When its coat is dry.
    Dry,
}

impl ClockStart {
    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Applied => "it is on",
            Self::Dry => "its coat is dry",
        }
    }
}

/// When the developing time starts, for wet and for dry developers.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Clock {
    pub(crate) wet: ClockStart,
    pub(crate) dry: ClockStart,
    pub(crate) source: Source,
}

impl Limit {
    /// Its number and side; absent for words.
    pub(crate) const fn number(&self) -> Option<(Side, Quantity)> {
        match &self.must {
            Must::Hold(side, quantity) => Some((*side, *quantity)),
            Must::Be(_) | Must::Yes => None,
        }
    }

    pub(crate) fn applies(&self, process: &Process) -> Applies {
        let when = &self.when;
        let answers = [
            among(&when.material, process.material, "material in [part]"),
            among(&when.form, process.form, "form in [part]"),
            among_any(&when.flaw, &process.flaws),
            // What is not recorded here is asked for by the item itself, which the form demands.
            process
                .removal
                .map_or(no_unless_empty(&when.removal), |it| among(&when.removal, Some(it), "")),
            process.developer.map_or(no_unless_empty(&when.developer), |it| {
                among(&when.developer, Some(it), "")
            }),
            self.at_temperature(process.surface_temperature),
        ];
        if answers.contains(&Applies::No) {
            return Applies::No;
        }
        answers.into_iter().find(|a| *a != Applies::Yes).unwrap_or(Applies::Yes)
    }

    fn at_temperature(&self, found: Option<Quantity>) -> Applies {
        if self.when.temperature.is_empty() {
            return Applies::Yes;
        }
        let Some(found) = found else { return Applies::Perhaps("temperature in [conditions]") };
        yes(self.when.temperature.iter().all(|(side, bound)| keeps(*side, found, *bound)))
    }
}

/// Whether a quantity is on the side; never between two kinds.
pub(crate) fn keeps(side: Side, found: Quantity, bound: Quantity) -> bool {
    found.partial_cmp(&bound).is_some_and(|order| side.catches(order))
}

const fn yes(it: bool) -> Applies {
    if it { Applies::Yes } else { Applies::No }
}

const fn no_unless_empty<T>(list: &[T]) -> Applies {
    yes(list.is_empty())
}

fn among<T: PartialEq>(list: &[T], found: Option<T>, key: &'static str) -> Applies {
    match found {
        _ if list.is_empty() => Applies::Yes,
        Some(it) => yes(list.contains(&it)),
        None => Applies::Perhaps(key),
    }
}

fn among_any(list: &[Flaw], found: &[Flaw]) -> Applies {
    if list.is_empty() {
        Applies::Yes
    } else if found.is_empty() {
        Applies::Perhaps("looked_for in [part]")
    } else {
        yes(found.iter().any(|it| list.contains(it)))
    }
}

impl fmt::Display for Limit {
    /// What must hold and when, such as `>= 10 min (wrought; >= 50 F)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.must {
            Must::Hold(side, quantity) => write!(f, "{} {quantity}", side.sign())?,
            Must::Be(words) => f.write_str(&words.join(" or "))?,
            Must::Yes => f.write_str("yes")?,
        }
        let when = &self.when;
        let mut parts: Vec<String> = Vec::new();
        let mut list = |words: Vec<&str>| {
            if !words.is_empty() {
                parts.push(words.join(", "));
            }
        };
        list(when.material.iter().map(|w| w.word()).collect());
        list(when.form.iter().map(|w| w.word()).collect());
        list(when.flaw.iter().map(|w| w.word()).collect());
        list(when.removal.iter().map(|w| w.word()).collect());
        list(when.developer.iter().map(|w| w.word()).collect());
        let warmth: Vec<String> =
            when.temperature.iter().map(|(s, q)| format!("{} {q}", s.sign())).collect();
        if !warmth.is_empty() {
            parts.push(format!("at {}", warmth.join(" and ")));
        }
        if !parts.is_empty() {
            write!(f, " ({})", parts.join("; "))?;
        }
        if self.heft == Heft::Advice {
            f.write_str(", advice")?;
        }
        Ok(())
    }
}
