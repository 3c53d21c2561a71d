//! `nde rules ...`.

use clap::{Args as ClapArgs, Subcommand};
use std::path::PathBuf;

/// `nde rules`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde rules                            what is built in
  nde rules show weld-vessel-si        every limit, its side, its source
  nde rules new our-limits.toml        a file of your own")]
pub(crate) struct RulesArgs {
    /// What to do; without it the rule sets are listed.
    #[command(subcommand)]
    pub command: Option<RulesCommand>,
}

/// `nde rules ...`.
#[derive(Clone, Debug, Subcommand)]
pub(crate) enum RulesCommand {
    /// List the built-in rule sets and the templates.
    #[command(after_help = "Example:
  nde rules list")]
    List,
    /// Show a rule set or a technique: every limit, its side and its source.
    #[command(after_help = "Examples:
  nde rules show weld-vessel-si
  nde rules show tech-shop-practice
  nde rules show our-limits.toml")]
    Show {
        /// An id from `nde rules`, or a rule file.
        #[arg(value_name = "ID_OR_FILE")]
        rules: String,
    },
    /// Say what a photo must resolve, and what else must be known, before a rule set can decide.
    #[command(after_help = "Examples:
  nde rules needs weld-vessel-si
  nde rules needs our-limits.toml")]
    Needs {
        /// An id from `nde rules`, or a rule file.
        #[arg(value_name = "ID_OR_FILE")]
        rules: String,
    },
    /// Check a rule file: the first fault is named with its line, its column and the remedy.
    #[command(after_help = "Example:
  nde rules check our-limits.toml

Next: nde evaluate PHOTO --rules our-limits.toml --out out")]
    Check {
        /// The rule file.
        file: PathBuf,
    },
    /// Start a rule file of your own: a commented file to fill in. Never writes over a file.
    #[command(after_help = "Examples:
  nde rules new our-limits.toml
  nde rules new --from shop-custom     to look at it first

Next: fill in what holds a `?`, then nde rules check our-limits.toml")]
    New {
        /// The file to write; without it the text goes to standard output.
        file: Option<PathBuf>,
        /// Which template, as `nde rules` lists them.
        #[arg(long, value_name = "TEMPLATE", default_value = "shop-custom")]
        from: String,
    },
}
