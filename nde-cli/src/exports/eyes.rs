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
        Units::Mm => format!("{mm:.2}"),
        Units::In => format!("{:.3}", mm / INCH_MM),
    }
}

/// A place on the part.
#[must_use]
pub(crate) fn place([x, y]: [f64; 2], units: Units) -> String {
    match units {
        Units::Mm => format!("{x:.1}, {y:.1}"),
        Units::In => format!("{:.2}, {:.2}", x / INCH_MM, y / INCH_MM),
    }
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
}
