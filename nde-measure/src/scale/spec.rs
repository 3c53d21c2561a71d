//! What the user says is in the frame, as one small grammar.
//!
//! ```text
//! card            card:99.2,99.4          the printed card; its two bars as read with a calliper
//! board:7x5,12mm,9mm,4x4_50               a board of the user's own: squares, square, marker
//! points:X1,Y1,X2,Y2=50mm                 two places in the upright photo and their distance
//! pitch:0.083mm                           one pixel is so long on the part
//! ticks:1mm  0.5mm  1/16in  1/32in  1/64in        a rule with such graduations
//! ticks:1mm@X1,Y1 X2,Y2 X3,Y3             the same, the rule lies within this outline
//! ```
//! Lengths end in `mm` or `in`; inches may be fractions.

use crate::PointPx;
use crate::scale::design::{CardDesign, DesignError};
use std::fmt;
use std::str::FromStr;

/// What the user says is in the frame. One small grammar, the same on the command line and in a sheet.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum ScaleSpec {
    /// `card` or `card:99.2,99.4`: the printed card, with the two bars as read with a calliper.
    Card {
        /// Calliper readings across and down, mm.
        bars_mm: Option<[f64; 2]>,
    },
    /// `board:7x5,12mm,9mm,4x4_50`: a board of the user's own, sizes as it really is.
    Board {
        /// Squares across and down.
        squares: [u32; 2],
        /// Side of a square, mm.
        square_mm: f64,
        /// Side of a marker, mm.
        marker_mm: f64,
    },
    /// `points:X1,Y1,X2,Y2=50mm`
    Points {
        /// First point in the upright photo.
        from_px: PointPx,
        /// Second point.
        to_px: PointPx,
        /// Their true distance.
        distance_mm: f64,
    },
    /// `pitch:0.083mm`: one pixel is so long on the part.
    Pitch {
        /// Millimetres a pixel.
        mm_per_px: f64,
    },
    /// `ticks:1mm` or `ticks:1mm@812,640 1310,655 1300,900`: a rule with such graduations lies in the frame.
    Ticks {
        /// Its graduations.
        pitch: TickPitch,
        /// Outline in the upright photo within which the rule lies; empty: anywhere.
        within_px: Vec<PointPx>,
    },
}

/// Graduations of a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum TickPitch {
    /// `1mm`
    Millimetre,
    /// `0.5mm`
    HalfMillimetre,
    /// `1/16in`
    InchSixteenth,
    /// `1/32in`
    InchThirtySecond,
    /// `1/64in`
    InchSixtyFourth,
}

impl TickPitch {
    const ALL: [Self; 5] = [
        Self::Millimetre,
        Self::HalfMillimetre,
        Self::InchSixteenth,
        Self::InchThirtySecond,
        Self::InchSixtyFourth,
    ];

    /// Distance of neighbouring graduations.
    #[must_use]
    pub const fn mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::HalfMillimetre => 0.5,
            Self::InchSixteenth => 25.4 / 16.0,
            Self::InchThirtySecond => 25.4 / 32.0,
            Self::InchSixtyFourth => 25.4 / 64.0,
        }
    }

    /// As it is written after `ticks:`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Millimetre => "1mm",
            Self::HalfMillimetre => "0.5mm",
            Self::InchSixteenth => "1/16in",
            Self::InchThirtySecond => "1/32in",
            Self::InchSixtyFourth => "1/64in",
        }
    }
}

