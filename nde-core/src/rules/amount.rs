//! Limits that are more than one fixed length: areas, shares, and sizes that follow the thickness.

use std::cmp::Ordering;
use std::fmt;

use crate::length::Length;
use crate::rules::written::{LengthBound, Unit, Written};
use crate::side::{Ratio, Side};

/// An area together with how it was written, such as `6 in2`.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct WrittenArea {
    nm2: u128,
    unit: Unit,
    number: String,
}

impl WrittenArea {
    /// From a number with `mm2` or `in2`, above zero and at most 100 m2.
    pub(crate) fn parse(text: &str) -> Result<Self, String> {
        const MOST: u128 = 100_000_000_000_000_000_000;
        let text = text.trim();
        let (number, unit, nm) = if let Some(number) = text.strip_suffix("mm2") {
            (number.trim(), Unit::Millimetre, 1_000_000)
        } else if let Some(number) = text.strip_suffix("in2") {
            (number.trim(), Unit::Inch, Length::NM_PER_INCH)
        } else {
            return Err(format!("`{text}` has no unit of area"));
        };
        let bad = || format!("`{text}` is not an area");
        let (over, under) =
            Ratio::parse(number).ok_or_else(bad)?.of(u128::from(nm) * u128::from(nm));
        if over % under != 0 || over / under > MOST {
            return Err(bad());
        }
        Ok(Self { nm2: over / under, unit, number: number.to_owned() })
    }

    /// Square nanometres.
    #[must_use]
    pub(crate) const fn nm2(&self) -> u128 {
        self.nm2
    }

    /// The unit of its sides.
    #[must_use]
    pub(crate) const fn unit(&self) -> Unit {
        self.unit
    }
}

impl fmt::Display for WrittenArea {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}2", self.number, self.unit.word())
    }
}

/// An area limit with its side, such as `> 100 mm2`.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct AreaBound {
    /// Which areas are caught.
    pub(crate) side: Side,
    /// The limit.
    pub(crate) limit: WrittenArea,
}

impl AreaBound {
    pub(crate) fn catches(&self, nm2: u128) -> bool {
        self.side.catches(nm2.cmp(&self.limit.nm2()))
    }
}

impl fmt::Display for AreaBound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.side.sign(), self.limit)
    }
}

/// A share of a length with its side, such as `> 8 %` of the weld.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct ShareBound {
    /// Which shares are caught.
    pub(crate) side: Side,
    /// The limit in percent.
    pub(crate) percent: Ratio,
}

impl ShareBound {
    /// Whether `part` is a share of `whole` that is caught, exactly.
    #[must_use]
    pub(crate) fn catches(&self, part: Length, whole: Length) -> bool {
        let (over, under) = self.percent.of(u128::from(whole.nm()));
        self.side.catches((u128::from(part.nm()) * under * 100).cmp(&over))
    }
}

impl fmt::Display for ShareBound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} %", self.side.sign(), self.percent)
    }
}

/// A limit on one size.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Size {
    /// A fixed length.
    Fixed(LengthBound),
    /// So many times the thickness.
    OfThickness(Side, Ratio),
    /// By thickness: the first band that the thickness falls in; in none, no limit.
    ByThickness(Vec<Band>),
}

/// A range of thickness and its limit.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Band {
    pub(crate) thickness: LengthBound,
    pub(crate) limit: Box<Size>,
}

/// A size limit once the thickness is known: caught past `over / under` nanometres.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Resolved {
    side: Side,
    over: u128,
    under: u128,
}

impl Resolved {
    pub(crate) fn fixed(bound: &LengthBound) -> Self {
        Self { side: bound.side, over: u128::from(bound.limit.length().nm()), under: 1 }
    }

    pub(crate) fn catches(&self, length: Length) -> bool {
        self.side.catches(self.compare(length))
    }

    pub(crate) const fn catches_large(&self) -> bool {
        self.side.catches_large()
    }

    fn compare(&self, length: Length) -> Ordering {
        (u128::from(length.nm()) * self.under).cmp(&self.over)
    }
}

/// The thickness is needed and not known.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ThicknessUnknown;

impl Size {
    /// The limit for this thickness; absent when none applies.
    pub(crate) fn resolve(
        &self,
        thickness: Option<Length>,
    ) -> Result<Option<Resolved>, ThicknessUnknown> {
        match self {
            Self::Fixed(bound) => Ok(Some(Resolved::fixed(bound))),
            Self::OfThickness(side, ratio) => {
                let (over, under) = ratio.of(u128::from(thickness.ok_or(ThicknessUnknown)?.nm()));
                Ok(Some(Resolved { side: *side, over, under }))
            }
            Self::ByThickness(bands) => {
                let t = thickness.ok_or(ThicknessUnknown)?;
                let band = bands.iter().find(|band| band.thickness.catches(t));
                band.map_or(Ok(None), |band| band.limit.resolve(thickness))
            }
        }
    }

    pub(crate) const fn needs_thickness(&self) -> bool {
        !matches!(self, Self::Fixed(_))
    }

    /// Every fixed length in it.
    pub(crate) fn lengths(&self) -> Vec<&Written> {
        match self {
            Self::Fixed(bound) => vec![&bound.limit],
            Self::OfThickness(..) => vec![],
            Self::ByThickness(bands) => {
                bands.iter().flat_map(|band| band.limit.lengths()).collect()
            }
        }
    }

    /// `more than 5 mm`, for a sentence about something `long` or `wide`.
    pub(crate) fn words(&self) -> String {
        match self {
            Self::Fixed(bound) => format!("{} {}", bound.side.words(), bound.limit),
            Self::OfThickness(side, ratio) => format!("{} {ratio} of the thickness", side.words()),
            Self::ByThickness(bands) => bands
                .iter()
                .map(|b| format!("{} (thickness {})", b.limit.words(), b.thickness))
                .collect::<Vec<_>>()
                .join(", "),
        }
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Fixed(bound) => bound.fmt(f),
            Self::OfThickness(side, ratio) => write!(f, "{} {ratio} t", side.sign()),
            Self::ByThickness(bands) => {
                for (i, band) in bands.iter().enumerate() {
                    let comma = if i == 0 { "" } else { ", " };
                    write!(f, "{comma}{} for t {}", band.limit, band.thickness)?;
                }
                Ok(())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_are_exact() {
        assert_eq!(WrittenArea::parse("6 in2").unwrap().nm2(), 3_870_960_000_000_000);
        assert_eq!(WrittenArea::parse("3870 mm2").unwrap().nm2(), 3_870_000_000_000_000);
        for text in ["6", "6 in", "0 mm2", "-1 mm2", "1/3 mm2", "999999999999 mm2"] {
            assert!(WrittenArea::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_share_at_the_limit_is_a_tie() {
        let share = ShareBound { side: Side::Over, percent: Ratio::parse("8").unwrap() };
        let weld = Length::from_um(250_000);
        assert!(!share.catches(Length::from_um(20_000), weld));
        assert!(share.catches(Length::from_nm(20_000_001), weld));
    }

    #[test]
    fn a_third_of_the_thickness_is_exact() {
        let third = Size::OfThickness(Side::Over, Ratio::parse("1/3").unwrap());
        let limit = third.resolve(Some(Length::from_um(9_100))).unwrap().unwrap();
        assert!(!limit.catches(Length::from_nm(3_033_333)));
        assert!(limit.catches(Length::from_nm(3_033_334)));
        assert!(third.resolve(None).is_err());
    }
}
