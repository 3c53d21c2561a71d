//! One row an indication, comma, header row, UTF-8.
//!
//! Millimetres have four decimals (typed ones as many as were typed), uncertainties three.

use super::eyes;
use crate::record::{Basis, Checks, Picture, Record, Row, Said, Size};
use anyhow::Result;
use std::io::Write;

/// The columns of `indications.csv`. New ones are added at the end only.
pub(crate) const COLUMNS: [&str; 34] = [
    "photo",
    "id",
    "kind",
    "length_mm",
    "length_u_mm",
    "width_mm",
    "width_u_mm",
    "ratio",
    "x_px",
    "y_px",
    "x_mm",
    "y_mm",
    "angle_deg",
    "area_mm2",
    "path_mm",
    "contrast",
    "group",
    "relevance",
    "verdict",
    "reason",
    "doubts",
    "visible_mm",
    "mean_width_mm",
    "length_edge_u_mm",
    "length_scale_u_mm",
    "width_edge_u_mm",
    "width_scale_u_mm",
    "p_linear",
    "label",
    "call_reason",
    "call_by",
    "call_when",
    "own_length_mm",
    "own_width_mm",
];

/// The columns of `set_aside.csv`.
pub(crate) const ASIDE_COLUMNS: [&str; 9] =
    ["photo", "reason", "x_px", "y_px", "x_mm", "y_mm", "length_mm", "width_mm", "contrast"];

/// The columns of `photos.csv`. New ones are added at the end only.
pub(crate) const PHOTO_COLUMNS: [&str; 11] = [
    "photo",
    "done",
    "verdict",
    "indications",
    "set_aside",
    "area_read_mm2",
    "checks_not_fit",
    "checks_warning",
    "checks",
    "why_not_done",
    "sha256",
];

/// One row a photo, those without an indication and those that could not be done included.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn photos(record: &Record, target: &mut dyn Write) -> Result<()> {
    let mut writer = ::csv::Writer::from_writer(target);
    writer.write_record(PHOTO_COLUMNS)?;
    record.each(|case| {
        let checks = case.picture.as_ref().map(Picture::checks);
        let many = |of: fn(&Checks) -> &Vec<String>| {
            checks.as_ref().map_or(String::new(), |checks| of(checks).len().to_string())
        };
        Ok(writer.write_record([
            inert(&case.photo),
            "yes".to_owned(),
            case.verdict().map_or(String::new(), |verdict| verdict.word().to_owned()),
            case.indications.len().to_string(),
            case.set_aside.len().to_string(),
            maybe(case.picture.as_ref().map(|picture| picture.coat.area_mm2), 1),
            many(|checks| &checks.failed),
            many(|checks| &checks.warned),
            checks.as_ref().map_or(String::new(), Checks::told),
            String::new(),
            case.sha256.clone(),
        ])?)
    })?;
    for failure in &record.failures {
        let mut row = [const { String::new() }; PHOTO_COLUMNS.len()];
        row[0] = inert(&failure.name);
        row[1] = "no".to_owned();
        row[9] = inert(&failure.why);
        writer.write_record(row)?;
    }
    Ok(writer.flush()?)
}

/// The counted indications.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn indications(record: &Record, target: &mut dyn Write) -> Result<()> {
    let mut writer = ::csv::Writer::from_writer(target);
    writer.write_record(COLUMNS)?;
    record.each(|case| {
        let mut rows = case.indications.iter();
        rows.try_for_each(|row| Ok(writer.write_record(cells(&case.photo, row))?))
    })?;
    Ok(writer.flush()?)
}

/// What was seen and not counted, with its reason.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn set_aside(record: &Record, target: &mut dyn Write) -> Result<()> {
    let mut writer = ::csv::Writer::from_writer(target);
    writer.write_record(ASIDE_COLUMNS)?;
    record.each(|case| {
        for aside in &case.set_aside {
            let [x_px, y_px] = aside.at_px;
            let [x_mm, y_mm] = aside.at_mm;
            writer.write_record([
                inert(&case.photo),
                aside.reason.clone(),
                number(x_px, 2),
                number(y_px, 2),
                number(x_mm, 4),
                number(y_mm, 4),
                number(aside.length_mm, 4),
                number(aside.width_mm, 4),
                number(aside.contrast, 4),
            ])?;
        }
        Ok(())
    })?;
    Ok(writer.flush()?)
}

