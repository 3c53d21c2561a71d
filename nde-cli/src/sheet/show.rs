//! A sheet for eyes.

use super::{Product, Sheet, Times};
use crate::clock::{Moment, span};
use crate::talk::{Dress, Paint, harmless};
use std::fmt::Write as _;

/// One heading of a sheet with what is recorded under it: what, and its value.
pub(crate) type Block = (String, Vec<(&'static str, String)>);

/// Every recorded line of the sheet; what is not recorded is left out.
#[must_use]
pub(crate) fn shown(sheet: &Sheet, dress: Dress) -> String {
    let mut text = String::new();
    for (title, lines) in blocks(sheet) {
        // A String takes everything.
        let _ = writeln!(text, "{}", dress.paint(Paint::Strong, &title));
        for (key, value) in lines {
            let _ = writeln!(text, "  {key:<14}{value}");
        }
    }
    text
}

/// What is recorded, heading by heading.
#[must_use]
pub(crate) fn blocks(sheet: &Sheet) -> Vec<Block> {
    let mut all: Vec<Block> = Vec::new();
    let mut block = |title: &str, lines: Vec<(&'static str, Option<String>)>| {
        let lines: Vec<(&str, String)> = lines
            .into_iter()
            .filter_map(|(key, value)| Some((key, harmless(&value?).to_string())))
            .collect();
        if !lines.is_empty() {
            all.push((title.to_owned(), lines));
        }
    };
    let words = |list: Vec<String>| (!list.is_empty()).then(|| list.join(", "));
    let yes = |it: Option<bool>| it.map(|yes| if yes { "yes" } else { "no" }.to_owned());
    let quantity = |it: &Option<nde_core::technique::Quantity>| it.map(|q| q.to_string());
    let part = &sheet.part;
    block(
        "part",
        vec![
            ("name", part.name.clone()),
            ("number", part.number.clone()),
            ("material", part.material.map(|m| m.word().into())),
            ("form", part.form.map(|m| m.word().into())),
            ("looked for", words(part.looked_for.iter().map(|f| f.word().to_owned()).collect())),
            ("surface", part.surface.clone()),
            ("bare", yes(part.bare)),
            ("area", part.area.clone()),
        ],
    );
    let procedure = &sheet.procedure;
    block(
        "procedure",
        vec![
            ("document", procedure.document.clone()),
            ("technique", procedure.technique.clone()),
            ("rules", procedure.rules.clone()),
            ("own limits", words(procedure.limits.iter().map(ToString::to_string).collect())),
            ("scale", words(procedure.scale.iter().map(ToString::to_string).collect())),
            ("calls", procedure.calls.clone()),
            ("retest", procedure.retest.map(|r| r.word().into())),
        ],
    );
    let people = &sheet.people;
    block(
        "people",
        vec![
            ("tested by", people.tested_by.clone()),
            ("evaluated by", people.evaluated_by.clone()),
            ("qualification", people.qualification.clone()),
        ],
    );
    let product = |it: &Product| {
        let batch = it.batch.as_ref().map(|b| format!("batch {b}"));
        let dwell = it.dwell.map(|d| format!("dwell at least {d}"));
        let all: Vec<String> = [it.product.clone(), batch, dwell].into_iter().flatten().collect();
        (!all.is_empty()).then(|| all.join(", "))
    };
    let materials = &sheet.materials;
    block(
        "materials",
        vec![
            ("cleaner", product(&materials.cleaner)),
            ("penetrant", product(&materials.penetrant)),
            ("developer", product(&materials.developer)),
            ("one family", yes(materials.one_family)),
            ("halogen", quantity(&materials.halogen)),
            ("sulfur", quantity(&materials.sulfur)),
        ],
    );
    block(
        "conditions",
        vec![
            ("temperature", quantity(&sheet.conditions.temperature)),
            ("light", quantity(&sheet.conditions.light)),
            ("light meter", sheet.conditions.light_meter.clone()),
        ],
    );
    let steps = &sheet.steps;
    let with = |times: &Times, more: Vec<Option<String>>| {
        let all: Vec<String> = std::iter::once(between(times)).chain(more).flatten().collect();
        (!all.is_empty()).then(|| all.join(", "))
    };
    let said =
        |it: Option<bool>, yes: &str, no: &str| it.map(|it| if it { yes } else { no }.to_owned());
    block(
        "steps",
        vec![
            (
                "clean",
                with(
                    &steps.clean,
                    vec![
                        said(steps.blown_dry, "blown dry", "left to dry"),
                        steps.margin.map(|m| format!("{m} around the area")),
                    ],
                ),
            ),
            (
                "penetrant",
                with(&steps.penetrant, vec![said(steps.dried, "dried on the part", "kept wet")]),
            ),
            (
                "remove",
                with(
                    &steps.remove,
                    vec![
                        steps.method.map(|m| m.word().into()),
                        quantity(&steps.pressure),
                        quantity(&steps.rinse_temperature),
                    ],
                ),
            ),
            (
                "develop",
                with(
                    &steps.develop,
                    vec![
                        steps.dry.map(|d| format!("dry {}", d.time_of_day())),
                        steps.developer.map(|d| d.word().into()),
                        steps.coat.map(|c| format!("{} coat", c.word())),
                    ],
                ),
            ),
            ("read", between(&steps.read)),
            ("post clean", between(&steps.post_clean)),
        ],
    );
    let clock = match sheet.camera.ahead_seconds {
        0 => None,
        ahead if ahead > 0 => Some(format!("{} fast", span(ahead))),
        behind => Some(format!("{} slow", span(-behind))),
    };
    block("camera", vec![("zone", sheet.camera.zone()), ("clock", clock)]);
    for zone in &sheet.zones {
        let photos = match zone.photos.len() {
            0 => "no photo: not inspected".to_owned(),
            _ => zone.photos.join(", "),
        };
        block(
            &format!("zone {}", harmless(&zone.name)),
            vec![
                ("photos", Some(photos)),
                ("height", zone.height.map(|h| h.to_string())),
                ("scale", words(zone.scale.iter().map(ToString::to_string).collect())),
                ("outlines", (!zone.regions.is_empty()).then(|| zone.regions.len().to_string())),
            ],
        );
    }
    block(
        "notes",
        sheet
            .notes
            .iter()
            .map(|note| {
                (
                    "",
                    Some(format!(
                        "{}{}",
                        note.at.map_or(String::new(), |at| format!("{at}  ")),
                        note.text
                    )),
                )
            })
            .collect(),
    );
    all
}

/// `2026-05-04T10:05:00+02:00 to 10:17:00 (12:00)`.
fn between(times: &Times) -> Option<String> {
    let length = |start: Moment, end: Moment| span(end.seconds_since(start));
    match (times.start, times.end) {
        (Some(start), Some(end)) => {
            Some(format!("{start} to {} ({})", end.time_of_day(), length(start, end)))
        }
        (Some(start), None) => Some(format!("from {start}")),
        (None, Some(end)) => Some(format!("until {end}")),
        (None, None) => None,
    }
}
