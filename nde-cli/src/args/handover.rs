//! Words about what is handed over beside the lists and the report.

use clap::Args as ClapArgs;

/// What else is written into the output folder.
#[derive(Clone, Copy, Debug, Default, ClapArgs)]
#[command(next_help_heading = "Handing over")]
pub(crate) struct HandoverArgs {
    /// Also write indications.xlsx: numbers as numbers, marked photos linked.
    #[arg(long, requires = "out")]
    pub xlsx: bool,
    /// Also write indications.jsonl: one line of JSON a photo.
    #[arg(long, requires = "out")]
    pub jsonl: bool,
    /// Also write report.pdf.
    #[arg(long, requires = "out")]
    pub pdf: bool,
}
