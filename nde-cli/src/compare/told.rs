//! A comparison as table, CSV and JSON. Numbers in files stand unrounded; absent is empty or null.

use super::growth::Change;
use super::pairs::{Comparison, Pair};
use crate::exports::columns::{Align, Cell, Columns};
use crate::exports::csv::inert;
use crate::exports::eyes::{change, number};
use crate::talk::{Dress, Paint, harmless};
use anyhow::Result;
use serde::Serialize;
use std::fmt::Write as _;
use std::io::Write;

/// What no uncertainty of a photo holds.
pub(crate) const CAUTION: &str = "The uncertainty is that of reading the two photos. Bleed-out also differs with cleaning, dwell, developer and waiting time: repeat the process alike, and confirm a growth by eye.";

/// For people.
#[must_use]
pub(crate) fn table(all: &[Comparison], dress: Dress) -> String {
    let mut text = String::new();
    // A String takes everything.
    for it in all {
        let _ = writeln!(
            text,
            "{}",
            dress.paint(Paint::Strong, &harmless(&format!("{} -> {}", it.old, it.new)))
        );
        let _ = writeln!(text, "  {}", laid(it));
        if let Some(read) = read(it) {
            let _ = writeln!(text, "  {read}");
        }
        if it.pairs.is_empty() {
            let _ = writeln!(text, "  neither holds an indication, then or now");
            continue;
        }
        let mut table = Columns::new(&[
            ("", Align::Left),
            ("old", Align::Left),
            ("new", Align::Left),
            ("was mm", Align::Right),
            ("is mm", Align::Right),
            ("growth mm", Align::Right),
            ("\u{b1}", Align::Right),
            ("", Align::Left),
        ]);
        for pair in &it.pairs {
            let mm = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v:.2}"));
            let (words, paint) = said(pair);
            table.push(vec![
                pair.word().replace('-', " ").into(),
                pair.old.as_ref().map_or("", |m| m.id.as_str()).into(),
                pair.new.as_ref().map_or("", |m| m.id.as_str()).into(),
                mm(pair.old.as_ref().map(|m| m.length_mm)).into(),
                mm(pair.new.as_ref().map(|m| m.length_mm)).into(),
                pair.growth.map_or(String::new(), |g| change(g.mm, 2)).into(),
                mm(pair.growth.and_then(|g| g.u_mm)).into(),
                Cell::painted(words, paint),
            ]);
        }
        text += &table.lines(2, dress);
    }
    let _ = writeln!(text, "{}", dress.paint(Paint::Faint, CAUTION));
    text
}

fn said(pair: &Pair) -> (&'static str, Paint) {
    match pair.growth.map(|g| g.change) {
        Some(Change::Grown) => (Change::Grown.words(), Paint::Bad),
        Some(change @ (Change::Shorter | Change::NotKnown)) => (change.words(), Paint::Ask),
        Some(change) => (change.words(), Paint::Plain),
        None if pair.old.is_none() && pair.unread => {
            ("lies outside the area read then: it may have been there", Paint::Ask)
        }
        None if pair.unread => {
            ("lies outside the area read now: it may still be there", Paint::Ask)
        }
        None if pair.old.is_none() => ("was not counted before", Paint::Bad),
        None => ("is not counted now", Paint::Ask),
    }
}

fn laid(it: &Comparison) -> String {
    let laid = &it.laid;
    match laid.residual_mm {
        Some(residual) if laid.by_marks => format!(
            "laid over by {} indications ({residual:.2} mm left between them, turned {} degrees)",
            laid.agreeing,
            number(laid.by.turn_deg(), 1)
        ),
        _ => format!(
            "laid over by the frame of the scale ({} indications agree): it must have lain in the same place",
            laid.agreeing
        ),
    }
}

/// How much was read; none of typed lists, which do not tell.
fn read(it: &Comparison) -> Option<String> {
    let cm2 = |mm2: f64| format!("{:.1} cm2", mm2 / 100.0);
    let one = |mm2: Option<f64>| mm2.map_or("not known".to_owned(), cm2);
    let [then, now] = it.read_mm2;
    then.or(now)?;
    let both = it.both_mm2.map_or(String::new(), |both| format!(", in both {}", cm2(both)));
    Some(format!("area read: then {}, now {}{both}", one(then), one(now)))
}

