//! Where each stated uncertainty comes from: the table a metrologist asks for.
//!
//! For each photo the sources that all its lengths share, as shares of a length next to the scale;
//! then for each indication every source with what it brings to the length in millimetres, the
//! combined standard uncertainty, the effective degrees of freedom, k and U.

use super::columns::{Align, Columns};
use super::eyes::number;
use crate::record::{Case, LengthOrigins, Origins, Record, Row};
use crate::talk::{Dress, Paint, harmless};
use anyhow::Result;
use nde_measure::budget::COVERAGE;
use std::fmt::Write as _;
use std::io::Write;

/// The columns of the list form.
pub(crate) const COLUMNS: [&str; 12] = [
    "photo",
    "id",
    "length_mm",
    "part",
    "source",
    "stated",
    "unit",
    "distribution",
    "standard_u",
    "sensitivity_mm",
    "contribution_mm",
    "degrees_of_freedom",
];

/// The tables for people.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn write(record: &Record, dress: Dress, target: &mut dyn Write) -> Result<()> {
    record.each(|case| Ok(target.write_all(case_text(case, dress).as_bytes())?))?;
    target.write_all(
        b"Sources are taken as independent and combined as JCGM 100:2008 (GUM), 5.1.2 and G.4.1, says.\n",
    )?;
    Ok(())
}

/// One row a source of each indication.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn list(record: &Record, target: &mut dyn Write) -> Result<()> {
    let mut writer = ::csv::Writer::from_writer(target);
    writer.write_record(COLUMNS)?;
    record.each(|case| {
        for row in &case.indications {
            let Some(origins) = &row.length_origins else { continue };
            for (part, of_part) in
                [("scale", Some(&origins.scale)), ("edge", origins.edge.as_ref())]
            {
                for origin in of_part.iter().flat_map(|part| &part.sources) {
                    writer.write_record([
                        super::csv::inert(&case.photo),
                        row.id.clone(),
                        number(row.length.mm, 4),
                        part.to_owned(),
                        origin.source.clone(),
                        number(origin.stated, 6),
                        origin.unit.clone(),
                        origin.distribution.clone(),
                        number(origin.standard_u, 6),
                        number(origin.sensitivity, 6),
                        number(origin.contribution, 6),
                        origin.degrees_of_freedom.map_or_else(String::new, |f| format!("{f:.1}")),
                    ])?;
                }
            }
        }
        Ok(())
    })?;
    Ok(writer.flush()?)
}

// Every `let _ = write!` below goes into a String, which takes everything.

fn case_text(case: &Case, dress: Dress) -> String {
    let Some(picture) = &case.picture else { return String::new() };
    let mut text = dress.paint(Paint::Strong, &harmless(&case.photo));
    text.push_str("\n  common to the photo: shares of a length next to the scale\n");
    for (n, scale) in std::iter::once(&picture.scale).chain(&picture.scale.others).enumerate() {
        if n > 0 {
            let _ = writeln!(text, "  further card {n}");
        }
        let origins = &scale.origins;
        text.push_str(&table(&[origins], 100.0, "share %", dress));
        let u = 100.0 * origins.combined;
        let _ = writeln!(
            text,
            "    combined {u:.3} %{}; U = {:.3} % (k = {COVERAGE})",
            freedom_text(origins.degrees_of_freedom),
            COVERAGE * u
        );
    }
    let seen = &picture.resolution;
    let basis = if seen.blur_mm.is_some() { "measured" } else { "assumed" };
    let _ = writeln!(
        text,
        "  sharpness ({basis}): gaps under {:.2} mm are not seen, marks under {:.2} mm are called neither linear nor rounded, widths under {:.2} mm are upper bounds",
        seen.least_gap_mm, seen.least_length_mm, seen.least_width_mm
    );
    if case.indications.is_empty() {
        text.push_str("  no indication seen in the area read\n");
    }
    for row in &case.indications {
        if let Some(origins) = &row.length_origins {
            indication_text(row, origins, dress, &mut text);
        }
    }
    text.push('\n');
    text
}

fn indication_text(row: &Row, origins: &LengthOrigins, dress: Dress, text: &mut String) {
    let name = format!("{}  length {:.3} mm", row.id, row.length.mm);
    let _ = writeln!(text, "  {}", dress.paint(Paint::Strong, &harmless(&name)));
    let (Some(edge), Some(u)) = (&origins.edge, origins.combined) else {
        text.push_str("    too faint: no uncertainty is stated for it\n");
        return;
    };
    text.push_str(&table(&[&origins.scale, edge], 1.0, "mm", dress));
    let _ = writeln!(
        text,
        "    scale part {:.4} mm, edge part {:.4} mm, combined {u:.4} mm{}; U = {:.3} mm (k = {COVERAGE})",
        origins.scale.combined,
        edge.combined,
        freedom_text(origins.degrees_of_freedom),
        COVERAGE * u
    );
}

/// From some thousands on nobody tells them from infinitely many.
fn freedom_text(freedom: Option<f64>) -> String {
    match freedom {
        Some(f) if f < 9999.5 => format!(", {f:.0} effective degrees of freedom"),
        _ => String::new(),
    }
}

fn table(parts: &[&Origins], times: f64, contribution: &str, dress: Dress) -> String {
    let mut table = Columns::new(&[
        ("source", Align::Left),
        ("stated", Align::Right),
        ("distribution", Align::Left),
        ("standard u", Align::Right),
        ("sensitivity", Align::Right),
        (contribution, Align::Right),
        ("dof", Align::Right),
    ]);
    for origin in parts.iter().flat_map(|part| &part.sources) {
        table.push(vec![
            (&origin.source).into(),
            format!("{} {}", number(origin.stated, 4), origin.unit).into(),
            (&origin.distribution).into(),
            format!("{} {}", number(origin.standard_u, 4), origin.unit).into(),
            number(times * origin.sensitivity, 5).into(),
            number(times * origin.contribution, 4).into(),
            origin.degrees_of_freedom.map_or_else(String::new, |f| format!("{f:.0}")).into(),
        ]);
    }
    table.lines(4, dress)
}
