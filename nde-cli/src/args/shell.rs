//! Words about the command itself.

use clap::Args as ClapArgs;
use clap_complete::Shell;
use std::path::PathBuf;

/// `nde completions`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde completions bash > ~/.local/share/bash-completion/completions/nde
  nde completions fish > ~/.config/fish/completions/nde.fish")]
pub(crate) struct CompletionsArgs {
    /// The shell.
    pub shell: Shell,
}

/// `nde man`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde man | man -l -
  nde man --out ~/.local/share/man/man1")]
pub(crate) struct ManArgs {
    /// Folder for one page a command.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}
