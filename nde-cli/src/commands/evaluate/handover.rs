//! What stands in the output folder when a run is over.

use crate::args::EvaluateArgs;
use crate::exports::{csv, json, xlsx};
use crate::record::Record;
use crate::report;
use crate::save::Staged;
use crate::store::{LOCK, PHOTOS};
use anyhow::{Result, bail};
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

/// What may stand in an output folder at its top.
const NAMES: [&str; 8] = [
    "indications.csv",
    "indications.json",
    "indications.jsonl",
    "indications.xlsx",
    "set_aside.csv",
    "report.html",
    "photos.csv",
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
        staged.file(&dir.join("set_aside.csv"), |to| csv::set_aside(record, to))?;
    }
    let tested = record.part.as_ref().and_then(report::Tested::of);
    report::write(dir, record, tested.as_ref(), &mut staged)?;
    if args.handover.pdf {
        report::write_pdf(dir, record, tested.as_ref(), &mut staged)?;
    }
    staged.place()
}
        staged.file(&dir.join("photos.csv"), |to| csv::photos(record, to))?;
