//! Words about the published shapes of files.

use clap::{Args as ClapArgs, ValueEnum};

/// `nde schema`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde schema > nde-record.schema.json
  nde schema rules > nde-rules.schema.json    (for an editor that checks TOML)")]
pub(crate) struct SchemaArgs {
    /// Of what.
    #[arg(value_enum, default_value_t)]
    pub of: SchemaOf,
}

/// What has a published shape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemaOf {
    /// `indications.json`, and --format json.
    #[default]
    Record,
    /// One line of `indications.jsonl`, and of --format jsonl.
    Line,
    /// A rule file.
    Rules,
}
