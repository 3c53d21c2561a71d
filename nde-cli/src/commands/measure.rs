//! `nde measure`: indications without judging.

use crate::args::{Format, MeasureArgs, WeldArgs};
use crate::batch;
use crate::compare::Taken;
use crate::explain;
use crate::exports;
use crate::inputs::{Inputs, PhotoFile, Wanted};
use crate::outcome::Outcome;
use crate::progress::{Progress, Show, Step};
use crate::record::{Case, Failure, Record};
use crate::save;
use crate::seeing::{Seen, see};
use crate::series::{self, Shot};
use crate::settings::{Criteria, Seeing};
use crate::talk::Streams;
use anyhow::{Error, Result, bail};
use nde_core::Guard;
use std::collections::HashSet;
use std::ops::ControlFlow;
use std::path::PathBuf;

/// Measures the photos.
pub(super) fn run(args: &MeasureArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let seeing = Seeing::resolve(&args.seeing);
    let Inputs::Photos(photos) = Inputs::find(&Wanted::plain(&args.paths))? else {
        bail!("a typed list is measured already; use `nde evaluate` to judge it");
    };
    if args.series {
        return follow(args, &seeing, &photos, streams);
    }
    let mut taken = HashSet::new();
    let folders: Vec<Option<PathBuf>> = photos
        .iter()
        .map(|file| {
            let stem = file.path.file_stem().map_or("photo".into(), |s| s.to_string_lossy());
            args.explain.as_ref().map(|dir| dir.join(save::free_name(&stem, "seen", &mut taken)))
        })
        .collect();
    let keep = |n: usize, seen: &Seen| {
        let case = Case::of_photo(&photos[n].name, &seen.sha256, &seen.measurement, None);
        if let Some(folder) = &folders[n] {
            explain::write(folder, &seen.photo, &seen.measurement, &case)?;
        }
        Ok(case)
    };
    let (mut cases, mut failures) = (Vec::new(), Vec::new());
    let lost = |n: usize, why: &Error| match &folders[n] {
        Some(folder) => explain::write_unread(folder, &photos[n], &seeing, why),
        None => Ok(()),
    };
    for (file, result) in photos.iter().zip(each(args, &seeing, &photos, streams, keep, lost)) {
        match result {
            Ok(case) => cases.push(case),
            Err(why) => failures.push(Failure { name: file.name.clone(), why }),
        }
    }
    let outcome = super::report_failures(&failures, streams);
    let criteria = Criteria { rules: None, guard: Guard::default(), weld: WeldArgs::default() };
    let record = Record {
        criteria,
        cases: Box::new(cases),
        failures,
        units: args.units.unwrap_or_default(),
        part: None,
        command: Vec::new(),
    };
    let printed = if args.budget {
        exports::print_budget(&record, args.format, streams)
    } else {
        exports::print(&record, args.format, streams)
    };
    super::forgive_closed(printed)?;
    Ok(outcome)
}

/// Measures every photo on all cores and keeps something of each: that, or why not, in their order. Of
/// those that could not be measured `lost` keeps what it will.
fn each<T: Send>(
    args: &MeasureArgs,
    seeing: &Seeing,
    photos: &[PhotoFile],
    streams: &mut Streams<'_>,
    keep: impl Fn(usize, &Seen) -> Result<T> + Sync,
    lost: impl Fn(usize, &Error) -> Result<()> + Sync,
) -> Vec<Result<T, String>> {
    let jobs: Vec<(usize, &PhotoFile)> = photos.iter().enumerate().collect();
    let mut results: Vec<Option<Result<T, String>>> = photos.iter().map(|_| None).collect();
    let show = if args.quiet { Show::No } else { Show::Yes };
    let mut progress = Progress::of(photos.len(), show);
    batch::each(
        &jobs,
        batch::workers(),
        |(n, file)| {
            let seen = see(file, seeing).or_else(|why| lost(*n, &why).and(Err(why)))?;
            keep(*n, &seen)
        },
        |n, result| {
            let result = super::settled(result);
            let step = if result.is_ok() { Step::Worked } else { Step::CouldNot };
            progress.step(step, streams);
            results[n] = Some(result);
            ControlFlow::Continue(())
        },
    );
    progress.end(streams);
    results.into_iter().flatten().collect()
}

/// Measures photos of one place and tells how its indications went.
fn follow(
    args: &MeasureArgs,
    seeing: &Seeing,
    photos: &[PhotoFile],
    streams: &mut Streams<'_>,
) -> Result<Outcome> {
    if args.format == Format::Jsonl {
        bail!("--format jsonl is one line a photo, and a series is no such list; give json or csv");
    }
    series::check_told(&args.minutes, photos.len())?;
    let keep = |n: usize, seen: &Seen| {
        let taken = Taken::measured(&photos[n].name, &seen.sha256, &seen.measurement);
        Ok((taken, seen.photo.stamp().taken))
    };
    let (mut told, mut taken, mut stamps) = (Vec::new(), Vec::new(), Vec::new());
    let mut failures = Vec::new();
    for (n, result) in
        each(args, seeing, photos, streams, keep, |_, _| Ok(())).into_iter().enumerate()
    {
        match result {
            Ok((one, stamp)) => {
                told.extend(args.minutes.get(n));
                taken.push(one);
                stamps.push(stamp);
            }
            Err(why) => failures.push(Failure { name: photos[n].name.clone(), why }),
        }
    }
    let mut outcome = super::report_failures(&failures, streams);
    let names: Vec<String> = taken.iter().map(|taken| taken.photo.clone()).collect();
    let minutes = series::minutes(&told, &names, &stamps)?;
    let shots = minutes.into_iter().zip(taken).map(|(minutes, taken)| Shot { minutes, taken });
    let followed = series::series(shots.collect())?;
    for warning in series::warnings(&followed) {
        streams.warn(warning);
        outcome = outcome.and(Outcome::Attention);
    }
    if let Some(doubt) = series::unchecked(&followed) {
        streams.warn(doubt);
    }
    if let Some(path) = &args.plot {
        let svg = series::plot(&followed);
        save::file(path, |target| Ok(target.write_all(svg.as_bytes())?))?;
    }
    let printed = match args.format {
        Format::Csv => series::csv(&followed, streams.out),
        Format::Json => series::json(&followed, streams.out),
        Format::Table | Format::Jsonl => {
            let text = series::table(&followed, streams.out_dress);
            streams.out.write_all(text.as_bytes()).map_err(Into::into)
        }
    };
    super::forgive_closed(printed)?;
    Ok(outcome)
}