/// Why a text is no scale.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SpecError {
    /// Not one of the kinds.
    #[error(
        "`{word}` is no kind of scale; write card, board:, ticks: (a steel rule), points: or pitch:"
    )]
    UnknownKind {
        /// What stood before the colon.
        word: String,
    },
    /// The parts are not as the kind wants them.
    #[error("`{text}` is not complete; write it like {form}")]
    Form {
        /// The text as it came.
        text: String,
        /// An example of the right form.
        form: &'static str,
    },
    /// A part that should be a number.
    #[error("`{text}` as {part} is not a number; write it like {form}")]
    NotANumber {
        /// Which part.
        part: &'static str,
        /// The part as it came.
        text: String,
        /// An example of the right form.
        form: &'static str,
    },
    /// A part that should be a length with its unit.
    #[error(
        "`{text}` as {part} is not a length above zero; write a number and mm or in, like {form}"
    )]
    NotALength {
        /// Which part.
        part: &'static str,
        /// The part as it came.
        text: String,
        /// An example of the right form.
        form: &'static str,
    },
    /// Two equal points.
    #[error("both points are the same place ({x}, {y}); give the two ends of the known distance")]
    SamePoint {
        /// Across.
        x: f64,
        /// Down.
        y: f64,
    },
    /// A marker dictionary not read here.
    #[error("`{text}` is no marker dictionary read here; boards with 4x4_50 are")]
    Dictionary {
        /// The dictionary as it came.
        text: String,
    },
    /// Graduations not known here.
    #[error(
        "`{text}` is no graduation read here; write ticks:1mm, 0.5mm, 1/16in, 1/32in or 1/64in"
    )]
    Ticks {
        /// The graduation as it came.
        text: String,
    },
    /// An outline that encloses nothing.
    #[error(
        "the outline `{text}` of the rule is no outline; write three or more places, like {TICKS_FORM}"
    )]
    Outline {
        /// The outline as it came.
        text: String,
    },
    /// Numbers that make no board.
    #[error(transparent)]
    Board(#[from] DesignError),
}

const CARD_FORM: &str = "card or card:99.2,99.4";
const BOARD_FORM: &str = "board:7x5,12mm,9mm,4x4_50";
const POINTS_FORM: &str = "points:812,640,1310,655=50mm";
const PITCH_FORM: &str = "pitch:0.083mm";
const TICKS_FORM: &str = "ticks:1mm@812,640 1310,655 1300,900";
/// Most places of an outline. Chosen: far more than anybody clicks.
const MOST_PLACES: usize = 200;

impl FromStr for ScaleSpec {
    type Err = SpecError;

    fn from_str(text: &str) -> Result<Self, SpecError> {
        let text = text.trim();
        let (kind, rest) = match text.split_once(':') {
            Some((kind, rest)) => (kind.trim(), Some(rest.trim())),
            None => (text, None),
        };
        let wants = |form| rest.ok_or_else(|| SpecError::Form { text: text.to_owned(), form });
        match kind {
            "card" => rest.map_or(Ok(Self::Card { bars_mm: None }), |rest| card(text, rest)),
            "board" => board(text, wants(BOARD_FORM)?),
            "points" => points(text, wants(POINTS_FORM)?),
            "pitch" => {
                let mm_per_px = length_mm("the pitch", wants(PITCH_FORM)?, PITCH_FORM)?;
                Ok(Self::Pitch { mm_per_px })
            }
            "ticks" => ticks(wants("ticks:1mm")?),
            _ => Err(SpecError::UnknownKind { word: kind.to_owned() }),
        }
    }
}

fn card(text: &str, rest: &str) -> Result<ScaleSpec, SpecError> {
    let form = CARD_FORM;
    let (across, down) = rest
        .split_once(',')
        .filter(|(_, down)| !down.contains(','))
        .ok_or_else(|| SpecError::Form { text: text.to_owned(), form })?;
    // A calliper reading may be typed with its unit or without.
    let reading = |part, text: &str| {
        let plain = text.trim().trim_end_matches("mm").trim_end();
        positive(plain).ok_or_else(|| SpecError::NotALength {
            part,
            text: text.trim().to_owned(),
            form,
        })
    };
    let bars = [reading("the bar across", across)?, reading("the bar down", down)?];
    Ok(ScaleSpec::Card { bars_mm: Some(bars) })
}

fn board(text: &str, rest: &str) -> Result<ScaleSpec, SpecError> {
    let form = BOARD_FORM;
    let parts: Vec<&str> = rest.split(',').map(str::trim).collect();
    let [squares, square, marker, dictionary] = parts[..] else {
        return Err(SpecError::Form { text: text.to_owned(), form });
    };
    let (columns, rows) =
        squares.split_once('x').ok_or_else(|| SpecError::Form { text: text.to_owned(), form })?;
    let count = |part, text: &str| {
        text.trim().parse::<u32>().map_err(|_| SpecError::NotANumber {
            part,
            text: text.to_owned(),
            form,
        })
    };
    let squares = [count("the squares across", columns)?, count("the squares down", rows)?];
    let square_mm = length_mm("the square", square, form)?;
    let marker_mm = length_mm("the marker", marker, form)?;
    if !dictionary.eq_ignore_ascii_case("4x4_50") {
        return Err(SpecError::Dictionary { text: dictionary.to_owned() });
    }
    CardDesign::own(squares[0], squares[1], square_mm, marker_mm)?;
    Ok(ScaleSpec::Board { squares, square_mm, marker_mm })
}

