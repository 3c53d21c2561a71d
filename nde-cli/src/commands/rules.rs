//! `nde rules`: list, show, check and start rule sets and techniques.

use crate::args::{RulesArgs, RulesCommand};
use crate::cautions::CAUTIONS;
use crate::digest::sha256;
use crate::exports::columns::{Align, Columns};
use crate::outcome::Outcome;
use crate::save::unwritable;
use crate::settings;
use crate::sheet;
use crate::talk::{Dress, Paint, Streams, harmless};
use anyhow::{Result, anyhow, bail};
use nde_core::{RuleSet, Technique, rules, technique};
use std::fmt::Write as _;
use std::io::{ErrorKind, Write as _};
use std::path::Path;

/// Lists, shows, checks or starts.
pub(super) fn run(args: &RulesArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let text = match &args.command {
        None | Some(RulesCommand::List) => list(streams.out_dress),
        Some(RulesCommand::Show { rules }) => match Technique::builtin(rules) {
            Some(technique) => show_technique(&technique, streams.out_dress),
            None => match settings::rule_set(rules) {
                Ok(set) => show(&set, streams.out_dress),
                // A file of a technique is told by its own words.
                Err(error) => match sheet::technique(rules, Path::new("")) {
                    Ok(technique) => show_technique(&technique, streams.out_dress),
                    Err(_) => return Err(error),
                },
            },
        },
        Some(RulesCommand::Needs { rules }) => needs(&settings::rule_set(rules)?),
        Some(RulesCommand::Check { file }) => check(file)?,
        Some(RulesCommand::New { file, from }) => start(file.as_deref(), from, streams)?,
    };
    super::forgive_closed(streams.out.write_all(text.as_bytes()).map_err(Into::into))?;
    Ok(Outcome::Accepted)
}

fn list(dress: Dress) -> String {
    let mut table = Columns::new(&[
        ("id", Align::Left),
        ("unit", Align::Left),
        ("decides from", Align::Right),
        ("numbers", Align::Left),
        ("title", Align::Left),
    ]);
    for set in rules::builtin_ids().filter_map(RuleSet::builtin) {
        table.push(vec![
            set.id().into(),
            set.unit().map_or("", nde_core::rules::Unit::word).into(),
            smallest(&set).into(),
            set.confidence().word().into(),
            set.title().into(),
        ]);
    }
    let mut text = table.lines(0, dress);
    let mut techniques = Columns::new(&[
        ("technique", Align::Left),
        ("numbers", Align::Left),
        ("title", Align::Left),
    ]);
    for technique in technique::builtin_ids().filter_map(Technique::builtin) {
        techniques.push(vec![
            technique.id().into(),
            technique.confidence().word().into(),
            technique.title().into(),
        ]);
    }
    text.push('\n');
    text.push_str(&techniques.lines(0, dress));
    let templates: Vec<&str> = rules::template_ids().collect();
    let _ = write!(
        text,
        "\nSee one with `nde rules show ID`, and with `nde rules needs ID` what a photo must resolve for it.\n\
         Your own: `nde rules new FILE` starts a rule file (--from {}), `nde rules check FILE` checks it; or --limit.\n",
        templates.join(", ")
    );
    text
}

fn smallest(set: &RuleSet) -> String {
    match (set.smallest_deciding_size(), set.unit()) {
        (Some(length), Some(unit)) => unit.show(length),
        (Some(length), None) => length.to_string(),
        (None, _) => String::new(),
    }
}

// Every `let _ = write!` below goes into a String, which takes everything.

fn show(set: &RuleSet, dress: Dress) -> String {
    let mut text = String::new();
    let strong = |words: &str| dress.paint(Paint::Strong, words);
    let _ = writeln!(text, "{}  {}", strong(set.id()), harmless(set.title()));
    if let Some(edition) = set.edition() {
        let _ = writeln!(text, "edition  {}", harmless(edition));
    }
    if let Some(unit) = set.unit() {
        let _ = writeln!(text, "unit     {}", unit.word());
    }
    let size = smallest(set);
    if !size.is_empty() {
        let _ = writeln!(text, "decides  from {size}");
    }
    if let Some(why) = set.measure_only() {
        let _ = writeln!(text, "verdict  none is given: {}", harmless(why));
    }
    let _ = writeln!(text, "sha256   {}", sha256(set.text().as_bytes()));
    text.push('\n');
    let mut table = Columns::new(&[
        ("rule", Align::Left),
        ("limit", Align::Left),
        ("how sure", Align::Left),
        ("source", Align::Left),
    ]);
    for line in set.rules() {
        table.push(vec![
            line.name.into(),
            line.limit.into(),
            line.source.confidence.word().into(),
            line.source.text.into(),
        ]);
    }
    text.push_str(&table.lines(0, dress));
    section(&mut text, &strong("In words"), set.rules().map(|line| line.sentence));
    section(&mut text, &strong("Must be known"), set.needs().also.into_iter());
    section(&mut text, &strong("Chosen here, published nowhere"), set.conventions().into_iter());
    section(&mut text, &strong("Mind"), set.cautions().iter().cloned());
    let _ = writeln!(text, "  {}", CAUTIONS[0]);
    text
}

