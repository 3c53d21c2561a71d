//! `nde rules ...`.

use clap::{Args as ClapArgs, Subcommand};
use std::path::PathBuf;

/// `nde rules`.
#[derive(Clone, Debug, ClapArgs)]
pub(crate) struct RulesArgs {
    /// What to do; without it the rule sets are listed.
    #[command(subcommand)]
    pub command: Option<RulesCommand>,
}

/// `nde rules ...`.
#[derive(Clone, Debug, Subcommand)]
pub(crate) enum RulesCommand {
    /// List the built-in rule sets and the templates.
    List,
    /// Show a rule set: every limit, its side and its source.
    Show {
        /// An id from `nde rules`, or a rule file.
        #[arg(value_name = "ID_OR_FILE")]
        rules: String,
    },
    /// Say what a photo must resolve, and what else must be known, before a rule set can decide.
    Needs {
        /// An id from `nde rules`, or a rule file.
        #[arg(value_name = "ID_OR_FILE")]
        rules: String,
    },
    /// Check a rule file: the first fault is named with its line, its column and the remedy.
    Check {
        /// The rule file.
        file: PathBuf,
    },
    /// Start a rule file of your own: a commented file to fill in. Never writes over a file.
    New {
        /// The file to write; without it the text goes to standard output.
        file: Option<PathBuf>,
        /// Which template, as `nde rules` lists them.
        #[arg(long, value_name = "TEMPLATE", default_value = "shop-custom")]
        from: String,
    },
    /// Print the JSON schema of the rule file's form, for editors that check TOML against one.
    Schema,
}
