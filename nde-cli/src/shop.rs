//! A shop's defaults: `nde.toml` in the working folder, or the file given by --config.
//!
//! ```toml
//! rules = "weld-vessel-si"      # an id, or a rule file beside this one
//! limits = ["linear=3mm"]
//! guard = "accept-side"
//! scale = "card:99.2,99.4"      # or several in a list
//! units = "in"                  # for eyes; rules and files stay as they are
//! ```
//! Words of the command line win. What is used from the file is said, so that nothing is judged by a
//! forgotten file unseen.

use crate::args::{Args, Command, EvaluateArgs, GuardChoice, SeeingArgs, Units};
use anyhow::{Result, anyhow, bail};
use nde_core::{Limit, RuleSet};
use nde_measure::ScaleSpec;
use serde::Deserialize;
use std::fmt::Display;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::str::FromStr;

/// Looked for in the working folder.
const NAME: &str = "nde.toml";
/// Most bytes of the file. Chosen: five lines.
const MOST_BYTES: u64 = 1 << 16;

/// What a file says.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Form {
    rules: Option<String>,
    limits: Option<Several>,
    guard: Option<GuardChoice>,
    scale: Option<Several>,
    units: Option<Units>,
}

/// One word or a list of them.
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
enum Several {
    One(String),
    Many(Vec<String>),
}

impl Several {
    fn words(&self) -> &[String] {
        match self {
            Self::One(word) => std::slice::from_ref(word),
            Self::Many(words) => words,
        }
    }
}

/// The defaults of a shop.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shop {
    path: PathBuf,
    rules: Option<String>,
    limits: Vec<Limit>,
    guard: Option<GuardChoice>,
    scale: Vec<ScaleSpec>,
    units: Option<Units>,
}

impl Shop {
    /// The file given, or the one in the working folder; without either there are no defaults.
    ///
    /// # Errors
    /// The file given is not there, or one that is there cannot be understood.
    pub(crate) fn find(given: Option<&Path>) -> Result<Self> {
        match given {
            Some(path) => Self::read(path),
            None if Path::new(NAME).is_file() => Self::read(Path::new(NAME)),
            None => Ok(Self::default()),
        }
    }

    fn read(path: &Path) -> Result<Self> {
        let shown = path.display();
        let mut text = String::new();
        std::fs::File::open(path)
            .and_then(|file| file.take(MOST_BYTES).read_to_string(&mut text))
            .map_err(|e| anyhow!("{shown}: cannot be read ({e}); check the name"))?;
        let form: Form = toml::from_str(&text).map_err(|error| {
            let before = error.span().and_then(|span| text.get(..span.start)).unwrap_or_default();
            let line = before.matches('\n').count() + 1;
            // What is no TOML at all mostly lacks quotes.
            let remedy = match toml::from_str::<toml::Table>(&text) {
                Ok(_) if error.message().contains("expected one of") => "write one of these",
                Ok(_) => "known are rules, limits, guard, scale and units",
                Err(_) => "write texts in quotes, such as units = \"in\"",
            };
            anyhow!("{shown}:{line}: {}; {remedy}", error.message().trim())
        })?;
        let rules = form.rules.map(|name| beside(path, name));
        Ok(Self {
            path: path.to_owned(),
            rules,
            limits: parsed(path, "limits", form.limits.as_ref())?,
            guard: form.guard,
            scale: parsed(path, "scale", form.scale.as_ref())?,
            units: form.units,
        })
    }

    /// The words of the command line with these defaults where they are silent; and what was used of
    /// them, to be said.
    pub(crate) fn under(&self, mut args: Args) -> (Args, Option<String>) {
        let mut used = Vec::new();
        match &mut args.command {
            Command::Evaluate(args) => {
                self.criteria(args, &mut used);
                self.scale(&mut args.seeing, &mut used);
                self.units(&mut args.units);
            }
            Command::Measure(args) => {
                self.scale(&mut args.seeing, &mut used);
                self.units(&mut args.units);
            }
            _ => {}
        }
        let said = format!("from {}: {}", self.path.display(), used.join(", "));
        (args, (!used.is_empty()).then_some(said))
    }

