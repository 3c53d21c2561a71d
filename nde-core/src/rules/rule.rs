//! One rule: which indications it looks at, what it catches, and where it is written.

use crate::indication::Shape;
use crate::length::Length;
use crate::rules::written::{CountBound, LengthBound};
use crate::source::Source;

/// One line of a rule set.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    pub(crate) name: String,
    pub(crate) of: Members,
    pub(crate) test: Test,
    pub(crate) source: Source,
}

/// Which relevant indications a rule looks at.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Members {
    /// Only this shape; absent: either.
    pub(crate) shape: Option<Shape>,
    /// Only what a person called one of these; empty: whatever it is called.
    pub(crate) labels: Vec<String>,
}

/// What a rule rejects.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Test {
    /// Every one.
    Any,
    /// Each whose length is caught.
    Length(LengthBound),
    /// Each whose width is caught.
    Width(LengthBound),
    /// So many in line, linked by gaps that are caught.
    Row {
        count: CountBound,
        gap: LengthBound,
        /// Width of the strip that touches every member; zero for a line.
        strip: Length,
    },
    /// Two whose gap is caught.
    Spacing(LengthBound),
    /// So many in all.
    Count(CountBound),
}

impl Rule {
    /// Its short name, unique in its set.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Where its numbers come from.
    #[must_use]
    pub const fn source(&self) -> &Source {
        &self.source
    }

    /// Whether it asks where indications lie.
    #[must_use]
    pub const fn needs_places(&self) -> bool {
        matches!(self.test, Test::Row { .. } | Test::Spacing(_))
    }

    /// The limit with its side, such as `> 5 mm` or `>= 4 with gaps <= 1.5 mm`; `none allowed` where
    /// there is no number.
    #[must_use]
    pub fn limit(&self) -> String {
        match &self.test {
            Test::Any => "none allowed".to_owned(),
            Test::Length(bound) | Test::Width(bound) | Test::Spacing(bound) => bound.to_string(),
            Test::Row { count, gap, .. } => format!("{count} with gaps {gap}"),
            Test::Count(count) => count.to_string(),
        }
    }

    /// The rule in one sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let (who, many) = (self.of.one(), self.of.many());
        match &self.test {
            Test::Any => format!("Any {who} rejects."),
            Test::Length(b) => {
                format!("A {who} that is {} {} long rejects.", b.side.words(), b.limit)
            }
            Test::Width(b) => {
                format!("A {who} that is {} {} wide rejects.", b.side.words(), b.limit)
            }
            Test::Row { count, gap, .. } => format!(
                "{} {} {many} in a line reject when each is linked to the next by a gap of {} {}, edge to edge.",
                capital(count.side.words()),
                count.limit,
                gap.side.words(),
                gap.limit
            ),
            Test::Spacing(b) => format!(
                "Two {many} that lie {} {} apart, edge to edge, reject.",
                b.side.words(),
                b.limit
            ),
            Test::Count(b) => {
                format!("{} {} {many} in all reject.", capital(b.side.words()), b.limit)
            }
        }
    }

    /// What no document publishes and this rule needs, one sentence each.
    pub(crate) fn conventions(&self) -> Vec<String> {
        match &self.test {
            Test::Row { strip, .. } => {
                let straight = if *strip == Length::ZERO {
                    "one straight line touches every member".to_owned()
                } else {
                    format!("one straight strip {strip} wide touches every member")
                };
                vec![format!(
                    "In a line: {straight}, and a single gap past the limit ends the row (convention: no document seen gives a tolerance)."
                )]
            }
            _ => Vec::new(),
        }
    }

    /// The smallest length that this rule compares with; absent when it has none.
    #[must_use]
    pub fn smallest_length(&self) -> Option<Length> {
        match &self.test {
            Test::Length(b) | Test::Width(b) | Test::Spacing(b) | Test::Row { gap: b, .. } => {
                Some(b.limit.length())
            }
            Test::Any | Test::Count(_) => None,
        }
    }
}

impl Members {
    /// Such as `relevant linear indication`.
    pub(crate) fn one(&self) -> String {
        self.words("indication")
    }

    /// Such as `relevant linear indications`.
    pub(crate) fn many(&self) -> String {
        self.words("indications")
    }

    fn words(&self, noun: &str) -> String {
        let shape = match self.shape {
            Some(Shape::Linear) => "linear ",
            Some(Shape::Rounded) => "rounded ",
            None => "",
        };
        let label = if self.labels.is_empty() {
            String::new()
        } else {
            format!(" called {}", self.labels.join(" or "))
        };
        format!("relevant {shape}{noun}{label}")
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}
