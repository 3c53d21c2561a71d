//! The technique a sheet names: a shipped one, or a file beside the sheet.

use super::Sheet;
use crate::near::meant;
use anyhow::{Result, anyhow, bail};
use nde_core::Technique;
use nde_core::technique::builtin_ids;
use std::io::Read as _;
use std::path::Path;

/// Most bytes of a technique file. Chosen: the shipped ones are under 10 kB.
const MOST_BYTES: u64 = 1 << 20;

/// The technique that the sheet names; absent when it names none.
///
/// # Errors
/// It is neither known nor a readable file in the sheet's folder `dir`.
pub(crate) fn technique_of(sheet: &Sheet, dir: &Path) -> Result<Option<Technique>> {
    sheet.procedure.technique.as_deref().map(|name| technique(name, dir)).transpose()
}

/// A shipped technique, or the one in a file of `dir`.
///
/// # Errors
/// It is neither, or the file cannot be read as a technique.
pub(crate) fn technique(name: &str, dir: &Path) -> Result<Technique> {
    if let Some(technique) = Technique::builtin(name) {
        return Ok(technique);
    }
    let path = dir.join(name);
    if !path.is_file() {
        let ids: Vec<&str> = builtin_ids().collect();
        bail!(
            "`{name}` is neither a built-in technique nor a file{}; built in are {}",
            meant(name, builtin_ids()),
            ids.join(", ")
        );
    }
    let shown = path.display();
    let mut text = String::new();
    std::fs::File::open(&path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_string(&mut text))
        .map_err(|e| {
            anyhow!("{shown}: cannot be read ({e}); check that this is a technique file")
        })?;
    Technique::parse(&text)
        .map_err(|e| anyhow!("{shown}:{}:{}: {}; {}", e.line(), e.column(), e.fact(), e.remedy()))
}