fn cells(photo: &str, row: &Row) -> [String; 34] {
    let [length_edge, length_scale] = parts(&row.length);
    let [width_edge, width_scale] = parts(&row.width);
    let doubts: Vec<&str> = row.doubts.iter().map(|doubt| doubt.word.as_str()).collect();
    let said =
        |of: fn(&Said) -> Option<&str>| inert(row.said.as_ref().and_then(of).unwrap_or_default());
    [
        inert(photo),
        inert(&row.id),
        row.kind.word().to_owned(),
        size(&row.length),
        maybe(row.length.u_mm, 3),
        size(&row.width),
        maybe(row.width.u_mm, 3),
        maybe(row.ratio, 3),
        maybe(row.at_px.map(|p| p[0]), 2),
        maybe(row.at_px.map(|p| p[1]), 2),
        maybe(row.at_mm.map(|p| p[0]), 4),
        maybe(row.at_mm.map(|p| p[1]), 4),
        maybe(row.angle_deg, 2),
        maybe(row.area_mm2, 4),
        maybe(row.path_mm, 4),
        maybe(row.contrast, 4),
        row.group.map_or_else(String::new, |g| g.to_string()),
        row.relevance.word().to_owned(),
        row.verdict.map_or_else(String::new, |v| v.word().to_owned()),
        inert(row.reason.as_deref().unwrap_or_default()),
        doubts.join(" "),
        maybe(row.visible_mm, 4),
        maybe(row.mean_width_mm, 4),
        length_edge,
        length_scale,
        width_edge,
        width_scale,
        maybe(row.p_linear, 4),
        inert(row.label.as_deref().unwrap_or_default()),
        said(|said| said.reason.as_deref()),
        said(|said| said.by.as_deref()),
        said(|said| said.when.as_deref()),
        maybe(row.said.as_ref().and_then(|said| said.own_length_mm), 4),
        maybe(row.said.as_ref().and_then(|said| said.own_width_mm), 4),
    ]
}

fn parts(size: &Size) -> [String; 2] {
    [size.edge_u_mm, size.scale_u_mm].map(|part| maybe(part, 3))
}

/// A typed length keeps what was typed: it decides ties.
fn size(size: &Size) -> String {
    match size.basis {
        Basis::Typed => size.mm.to_string(),
        Basis::Measured => number(size.mm, 4),
    }
}

pub(crate) fn maybe(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(String::new, |v| number(v, decimals))
}

/// A number, or nothing where there is none.
pub(super) fn number(value: f64, decimals: usize) -> String {
    if value.is_finite() { eyes::number(value, decimals) } else { String::new() }
}

/// A text that a spreadsheet would take for a formula gets an apostrophe in front.
/// Source: common practice against formula injection, no single source.
pub(crate) fn inert(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_contract_columns_stand_first_and_in_order() {
        assert_eq!(
            COLUMNS[..21].join(","),
            "photo,id,kind,length_mm,length_u_mm,width_mm,width_u_mm,ratio,x_px,y_px,x_mm,y_mm,angle_deg,area_mm2,path_mm,contrast,group,relevance,verdict,reason,doubts"
        );
    }

    #[test]
    fn formulas_become_text() {
        assert_eq!(inert("=1+1"), "'=1+1");
        assert_eq!(inert("@x"), "'@x");
        assert_eq!(inert("a=b"), "a=b");
    }

    #[test]
    fn absent_is_empty_and_zero_has_no_sign() {
        assert_eq!(maybe(None, 3), "");
        assert_eq!(number(f64::NAN, 3), "");
        assert_eq!(number(-0.000_01, 3), "0.000");
        assert_eq!(number(-0.5, 1), "-0.5");
    }

    #[test]
    fn typed_lengths_keep_their_digits() {
        let exact =
            Size::of(&nde_core::Measured::exact(nde_core::Length::parse_inch("1/64").unwrap()));
        assert_eq!(size(&exact), "0.396875");
    }
}
