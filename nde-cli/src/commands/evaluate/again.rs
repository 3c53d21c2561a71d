//! The same evaluation once more, from the originals, held against its record.

use super::{of_list, photos, wanted};
use crate::args::{Args, Command, deciding};
use crate::exports::json;
use crate::inputs::{Empty, Inputs};
use crate::inspection::Inspection;
use crate::outcome::Outcome;
use crate::settings::Criteria;
use crate::talk::Streams;
use anyhow::{Context as _, Result, anyhow, bail};
use clap::Parser as _;
use serde_json::Value;
use std::io::Read as _;
use std::path::Path;

/// Most bytes of a record.
const MOST_BYTES: u64 = 1 << 30;
/// Most differences that are told.
const MOST_TOLD: usize = 20;

/// Evaluates again and compares.
pub(super) fn run(path: &Path, streams: &mut Streams<'_>) -> Result<Outcome> {
    let shown = path.display();
    let old = read(path)?;
    let words: Vec<&str> =
        old["command"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    if words.is_empty() {
        bail!("{shown}: does not say how it was made; evaluate the photos anew");
    }
    let deciding = deciding(words.iter().map(|word| (*word).to_owned()));
    let parsed = Args::try_parse_from(std::iter::once("nde".to_owned()).chain(deciding));
    let defaulted = parsed.map(|args| {
        // The shop's defaults stand under the words now as they did then.
        crate::shop::Shop::find(args.config.as_deref()).map(|shop| shop.under(args).0)
    });
    let Ok(Ok(Args { command: Command::Evaluate(mut args), .. })) = defaulted else {
        bail!("{shown}: its command is not understood by this version; evaluate the photos anew");
    };
    args.quiet = true;
    args.words = words.iter().map(|word| (*word).to_owned()).collect();
    let guard = args.guard.unwrap_or_default();
    let criteria = Criteria::resolve(args.rules.as_deref(), &args.limit, guard, &args.weld)?;
    let inspection = Inspection::of(&args)?;
    let criteria = inspection.criteria(&args, criteria)?;
    let record = match Inputs::find(&wanted(&args, Empty::Refused))? {
        Inputs::List(file) => of_list(&file, criteria, &inspection, &args, streams)?,
        Inputs::Photos(found) => photos::run(&found, criteria, &inspection, &args, streams)?,
    };
    let mut bytes = Vec::new();
    json::write(&record, &mut bytes)?;
    let new: Value = serde_json::from_slice(&bytes).context("the new record")?;
    let mut told = Vec::new();
    differences("", &old, &new, &mut told);
    let version = |record: &Value| record["tool"]["version"].as_str().unwrap_or("?").to_owned();
    if version(&old) != version(&new) {
        streams.note(format_args!(
            "made by version {}, this is {}: sizes may differ by what the change log says",
            version(&old),
            version(&new)
        ));
    }
    let cases = new["cases"].as_array().map_or(0, Vec::len);
    let text = if told.is_empty() {
        format!(
            "agrees: {cases} read again from the originals, every size, finding and verdict is as recorded\n"
        )
    } else {
        let mut text = String::new();
        for line in told.iter().take(MOST_TOLD) {
            text += &format!("differs: {}\n", crate::talk::harmless(line));
        }
        if told.len() > MOST_TOLD {
            text += &format!("and {} more\n", told.len() - MOST_TOLD);
        }
        text
    };
    crate::commands::forgive_closed(streams.out.write_all(text.as_bytes()).map_err(Into::into))?;
    Ok(if told.is_empty() { Outcome::Accepted } else { Outcome::Attention })
}

fn read(path: &Path) -> Result<Value> {
    let shown = path.display();
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|e| anyhow!("{shown}: cannot be read ({e}); check the name"))?;
    if bytes.len() as u64 > MOST_BYTES {
        bail!("{shown}: is larger than 1 GB; evaluate the photos anew");
    }
    let record: Value = serde_json::from_slice(&bytes).map_err(|e| {
        anyhow!("{shown}: {e}; give the indications.json that `nde evaluate --out` wrote")
    })?;
    let form = record["form"].as_str().unwrap_or("");
    if !form.starts_with("nde-record/") {
        bail!(
            "{shown}: is not a record; give the indications.json that `nde evaluate --out` wrote"
        );
    }
    Ok(record)
}

/// Every place where two records differ, but for the version and the names of drawn pictures.
fn differences(place: &str, old: &Value, new: &Value, told: &mut Vec<String>) {
    match (old, new) {
        (Value::Object(a), Value::Object(b)) => {
            for (key, value) in a {
                let inside = if place.is_empty() { key.clone() } else { format!("{place}.{key}") };
                if inside == "tool" || key == "marked" {
                    continue;
                }
                differences(&inside, value, b.get(key).unwrap_or(&Value::Null), told);
            }
            for key in b.keys().filter(|key| !a.contains_key(*key)) {
                told.push(format!("{place}.{key} is not in the record"));
            }
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            for (n, (a, b)) in a.iter().zip(b).enumerate() {
                let name = a["photo"].as_str().or(a["id"].as_str());
                let inside = name.map_or(format!("{place}[{n}]"), |it| format!("{place}[{it}]"));
                differences(&inside, a, b, told);
            }
        }
        (Value::Array(a), Value::Array(b)) => {
            told.push(format!("{place}: {} recorded, {} now", a.len(), b.len()));
        }
        _ if old != new => {
            told.push(format!("{place}: {} recorded, {} now", short(old), short(new)))
        }
        _ => {}
    }
}

fn short(value: &Value) -> String {
    let text = value.to_string();
    match text.char_indices().nth(80) {
        Some((at, _)) => format!("{}...", &text[..at]),
        None => text,
    }
}
