//! The words of the command line, and nothing else.

mod shard;
mod ending;
mod minutes;
mod batch;
mod pick;
mod rules;
mod weld;
mod shell;
mod schema;
mod handover;
mod compare;
mod sheet;

pub(crate) use batch::BatchArgs;
pub(crate) use compare::{By, CompareArgs};
pub(crate) use handover::HandoverArgs;
pub(crate) use pick::PickArgs;
pub(crate) use rules::{RulesArgs, RulesCommand};
pub(crate) use schema::{SchemaArgs, SchemaOf};
pub(crate) use shard::Shard;
pub(crate) use sheet::{DEFAULT as SHEET_DEFAULT, NewArgs, SheetArgs, SheetCommand};
pub(crate) use shell::{CompletionsArgs, ManArgs};
pub(crate) use weld::WeldArgs;

use crate::cautions::CAUTIONS;
use crate::region::Region;
use clap::builder::{PathBufValueParser, TypedValueParser as _};
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use nde_core::Limit;
use nde_measure::ScaleSpec;
use nde_measure::scale::Height;
use serde::Deserialize;
use std::ffi::OsString;
use std::path::PathBuf;

/// Heading of the words about what is printed.
const PRINTED: &str = "What is printed";
/// Heading of what belongs to a series of photos.
const SERIES: &str = "A series of photos";

/// Measures and judges visible penetrant indications from photos.
///
/// Results go to standard output, talk to standard error.
#[derive(Clone, Debug, Parser)]
#[command(
    name = "nde",
    version,
    after_help = format!("Exit code: 0 everything judged and accepted, or nothing to judge; 1 something is rejected or needs review; 2 something could not be done.\n\n{}", CAUTIONS[0])
)]
pub(crate) struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// File with a shop's defaults (rules, limits, guard, scale, units); without it nde.toml in the
    /// working folder, if there is one. Words given here win.
    #[arg(long, global = true, value_name = "FILE")]
    pub config: Option<PathBuf>,
}

impl Args {
    /// Keeps the words that an evaluation depends on, for its record.
    pub(crate) fn remember(&mut self, words: &[OsString]) {
        if let Command::Evaluate(args) = &mut self.command {
            let words = words.iter().skip(1).map(|word| word.to_string_lossy().into_owned());
            args.words = deciding(words);
        }
    }
}

/// Options with a value that say where results go or how work is split: no result depends on them.
const WHERE: [&str; 6] = ["--out", "--reuse", "--shard", "--format", "--watch-end", "--again"];
/// Such options without a value.
const HOW: [&str; 8] =
    ["--watch", "--quiet", "-q", "--verbose", "-v", "--pdf", "--xlsx", "--jsonl"];

/// The words without those that change no result.
pub(crate) fn deciding(words: impl Iterator<Item = String>) -> Vec<String> {
    let mut kept = Vec::new();
    let mut words = words;
    while let Some(word) = words.next() {
        let name = word.split_once('=').map_or(word.as_str(), |(name, _)| name);
        if WHERE.contains(&name) {
            if !word.contains('=') {
                words.next();
            }
        } else if !HOW.contains(&word.as_str()) {
            kept.push(word);
        }
    }
    kept
}

impl EvaluateArgs {
    /// Whether the words of an earlier run name the same photos, folders or list.
    pub(crate) fn reads_the_same_places(&self, words: &[String]) -> bool {
        let words = std::iter::once("nde").chain(words.iter().map(String::as_str));
        let Ok(Args { command: Command::Evaluate(before), .. }) = Args::try_parse_from(words)
        else {
            return false;
        };
        before.paths == self.paths && before.batch.list == self.batch.list
    }
}

/// What to do.
#[derive(Clone, Debug, Subcommand)]
pub(crate) enum Command {
    /// Write the printable scale card: PDF, SVG and PNG, true to size.
    Card(CardArgs),
    /// Find and measure indications in photos, without judging.
    Measure(MeasureArgs),
    /// Measure and judge: photos, folders of photos, or a list typed by hand.
    Evaluate(Box<EvaluateArgs>),
    /// Write a page on which you click a known distance or outline the coat, and copy the option's text.
    Pick(PickArgs),
    /// List, show, check or start rule sets; list, show or check techniques.
    Rules(RulesArgs),
    /// Print the published JSON schema of a record, a line or a rule set.
    Schema(SchemaArgs),
    /// Print what makes a shell complete the words of this command.
    Completions(CompletionsArgs),
    /// Print the manual page, or write one page a command.
    Man(ManArgs),
    /// Start, check or show an inspection sheet; run the bench clock.
    Sheet(SheetArgs),
    /// Compare two inspections of the same part: matched, new and gone indications, growth.
    Compare(CompareArgs),
}

