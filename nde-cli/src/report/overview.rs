//! All photos of a run in one table, and what could not be done.

use super::html::{Attribute, Link, Text, verdict};
use super::plots::Many;
use crate::record::{Case, Record};
use anyhow::Result;
use std::io::Write;

/// Where the name of a photo leads.
pub(super) enum Leads<'a> {
    /// Further down in the same file.
    Down,
    /// To its own page.
    Page(&'a dyn Fn(&Case) -> String),
}

pub(super) fn write(record: &Record, leads: &Leads<'_>, to: &mut dyn Write) -> Result<()> {
    if record.cases.count() + record.failures.len() < 2 {
        return Ok(());
    }
    writeln!(
        to,
        "<section aria-labelledby=\"photos\">\n<h2 id=\"photos\">All photos</h2>\n<div class=\"scroll\"><table><thead><tr><th scope=\"col\">photo</th><th scope=\"col\">verdict</th><th scope=\"col\" class=\"n\">indications</th><th scope=\"col\" class=\"n\">longest, mm</th><th scope=\"col\" class=\"n\">area read, cm²</th><th scope=\"col\">checks of the picture</th></tr></thead><tbody>"
    )?;
    let (mut n, mut many) = (0, Many::default());
    record.each(|case| {
        n += 1;
        many.add(case);
        let link = match leads {
            Leads::Down => format!("#photo-{n}"),
            Leads::Page(page) => Link(&page(case)).to_string(),
        };
        let longest = case.indications.iter().map(|r| r.length.mm).fold(0.0_f64, f64::max);
        let longest = if longest > 0.0 { format!("{longest:.2}") } else { String::new() };
        let area = case.picture.as_ref().map(|p| format!("{:.1}", p.coat.area_mm2 / 100.0));
        let fit = case.picture.as_ref().map_or(String::new(), |p| p.checks().told());
        Ok(writeln!(
            to,
            "<tr data-sha=\"{}\"><th scope=\"row\" class=\"name\"><a href=\"{link}\">{}</a></th><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{longest}</td><td class=\"n\">{}</td><td>{}</td></tr>",
            Attribute(&case.sha256),
            Text(&case.photo),
            verdict(case.verdict()),
            case.indications.len(),
            area.unwrap_or_default(),
            Text(&fit)
        )?)
    })?;
    writeln!(to, "</tbody></table></div>")?;
    if let Some(svg) = many.drawn() {
        writeln!(
            to,
            "<figure>{svg}<figcaption>Indications by length. Black: linear; white: rounded.</figcaption></figure>"
        )?;
    }
    failures(record, to)?;
    Ok(writeln!(to, "</section>")?)
}

fn failures(record: &Record, to: &mut dyn Write) -> Result<()> {
    if record.failures.is_empty() {
        return Ok(());
    }
    writeln!(
        to,
        "<h3>Could not be done</h3>\n<p>These photos were <strong>not evaluated</strong>: what they show is not known.</p>\n<ul>"
    )?;
    for failure in &record.failures {
        writeln!(to, "<li><strong>{}</strong>: {}</li>", Text(&failure.name), Text(&failure.why))?;
    }
    Ok(writeln!(to, "</ul>")?)
}
