//! A quantity of the process as it was written, exact: temperature, time, light, pressure, length, share.
//!
//! Kept in whole parts so small that both units of a trade are whole (a ninth of a thousandth of a degree
//! Celsius holds thousandths of a degree Fahrenheit too): a value at the limit is at the limit.

use std::cmp::Ordering;
use std::fmt;

/// What kind of quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// `C`, `F`.
    Temperature,
    /// `s`, `min`, `h`.
    Time,
    /// `lx`, `fc`.
    Light,
    /// `kPa`, `bar`, `psi`.
    Pressure,
    /// `mm`, `in`.
    Length,
    /// `%` by weight.
    Share,
}

impl Dimension {
    /// An example of it, for remedies.
    #[must_use]
    pub const fn example(self) -> &'static str {
        match self {
            Self::Temperature => "21.5 C (or 70 F)",
            Self::Time => "10 min (or 90 s, 1 h)",
            Self::Light => "1100 lx (or 100 fc)",
            Self::Pressure => "250 kPa (or 2.5 bar, 36 psi)",
            Self::Length => "25 mm (or 1 in)",
            Self::Share => "0.1 %",
        }
    }
}

/// A unit, its word, its kind, and what a thousandth of it is in whole parts.
struct Unit {
    word: &'static str,
    dimension: Dimension,
    parts: i64,
    /// Thousandths to take off before multiplying: 32 degrees for Fahrenheit.
    zero: i64,
}

/// Sources: degree Fahrenheit, international inch and pound per square inch as in ISO 80000 (from
/// memory); foot-candle = 10.763 910 lx from the foot of 0.3048 m. Longer words first.
const UNITS: [Unit; 13] = [
    unit("min", Dimension::Time, 60, 0),
    unit("kPa", Dimension::Pressure, 1_000_000, 0),
    unit("bar", Dimension::Pressure, 100_000_000, 0),
    unit("psi", Dimension::Pressure, 6_894_757, 0),
    unit("lx", Dimension::Light, 1_000_000, 0),
    unit("fc", Dimension::Light, 10_763_910, 0),
    unit("mm", Dimension::Length, 1_000, 0),
    unit("in", Dimension::Length, 25_400, 0),
    unit("C", Dimension::Temperature, 9, 0),
    unit("F", Dimension::Temperature, 5, 32_000),
    unit("h", Dimension::Time, 3_600, 0),
    unit("s", Dimension::Time, 1, 0),
    unit("%", Dimension::Share, 1, 0),
];

const fn unit(word: &'static str, dimension: Dimension, parts: i64, zero: i64) -> Unit {
    Unit { word, dimension, parts, zero }
}

/// Most of any unit: far above any real process.
const MOST: i64 = 1_000_000;

/// A quantity as it was written.
#[derive(Clone, Copy, Debug)]
pub struct Quantity {
    parts: i64,
    thousandths: i64,
    unit: usize,
}

/// Why a text is no quantity of the kind wanted.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not {}; write a number with its unit, such as {}", .wanted.noun(), .wanted.example())]
pub struct QuantityError {
    /// The text as it came.
    pub text: String,
    /// What was wanted.
    pub wanted: Dimension,
}

impl Dimension {
    const fn noun(self) -> &'static str {
        match self {
            Self::Temperature => "a temperature",
            Self::Time => "a time",
            Self::Light => "an illuminance",
            Self::Pressure => "a pressure",
            Self::Length => "a length",
            Self::Share => "a share",
        }
    }
}

impl Quantity {
    /// From a number of up to three decimals with its unit: `21 C`, `2.5min`.
    ///
    /// ```
    /// use nde_core::technique::{Dimension, Quantity};
    /// let cold = Quantity::parse("50 F", Dimension::Temperature)?;
    /// assert_eq!(cold, Quantity::parse("10 C", Dimension::Temperature)?);
    /// # Ok::<(), nde_core::technique::QuantityError>(())
    /// ```
    ///
    /// # Errors
    /// No number, no unit of this kind, or beyond a million.
    pub fn parse(text: &str, wanted: Dimension) -> Result<Self, QuantityError> {
        let fault = || QuantityError { text: text.to_owned(), wanted };
        let trimmed = text.trim().replace('\u{b0}', "");
        let (at, number) = UNITS
            .iter()
            .enumerate()
            .filter(|(_, unit)| unit.dimension == wanted)
            .find_map(|(at, unit)| trimmed.strip_suffix(unit.word).map(|n| (at, n.trim())))
            .ok_or_else(fault)?;
        let thousandths = thousandths(number).ok_or_else(fault)?;
        if thousandths < 0 && wanted != Dimension::Temperature {
            return Err(fault());
        }
        Ok(Self::of(thousandths, at))
    }

