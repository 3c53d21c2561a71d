//! `nde evaluate`: measure, judge, export.

use crate::args::EvaluateArgs;
use crate::batch;
use crate::exports::{self, csv, json};
use crate::inputs::{Inputs, ListFile, PhotoFile};
use crate::list;
use crate::outcome::Outcome;
use crate::record::{Case, Content, Failure, Record, Row, kind_word};
use crate::save;
use crate::seeing::{Seen, see};
use crate::settings::{Criteria, Seeing};
use crate::talk::Streams;
use anyhow::{Context as _, Result, anyhow, bail};
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use nde_core::{Gate, Indication, JudgeOptions, Judgement, Verdict, judge};
use nde_measure::marks::{self, Emphasis, MarkLabel, MarkOptions};
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// Quality of marked photos, 1 to 100. Chosen by eye: letters stay clean.
const JPEG_QUALITY: u8 = 85;
/// Folder of the marked photos inside the output folder.
const MARKED: &str = "marked";

/// Evaluates photos or a typed list.
pub(super) fn run(args: &EvaluateArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let criteria = Criteria::resolve(args.rules.as_deref(), &args.limit, args.guard)?;
    let inputs = Inputs::find(&args.paths)?;
    let (record, drawn) = match &inputs {
        Inputs::List(file) => {
            let seeing = &args.seeing;
            if !seeing.scale.is_empty() || !seeing.region.is_empty() || seeing.height.is_some() {
                bail!("--scale, --height and --region are about photos; a typed list needs none");
            }
            let record = of_list(file, criteria, args.quiet, streams)?;
            open(args.out.as_deref(), &[])?;
            (record, None)
        }
        Inputs::Photos(photos) => {
            let target = open(args.out.as_deref(), photos)?;
            (of_photos(photos, criteria, args, target.as_ref(), streams), target)
        }
    };
    let mut outcome = super::report_failures(&record.failures, streams);
    for verdict in record.cases.iter().filter_map(Case::verdict) {
        if verdict != Verdict::Accept {
            outcome = outcome.and(Outcome::Attention);
        }
    }
    if let Some(dir) = &args.out {
        if record.cases.is_empty() {
            // Nothing was read: an empty list could be taken for a clean part.
            if let Some(target) = drawn {
                target.undo();
            }
        } else {
            write_all(dir, &record)?;
        }
    }
    if record.criteria.rules.is_none() && !args.quiet {
        streams.note("nothing was judged; give --rules (see `nde rules`) or --limit to judge");
    }
    super::forgive_closed(exports::print(&record, args.format, streams))?;
    Ok(outcome)
}

fn of_list(
    file: &ListFile,
    criteria: Criteria,
    quiet: bool,
    streams: &mut Streams<'_>,
) -> Result<Record> {
    let name = file.name();
    let bytes = file.bytes(list::MOST_BYTES)?;
    let typed = list::read(&bytes).with_context(|| name.clone())?;
    if !typed.ignored.is_empty() && !quiet {
        streams
            .note(format_args!("{name}: these columns are not used: {}", typed.ignored.join(", ")));
    }
    let judgement = judged(&typed.indications, &criteria, &[]).with_context(|| name.clone())?;
    let case = Case {
        name,
        sha256: crate::digest::sha256(&bytes),
        content: Content::List(typed.indications),
        judgement,
        marked: None,
    };
    Ok(Record { criteria, cases: vec![case], failures: Vec::new() })
}

fn judged(
    indications: &[Indication],
    criteria: &Criteria,
    gates: &[Gate],
) -> Result<Option<Judgement>> {
    let Some(rules) = &criteria.rules else { return Ok(None) };
    let mut options = JudgeOptions::default();
    options.guard = criteria.guard;
    options.gates = gates.to_vec();
    Ok(Some(judge(indications, rules, &options)?))
}

fn of_photos(
    photos: &[PhotoFile],
    criteria: Criteria,
    args: &EvaluateArgs,
    target: Option<&Target>,
    streams: &mut Streams<'_>,
) -> Record {
    let seeing = Seeing::resolve(&args.seeing);
    let jobs: Vec<(&PhotoFile, Option<&PathBuf>)> =
        photos.iter().enumerate().map(|(n, file)| (file, target.map(|t| &t.marked[n]))).collect();
    let results = batch::each(
        &jobs,
        batch::workers(),
        |(file, marked)| one_photo(file, &seeing, &criteria, marked.map(PathBuf::as_path)),
        |done, (file, _), result| {
            super::progress(streams, args.quiet, [done, photos.len()], file, result);
        },
    );
    let (mut cases, mut failures) = (Vec::new(), Vec::new());
    for (file, result) in photos.iter().zip(results) {
        match super::settled(result) {
            Ok(case) => cases.push(case),
            Err(why) => failures.push(Failure { name: file.name.clone(), why }),
        }
    }
    Record { criteria, cases, failures }
}

