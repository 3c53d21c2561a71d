//! Whole files or none.
//!
//! A file is written beside its final place and moved there when complete, so that a reader never
//! meets half of one and a failed run leaves nothing behind.

use anyhow::{Result, anyhow, bail};
use std::collections::HashSet;
use std::io::{BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// How names of files begin while they are being written.
const HALF: &str = ".nde-";

/// Takes away files that a killed run left half written.
pub(crate) fn sweep(dir: &Path) {
    for entry in std::fs::read_dir(dir).into_iter().flatten().flatten() {
        let half = entry.file_name().to_string_lossy().starts_with(HALF);
        if half && entry.file_type().is_ok_and(|kind| kind.is_file()) {
            // What cannot be taken away harms nobody.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// Makes the folder (and those above it) if it is not there, and proves that it can be written to.
///
/// # Errors
/// It is not a folder, or cannot be made or written to.
pub(crate) fn folder(dir: &Path) -> Result<()> {
    if dir.exists() && !dir.is_dir() {
        bail!("{} is not a folder; give another folder", dir.display());
    }
    let shown = dir.display();
    std::fs::create_dir_all(dir)
        .map_err(|e| anyhow!("cannot make the folder {shown} ({e}); give another folder"))?;
    tempfile::tempfile_in(dir)
        .map(drop)
        .map_err(|e| anyhow!("cannot write into {shown} ({}); give another folder", bare(&e)))
}

/// Writes a whole file at `path`, in place of what stood there.
///
/// # Errors
/// What `fill` reports, or the file cannot be written.
pub(crate) fn file(path: &Path, fill: impl FnOnce(&mut dyn Write) -> Result<()>) -> Result<()> {
    let mut staged = Staged::default();
    staged.file(path, fill)?;
    staged.place()
}

/// Files that belong together: written beside their places, then all moved there.
#[derive(Debug, Default)]
pub(crate) struct Staged {
    files: Vec<(NamedTempFile, PathBuf)>,
}

impl Staged {
    /// Writes one file beside its place.
    ///
    /// # Errors
    /// What `fill` reports, or the file cannot be written.
    pub(crate) fn file(
        &mut self,
        path: &Path,
        fill: impl FnOnce(&mut dyn Write) -> Result<()>,
    ) -> Result<()> {
        let temp = beside(path, fill)?;
        self.files.push((temp, path.to_owned()));
        Ok(())
    }

    /// Moves all to their places.
    ///
    /// # Errors
    /// One cannot be moved.
    pub(crate) fn place(self) -> Result<()> {
        for (temp, path) in self.files {
            temp.persist(&path).map_err(|e| unwritable(&path, &e.error))?;
        }
        Ok(())
    }
}

/// Why a file could not be written, and what to do about it.
pub(crate) fn unwritable(path: &Path, error: &std::io::Error) -> anyhow::Error {
    let shown = path.display();
    let dir = path.parent().filter(|dir| !dir.as_os_str().is_empty());
    let remedy = match error.kind() {
        ErrorKind::NotFound => {
            if let Some(dir) = dir.filter(|dir| !dir.exists()) {
                let dir = dir.display();
                return anyhow!("cannot write {shown}: there is no folder {dir}; make it first");
            }
            "check the folder"
        }
        _ if path.is_dir() => {
            return anyhow!("cannot write {shown}: it is a folder; give the name of a file");
        }
        ErrorKind::InvalidFilename => "give a shorter name",
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "write into another folder, or have this one opened for writing"
        }
        _ => "check the folder and the free space",
    };
    anyhow!("cannot write {shown} ({}); {remedy}", bare(error))
}

/// What the file system said, without the name of the file half written.
fn bare(error: &std::io::Error) -> String {
    let told = error.to_string();
    told.split_once(" at path ").map_or(told.as_str(), |(fact, _)| fact).to_owned()
}

fn beside(path: &Path, fill: impl FnOnce(&mut dyn Write) -> Result<()>) -> Result<NamedTempFile> {
    let dir = match path.parent() {
        Some(dir) if !dir.as_os_str().is_empty() => dir,
        _ => Path::new("."),
    };
    let unwritable = |e: std::io::Error| unwritable(path, &e);
    let mut builder = tempfile::Builder::new();
    builder.prefix(HALF);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // The usual rights of a new file (the umask still applies), not those of a secret.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut temp = builder.tempfile_in(dir).map_err(unwritable)?;
    {
        let mut buffered = BufWriter::new(temp.as_file_mut());
        fill(&mut buffered).map_err(|error| match full(&error) {
            Some(full) => unwritable(full),
            None => error,
        })?;
        buffered.flush().map_err(unwritable)?;
    }
    // On the disk before it has its name: a file with a name is whole even after a power cut.
    temp.as_file().sync_all().map_err(unwritable)?;
    Ok(temp)
}

/// The failure of the file system in an error, if that is what it is.
fn full(error: &anyhow::Error) -> Option<std::io::Error> {
    error.chain().find_map(|cause| {
        let kind = cause
            .downcast_ref::<std::io::Error>()
            .map(|e| (e.kind(), e.to_string()))
            .or_else(|| {
                let json = cause.downcast_ref::<serde_json::Error>()?;
                Some((json.io_error_kind()?, json.to_string()))
            });
        kind.map(|(kind, text)| std::io::Error::new(kind, text))
    })
}

/// `stem.extension`, then `stem-2.extension`, ...: a name not yet in `taken`, which it then joins.
///
/// Names are compared without regard to case, as many file systems do.
pub(crate) fn free_name(stem: &str, extension: &str, taken: &mut HashSet<String>) -> PathBuf {
    let mut name = format!("{stem}.{extension}");
    let mut n = 2;
    while !taken.insert(name.to_lowercase()) {
        name = format!("{stem}-{n}.{extension}");
        n += 1;
    }
    PathBuf::from(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_fill_leaves_nothing() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("list.csv");
        let result = file(&path, |w| {
            w.write_all(b"half")?;
            bail!("stop")
        });
        assert!(result.is_err());
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 0);
    }

    #[test]
    fn what_cannot_be_written_is_told_with_its_own_remedy() {
        let dir = tempfile::tempdir().unwrap();
        let said = |name: &str| {
            let path = dir.path().join(name);
            let said = file(&path, |_| Ok(())).unwrap_err().to_string();
            assert!(said.starts_with(&format!("cannot write {}", path.display())), "{said}");
            assert!(!said.contains(HALF), "{said}");
            said
        };
        std::fs::create_dir(dir.path().join("plots")).unwrap();
        assert!(said("nowhere/growth.svg").ends_with("nowhere; make it first"));
        assert!(said("plots").ends_with("it is a folder; give the name of a file"));
        assert!(said(&"x".repeat(300)).ends_with("give a shorter name"));
        std::fs::write(dir.path().join("list.csv"), "id").unwrap();
        assert!(said("list.csv/growth.svg").ends_with("check the folder and the free space"));
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 2);
    }

    #[test]
    fn equal_stems_get_names_of_their_own() {
        let mut taken = HashSet::new();
        assert_eq!(free_name("a", "jpg", &mut taken), Path::new("a.jpg"));
        assert_eq!(free_name("A", "jpg", &mut taken), Path::new("A-2.jpg"));
        assert_eq!(free_name("a-2", "jpg", &mut taken), Path::new("a-2-2.jpg"));
    }
}
