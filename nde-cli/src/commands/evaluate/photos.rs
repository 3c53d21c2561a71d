//! A batch of photos: each is done once, and what is done is kept.

use super::handover;
use super::one::{Came, When, Work, one};
use super::target::Target;
use crate::args::EvaluateArgs;
use crate::batch;
use crate::inputs::PhotoFile;
use crate::inspection::Inspection;
use crate::progress::{Progress, Show, Step};
use crate::record::{Case, Failure, Record};
use crate::settings::{Criteria, Seeing, run_text};
use crate::store::Access;
use crate::talk::Streams;
use anyhow::{Error, Result};
use nde_core::Verdict;
use std::ops::ControlFlow;

/// Evaluates photos.
pub(super) fn run(
    photos: &[PhotoFile],
    criteria: Criteria,
    inspection: &Inspection,
    args: &EvaluateArgs,
    streams: &mut Streams<'_>,
) -> Result<Record> {
    let seeing = Seeing::resolve(&args.seeing);
    let run = crate::digest::sha256((run_text(&seeing, &criteria) + &inspection.text()).as_bytes());
    let access = if args.batch.shard.is_some() { Access::Shared } else { Access::Alone };
    let open = |dir: &std::path::PathBuf| Target::open(dir, &run, &args.batch.reuse, access);
    let target = args.out.as_ref().map(open).transpose()?;
    let marked = match &target {
        Some(target) => target.marked(photos)?,
        None => vec![String::new(); photos.len()],
    };
    let mine = |place: usize| args.batch.shard.is_none_or(|shard| shard.holds(place));
    let pieces: Vec<(&PhotoFile, &str)> = photos
        .iter()
        .zip(&marked)
        .enumerate()
        .filter(|(place, _)| mine(*place))
        .map(|(_, (file, marked))| (file, marked.as_str()))
        .collect();
    let work = Work {
        seeing: &seeing,
        criteria: &criteria,
        inspection,
        kept: target.as_ref().map(|t| (&t.store, t.dir.as_path())),
    };
    let Done { kept, here, failures, before } = all(&pieces, &work, args, streams)?;
    let units = args.units.unwrap_or_default();
    let Some(target) = target else {
        let mut record = Record {
            criteria,
            cases: Box::new(here),
            failures,
            units,
            part: None,
            command: args.words.clone(),
        };
        record.part = inspection.part(&record)?;
        return Ok(record);
    };
    if !args.quiet && !args.batch.watch && before > 0 {
        streams.note(format_args!(
            "{before} of {} done in an earlier run, not done again",
            pieces.len()
        ));
    }
    let nothing_read = kept.is_empty();
    let cases = Box::new(target.store.shelf(kept));
    let mut record =
        Record { criteria, cases, failures, units, part: None, command: args.words.clone() };
    if args.batch.shard.is_none() {
        record.part = inspection.part(&record)?;
    }
    if nothing_read && access == Access::Alone {
        // Nothing was read: an empty list could be taken for a clean part.
        target.undo();
    } else if args.batch.shard.is_none() {
        handover::write(&target.dir, &record, args)?;
    } else if !args.quiet {
        streams.note("this part is done; when all are, give the same command without --shard to write the lists");
    }
    Ok(record)
}

/// What came of all photos, in their order.
#[derive(Default)]
struct Done {
    /// Names of those kept on disk.
    kept: Vec<String>,
    /// Those not kept.
    here: Vec<Case>,
    failures: Vec<Failure>,
    /// How many were done in an earlier run.
    before: usize,
}

fn all(
    pieces: &[(&PhotoFile, &str)],
    work: &Work<'_>,
    args: &EvaluateArgs,
    streams: &mut Streams<'_>,
) -> Result<Done> {
    let mut came: Vec<Option<Result<Came, String>>> = pieces.iter().map(|_| None).collect();
    let mut broken: Option<Error> = None;
    let mut progress = Progress::of(pieces.len(), if args.quiet { Show::No } else { Show::Yes });
    batch::each(
        pieces,
        batch::workers(),
        |(file, marked)| one(file, marked, work),
        |n, result| {
            let result = match result {
                Some(Err(error)) => {
                    broken = Some(error);
                    return ControlFlow::Break(());
                }
                result => crate::commands::settled(result),
            };
            if args.verbose && step(&result) != Step::Before {
                streams.progress("");
                streams.tell(format_args!("{}: {}", pieces[n].0.name, said(&result)));
            }
            progress.step(step(&result), streams);
            came[n] = Some(result);
            ControlFlow::Continue(())
        },
    );
    progress.end(streams);
    if let Some(error) = broken {
        return Err(error);
    }
    let mut done = Done::default();
    for ((file, _), came) in pieces.iter().zip(came.into_iter().flatten()) {
        let name = file.name.clone();
        done.before += usize::from(step(&came) == Step::Before);
        match came {
            Ok(Came::Kept { .. }) => done.kept.push(name),
            Ok(Came::Here(case)) => done.here.push(*case),
            Ok(Came::Not { why, .. }) | Err(why) => done.failures.push(Failure { name, why }),
        }
    }
    Ok(done)
}

fn step(came: &Result<Came, String>) -> Step {
    match came {
        Ok(Came::Kept { when: When::Before, .. } | Came::Not { when: When::Before, .. }) => {
            Step::Before
        }
        Ok(Came::Kept { .. } | Came::Here(_)) => Step::Worked,
        Ok(Came::Not { .. }) | Err(_) => Step::CouldNot,
    }
}

fn said(came: &Result<Came, String>) -> String {
    let verdict = match came {
        Ok(Came::Kept { verdict, .. }) => *verdict,
        Ok(Came::Here(case)) => case.verdict(),
        Ok(Came::Not { why, .. }) | Err(why) => return format!("could not be done: {why}"),
    };
    verdict.map_or("measured", Verdict::word).to_owned()
}
