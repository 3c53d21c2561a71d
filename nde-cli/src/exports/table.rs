//! The record for people: one line an indication, then the verdict of each photo with its reasons.

use super::columns::{Align, Cell, Columns};
use crate::cautions::CAUTIONS;
use crate::record::{Case, Record, Row, expanded_mm, kind_word, relevance_word};
use crate::talk::{Dress, Paint, harmless};
use anyhow::Result;
use nde_core::{Finding, GateOutcome, Measured, Relevance, RuleSet, Spread, Verdict};
use nde_measure::Measurement;
use std::fmt::Write as _;
use std::io::Write;

/// Writes the record.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn write(record: &Record, dress: Dress, target: &mut dyn Write) -> Result<()> {
    for case in &record.cases {
        target.write_all(case_text(case, record, dress).as_bytes())?;
    }
    for failure in &record.failures {
        let name = dress.paint(Paint::Strong, &harmless(&failure.name));
        let what = dress.paint(Paint::Bad, "could not be done");
        writeln!(target, "{name}\n  {what}: {}\n", harmless(&failure.why))?;
    }
    target.write_all(footer(record, dress).as_bytes())?;
    Ok(())
}

/// Colour of a verdict.
const fn verdict_paint(verdict: Verdict) -> Paint {
    match verdict {
        Verdict::Accept => Paint::Good,
        Verdict::Review => Paint::Ask,
        Verdict::Reject => Paint::Bad,
    }
}

// Every `let _ = write!` below goes into a String, which takes everything.

fn case_text(case: &Case, record: &Record, dress: Dress) -> String {
    let mut text = dress.paint(Paint::Strong, &harmless(&case.name));
    if let Some(measurement) = case.measurement() {
        let _ = write!(text, "   {}", dress.paint(Paint::Faint, &picture_line(measurement)));
    }
    text.push('\n');
    let rows = case.rows();
    if rows.is_empty() {
        text.push_str(match case.measurement() {
            Some(_) => "  no indication seen in the area read\n",
            None => "  no indication in the list\n",
        });
    } else {
        text.push_str(&indications(&rows, case).lines(2, dress));
    }
    doubt_lines(&rows, &mut text);
    if let Some(measurement) = case.measurement() {
        set_aside_line(measurement, &mut text);
        gate_lines(measurement, dress, &mut text);
    }
    verdict_lines(case, set_cautions(record), dress, &mut text);
    text.push('\n');
    text
}

fn picture_line(measurement: &Measurement) -> String {
    let scale = &measurement.scale;
    let mut line = format!(
        "scale: {}, {:.3} mm/px",
        super::scale_word(scale.kind),
        measurement.resolution.pitch_mm
    );
    if let Some(tilt) = scale.tilt_deg {
        let _ = write!(line, ", tilt {tilt:.0} deg");
    }
    let _ = write!(line, ", area read {:.1} cm2", measurement.coat.area_mm2 / 100.0);
    line
}

/// Rules that name the indication, told in full below the table; or why it is accepted.
fn why(row: &Row<'_>, case: &Case) -> String {
    let findings = case.judgement.iter().flat_map(|j| &j.findings);
    let mut rules: Vec<&str> = findings
        .filter(|finding| finding.indications.iter().any(|id| id == row.id))
        .map(|finding| finding.rule.as_str())
        .collect();
    rules.dedup();
    if rules.is_empty() { row.reason.to_owned() } else { rules.join(", ") }
}

