//! One file a command.

mod card;
mod compare;
mod evaluate;
mod measure;
mod pick;
mod rules;
mod schema;
mod shell;
mod sheet;

use crate::args::{Args, Command};
use crate::outcome::Outcome;
use crate::record::Failure;
use crate::shop::Shop;
use crate::talk::Streams;
use anyhow::{Error, Result};

/// Runs the command and says how it ended.
pub(crate) fn run(args: &Args, streams: &mut Streams<'_>) -> Outcome {
    let (args, said) = match Shop::find(args.config.as_deref()) {
        Ok(shop) => shop.under(args.clone()),
        Err(error) => {
            streams.error(format_args!("{error:#}"));
            return Outcome::Failed;
        }
    };
    let quiet = match &args.command {
        Command::Evaluate(args) => args.quiet,
        Command::Measure(args) => args.quiet,
        _ => false,
    };
    if let Some(said) = said.filter(|_| !quiet) {
        streams.note(said);
    }
    let result = match &args.command {
        Command::Card(args) => card::run(args, streams),
        Command::Measure(args) => measure::run(args, streams),
        Command::Evaluate(args) => evaluate::run(args, streams),
        Command::Pick(args) => pick::run(args, streams),
        Command::Rules(args) => rules::run(args, streams),
        Command::Schema(args) => schema::run(args, streams),
        Command::Completions(args) => shell::completions(args, streams),
        Command::Man(args) => shell::man(args, streams),
        Command::Compare(args) => compare::run(args, streams),
        Command::Sheet(args) => sheet::run(&args.command, streams),
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

/// What came of one piece of work, or why it could not be done.
fn settled<T>(result: Option<Result<T>>) -> Result<T, String> {
    match result {
        Some(Ok(done)) => Ok(done),
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
