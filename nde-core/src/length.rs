//! Lengths on the part, exact.
//!
//! A length is a whole number of nanometres, so that micrometres, ten-thousandths
//! of an inch and sixty-fourths of an inch are all exact and a tie is a tie: in
//! floating point `0.9 > 3.0 * 0.3` is true, here it is not.
//! Rounding happens once, where a measured value enters ([`Length::from_mm`]).

use std::fmt;

/// A length on the part. Whole nanometres, never negative.
///
/// ```
/// use nde_core::Length;
/// let inch_fraction = Length::parse_inch("3/16")?;
/// assert_eq!(inch_fraction, Length::from_um(4762).plus(Length::from_nm(500)));
/// # Ok::<(), nde_core::LengthError>(())
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length {
    nm: u64,
}

/// Why a text or a number is not a length.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LengthError {
    /// Not a finite number, or below zero.
    #[error("{value} is not a length; a length is a finite number, zero or more")]
    NotALength {
        /// The number as it came.
        value: f64,
    },
    /// More than the longest length kept (1 000 m).
    #[error("{value} mm is longer than 1000 m; check the unit")]
    TooLong {
        /// The number as it came, in millimetres.
        value: f64,
    },
    /// A text that is neither a decimal nor a fraction.
    #[error("`{text}` is not a length; write a decimal such as 1.5 or a fraction such as 3/16")]
    NotANumber {
        /// The text as it came.
        text: String,
    },
    /// A text without its unit.
    #[error("`{text}` has no unit; write it such as 12mm or 1/2in")]
    NoUnit {
        /// The text as it came.
        text: String,
    },
    /// A decimal or fraction that is no whole number of nanometres.
    #[error("`{text}` is finer than a nanometre; use fewer decimals")]
    TooFine {
        /// The text as it came.
        text: String,
    },
}

impl Length {
    /// No length at all.
    pub const ZERO: Self = Self { nm: 0 };
    /// The longest length kept: 1 000 m.
    pub const MAX: Self = Self { nm: 1_000_000_000_000 };
    /// Nanometres in an inch: 25.4 mm exactly.
    /// Source: international inch of 1959, ISO 80000-3 (from memory).
    pub const NM_PER_INCH: u64 = 25_400_000;

    /// From whole nanometres; more than [`Length::MAX`] is cut to it.
    #[must_use]
    pub const fn from_nm(nm: u64) -> Self {
        Self { nm: if nm > Self::MAX.nm { Self::MAX.nm } else { nm } }
    }

    /// From whole micrometres; more than [`Length::MAX`] is cut to it.
    #[must_use]
    pub const fn from_um(um: u64) -> Self {
        Self::from_nm(um.saturating_mul(1000))
    }

    /// From measured millimetres, rounded to the nearest nanometre.
    ///
    /// # Errors
    /// A number that is not finite, below zero, or above 1 000 m.
    pub fn from_mm(mm: f64) -> Result<Self, LengthError> {
        if !mm.is_finite() || mm < 0.0 {
            return Err(LengthError::NotALength { value: mm });
        }
        if mm > 1.0e6 {
            return Err(LengthError::TooLong { value: mm });
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "0 <= mm <= 1e6 was checked, so the product is at most 1e12"
        )]
        let nm = (mm * 1.0e6).round() as u64;
        Ok(Self { nm })
    }

    /// From a typed number of millimetres (decimal or fraction), exactly.
    ///
    /// # Errors
    /// A text that is no number, finer than a nanometre, or longer than 1 000 m.
    pub fn parse_mm(text: &str) -> Result<Self, LengthError> {
        parse_exact(text, 1_000_000)
    }

    /// From a typed number of inches (decimal or fraction such as `1 3/16`), exactly.
    ///
    /// # Errors
    /// A text that is no number, finer than a nanometre, or longer than 1 000 m.
    pub fn parse_inch(text: &str) -> Result<Self, LengthError> {
        parse_exact(text, Self::NM_PER_INCH)
    }

    /// From a typed number with its unit, such as `12mm`, `1.5 mm` or `1 3/16 in`, exactly.
    ///
    /// ```
    /// use nde_core::Length;
    /// assert_eq!(Length::parse_with_unit("1/2in")?, Length::from_um(12_700));
    /// assert!(Length::parse_with_unit("12").is_err());
    /// # Ok::<(), nde_core::LengthError>(())
    /// ```
    ///
    /// # Errors
    /// A text without `mm` or `in` at its end, that is no number, finer than a nanometre, or longer
    /// than 1 000 m.
    pub fn parse_with_unit(text: &str) -> Result<Self, LengthError> {
        let text = text.trim();
        if let Some(number) = text.strip_suffix("mm") {
            Self::parse_mm(number)
        } else if let Some(number) = text.strip_suffix("in") {
            Self::parse_inch(number)
        } else {
            Err(LengthError::NoUnit { text: text.to_owned() })
        }
    }

    /// Whole nanometres.
    #[must_use]
    pub const fn nm(self) -> u64 {
        self.nm
    }

    /// Millimetres, for eyes and files.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most 1e12, exact in f64")]
    pub fn mm(self) -> f64 {
        self.nm as f64 / 1.0e6
    }

    /// Inches, for eyes and files.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most 1e12, exact in f64")]
    pub fn inch(self) -> f64 {
        self.nm as f64 / 25_400_000.0
    }

    /// The sum, cut to [`Length::MAX`].
    #[must_use]
    pub const fn plus(self, other: Self) -> Self {
        Self::from_nm(self.nm.saturating_add(other.nm))
    }

    /// What is left of `self` after `other`, at least zero.
    #[must_use]
    pub const fn less(self, other: Self) -> Self {
        Self { nm: self.nm.saturating_sub(other.nm) }
    }
}

