//! The part for people: its zones, its process, and what keeps it from being accepted.

use super::columns::{Align, Cell, Columns};
use crate::record::{Part, ProcessItem, ZoneSeen};
use crate::talk::{Dress, Paint, harmless};
use nde_core::Verdict;
use std::fmt::Write as _;

/// Colour of a verdict.
pub(super) const fn verdict_paint(verdict: Verdict) -> Paint {
    match verdict {
        Verdict::Accept => Paint::Good,
        Verdict::Review => Paint::Ask,
        Verdict::Reject => Paint::Bad,
    }
}

// Every `let _ = write!` below goes into a String, which takes everything.

/// The block of the part; empty where only calls were given and all of them found their photo.
#[must_use]
pub(super) fn text(part: &Part, dress: Dress) -> String {
    let mut text = String::new();
    if part.sheet_sha256.is_none() && part.findings.is_empty() {
        return text;
    }
    let name = part.name.as_deref().unwrap_or("part");
    let number = part.number.as_deref().map_or(String::new(), |n| format!(" ({n})"));
    let _ = writeln!(text, "{}", dress.paint(Paint::Strong, &harmless(&format!("{name}{number}"))));
    if !part.zones.is_empty() {
        text += &zones(&part.zones).lines(2, dress);
    }
    if let Some(technique) = &part.technique {
        let met = part.process.iter().filter(|it| it.outcome == "met").count();
        let decides: Vec<&ProcessItem> = part.process.iter().filter(|it| !it.advice).collect();
        let _ = writeln!(
            text,
            "  process by {}: {met} of {} limits met",
            harmless(&technique.id),
            decides.len().max(met)
        );
    }
    for finding in &part.findings {
        let _ = writeln!(
            text,
            "  {} {}: {}, where {} ({}, {})",
            dress.paint(verdict_paint(finding.verdict), finding.verdict.word()),
            harmless(&finding.rule),
            harmless(&finding.found),
            harmless(&finding.limit),
            harmless(&finding.source),
            harmless(&finding.confidence)
        );
        if let Some(action) = &finding.action {
            let _ = writeln!(text, "    {}", harmless(action));
        }
    }
    match part.verdict {
        Some(verdict) => {
            let word = dress.paint(verdict_paint(verdict), verdict.word());
            let _ = writeln!(text, "  part: {word}\n");
        }
        None => text.push_str("  part: not judged\n\n"),
    }
    text
}

fn zones(zones: &[ZoneSeen]) -> Columns {
    let mut table = Columns::new(&[
        ("zone", Align::Left),
        ("area read cm2", Align::Right),
        ("", Align::Left),
        ("photos", Align::Left),
    ]);
    for zone in zones {
        let (words, paint) = match (zone.inspected_mm2, zone.verdict) {
            (None, _) => ("not inspected", Paint::Ask),
            (_, Some(verdict)) => (verdict.word(), verdict_paint(verdict)),
            (_, None) => ("not judged", Paint::Plain),
        };
        table.push(vec![
            zone.name.as_str().into(),
            zone.inspected_mm2.map_or(String::new(), |a| format!("{:.1}", a / 100.0)).into(),
            Cell::painted(words, paint),
            zone.photos.join(", ").into(),
        ]);
    }
    table
}
