//! The record for people: one line an indication, then the verdict of each photo with its reasons.

use super::columns::{Align, Cell, Columns};
use super::eyes::{place, size, unit};
use super::part::verdict_paint;
use super::spoken::{Spoken, uncalled};
use crate::args::Units;
use crate::cautions::CAUTIONS;
use crate::record::{Case, Picture, Reasoned, Record, Row, Tally, aside_words};
use crate::talk::{Dress, Paint, harmless};
use anyhow::Result;
use nde_core::{Relevance, RuleSet, Verdict};
use std::fmt::Write as _;
use std::io::Write;

/// Writes the record.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn write(record: &Record, dress: Dress, target: &mut dyn Write) -> Result<()> {
    let mut conventions: Vec<String> = Vec::new();
    record.each(|case| {
        for convention in case.judgement.iter().flat_map(|j| &j.conventions) {
            if !conventions.contains(convention) {
                conventions.push(convention.clone());
            }
        }
        Ok(target.write_all(case_text(case, record, dress).as_bytes())?)
    })?;
    for failure in &record.failures {
        let name = dress.paint(Paint::Strong, &harmless(&failure.name));
        let what = dress.paint(Paint::Bad, "could not be done");
        writeln!(target, "{name}\n  {what}: {}\n", harmless(&failure.why))?;
    }
    if let Some(part) = &record.part {
        target.write_all(super::part::text(part, dress).as_bytes())?;
    }
    target.write_all(footer(record, &conventions, dress)?.as_bytes())?;
    Ok(())
}

// Every `let _ = write!` below goes into a String, which takes everything.

fn case_text(case: &Case, record: &Record, dress: Dress) -> String {
    let mut text = dress.paint(Paint::Strong, &harmless(&case.photo));
    if let Some(picture) = &case.picture {
        let _ = write!(text, "   {}", dress.paint(Paint::Faint, &picture_line(picture)));
    }
    text.push('\n');
    let rows = &case.indications;
    if rows.is_empty() {
        text.push_str(match case.picture {
            Some(_) => "  no indication seen in the area read\n",
            None => "  no indication in the list\n",
        });
    } else {
        text.push_str(&indications(rows, case, record.units).lines(2, dress));
    }
    for (who, sentence) in doubts_said(rows) {
        let _ = writeln!(text, "  doubt ({}): {}", harmless(&who), harmless(sentence));
    }
    set_aside_line(case, &mut text);
    if let Some(picture) = &case.picture {
        gate_lines(picture, dress, &mut text);
    }
    for said in case.indications.iter().filter(|row| row.said.is_some()) {
        if let Some(said) = Spoken::of(said, record.units) {
            let _ = writeln!(text, "  called {}", harmless(&said.line()));
        }
    }
    verdict_lines(case, set_cautions(record), dress, &mut text);
    text.push('\n');
    text
}

fn picture_line(picture: &Picture) -> String {
    let scale = &picture.scale;
    let mut line = format!("scale: {}, {:.3} mm/px", scale.kind, picture.resolution.pitch_mm);
    if let Some(tilt) = scale.tilt_deg {
        let _ = write!(line, ", tilt {tilt:.0} deg");
    }
    let _ = write!(line, ", area read {:.1} cm2", picture.coat.area_mm2 / 100.0);
    line
}

/// Rules that name the indication, told in full below the table; or why it is accepted.
fn why(row: &Row, case: &Case) -> String {
    let findings = case.judgement.iter().flat_map(|j| &j.findings);
    let mut rules: Vec<&str> = findings
        .filter(|finding| finding.indications.contains(&row.id))
        .map(|finding| finding.rule.as_str())
        .collect();
    rules.dedup();
    if rules.is_empty() { row.reason.clone().unwrap_or_default() } else { rules.join(", ") }
}

fn indications(rows: &[Row], case: &Case, units: Units) -> Columns {
    let heading = |what: &str| format!("{what} {}", unit(units));
    let (length, width, at) = (heading("length"), heading("width"), heading("at x, y"));
    let judged = rows.iter().any(|row| row.verdict.is_some());
    let called = rows.iter().any(|row| row.relevance != Relevance::NotYetCalled);
    let placed = rows.iter().any(|row| row.at_mm.is_some());
    let mut headings = vec![
        ("id", Align::Left),
        ("kind", Align::Left),
        (length.as_str(), Align::Right),
        (width.as_str(), Align::Right),
        ("ratio", Align::Right),
    ];
    if placed {
        headings.push((at.as_str(), Align::Right));
    }
    if called {
        headings.push(("called", Align::Left));
    }
    if judged {
        headings.push(("verdict", Align::Left));
        headings.push(("why", Align::Left));
    }
    let mut table = Columns::new(&headings);
    for row in rows {
        let mut cells: Vec<Cell> = vec![
            row.id.as_str().into(),
            row.kind.word().into(),
            size(&row.length, units).into(),
            size(&row.width, units).into(),
            row.ratio.map_or_else(String::new, |r| format!("{r:.1}")).into(),
        ];
        if placed {
            let at = row.at_mm.map_or_else(String::new, |at| place(at, units));
            cells.push(at.into());
        }
        if called {
            cells.push(row.relevance.word().into());
        }
        if judged {
            let word = row.verdict.map_or("", Verdict::word);
            let paint = row.verdict.map_or(Paint::Plain, verdict_paint);
            cells.push(Cell::painted(word, paint));
            cells.push(why(row, case).into());
        }
        table.push(cells);
    }
    table
}

