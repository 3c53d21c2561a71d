//! The word that was probably meant.

use std::path::Path;

/// Most names of a folder that a missing one is held against.
const MOST_ALIKE: usize = 10_000;
/// Likeness from which a word is offered, 0 to 1. Chosen: one wrong letter in three still is.
const LIKE: f64 = 0.6;

/// Of the words known, the one most like what was written; absent where none is.
#[must_use]
pub(crate) fn nearest<'a>(
    written: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let written = written.to_lowercase();
    known
        .into_iter()
        .map(|word| (strsim::normalized_damerau_levenshtein(&written, &word.to_lowercase()), word))
        .filter(|(likeness, _)| *likeness >= LIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}

/// `; did you mean ...`, or nothing.
#[must_use]
pub(crate) fn meant<'a>(written: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    nearest(written, known).map_or_else(String::new, |word| format!("; did you mean {word}?"))
}

/// What in the same folder has a name much like one that is not there, to be offered.
#[must_use]
pub(crate) fn alike(path: &Path) -> String {
    let (Some(name), false) = (path.file_name(), path.exists()) else { return String::new() };
    let dir = path.parent().filter(|dir| !dir.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let there: Vec<String> = std::fs::read_dir(dir)
        .into_iter()
        .flatten()
        .flatten()
        .take(MOST_ALIKE)
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    meant(&name.to_string_lossy(), there.iter().map(String::as_str))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_understood_and_another_word_is_not() {
        let known = ["weld-vessel-si", "weld-vessel-us", "label-type-class"];
        assert_eq!(nearest("weld-vesel-si", known), Some("weld-vessel-si"));
        assert_eq!(nearest("WELD-VESSEL-US", known), Some("weld-vessel-us"));
        assert_eq!(nearest("chainplate.jpg", known), None);
        assert_eq!(meant("x", known), "");
    }
}
