//! `nde evaluate`: measure, judge, export.

mod judging;
mod target;
mod one;
mod handover;
mod photos;
mod watch;
mod again;

use crate::args::{EvaluateArgs, Format};
use crate::digest::sha256;
use crate::exports;
use crate::inputs::{Depth, Empty, Inputs, ListFile, Wanted};
use crate::inspection::Inspection;
use crate::list;
use crate::outcome::Outcome;
use crate::record::{Case, Record, Tally};
use crate::settings::Criteria;
use crate::talk::Streams;
use anyhow::{Context as _, Result, bail};
use handover::{Asked, Replaced};
use judging::{Conclusion, judged};
use nde_core::Verdict;
use std::path::Path;

/// Evaluates photos or a typed list.
pub(super) fn run(args: &EvaluateArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    if let Some(path) = &args.again {
        return again::run(path, streams);
    }
    if let Some(dir) = &args.out {
        handover::refuse_foreign(dir)?;
    }
    let inspection = Inspection::of(args)?;
    let nothing_judged = args.rules.is_none() && args.limit.is_empty() && !inspection.has_rules();
    if args.guard.is_some() && nothing_judged {
        bail!("--guard is about limits and nothing is judged; give --rules or --limit too");
    }
    if args.weld.is_given() && nothing_judged {
        bail!(
            "--thickness, --weld-axis and --weld-length are about limits and nothing is judged; give --rules or --limit too"
        );
    }
    let guard = args.guard.unwrap_or_default();
    let criteria = Criteria::resolve(args.rules.as_deref(), &args.limit, guard, &args.weld)?;
    let criteria = inspection.criteria(args, criteria)?;
    let leave_others = |inputs: &Inputs| match &args.out {
        Some(dir) => handover::refuse_other_job(dir, &asked(inputs), args),
        None => Ok(Replaced::default()),
    };
    if args.batch.watch {
        leave_others(&Inputs::find(&wanted(args, Empty::Allowed))?)?;
        return watch::run(args, criteria, &inspection, streams);
    }
    let inputs = Inputs::find(&wanted(args, Empty::Refused))?;
    let replaced = leave_others(&inputs)?;
    if let (Some(dir), false) = (&args.out, args.quiet) {
        said(&replaced, dir, streams);
    }
    match inputs {
        Inputs::List(file) => {
            let record = of_list(&file, criteria, &inspection, args, streams)?;
            finish(&record, args, streams)
        }
        Inputs::Photos(photos) => {
            let record = photos::run(&photos, criteria, &inspection, args, streams)?;
            finish(&record, args, streams)
        }
    }
}

/// What of the earlier run in the output folder does not stay.
fn said(replaced: &Replaced, dir: &Path, streams: &mut Streams<'_>) {
    let shown = dir.display();
    if replaced.anew {
        streams.note(format_args!(
            "{shown} holds results of the same names and other contents, which are replaced; if that was another job, give another --out"
        ));
    }
    if let Some((first, others)) = replaced.left.split_first() {
        let more =
            if others.is_empty() { String::new() } else { format!(" and {} more", others.len()) };
        streams.note(format_args!(
            "the lists and the report in {shown} are replaced; {first}{more} of the earlier run is not read now and leaves them (give the whole folder to keep it)"
        ));
    }
}

/// What is read, for telling which job it is.
fn asked(inputs: &Inputs) -> Vec<Asked<'_>> {
    match inputs {
        Inputs::List(file) => vec![Asked {
            name: file.name(),
            // Standard input is read once.
            sha256: Box::new(move || match file {
                ListFile::Stdin => None,
                file => file.bytes(list::MOST_BYTES).ok().map(|bytes| sha256(&bytes)),
            }),
        }],
        Inputs::Photos(photos) => photos
            .iter()
            .map(|file| Asked {
                name: file.name.clone(),
                sha256: Box::new(move || file.bytes().ok().map(|bytes| sha256(&bytes))),
            })
            .collect(),
    }
}