/// `nde card`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde card                             three files in this folder; print the PDF at 100 %
  nde card --size small --paper letter --out small.pdf

Next: lay a calliper on the two bars and pass the readings on: nde evaluate ... --scale card:99.2,99.4")]
pub(crate) struct CardArgs {
    /// Which card: standard 84 x 60 mm, small 30 x 24 mm for tight places, large 140 x 120 mm.
    #[arg(long, value_enum, default_value_t)]
    pub size: CardSize,
    /// Folder for all three files, or one file ending in .pdf, .svg or .png.
    #[arg(long, value_name = "DIR_OR_FILE", default_value = ".")]
    pub out: PathBuf,
    /// Resolution of the PNG, dots an inch.
    #[arg(long, default_value_t = 600, value_parser = clap::value_parser!(u32).range(72..=1200))]
    pub dpi: u32,
    /// Paper of the PDF and SVG.
    #[arg(long, value_enum, default_value_t)]
    pub paper: PaperSize,
}

/// Which card.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum CardSize {
    /// 7 x 5 squares of 12 mm.
    #[default]
    Standard,
    /// 5 x 4 squares of 6 mm.
    Small,
    /// 7 x 6 squares of 20 mm.
    Large,
}

/// Which paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperSize {
    /// 210 mm x 297 mm.
    #[default]
    A4,
    /// 8.5 in x 11 in.
    Letter,
}

/// What photos need to be read.
#[derive(Clone, Debug, Default, ClapArgs)]
#[command(next_help_heading = "What is in the photo")]
pub(crate) struct SeeingArgs {
    /// What of known size is in the frame: card (the default), card:99.2,99.4 (its two bars as
    /// read with a calliper, across and down), board:7x5,12mm,9mm,4x4_50 (a board of your own),
    /// ticks:1mm (a steel rule; also 0.5mm, 1/16in, 1/32in, 1/64in), points:X1,Y1,X2,Y2=50mm
    /// (repeatable), pitch:0.083mm.
    #[arg(long, value_name = "SCALE")]
    pub scale: Vec<ScaleSpec>,
    /// Whether `scale` comes from a shop's defaults.
    #[arg(skip)]
    pub scale_by_default: bool,
    /// How far the surface lies above the plane of the scale, towards the camera: 8mm, 8mm±0.2mm (known
    /// to 0.2 mm either way; 0.5 mm where not said), -3mm for below. Without it the scale is taken as
    /// level with the surface, to 1 mm either way.
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    pub height: Option<Height>,
    /// Outline of the developer coat in pixels of the upright photo, "x1,y1 x2,y2 x3,y3 ...";
    /// repeatable. Without it the tool looks for the coat itself.
    #[arg(long, value_name = "POINTS", allow_hyphen_values = true)]
    pub region: Vec<Region>,
}

/// How results are printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people.
    #[default]
    Table,
    /// One row an indication.
    Csv,
    /// The full record.
    Json,
    /// One line of JSON a photo.
    Jsonl,
}

/// `nde measure`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde measure chainplate.jpg
  nde measure job-117/ --format csv > sizes.csv
  nde measure toggle.jpg --scale ticks:1mm --region \"100,80 900,80 900,700 100,700\"
  nde measure --series after-5.jpg after-10.jpg after-20.jpg --minutes 5,10,20

Next: nde evaluate PHOTO --rules ID --out DIR judges and writes marked photos and a report.")]
pub(crate) struct MeasureArgs {
    /// Photos (JPEG, PNG, TIFF, WebP, HEIC) or folders of them.
    #[arg(required = true, value_name = "PHOTO")]
    pub paths: Vec<PathBuf>,
    /// What photos need to be read.
    #[command(flatten)]
    pub seeing: SeeingArgs,
    /// Print where each uncertainty comes from instead of the indications: every source with its value,
    /// distribution, sensitivity and what it brings to the length.
    #[arg(long)]
    pub budget: bool,
    /// Folder for pictures of what each stage saw: the scale's features (of a rule every tick), coat,
    /// redness, regions. Of a photo without a scale: what may belong to one.
    #[arg(long, value_name = "DIR")]
    pub explain: Option<PathBuf>,
    /// The photos show one place while the developer draws: each indication's length and width against
    /// time, and whether it still grows. The scale stays where it is and as it is.
    #[arg(long, conflicts_with_all = ["budget", "explain"], help_heading = SERIES)]
    pub series: bool,
    /// When the photos were taken, minutes after a moment of your choice, in the order of the photos;
    /// without it the photos' own stamps tell.
    #[arg(long, value_name = "M,M,...", value_delimiter = ',', value_parser = minutes::minutes, requires = "series", help_heading = SERIES)]
    pub minutes: Vec<f64>,
    /// Draw length and width against time into this file (SVG).
    #[arg(long, value_name = "FILE.svg", value_parser = PathBufValueParser::new().try_map(ending::svg), requires = "series", help_heading = SERIES)]
    pub plot: Option<PathBuf>,
    /// How results are printed.
    #[arg(long, value_enum, default_value_t, help_heading = PRINTED)]
    pub format: Format,
    /// Units of the table and the report; rules, lists and records stay as they are.
    #[arg(long, value_enum, help_heading = PRINTED)]
    pub units: Option<Units>,
    /// Say only what went wrong.
    #[arg(long, short, help_heading = PRINTED)]
    pub quiet: bool,
}

