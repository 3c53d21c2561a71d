//! The user's own limits, in one line each: the grammar of `--limit`.
//!
//! A value at the limit passes; for a row, a gap at the limit belongs to the row, as the trade's
//! "or less, edge to edge" has it.

use std::fmt;
use std::str::FromStr;

use crate::length::Length;
use crate::rules::written::Written;

/// One limit of the user's own.
///
/// ```
/// let limit: nde_core::Limit = "row=4@1/16in".parse()?;
/// assert_eq!(limit.to_string(), "row=4@1/16in");
/// # Ok::<(), nde_core::LimitError>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Limit {
    /// `linear=3mm`: a relevant linear indication longer than this rejects.
    Linear(Written),
    /// `rounded=5mm`: a relevant rounded indication longer than this rejects.
    Rounded(Written),
    /// `relevant=1.5mm`: only an indication longer than this is relevant.
    Relevant(Written),
    /// `row=4@1.5mm`: so many or more relevant indications in line, with gaps up to this, reject.
    Row {
        /// Fewest indications that make a row.
        count: u32,
        /// Largest gap that still links two of them.
        gap: Written,
    },
    /// `spacing=10mm`: two relevant indications nearer to each other than this, edge to edge, reject.
    Spacing(Written),
    /// `count=10`: more relevant indications than this reject.
    Count(u32),
}

/// Why a text is not a limit.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not a limit: {fact}; write {remedy}")]
pub struct LimitError {
    text: String,
    fact: String,
    remedy: &'static str,
}

const FORMS: &str =
    "linear=3mm, rounded=5mm, relevant=1.5mm, row=4@1.5mm, spacing=10mm or count=10";

impl Limit {
    /// Its name, the part before `=`.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Linear(_) => "linear",
            Self::Rounded(_) => "rounded",
            Self::Relevant(_) => "relevant",
            Self::Row { .. } => "row",
            Self::Spacing(_) => "spacing",
            Self::Count(_) => "count",
        }
    }
}

impl FromStr for Limit {
    type Err = LimitError;

    fn from_str(text: &str) -> Result<Self, LimitError> {
        let wrong = |fact: String, remedy| LimitError { text: text.to_owned(), fact, remedy };
        let Some((name, value)) = text.split_once('=') else {
            return Err(wrong("it has no `=`".into(), FORMS));
        };
        let value = value.trim();
        let length = |remedy| Written::parse(value).map_err(|fact| wrong(fact, remedy));
        match name.trim() {
            "linear" => Ok(Self::Linear(length("linear=3mm or linear=1/8in")?)),
            "rounded" => Ok(Self::Rounded(length("rounded=5mm or rounded=3/16in")?)),
            "relevant" => Ok(Self::Relevant(length("relevant=1.5mm or relevant=1/16in")?)),
            "spacing" => {
                let remedy = "spacing=10mm or spacing=1/2in";
                let gap = length(remedy)?;
                if gap.length() == Length::ZERO {
                    return Err(wrong("a spacing of zero never rejects".into(), remedy));
                }
                Ok(Self::Spacing(gap))
            }
            "row" => {
                let remedy = "row=4@1.5mm: four or more in line with gaps up to 1.5 mm";
                let (count, gap) =
                    value.split_once('@').ok_or_else(|| wrong("it has no `@`".into(), remedy))?;
                let count = whole(count)
                    .filter(|c| *c >= 2)
                    .ok_or_else(|| wrong("a row is two or more".into(), remedy))?;
                Ok(Self::Row {
                    count,
                    gap: Written::parse(gap).map_err(|fact| wrong(fact, remedy))?,
                })
            }
            "count" => whole(value)
                .map(Self::Count)
                .ok_or_else(|| wrong(format!("`{value}` is not a whole number"), "count=10")),
            other => Err(wrong(format!("`{other}` is not known"), FORMS)),
        }
    }
}

fn whole(text: &str) -> Option<u32> {
    let text = text.trim();
    let plain = !text.is_empty() && text.len() <= 6 && text.bytes().all(|b| b.is_ascii_digit());
    if plain { text.parse().ok() } else { None }
}

impl fmt::Display for Limit {
    /// The same grammar that is read.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.name();
        match self {
            Self::Linear(l) | Self::Rounded(l) | Self::Relevant(l) | Self::Spacing(l) => {
                write!(f, "{name}={}{}", l.number(), l.unit().word())
            }
            Self::Row { count, gap } => {
                write!(f, "{name}={count}@{}{}", gap.number(), gap.unit().word())
            }
            Self::Count(count) => write!(f, "{name}={count}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back() {
        for text in [
            "linear=3mm",
            "linear=1/8in",
            "rounded=0.1875in",
            "relevant=1.5mm",
            "row=4@1 1/16in",
            "spacing=10mm",
            "count=0",
        ] {
            let limit: Limit = text.parse().unwrap();
            assert_eq!(limit.to_string(), text);
        }
        assert_eq!("linear = 3 mm".parse::<Limit>().unwrap().to_string(), "linear=3mm");
    }

    #[test]
    fn nonsense_says_what_to_write() {
        for text in [
            "",
            "linear",
            "linear=",
            "linear=3",
            "linear=-3mm",
            "linear=NaNmm",
            "row=4",
            "row=1@1mm",
            "row=4@",
            "spacing=0mm",
            "count=-1",
            "count=1.5",
            "depth=3mm",
            "count=9999999",
        ] {
            let error = text.parse::<Limit>().unwrap_err().to_string();
            assert!(error.contains("; write "), "{error}");
        }
    }
}
