//! What was probably meant by words that were not understood.

use clap::error::{ContextKind, ContextValue, ErrorKind};
use std::path::Path;

/// Endings of what is evaluated.
const ENDINGS: [&str; 9] = ["jpg", "jpeg", "png", "tif", "tiff", "webp", "heic", "heif", "csv"];

/// A line that helps further; absent where the message says it all.
pub(crate) fn tip(said: &clap::Error) -> Option<String> {
    let text = |kind| match said.get(kind) {
        Some(ContextValue::String(text)) => Some(text.as_str()),
        _ => None,
    };
    match said.kind() {
        ErrorKind::InvalidSubcommand => {
            let word = text(ContextKind::InvalidSubcommand)?;
            let path = Path::new(word);
            let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default();
            let file = ENDINGS.contains(&ending.to_lowercase().as_str());
            (file || path.is_dir())
                .then(|| format!("to evaluate it: nde evaluate {word} --rules ID --out out"))
        }
        ErrorKind::ValueValidation => {
            let option = text(ContextKind::InvalidArg)?;
            let value = text(ContextKind::InvalidValue)?;
            // In places and regions a comma stands between x and y.
            let places = option.starts_with("--region")
                || value.starts_with("points")
                || value.starts_with("board")
                || value.contains('@');
            (!places && !value.contains('.') && decimal_comma(value))
                .then(|| "decimals are written with a point, such as 3.5".to_owned())
        }
        _ => None,
    }
}

/// Whether a comma stands between two digits.
fn decimal_comma(text: &str) -> bool {
    text.as_bytes()
        .windows(3)
        .any(|w| w[0].is_ascii_digit() && w[1] == b',' && w[2].is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Args;
    use clap::Parser as _;

    fn of(words: &[&str]) -> Option<String> {
        tip(&Args::try_parse_from([&["nde"], words].concat()).unwrap_err())
    }

    #[test]
    fn a_photo_without_a_command_and_a_decimal_comma_are_understood() {
        assert!(of(&["Eye.JPG"]).unwrap().contains("nde evaluate Eye.JPG"));
        assert_eq!(of(&["measur"]), None);
        for words in
            [["--limit", "linear=3,5mm"], ["--height", "8,5mm"], ["--scale", "card:99,2,99,4"]]
        {
            assert!(of(&[&["evaluate", "a.jpg"], &words[..]].concat()).is_some(), "{words:?}");
        }
        assert_eq!(of(&["evaluate", "a.jpg", "--region", "100,80 900,80"]), None);
        assert_eq!(of(&["evaluate", "a.jpg", "--limit", "lin=3mm"]), None);
    }
}
