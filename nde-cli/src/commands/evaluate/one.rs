//! One photo: measured, judged, marked, kept.

use super::judging::{Conclusion, judged};
use crate::closeups::{closeups, jpeg};
use crate::digest::sha256;
use crate::inputs::PhotoFile;
use crate::inspection::Inspection;
use crate::original::told_marked;
use crate::record::{Case, Row};
use crate::save;
use crate::seeing::{Seen, see_bytes};
use crate::settings::{Criteria, Seeing};
use crate::store::Store;
use anyhow::{Error, Result, anyhow};
use nde_core::{Indication, Verdict};
use nde_measure::marks::{self, Emphasis, MarkLabel, MarkOptions};
use std::path::Path;

/// Quality of marked photos, 1 to 100. Chosen by eye: letters stay clean.
const JPEG_QUALITY: u8 = 85;

/// What all photos of a run share.
pub(super) struct Work<'a> {
    pub(super) seeing: &'a Seeing,
    pub(super) criteria: &'a Criteria,
    pub(super) inspection: &'a Inspection,
    /// Where results are kept; absent: nowhere.
    pub(super) kept: Option<(&'a Store, &'a Path)>,
}

/// What came of one photo.
#[derive(Debug)]
pub(super) enum Came {
    /// Kept on disk.
    Kept { verdict: Option<Verdict>, when: When },
    /// Not kept: here it is.
    Here(Box<Case>),
    /// It could not be done.
    Not { why: String, when: When },
}

/// When the work was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum When {
    /// In this run.
    Now,
    /// In an earlier one.
    Before,
}

/// Does one photo. An error is the output folder's, and ends the run.
pub(super) fn one(file: &PhotoFile, marked: &str, work: &Work<'_>) -> Result<Came> {
    let not = |why: Error| Came::Not { why: format!("{why:#}"), when: When::Now };
    let bytes = match file.bytes() {
        Ok(bytes) => bytes,
        // It may be readable the next time: nothing is kept.
        Err(why) => return Ok(not(why)),
    };
    let sha256 = sha256(&bytes);
    let Some((store, dir)) = work.kept else {
        return Ok(match found(file, bytes, sha256, work) {
            Ok((case, _)) => Came::Here(Box::new(case)),
            Err(why) => not(why),
        });
    };
    if let Some(kept) = store.find(file, &sha256, marked) {
        return Ok(match kept.why {
            Some(why) => Came::Not { why, when: When::Before },
            None => {
                let verdict = kept.case.as_ref().and_then(Case::verdict);
                Came::Kept { verdict, when: When::Before }
            }
        });
    }
    let (mut case, seen) = match found(file, bytes, sha256.clone(), work) {
        Ok(found) => found,
        Err(why) => {
            store.keep_failure(file, &sha256, &format!("{why:#}")).map_err(unwritten)?;
            return Ok(not(why));
        }
    };
    // What a person added has no outline to be drawn.
    let drawn = seen.measurement.indications.len();
    let labels: Vec<MarkLabel> = case.indications.iter().take(drawn).map(label).collect();
    let picture = marks::draw(&seen.photo, &seen.measurement, &labels, &MarkOptions::default());
    let picture = told_marked(&jpeg(&picture, JPEG_QUALITY)?);
    let closeups = closeups(&seen.photo, &seen.measurement)?;
    drop(seen);
    save::file(&dir.join(marked), |to| Ok(to.write_all(&picture)?)).map_err(unwritten)?;
    case.marked = Some(marked.to_owned());
    // Last: with it the photo is done.
    store.keep(&case, closeups).map_err(unwritten)?;
    Ok(Came::Kept { verdict: case.verdict(), when: When::Now })
}

/// The output folder's fault, and what to do.
fn unwritten(error: Error) -> Error {
    anyhow!("{error:#}; what is done is kept, so make room and give the same command again")
}

fn found(
    file: &PhotoFile,
    bytes: Vec<u8>,
    sha256: String,
    work: &Work<'_>,
) -> Result<(Case, Seen)> {
    let inspection = work.inspection;
    let seen = see_bytes(bytes, sha256, &inspection.seeing(work.seeing, file))?;
    let measurement = &seen.measurement;
    let indications: Vec<Indication> =
        measurement.indications.iter().map(|seen| seen.indication.clone()).collect();
    let plane = &measurement.scale.plane;
    let to_part =
        |px: [f64; 2]| Some(plane.to_part(px)).filter(|p| p.iter().all(|v| v.is_finite()));
    let events = inspection.calls().map(|calls| calls.about(&file.name, to_part));
    let moment = inspection.moment_findings(seen.photo.stamp().taken.as_ref());
    let gates = &measurement.gates;
    let conclusion = judged(&indications, work.criteria, gates, events.as_deref(), moment)?;
    let judgement = conclusion.as_ref().map(|c| &c.judgement);
    let mut case = Case::of_photo(&file.name, &seen.sha256, measurement, judgement);
    if let (Some(events), Some(Conclusion { judgement, called: Some((called, raw)) })) =
        (&events, &conclusion)
    {
        case = case.with_calls(called, events, raw, judgement);
    }
    Ok((case, seen))
}

fn label(row: &Row) -> MarkLabel {
    MarkLabel {
        text: format!("{}  {} {:.1} mm", row.id, row.kind.word(), row.length.mm),
        emphasis: match row.verdict {
            None | Some(Verdict::Accept) => Emphasis::Plain,
            Some(Verdict::Review | Verdict::Reject) => Emphasis::Strong,
        },
    }
}
