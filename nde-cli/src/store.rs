//! Results of photos on disk, one file a photo, so that nothing is done twice.
//!
//! `DIR/photos/<key>.json` is written whole when its photo is finished, after its marked photo. It
//! stands for the photo as long as the photo's bytes, its name, the settings, the rule set and the
//! version of this tool are the same. Lists and reports are put together from these files.

use crate::digest::sha256;
use crate::inputs::PhotoFile;
use crate::original::MARKED;
use crate::record::{Case, Cases, Closeup};
use crate::save;
use anyhow::{Context as _, Result, anyhow, bail};
use serde::{Deserialize, Serialize};
use std::cell::OnceCell;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};

/// Version of the file's shape.
const FORM: &str = "nde-photo/1";
/// Folder of the results inside the output folder.
pub(crate) const PHOTOS: &str = "photos";
/// Held in that folder while a run lasts.
pub(crate) const LOCK: &str = ".lock";

/// Where results are kept.
#[derive(Debug)]
pub(crate) struct Store {
    dir: PathBuf,
    /// Says under which settings a result holds.
    run: String,
    /// Further output folders whose results are taken over.
    others: Vec<PathBuf>,
    /// Held while the run lasts, so that two runs do not mix.
    _lock: Option<File>,
}

/// How many runs may write at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Access {
    /// This one alone.
    Alone,
    /// Shards of one list.
    Shared,
}

/// What came of one photo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Kept {
    form: String,
    run: String,
    photo: String,
    sha256: String,
    /// Why it could not be done; absent when it could.
    pub why: Option<String>,
    /// What was found; absent when it could not be done.
    pub case: Option<Case>,
    /// Its indications close up.
    pub closeups: Vec<Closeup>,
}

impl Store {
    /// Opens the folder for a run, and clears away what a killed run left half written.
    ///
    /// # Errors
    /// Another run writes there, or the folder cannot be written to.
    pub(crate) fn open(dir: &Path, run: &str, others: &[PathBuf], access: Access) -> Result<Self> {
        let photos = dir.join(PHOTOS);
        save::folder(&photos)?;
        save::folder(&dir.join(MARKED))?;
        let lock =
            lock(&photos.join(LOCK), access).with_context(|| format!("{}", dir.display()))?;
        if access == Access::Alone {
            for folder in [dir, &photos, &dir.join(MARKED)] {
                save::sweep(folder);
            }
        }
        let (dir, run, others) = (dir.to_owned(), run.to_owned(), others.to_vec());
        Ok(Self { dir, run, others, _lock: lock })
    }

    /// What an earlier run kept of this photo, if it still holds.
    pub(crate) fn find(&self, photo: &PhotoFile, sha256: &str, marked: &str) -> Option<Kept> {
        let good = |dir: &Path| {
            let kept = read(&path_in(dir, &photo.name)).ok()?;
            let same = kept.form == FORM
                && kept.run == self.run
                && kept.photo == photo.name
                && kept.sha256 == sha256;
            let drawn = match &kept.case {
                Some(case) => case.marked.as_deref() == Some(marked) && dir.join(marked).is_file(),
                None => kept.why.is_some(),
            };
            (same && drawn).then_some(kept)
        };
        if let Some(kept) = good(&self.dir) {
            return Some(kept);
        }
        let (dir, kept) = self.others.iter().find_map(|dir| Some((dir, good(dir)?)))?;
        self.take_over(dir, &kept).ok()?;
        Some(kept)
    }

    /// Copies what another folder keeps.
    fn take_over(&self, from: &Path, kept: &Kept) -> Result<()> {
        if let Some(marked) = kept.case.as_ref().and_then(|case| case.marked.as_deref()) {
            let picture = std::fs::read(from.join(marked))?;
            save::file(&self.dir.join(marked), |to| Ok(to.write_all(&picture)?))?;
        }
        self.write(kept)
    }

