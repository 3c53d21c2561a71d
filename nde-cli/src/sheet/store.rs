//! Sheets on disk: read whole, written whole or not at all, and on the disk before anything goes on.

use super::form;
use super::{Sheet, SheetFault};
use crate::clock::Moment;
use crate::save::unwritable;
use anyhow::{Context as _, Result, anyhow, bail};
use std::io::{Read as _, Write as _};
use std::path::Path;
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, value};

/// The text of a sheet.
///
/// # Errors
/// It cannot be read, is too large, or is no text.
pub(crate) fn text_of(path: &Path) -> Result<String> {
    let shown = path.display();
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(form::MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|e| anyhow!("{shown}: cannot be read ({e}); check the name"))?;
    if bytes.len() as u64 > form::MOST_BYTES {
        bail!("{shown}: is larger than 1 MB; check that this is a sheet");
    }
    String::from_utf8(bytes)
        .map_err(|_| anyhow!("{shown}: is not UTF-8 text; check that this is a sheet"))
}

/// Reads a sheet's text; every fault at once.
///
/// # Errors
/// The faults, in the order of the file.
pub(crate) fn read(text: &str, now: Option<Moment>) -> Result<Sheet, Vec<SheetFault>> {
    form::read(text, now)
}

/// The sheet at `path`; its faults as one message of several lines `path:line:column: ...`.
///
/// # Errors
/// It cannot be read, or has faults.
pub(crate) fn load(path: &Path, now: Option<Moment>) -> Result<(Sheet, String)> {
    let text = text_of(path)?;
    match read(&text, now) {
        Ok(sheet) => Ok((sheet, text)),
        Err(faults) => {
            let lines: Vec<String> =
                faults.iter().map(|f| format!("{}:{f}", path.display())).collect();
            Err(anyhow!("{}", lines.join("\n")))
        }
    }
}

/// One thing to write into a sheet.
#[derive(Clone, Debug)]
pub(super) enum Entry {
    /// A moment of a step: `[steps.STEP] KEY = ..`.
    Moment { step: &'static str, key: &'static str, at: Moment },
    /// A note.
    Note { at: Moment, text: String },
}

/// Writes entries into the sheet as it stands on disk now; the rest of it, comments included, stays.
///
/// # Errors
/// The sheet cannot be read or written, or would no longer say what was meant.
pub(super) fn enter(path: &Path, entries: &[Entry]) -> Result<Sheet> {
    let text = text_of(path)?;
    let mut document: DocumentMut = text.parse().map_err(|_| {
        anyhow!("{}: is no longer TOML; correct it in the editor, then go on", path.display())
    })?;
    for entry in entries {
        write_entry(&mut document, entry).with_context(|| path.display().to_string())?;
    }
    let text = document.to_string();
    let sheet = read(&text, None).map_err(|faults| {
        let first = faults.first().map(ToString::to_string).unwrap_or_default();
        anyhow!("{}:{first}", path.display())
    })?;
    durable(path, text.as_bytes())?;
    Ok(sheet)
}

fn write_entry(document: &mut DocumentMut, entry: &Entry) -> Result<()> {
    let written = |at: Moment| {
        at.to_string().parse::<toml_edit::Datetime>().map_err(|e| anyhow!("{at} is no time ({e})"))
    };
    let not_a_table = |name: &str| anyhow!("`{name}` is not a table; write it as [{name}]");
    match entry {
        Entry::Moment { step, key, at } => {
            let steps = document.entry("steps").or_insert_with(|| {
                let mut table = Table::new();
                table.set_implicit(true);
                Item::Table(table)
            });
            let steps = steps.as_table_like_mut().ok_or_else(|| not_a_table("steps"))?;
            let step_item = steps.entry(step).or_insert_with(toml_edit::table);
            let table = step_item
                .as_table_like_mut()
                .ok_or_else(|| not_a_table(&format!("steps.{step}")))?;
            let moment = value(written(*at)?);
            match table.get_mut(key) {
                // The comment behind a value stays.
                Some(Item::Value(old)) => {
                    let decor = old.decor().clone();
                    let mut new = moment.into_value().map_err(|_| anyhow!("{at} is no value"))?;
                    *new.decor_mut() = decor;
                    *old = new;
                }
                _ => {
                    table.insert(key, moment);
                }
            }
        }
        Entry::Note { at, text } => {
            let notes = document
                .entry("note")
                .or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()))
                .as_array_of_tables_mut()
                .ok_or_else(|| anyhow!("`note` is not a list of tables; write [[note]]"))?;
            let mut note = Table::new();
            note.insert("at", value(written(*at)?));
            note.insert("text", value(text.as_str()));
            notes.push(note);
        }
    }
    Ok(())
}

/// Writes a whole file and has it on the disk, name included, before it returns.
///
/// # Errors
/// It cannot be written.
pub(crate) fn durable(path: &Path, bytes: &[u8]) -> Result<()> {
    let dir = match path.parent() {
        Some(dir) if !dir.as_os_str().is_empty() => dir,
        _ => Path::new("."),
    };
    let unwritable = |e: std::io::Error| unwritable(path, &e);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".nde-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // The rights the sheet has, or the usual ones of a new file (the umask still applies).
        let mode = std::fs::metadata(path).map_or(0o666, |m| m.permissions().mode());
        builder.permissions(std::fs::Permissions::from_mode(mode));
    }
    let mut temp = builder.tempfile_in(dir).map_err(unwritable)?;
    temp.write_all(bytes).map_err(unwritable)?;
    temp.as_file().sync_all().map_err(unwritable)?;
    temp.persist(path).map_err(|e| unwritable(e.error))?;
    // The new name itself is on the disk only once its folder is; not every system allows that.
    #[cfg(unix)]
    if let Ok(folder) = std::fs::File::open(dir) {
        let _ = folder.sync_all();
    }
    Ok(())
}
