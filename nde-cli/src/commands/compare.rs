//! `nde compare`: the same part at two times.

use crate::args::{By, CompareArgs, Format};
use crate::compare::{self, Align, Comparison, Scales, Taken};
use crate::inputs::{Inputs, PhotoFile, Wanted};
use crate::outcome::Outcome;
use crate::save;
use crate::seeing::see;
use crate::settings::Seeing;
use crate::talk::Streams;
use anyhow::{Result, anyhow, bail};
use std::path::Path;

/// Compares.
pub(super) fn run(args: &CompareArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    if args.format == Format::Jsonl {
        bail!("--format jsonl is one line a photo of `measure` and `evaluate`; give json or csv");
    }
    let seeing = Seeing::resolve(&args.seeing);
    let (old, new) = (taken(&args.old, &seeing)?, taken(&args.new, &seeing)?);
    let align = match args.by {
        By::Auto => Align::Auto,
        By::Card => Align::Scale,
        By::Marks => Align::Marks,
    };
    let scales = if args.same_card { Scales::Same } else { Scales::Apart };
    let mut outcome = Outcome::Accepted;
    let mut all: Vec<Comparison> = Vec::new();
    for (before, after) in partners(&old, &new, streams, &mut outcome)? {
        all.push(compare::compare(before, after, align, scales)?);
    }
    for it in all.iter().filter(|it| it.laid.may_be_chance()) {
        streams.warn(format_args!(
            "{} -> {}: so few indications ({}) agree that chance would do as much; see that both show the same place, or lay the scale in the same place both times and say --by card",
            it.old, it.new, it.laid.agreeing
        ));
        outcome = outcome.and(Outcome::Attention);
    }
    for it in all.iter().filter(|it| it.both_mm2 == Some(0.0)) {
        streams.warn(format_args!(
            "{} -> {}: no ground was read in both, so nothing is compared; see that both show the same place, or lay the scale in the same place both times",
            it.old, it.new
        ));
        outcome = outcome.and(Outcome::Attention);
    }
    let changed = all
        .iter()
        .flat_map(|it| &it.pairs)
        .any(|pair| pair.growth.is_none_or(|g| g.change != compare::Change::WithinUncertainty));
    if changed {
        outcome = outcome.and(Outcome::Attention);
    }
    if let Some(path) = &args.plot {
        let svg = compare::plot(&all);
        save::file(path, |target| Ok(target.write_all(svg.as_bytes())?))?;
    }
    let printed = match args.format {
        Format::Csv => compare::csv(&all, streams.out),
        Format::Json => compare::json(&all, streams.out),
        Format::Table | Format::Jsonl => {
            let text = compare::table(&all, streams.out_dress);
            streams.out.write_all(text.as_bytes()).map_err(Into::into)
        }
    };
    super::forgive_closed(printed)?;
    Ok(outcome)
}

/// The photos of one inspection.
fn taken(path: &Path, seeing: &Seeing) -> Result<Vec<Taken>> {
    let record = if path.is_dir() { path.join("indications.json") } else { path.to_owned() };
    let is_record = record.extension().is_some_and(|e| e.eq_ignore_ascii_case("json"));
    if is_record && record.is_file() {
        return Taken::all_of(&record);
    }
    let Inputs::Photos(photos) = Inputs::find(&Wanted::plain(&[path.to_owned()]))? else {
        bail!(
            "{}: is a typed list; evaluate it with --out and compare the folders",
            path.display()
        );
    };
    photos.iter().map(|file| measured(file, seeing)).collect()
}

fn measured(file: &PhotoFile, seeing: &Seeing) -> Result<Taken> {
    let seen = see(file, seeing).map_err(|e| anyhow!("{}: {e:#}", file.name))?;
    Ok(Taken::measured(&file.name, &seen.sha256, &seen.measurement))
}

/// Which photo belongs to which: of one name, or the only ones.
fn partners<'a>(
    old: &'a [Taken],
    new: &'a [Taken],
    streams: &mut Streams<'_>,
    outcome: &mut Outcome,
) -> Result<Vec<(&'a Taken, &'a Taken)>> {
    if let ([old], [new]) = (old, new) {
        return Ok(vec![(old, new)]);
    }
    let name = |taken: &Taken| -> Option<String> {
        Path::new(&taken.photo).file_name().map(|n| n.to_string_lossy().into_owned())
    };
    let only = |list: &'a [Taken], wanted: &Taken| -> Option<&'a Taken> {
        let mut same = list.iter().filter(|it| name(it) == name(wanted));
        same.next().filter(|_| same.next().is_none())
    };
    let mut pairs = Vec::new();
    for after in new {
        match only(old, after).filter(|before| only(new, before).is_some()) {
            Some(before) => pairs.push((before, after)),
            None => {
                streams.warn(format_args!("{}: has no partner in the old inspection", after.photo));
                *outcome = outcome.and(Outcome::Attention);
            }
        }
    }
    for before in old.iter().filter(|before| only(new, before).is_none()) {
        streams.warn(format_args!("{}: has no partner in the new inspection", before.photo));
        *outcome = outcome.and(Outcome::Attention);
    }
    if pairs.is_empty() {
        bail!(
            "no photo of the two inspections has the same file name; give the two photos themselves, or name them alike"
        );
    }
    Ok(pairs)
}