/// Measures, judges and marks one photo, so that its pixels are let go before the next.
fn one_photo(
    file: &PhotoFile,
    seeing: &Seeing,
    criteria: &Criteria,
    marked: Option<&Path>,
) -> Result<Case> {
    let Seen { sha256, photo, measurement } = see(file, seeing)?;
    let indications: Vec<Indication> =
        measurement.indications.iter().map(|seen| seen.indication.clone()).collect();
    let judgement = judged(&indications, criteria, &measurement.gates)?;
    let mut case = Case {
        name: file.name.clone(),
        sha256,
        content: Content::Photo(Box::new(measurement)),
        judgement,
        marked: None,
    };
    if let (Some(path), Some(measurement)) = (marked, case.measurement()) {
        let labels: Vec<MarkLabel> = case.rows().iter().map(label).collect();
        let picture = marks::draw(&photo, measurement, &labels, &MarkOptions::default());
        save_jpeg(path, &picture)?;
        case.marked = path.file_name().map(|name| format!("{MARKED}/{}", name.to_string_lossy()));
    }
    Ok(case)
}

fn label(row: &Row<'_>) -> MarkLabel {
    MarkLabel {
        text: format!("{}  {} {:.1} mm", row.id, kind_word(row.kind), row.length.value.mm()),
        emphasis: match row.verdict {
            None | Some(Verdict::Accept) => Emphasis::Plain,
            Some(Verdict::Review | Verdict::Reject) => Emphasis::Strong,
        },
    }
}

fn save_jpeg(path: &Path, picture: &image::RgbImage) -> Result<()> {
    let side = |full: u32| u16::try_from(full).map_err(|_| anyhow!("the marked photo is too tall"));
    let (width, height) = (side(picture.width())?, side(picture.height())?);
    save::file(path, |target| {
        let mut encoder = Encoder::new(target, JPEG_QUALITY);
        // Full colour resolution: thin blue lines beside red would smear.
        encoder.set_sampling_factor(SamplingFactor::F_1_1);
        Ok(encoder.encode(picture.as_raw(), width, height, ColorType::Rgb)?)
    })
}

/// Where photos' results go.
struct Target {
    dir: PathBuf,
    made: Made,
    /// One marked photo for each photo, in order.
    marked: Vec<PathBuf>,
}

/// Whether the folder was there before.
enum Made {
    Here,
    Before,
}

impl Target {
    /// Takes away the folders made here, as far as they are empty.
    fn undo(&self) {
        let _ = std::fs::remove_dir(self.dir.join(MARKED));
        if matches!(self.made, Made::Here) {
            let _ = std::fs::remove_dir(&self.dir);
        }
    }
}

/// Makes the output folder before the long work, and makes sure that no photo is written over.
fn open(out: Option<&Path>, photos: &[PhotoFile]) -> Result<Option<Target>> {
    let Some(dir) = out else { return Ok(None) };
    let made = if dir.exists() { Made::Before } else { Made::Here };
    save::folder(dir)?;
    let mut taken = HashSet::new();
    let marked_dir = dir.join(MARKED);
    let stem = |file: &PhotoFile| {
        file.path
            .file_stem()
            .map_or_else(|| "photo".to_owned(), |s| s.to_string_lossy().into_owned())
    };
    let marked: Vec<PathBuf> = photos
        .iter()
        .map(|file| marked_dir.join(save::free_name(&stem(file), "jpg", &mut taken)))
        .collect();
    let target = Target { dir: dir.to_owned(), made, marked };
    if !photos.is_empty() {
        save::folder(&marked_dir)?;
        let inputs: HashSet<PathBuf> =
            photos.iter().filter_map(|file| file.path.canonicalize().ok()).collect();
        let written_over =
            target.marked.iter().filter_map(|p| p.canonicalize().ok()).find(|p| inputs.contains(p));
        if let Some(path) = written_over {
            bail!("--out would write over the photo {}; give another folder", path.display());
        }
    }
    Ok(Some(target))
}

fn write_all(dir: &Path, record: &Record) -> Result<()> {
    save::file(&dir.join("indications.csv"), |w| csv::indications(record, w))?;
    save::file(&dir.join("indications.json"), |w| json::write(record, w))?;
    if record.cases.iter().any(|case| case.measurement().is_some()) {
        save::file(&dir.join("set_aside.csv"), |w| csv::set_aside(record, w))?;
    }
    Ok(())
}
