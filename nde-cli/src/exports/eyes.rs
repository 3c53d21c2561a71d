//! Sizes for eyes: rounded, in the units a person asked for, with their uncertainty.

use crate::args::Units;
use crate::record::{Basis, Size};

/// Millimetres in an inch, exactly.
const INCH_MM: f64 = 25.4;

/// The word of the units.
#[must_use]
pub(crate) const fn unit(units: Units) -> &'static str {
    match units {
        Units::Mm => "mm",
        Units::In => "in",
    }
}

/// A number with so many decimals; one that rounds to zero has no sign.
#[must_use]
pub(crate) fn number(value: f64, decimals: usize) -> String {
    unsigned_zero(format!("{value:.decimals$}"))
}

/// A change with so many decimals and its sign; one that rounds to zero has none.
#[must_use]
pub(crate) fn change(value: f64, decimals: usize) -> String {
    unsigned_zero(format!("{value:+.decimals$}"))
}

fn unsigned_zero(text: String) -> String {
    match text.strip_prefix(['-', '+']) {
        Some(digits) if digits.bytes().all(|b| matches!(b, b'0' | b'.')) => digits.to_owned(),
        _ => text,
    }
}

/// A length: typed as typed, measured to a hundredth of a millimetre or a thousandth of an inch.
#[must_use]
pub(crate) fn size(size: &Size, units: Units) -> String {
    let told = |mm: f64| length(mm, units);
    match (size.basis, size.u_mm) {
        (Basis::Typed, _) => typed(size.mm, units),
        (Basis::Measured, Some(u)) => format!("{} ±{}", told(size.mm), told(u)),
        (Basis::Measured, None) => format!("{} ±?", told(size.mm)),
    }
}

/// A length without its uncertainty.
#[must_use]
pub(crate) fn length(mm: f64, units: Units) -> String {
    match units {
        Units::Mm => number(mm, 2),
        Units::In => number(mm / INCH_MM, 3),
    }
}

/// A place on the part.
#[must_use]
pub(crate) fn place([x, y]: [f64; 2], units: Units) -> String {
    let (unit_mm, decimals) = match units {
        Units::Mm => (1.0, 1),
        Units::In => (INCH_MM, 2),
    };
    format!("{}, {}", number(x / unit_mm, decimals), number(y / unit_mm, decimals))
}

/// All digits that were typed, and none that arithmetic adds.
fn typed(mm: f64, units: Units) -> String {
    match units {
        Units::Mm => mm.to_string(),
        Units::In => ((mm / INCH_MM * 1.0e8).round() / 1.0e8).to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nde_core::{Length, Measured};

    #[test]
    fn inches_are_for_eyes_and_exact_where_typed() {
        let exact = Size::of(&Measured::exact(Length::parse_inch("3/16").unwrap()));
        assert_eq!(size(&exact, Units::Mm), "4.7625");
        assert_eq!(size(&exact, Units::In), "0.1875");
        assert_eq!(length(12.7, Units::In), "0.500");
        assert_eq!(place([-25.4, 5.08], Units::In), "-1.00, 0.20");
    }

    #[test]
    fn what_rounds_to_zero_has_no_sign() {
        assert_eq!(["-0.00", "+0.00"].map(|text| unsigned_zero(text.into())), ["0.00", "0.00"]);
        assert_eq!([-0.004, 0.004, -0.0].map(|mm| change(mm, 2)), ["0.00", "0.00", "0.00"]);
        assert_eq!([-0.006, 0.006, -10.0].map(|mm| change(mm, 2)), ["-0.01", "+0.01", "-10.00"]);
        assert_eq!([-0.04, -0.06, 0.5].map(|mm| number(mm, 1)), ["0.0", "-0.1", "0.5"]);
        assert_eq!(place([-0.04, -0.0], Units::Mm), "0.0, 0.0");
        assert_eq!(place([-0.1, 0.1], Units::In), "0.00, 0.00");
    }
}