/// Each doubt once, behind the indications it is about.
pub(crate) fn doubts_said(rows: &[Row]) -> Vec<(String, &str)> {
    let mut said: Vec<(&str, Vec<&str>)> = Vec::new();
    for row in rows {
        for doubt in &row.doubts {
            match said.iter_mut().find(|(known, _)| *known == doubt.sentence) {
                Some((_, ids)) => ids.push(&row.id),
                None => said.push((&doubt.sentence, vec![&row.id])),
            }
        }
    }
    let who = |ids: Vec<&str>| {
        let all = ids.len() == rows.len() && ids.len() > 2;
        if all { "all".to_owned() } else { ids.join(", ") }
    };
    said.into_iter().map(|(sentence, ids)| (who(ids), sentence)).collect()
}

fn set_aside_line(case: &Case, text: &mut String) {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for aside in &case.set_aside {
        match counts.iter_mut().find(|(known, _)| *known == aside.reason) {
            Some((_, count)) => *count += 1,
            None => counts.push((&aside.reason, 1)),
        }
    }
    if !counts.is_empty() {
        let list: Vec<String> =
            counts.iter().map(|(word, n)| format!("{n} {}", aside_words(word))).collect();
        let _ = writeln!(text, "  seen, not counted: {}", list.join(", "));
    }
}

/// Gates that did not pass.
fn gate_lines(picture: &Picture, dress: Dress, text: &mut String) {
    for gate in &picture.gates {
        let Some((word, told)) = gate.told() else { continue };
        let paint = if word == "not fit" { Paint::Bad } else { Paint::Ask };
        let _ = writeln!(text, "  picture {}: {told}; {}", dress.paint(paint, word), gate.remedy);
    }
}

/// What the rule set wants said: once at the end, not beside every photo.
pub(crate) fn set_cautions(record: &Record) -> &[String] {
    record.criteria.rules.as_ref().map_or(&[], RuleSet::cautions)
}

fn verdict_lines(case: &Case, said_below: &[String], dress: Dress, text: &mut String) {
    let Some(judgement) = &case.judgement else { return };
    let word = dress.paint(verdict_paint(judgement.verdict), judgement.verdict.word());
    let _ = write!(text, "  verdict: {word}");
    if judgement.as_measured != judgement.verdict {
        let _ = write!(text, " (as measured, without the guard: {})", judgement.as_measured.word());
    }
    if let Some(raw) = uncalled(case).filter(|raw| *raw != judgement.verdict) {
        let _ = write!(text, " (measured, without any call: {})", raw.word());
    }
    text.push('\n');
    for finding in &judgement.findings {
        finding_lines(finding, dress, text);
    }
    let gates = case.picture.as_ref().map_or(&[][..], |p| &p.gates);
    let said_above = |note: &str| gates.iter().any(|gate| note.contains(&gate.remedy));
    let notes = judgement.notes.iter();
    for note in notes.filter(|note| !said_below.contains(note) && !said_above(note)) {
        let _ = writeln!(text, "  note: {}", harmless(note));
    }
}

fn finding_lines(finding: &Reasoned, dress: Dress, text: &mut String) {
    let ids = match finding.indications.as_slice() {
        [] => "whole picture".to_owned(),
        ids => ids.join(", "),
    };
    let word = dress.paint(verdict_paint(finding.verdict), finding.verdict.word());
    let _ = writeln!(
        text,
        "    {word} {}: {}; found {}, limit {} [{}; {}]",
        harmless(&ids),
        harmless(&finding.rule),
        harmless(&finding.found),
        harmless(&finding.limit),
        harmless(&finding.source),
        finding.confidence
    );
    if let Some(action) = &finding.action {
        let _ = writeln!(text, "      next: {}", harmless(action));
    }
}

fn footer(record: &Record, conventions: &[String], dress: Dress) -> Result<String> {
    let mut text = String::new();
    if let Some(set) = &record.criteria.rules {
        let _ = writeln!(text, "judged by {}: {}", set.id(), harmless(set.title()));
        if let Some(edition) = set.edition() {
            let _ = writeln!(text, "  edition {}", harmless(edition));
        }
        for convention in conventions {
            let _ = writeln!(text, "  {}", harmless(convention));
        }
    } else {
        text.push_str("measured only: nothing was judged\n");
    }
    let _ = writeln!(text, "{}", summary(&record.tally()?, record.criteria.rules.is_some()));
    for caution in set_cautions(record) {
        let _ = writeln!(text, "{}", dress.paint(Paint::Faint, &harmless(caution)));
    }
    for caution in CAUTIONS {
        let _ = writeln!(text, "{}", dress.paint(Paint::Faint, caution));
    }
    Ok(text)
}

/// Such as `6 photos read: 3 accept, 1 review, 2 reject; 9 indications in them; 1 photo could not be done`.
pub(crate) fn summary(tally: &Tally, judged: bool) -> String {
    let count = |n: usize, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
    // A list is judged alone, never beside photos.
    let what = if tally.lists > 0 { "list" } else { "photo" };
    let mut text = format!("{} read", count(tally.read, what));
    if judged {
        let Tally { accept, review, reject, .. } = tally;
        let _ = write!(text, ": {accept} accept, {review} review, {reject} reject");
    }
    let them = if tally.read == 1 { "it" } else { "them" };
    let _ = write!(text, "; {} in {them}", count(tally.indications, "indication"));
    if tally.could_not > 0 {
        let _ = write!(text, "; {} could not be done", count(tally.could_not, what));
    }
    text
}
