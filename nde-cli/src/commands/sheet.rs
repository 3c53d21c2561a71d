//! `nde sheet`: start, check, show an inspection sheet; the bench clock.

use crate::args::{NewArgs, SHEET_DEFAULT as DEFAULT, SheetCommand};
use crate::clock::Moment;
use crate::exports::columns::{Align, Cell, Columns};
use crate::inputs::{Inputs, PhotoFile, Wanted};
use crate::outcome::Outcome;
use crate::settings;
use crate::sheet::{self, Blank, RealBench, Sheet};
use crate::talk::{Dress, Paint, Streams, harmless};
use anyhow::{Result, anyhow, bail};
use nde_core::Technique;
use nde_core::technique::{self, Checked, ProcessCheck};
use std::borrow::Cow;
use std::fmt::Write as _;
use std::io::{BufRead as _, IsTerminal as _};
use std::path::Path;

/// Starts, checks, shows, or runs.
pub(super) fn run(args: &SheetCommand, streams: &mut Streams<'_>) -> Result<Outcome> {
    match args {
        SheetCommand::New(args) => new(args, streams),
        SheetCommand::Check { file } => check(&in_folder(file), streams),
        SheetCommand::Show { file } => show(&in_folder(file), streams),
        SheetCommand::Run { file } => bench(&in_folder(file), streams),
    }
}

/// A folder stands for the sheet in it.
fn in_folder(file: &Path) -> Cow<'_, Path> {
    if file.is_dir() { file.join(DEFAULT).into() } else { file.into() }
}

fn folder_of(file: &Path) -> &Path {
    match file.parent() {
        Some(dir) if !dir.as_os_str().is_empty() => dir,
        _ => Path::new("."),
    }
}

fn new(args: &NewArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let file = &*in_folder(&args.file);
    if file.exists() {
        bail!("{} is there already; give another name, or edit it", file.display());
    }
    let mut known = Blank {
        part: args.part.clone(),
        number: args.number.clone(),
        material: args.material.clone(),
        form: args.form.clone(),
        technique: args.technique.clone(),
        rules: args.rules.clone(),
        scale: args.scale.clone(),
        tested_by: args.tested_by.clone(),
        temperature: args.temperature.clone(),
        light: args.light.clone(),
        zones: zones(&args.zone, folder_of(file))?,
    };
    if std::io::stdin().is_terminal() {
        ask(&mut known, streams);
    }
    let text = sheet::blank(&known);
    if let Err(faults) = sheet::read(&text, None) {
        for fault in faults {
            streams.error(format_args!("{}; {}", fault.fact, fault.remedy));
        }
        return Ok(Outcome::Failed);
    }
    if let Some(name) = &known.technique {
        sheet::technique(name, folder_of(file))?;
    }
    if let Some(name) = &known.rules {
        settings::rule_set_beside(name, folder_of(file))?;
    }
    sheet::durable(file, text.as_bytes())?;
    super::forgive_closed(writeln!(streams.out, "{}", file.display()).map_err(Into::into))?;
    for photo in known.zones.iter().flat_map(|(_, photos)| photos) {
        if !folder_of(file).join(photo).is_file() {
            streams.warn(format_args!("{photo} is not beside the sheet yet; put it there"));
        }
    }
    streams.note(
        "fill in what is known, then `nde sheet run` logs the times and `nde sheet check` says what is missing",
    );
    Ok(Outcome::Accepted)
}

/// `NAME` or `NAME=photo,photo`; without any, each photo of the folder by itself.
fn zones(words: &[String], dir: &Path) -> Result<Vec<(String, Vec<String>)>> {
    if !words.is_empty() {
        return words
            .iter()
            .map(|word| {
                let (name, photos) = word.split_once('=').unwrap_or((word, ""));
                if name.trim().is_empty() {
                    bail!("--zone `{word}` has no name; write it such as \"upper eye=eye.jpg\"");
                }
                let photos = photos.split(',').map(str::trim).filter(|p| !p.is_empty());
                Ok((name.trim().to_owned(), photos.map(str::to_owned).collect()))
            })
            .collect();
    }
    // A folder without photos is where a sheet starts.
    let Ok(Inputs::Photos(photos)) = Inputs::find(&Wanted::plain(&[dir.to_owned()])) else {
        return Ok(Vec::new());
    };
    let names = photos.iter().filter_map(|photo: &PhotoFile| {
        let name = photo.path.file_name()?.to_string_lossy().into_owned();
        let stem = photo.path.file_stem()?.to_string_lossy().into_owned();
        Some((stem, vec![name]))
    });
    Ok(names.collect())
}

/// Asks what no option gave; an empty answer, or the end of the input, leaves it open.
fn ask(known: &mut Blank, streams: &mut Streams<'_>) {
    let mut input = std::io::stdin().lock();
    let questions: [(&str, &mut Option<String>); 9] = [
        ("part", &mut known.part),
        ("drawing or serial number", &mut known.number),
        ("material, such as stainless-steel, bronze, aluminium", &mut known.material),
        ("form: casting, weld, wrought", &mut known.form),
        (
            "technique: tech-iso, tech-us-general, tech-us-pressure, tech-shop-practice",
            &mut known.technique,
        ),
        ("rule set, see `nde rules`", &mut known.rules),
        ("tested by", &mut known.tested_by),
        ("temperature of the part, such as 21 C", &mut known.temperature),
        ("light on the part, such as 1100 lx", &mut known.light),
    ];
    for (question, answer) in questions {
        if answer.is_some() {
            continue;
        }
        let _ = write!(streams.talk, "{question} (Enter: later): ");
        let _ = streams.talk.flush();
        let mut line = String::new();
        if input.read_line(&mut line).unwrap_or(0) == 0 {
            return;
        }
        let line = line.trim();
        *answer = (!line.is_empty()).then(|| line.to_owned());
    }
}

