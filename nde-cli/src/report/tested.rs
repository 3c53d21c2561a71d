//! What was tested and how: from the inspection sheet, or lines to fill in by hand.

use super::html::Text;
use crate::record::Part;
use anyhow::Result;
use std::io::Write;

/// What a sheet tells, ready to be shown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Tested {
    /// What and value, such as `part` and `chainplate, port`.
    pub facts: Vec<[String; 2]>,
    /// Each process limit that was looked at.
    pub checks: Vec<Checked>,
}

/// One process limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Checked {
    /// What is limited, such as `dwell`.
    pub name: String,
    /// What was recorded; empty: nothing.
    pub found: String,
    /// The limit.
    pub limit: String,
    /// Where the limit stands.
    pub source: String,
    /// `met`, `not met`, `not recorded`.
    pub outcome: String,
}

impl Tested {
    /// From what is known of the part; absent without a sheet.
    pub(crate) fn of(part: &Part) -> Option<Self> {
        part.sheet_sha256.as_ref()?;
        let mut facts = part.facts.clone();
        if let Some(technique) = &part.technique {
            facts.push(["technique".into(), format!("{}: {}", technique.id, technique.title)]);
        }
        facts.extend(part.zones.iter().map(|zone| {
            let seen = match zone.inspected_mm2 {
                None => "not inspected".to_owned(),
                Some(area) => {
                    let verdict = zone.verdict.map_or(String::new(), |v| format!(", {}", v.word()));
                    format!("{:.1} cm2 read{verdict}", area / 100.0)
                }
            };
            [format!("zone {}: result", zone.name), seen]
        }));
        if let Some(verdict) = part.verdict {
            facts.push(["part as a whole".into(), verdict.word().into()]);
        }
        facts.extend(part.findings.iter().map(|finding| {
            let next = finding.action.as_ref().map_or(String::new(), |a| format!("; next: {a}"));
            [
                format!("{}: {}", finding.verdict.word(), finding.rule),
                format!("{}{next}", finding.found),
            ]
        }));
        let checks = part
            .process
            .iter()
            .map(|item| Checked {
                name: item.item.clone(),
                found: item.found.clone().unwrap_or_default(),
                limit: item.limit.clone(),
                source: item.source.clone(),
                outcome: item.outcome.clone(),
            })
            .collect();
        Some(Self { facts, checks })
    }
}

/// What a report must say even where no sheet was given.
pub(super) const BLANK: [&str; 12] = [
    "Part, drawing, number",
    "Material, surface",
    "Area tested",
    "Procedure, acceptance document",
    "Penetrant, batch",
    "Remover and method of removal",
    "Developer, batch",
    "Temperature of the part",
    "Penetrant on / off (times)",
    "Developer on / photo (times)",
    "Light at the part",
    "Tested by, qualification",
];

pub(super) fn write(tested: Option<&Tested>, to: &mut dyn Write) -> Result<()> {
    writeln!(
        to,
        "<section aria-labelledby=\"tested\">\n<h2 id=\"tested\">What was tested, and how</h2>"
    )?;
    match tested {
        Some(tested) => filled(tested, to)?,
        None => {
            writeln!(
                to,
                "<p>No inspection sheet was given: how the test was done is not recorded here. An evaluation is worth no more than the test; fill in by hand:</p>"
            )?;
            writeln!(to, "<table class=\"blank\"><tbody>")?;
            for pair in BLANK.chunks(2) {
                write!(to, "<tr>")?;
                for what in pair {
                    write!(
                        to,
                        "<th scope=\"row\" style=\"width:20%\">{what}</th><td style=\"width:30%\"></td>"
                    )?;
                }
                writeln!(to, "</tr>")?;
            }
            writeln!(to, "</tbody></table>")?;
        }
    }
    Ok(writeln!(to, "</section>")?)
}

fn filled(tested: &Tested, to: &mut dyn Write) -> Result<()> {
    writeln!(to, "<table><tbody>")?;
    for [what, value] in &tested.facts {
        writeln!(to, "<tr><th scope=\"row\">{}</th><td>{}</td></tr>", Text(what), Text(value))?;
    }
    writeln!(to, "</tbody></table>")?;
    if tested.checks.is_empty() {
        return Ok(());
    }
    writeln!(
        to,
        "<h3>The process against the technique</h3>\n<table><thead><tr><th scope=\"col\">what</th><th scope=\"col\">recorded</th><th scope=\"col\">limit</th><th scope=\"col\">outcome</th><th scope=\"col\">source</th></tr></thead><tbody>"
    )?;
    for check in &tested.checks {
        writeln!(
            to,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            Text(&check.name),
            Text(&check.found),
            Text(&check.limit),
            Text(&check.outcome),
            Text(&check.source)
        )?;
    }
    Ok(writeln!(to, "</tbody></table>")?)
}
