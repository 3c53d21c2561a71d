//! What is to be read: photos, folders of photos, or one typed list.

use crate::near::alike;
use crate::original;
use anyhow::{Result, anyhow, bail};
use glob::{MatchOptions, Pattern};
use std::collections::HashSet;
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// Most bytes of a list of names. Chosen: some hundred thousand names.
const MOST_NAMES_BYTES: usize = 64 << 20;

/// Endings that make a file of a folder a photo. Not all of them can be read: they are tried all the
/// same, so that the photo is named and missed by nobody.
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

/// Where to look.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Wanted<'a> {
    /// Photos, folders, or one typed list.
    pub paths: &'a [PathBuf],
    /// A file of names, one a line.
    pub names: Option<&'a Path>,
    /// How far down.
    pub depth: Depth,
    /// Of folders, only what matches one of these; empty: everything.
    pub matching: &'a [Pattern],
    /// A folder not to look into: the one that results go to.
    pub leave_out: Option<&'a Path>,
    /// Whether there must be any.
    pub empty: Empty,
}

/// How far down folders are searched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Depth {
    /// The folder alone.
    #[default]
    Flat,
    /// Every folder below it too; links to folders are not followed.
    All,
}

/// What a folder without a photo is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Empty {
    /// A mistake.
    #[default]
    Refused,
    /// Nothing yet.
    Allowed,
}