/// The sheet, with its faults said one a line; absent when there are any.
fn read(file: &Path, streams: &mut Streams<'_>) -> Result<Option<Sheet>> {
    let text = sheet::text_of(file)?;
    match sheet::read(&text, Some(Moment::now())) {
        Ok(sheet) => Ok(Some(sheet)),
        Err(faults) => {
            for fault in faults {
                streams.error(format_args!("{}:{fault}", file.display()));
            }
            Ok(None)
        }
    }
}

fn check(file: &Path, streams: &mut Streams<'_>) -> Result<Outcome> {
    let Some(sheet) = read(file, streams)? else { return Ok(Outcome::Failed) };
    let technique = sheet::technique_of(&sheet, folder_of(file))?;
    let mut outcome = Outcome::Accepted;
    let mut text = String::new();
    let dress = streams.out_dress;
    if let Some(technique) = &technique {
        let checked = technique::check(&sheet.process(), technique);
        text += &process_table(&checked, technique, dress);
        if !checked.stands() {
            outcome = Outcome::Attention;
        }
    }
    // A String takes everything, here and below.
    let missing = sheet.missing();
    if !missing.is_empty() {
        let _ = writeln!(text, "\nnot recorded:");
        for words in &missing {
            let _ = writeln!(text, "  {words}");
        }
        outcome = outcome.and(Outcome::Attention);
    }
    for zone in sheet.zones.iter().filter(|zone| zone.photos.is_empty()) {
        let _ = writeln!(text, "\nzone `{}` has no photo: not inspected", harmless(&zone.name));
        outcome = outcome.and(Outcome::Attention);
    }
    for photo in sheet.zones.iter().flat_map(|zone| &zone.photos) {
        if !folder_of(file).join(photo).is_file() {
            let _ = writeln!(text, "\nphoto `{}` is not beside the sheet", harmless(photo));
            outcome = outcome.and(Outcome::Attention);
        }
    }
    let _ = writeln!(
        text,
        "\n{}",
        match outcome {
            Outcome::Accepted => "good: everything is recorded and every limit is met",
            _ => "a test with something not met or not recorded is never accepted, only reviewed",
        }
    );
    super::forgive_closed(streams.out.write_all(text.as_bytes()).map_err(Into::into))?;
    Ok(outcome)
}

/// Each limit: how it came out, what was found, what must hold, and what to do.
pub(super) fn process_table(checked: &ProcessCheck, technique: &Technique, dress: Dress) -> String {
    let mut table = Columns::new(&[
        ("item", Align::Left),
        ("", Align::Left),
        ("found", Align::Left),
        ("must hold", Align::Left),
        ("source", Align::Left),
    ]);
    let paint = |it: &Checked| match it.outcome {
        technique::Outcome::Met => Paint::Good,
        _ if it.advice => Paint::Faint,
        technique::Outcome::NotMet => Paint::Bad,
        _ => Paint::Ask,
    };
    for it in &checked.items {
        table.push(vec![
            it.item.into(),
            Cell::painted(it.outcome.word(), paint(it)),
            it.found.as_deref().unwrap_or("").into(),
            it.limit.as_str().into(),
            format!("{} ({})", it.source.text, it.source.confidence.word()).into(),
        ]);
    }
    let mut text =
        format!("technique {}: {}\n", harmless(technique.id()), harmless(technique.title()));
    text += &table.lines(0, dress);
    let mut said: Vec<&str> = Vec::new();
    for it in checked.obstacles() {
        if let Some(remedy) = it.remedy.as_deref().filter(|r| !said.contains(r)) {
            let _ = writeln!(text, "{} {}: {}", it.item, it.outcome.word(), harmless(remedy));
            said.push(remedy);
        }
    }
    text
}

fn show(file: &Path, streams: &mut Streams<'_>) -> Result<Outcome> {
    let Some(sheet) = read(file, streams)? else { return Ok(Outcome::Failed) };
    let text = sheet::shown(&sheet, streams.out_dress);
    super::forgive_closed(streams.out.write_all(text.as_bytes()).map_err(Into::into))?;
    Ok(Outcome::Accepted)
}

fn bench(file: &Path, streams: &mut Streams<'_>) -> Result<Outcome> {
    let Some(sheet) = read(file, streams)? else { return Ok(Outcome::Failed) };
    let technique = sheet::technique_of(&sheet, folder_of(file))?;
    if technique.is_none() {
        streams.warn(
            "the sheet names no technique, so there is nothing to count to; write technique in [procedure]",
        );
    }
    let ended = sheet::walk(file, sheet, technique.as_ref(), &mut RealBench::listen(), streams)?;
    let Some(technique) = technique.filter(|_| ended == sheet::Walk::Done) else {
        return Ok(Outcome::Accepted);
    };
    let (sheet, _) = sheet::load(file, None).map_err(|e| anyhow!("{e}"))?;
    let checked = technique::check(&sheet.process(), &technique);
    for it in checked.obstacles() {
        let remedy = it.remedy.as_deref().unwrap_or("");
        streams.note(format_args!("{} {}: {remedy}", it.item, it.outcome.word()));
    }
    Ok(if checked.stands() { Outcome::Accepted } else { Outcome::Attention })
}
