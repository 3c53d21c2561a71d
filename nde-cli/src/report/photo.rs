//! One photo in the report: verdict, marks, close-ups, the list, reasons, what was set aside.

use super::html::{Attribute, Text, verdict};
use super::{called, closeup, plots};
use crate::args::Units;
use crate::exports::csv::maybe;
use crate::exports::eyes::{place, size, unit};
use crate::exports::table::doubts_said;
use crate::record::{Aside, Case, Closeup, Picture, Record, Row};
use anyhow::{Context as _, Result};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use nde_core::{Relevance, Verdict};
use std::io::Write;
use std::path::Path;

/// Most set-aside places told one by one; the rest stand in `set_aside.csv`. Chosen: half a page.
const MOST_ASIDE: usize = 12;

pub(super) struct Shown<'a> {
    pub(super) record: &'a Record,
    pub(super) dir: &'a Path,
    pub(super) case: &'a Case,
    pub(super) closeups: &'a [Closeup],
    /// Place in the report, for links.
    pub(super) n: usize,
}

impl Shown<'_> {
    pub(super) fn write(&self, to: &mut dyn Write) -> Result<()> {
        let (case, n) = (self.case, self.n);
        writeln!(
            to,
            "<section class=\"photo\" aria-labelledby=\"photo-{n}\">\n<h2 id=\"photo-{n}\">{}</h2>\n<p class=\"lead\">{}<span>{}</span></p>",
            Text(&case.photo),
            verdict(case.verdict()),
            self.in_short()
        )?;
        self.marked(to)?;
        self.list(to)?;
        self.closeups(to)?;
        self.reasons(to)?;
        called::write(case, self.record.units, to)?;
        if let Some(picture) = &case.picture {
            picture_can(picture, to)?;
        }
        self.aside(to)?;
        self.plots(to)?;
        writeln!(to, "<p class=\"hash\">SHA-256 {}</p>\n</section>", Text(&case.sha256))?;
        Ok(())
    }

    fn in_short(&self) -> String {
        let case = self.case;
        let count = case.indications.len();
        let linear = case.indications.iter().filter(|r| r.kind.word() == "linear").count();
        let many = match count {
            0 => "no indication in the area read".to_owned(),
            1 => format!("1 indication, {}", case.indications[0].kind.word()),
            n => format!("{n} indications, {linear} linear and {} rounded", n - linear),
        };
        let longest = case.indications.iter().map(|r| r.length.mm).fold(0.0_f64, f64::max);
        if count > 1 { format!("{many}; the longest {longest:.1} mm") } else { many }
    }

    fn marked(&self, to: &mut dyn Write) -> Result<()> {
        let Some(marked) = &self.case.marked else { return Ok(()) };
        let perhaps = self.case.picture.as_ref().is_some_and(|p| !p.coat.doubtful_px.is_empty());
        let path = self.dir.join(marked);
        let bytes = std::fs::read(&path)
            .with_context(|| format!("{}: give the same command again", path.display()))?;
        Ok(writeln!(
            to,
            "<figure><img alt=\"The photo {}, each counted indication ringed with its number and length, the area read outlined{}\" src=\"data:image/jpeg;base64,{}\"><figcaption>Solid rings: counted. Dashed: seen, not counted. Thin line: the area that was read.{}</figcaption></figure>",
            Text(&self.case.photo),
            if perhaps { ", what may be developer and was not read in long dashes" } else { "" },
            STANDARD.encode(bytes),
            if perhaps { " Long dashes: may be developer, was not read." } else { "" }
        )?)
    }

    fn list(&self, to: &mut dyn Write) -> Result<()> {
        let case = self.case;
        if case.indications.is_empty() {
            return Ok(());
        }
        let unit = unit(self.record.units);
        writeln!(
            to,
            "<h3>Indications</h3>\n<div class=\"scroll\"><table><thead><tr><th scope=\"col\">id</th><th scope=\"col\">kind</th><th scope=\"col\" class=\"n\">length, {unit}</th><th scope=\"col\" class=\"n\">width, {unit}</th><th scope=\"col\" class=\"n\">ratio</th><th scope=\"col\" class=\"n\">at x, y, {unit}</th><th scope=\"col\">called</th><th scope=\"col\">verdict</th><th scope=\"col\">why</th></tr></thead><tbody>"
        )?;
        for row in &case.indications {
            self.row(row, to)?;
        }
        writeln!(to, "</tbody></table></div>")?;
        let doubts = doubts_said(&case.indications);
        if !doubts.is_empty() {
            writeln!(to, "<h3>Doubts</h3>\n<ul>")?;
            for (who, sentence) in doubts {
                writeln!(to, "<li><strong>{}</strong>: {}</li>", Text(&who), Text(sentence))?;
            }
            writeln!(to, "</ul>")?;
        }
        Ok(())
    }

    fn row(&self, row: &Row, to: &mut dyn Write) -> Result<()> {
        let at = row.at_mm.map_or_else(String::new, |at| place(at, self.record.units));
        let called = match (row.relevance, &row.label) {
            (Relevance::NotYetCalled, None) => "not\u{a0}yet".to_owned(),
            (relevance, None) => relevance.word().to_owned(),
            (relevance, Some(label)) => format!("{}, {label}", relevance.word()),
        };
        let word = row.verdict.map_or("", Verdict::word);
        let strong = if matches!(row.verdict, Some(Verdict::Reject | Verdict::Review)) {
            format!("<strong>{word}</strong>")
        } else {
            word.to_owned()
        };
        let part = |value: Option<[f64; 2]>, axis: usize, digits: usize| {
            maybe(value.map(|v| v[axis]), digits)
        };
        Ok(writeln!(
            to,
            "<tr data-sha=\"{}\" data-id=\"{}\" data-photo=\"{}\" data-x-mm=\"{}\" data-y-mm=\"{}\" data-x-px=\"{}\" data-y-px=\"{}\"><th scope=\"row\">{}</th><td class=\"w\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{at}</td><td>{}</td><td class=\"w\">{strong}</td><td class=\"why\">{}</td></tr>",
            Attribute(&self.case.sha256),
            Attribute(&row.id),
            Attribute(&self.case.photo),
            part(row.at_mm, 0, 4),
            part(row.at_mm, 1, 4),
            part(row.at_px, 0, 2),
            part(row.at_px, 1, 2),
            Text(&row.id),
            row.kind.word(),
            size(&row.length, self.record.units),
            size(&row.width, self.record.units),
            maybe(row.ratio, 1),
            Text(&called),
            Text(row.reason.as_deref().unwrap_or_default())
        )?)
    }

    fn closeups(&self, to: &mut dyn Write) -> Result<()> {
        if self.closeups.is_empty() {
            return Ok(());
        }
        writeln!(
            to,
            "<h3>Close up</h3>\n<p class=\"soft\">Seen straight from above, all {} times as large as on the part where nothing else is said (printed at 100 %; the bar tells the truth in any case). Blue line: the outline that was measured.</p>\n<div class=\"closeups\">",
            closeup::MAGNIFICATION
        )?;
        for closeup in self.closeups {
            if let Some(row) = self.case.indications.iter().find(|row| row.id == closeup.id) {
                closeup::write(closeup, row, to)?;
            }
        }
        writeln!(to, "</div>")?;
        let left = self.case.indications.len().saturating_sub(self.closeups.len());
        if left > 0 {
            writeln!(to, "<p class=\"soft\">The {left} shortest are not shown close up.</p>")?;
        }
        Ok(())
    }

    fn reasons(&self, to: &mut dyn Write) -> Result<()> {
        let Some(judgement) = &self.case.judgement else { return Ok(()) };
        writeln!(to, "<h3>Verdict and reasons</h3>\n<p>{}", verdict(Some(judgement.verdict)))?;
        if judgement.as_measured != judgement.verdict {
            writeln!(
                to,
                "The readings as they stand, without the guard for uncertainty, would give <em>{}</em>.",
                judgement.as_measured.word()
            )?;
        }
        writeln!(to, "</p>")?;
        if judgement.findings.is_empty() {
            writeln!(to, "<p>No rule rejects anything here.</p>")?;
        } else {
            writeln!(to, "<ol class=\"reasons\">")?;
            for finding in &judgement.findings {
                let who = match finding.indications.as_slice() {
                    [] => "the whole picture".to_owned(),
                    ids => ids.join(", "),
                };
                write!(
                    to,
                    "<li><strong>{} {}</strong>: {}; found {}, limit {} <span class=\"soft\">[{}; {}]</span>",
                    finding.verdict.word(),
                    Text(&who),
                    Text(&finding.rule),
                    Text(&finding.found),
                    Text(&finding.limit),
                    Text(&finding.source),
                    Text(&finding.confidence)
                )?;
                if let Some(action) = &finding.action {
                    write!(to, "<br>Next: {}", Text(action))?;
                }
                writeln!(to, "</li>")?;
            }
            writeln!(to, "</ol>")?;
        }
        let set = self.record.criteria.rules.as_ref().map_or(&[][..], |set| set.cautions());
        let gates = self.case.picture.iter().flat_map(|picture| &picture.gates);
        let below: Vec<&str> = gates.map(|gate| gate.remedy.as_str()).collect();
        let told_elsewhere =
            |note: &String| set.contains(note) || below.iter().any(|text| note.contains(text));
        for note in judgement.notes.iter().filter(|note| !told_elsewhere(note)) {
            writeln!(to, "<p class=\"soft\">{}</p>", Text(note))?;
        }
        Ok(())
    }

    fn aside(&self, to: &mut dyn Write) -> Result<()> {
        let aside = &self.case.set_aside;
        if aside.is_empty() {
            return Ok(());
        }
        let mut order: Vec<&Aside> = aside.iter().collect();
        order.sort_by(|a, b| b.length_mm.total_cmp(&a.length_mm));
        writeln!(
            to,
            "<h3>Seen, not counted</h3>\n<div class=\"scroll\"><table><thead><tr><th scope=\"col\">why not</th><th scope=\"col\" class=\"n\">length, mm</th><th scope=\"col\" class=\"n\">width, mm</th><th scope=\"col\" class=\"n\">at x, y, mm</th><th scope=\"col\" class=\"n\">loss of green</th></tr></thead><tbody>"
        )?;
        for one in order.iter().take(MOST_ASIDE) {
            writeln!(
                to,
                "<tr><th scope=\"row\">{}</th><td class=\"n\">{:.2}</td><td class=\"n\">{:.2}</td><td class=\"n\">{}</td><td class=\"n\">{:.0} %</td></tr>",
                why_aside(&one.reason),
                one.length_mm,
                one.width_mm,
                place(one.at_mm, Units::Mm),
                100.0 * one.contrast
            )?;
        }
        writeln!(to, "</tbody></table></div>")?;
        if let Some(more) = aside.len().checked_sub(MOST_ASIDE).filter(|more| *more > 0) {
            writeln!(
                to,
                "<p class=\"soft\">The {MOST_ASIDE} longest; {more} more stand in set_aside.csv.</p>"
            )?;
        }
        Ok(())
    }

    fn plots(&self, to: &mut dyn Write) -> Result<()> {
        let sizes = plots::sizes(self.case, self.record.criteria.rules.as_ref());
        let places = plots::places(self.case);
        if self.case.indications.is_empty() || (sizes.is_none() && places.is_none()) {
            return Ok(());
        }
        writeln!(to, "<div class=\"keep\"><h3>At a glance</h3>\n<div class=\"plots\">")?;
        if let Some(svg) = sizes {
            writeln!(
                to,
                "<figure>{svg}<figcaption>Length against width ({}). Dashed: the ratio past which an indication is linear. Dotted: limits on one length.</figcaption></figure>",
                plots::KEY
            )?;
        }
        if let Some(svg) = places {
            writeln!(
                to,
                "<figure>{svg}<figcaption>Places on the part, in the scale's frame, on the area read. Dashed boxes: indications that a finding takes together.</figcaption></figure>"
            )?;
        }
        Ok(writeln!(to, "</div></div>")?)
    }
}

