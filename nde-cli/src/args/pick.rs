//! The words of `nde pick`.

use super::ending;
use clap::Args as ClapArgs;
use clap::builder::{PathBufValueParser, TypedValueParser as _};
use std::path::PathBuf;

/// `nde pick`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde pick toggle.jpg
  nde pick toggle.jpg --out pick.html

Next: open the page, click, and give the text it shows to nde evaluate.")]
pub(crate) struct PickArgs {
    /// The photo.
    #[arg(value_name = "PHOTO")]
    pub photo: PathBuf,
    /// The page to write; without it PHOTO with the ending .pick.html, in the folder where you are.
    #[arg(long, value_name = "FILE.html", value_parser = PathBufValueParser::new().try_map(ending::html))]
    pub out: Option<PathBuf>,
}
