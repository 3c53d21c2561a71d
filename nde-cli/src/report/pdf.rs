//! The report as a PDF: the same facts as the page, in the same order.

mod face;
mod paper;

use super::closeup::{bar_mm, magnification};
use super::tested::{BLANK, Tested};
use crate::args::Units;
use crate::cautions::CAUTIONS;
use crate::digest::sha256;
use crate::exports::csv::maybe;
use crate::exports::eyes::{place, size, unit};
use crate::exports::spoken::{Spoken, both_verdicts};
use crate::exports::table::{doubts_said, summary};
use crate::record::{Case, Closeup, Record, Row, aside_words};
use anyhow::{Context as _, Result};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use nde_core::{Relevance, Verdict};
use paper::{BODY, CELL, Paper, SOFT, Style, WIDE, Weight};
use pdf_writer::Content;
use std::path::Path;

/// Points in a millimetre.
const POINT: f32 = 72.0 / 25.4;
/// Most height of a marked photo, points: the table of a usual photo stands below it.
const MOST_TALL: f32 = 400.0;
/// Most set-aside places told; the rest stand in `set_aside.csv`.
const MOST_ASIDE: usize = 12;

/// The report as bytes. Of many photos the overview only: each has its own page beside it.
///
/// # Errors
/// A record or a picture that cannot be read back.
pub(super) fn pdf(
    dir: &Path,
    record: &Record,
    tested: Option<&Tested>,
    most: usize,
) -> Result<Vec<u8>> {
    let mut paper = Paper::new("Evaluation of a visible penetrant test");
    let tally = record.tally()?;
    let judged = record.criteria.rules.is_some();
    paper.text(
        "Evaluation of a visible penetrant test",
        Style { size: 17.0, weight: Weight::Plain, grey: 0.0 },
    );
    let whole = record.verdict(&tally).map_or("not judged", Verdict::word);
    paper.text(
        &format!("{whole}: {}", summary(&tally, judged)),
        Style { size: 11.0, weight: Weight::Bold, grey: 0.0 },
    );
    paper.text(CAUTIONS[0], BODY);
    how(tested, &mut paper);
    criteria(record, &mut paper);
    overview(record, &mut paper)?;
    if record.cases.count() <= most {
        record
            .cases
            .each(&mut |case, closeups| photo(dir, case, closeups, record.units, &mut paper))?;
    } else {
        paper.text("Each photo has a page of its own in the folder reports.", BODY);
    }
    paper.heading("How sure the sizes are");
    paper.text("± is the expanded uncertainty with k = 2: about 95 of 100 such intervals hold the true size of the indication. It joins edges, scale, lens and tilt. ±? means that none can be claimed: the size never decides.", BODY);
    paper.heading("Cautions");
    for caution in CAUTIONS {
        paper.text(caution, BODY);
    }
    paper.sign(["Evaluated by, qualification", "Date, signature"]);
    paper.sign(["Checked by, qualification", "Date, signature"]);
    paper.sign(["For the customer", "Date, signature"]);
    Ok(paper.finish())
}

fn cells<const N: usize>(texts: [&str; N]) -> Vec<String> {
    texts.map(str::to_owned).to_vec()
}

/// What was tested and how, or lines to fill in.
fn how(tested: Option<&Tested>, paper: &mut Paper) {
    paper.heading("What was tested, and how");
    let Some(tested) = tested else {
        paper.text("No inspection sheet was given: how the test was done is not recorded here. Fill in by hand:", BODY);
        let mut rows = vec![cells(["what", "", "what", ""])];
        rows.extend(BLANK.chunks(2).map(|two| cells([two[0], "", two.get(1).unwrap_or(&""), ""])));
        return paper.table(&[0.24, 0.26, 0.24, 0.26], &rows);
    };
    let mut rows = vec![cells(["what", "recorded"])];
    rows.extend(tested.facts.iter().map(|fact| fact.to_vec()));
    paper.table(&[0.3, 0.7], &rows);
    if !tested.checks.is_empty() {
        let mut rows = vec![cells(["process", "recorded", "limit", "outcome", "source"])];
        rows.extend(tested.checks.iter().map(|c| {
            [&c.name, &c.found, &c.limit, &c.outcome, &c.source].map(Clone::clone).to_vec()
        }));
        paper.table(&[0.2, 0.22, 0.2, 0.13, 0.25], &rows);
    }
}