/// A sentence for each reason.
fn why_aside(word: &str) -> &'static str {
    match word {
        "faint" => "faint: too weak to be counted",
        "brownish" => "brownish: rust or oil rather than dye",
        "dark" => "dark: a shadow or dirt, not red",
        "pink-area" => "in a pink area: stained background",
        "outside-coat" => {
            "outside the area read: off the developer, or on developer that was not read"
        }
        _ => "other",
    }
}

/// What the picture can decide, and what it cannot.
fn picture_can(picture: &Picture, to: &mut dyn Write) -> Result<()> {
    let (scale, can) = (&picture.scale, &picture.resolution);
    writeln!(to, "<h3>What this picture can decide</h3>\n<p>")?;
    write!(
        to,
        "Area read {:.1} cm². One pixel is {:.3} mm on the part, so widths from {:.2} mm are sized honestly, and gaps below {:.2} mm are seen as none. Scale by {}",
        picture.coat.area_mm2 / 100.0,
        can.pitch_mm,
        can.least_width_mm,
        can.least_gap_mm,
        Text(&scale.kind)
    )?;
    if let Some(card) = &scale.card {
        write!(
            to,
            " ({}, {} markers, {} corners)",
            Text(&card.name),
            card.markers_seen,
            card.corners_kept
        )?;
    }
    write!(to, ", good to {:.1} % (k = 2) beside it", 200.0 * scale.relative_u)?;
    if let Some(tilt) = scale.tilt_deg {
        write!(to, ", view tilted by {tilt:.0}°")?;
    }
    writeln!(to, ".</p>")?;
    let told: Vec<(&str, String, &str)> = picture
        .gates
        .iter()
        .filter_map(|gate| gate.told().map(|(word, told)| (word, told, gate.remedy.as_str())))
        .collect();
    if told.is_empty() {
        return Ok(writeln!(to, "<p>Every check of the picture passed: {}.</p>", names(picture))?);
    }
    writeln!(to, "<ul>")?;
    for (word, told, remedy) in told {
        writeln!(to, "<li><strong>{word}</strong>: {}; {}</li>", Text(&told), Text(remedy))?;
    }
    Ok(writeln!(to, "</ul>\n<p class=\"soft\">Checked: {}.</p>", names(picture))?)
}

fn names(picture: &Picture) -> String {
    let names: Vec<&str> = picture.gates.iter().map(|gate| gate.name.as_str()).collect();
    Text(&names.join(", ")).to_string()
}