fn indications(rows: &[Row<'_>], case: &Case) -> Columns {
    let judged = rows.iter().any(|row| row.verdict.is_some());
    let called = rows.iter().any(|row| row.relevance != Relevance::NotYetCalled);
    let placed = rows.iter().any(|row| row.at_mm.is_some());
    let mut headings = vec![
        ("id", Align::Left),
        ("kind", Align::Left),
        ("length mm", Align::Right),
        ("width mm", Align::Right),
        ("ratio", Align::Right),
    ];
    if placed {
        headings.push(("at x, y mm", Align::Right));
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
            row.id.into(),
            kind_word(row.kind).into(),
            size(&row.length).into(),
            size(&row.width).into(),
            row.ratio.map_or_else(String::new, |r| format!("{r:.1}")).into(),
        ];
        if placed {
            let at = row.at_mm.map_or_else(String::new, |[x, y]| format!("{x:.1}, {y:.1}"));
            cells.push(at.into());
        }
        if called {
            cells.push(relevance_word(row.relevance).into());
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

/// Typed sizes as typed, measured ones to a hundredth with their expanded uncertainty.
fn size(measured: &Measured) -> String {
    let value = measured.value.mm();
    match (measured.spread, expanded_mm(measured)) {
        (Spread::Exact, _) => value.to_string(),
        (_, Some(u)) => format!("{value:.2} ±{u:.2}"),
        (_, None) => format!("{value:.2} ±?"),
    }
}

/// Each doubt once, with the indications it is about.
fn doubt_lines(rows: &[Row<'_>], text: &mut String) {
    let mut said: Vec<(String, Vec<&str>)> = Vec::new();
    for row in rows {
        for doubt in row.doubts {
            let sentence = doubt.to_string();
            match said.iter_mut().find(|(known, _)| *known == sentence) {
                Some((_, ids)) => ids.push(row.id),
                None => said.push((sentence, vec![row.id])),
            }
        }
    }
    for (sentence, ids) in said {
        let who = if ids.len() == rows.len() && ids.len() > 2 {
            "all".to_owned()
        } else {
            ids.join(", ")
        };
        let _ = writeln!(text, "  doubt ({}): {}", harmless(&who), sentence);
    }
}

fn set_aside_line(measurement: &Measurement, text: &mut String) {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for aside in &measurement.set_aside {
        let word = super::aside_word(aside.reason);
        match counts.iter_mut().find(|(known, _)| *known == word) {
            Some((_, count)) => *count += 1,
            None => counts.push((word, 1)),
        }
    }
    if !counts.is_empty() {
        let list: Vec<String> = counts.iter().map(|(word, n)| format!("{n} {word}")).collect();
        let _ = writeln!(text, "  seen, not counted: {}", list.join(", "));
    }
}

/// Gates that did not pass.
fn gate_lines(measurement: &Measurement, dress: Dress, text: &mut String) {
    for gate in &measurement.gates {
        let (word, paint, limit) = match gate.outcome {
            GateOutcome::Pass => continue,
            GateOutcome::Warn => ("warning", Paint::Ask, gate.warn),
            GateOutcome::Fail => ("not fit", Paint::Bad, gate.fail),
            GateOutcome::Unknown => ("unknown", Paint::Ask, gate.warn),
        };
        let unit = if gate.unit.is_empty() { String::new() } else { format!(" {}", gate.unit) };
        let digits = if gate.value.is_some_and(|v| v.abs() >= 10.0) { 1 } else { 3 };
        let value =
            gate.value.map_or_else(|| "not known".to_owned(), |v| format!("{v:.digits$}{unit}"));
        let _ = writeln!(
            text,
            "  picture {}: {} {value} (limit {limit}{unit}); {}",
            dress.paint(paint, word),
            gate.name,
            gate.remedy
        );
    }
}

/// What the rule set wants said: once at the end, not beside every photo.
fn set_cautions(record: &Record) -> &[String] {
    record.criteria.rules.as_ref().map_or(&[], RuleSet::cautions)
}

fn verdict_lines(case: &Case, said_below: &[String], dress: Dress, text: &mut String) {
    let Some(judgement) = &case.judgement else { return };
    let word = dress.paint(verdict_paint(judgement.verdict), judgement.verdict.word());
    let _ = write!(text, "  verdict: {word}");
    if judgement.as_measured != judgement.verdict {
        let _ = write!(text, " (as measured, without the guard: {})", judgement.as_measured.word());
    }
    text.push('\n');
    for finding in &judgement.findings {
        finding_lines(finding, dress, text);
    }
    let gates = case.measurement().map_or(&[][..], |m| &m.gates);
    let said_above = |note: &str| gates.iter().any(|gate| note.contains(gate.remedy));
    let notes = judgement.notes.iter();
    for note in notes.filter(|note| !said_below.contains(note) && !said_above(note)) {
        let _ = writeln!(text, "  note: {}", harmless(note));
    }
}

fn finding_lines(finding: &Finding, dress: Dress, text: &mut String) {
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
        harmless(&finding.source.text),
        finding.source.confidence.word()
    );
    if let Some(action) = &finding.action {
        let _ = writeln!(text, "      next: {}", harmless(action));
    }
}

fn footer(record: &Record, dress: Dress) -> String {
    let mut text = String::new();
    if let Some(set) = &record.criteria.rules {
        let _ = writeln!(text, "judged by {}: {}", set.id(), harmless(set.title()));
        if let Some(edition) = set.edition() {
            let _ = writeln!(text, "  edition {}", harmless(edition));
        }
        let mut conventions: Vec<&str> = Vec::new();
        for judgement in record.cases.iter().filter_map(|case| case.judgement.as_ref()) {
            for convention in &judgement.conventions {
                if !conventions.contains(&convention.as_str()) {
                    conventions.push(convention);
                }
            }
        }
        for convention in conventions {
            let _ = writeln!(text, "  {}", harmless(convention));
        }
    } else {
        text.push_str("measured only: nothing was judged\n");
    }
    let _ = writeln!(text, "{}", summary(record));
    for caution in set_cautions(record) {
        let _ = writeln!(text, "{}", dress.paint(Paint::Faint, &harmless(caution)));
    }
    for caution in CAUTIONS {
        let _ = writeln!(text, "{}", dress.paint(Paint::Faint, caution));
    }
    text
}

/// Such as `6 read: 3 accept, 1 review, 2 reject; 1 could not be done`.
fn summary(record: &Record) -> String {
    let count = |verdict| record.cases.iter().filter(|c| c.verdict() == Some(verdict)).count();
    let indications = match record.rows().count() {
        1 => "1 indication".to_owned(),
        n => format!("{n} indications"),
    };
    let mut text = format!("{} read, {indications}", record.cases.len());
    if record.criteria.rules.is_some() {
        let _ = write!(
            text,
            ": {} accept, {} review, {} reject",
            count(Verdict::Accept),
            count(Verdict::Review),
            count(Verdict::Reject)
        );
    }
    if !record.failures.is_empty() {
        let _ = write!(text, "; {} could not be done", record.failures.len());
    }
    text
}