/// One row an indication.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn csv(all: &[Comparison], target: &mut dyn Write) -> Result<()> {
    let mut writer = csv::Writer::from_writer(target);
    writer.write_record([
        "photo_old",
        "photo_new",
        "match",
        "id_old",
        "id_new",
        "length_old_mm",
        "length_new_mm",
        "growth_mm",
        "growth_u_mm",
        "change",
        "x_mm",
        "y_mm",
    ])?;
    for it in all {
        for row in it.pairs.iter().map(Row::of) {
            let mm = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
            writer.write_record([
                inert(&it.old).as_str(),
                &inert(&it.new),
                row.matched,
                &inert(row.id_old.unwrap_or("")),
                &inert(row.id_new.unwrap_or("")),
                &mm(row.length_old_mm),
                &mm(row.length_new_mm),
                &mm(row.growth_mm),
                &mm(row.growth_u_mm),
                row.change.map_or("", Change::words),
                &row.at_mm[0].to_string(),
                &row.at_mm[1].to_string(),
            ])?;
        }
    }
    Ok(writer.flush()?)
}

#[derive(Serialize)]
struct Row<'a> {
    #[serde(rename = "match")]
    matched: &'static str,
    id_old: Option<&'a str>,
    id_new: Option<&'a str>,
    length_old_mm: Option<f64>,
    length_new_mm: Option<f64>,
    growth_mm: Option<f64>,
    /// Expanded, k = 2.
    growth_u_mm: Option<f64>,
    change: Option<Change>,
    at_mm: [f64; 2],
}

impl<'a> Row<'a> {
    fn of(pair: &'a Pair) -> Self {
        Self {
            matched: pair.word(),
            id_old: pair.old.as_ref().map(|m| m.id.as_str()),
            id_new: pair.new.as_ref().map(|m| m.id.as_str()),
            length_old_mm: pair.old.as_ref().map(|m| m.length_mm),
            length_new_mm: pair.new.as_ref().map(|m| m.length_mm),
            growth_mm: pair.growth.map(|g| g.mm),
            growth_u_mm: pair.growth.and_then(|g| g.u_mm),
            change: pair.growth.map(|g| g.change),
            at_mm: pair.at_mm,
        }
    }
}

#[derive(Serialize)]
struct ComparisonView<'a> {
    photo_old: &'a str,
    photo_new: &'a str,
    sha256_old: &'a str,
    sha256_new: &'a str,
    laid_over_by: &'static str,
    agreeing: usize,
    residual_mm: Option<f64>,
    /// So many would agree by chance, too: it may be another place.
    may_be_chance: bool,
    turn_deg: f64,
    /// `null` where a typed list does not tell.
    area_read_old_mm2: Option<f64>,
    area_read_new_mm2: Option<f64>,
    /// Read both times.
    area_read_both_mm2: Option<f64>,
    indications: Vec<Row<'a>>,
}

/// The full comparison.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn json(all: &[Comparison], target: &mut dyn Write) -> Result<()> {
    let photos: Vec<ComparisonView<'_>> = all
        .iter()
        .map(|it| ComparisonView {
            photo_old: &it.old,
            photo_new: &it.new,
            sha256_old: &it.sha256[0],
            sha256_new: &it.sha256[1],
            laid_over_by: if it.laid.by_marks { "indications" } else { "scale" },
            agreeing: it.laid.agreeing,
            residual_mm: it.laid.residual_mm,
            may_be_chance: it.laid.may_be_chance(),
            turn_deg: it.laid.by.turn_deg(),
            area_read_old_mm2: it.read_mm2[0],
            area_read_new_mm2: it.read_mm2[1],
            area_read_both_mm2: it.both_mm2,
            indications: it.pairs.iter().map(Row::of).collect(),
        })
        .collect();
    let whole = serde_json::json!({
        "form": "nde-comparison/1",
        "tool": { "name": "nde", "version": env!("CARGO_PKG_VERSION") },
        "photos": photos,
        "caution": CAUTION,
    });
    serde_json::to_writer_pretty(&mut *target, &whole)?;
    Ok(target.write_all(b"\n")?)
}
