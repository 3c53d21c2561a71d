//! The two streams of a run: results on one, talk on the other.
//!
//! Talk is never needed to use the results, so a failing talk stream is let go. Texts that came
//! from outside (file names, cells of a list) lose their control characters before they reach a
//! terminal.

use std::fmt::Display;
use std::io::Write;

/// Whether a stream may carry colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dress {
    /// Letters only.
    Plain,
    /// Colours allowed.
    Coloured,
}

impl Dress {
    /// Colours on a terminal, unless `NO_COLOR` is set to anything or `TERM` is `dumb`.
    #[must_use]
    pub fn of(is_terminal: bool) -> Self {
        let refused = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty())
            || std::env::var_os("TERM").is_some_and(|v| v == "dumb");
        if is_terminal && !refused { Self::Coloured } else { Self::Plain }
    }

    /// `text` in `paint`, where colours are allowed.
    #[must_use]
    pub fn paint(self, paint: Paint, text: &str) -> String {
        match (self, paint.code()) {
            (Self::Coloured, Some(code)) => format!("\u{1b}[{code}m{text}\u{1b}[0m"),
            _ => text.to_owned(),
        }
    }
}

/// A colour with a meaning. The words always say the same: colour never carries it alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paint {
    /// No colour.
    Plain,
    /// Headings.
    Strong,
    /// Less important.
    Faint,
    /// Accepted.
    Good,
    /// Needs a person.
    Ask,
    /// Rejected, or could not be done.
    Bad,
}

impl Paint {
    const fn code(self) -> Option<&'static str> {
        match self {
            Self::Plain => None,
            Self::Strong => Some("1"),
            Self::Faint => Some("2"),
            Self::Good => Some("32"),
            Self::Ask => Some("1;33"),
            Self::Bad => Some("1;31"),
        }
    }
}

/// Who reads the talk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reader {
    /// A person at a terminal, who may be shown a line that changes.
    Person,
    /// A file or another program.
    Pipe,
}

/// Where a run writes.
pub struct Streams<'a> {
    /// Results.
    pub out: &'a mut dyn Write,
    /// Everything said to the person.
    pub talk: &'a mut dyn Write,
    /// Colours on results.
    pub out_dress: Dress,
    /// Colours on talk.
    pub talk_dress: Dress,
    /// Who reads the talk.
    pub talk_reader: Reader,
}

impl std::fmt::Debug for Streams<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Streams")
            .field("out_dress", &self.out_dress)
            .field("talk_dress", &self.talk_dress)
            .finish_non_exhaustive()
    }
}

impl<'a> Streams<'a> {
    /// Without colours, such as into memory.
    #[must_use]
    pub fn plain(out: &'a mut dyn Write, talk: &'a mut dyn Write) -> Self {
        Self {
            out,
            talk,
            out_dress: Dress::Plain,
            talk_dress: Dress::Plain,
            talk_reader: Reader::Pipe,
        }
    }

    /// Something could not be done: the fact and the remedy on one line.
    pub fn error(&mut self, message: impl Display) {
        self.say(Paint::Bad, "error", message);
    }

    /// Something to look at.
    pub fn warn(&mut self, message: impl Display) {
        self.say(Paint::Ask, "warning", message);
    }

    /// Something to know.
    pub fn note(&mut self, message: impl Display) {
        self.say(Paint::Strong, "note", message);
    }

    /// One line of talk without a heading.
    pub fn tell(&mut self, message: impl Display) {
        let _ = writeln!(self.talk, "{}", harmless(&message.to_string()));
    }

    /// How far the work has come: one line that a person sees change. An empty one wipes it. A pipe
    /// gets nothing.
    pub fn progress(&mut self, message: impl Display) {
        if self.talk_reader == Reader::Person {
            let _ = write!(self.talk, "\r{}\u{1b}[K", harmless(&message.to_string()));
            let _ = self.talk.flush();
        }
    }

    fn say(&mut self, paint: Paint, kind: &str, message: impl Display) {
        let kind = self.talk_dress.paint(paint, kind);
        // Nobody is left to be told when the talk stream is gone.
        let _ = writeln!(self.talk, "{kind}: {}", harmless(&message.to_string()));
    }
}

/// Whether a character steers what stands around it: control characters, those that turn the reading
/// direction (`gpj.exe` shown as `exe.jpg`), and line ends that are no control characters.
#[must_use]
pub(crate) fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The text without characters that steer, so that no file name can play with a terminal.
#[must_use]
pub(crate) fn harmless(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            c if steers(c) => '\u{fffd}',
            c => c,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_name_cannot_steer_the_terminal() {
        assert_eq!(harmless("a\u{1b}[2Jb\nc"), "a\u{fffd}[2Jb c");
        assert_eq!(harmless("a\u{202e}gpj.b\u{2028}c"), "a\u{fffd}gpj.b\u{fffd}c");
    }

    #[test]
    fn plain_streams_carry_no_escapes() {
        let (mut out, mut talk) = (Vec::new(), Vec::new());
        Streams::plain(&mut out, &mut talk).error("no card");
        assert_eq!(String::from_utf8(talk).unwrap(), "error: no card\n");
    }
}