    /// A time of whole seconds, shown in minutes (below a minute in seconds); cut to a million minutes.
    #[must_use]
    pub fn seconds(seconds: i64) -> Self {
        let ms = seconds.clamp(0, MOST * 60).saturating_mul(1000);
        let minutes = Self { parts: ms, thousandths: ms / 60, unit: 0 };
        if ms < 60_000 {
            Self { unit: UNITS.len() - 2, thousandths: ms, ..minutes }
        } else {
            minutes
        }
    }

    fn of(thousandths: i64, unit: usize) -> Self {
        let it = &UNITS[unit];
        Self { parts: (thousandths - it.zero) * it.parts, thousandths, unit }
    }

    /// What it is.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        UNITS[self.unit].dimension
    }

    /// A time in milliseconds; absent for anything else.
    #[must_use]
    pub fn milliseconds(self) -> Option<i64> {
        (self.dimension() == Dimension::Time).then_some(self.parts)
    }
}

impl PartialEq for Quantity {
    fn eq(&self, other: &Self) -> bool {
        self.partial_cmp(other) == Some(Ordering::Equal)
    }
}

impl PartialOrd for Quantity {
    /// Absent between quantities of different kinds.
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        (self.dimension() == other.dimension()).then(|| self.parts.cmp(&other.parts))
    }
}

impl fmt::Display for Quantity {
    /// As written, such as `21.5 C`; a time taken from clocks to a tenth of a minute.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (sign, size) = (if self.thousandths < 0 { "-" } else { "" }, self.thousandths.abs());
        let decimals = format!("{:03}", size % 1000);
        let decimals = decimals.trim_end_matches('0');
        let point = if decimals.is_empty() { "" } else { "." };
        write!(f, "{sign}{}{point}{decimals} {}", size / 1000, UNITS[self.unit].word)
    }
}

/// A plain decimal of up to three decimals as whole thousandths.
fn thousandths(text: &str) -> Option<i64> {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, text),
    };
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let plain = |t: &str, most: usize| {
        !t.is_empty() && t.len() <= most && t.bytes().all(|b| b.is_ascii_digit())
    };
    if !plain(whole, 7) || !plain(part, 3) {
        return None;
    }
    let whole: i64 = whole.parse().ok()?;
    let part: i64 = format!("{part:0<3}").parse().ok()?;
    (whole <= MOST).then_some(sign * (whole * 1000 + part))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str, wanted: Dimension) -> Quantity {
        Quantity::parse(text, wanted).unwrap()
    }

    #[test]
    fn both_units_of_a_trade_meet_exactly() {
        use Dimension::{Length, Pressure, Temperature, Time};
        assert_eq!(at("212 F", Temperature), at("100 C", Temperature));
        assert!(at("49.999 F", Temperature) < at("10 C", Temperature));
        assert_eq!(at("90 s", Time), at("1.5 min", Time));
        assert_eq!(at("1 h", Time), Quantity::seconds(3600));
        assert_eq!(at("1 in", Length), at("25.4 mm", Length));
        assert_eq!(at("2 bar", Pressure), at("200 kPa", Pressure));
        assert_eq!(at("1 in", Length).partial_cmp(&at("1 h", Time)), None);
    }

    #[test]
    fn it_is_shown_as_written() {
        for (text, wanted) in [
            ("-5.5 C", Dimension::Temperature),
            ("68 F", Dimension::Temperature),
            ("0.05 %", Dimension::Share),
            ("1076 lx", Dimension::Light),
        ] {
            assert_eq!(at(text, wanted).to_string(), text);
        }
        assert_eq!(Quantity::seconds(294).to_string(), "4.9 min");
        assert_eq!(Quantity::seconds(45).to_string(), "45 s");
    }

    #[test]
    fn nonsense_is_refused() {
        for text in ["", "20", "C", "20 K", "1e3 C", "2,5 C", "20 min", "nan C", "99999999 C"] {
            assert!(Quantity::parse(text, Dimension::Temperature).is_err(), "{text}");
        }
        assert!(Quantity::parse("-1 min", Dimension::Time).is_err());
        let error = Quantity::parse("20", Dimension::Light).unwrap_err().to_string();
        assert!(error.contains("`20`") && error.contains("1100 lx"), "{error}");
    }
}
