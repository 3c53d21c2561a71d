//! The words of `nde sheet`.

use clap::{Args as ClapArgs, Subcommand};
use std::path::PathBuf;

/// `nde sheet`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde sheet new chainplate/sheet.toml      start one beside the photos
  nde sheet run chainplate                 at the bench
  nde sheet check chainplate               what is missing
  nde evaluate chainplate --out out        judges by it")]
pub(crate) struct SheetArgs {
    /// What to do.
    #[command(subcommand)]
    pub command: SheetCommand,
}

/// `nde sheet ...`.
#[derive(Clone, Debug, Subcommand)]
pub(crate) enum SheetCommand {
    /// Start a sheet: asks on a terminal what no option gives.
    #[command(after_help = "Examples:
  nde sheet new chainplate/sheet.toml --part \"Chainplate, port\" --technique tech-shop-practice \\
      --rules weld-vessel-si --zone \"upper eye=upper-eye.jpg\" --zone \"lower eye\"
  nde sheet new

Next: nde sheet run, then nde sheet check.")]
    New(Box<NewArgs>),
    /// Check a sheet: what cannot be right, what is missing, and each limit of its technique.
    #[command(after_help = "Examples:
  nde sheet check chainplate/sheet.toml
  nde sheet check chainplate

Next: nde evaluate chainplate --out out")]
    Check {
        /// The sheet, or the folder it lies in.
        #[arg(default_value = DEFAULT)]
        file: PathBuf,
    },
    /// Show a sheet: what was tested, by whom, with what, when.
    #[command(after_help = "Example:
  nde sheet show chainplate/sheet.toml")]
    Show {
        /// The sheet, or the folder it lies in.
        #[arg(default_value = DEFAULT)]
        file: PathBuf,
    },
    /// The bench clock: logs each step as it happens and counts to the next. Leave it at any time and
    /// run it again: it goes on from the times on the disk.
    #[command(after_help = "Example:
  nde sheet run chainplate/sheet.toml

Enter logs a step, `note ...` writes a note, `quit` leaves.")]
    Run {
        /// The sheet, or the folder it lies in.
        #[arg(default_value = DEFAULT)]
        file: PathBuf,
    },
}

/// The sheet of the folder one stands in.
pub(crate) const DEFAULT: &str = "sheet.toml";

/// `nde sheet new`.
#[derive(Clone, Debug, Default, ClapArgs)]
pub(crate) struct NewArgs {
    /// Where it is written; it must not be there yet.
    #[arg(default_value = DEFAULT)]
    pub file: PathBuf,
    /// The part's name.
    #[arg(long)]
    pub part: Option<String>,
    /// Drawing or serial number.
    #[arg(long)]
    pub number: Option<String>,
    /// What the part is made of, such as stainless-steel.
    #[arg(long)]
    pub material: Option<String>,
    /// How it was made: casting, weld, wrought.
    #[arg(long)]
    pub form: Option<String>,
    /// Technique: an id from `nde rules`, or a file beside the sheet.
    #[arg(long)]
    pub technique: Option<String>,
    /// Rule set: an id from `nde rules`, or a file beside the sheet.
    #[arg(long)]
    pub rules: Option<String>,
    /// What of known size is in every photo, such as card:99.2,99.4.
    #[arg(long)]
    pub scale: Option<String>,
    /// Who tests.
    #[arg(long)]
    pub tested_by: Option<String>,
    /// Temperature of the part, such as "21 C" or "70 F".
    #[arg(long)]
    pub temperature: Option<String>,
    /// Light on the part, such as "1100 lx" or "100 fc".
    #[arg(long)]
    pub light: Option<String>,
    /// A zone that must be photographed, "NAME" or "NAME=photo.jpg,photo2.jpg"; repeatable. Without it each
    /// photo in the folder is a zone.
    #[arg(long, value_name = "ZONE")]
    pub zone: Vec<String>,
}
