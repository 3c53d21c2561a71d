//! `nde pick`: a page on which the user clicks a known distance or outlines the coat.

use crate::args::PickArgs;
use crate::outcome::Outcome;
use crate::pick;
use crate::save;
use crate::talk::Streams;
use anyhow::{Context as _, Result, anyhow, bail};
use nde_measure::{Photo, PhotoLimits};
use std::path::{Path, PathBuf};

/// Writes the page.
pub(super) fn run(args: &PickArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let shown = args.photo.display();
    let bytes = std::fs::read(&args.photo)
        .map_err(|e| anyhow!("{shown}: cannot be read ({e}); check the name"))?;
    let photo =
        Photo::decode(&bytes, &PhotoLimits::default()).with_context(|| shown.to_string())?;
    let name = args.photo.file_name().map_or_else(String::new, |n| n.to_string_lossy().into());
    let out = args.out.clone().unwrap_or_else(|| beside(&name));
    if same_file(&out, &args.photo) {
        bail!("--out would write over the photo {shown}; give another name");
    }
    let page = pick::page(&photo, &name)?;
    save::file(&out, |target| Ok(target.write_all(page.as_bytes())?))?;
    streams.note(format_args!(
        "open {} in a browser, click, and copy the text it shows",
        out.display()
    ));
    Ok(Outcome::Accepted)
}

fn beside(name: &str) -> PathBuf {
    let stem = Path::new(name).file_stem().map_or("photo".into(), std::ffi::OsStr::to_string_lossy);
    PathBuf::from(format!("{stem}.pick.html"))
}

fn same_file(a: &Path, b: &Path) -> bool {
    matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}
