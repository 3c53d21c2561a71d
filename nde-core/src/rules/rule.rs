//! One rule: which indications it looks at, what it catches, and where it is written.

use crate::indication::Shape;
use crate::length::Length;
use crate::rules::amount::{AreaBound, ShareBound, Size};
use crate::rules::within::Within;
use crate::rules::written::{CountBound, LengthBound, Written};
use crate::source::Source;

/// One rule of a rule set.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Rule {
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
    /// Only joined ones, or only those that stand alone; absent: either.
    pub(crate) joined: Option<Joined>,
}

/// Whether an indication is made of several.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Joined {
    /// Of several.
    Yes,
    /// It stands alone.
    No,
}

/// What a rule rejects.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Test {
    /// Every one.
    Any,
    /// Each whose length is caught.
    Length(Size),
    /// Each whose width is caught.
    Width(Size),
    /// So many in line, linked by gaps that are caught.
    Row {
        count: CountBound,
        gap: LengthBound,
        /// Width of the strip that touches every member; zero for a line.
        strip: Length,
    },
    /// Two whose gap is caught.
    Spacing(LengthBound),
    /// So many, in all or within a frame.
    Count { count: CountBound, within: Option<Within> },
    /// Lengths that sum to what is caught, in all or within a frame.
    TotalLength { total: LengthBound, within: Option<Within> },
    /// Areas that sum to what is caught, in all or within a frame.
    TotalArea { total: AreaBound, within: Option<Within> },
    /// Lengths that sum to a share of the weld's length that is caught.
    WeldShare(ShareBound),
}

impl Rule {
    /// Whether it asks where indications lie.
    pub(crate) const fn needs_places(&self) -> bool {
        matches!(self.test, Test::Row { .. } | Test::Spacing(_)) || self.test.within().is_some()
    }

    /// Whether it asks how thick the part is.
    pub(crate) const fn needs_thickness(&self) -> bool {
        match &self.test {
            Test::Length(size) | Test::Width(size) => size.needs_thickness(),
            _ => false,
        }
    }

    /// Whether it looks along the weld.
    pub(crate) const fn needs_weld_axis(&self) -> bool {
        matches!(self.test.within(), Some(Within::WeldLength(_)))
    }

    /// Whether it takes a share of the weld's length.
    pub(crate) const fn needs_weld_length(&self) -> bool {
        matches!(self.test, Test::WeldShare(_))
    }

    /// The limit with its side, such as `> 5 mm` or `>= 4 with gaps <= 1.5 mm`; `none allowed` where
    /// there is no number.
    pub(crate) fn limit(&self) -> String {
        let framed = |bound: String, within: &Option<Within>| match within {
            Some(within) => format!("{bound} in {within}"),
            None => bound,
        };
        match &self.test {
            Test::Any => "none allowed".to_owned(),
            Test::Length(size) | Test::Width(size) => size.to_string(),
            Test::Spacing(bound) => bound.to_string(),
            Test::Row { count, gap, .. } => format!("{count} with gaps {gap}"),
            Test::Count { count, within } => framed(count.to_string(), within),
            Test::TotalLength { total, within } => framed(total.to_string(), within),
            Test::TotalArea { total, within } => framed(total.to_string(), within),
            Test::WeldShare(share) => format!("{share} of the weld's length"),
        }
    }

    /// The rule in one sentence.
    pub(crate) fn sentence(&self) -> String {
        let (who, many) = (self.of.one(), self.of.many());
        let place = |within: &Option<Within>| {
            within.as_ref().map_or_else(|| "in all".to_owned(), |within| format!("in {within}"))
        };
        match &self.test {
            Test::Any => format!("Any {who} rejects."),
            Test::Length(size) => format!("A {who} that is {} long rejects.", size.words()),
            Test::Width(size) => format!("A {who} that is {} wide rejects.", size.words()),
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
            Test::Count { count, within } => format!(
                "{} {} {many} {} reject.",
                capital(count.side.words()),
                count.limit,
                place(within)
            ),
            Test::TotalLength { total, within } => format!(
                "{} whose lengths sum to {} {} {} reject.",
                capital(&many),
                total.side.words(),
                total.limit,
                place(within)
            ),
            Test::TotalArea { total, within } => format!(
                "{} whose areas sum to {} {} {} reject.",
                capital(&many),
                total.side.words(),
                total.limit,
                place(within)
            ),
            Test::WeldShare(share) => format!(
                "{} whose lengths sum to {} {} % of the weld's length reject.",
                capital(&many),
                share.side.words(),
                share.percent
            ),
        }
    }

    /// What no document publishes and this rule needs, one sentence each.
    pub(crate) fn conventions(&self) -> Vec<String> {
        if let Test::Row { strip, .. } = &self.test {
            return vec![in_line(*strip)];
        }
        self.test.within().map(Within::convention).into_iter().collect()
    }

    /// The smallest length that this rule compares with; absent when it has none.
    pub(crate) fn smallest_length(&self) -> Option<Length> {
        match &self.test {
            Test::Length(size) | Test::Width(size) => {
                size.lengths().into_iter().map(Written::length).min()
            }
            Test::Spacing(b) | Test::Row { gap: b, .. } => Some(b.limit.length()),
            _ => None,
        }
    }
}

/// The convention for "in a line".
pub(crate) fn in_line(strip: Length) -> String {
    let straight = if strip == Length::ZERO {
        "one straight line touches every member".to_owned()
    } else {
        format!("one straight strip {strip} wide touches every member")
    };
    format!(
        "In a line: {straight}, and a single gap past the limit ends the row (convention: no document seen gives a tolerance)."
    )
}

impl Test {
    pub(crate) const fn within(&self) -> Option<&Within> {
        match self {
            Self::Count { within, .. }
            | Self::TotalLength { within, .. }
            | Self::TotalArea { within, .. } => within.as_ref(),
            _ => None,
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
        let joined = match self.joined {
            Some(Joined::Yes) => "joined ",
            Some(Joined::No) => "single ",
            None => "",
        };
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
        format!("relevant {joined}{shape}{noun}{label}")
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}
