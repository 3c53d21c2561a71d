//! The part as a whole: worst of its zones, with what its process and its missing photos add.

use super::Inspection;
use crate::record::{Part, ProcessItem, Reasoned, Record, TechniqueUsed, ZoneSeen};
use crate::sheet::Sheet;
use anyhow::Result;
use nde_core::technique::{self, Checked, Technique};
use nde_core::{Confidence, Finding, Source, Verdict};

/// What a part needs to know of one photo that was read.
struct Read {
    photo: String,
    area_mm2: f64,
    verdict: Option<Verdict>,
}

impl Inspection {
    /// What is said of the part; absent without sheet and calls.
    ///
    /// # Errors
    /// A case that cannot be read back.
    pub(crate) fn part(&self, record: &Record) -> Result<Option<Part>> {
        if self.sheet.is_none() && self.calls.is_none() {
            return Ok(None);
        }
        let mut all: Vec<Read> = Vec::new();
        record.each(|case| {
            all.push(Read {
                photo: case.photo.clone(),
                area_mm2: case.picture.as_ref().map_or(0.0, |p| p.coat.area_mm2),
                verdict: case.verdict(),
            });
            Ok(())
        })?;
        let mut part = Part::default();
        let mut findings: Vec<Finding> = Vec::new();
        if let Some(calls) = &self.calls {
            part.calls_sha256 = Some(calls.sha256.clone());
            let photos: Vec<&str> = all.iter().map(|it| it.photo.as_str()).collect();
            findings.extend(calls.astray(&photos).into_iter().map(|(line, why)| Finding {
                rule: "calls".into(),
                found: format!("line {line} of the calls {why}"),
                limit: "every call belongs to a photo that is read".into(),
                action: Some("correct the name, or evaluate that photo too".into()),
                ..asked()
            }));
        }
        if let Some(kept) = &self.sheet {
            part.name.clone_from(&kept.sheet.part.name);
            part.number.clone_from(&kept.sheet.part.number);
            part.facts = facts(&kept.sheet);
            part.sheet_sha256 = Some(kept.sha256());
            part.zones = zones(&kept.sheet.zones, &all, &mut findings);
            match &kept.technique {
                Some(technique) => {
                    let checked = technique::check(&kept.sheet.process(), technique);
                    findings.extend(checked.findings());
                    part.process = checked.items.iter().map(item).collect();
                    part.technique = Some(used(technique));
                }
                None => findings.push(Finding {
                    rule: "process".into(),
                    found: "the sheet names no technique".into(),
                    limit: "the process is held against a technique".into(),
                    action: Some("write technique in [procedure] (see `nde rules`)".into()),
                    ..asked()
                }),
            }
        }
        let worst = all.iter().filter_map(|it| it.verdict).max();
        part.verdict = worst.map(|verdict| {
            findings.iter().map(|f| f.verdict).max().map_or(verdict, |own| own.max(verdict))
        });
        part.findings = findings.iter().map(Reasoned::of).collect();
        Ok(Some(part))
    }
}

/// What the sheet records, line by line.
fn facts(sheet: &Sheet) -> Vec<[String; 2]> {
    crate::sheet::blocks(sheet)
        .into_iter()
        .flat_map(|(title, lines)| {
            lines.into_iter().map(move |(key, value)| match key {
                "" => [title.clone(), value],
                key => [format!("{title}: {key}"), value],
            })
        })
        .collect()
}

fn zones(zones: &[crate::sheet::Zone], all: &[Read], findings: &mut Vec<Finding>) -> Vec<ZoneSeen> {
    let own = |photo: &str| photo.rsplit(['/', '\\']).next().unwrap_or(photo).to_owned();
    let mut seen = Vec::new();
    for zone in zones {
        let read: Vec<&Read> =
            all.iter().filter(|it| zone.photos.contains(&own(&it.photo))).collect();
        for missing in
            zone.photos.iter().filter(|name| !read.iter().any(|it| own(&it.photo) == **name))
        {
            findings.push(Finding {
                rule: "zones".into(),
                found: format!("photo {missing} of zone {} was not read", zone.name),
                limit: "every photo the sheet names is read".into(),
                action: Some("put it beside the sheet, or photograph the zone again".into()),
                ..asked()
            });
        }
        if read.is_empty() {
            findings.push(Finding {
                rule: "zones".into(),
                found: format!("zone {} is not inspected", zone.name),
                limit: "every zone of the sheet is inspected".into(),
                action: Some("photograph it inside the developing window, or test it again".into()),
                ..asked()
            });
        }
        seen.push(ZoneSeen {
            name: zone.name.clone(),
            photos: read.iter().map(|it| it.photo.clone()).collect(),
            inspected_mm2: (!read.is_empty()).then(|| read.iter().map(|it| it.area_mm2).sum()),
            verdict: read.iter().filter_map(|it| it.verdict).max(),
        });
    }
    seen
}

fn asked() -> Finding {
    Finding {
        verdict: Verdict::Review,
        rule: String::new(),
        indications: Vec::new(),
        found: String::new(),
        limit: String::new(),
        source: Source {
            text: "this tool: what was not looked at is not accepted".into(),
            confidence: Confidence::Chosen,
        },
        action: None,
    }
}

fn used(technique: &Technique) -> TechniqueUsed {
    TechniqueUsed {
        id: technique.id().to_owned(),
        title: technique.title().to_owned(),
        sha256: crate::digest::sha256(technique.text().as_bytes()),
    }
}

fn item(checked: &Checked) -> ProcessItem {
    ProcessItem {
        item: checked.item.to_owned(),
        outcome: checked.outcome.word().to_owned(),
        advice: checked.advice,
        found: checked.found.clone(),
        limit: checked.limit.clone(),
        source: checked.source.text.clone(),
        confidence: checked.source.confidence.word().to_owned(),
        remedy: checked.remedy.clone(),
    }
}
