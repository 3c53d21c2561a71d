//! `nde completions` and `nde man`: the command told to a shell and to the manual.

use crate::args::{Args, CompletionsArgs, ManArgs};
use crate::outcome::Outcome;
use crate::save;
use crate::talk::Streams;
use anyhow::Result;
use clap::CommandFactory as _;
use clap_mangen::Man;

/// Prints the completions of a shell.
pub(super) fn completions(args: &CompletionsArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut Args::command(), "nde", &mut text);
    super::forgive_closed(streams.out.write_all(&text).map_err(Into::into))?;
    Ok(Outcome::Accepted)
}

/// Prints the manual page of the whole, or writes one a command.
pub(super) fn man(args: &ManArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let mut command = Args::command();
    command.build();
    let Some(dir) = &args.out else {
        let mut text = Vec::new();
        Man::new(command).render(&mut text)?;
        super::forgive_closed(streams.out.write_all(&text).map_err(Into::into))?;
        return Ok(Outcome::Accepted);
    };
    save::folder(dir)?;
    let mut pages = vec![("nde".to_owned(), command.clone())];
    for inner in command.get_subcommands().filter(|inner| !inner.is_hide_set()) {
        pages.push((format!("nde-{}", inner.get_name()), inner.clone()));
    }
    for (name, command) in pages {
        let path = dir.join(format!("{name}.1"));
        save::file(&path, |to| Ok(Man::new(command).render(&mut &mut *to)?))?;
    }
    Ok(Outcome::Accepted)
}