    fn criteria(&self, args: &mut EvaluateArgs, used: &mut Vec<String>) {
        if args.rules.is_none() && args.limit.is_empty() {
            args.rules.clone_from(&self.rules);
            args.limit.clone_from(&self.limits);
            used.extend(self.rules.iter().map(|rules| format!("--rules {rules}")));
            used.extend(self.limits.iter().map(|limit| format!("--limit {limit}")));
        }
        let judged = args.rules.is_some() || !args.limit.is_empty();
        if args.guard.is_none() && judged {
            args.guard = self.guard;
            used.extend(self.guard.map(|guard| format!("--guard {}", guard.word())));
        }
    }

    fn scale(&self, args: &mut SeeingArgs, used: &mut Vec<String>) {
        if args.scale.is_empty() && !self.scale.is_empty() {
            args.scale.clone_from(&self.scale);
            args.scale_by_default = true;
            used.extend(self.scale.iter().map(|scale| format!("--scale {scale}")));
        }
    }

    fn units(&self, units: &mut Option<Units>) {
        *units = units.or(self.units);
    }
}

/// A rule file stands beside the file that names it.
fn beside(path: &Path, name: String) -> String {
    if RuleSet::builtin(&name).is_some() {
        return name;
    }
    match path.parent() {
        Some(dir) if !dir.as_os_str().is_empty() => dir.join(&name).display().to_string(),
        _ => name,
    }
}

fn parsed<T: FromStr<Err: Display>>(
    path: &Path,
    key: &str,
    words: Option<&Several>,
) -> Result<Vec<T>> {
    let words = words.map_or(&[][..], Several::words);
    let mut values = Vec::with_capacity(words.len());
    for word in words {
        match word.parse() {
            Ok(value) => values.push(value),
            Err(error) => bail!("{}: {key}: {error}", path.display()),
        }
    }
    Ok(values)
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser as _;

    fn shop(text: &str) -> Result<Shop> {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join(NAME);
        std::fs::write(&path, text).unwrap();
        Shop::read(&path)
    }

    fn evaluate(shop: &Shop, words: &[&str]) -> (EvaluateArgs, Option<String>) {
        let args = Args::try_parse_from([&["nde", "evaluate", "a.jpg"], words].concat()).unwrap();
        let (args, said) = shop.under(args);
        let Command::Evaluate(args) = args.command else { panic!("it was evaluate") };
        (*args, said)
    }

    #[test]
    fn the_command_line_wins_and_the_file_fills_in() {
        let text = "rules = \"weld-vessel-si\"\nguard = \"as-measured\"\nscale = \"pitch:0.1mm\"\nunits = \"in\"\n";
        let shop = shop(text).unwrap();
        let (args, said) = evaluate(&shop, &[]);
        assert_eq!(args.rules.as_deref(), Some("weld-vessel-si"));
        assert_eq!((args.guard, args.units), (Some(GuardChoice::AsMeasured), Some(Units::In)));
        assert_eq!(args.seeing.scale.len(), 1);
        assert!(said.unwrap().contains("--rules weld-vessel-si, --guard as-measured, --scale"));
        let (args, _) = evaluate(&shop, &["--limit", "linear=3mm", "--scale", "card"]);
        assert_eq!(args.rules, None, "limits on the line are the whole of what is judged by");
        assert_eq!(args.seeing.scale, ["card".parse().unwrap()]);
    }

    #[test]
    fn a_fault_is_named_with_its_place() {
        let fault = |text| shop(text).unwrap_err().to_string();
        assert!(fault("\nrule = \"x\"\n").contains("nde.toml:2: unknown field `rule`"));
        assert!(fault("limits = [\"linear=3\"]\n").contains("limits: "));
        assert!(fault("units = in\n").contains("in quotes"));
        assert!(fault("units = \"furlong\"\n").contains("nde.toml:1: "));
    }
}
