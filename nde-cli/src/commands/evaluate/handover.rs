//! What stands in the output folder when a run is over.

use crate::args::EvaluateArgs;
use crate::exports::{csv, json, xlsx};
use crate::record::Record;
use crate::report;
use crate::save::Staged;
use anyhow::Result;
use std::path::Path;

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
