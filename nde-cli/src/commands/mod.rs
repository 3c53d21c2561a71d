//! One file a command.

mod card;
mod evaluate;
mod measure;
mod rules;

use crate::args::{Args, Command};
use crate::inputs::PhotoFile;
use crate::outcome::Outcome;
use crate::record::{Case, Failure};
use crate::talk::Streams;
use anyhow::{Error, Result};
use std::fmt::Write as _;

/// Runs the command and says how it ended.
pub(crate) fn run(args: &Args, streams: &mut Streams<'_>) -> Outcome {
    let result = match &args.command {
        Command::Card(args) => card::run(args, streams),
        Command::Measure(args) => measure::run(args, streams),
        Command::Evaluate(args) => evaluate::run(args, streams),
        Command::Rules(args) => rules::run(args, streams),
    };
    result.unwrap_or_else(|error| {
        streams.error(format_args!("{error:#}"));
        Outcome::Failed
    })
}

/// Results whose reader went away (`nde ... | head`) are no failure.
fn forgive_closed(result: Result<()>) -> Result<()> {
    match result {
        Err(error) if is_closed(&error) => Ok(()),
        other => other,
    }
}

fn is_closed(error: &Error) -> bool {
    error.chain().any(|cause| {
        let io = cause.downcast_ref::<std::io::Error>().map(std::io::Error::kind);
        let json =
            cause.downcast_ref::<serde_json::Error>().and_then(serde_json::Error::io_error_kind);
        let csv = cause.downcast_ref::<csv::Error>().and_then(|e| match e.kind() {
            csv::ErrorKind::Io(io) => Some(io.kind()),
            _ => None,
        });
        [io, json, csv].contains(&Some(std::io::ErrorKind::BrokenPipe))
    })
}

/// One line a photo while many are read.
fn progress(
    streams: &mut Streams<'_>,
    quiet: bool,
    [done, all]: [usize; 2],
    file: &PhotoFile,
    result: Option<&Result<Case>>,
) {
    if quiet || all < 2 {
        return;
    }
    let mut line = format!("[{done}/{all}] {}: ", file.name);
    // A String takes everything.
    let _ = match result {
        Some(Ok(case)) => match case.verdict() {
            Some(verdict) => write!(line, "{}", verdict.word()),
            None => write!(line, "measured"),
        },
        _ => write!(line, "could not be done"),
    };
    streams.progress(line);
}

/// What came of one piece of work: a case, or why not.
fn settled(result: Option<Result<Case>>) -> Result<Case, String> {
    match result {
        Some(Ok(case)) => Ok(case),
        Some(Err(error)) => Err(format!("{error:#}")),
        None => Err("this program failed on it, which is a fault of the program; please report it with the photo".to_owned()),
    }
}

/// Names each failure once on the talk stream.
fn report_failures(failures: &[Failure], streams: &mut Streams<'_>) -> Outcome {
    for failure in failures {
        streams.error(format_args!("{}: {}", failure.name, failure.why));
    }
    if failures.is_empty() { Outcome::Accepted } else { Outcome::Failed }
}