impl<'a> Wanted<'a> {
    /// These paths, folders flat.
    #[must_use]
    pub(crate) fn plain(paths: &'a [PathBuf]) -> Self {
        Self { paths, ..Self::default() }
    }
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
    /// Looks at the paths given. Photos of a folder are sorted by name, hidden files left out.
    ///
    /// # Errors
    /// A folder or list of names that cannot be read or holds no photo, or a typed list beside
    /// anything else.
    pub(crate) fn find(wanted: &Wanted<'_>) -> Result<Self> {
        let paths = wanted.paths;
        if let Some(list) = paths.iter().find_map(|path| as_list(path)) {
            if paths.len() > 1 || wanted.names.is_some() {
                bail!("a typed list is evaluated alone; run photos and each list separately");
            }
            return Ok(Self::List(list));
        }
        let named = wanted.names.map(names_in).transpose()?;
        let alone = paths.len() == 1 && named.is_none();
        let mut photos = Vec::new();
        for path in paths.iter().chain(named.iter().flatten()) {
            if path.is_dir() {
                photos.extend(folder(path, alone, wanted)?);
            } else {
                photos.push(PhotoFile { path: path.clone(), name: shown(path) });
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

/// A path as it is called in results: `/` between folders, bytes that are no text as `\xNN`.
fn shown(path: &Path) -> String {
    let mut name = String::new();
    for chunk in path.as_os_str().as_encoded_bytes().utf8_chunks() {
        name.push_str(chunk.valid());
        for byte in chunk.invalid() {
            name.push_str(&format!("\\x{byte:02x}"));
        }
    }
    if cfg!(windows) { name.replace('\\', "/") } else { name }
}

/// Names in a file or on standard input, one a line; between zero bytes where there are such.
fn names_in(file: &Path) -> Result<Vec<PathBuf>> {
    let list = as_list(file).unwrap_or_else(|| ListFile::Path(file.to_owned()));
    let bytes = list.bytes(MOST_NAMES_BYTES)?;
    if bytes.len() > MOST_NAMES_BYTES {
        bail!("{}: is larger than 64 MB; check that this is a list of names", list.name());
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        bail!("{}: is UTF-16 text; save the list as UTF-8", list.name());
    }
    // What some editors put before UTF-8 belongs to no name.
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
    let end = if bytes.contains(&0) { 0 } else { b'\n' };
    let mut paths = Vec::new();
    for line in bytes.split(|byte| *byte == end) {
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        if !line.is_empty() {
            paths.push(path_of(line)?);
        }
    }
    if paths.is_empty() {
        bail!("{}: names no photo; write one name a line", list.name());
    }
    Ok(paths)
}

#[cfg(unix)]
#[expect(clippy::unnecessary_wraps, reason = "elsewhere a name can be wrong")]
fn path_of(bytes: &[u8]) -> Result<PathBuf> {
    use std::os::unix::ffi::OsStrExt as _;
    Ok(PathBuf::from(std::ffi::OsStr::from_bytes(bytes)))
}

#[cfg(not(unix))]
fn path_of(bytes: &[u8]) -> Result<PathBuf> {
    let text = std::str::from_utf8(bytes)
        .map_err(|_| anyhow!("a name in the list is not UTF-8 text; save the list as UTF-8"))?;
    Ok(PathBuf::from(text))
}

impl PhotoFile {
    /// Its bytes.
    ///
    /// # Errors
    /// It is not there, not a plain file, or too large.
    pub(crate) fn bytes(&self) -> Result<Vec<u8>> {
        let metadata = std::fs::metadata(&self.path)
            .map_err(|e| anyhow!("cannot be read ({e}); check the name{}", alike(&self.path)))?;
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
        if original::is_marked(&bytes) {
            bail!(
                "is a photo that this tool marked, not an original; give the photo it was made from"
            );
        }
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

fn folder(dir: &Path, alone: bool, wanted: &Wanted<'_>) -> Result<Vec<PhotoFile>> {
    let leave_out = wanted.leave_out.and_then(|path| path.canonicalize().ok());
    let mut photos = Vec::new();
    let mut next = vec![dir.to_owned()];
    let mut own = 0;
    while let Some(here) = next.pop() {
        let unreadable = |e: std::io::Error| {
            anyhow!("{}: cannot be read ({e}); check its permissions", here.display())
        };
        for entry in std::fs::read_dir(&here).map_err(unreadable)? {
            let entry = entry.map_err(unreadable)?;
            let path = entry.path();
            if entry.file_name().as_encoded_bytes().starts_with(b".") {
                continue;
            }
            if path.is_dir() {
                let link = entry.file_type().is_ok_and(|kind| kind.is_symlink());
                let out = leave_out.is_some() && path.canonicalize().ok() == leave_out;
                if wanted.depth == Depth::All && !link && !out {
                    next.push(path);
                }
                continue;
            }
            let inside = path.strip_prefix(dir).unwrap_or(&path);
            if has_ending(&path, &PHOTO_ENDINGS) && matches(inside, wanted.matching) {
                if original::is_own(&path) {
                    own += 1;
                    continue;
                }
                let name = if alone { shown(inside) } else { shown(&path) };
                photos.push(PhotoFile { path, name });
            }
        }
    }
    if photos.is_empty() && wanted.empty == Empty::Refused {
        let how = match (wanted.matching, wanted.depth) {
            ([], Depth::Flat) => "; folders inside it are searched with --recursive",
            ([], Depth::All) => "",
            _ => ", or none that --match lets through",
        };
        let shown = dir.display();
        if own > 0 {
            bail!(
                "{shown}: holds only photos that this tool marked; give the folder of the originals"
            );
        }
        bail!("{shown}: no photo in this folder (jpg, jpeg, png, tif, tiff, webp, heic{how})");
    }
    photos.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(photos)
}

/// A pattern with a `/` is held against the place inside the folder, another against the name.
fn matches(inside: &Path, patterns: &[Pattern]) -> bool {
    let options = MatchOptions { require_literal_separator: true, ..MatchOptions::new() };
    let fits = |pattern: &Pattern| match pattern.as_str().contains('/') {
        true => pattern.matches_path_with(inside, options),
        false => inside
            .file_name()
            .is_some_and(|name| pattern.matches_path_with(Path::new(name), options)),
    };
    patterns.is_empty() || patterns.iter().any(fits)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(paths: &[PathBuf]) -> Result<Inputs> {
        Inputs::find(&Wanted::plain(paths))
    }

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
        let alone = plain(&[dir.path().to_owned()]).unwrap();
        assert_eq!(names(&alone), ["a.png", "b.JPG", "c.heic"]);
        let twice = plain(&[dir.path().join("a.png"), dir.path().to_owned()]).unwrap();
        assert_eq!(names(&twice).len(), 3);
    }

    #[test]
    fn a_list_stands_alone() {
        assert!(matches!(plain(&["-".into()]).unwrap(), Inputs::List(ListFile::Stdin)));
        let error = plain(&["a.jpg".into(), "list.csv".into()]).unwrap_err();
        assert!(error.to_string().contains("evaluated alone"));
    }

    #[test]
    fn an_empty_folder_is_said() {
        let dir = tempfile::tempdir().unwrap();
        let error = plain(&[dir.path().to_owned()]).unwrap_err();
        assert!(error.to_string().contains("no photo in this folder"));
    }

    #[test]
    fn folders_below_are_searched_when_asked_and_the_results_left_out() {
        let dir = tempfile::tempdir().unwrap();
        for name in ["b.jpg", "job/a.jpg", "job/part/c.jpg", "out/marked/b.jpg", ".x/d.jpg"] {
            let path = dir.path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, b"x").unwrap();
        }
        let (paths, out) = ([dir.path().to_owned()], dir.path().join("out"));
        let wanted = Wanted { depth: Depth::All, leave_out: Some(&out), ..Wanted::plain(&paths) };
        assert_eq!(
            names(&Inputs::find(&wanted).unwrap()),
            ["b.jpg", "job/a.jpg", "job/part/c.jpg"]
        );
        let kept = |pattern: &str| {
            let matching = [Pattern::new(pattern).unwrap()];
            let found = Inputs::find(&Wanted { matching: &matching, ..wanted });
            found.map_or(0, |found| names(&found).len())
        };
        assert_eq!(["*.jpg", "a*", "job/*.jpg", "job/**/*.jpg", "z*"].map(kept), [3, 1, 1, 2, 0]);
    }

    #[test]
    fn names_come_from_a_list() {
        let dir = tempfile::tempdir().unwrap();
        let list = dir.path().join("names.txt");
        std::fs::write(&list, "\u{feff}a.jpg\r\n\nb c.jpg\n").unwrap();
        let wanted = Wanted { names: Some(&list), ..Wanted::default() };
        assert_eq!(names(&Inputs::find(&wanted).unwrap()), ["a.jpg", "b c.jpg"]);
        std::fs::write(&list, "\n").unwrap();
        assert!(Inputs::find(&wanted).unwrap_err().to_string().contains("names no photo"));
        std::fs::write(&list, b"\xff\xfea\0.\0j\0p\0g\0").unwrap();
        assert!(Inputs::find(&wanted).unwrap_err().to_string().contains("save the list as UTF-8"));
    }

    #[cfg(unix)]
    #[test]
    fn bytes_that_are_no_text_stay_apart() {
        let name = |bytes: &[u8]| shown(&path_of(bytes).unwrap());
        assert_eq!(name(b"a\xff.jpg"), "a\\xff.jpg");
        assert_ne!(name(b"a\xff.jpg"), name(b"a\xfe.jpg"));
    }
}
