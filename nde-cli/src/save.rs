//! Whole files or none.
//!
//! A file is written beside its final place and moved there when complete, so that a reader never
//! meets half of one and a failed run leaves nothing behind.

use anyhow::{Result, anyhow, bail};
use std::collections::HashSet;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

/// Makes the folder (and those above it) if it is not there, and proves that it can be written to.
///
/// # Errors
/// It is not a folder, or cannot be made or written to.
pub(crate) fn folder(dir: &Path) -> Result<()> {
    if dir.exists() && !dir.is_dir() {
        bail!("{} is not a folder; give another --out", dir.display());
    }
    let shown = dir.display();
    std::fs::create_dir_all(dir)
        .map_err(|e| anyhow!("cannot make the folder {shown} ({e}); give another --out"))?;
    tempfile::tempfile_in(dir)
        .map(drop)
        .map_err(|e| anyhow!("cannot write into {shown} ({e}); give another --out"))
}

/// Writes a whole file at `path`, in place of what stood there.
///
/// # Errors
/// What `fill` reports, or the file cannot be written.
pub(crate) fn file(path: &Path, fill: impl FnOnce(&mut dyn Write) -> Result<()>) -> Result<()> {
    let dir = match path.parent() {
        Some(dir) if !dir.as_os_str().is_empty() => dir,
        _ => Path::new("."),
    };
    let unwritable = |e: std::io::Error| {
        anyhow!("cannot write {} ({e}); check the folder and the free space", path.display())
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".nde-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // The usual rights of a new file (the umask still applies), not those of a secret.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut temp = builder.tempfile_in(dir).map_err(unwritable)?;
    {
        let mut buffered = BufWriter::new(temp.as_file_mut());
        fill(&mut buffered)?;
        buffered.flush().map_err(unwritable)?;
    }
    temp.persist(path).map(drop).map_err(|e| unwritable(e.error))
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
    fn equal_stems_get_names_of_their_own() {
        let mut taken = HashSet::new();
        assert_eq!(free_name("a", "jpg", &mut taken), Path::new("a.jpg"));
        assert_eq!(free_name("A", "jpg", &mut taken), Path::new("A-2.jpg"));
        assert_eq!(free_name("a-2", "jpg", &mut taken), Path::new("a-2-2.jpg"));
    }
}
