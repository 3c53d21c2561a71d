//! How far the surface lies above the plane of the scale, as the user says it.
//!
//! ```text
//! 8mm             8 mm nearer to the camera than the scale, known to 0.5 mm either way
//! 8mm±0.2mm       known to 0.2 mm either way; also 8mm+-0.2mm and 8mm,0.2mm
//! -3mm            3 mm below the scale
//! ```

use std::fmt;
use std::str::FromStr;

/// Height of the surface above the scale's plane, towards the camera.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Height {
    /// Towards the camera is positive.
    pub mm: f64,
    /// It may be off by so much either way, all values alike; above or at zero.
    pub within_mm: f64,
}

/// Either way, where the user does not say how well the height is known. Chosen: read off a rule held
/// by hand beside a step.
pub const STATED_WITHIN_MM: f64 = 0.5;
/// Either way, where the user says nothing and the scale is taken to lie level with the surface.
/// Chosen: a sheet that is bowed, a card on a thin backing, a steel rule's own thickness.
pub const LEVEL_WITHIN_MM: f64 = 1.0;
/// Greatest height that is read. Chosen: far more than any part photographed with a card.
const MOST_MM: f64 = 2_000.0;

impl Height {
    /// Level with the scale, as well as that is known when nobody measured it.
    #[must_use]
    pub const fn level() -> Self {
        Self { mm: 0.0, within_mm: LEVEL_WITHIN_MM }
    }
}

/// Why a text is no height.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum HeightError {
    /// Not a length with its unit.
    #[error("`{text}` is not a height; write it like 8mm, -3mm or 8mm±0.2mm")]
    Form {
        /// The text as it came.
        text: String,
    },
    /// Nothing is so high.
    #[error("`{text}` is more than {MOST_MM} mm; check the number and its unit")]
    TooLarge {
        /// The text as it came.
        text: String,
    },
}

impl FromStr for Height {
    type Err = HeightError;

    fn from_str(text: &str) -> Result<Self, HeightError> {
        let text = text.trim();
        let form = || HeightError::Form { text: text.to_owned() };
        let parts = ["±", "+-", "+/-", ","].iter().find_map(|mark| text.split_once(mark));
        let (height, within) = parts.map_or((text, None), |(h, w)| (h, Some(w)));
        let mm = length_mm(height).ok_or_else(form)?;
        let within_mm = match within {
            None => STATED_WITHIN_MM,
            Some(within) => length_mm(within).filter(|w| *w >= 0.0).ok_or_else(form)?,
        };
        if mm.abs() > MOST_MM || within_mm > MOST_MM {
            return Err(HeightError::TooLarge { text: text.to_owned() });
        }
        Ok(Self { mm, within_mm })
    }
}

/// A signed length that ends in `mm` or `in`.
fn length_mm(text: &str) -> Option<f64> {
    let text = text.trim();
    let (number, unit_mm) = match (text.strip_suffix("mm"), text.strip_suffix("in")) {
        (Some(number), _) => (number, 1.0),
        (_, Some(number)) => (number, 25.4),
        _ => return None,
    };
    let number = number.trim().replace('\u{2212}', "-");
    let value = match number.split_once('/') {
        Some((over, under)) => {
            over.trim().parse::<f64>().ok()? / under.trim().parse::<f64>().ok()?
        }
        None => number.parse::<f64>().ok()?,
    };
    value.is_finite().then_some(value * unit_mm)
}

impl fmt::Display for Height {
    /// The text that reads back as the same height.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}mm±{}mm", self.mm, self.within_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_are_read_with_either_sign_and_unit() {
        for (text, mm, within_mm) in [
            ("8mm", 8.0, STATED_WITHIN_MM),
            (" -3 mm ", -3.0, STATED_WITHIN_MM),
            ("8mm±0.2mm", 8.0, 0.2),
            ("8mm +- 0.2mm", 8.0, 0.2),
            ("-8mm,0.2mm", -8.0, 0.2),
            ("1/4in", 6.35, STATED_WITHIN_MM),
            ("0mm±0mm", 0.0, 0.0),
        ] {
            let read: Height = text.parse().unwrap();
            assert!((read.mm - mm).abs() < 1e-12, "{text}: {read:?}");
            assert!((read.within_mm - within_mm).abs() < 1e-12, "{text}: {read:?}");
            assert_eq!(read.to_string().parse::<Height>().unwrap(), read);
        }
    }

    #[test]
    fn what_is_no_height_is_named_with_its_remedy() {
        for text in ["8", "", "mm", "8mm±", "8mm±-1mm", "infmm", "nanmm", "8mm,1mm,2mm", "1/0in"]
        {
            let said = text.parse::<Height>().unwrap_err().to_string();
            assert!(said.contains("write it like 8mm"), "{text}: {said}");
        }
        let said = "9000mm".parse::<Height>().unwrap_err().to_string();
        assert!(said.contains("check the number"), "{said}");
    }
}