fn criteria(record: &Record, paper: &mut Paper) {
    paper.heading("What was judged by");
    let Some(set) = &record.criteria.rules else {
        return paper.text("Nothing was judged: sizes only.", BODY);
    };
    let edition = set.edition().map_or_else(String::new, |e| format!(", edition {e}"));
    paper.text(&format!("{}: {}{edition}", set.id(), set.title()), BODY);
    let mut rows = vec![cells(["rule", "in words", "limit", "source"])];
    for line in set.rules() {
        let source = format!("{}; {}", line.source.text, line.source.confidence.word());
        rows.push(vec![line.name, line.sentence, line.limit, source]);
    }
    paper.table(&[0.15, 0.43, 0.17, 0.25], &rows);
    for sentence in set.conventions().iter().chain(set.cautions()) {
        paper.text(sentence, SOFT);
    }
    paper.text(&format!("Rule set, SHA-256 {}", sha256(set.text().as_bytes())), SOFT);
}

fn overview(record: &Record, paper: &mut Paper) -> Result<()> {
    paper.heading("Photos");
    let head = ["photo", "verdict", "indications", "longest, mm", "picture checks", "SHA-256"];
    let mut rows = vec![cells(head)];
    record.each(|case| {
        let longest = case.indications.iter().map(|r| r.length.mm).fold(0.0_f64, f64::max);
        rows.push(vec![
            case.photo.clone(),
            verdict(case).to_owned(),
            case.indications.len().to_string(),
            if longest > 0.0 { format!("{longest:.2}") } else { String::new() },
            case.picture.as_ref().map_or(String::new(), |picture| picture.checks().told()),
            case.sha256.clone(),
        ]);
        Ok(())
    })?;
    paper.table(&[0.2, 0.09, 0.11, 0.09, 0.23, 0.28], &rows);
    if !record.failures.is_empty() {
        paper.subheading("Could not be done: what these photos show is not known");
        for failure in &record.failures {
            paper.text(&format!("{}: {}", failure.name, failure.why), BODY);
        }
    }
    Ok(())
}

fn verdict(case: &Case) -> &'static str {
    case.verdict().map_or("not judged", Verdict::word)
}

fn photo(
    dir: &Path,
    case: &Case,
    closeups: &[Closeup],
    units: Units,
    paper: &mut Paper,
) -> Result<()> {
    paper.turn();
    paper.heading(&case.photo);
    paper.text(
        &format!("verdict: {}", verdict(case)),
        Style { size: 11.0, weight: Weight::Bold, grey: 0.0 },
    );
    if let Some(marked) = &case.marked {
        let path = dir.join(marked);
        let bytes = std::fs::read(&path)
            .with_context(|| format!("{}: give the same command again", path.display()))?;
        let image = paper.image(bytes)?;
        let [width, height] = image.size_px.map(points);
        let share = (WIDE / width).min(MOST_TALL / height);
        let size = [width * share, height * share];
        paper.need(size[1]);
        paper.picture(image, [0.0, 0.0], size, |_| ());
        paper.gap(size[1] + 6.0);
    }
    list(case, units, paper);
    reasons(case, paper);
    called(case, units, paper);
    close(case, closeups, paper)?;
    if let Some(picture) = &case.picture {
        paper.subheading("What this picture can decide");
        paper.text(
            &format!(
                "Area read {:.1} cm². One pixel is {:.3} mm on the part: widths from {:.2} mm are sized honestly, gaps below {:.2} mm are seen as none. Scale by {}, good to {:.1} % (k = 2) beside it.",
                picture.coat.area_mm2 / 100.0,
                picture.resolution.pitch_mm,
                picture.resolution.least_width_mm,
                picture.resolution.least_gap_mm,
                picture.scale.kind,
                200.0 * picture.scale.relative_u
            ),
            BODY,
        );
        for gate in &picture.gates {
            if let Some((word, told)) = gate.told() {
                paper.text(&format!("{word}: {told}; {}", gate.remedy), BODY);
            }
        }
    }
    aside(case, paper);
    Ok(())
}

