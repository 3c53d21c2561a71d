//! Where photos' results go.

use crate::inputs::{MARKED, PhotoFile, is_marked};
use crate::save;
use crate::store::{Access, PHOTOS, Store};
use anyhow::{Result, bail};
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// An output folder made ready.
pub(super) struct Target {
    pub(super) dir: PathBuf,
    pub(super) store: Store,
    made: Made,
}

/// Whether the folder was there before.
enum Made {
    Here,
    Before,
}

impl Target {
    /// Makes the output folder before the long work.
    pub(super) fn open(dir: &Path, run: &str, others: &[PathBuf], access: Access) -> Result<Self> {
        let made = if dir.exists() { Made::Before } else { Made::Here };
        save::folder(dir)?;
        let store = Store::open(dir, run, others, access)?;
        Ok(Self { dir: dir.to_owned(), store, made })
    }

    /// Takes away a folder made here in which nothing was found.
    pub(super) fn undo(self) {
        let Self { dir, store, made } = self;
        drop(store);
        if matches!(made, Made::Here) {
            // Only what this run made: records of what could not be done, and the empty folders.
            let _ = std::fs::remove_dir_all(dir.join(PHOTOS));
            let _ = std::fs::remove_dir(dir.join(MARKED));
            let _ = std::fs::remove_dir(&dir);
        }
    }

    /// One marked photo for each photo, in order, inside the folder, with `/`. No photo is written
    /// over.
    pub(super) fn marked(&self, photos: &[PhotoFile]) -> Result<Vec<String>> {
        let mut taken = HashSet::new();
        let stem = |file: &PhotoFile| {
            let name = file.name.rsplit('/').next().unwrap_or_default();
            let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
            if stem.is_empty() { "photo".to_owned() } else { stem.replace('\\', "_") }
        };
        let mut names = Vec::with_capacity(photos.len());
        for file in photos {
            let name = save::free_name(&stem(file), "jpg", &mut taken);
            names.push(format!("{MARKED}/{}", name.to_string_lossy()));
        }
        let inputs: HashSet<PathBuf> =
            photos.iter().filter_map(|file| file.path.canonicalize().ok()).collect();
        for name in &names {
            let path = self.dir.join(name);
            if path.canonicalize().is_ok_and(|path| inputs.contains(&path)) {
                bail!("--out would write over the photo {}; give another folder", path.display());
            }
            if path.exists() && !is_marked(&path) {
                bail!(
                    "{} was not made by this tool and would be written over; give another --out",
                    path.display()
                );
            }
        }
        Ok(names)
    }
}
