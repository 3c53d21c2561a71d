//! The report that is handed over: one file that opens anywhere, needs no network and no script.
//!
//! A few photos stand in `report.html` whole. Of many, `report.html` is the overview and each photo
//! has a page of its own in `reports/`, so that no file grows with their number.

mod html;
mod tested;
mod closeup;
mod plots;
mod called;
mod photo;
mod overview;
mod page;
mod pdf;

pub(crate) use tested::Tested;

use crate::record::Record;
use crate::save::{self, Staged};
use anyhow::Result;
use page::{About, Page};
use std::path::Path;

/// Most photos in one file. Chosen: 24 photos make 20 MB, which still opens and mails well.
const MOST_IN_ONE: usize = 24;
/// Folder of the photos' own pages inside the output folder.
const PAGES: &str = "reports";

/// Writes the report of what lies in `dir`.
///
/// # Errors
/// A record or marked photo that cannot be read back, or a page that cannot be written.
pub(crate) fn write(
    dir: &Path,
    record: &Record,
    tested: Option<&Tested>,
    staged: &mut Staged,
) -> Result<()> {
    let about = About { record, tested, tally: record.tally()?, dir };
    let whole = record.cases.count() <= MOST_IN_ONE;
    if !whole {
        save::folder(&dir.join(PAGES))?;
        record.cases.each(&mut |case, closeups| {
            let name = page_name(case.marked.as_deref());
            let (path, mut page) = (dir.join(PAGES).join(name), Vec::new());
            Page { about: &about, to: &mut page }.of_photo(case, closeups)?;
            // Written one by one: staged together they would need their size twice. What an earlier
            // run wrote just so stands.
            match std::fs::read(&path) {
                Ok(there) if there == page => Ok(()),
                _ => save::file(&path, |to| Ok(to.write_all(&page)?)),
            }
        })?;
    }
    staged.file(&dir.join("report.html"), |to| {
        let mut page = Page { about: &about, to };
        if whole { page.whole() } else { page.overview() }
    })
}

/// Writes the report as a PDF.
///
/// # Errors
/// As for [`write`].
pub(crate) fn write_pdf(
    dir: &Path,
    record: &Record,
    tested: Option<&Tested>,
    staged: &mut Staged,
) -> Result<()> {
    let bytes = pdf::pdf(dir, record, tested, MOST_IN_ONE)?;
    staged.file(&dir.join("report.pdf"), |to| Ok(to.write_all(&bytes)?))
}

/// File of a photo's own page: named as its marked photo.
fn page_name(marked: Option<&str>) -> String {
    let name = marked.and_then(|path| path.rsplit('/').next()).unwrap_or("photo.jpg");
    format!("{}.html", name.strip_suffix(".jpg").unwrap_or(name))
}

#[cfg(test)]
mod tests;