fn list(case: &Case, units: Units, paper: &mut Paper) {
    if case.indications.is_empty() {
        return paper.text("No indication in the area read.", BODY);
    }
    let unit = unit(units);
    let [length, width, at] = ["length", "width", "at x, y"].map(|what| format!("{what}, {unit}"));
    let head = ["id", "kind", &length, &width, "ratio", &at, "called", "verdict", "why"];
    let mut rows = vec![cells(head)];
    for row in &case.indications {
        let at = row.at_mm.map_or_else(String::new, |at| place(at, units));
        let label = row.label.as_deref().map_or_else(String::new, |l| format!(", {l}"));
        rows.push(vec![
            row.id.clone(),
            row.kind.word().to_owned(),
            size(&row.length, units),
            size(&row.width, units),
            maybe(row.ratio, 1),
            at,
            match row.relevance {
                Relevance::NotYetCalled => format!("not yet{label}"),
                relevance => format!("{}{label}", relevance.word()),
            },
            row.verdict.map_or("", Verdict::word).to_owned(),
            row.reason.clone().unwrap_or_default(),
        ]);
    }
    paper.table(&[0.04, 0.085, 0.12, 0.11, 0.055, 0.125, 0.13, 0.08, 0.255], &rows);
    for (who, sentence) in doubts_said(&case.indications) {
        paper.text(&format!("Doubt ({who}): {sentence}"), SOFT);
    }
}

fn reasons(case: &Case, paper: &mut Paper) {
    let Some(judgement) = &case.judgement else { return };
    paper.subheading("Reasons");
    if judgement.findings.is_empty() {
        paper.text("No rule rejects anything here.", BODY);
    }
    for finding in &judgement.findings {
        let who = match finding.indications.as_slice() {
            [] => "the whole picture".to_owned(),
            ids => ids.join(", "),
        };
        let next = finding.action.as_deref().map_or_else(String::new, |a| format!(" Next: {a}"));
        paper.text(
            &format!(
                "{} {who}: {}; found {}, limit {} [{}; {}]{next}",
                finding.verdict.word(),
                finding.rule,
                finding.found,
                finding.limit,
                finding.source,
                finding.confidence
            ),
            BODY,
        );
    }
}

/// What a person called, beside the verdict without it.
fn called(case: &Case, units: Units, paper: &mut Paper) {
    let said = Spoken::all(case, units);
    if said.is_empty() {
        return;
    }
    paper.subheading("Called by a person");
    if let Some(both) = both_verdicts(case) {
        paper.text(&both, BODY);
    }
    let mut rows = vec![cells(["id", "called", "what it is", "reason", "by", "size by hand"])];
    rows.extend(
        said.into_iter()
            .map(|one| vec![one.id, one.called, one.label, one.reason, one.by, one.own]),
    );
    paper.table(&[0.06, 0.14, 0.14, 0.34, 0.18, 0.14], &rows);
}

/// Close-ups in rows, each at its magnification with outline and scale bar.
fn close(case: &Case, closeups: &[Closeup], paper: &mut Paper) -> Result<()> {
    if closeups.is_empty() {
        return Ok(());
    }
    let first = closeups.first().map_or(0.0, |c| on_paper(c)[1]);
    paper.need(first + 50.0);
    paper.subheading("Close up (4 times as large as on the part where nothing else is said)");
    for row in rows_of(closeups) {
        let tall = row.iter().map(|c| on_paper(c)[1]).fold(0.0_f32, f32::max);
        paper.need(tall + 22.0);
        let mut x = 0.0;
        for closeup in row {
            let size = on_paper(closeup);
            let image = paper.image(STANDARD.decode(&closeup.jpeg)?)?;
            paper.picture(image, [x, 0.0], size, |over| overlay(closeup, size[1], over));
            if let Some(row) = case.indications.iter().find(|row| row.id == closeup.id) {
                paper.label(&told(closeup, row), [x, size[1] + 2.0], CELL);
            }
            x += taken(closeup);
        }
        paper.gap(tall + 20.0);
    }
    Ok(())
}