/// `nde evaluate`.
#[derive(Clone, Debug, ClapArgs)]
#[command(after_help = "Examples:
  nde evaluate chainplate.jpg --rules weld-vessel-si --out out-plate
  nde evaluate season/ --recursive --match \"*.jpg\" --rules our-limits.toml --out out --xlsx --pdf
  nde evaluate by-hand.csv --limit linear=3mm --limit rounded=5mm
  find season -name \"*.jpg\" -newer last | nde evaluate --list - --rules weld-vessel-si --out out-new
  nde evaluate inbox/ --watch --rules weld-vessel-si --out out-inbox
  nde evaluate season/ --rules weld-vessel-si --out out --shard 3/8

A broken-off run goes on where it was: give the same command again.
Next: open DIR/report.html, call each indication, and save calls.csv.")]
pub(crate) struct EvaluateArgs {
    /// Photos, folders of photos, or one list typed by hand (CSV; `-` reads it from standard
    /// input).
    #[arg(required_unless_present_any = ["list", "again"], value_name = "PATH")]
    pub paths: Vec<PathBuf>,
    /// Does what an earlier run did, from the originals, and says whether everything agrees: give its
    /// indications.json, in the folder that run was started from.
    #[arg(long, value_name = "RECORD.json", conflicts_with_all = ["paths", "out", "rules", "limit"])]
    pub again: Option<PathBuf>,
    /// The words of the command line that results depend on.
    #[arg(skip)]
    pub words: Vec<String>,
    /// Rule set to judge by: an id from `nde rules`, or a rule file.
    #[arg(long, value_name = "ID_OR_FILE")]
    pub rules: Option<String>,
    /// A limit of your own, alone or beside --rules: linear=3mm, rounded=5mm, relevant=1.5mm,
    /// row=4@1.5mm, spacing=10mm, count=10; repeatable. A value at the limit passes.
    #[arg(long, value_name = "LIMIT")]
    pub limit: Vec<Limit>,
    /// What uncertainty does near a limit; only where something is judged.
    #[arg(long, value_enum)]
    pub guard: Option<GuardChoice>,
    /// What some rules ask beside the indications.
    #[command(flatten)]
    pub weld: WeldArgs,
    /// The inspection sheet; without it the sheet.toml of the folder given is taken, where there is one.
    #[arg(long, value_name = "FILE")]
    pub sheet: Option<PathBuf>,
    /// What a person called indications (see the report), laid over the measurement; without it those that the
    /// sheet names.
    #[arg(long, value_name = "FILE.csv")]
    pub calls: Option<PathBuf>,
    /// Folder for indications.csv (one row an indication), photos.csv (one row a photo, those without an
    /// indication too), set_aside.csv, indications.json, report.html and marked photos. One folder a job:
    /// the same job given again replaces its own results, another job's are left alone.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// What else to hand over.
    #[command(flatten)]
    pub handover: HandoverArgs,
    /// What photos need to be read.
    #[command(flatten)]
    pub seeing: SeeingArgs,
    /// Many photos.
    #[command(flatten)]
    pub batch: BatchArgs,
    /// How results are printed.
    #[arg(long, value_enum, default_value_t, help_heading = PRINTED)]
    pub format: Format,
    /// Units of the table and the report; rules, lists and records stay as they are.
    #[arg(long, value_enum, help_heading = PRINTED)]
    pub units: Option<Units>,
    /// Say only what went wrong.
    #[arg(long, short, help_heading = PRINTED)]
    pub quiet: bool,
    /// Name each photo as it is done.
    #[arg(long, short, conflicts_with = "quiet", help_heading = PRINTED)]
    pub verbose: bool,
}

/// Units for eyes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Units {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches, decimal.
    In,
}

/// What uncertainty does near a limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum GuardChoice {
    /// Accept only what is surely within the limit; what may be over it needs review.
    #[default]
    AcceptSide,
    /// Compare the reading as it stands.
    AsMeasured,
}

impl GuardChoice {
    /// The word of the command line.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::AcceptSide => "accept-side",
            Self::AsMeasured => "as-measured",
        }
    }
}