    /// Keeps what was found in a photo.
    ///
    /// # Errors
    /// It cannot be written.
    pub(crate) fn keep(&self, case: &Case, closeups: Vec<Closeup>) -> Result<()> {
        let case = case.clone();
        let (photo, sha256) = (case.photo.clone(), case.sha256.clone());
        self.write(&self.kept(&photo, &sha256, None, Some(case), closeups))
    }

    /// Keeps why a photo could not be done.
    ///
    /// # Errors
    /// It cannot be written.
    pub(crate) fn keep_failure(&self, photo: &PhotoFile, sha256: &str, why: &str) -> Result<()> {
        self.write(&self.kept(&photo.name, sha256, Some(why.to_owned()), None, Vec::new()))
    }

    fn kept(
        &self,
        photo: &str,
        sha256: &str,
        why: Option<String>,
        case: Option<Case>,
        closeups: Vec<Closeup>,
    ) -> Kept {
        let (photo, sha256) = (photo.to_owned(), sha256.to_owned());
        Kept { form: FORM.to_owned(), run: self.run.clone(), photo, sha256, why, case, closeups }
    }

    fn write(&self, kept: &Kept) -> Result<()> {
        save::file(&path_in(&self.dir, &kept.photo), |to| Ok(serde_json::to_writer(to, kept)?))
    }

    /// The cases of these photos, read when they are asked for.
    #[must_use]
    pub(crate) fn shelf(&self, photos: Vec<String>) -> Shelf {
        let at_hand = photos.iter().take(AT_HAND).map(|_| OnceCell::new()).collect();
        Shelf { dir: self.dir.clone(), photos, at_hand }
    }
}

/// Cases that are kept in memory once they were read: lists and reports ask for each several times. Chosen:
/// a photo's case with its close-ups takes some megabytes, and thousands of photos must not add up.
const AT_HAND: usize = 8;

/// Cases on disk, in order.
#[derive(Debug)]
pub(crate) struct Shelf {
    dir: PathBuf,
    photos: Vec<String>,
    /// The first of them, once read.
    at_hand: Vec<OnceCell<Kept>>,
}

/// Shows what was read from a file.
fn show(
    path: &Path,
    kept: &Kept,
    look: &mut dyn FnMut(&Case, &[Closeup]) -> Result<()>,
) -> Result<()> {
    let case = kept.case.as_ref().ok_or_else(|| anyhow!("holds no result"));
    look(case.with_context(|| again(path))?, &kept.closeups)
}

fn again(path: &Path) -> String {
    format!("{}: give the same command again", path.display())
}

impl Cases for Shelf {
    fn each(&self, look: &mut dyn FnMut(&Case, &[Closeup]) -> Result<()>) -> Result<()> {
        for (n, photo) in self.photos.iter().enumerate() {
            let path = path_in(&self.dir, photo);
            let read = || read(&path).with_context(|| again(&path));
            let Some(cell) = self.at_hand.get(n) else {
                show(&path, &read()?, look)?;
                continue;
            };
            let kept = match cell.get() {
                Some(kept) => kept,
                None => {
                    let kept = read()?;
                    cell.get_or_init(|| kept)
                }
            };
            show(&path, kept, look)?;
        }
        Ok(())
    }

    fn count(&self) -> usize {
        self.photos.len()
    }
}

fn path_in(dir: &Path, photo: &str) -> PathBuf {
    // Sixteen digits: among a million photos two share a name with a chance of one in 37 million.
    dir.join(PHOTOS).join(format!("{}.json", &sha256(photo.as_bytes())[..16]))
}

fn read(path: &Path) -> Result<Kept> {
    let bytes = std::fs::read(path)?;
    Ok(serde_json::from_slice(&bytes)?)
}

/// File systems without locks go without.
fn lock(path: &Path, access: Access) -> Result<Option<File>> {
    let Ok(file) = File::create(path) else { return Ok(None) };
    let tried = match access {
        Access::Alone => file.try_lock(),
        Access::Shared => file.try_lock_shared(),
    };
    match tried {
        Ok(()) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => {
            bail!("another run writes into this folder; let it end, or give another --out")
        }
        Err(TryLockError::Error(_)) => Ok(None),
    }
}
