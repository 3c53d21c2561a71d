//! What is to be read: photos, folders of photos, or one typed list.

use anyhow::{Result, anyhow, bail};
use std::collections::HashSet;
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// Endings that make a file of a folder a photo. The last ones cannot be read yet: they are tried
/// all the same, so that the photo is named and missed by nobody.
const PHOTO_ENDINGS: [&str; 9] =
    ["jpg", "jpeg", "png", "tif", "tiff", "webp", "heic", "heif", "avif"];
/// Endings that make a file a typed list.
const LIST_ENDINGS: [&str; 2] = ["csv", "tsv"];
/// Most bytes of one photo file: a 16-bit picture of 120 million pixels, uncompressed, fits. Chosen.
const MOST_PHOTO_BYTES: u64 = 1 << 30;

/// What is to be read.
#[derive(Debug)]
pub(crate) enum Inputs {
    /// Photos, in the order to be reported.
    Photos(Vec<PhotoFile>),
    /// One typed list.
    List(ListFile),
}

/// One photo to be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct PhotoFile {
    /// Where it lies.
    pub path: PathBuf,
    /// What it is called in the results.
    pub name: String,
}

/// A list to be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum ListFile {
    /// From a file.
    Path(PathBuf),
    /// From standard input.
    Stdin,
}

impl ListFile {
    /// What it is called in the results.
    #[must_use]
    pub(crate) fn name(&self) -> String {
        match self {
            Self::Path(path) => path.display().to_string(),
            Self::Stdin => "stdin".to_owned(),
        }
    }

    /// Its bytes, at most one more than `most`.
    ///
    /// # Errors
    /// It cannot be read.
    pub(crate) fn bytes(&self, most: usize) -> Result<Vec<u8>> {
        let most = most as u64 + 1;
        let mut bytes = Vec::new();
        let read = match self {
            Self::Path(path) => {
                std::fs::File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes))
            }
            Self::Stdin => std::io::stdin().lock().take(most).read_to_end(&mut bytes),
        };
        read.map_err(|e| anyhow!("{}: cannot be read ({e}); check the name", self.name()))?;
        Ok(bytes)
    }
}

impl Inputs {
    /// Looks at the paths given. Folders are read flat, sorted by name, hidden files left out.
    ///
    /// # Errors
    /// Photos and a list together, several lists, or a folder that cannot be read or holds no photo.
    pub(crate) fn find(paths: &[PathBuf]) -> Result<Self> {
        if let Some(list) = paths.iter().find_map(|p| as_list(p)) {
            if paths.len() > 1 {
                bail!("a typed list is evaluated alone; run photos and each list separately");
            }
            return Ok(Self::List(list));
        }
        let mut photos = Vec::new();
        for path in paths {
            if path.is_dir() {
                photos.extend(folder(path, paths.len() == 1)?);
            } else {
                photos.push(PhotoFile { path: path.clone(), name: path.display().to_string() });
            }
        }
        let mut known = HashSet::new();
        // The same file under two names would be counted twice.
        photos.retain(|photo| {
            known.insert(photo.path.canonicalize().unwrap_or_else(|_| photo.path.clone()))
        });
        Ok(Self::Photos(photos))
    }
}

impl PhotoFile {
    /// Its bytes.
    ///
    /// # Errors
    /// It is not there, not a plain file, or too large.
    pub(crate) fn bytes(&self) -> Result<Vec<u8>> {
        let metadata = std::fs::metadata(&self.path)
            .map_err(|e| anyhow!("cannot be read ({e}); check the name"))?;
        if !metadata.is_file() {
            bail!("is not a plain file; give a photo or a folder");
        }
        if metadata.len() == 0 {
            bail!("is empty (0 bytes); copy it again from the camera");
        }
        if metadata.len() > MOST_PHOTO_BYTES {
            bail!("is larger than {} MB; export it as JPEG", MOST_PHOTO_BYTES >> 20);
        }
        let mut bytes = Vec::new();
        std::fs::File::open(&self.path)
            .and_then(|file| file.take(MOST_PHOTO_BYTES).read_to_end(&mut bytes))
            .map_err(|e| anyhow!("cannot be read ({e}); check its permissions"))?;
        Ok(bytes)
    }
}

fn as_list(path: &Path) -> Option<ListFile> {
    if path.as_os_str() == "-" {
        return Some(ListFile::Stdin);
    }
    (has_ending(path, &LIST_ENDINGS) && !path.is_dir()).then(|| ListFile::Path(path.to_owned()))
}

fn has_ending(path: &Path, endings: &[&str]) -> bool {
    path.extension()
        .and_then(|e| e.to_str())
        .is_some_and(|e| endings.contains(&e.to_lowercase().as_str()))
}

fn folder(dir: &Path, alone: bool) -> Result<Vec<PhotoFile>> {
    let unreadable = |e: std::io::Error| {
        anyhow!("{}: cannot be read ({e}); check its permissions", dir.display())
    };
    let mut photos = Vec::new();
    for entry in std::fs::read_dir(dir).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let Some(file_name) = path.file_name().map(|n| n.to_string_lossy().into_owned()) else {
            continue;
        };
        if has_ending(&path, &PHOTO_ENDINGS) && !file_name.starts_with('.') && !path.is_dir() {
            let name = if alone { file_name } else { path.display().to_string() };
            photos.push(PhotoFile { path, name });
        }
    }
    if photos.is_empty() {
        bail!(
            "{}: no photo in this folder (jpg, jpeg, png, tif, tiff, webp; folders inside it are not searched)",
            dir.display()
        );
    }
    photos.sort_by(|a, b| a.path.file_name().cmp(&b.path.file_name()));
    Ok(photos)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(inputs: &Inputs) -> Vec<&str> {
        match inputs {
            Inputs::Photos(photos) => photos.iter().map(|p| p.name.as_str()).collect(),
            Inputs::List(_) => panic!("photos were expected"),
        }
    }

    #[test]
    fn a_folder_is_sorted_and_flat_and_no_photo_comes_twice() {
        let dir = tempfile::tempdir().unwrap();
        for name in ["b.JPG", "a.png", ".hidden.jpg", "notes.txt", "c.heic"] {
            std::fs::write(dir.path().join(name), b"x").unwrap();
        }
        std::fs::create_dir(dir.path().join("inner.jpg")).unwrap();
        let alone = Inputs::find(&[dir.path().to_owned()]).unwrap();
        assert_eq!(names(&alone), ["a.png", "b.JPG", "c.heic"]);
        let twice = Inputs::find(&[dir.path().join("a.png"), dir.path().to_owned()]).unwrap();
        assert_eq!(names(&twice).len(), 3);
    }

    #[test]
    fn a_list_stands_alone() {
        assert!(matches!(Inputs::find(&["-".into()]).unwrap(), Inputs::List(ListFile::Stdin)));
        let error = Inputs::find(&["a.jpg".into(), "list.csv".into()]).unwrap_err();
        assert!(error.to_string().contains("evaluated alone"));
    }

    #[test]
    fn an_empty_folder_is_said() {
        let dir = tempfile::tempdir().unwrap();
        let error = Inputs::find(&[dir.path().to_owned()]).unwrap_err();
        assert!(error.to_string().contains("no photo in this folder"));
    }
}
