//! `nde rules`: list, show and check rule sets.

use crate::args::{RulesArgs, RulesCommand};
use crate::cautions::CAUTIONS;
use crate::digest::sha256;
use crate::exports::columns::{Align, Columns};
use crate::outcome::Outcome;
use crate::settings;
use crate::talk::{Dress, Paint, Streams, harmless};
use anyhow::Result;
use nde_core::{RuleSet, rules};
use std::fmt::Write as _;
use std::path::Path;

/// Lists, shows or checks.
pub(super) fn run(args: &RulesArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let text = match &args.command {
        None | Some(RulesCommand::List) => list(streams.out_dress),
        Some(RulesCommand::Show { rules }) => show(&settings::rule_set(rules)?, streams.out_dress),
        Some(RulesCommand::Check { file }) => check(file)?,
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
    text.push_str(
        "\nSee one with `nde rules show ID`. Your own: a rule file of the same form (`nde rules check FILE`), or --limit.\n",
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
    let _ = writeln!(text, "{}  {}", dress.paint(Paint::Strong, set.id()), harmless(set.title()));
    if let Some(edition) = set.edition() {
        let _ = writeln!(text, "edition  {}", harmless(edition));
    }
    let _ = writeln!(text, "sha256   {}", sha256(set.text().as_bytes()));
    if let Some(unit) = set.unit() {
        let _ = writeln!(text, "unit     {}", unit.word());
    }
    let size = smallest(set);
    if !size.is_empty() {
        let _ = writeln!(text, "decides  from {size}: a photo must resolve that");
    }
    if set.needs_places() {
        text.push_str("places   needed where several marks come together: x_mm, y_mm, angle_deg in a typed list\n");
    }
    text.push('\n');
    let mut table = Columns::new(&[
        ("rule", Align::Left),
        ("limit", Align::Left),
        ("source", Align::Left),
        ("confidence", Align::Left),
    ]);
    for line in set.rules() {
        table.push(vec![
            line.name.into(),
            line.limit.into(),
            line.source.text.into(),
            line.source.confidence.word().into(),
        ]);
    }
    text.push_str(&table.lines(0, dress));
    text.push('\n');
    for line in set.rules() {
        let _ = writeln!(text, "{}", harmless(&line.sentence));
    }
    for convention in set.conventions() {
        let _ = writeln!(text, "{}", harmless(&convention));
    }
    text.push('\n');
    for caution in set.cautions() {
        let _ = writeln!(text, "{}", dress.paint(Paint::Faint, &harmless(caution)));
    }
    let _ = writeln!(text, "{}", dress.paint(Paint::Faint, CAUTIONS[0]));
    text
}

fn check(file: &Path) -> Result<String> {
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
