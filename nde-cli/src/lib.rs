//! The command `nde`, as a library that takes its words and its streams as arguments.
//!
//! ```
//! let (mut out, mut talk) = (Vec::new(), Vec::new());
//! let outcome = nde_cli::run(["nde", "rules"], &mut out, &mut talk);
//! assert_eq!(outcome.code(), 0);
//! assert!(String::from_utf8(out).unwrap().contains("weld-vessel-si"));
//! ```
//!
//! ```text
//! outcome -> talk -> progress -> cautions -> save -> digest -> region -> degrees -> near -> original
//!         -> args -> tips -> shop -> list -> inputs -> settings -> clock -> sheet -> calls -> batch -> record -> inspection -> store
//!         -> exports -> seeing -> closeups -> explain -> pick -> report -> compare -> card -> commands
//! ```
//!
//! # Does not
//! Hold any rule or any measuring: those are `nde-core` and `nde-measure`.

/// The README's examples are run as tests.
#[cfg(doctest)]
#[doc = include_str!("../../README.md")]
struct Readme;

// In the order in which data flows.
mod outcome;
mod talk;
mod progress;
mod cautions;
mod save;
mod digest;
mod region;
mod degrees;
mod near;
mod original;
mod args;
mod tips;
mod shop;
mod list;
mod inputs;
mod settings;
mod clock;
mod sheet;
mod calls;
mod batch;
mod record;
mod inspection;
mod store;
mod exports;
mod seeing;
mod closeups;
mod explain;
mod pick;
mod report;
mod compare;
mod series;
mod card;
mod commands;

pub use outcome::Outcome;
pub use talk::{Dress, Reader, Streams};

use clap::Parser as _;
use std::ffi::OsString;
use std::io::Write;

/// Runs the command on plain streams, such as memory.
pub fn run<Words>(words: Words, out: &mut dyn Write, talk: &mut dyn Write) -> Outcome
where
    Words: IntoIterator,
    Words::Item: Into<OsString> + Clone,
{
    run_on(words, &mut Streams::plain(out, talk))
}

/// Runs the command.
///
/// A reader of the results that went away (`nde ... | head`) is no failure; results that cannot be
/// written for any other cause are.
pub fn run_on<Words>(words: Words, streams: &mut Streams<'_>) -> Outcome
where
    Words: IntoIterator,
    Words::Item: Into<OsString> + Clone,
{
    let words: Vec<OsString> = words.into_iter().map(Into::into).collect();
    let outcome = match args::Args::try_parse_from(&words) {
        Ok(mut args) => {
            args.remember(&words);
            commands::run(&args, streams)
        }
        Err(said) => {
            let outcome = answer(&said, streams);
            if let Some(tip) = tips::tip(&said) {
                streams.note(tip);
            }
            outcome
        }
    };
    match streams.out.flush() {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            streams.error(format_args!(
                "the results could not be written ({error}); send them elsewhere"
            ));
            Outcome::Failed
        }
        _ => outcome,
    }
}

/// Help and version are results; everything else is a word not understood.
fn answer(said: &clap::Error, streams: &mut Streams<'_>) -> Outcome {
    let dressed = |dress| match dress {
        Dress::Plain => said.render().to_string(),
        Dress::Coloured => said.render().ansi().to_string(),
    };
    // A stream that is gone has nobody left to be told.
    if said.use_stderr() {
        let _ = write!(streams.talk, "{}", dressed(streams.talk_dress));
        Outcome::Failed
    } else {
        let _ = write!(streams.out, "{}", dressed(streams.out_dress));
        Outcome::Accepted
    }
}