impl fmt::Display for Length {
    /// Millimetres with the decimals it needs, such as `1.5 mm`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.mm())
    }
}

/// Whole nanometres.
#[cfg(feature = "serde")]
impl serde::Serialize for Length {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_u64(self.nm)
    }
}

/// Whole nanometres, at most [`Length::MAX`].
#[cfg(feature = "serde")]
impl<'de> serde::Deserialize<'de> for Length {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let nm = u64::deserialize(from)?;
        if nm > Self::MAX.nm {
            let wanted = "whole nanometres, at most 1 000 m";
            return Err(serde::de::Error::invalid_value(
                serde::de::Unexpected::Unsigned(nm),
                &wanted,
            ));
        }
        Ok(Self { nm })
    }
}

/// `a/b`, `w a/b` or a decimal, times `nm_per_unit`, as whole nanometres.
fn parse_exact(text: &str, nm_per_unit: u64) -> Result<Length, LengthError> {
    let bad = || LengthError::NotANumber { text: text.to_owned() };
    let trimmed = text.trim();
    let (whole, rest) = match trimmed.split_once(' ') {
        Some((w, r)) if r.contains('/') => (digits(w).ok_or_else(bad)?, r.trim()),
        _ => (0, trimmed),
    };
    // A value is numerator / denominator units; both fit u128 by the length check below.
    let (numerator, denominator) = if let Some((n, d)) = rest.split_once('/') {
        let d = digits(d.trim()).ok_or_else(bad)?;
        if d == 0 {
            return Err(bad());
        }
        (digits(n.trim()).ok_or_else(bad)? + whole * d, d)
    } else {
        let (int, frac) = rest.split_once('.').unwrap_or((rest, ""));
        if int.is_empty() && frac.is_empty() {
            return Err(bad());
        }
        let frac = frac.trim_end_matches('0');
        let int = if int.is_empty() { 0 } else { digits(int).ok_or_else(bad)? };
        let part = if frac.is_empty() { 0 } else { digits(frac).ok_or_else(bad)? };
        let scale = 10_u128.pow(u32::try_from(frac.len()).map_err(|_| bad())?);
        (int * scale + part, scale)
    };
    let scaled = numerator * u128::from(nm_per_unit);
    if scaled % denominator != 0 {
        return Err(LengthError::TooFine { text: text.to_owned() });
    }
    match u64::try_from(scaled / denominator) {
        Ok(nm) if nm <= Length::MAX.nm => Ok(Length { nm }),
        #[expect(clippy::cast_precision_loss, reason = "a number to show, far beyond any part")]
        _ => Err(LengthError::TooLong { value: (scaled / denominator) as f64 / 1.0e6 }),
    }
}

/// Up to 12 decimal digits and nothing else.
fn digits(text: &str) -> Option<u128> {
    let plain = !text.is_empty() && text.len() <= 12 && text.bytes().all(|b| b.is_ascii_digit());
    if plain { text.parse().ok() } else { None }
}

/// How well a value is known. All parts are standard uncertainties (k = 1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
#[non_exhaustive]
pub enum Spread {
    /// Typed by a person: taken as it stands.
    Exact,
    /// Measured: the part that belongs to this indication's own edges, and the part that
    /// all lengths of one photo share through their scale.
    Standard {
        /// This value's own part.
        edge: Length,
        /// The part shared with every length of the same photo.
        scale: Length,
    },
    /// Measured, but no uncertainty can be claimed (too faint to size).
    Unclaimed,
}

/// A length and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Measured {
    /// Best estimate.
    pub value: Length,
    /// Its uncertainty.
    pub spread: Spread,
}

impl Measured {
    /// A typed value.
    #[must_use]
    pub const fn exact(value: Length) -> Self {
        Self { value, spread: Spread::Exact }
    }

    /// Combined standard uncertainty in millimetres: 0 when typed, absent when not claimed.
    #[must_use]
    pub fn standard_mm(&self) -> Option<f64> {
        match self.spread {
            Spread::Exact => Some(0.0),
            Spread::Standard { edge, scale } => Some(edge.mm().hypot(scale.mm())),
            Spread::Unclaimed => None,
        }
    }

    /// Expanded uncertainty U = 2 u in millimetres (coverage factor k = 2).
    #[must_use]
    pub fn expanded_mm(&self) -> Option<f64> {
        self.standard_mm().map(|u| 2.0 * u)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inch_fractions_and_decimals_are_exact() {
        assert_eq!(Length::parse_inch("1/64").unwrap().nm(), 396_875);
        assert_eq!(Length::parse_inch("0.0001").unwrap().nm(), 2_540);
        assert_eq!(Length::parse_inch("1 3/16").unwrap().nm(), 30_162_500);
        assert_eq!(Length::parse_mm("1.50").unwrap(), Length::from_um(1500));
        assert_eq!(Length::parse_mm(".5").unwrap(), Length::from_um(500));
    }

    #[test]
    fn a_length_beyond_the_longest_is_called_too_long() {
        assert_eq!(Length::parse_mm("1000000"), Ok(Length::MAX));
        let told = Err(LengthError::TooLong { value: 1_000_001.0 });
        assert_eq!(Length::parse_mm("1000001"), told);
    }

    #[test]
    fn nonsense_is_refused() {
        for text in ["", ".", "-1", "1/0", "nan", "1e3", "0.0000001", "1/3", "1,5", "9999999999999"]
        {
            assert!(Length::parse_mm(text).is_err(), "{text}");
        }
        for mm in [f64::NAN, f64::INFINITY, -0.1, 2.0e6] {
            assert!(Length::from_mm(mm).is_err(), "{mm}");
        }
    }
}