/// A heading with its sentences; nothing when there are none.
fn section(text: &mut String, heading: &str, sentences: impl Iterator<Item = String>) {
    for (i, sentence) in sentences.enumerate() {
        if i == 0 {
            let _ = writeln!(text, "\n{heading}");
        }
        let _ = writeln!(text, "  {}", harmless(&sentence));
    }
}

/// What a photo must resolve, and what else must be known.
fn needs(set: &RuleSet) -> String {
    let needs = set.needs();
    let mut text = format!("{} needs\n", harmless(set.id()));
    match (needs.smallest_length, needs.pitch_mm, needs.blur_mm) {
        (Some(_), Some(pitch), Some(blur)) => {
            let _ = writeln!(
                text,
                "  a photo with at least {:.1} pixels a millimetre ({pitch:.3} mm a pixel) and edges no softer than {blur:.3} mm (standard deviation)",
                1.0 / pitch
            );
            let _ = writeln!(
                text,
                "    because sizes decide from {}, and a mark of that length at the linear ratio must be told from a rounded one",
                smallest(set)
            );
        }
        _ => text.push_str("  no certain resolution: no length decides\n"),
    }
    for sentence in needs.also {
        let _ = writeln!(text, "  {}", harmless(&sentence));
    }
    text
}

/// A starting file: on standard output, or in a file that was not there.
fn start(file: Option<&Path>, from: &str, streams: &mut Streams<'_>) -> Result<String> {
    let Some(template) = rules::template(from) else {
        let known: Vec<&str> = rules::template_ids().collect();
        let hint = if RuleSet::builtin(from).is_some() {
            "; a shipped set is used by its id and needs no file"
        } else {
            ""
        };
        bail!("`{from}` is no template; the templates are {}{hint}", known.join(", "));
    };
    let Some(file) = file else { return Ok(template.to_owned()) };
    let shown = harmless(&file.display().to_string());
    let made = std::fs::OpenOptions::new().write(true).create_new(true).open(file);
    let written = made.and_then(|mut made| made.write_all(template.as_bytes()));
    written.map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            anyhow!("{shown}: is there already and is left as it is; give another name")
        }
        _ => unwritable(file, &error),
    })?;
    let gaps = template.lines().filter(|l| !l.starts_with('#') && l.contains('?')).count();
    streams.note(format_args!(
        "{shown}: fill in the {gaps} lines that hold a `?`, then run `nde rules check {shown}`"
    ));
    Ok(String::new())
}

fn show_technique(technique: &Technique, dress: Dress) -> String {
    let mut text = String::new();
    let title = harmless(technique.title());
    let _ = writeln!(text, "{}  {title}", dress.paint(Paint::Strong, technique.id()));
    if let Some(edition) = technique.edition() {
        let _ = writeln!(text, "edition  {}", harmless(edition));
    }
    let _ = writeln!(text, "sha256   {}\n", sha256(technique.text().as_bytes()));
    let mut table = Columns::new(&[
        ("item", Align::Left),
        ("must hold", Align::Left),
        ("source", Align::Left),
        ("confidence", Align::Left),
    ]);
    for line in technique.lines() {
        table.push(vec![
            line.item.into(),
            line.limit.into(),
            line.source.text.into(),
            line.source.confidence.word().into(),
        ]);
    }
    text.push_str(&table.lines(0, dress));
    text.push('\n');
    for caution in technique.cautions() {
        let _ = writeln!(text, "{}", dress.paint(Paint::Faint, &harmless(caution)));
    }
    let _ = writeln!(text, "{}", dress.paint(Paint::Faint, CAUTIONS[0]));
    text
}

fn check(file: &Path) -> Result<String> {
    if let Ok(technique) = sheet::technique(&file.display().to_string(), Path::new("")) {
        let lines = technique.lines().count();
        return Ok(format!(
            "{}: good; the technique `{}` has {lines} lines\n",
            harmless(&file.display().to_string()),
            technique.id()
        ));
    }
    let set = settings::rule_file(file)?;
    let lines = set.rules().count();
    Ok(format!(
        "{}: good; `{}` has {lines} lines, decides from {}\n",
        harmless(&file.display().to_string()),
        harmless(set.id()),
        match smallest(&set) {
            size if size.is_empty() => "no length".to_owned(),
            size => size,
        }
    ))
}
