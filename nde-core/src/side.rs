//! Which side of a limit counts, and exact ratios.
//!
//! Documents differ in one word - "greater than" against "or more" - and that word decides ties.
//! So a limit is never a bare number here: it is a number with its [`Side`].

use std::cmp::Ordering;
use std::fmt;

use crate::length::Length;

/// Which values a limit catches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// Greater than the limit; the limit itself is not caught.
    Over,
    /// The limit and what is greater.
    AtLeast,
    /// Less than the limit; the limit itself is not caught.
    Under,
    /// The limit and what is less.
    AtMost,
}

impl Side {
    /// Whether a value that compares to the limit as `found` is caught.
    #[must_use]
    pub const fn catches(self, found: Ordering) -> bool {
        match self {
            Self::Over => matches!(found, Ordering::Greater),
            Self::AtLeast => matches!(found, Ordering::Greater | Ordering::Equal),
            Self::Under => matches!(found, Ordering::Less),
            Self::AtMost => matches!(found, Ordering::Less | Ordering::Equal),
        }
    }

    /// The sign as typed in a rule set: `>`, `>=`, `<` or `<=`.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Over => ">",
            Self::AtLeast => ">=",
            Self::Under => "<",
            Self::AtMost => "<=",
        }
    }

    /// The words a sentence uses, such as `more than`.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Over => "more than",
            Self::AtLeast => "at least",
            Self::Under => "less than",
            Self::AtMost => "at most",
        }
    }

    /// Whether it catches large values.
    #[must_use]
    pub const fn catches_large(self) -> bool {
        matches!(self, Self::Over | Self::AtLeast)
    }
}

/// A positive ratio, exact: a whole number over a whole number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Ratio {
    over: u64,
    under: u64,
}

impl Ratio {
    /// `over / under`; absent when either is zero or above 1 000 000 000 000.
    #[must_use]
    pub const fn new(over: u64, under: u64) -> Option<Self> {
        const MOST: u64 = 1_000_000_000_000;
        if over == 0 || under == 0 || over > MOST || under > MOST {
            None
        } else {
            Some(Self { over, under })
        }
    }

    /// From a decimal or fraction such as `3`, `2.5` or `1/3`; absent when it is not a positive
    /// number.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let digits = |t: &str| -> Option<u64> {
            let plain = !t.is_empty() && t.len() <= 12 && t.bytes().all(|b| b.is_ascii_digit());
            if plain { t.parse().ok() } else { None }
        };
        let text = text.trim();
        if let Some((over, under)) = text.split_once('/') {
            return Self::new(digits(over.trim())?, digits(under.trim())?);
        }
        let (whole, part) = text.split_once('.').unwrap_or((text, ""));
        let part = part.trim_end_matches('0');
        if part.len() > 6 || (text.contains('.') && text.ends_with('.')) {
            return None;
        }
        let scale = 10_u64.pow(u32::try_from(part.len()).ok()?);
        let part = if part.is_empty() { 0 } else { digits(part)? };
        Self::new(digits(whole)?.checked_mul(scale)?.checked_add(part)?, scale)
    }

    /// How `length` compares with this many times `other`, exactly.
    #[must_use]
    pub fn compare(self, length: Length, other: Length) -> Ordering {
        let left = u128::from(length.nm()) * u128::from(self.under);
        let right = u128::from(other.nm()) * u128::from(self.over);
        left.cmp(&right)
    }

    /// This many times `whole`, as numerator and denominator.
    pub(crate) fn of(self, whole: u128) -> (u128, u128) {
        (whole * u128::from(self.over), u128::from(self.under))
    }

    /// As a plain number, for probabilities and eyes.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "parts are at most 1e12, exact in f64")]
    pub fn value(self) -> f64 {
        self.over as f64 / self.under as f64
    }
}

impl fmt::Display for Ratio {
    /// As a whole number, a decimal, or a fraction where the decimal would not end.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.over.is_multiple_of(self.under) {
            write!(f, "{}", self.over / self.under)
        } else if 1_000_000_u64.is_multiple_of(self.under) {
            write!(f, "{}", self.value())
        } else {
            write!(f, "{}/{}", self.over, self.under)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_side_decides_the_tie() {
        assert!(!Side::Over.catches(Ordering::Equal) && Side::AtLeast.catches(Ordering::Equal));
        assert!(!Side::Under.catches(Ordering::Equal) && Side::AtMost.catches(Ordering::Equal));
    }

    #[test]
    fn the_float_trap_is_a_tie_here() {
        // In f64, 0.9 > 3.0 * 0.3 and 2.1 > 3.0 * 0.7 are both true.
        let three = Ratio::parse("3").unwrap();
        for (length, width) in [("0.9", "0.3"), ("2.1", "0.7")] {
            let (l, w) = (Length::parse_mm(length).unwrap(), Length::parse_mm(width).unwrap());
            assert_eq!(three.compare(l, w), Ordering::Equal, "{length} x {width}");
        }
    }

    #[test]
    fn ratios_are_positive_numbers() {
        for text in ["0", "-3", "NaN", "inf", "", "3.", "1/0", "0/5", "3x", "1e3"] {
            assert_eq!(Ratio::parse(text), None, "{text}");
        }
        assert_eq!(Ratio::parse("2.50").unwrap().to_string(), "2.5");
        assert_eq!(Ratio::parse("1/3").unwrap().to_string(), "1/3");
        assert_eq!(Ratio::parse("3").unwrap().to_string(), "3");
    }
}
