//! Which indications a rule set reads as one.

use std::fmt;

use crate::indication::Shape;
use crate::length::Length;
use crate::rules::rule::in_line;
use crate::rules::written::Written;
use crate::side::Side;
use crate::source::Source;

/// When several indications are read as one.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Joins {
    /// Only this shape joins; absent: either.
    pub(crate) shape: Option<Shape>,
    /// Which gaps join: [`Side::Under`] or [`Side::AtMost`].
    pub(crate) side: Side,
    /// What the gap is held against.
    pub(crate) against: Against,
    /// Which lengths count where the gap is held against a length.
    pub(crate) lengths: Lengths,
    /// Fewest that are read as one.
    pub(crate) fewest: usize,
    /// How they must lie.
    pub(crate) arranged: Arranged,
    /// What the joined one is.
    pub(crate) becomes: Becomes,
    /// Where this stands.
    pub(crate) source: Source,
}

/// What a gap is held against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Against {
    /// A fixed length.
    Fixed(Written),
    /// The length of the shorter of the two.
    Smaller,
    /// The length of the longer of the two.
    Larger,
}

/// Which lengths count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lengths {
    /// Each indication's own.
    Own,
    /// Those of what has been joined so far, until nothing more joins.
    Growing,
}

/// How joined indications must lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Arranged {
    /// Anyhow.
    Anyhow,
    /// In a line, or in a strip of this width.
    InLine(Length),
}

/// What a joined indication is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Becomes {
    /// What its overall length says against the width of its widest member.
    ByRatio,
    /// This shape, whatever its ratio.
    Always(Shape),
}

impl Joins {
    /// Such as `< the smaller length`.
    pub(crate) fn limit(&self) -> String {
        format!("{} {}", self.side.sign(), self.against)
    }

    pub(crate) fn sentence(&self) -> String {
        let who = match self.shape {
            None => "Indications",
            Some(Shape::Linear) => "Linear indications",
            Some(Shape::Rounded) => "Rounded indications",
        };
        let fewest = if self.fewest > 2 {
            format!(", at least {} of them,", self.fewest)
        } else {
            String::new()
        };
        let line = match self.arranged {
            Arranged::Anyhow => "",
            Arranged::InLine(_) => " in a line",
        };
        format!(
            "{who}{line}{fewest} are read as one when each is linked to the next by a gap {} {}, edge to edge.",
            self.side.words(),
            self.against
        )
    }

    pub(crate) fn conventions(&self) -> Vec<String> {
        let mut all = vec![
            "Joined: what is linked directly or through others is one; its length is its longest overall extent, gaps included, its width that of its widest member, and all indications not called away join before their size is asked (convention)."
                .to_owned(),
        ];
        if !matches!(self.against, Against::Fixed(_)) {
            all.push(match self.lengths {
                Lengths::Own => "Joining holds gaps against each indication's own length, not against the joined one (convention; the order of joining then changes nothing).".to_owned(),
                Lengths::Growing => "Joining holds gaps against the lengths joined so far, until nothing more joins (convention; the order of joining changes nothing).".to_owned(),
            });
        }
        if let Arranged::InLine(strip) = self.arranged {
            all.push(in_line(strip));
        }
        all
    }
}

impl fmt::Display for Against {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Fixed(length) => length.fmt(f),
            Self::Smaller => f.write_str("the length of the smaller"),
            Self::Larger => f.write_str("the length of the larger"),
        }
    }
}

/// What a person must say before some indications can be judged.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Labels {
    /// Which shape needs a label; absent: either.
    pub(crate) shape: Option<Shape>,
    /// The words that the rules know.
    pub(crate) words: Vec<String>,
    /// Where this stands.
    pub(crate) source: Source,
}

impl Labels {
    pub(crate) fn sentence(&self) -> String {
        let who = match self.shape {
            None => "indication",
            Some(Shape::Linear) => "linear indication",
            Some(Shape::Rounded) => "rounded indication",
        };
        format!("A person says of each relevant {who} what it is: {}.", self.words.join(", "))
    }
}