/// Where photos are looked for.
fn wanted(args: &EvaluateArgs, empty: Empty) -> Wanted<'_> {
    let batch = &args.batch;
    Wanted {
        paths: &args.paths,
        names: batch.list.as_deref(),
        depth: if batch.recursive { Depth::All } else { Depth::Flat },
        matching: &batch.matching,
        leave_out: args.out.as_deref(),
        empty,
    }
}

fn of_list(
    file: &ListFile,
    criteria: Criteria,
    inspection: &Inspection,
    args: &EvaluateArgs,
    streams: &mut Streams<'_>,
) -> Result<Record> {
    let seeing = &args.seeing;
    let scale_given = !seeing.scale.is_empty() && !seeing.scale_by_default;
    if scale_given || !seeing.region.is_empty() || seeing.height.is_some() {
        bail!("--scale, --height and --region are about photos; a typed list needs none");
    }
    let name = file.name();
    let bytes = file.bytes(list::MOST_BYTES)?;
    let typed = list::read(&bytes).with_context(|| name.clone())?;
    if !typed.ignored.is_empty() && !args.quiet {
        streams
            .note(format_args!("{name}: these columns are not used: {}", typed.ignored.join(", ")));
    }
    let events = inspection.calls().map(|calls| calls.about(&name, |_| None));
    let conclusion = judged(&typed.indications, &criteria, &[], events.as_deref(), Vec::new())
        .with_context(|| name.clone())?;
    let sha256 = sha256(&bytes);
    let judgement = conclusion.as_ref().map(|c| &c.judgement);
    let mut case = Case::of_list(&name, &sha256, &typed.indications, judgement);
    if let (Some(events), Some(Conclusion { judgement, called: Some((called, raw)) })) =
        (&events, &conclusion)
    {
        case = case.with_calls(called, events, raw, judgement);
    }
    let mut record = Record {
        criteria,
        cases: Box::new(vec![case]),
        failures: Vec::new(),
        units: args.units.unwrap_or_default(),
        part: None,
        command: args.words.clone(),
    };
    record.part = inspection.part(&record)?;
    if let Some(dir) = &args.out {
        crate::save::folder(dir)?;
        handover::write(dir, &record, args)?;
    }
    Ok(record)
}

/// Names what could not be done, prints the results, and says how it ended.
fn finish(record: &Record, args: &EvaluateArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let outcome = super::report_failures(&record.failures, streams);
    let tally = record.tally()?;
    let Tally { review, reject, .. } = tally;
    let part = record.part.as_ref();
    let asked = part.is_some_and(|part| {
        part.verdict.is_some_and(|v| v != Verdict::Accept) || !part.findings.is_empty()
    });
    let attention = asked || review + reject > 0;
    let outcome = outcome.and(if attention { Outcome::Attention } else { Outcome::Accepted });
    if args.format != Format::Table && !args.quiet && tally.read + tally.could_not > 1 {
        // The table says it itself.
        streams.tell(exports::table::summary(&tally, record.criteria.rules.is_some()));
    }
    if record.criteria.rules.is_none() && !args.quiet {
        streams.note("nothing was judged; give --rules (see `nde rules`) or --limit to judge");
    }
    super::forgive_closed(exports::print(record, args.format, streams))?;
    if !args.quiet {
        next(args, tally.read, streams);
    }
    Ok(outcome)
}

/// What to do with what was found.
fn next(args: &EvaluateArgs, read: usize, streams: &mut Streams<'_>) {
    match &args.out {
        Some(dir) if read > 0 && args.batch.shard.is_none() => {
            let report = dir.join("report.html");
            let shown = report.display();
            match &args.calls {
                None => streams.note(format_args!(
                    "next: open {shown}, call each indication, save calls.csv, and give the same command with --calls calls.csv"
                )),
                Some(_) => streams.note(format_args!("next: open {shown}, read, print and sign it")),
            }
        }
        None if read > 0 && args.format == Format::Table => {
            streams.note("next: --out DIR writes the lists, the marked photos and the report");
        }
        _ => {}
    }
}