fn points(text: &str, rest: &str) -> Result<ScaleSpec, SpecError> {
    let form = POINTS_FORM;
    let (places, distance) =
        rest.split_once('=').ok_or_else(|| SpecError::Form { text: text.to_owned(), form })?;
    let parts: Vec<&str> = places.split(',').map(str::trim).collect();
    let [x1, y1, x2, y2] = parts[..] else {
        return Err(SpecError::Form { text: text.to_owned(), form });
    };
    let number = |part, text: &str| {
        text.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| SpecError::NotANumber {
            part,
            text: text.to_owned(),
            form,
        })
    };
    let from_px = [number("the first x", x1)?, number("the first y", y1)?];
    let to_px = [number("the second x", x2)?, number("the second y", y2)?];
    let distance_mm = length_mm("the distance", distance, form)?;
    if (to_px[0] - from_px[0]).hypot(to_px[1] - from_px[1]) <= 0.0 {
        return Err(SpecError::SamePoint { x: from_px[0], y: from_px[1] });
    }
    Ok(ScaleSpec::Points { from_px, to_px, distance_mm })
}

fn ticks(rest: &str) -> Result<ScaleSpec, SpecError> {
    let (word, outline) = match rest.split_once('@') {
        Some((word, outline)) => (word, Some(outline.trim())),
        None => (rest, None),
    };
    let word: String = word.chars().filter(|c| !c.is_whitespace()).collect();
    let pitch = TickPitch::ALL
        .into_iter()
        .find(|t| t.word() == word)
        .ok_or(SpecError::Ticks { text: word })?;
    let within_px = outline.map_or(Ok(Vec::new()), places)?;
    Ok(ScaleSpec::Ticks { pitch, within_px })
}

fn places(text: &str) -> Result<Vec<PointPx>, SpecError> {
    let number =
        |part, text: &str| {
            text.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| {
                SpecError::NotANumber { part, text: text.to_owned(), form: TICKS_FORM }
            })
        };
    let none = || SpecError::Outline { text: text.to_owned() };
    let places: Vec<PointPx> = text
        .split_whitespace()
        .map(|place| {
            let (x, y) = place.split_once(',').ok_or_else(none)?;
            Ok([number("an x", x)?, number("a y", y)?])
        })
        .collect::<Result<_, SpecError>>()?;
    // Twice the area, by the shoelace rule.
    let next = places.iter().cycle().skip(1);
    let area: f64 = places.iter().zip(next).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum();
    if !(3..=MOST_PLACES).contains(&places.len()) || area.abs() < 1.0 {
        return Err(none());
    }
    Ok(places)
}

/// A positive number, as a decimal or a fraction; at most a kilometre in any unit.
fn positive(text: &str) -> Option<f64> {
    let number = |t: &str| t.trim().parse::<f64>().ok();
    let value = match text.split_once('/') {
        Some((over, under)) => number(over)? / number(under)?,
        None => number(text)?,
    };
    (value.is_finite() && value > 0.0 && value < 1.0e6).then_some(value)
}

fn length_mm(part: &'static str, text: &str, form: &'static str) -> Result<f64, SpecError> {
    let text = text.trim();
    let in_mm = text.strip_suffix("mm").map(|t| (t, 1.0));
    let in_inch = text.strip_suffix("in").map(|t| (t, 25.4));
    in_mm
        .or(in_inch)
        .and_then(|(number, unit_mm)| positive(number.trim()).map(|v| v * unit_mm))
        .ok_or_else(|| SpecError::NotALength { part, text: text.to_owned(), form })
}

