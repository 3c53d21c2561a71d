//! What stands in the output folder when a run is over.

use crate::args::EvaluateArgs;
use crate::exports::{csv, json, xlsx};
use crate::record::Record;
use crate::report;
use crate::save::Staged;
use crate::store::{LOCK, PHOTOS};
use anyhow::{Result, bail};
use serde::Deserialize;
use std::collections::HashSet;
use std::fs::File;
use std::io::{BufReader, Read as _};
use std::path::Path;

/// What may stand in an output folder at its top.
const NAMES: [&str; 8] = [
    "indications.csv",
    "indications.json",
    "indications.jsonl",
    "indications.xlsx",
    "photos.csv",
    "set_aside.csv",
    "report.html",
    "report.pdf",
];
/// How the record begins that every run leaves.
const OURS: &[u8] = b"{\n  \"form\": \"nde-record/";

/// Refuses a folder in which somebody else's file has the name of one that will be written.
///
/// # Errors
/// There is such a file.
pub(super) fn refuse_foreign(dir: &Path) -> Result<()> {
    let Some(name) = NAMES.iter().find(|name| dir.join(name).exists()) else { return Ok(()) };
    let mut head = Vec::new();
    let record = File::open(dir.join("indications.json"))
        .and_then(|file| file.take(OURS.len() as u64).read_to_end(&mut head));
    let ours = (record.is_ok() && head == OURS) || dir.join(PHOTOS).join(LOCK).exists();
    if ours {
        return Ok(());
    }
    bail!(
        "{} was not written by this tool and would be written over; give another --out",
        dir.join(name).display()
    )
}

/// What of an earlier run's record tells which job it was.
#[derive(Deserialize)]
struct Earlier {
    #[serde(default)]
    command: Vec<String>,
    #[serde(default)]
    cases: Vec<EarlierCase>,
}

#[derive(Deserialize)]
struct EarlierCase {
    photo: String,
    sha256: String,
}

/// What of an earlier run of the same job is replaced.
#[derive(Debug, Default)]
pub(super) struct Replaced {
    /// What it read and this run does not: it leaves the lists.
    pub(super) left: Vec<String>,
    /// Whether all of the same name holds something else now: taken anew, or another job's in a folder of that name.
    pub(super) anew: bool,
}

/// What is read now: its name in the lists, and its bytes' digest where they can be read.
pub(super) struct Asked<'a> {
    pub(super) name: String,
    pub(super) sha256: Box<dyn Fn() -> Option<String> + 'a>,
}

/// Refuses a folder that holds the results of another job: they would be replaced. The same job is one that reads
/// something the earlier run read, or the same names from the same places (a photo taken anew).
///
/// # Errors
/// It holds another job's.
pub(super) fn refuse_other_job(
    dir: &Path,
    asked: &[Asked<'_>],
    args: &EvaluateArgs,
) -> Result<Replaced> {
    let Ok(file) = File::open(dir.join("indications.json")) else {
        return Ok(Replaced::default());
    };
    // What cannot be read back was ours by its first line, and nothing can be told of it.
    let Ok(earlier) = serde_json::from_reader::<_, Earlier>(BufReader::new(file)) else {
        return Ok(Replaced::default());
    };
    let cases = earlier.cases;
    let Some(first) = cases.first() else { return Ok(Replaced::default()) };
    let alike = args.reads_the_same_places(&earlier.command);
    if alike && args.batch.watch {
        return Ok(Replaced::default());
    }
    let names: HashSet<&str> = asked.iter().map(|one| one.name.as_str()).collect();
    let mut known: Vec<bool> =
        cases.iter().map(|case| alike && names.contains(case.photo.as_str())).collect();
    let mut anew = false;
    if known.contains(&true) {
        let digests: HashSet<&str> = cases.iter().map(|case| case.sha256.as_str()).collect();
        // As a rule the first one settles it.
        let mut seen = asked.iter().filter_map(|one| (one.sha256)()).peekable();
        anew = seen.peek().is_some() && !seen.any(|it| digests.contains(it.as_str()));
    } else {
        let digests: HashSet<String> = asked.iter().filter_map(|one| (one.sha256)()).collect();
        known = cases.iter().map(|case| digests.contains(&case.sha256)).collect();
    }
    if !known.contains(&true) {
        let more = match cases.len() - 1 {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        bail!(
            "{} holds the results of another job ({}{more}), which would be replaced; give another --out for this one, or take that folder away first",
            dir.display(),
            first.photo
        )
    }
    let left = cases.into_iter().zip(known).filter(|(_, known)| !known);
    Ok(Replaced { left: left.map(|(case, _)| case.photo).collect(), anew })
}

/// Writes lists and reports: all of them, or none where one cannot be written.
pub(super) fn write(dir: &Path, record: &Record, args: &EvaluateArgs) -> Result<()> {
    let mut staged = Staged::default();
    staged.file(&dir.join("indications.csv"), |to| csv::indications(record, to))?;
    staged.file(&dir.join("indications.json"), |to| json::write(record, to))?;
    if args.handover.jsonl {
        staged.file(&dir.join("indications.jsonl"), |to| json::lines(record, to))?;
    }
    if args.handover.xlsx {
        staged.file(&dir.join("indications.xlsx"), |to| xlsx::write(record, to))?;
    }
    let mut photos = false;
    record.each(|case| {
        photos |= case.picture.is_some();
        Ok(())
    })?;
    if photos {
        staged.file(&dir.join("photos.csv"), |to| csv::photos(record, to))?;
        staged.file(&dir.join("set_aside.csv"), |to| csv::set_aside(record, to))?;
    }
    let tested = record.part.as_ref().and_then(report::Tested::of);
    report::write(dir, record, tested.as_ref(), &mut staged)?;
    if args.handover.pdf {
        report::write_pdf(dir, record, tested.as_ref(), &mut staged)?;
    }
    staged.place()
}
