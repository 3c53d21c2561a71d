//! One inspection: the sheet, its technique and the calls, as far as they bear on photos and on the part.

mod part;
mod window;

use crate::args::EvaluateArgs;
use crate::calls::Calls;
use crate::digest::sha256;
use crate::inputs::PhotoFile;
use crate::settings::{Criteria, Seeing};
use crate::sheet::{self, Sheet, Zone};
use anyhow::{Context as _, Result};
use nde_core::technique::Technique;
use nde_core::{Finding, RuleSet};
use nde_measure::TakenAt;
use std::path::{Path, PathBuf};

/// What the sheet beside photos is called.
const SHEET: &str = "sheet.toml";

/// What surrounds the photos of one run.
#[derive(Debug, Default)]
pub(crate) struct Inspection {
    /// The sheet, with its folder and its text.
    sheet: Option<Kept>,
    /// The calls.
    calls: Option<Calls>,
    /// Whether a scale was given by hand: it wins over the sheet's, a shop's default does not.
    scale_given: bool,
}

#[derive(Debug)]
struct Kept {
    sheet: Sheet,
    text: String,
    technique: Option<Technique>,
    dir: PathBuf,
}

impl Inspection {
    /// The sheet given, or the one in the only folder given; the calls given, or those the sheet names.
    ///
    /// # Errors
    /// A sheet, technique or list of calls that cannot be read or has faults.
    pub(crate) fn of(args: &EvaluateArgs) -> Result<Self> {
        let path = match (&args.sheet, &args.paths[..]) {
            (Some(path), _) => Some(path.clone()),
            (None, [dir]) if dir.join(SHEET).is_file() => Some(dir.join(SHEET)),
            _ => None,
        };
        let sheet = path.map(|path| Kept::load(&path)).transpose()?;
        let calls = match (&args.calls, &sheet) {
            (Some(path), _) => Some(Calls::load(path)?),
            (None, Some(kept)) => {
                let named = kept.sheet.procedure.calls.as_ref();
                named.map(|name| Calls::load(&kept.dir.join(name))).transpose()?
            }
            (None, None) => None,
        };
        let scale_given = !args.seeing.scale.is_empty() && !args.seeing.scale_by_default;
        Ok(Self { sheet, calls, scale_given })
    }

    /// What is judged by: the words of the command line, else what the sheet names.
    ///
    /// # Errors
    /// The sheet's rule set is neither known nor a readable file in its folder.
    pub(crate) fn criteria(&self, args: &EvaluateArgs, given: Criteria) -> Result<Criteria> {
        let by_hand = |word: &String| word.starts_with("--rules") || word.starts_with("--limit");
        let sheet = self.sheet.as_ref().filter(|_| self.has_rules());
        let Some(kept) = sheet.filter(|_| !args.words.iter().any(by_hand)) else {
            return Ok(given);
        };
        let procedure = &kept.sheet.procedure;
        let rules = match &procedure.rules {
            None => None,
            Some(name) => Some(
                crate::settings::rule_set_beside(name, &kept.dir)
                    .context("rules in [procedure] of the sheet")?,
            ),
        };
        let rules = match (rules, &procedure.limits[..]) {
            (rules, []) => rules,
            (None, limits) => Some(RuleSet::from_limits(limits).context("limits of the sheet")?),
            (Some(set), limits) => Some(set.with_limits(limits).context("limits of the sheet")?),
        };
        Ok(Criteria { rules, ..given })
    }

    /// Whether the sheet names what is judged by.
    #[must_use]
    pub(crate) fn has_rules(&self) -> bool {
        self.sheet.as_ref().is_some_and(|kept| {
            let procedure = &kept.sheet.procedure;
            procedure.rules.is_some() || !procedure.limits.is_empty()
        })
    }

    /// One text for all that it brings to photos' results.
    #[must_use]
    pub(crate) fn text(&self) -> String {
        let calls = self.calls.as_ref().map(|c| c.sha256.as_str());
        let sheet = self.sheet.as_ref().map(|kept| {
            let technique = kept.technique.as_ref().map(Technique::text);
            (kept.text.as_str(), technique)
        });
        match (sheet, calls) {
            (None, None) => String::new(),
            both => format!("\n{both:?}"),
        }
    }

    fn zone_of(&self, photo: &PhotoFile) -> Option<&Zone> {
        let name = photo.path.file_name()?.to_string_lossy().into_owned();
        let kept = self.sheet.as_ref()?;
        kept.sheet.zones.iter().find(|zone| zone.photos.contains(&name))
    }

    /// How one photo is read: the words of the command line, else its zone's, else the sheet's.
    #[must_use]
    pub(crate) fn seeing(&self, given: &Seeing, photo: &PhotoFile) -> Seeing {
        let mut seeing = given.clone();
        let Some(kept) = &self.sheet else { return seeing };
        let zone = self.zone_of(photo);
        if !self.scale_given {
            let own = zone.map(|z| &z.scale).filter(|scale| !scale.is_empty());
            let scale = own.unwrap_or(&kept.sheet.procedure.scale);
            if !scale.is_empty() {
                seeing.scale.clone_from(scale);
            }
        }
        if let Some(zone) = zone {
            if seeing.options.region_px.is_empty() {
                seeing.options.region_px =
                    zone.regions.iter().map(|r| r.corners_px().to_vec()).collect();
            }
            if seeing.options.scale.height.is_none() {
                seeing.options.scale = seeing.options.scale.with_height(zone.height);
            }
        }
        seeing
    }

    /// The calls.
    #[must_use]
    pub(crate) const fn calls(&self) -> Option<&Calls> {
        self.calls.as_ref()
    }

    /// What the photo's own time says against the developing window.
    #[must_use]
    pub(crate) fn moment_findings(&self, taken: Option<&TakenAt>) -> Vec<Finding> {
        let (Some(kept), Some(taken)) = (&self.sheet, taken) else { return Vec::new() };
        window::findings(&kept.sheet, kept.technique.as_ref(), taken)
    }
}

impl Kept {
    fn load(path: &Path) -> Result<Self> {
        let dir = match path.parent() {
            Some(dir) if !dir.as_os_str().is_empty() => dir.to_owned(),
            _ => PathBuf::from("."),
        };
        let (sheet, text) = sheet::load(path, None)?;
        let technique = sheet::technique_of(&sheet, &dir)?;
        Ok(Self { sheet, text, technique, dir })
    }

    fn sha256(&self) -> String {
        sha256(self.text.as_bytes())
    }
}
