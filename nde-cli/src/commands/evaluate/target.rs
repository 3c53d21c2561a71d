//! Where photos' results go.

use crate::inputs::PhotoFile;
use crate::original::{MARKED, is_marked_file};
use crate::save;
use crate::store::{Access, PHOTOS, Store};
use crate::talk::steers;
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
            plain(name.rsplit_once('.').map_or(name, |(stem, _)| stem))
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
            if path.exists() && !is_marked_file(&path) {
                bail!(
                    "{} was not made by this tool and would be written over; give another --out",
                    path.display()
                );
            }
        }
        Ok(names)
    }
}

/// Longest name of a marked photo without its ending, bytes. Chosen: a number and an ending still fit
/// beside it on every file system in use.
const MOST_STEM: usize = 160;

/// A name that every file system, shell and window takes: nothing in it steers, and it is not too long.
fn plain(stem: &str) -> String {
    let mut name = String::new();
    for c in stem.chars() {
        let c = match c {
            '<' | '>' | ':' | '"' | '|' | '?' | '*' | '\\' => '_',
            c if steers(c) => '_',
            c => c,
        };
        if name.len() + c.len_utf8() > MOST_STEM {
            break;
        }
        name.push(c);
    }
    // Two systems drop a blank or a dot at the end.
    let name = name.trim_end_matches([' ', '.']);
    if name.is_empty() { "photo".to_owned() } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_marked_photos_are_plain() {
        assert_eq!(plain("Püttingseisen links (2)"), "Püttingseisen links (2)");
        assert_eq!(plain("a\n<b>\u{202e}|\\"), "a__b____");
        assert_eq!(plain(".. "), "photo");
        assert_eq!(plain(&"ü".repeat(300)).len(), MOST_STEM);
    }
}