/// Size on paper, points.
fn on_paper(closeup: &Closeup) -> [f32; 2] {
    closeup.size_mm.map(|mm| millimetres(mm * magnification(closeup.size_mm)))
}

/// Width it takes in a row: its own, or what its words need.
fn taken(closeup: &Closeup) -> f32 {
    on_paper(closeup)[0].max(126.0) + 10.0
}

/// What stands side by side.
fn rows_of(closeups: &[Closeup]) -> Vec<Vec<&Closeup>> {
    let mut rows: Vec<(f32, Vec<&Closeup>)> = Vec::new();
    for closeup in closeups {
        match rows.last_mut() {
            Some((x, row)) if *x + on_paper(closeup)[0] <= WIDE => {
                row.push(closeup);
                *x += taken(closeup);
            }
            _ => rows.push((taken(closeup), vec![closeup])),
        }
    }
    rows.into_iter().map(|(_, row)| row).collect()
}

fn told(closeup: &Closeup, row: &Row) -> String {
    let grown = magnification(closeup.size_mm);
    let other = if grown < super::closeup::MAGNIFICATION {
        format!(", {grown} times")
    } else {
        String::new()
    };
    format!(
        "{}  {} mm; bar {} mm{other}",
        row.id,
        size(&row.length, Units::Mm),
        bar_mm(closeup.size_mm[0])
    )
}

/// Outline and scale bar on a close-up, from its lower left corner.
fn overlay(closeup: &Closeup, height: f32, over: &mut Content) {
    let grown = magnification(closeup.size_mm);
    let place = |[x, y]: [f64; 2]| [millimetres(x * grown), height - millimetres(y * grown)];
    over.set_stroke_rgb(0.04, 0.26, 0.75).set_line_width(0.7);
    for (n, p) in closeup.outline_mm.iter().enumerate() {
        let [x, y] = place(*p);
        if n == 0 {
            over.move_to(x, y)
        } else {
            over.line_to(x, y)
        };
    }
    if !closeup.outline_mm.is_empty() {
        over.close_path().stroke();
    }
    let bar = millimetres(bar_mm(closeup.size_mm[0]) * grown);
    over.set_fill_gray(1.0).rect(4.0, 3.0, bar + 8.0, 9.0).fill_nonzero();
    over.set_stroke_gray(0.0).set_line_width(1.0);
    over.move_to(8.0, 7.5).line_to(8.0 + bar, 7.5);
    over.move_to(8.0, 5.0).line_to(8.0, 10.0);
    over.move_to(8.0 + bar, 5.0).line_to(8.0 + bar, 10.0).stroke();
}

fn aside(case: &Case, paper: &mut Paper) {
    if case.set_aside.is_empty() {
        return;
    }
    paper.subheading(&format!("Seen, not counted: {}", case.set_aside.len()));
    let mut order: Vec<_> = case.set_aside.iter().collect();
    order.sort_by(|a, b| b.length_mm.total_cmp(&a.length_mm));
    let mut rows = vec![cells(["why not", "length, mm", "width, mm", "at x, y, mm"])];
    for one in order.into_iter().take(MOST_ASIDE) {
        let at = place(one.at_mm, Units::Mm);
        let sizes = [one.length_mm, one.width_mm].map(|mm| format!("{mm:.2}"));
        let [length, width] = sizes;
        rows.push(vec![aside_words(&one.reason).to_owned(), length, width, at]);
    }
    paper.table(&[0.3, 0.2, 0.2, 0.3], &rows);
    if case.set_aside.len() > MOST_ASIDE {
        paper.text("The longest are told here; all stand in set_aside.csv.", SOFT);
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a page's sizes")]
fn millimetres(mm: f64) -> f32 {
    mm as f32 * POINT
}

#[expect(clippy::cast_precision_loss, reason = "a picture's sizes are far below 2^24")]
fn points(px: u32) -> f32 {
    px as f32
}
