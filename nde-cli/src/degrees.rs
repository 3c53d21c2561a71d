//! A direction as typed: degrees, exact to the millionth.

use nde_core::Length;
use std::str::FromStr;

/// A direction, millionths of a degree from x towards y.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Degrees {
    udeg: i64,
}

/// Why a text is not a direction.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{text}` is not an angle; write degrees between -360 and 360 with up to six decimals, such as 37.5"
)]
pub(crate) struct DegreesError {
    text: String,
}

impl Degrees {
    /// Millionths of a degree.
    #[must_use]
    pub(crate) const fn udeg(self) -> i64 {
        self.udeg
    }
}

impl FromStr for Degrees {
    type Err = DegreesError;

    fn from_str(text: &str) -> Result<Self, DegreesError> {
        const FULL_TURN: i64 = 360_000_000;
        let (sign, digits) = match text.trim().strip_prefix('-') {
            Some(rest) => (-1, rest),
            None => (1, text.trim().trim_start_matches('+')),
        };
        // Read like a length, whose millimetre holds a million nanometres.
        let udeg = Length::parse_mm(digits).ok().and_then(|l| i64::try_from(l.nm()).ok());
        match udeg.filter(|udeg| *udeg <= FULL_TURN) {
            Some(udeg) => Ok(Self { udeg: sign * udeg }),
            None => Err(DegreesError { text: text.to_owned() }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_exact() {
        for (text, udeg) in
            [("0", 0), ("-37.5", -37_500_000), ("+90", 90_000_000), ("1/4", 250_000)]
        {
            assert_eq!(text.parse::<Degrees>().unwrap().udeg(), udeg, "{text}");
        }
        for text in ["", "x", "361", "--1", "1.0000001", "12,5"] {
            assert!(text.parse::<Degrees>().is_err(), "{text}");
        }
    }
}