impl fmt::Display for ScaleSpec {
    /// The text that reads back as the same scale.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Card { bars_mm: None } => f.write_str("card"),
            Self::Card { bars_mm: Some([across, down]) } => write!(f, "card:{across},{down}"),
            Self::Board { squares: [columns, rows], square_mm, marker_mm } => {
                write!(f, "board:{columns}x{rows},{square_mm}mm,{marker_mm}mm,4x4_50")
            }
            Self::Points { from_px: [x1, y1], to_px: [x2, y2], distance_mm } => {
                write!(f, "points:{x1},{y1},{x2},{y2}={distance_mm}mm")
            }
            Self::Pitch { mm_per_px } => write!(f, "pitch:{mm_per_px}mm"),
            Self::Ticks { pitch, within_px } => {
                write!(f, "ticks:{}", pitch.word())?;
                for (i, [x, y]) in within_px.iter().enumerate() {
                    write!(f, "{}{x},{y}", if i == 0 { "@" } else { " " })?;
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
    fn every_kind_reads_back_as_written() {
        for text in [
            "card",
            "card:99.2,99.4",
            "board:7x5,12mm,9mm,4x4_50",
            "points:812,640.5,1310,655=50mm",
            "pitch:0.083mm",
            "ticks:1mm",
            "ticks:0.5mm",
            "ticks:0.5mm@10,20 300,20.5 300,90",
            "ticks:1/16in",
            "ticks:1/32in",
            "ticks:1/64in",
        ] {
            assert_eq!(text.parse::<ScaleSpec>().unwrap().to_string(), text);
        }
    }

    #[test]
    fn inches_and_spaces_are_understood() {
        let spec: ScaleSpec = " points: 1, 2, 3, 4 = 1/2in ".parse().unwrap();
        let ScaleSpec::Points { distance_mm, .. } = spec else { panic!("{spec:?}") };
        assert!((distance_mm - 12.7).abs() < 1e-12);
    }

    #[test]
    fn the_bad_part_is_named_with_its_remedy() {
        for (text, fact, remedy) in [
            ("rule", "`rule` is no kind of scale", "ticks: (a steel rule)"),
            ("card:99.2", "`card:99.2` is not complete", "card:99.2,99.4"),
            ("card:99.2,x", "`x` as the bar down", "card:99.2,99.4"),
            ("card:1,2,3", "not complete", "card:99.2,99.4"),
            ("board:7,12mm,9mm,4x4_50", "not complete", "board:7x5"),
            ("board:7x5,12,9mm,4x4_50", "`12` as the square", "mm or in"),
            ("board:7x5,12mm,9mm,5x5_100", "`5x5_100` is no marker dictionary", "4x4_50"),
            ("board:2x5,12mm,9mm,4x4_50", "too few inner corners", "3x3"),
            ("points:1,2,3=50mm", "not complete", "points:812"),
            ("points:1,2,3,a=50mm", "`a` as the second y", "points:812"),
            ("points:1,2,1,2=50mm", "same place (1, 2)", "two ends"),
            ("points:1,2,3,4=-5mm", "`-5mm` as the distance", "above zero"),
            ("points:1,2,3,inf=5mm", "`inf` as the second y", "points:812"),
            ("pitch", "not complete", "pitch:0.083mm"),
            ("pitch:0mm", "`0mm` as the pitch", "above zero"),
            ("pitch:NaNmm", "`NaNmm` as the pitch", "above zero"),
            ("ticks:2mm", "`2mm` is no graduation", "1/32in"),
            ("ticks:1mm@", "the outline `` of the rule is no outline", "ticks:1mm@812,640"),
            ("ticks:1mm@1,2 3,4", "no outline", "three or more places"),
            ("ticks:1mm@1,2 3,4 5,6", "no outline", "three or more places"),
            ("ticks:1mm@1,2 3;4 5,9", "no outline", "three or more places"),
            ("ticks:1mm@1,2 3,x 5,9", "`x` as a y", "ticks:1mm@812,640"),
            ("", "`` is no kind", "write card"),
        ] {
            let said = text.parse::<ScaleSpec>().unwrap_err().to_string();
            assert!(said.contains(fact) && said.contains(remedy), "{text}: {said}");
        }
    }
}
