//! Numbers as a rule set writes them: with their unit, and with the side that counts.

use std::cmp::Ordering;
use std::fmt;

use crate::length::Length;
use crate::side::Side;

/// The unit a rule set is written in. Sets in inches and sets in millimetres are never converted
/// into each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Unit {
    /// Millimetres.
    Millimetre,
    /// Inches.
    Inch,
}

impl Unit {
    /// As written: `mm` or `in`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Inch => "in",
        }
    }

    /// A length in this unit, for eyes: all digits of a length that a person typed.
    #[must_use]
    pub fn show(self, length: Length) -> String {
        match self {
            Self::Millimetre => format!("{length}"),
            Self::Inch => {
                let rounded = (length.inch() * 1.0e5).round() / 1.0e5;
                format!("{rounded} in")
            }
        }
    }
}

/// A length together with how it was written, such as `1/16 in`.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Written {
    length: Length,
    unit: Unit,
    number: String,
}

impl Written {
    /// From a number with its unit, with or without a space: `1.5 mm`, `1/16 in`, `3mm`.
    ///
    /// # Errors
    /// A sentence that says what is wrong, for the caller to place.
    pub(crate) fn parse(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let (number, unit) = if let Some(number) = text.strip_suffix("mm") {
            (number.trim(), Unit::Millimetre)
        } else if let Some(number) = text.strip_suffix("in") {
            (number.trim(), Unit::Inch)
        } else {
            return Err(format!("`{text}` has no unit"));
        };
        let length = match unit {
            Unit::Millimetre => Length::parse_mm(number),
            Unit::Inch => Length::parse_inch(number),
        }
        .map_err(|_| format!("`{text}` is not a length"))?;
        let number = number.split_whitespace().collect::<Vec<_>>().join(" ");
        Ok(Self { length, unit, number })
    }

    /// The length.
    #[must_use]
    pub const fn length(&self) -> Length {
        self.length
    }

    /// The unit it was written in.
    #[must_use]
    pub const fn unit(&self) -> Unit {
        self.unit
    }

    /// The number as typed, without its unit.
    #[must_use]
    pub fn number(&self) -> &str {
        &self.number
    }
}

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.number, self.unit.word())
    }
}

/// A length limit with its side, such as `> 1.5 mm`.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct LengthBound {
    /// Which lengths are caught.
    pub(crate) side: Side,
    /// The limit.
    pub(crate) limit: Written,
}

impl LengthBound {
    /// Whether a length is caught.
    #[must_use]
    pub(crate) fn catches(&self, length: Length) -> bool {
        self.side.catches(length.cmp(&self.limit.length()))
    }
}

impl fmt::Display for LengthBound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.side.sign(), self.limit)
    }
}

/// A number of indications with its side, such as `>= 4`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct CountBound {
    /// Which counts are caught.
    pub(crate) side: Side,
    /// The limit.
    pub(crate) limit: u32,
}

impl CountBound {
    /// Whether a count is caught.
    #[must_use]
    pub(crate) fn catches(&self, count: usize) -> bool {
        self.side.catches(u32::try_from(count).map_or(Ordering::Greater, |c| c.cmp(&self.limit)))
    }

    /// The fewest that are caught.
    #[must_use]
    pub(crate) fn fewest(&self) -> usize {
        let limit = usize::try_from(self.limit).unwrap_or(usize::MAX);
        if self.side == Side::Over { limit.saturating_add(1) } else { limit }
    }
}

impl fmt::Display for CountBound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.side.sign(), self.limit)
    }
}

/// Splits `> 1.5 mm` into its side and the rest; absent without a sign.
pub(crate) fn split_side(text: &str) -> Option<(Side, &str)> {
    let text = text.trim();
    [Side::AtLeast, Side::AtMost, Side::Over, Side::Under]
        .into_iter()
        .find_map(|side| text.strip_prefix(side.sign()).map(|rest| (side, rest.trim())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_is_shown_as_it_was_written() {
        for (text, shown, nm) in [
            ("1/16 in", "1/16 in", 1_587_500),
            ("1.50mm", "1.50 mm", 1_500_000),
            (" 1  3/16 in", "1 3/16 in", 30_162_500),
        ] {
            let written = Written::parse(text).unwrap();
            assert_eq!((written.to_string().as_str(), written.length().nm()), (shown, nm));
        }
        for text in ["1.5", "mm", "-1 mm", "1,5 mm", "1 cm", "NaN mm"] {
            assert!(Written::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn signs_are_read_longest_first() {
        assert_eq!(split_side(">= 4"), Some((Side::AtLeast, "4")));
        assert_eq!(split_side(">4"), Some((Side::Over, "4")));
        assert_eq!(split_side("4"), None);
        assert_eq!(CountBound { side: Side::Over, limit: 10 }.fewest(), 11);
    }
}
