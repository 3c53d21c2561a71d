//! Text made harmless for HTML.

use crate::talk::steers;
use nde_core::Verdict;
use std::fmt::{self, Display, Write as _};

/// Text from outside: nothing in it is taken for markup, and it has no control characters.
pub(super) struct Text<'a>(pub(super) &'a str);

impl Display for Text<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for c in self.0.chars() {
            match c {
                '&' => f.write_str("&amp;")?,
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                '"' => f.write_str("&quot;")?,
                '\'' => f.write_str("&#39;")?,
                '\n' | '\r' | '\t' => f.write_char(' ')?,
                c if steers(c) => f.write_char('\u{fffd}')?,
                c => f.write_char(c)?,
            }
        }
        Ok(())
    }
}

/// A value inside a `data-` attribute: it goes back into a list of calls. What steers becomes U+FFFD; who reads the calls takes the two for the same.
pub(super) struct Attribute<'a>(pub(super) &'a str);

impl Display for Attribute<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for c in self.0.chars() {
            match c {
                '&' => f.write_str("&amp;")?,
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                '"' => f.write_str("&quot;")?,
                '\n' | '\t' => write!(f, "&#{};", u32::from(c))?,
                c if steers(c) => f.write_char('\u{fffd}')?,
                c => f.write_char(c)?,
            }
        }
        Ok(())
    }
}

/// A file's place as a link: what is special in an address is written in its other form.
pub(super) struct Link<'a>(pub(super) &'a str);

impl Display for Link<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for byte in self.0.bytes() {
            match byte {
                b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'/' => {
                    f.write_char(char::from(byte))?;
                }
                byte => write!(f, "%{byte:02X}")?,
            }
        }
        Ok(())
    }
}

/// The verdict as a word that is told apart without colour.
pub(super) fn verdict(verdict: Option<Verdict>) -> String {
    match verdict {
        Some(verdict) => format!("<span class=\"v v-{0}\">{0}</span>", verdict.word()),
        None => "<span class=\"v\">not judged</span>".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_becomes_text() {
        assert_eq!(Text("<b>'&\u{202e}x\n").to_string(), "&lt;b&gt;&#39;&amp;\u{fffd}x ");
        assert_eq!(Attribute("a\"\nb\u{1b}").to_string(), "a&quot;&#10;b\u{fffd}");
        assert_eq!(Link("a b/<#?.html").to_string(), "a%20b/%3C%23%3F.html");
    }
}
