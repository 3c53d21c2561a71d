//! The words of `nde compare`.

use super::{Format, SeeingArgs, ending};
use clap::builder::{PathBufValueParser, TypedValueParser as _};
use clap::{Args as ClapArgs, ValueEnum};
use std::path::PathBuf;

/// `nde compare`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde compare first next-year --plot growth.svg
  nde compare first next-year --same-card --format csv
  nde compare old/upper-eye.jpg new/upper-eye.jpg --scale card:99.2,99.4

Photos of two folders are paired by their file names. Each indication is matched, new or gone; where
the other photo did not read its place it is not-read-then or not-read-now.")]
pub(crate) struct CompareArgs {
    /// The earlier inspection: its --out folder, its indications.json, or its photo.
    #[arg(value_name = "OLD")]
    pub old: PathBuf,
    /// The later one.
    pub new: PathBuf,
    /// How the two are laid over one another.
    #[arg(long, value_enum, default_value_t)]
    pub by: By,
    /// The same card with the same calliper readings lay in both photos: the error of its size is common
    /// to both and falls out of the growth.
    #[arg(long)]
    pub same_card: bool,
    /// Draw the lengths then and now into this file (SVG).
    #[arg(long, value_name = "FILE.svg", value_parser = PathBufValueParser::new().try_map(ending::svg))]
    pub plot: Option<PathBuf>,
    /// What photos need to be read; records hold it already.
    #[command(flatten)]
    pub seeing: SeeingArgs,
    /// How results are printed.
    #[arg(long, value_enum, default_value_t, help_heading = super::PRINTED)]
    pub format: Format,
}

/// How two photos are laid over one another.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum By {
    /// By the indications where at least three agree, else by the card.
    #[default]
    Auto,
    /// By the card (or other scale): it lay in the same place both times.
    Card,
    /// By the indications.
    Marks,
}
