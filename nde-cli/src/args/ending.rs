//! Files to write that are known by their ending: a slip of the keyboard must not put a drawing where a photo was.

use std::path::PathBuf;

/// Not the ending of what is written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("does not end in .{ending}; give the name of the file to write, such as {example}")]
pub(crate) struct EndingError {
    ending: &'static str,
    example: &'static str,
}

/// A drawing.
///
/// # Errors
/// The name has another ending.
pub(crate) fn svg(path: PathBuf) -> Result<PathBuf, EndingError> {
    ending(path, "svg", "growth.svg")
}

/// A page.
///
/// # Errors
/// The name has another ending.
pub(crate) fn html(path: PathBuf) -> Result<PathBuf, EndingError> {
    ending(path, "html", "pick.html")
}

fn ending(
    path: PathBuf,
    ending: &'static str,
    example: &'static str,
) -> Result<PathBuf, EndingError> {
    match path.extension() {
        Some(has) if has.eq_ignore_ascii_case(ending) => Ok(path),
        _ => Err(EndingError { ending, example }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_photo_is_no_drawing() {
        assert!(svg("out/growth.SVG".into()).is_ok() && html("pick.html".into()).is_ok());
        for name in ["after-5.jpg", "growth", ".svg", "svg"] {
            let said = svg(name.into()).unwrap_err().to_string();
            assert!(said.contains("such as growth.svg"), "{said}");
        }
    }
}
