//! The printable scale card: what stands where on a page, in true millimetres.
//!
//! The pattern itself comes from [`nde_measure::scale::CardDesign`], the same data that the
//! reader uses; here it only gets its words and its place on the paper. Page places have their
//! origin at the paper's top left corner, y down.

mod pdf;
mod png;
mod svg;

pub(crate) use pdf::pdf;
pub(crate) use png::png;
pub(crate) use svg::svg;

use nde_measure::marks::Lettering;
use nde_measure::scale::CardDesign;
use nde_measure::scale::design::{Direction, Rect, TextPlace, TextRole};

/// Millimetres in an inch, exactly.
const MM_PER_INCH: f64 = 25.4;
/// Em size of the letters against the height of their line, for the typeface that the widths are
/// taken from. Read from that font.
const EM_OF_LINE: f64 = 0.859;
/// Blank paper around the card in the PNG.
const PNG_RIM_MM: f64 = 5.0;

/// A sheet of paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Paper {
    /// Width.
    pub width_mm: f64,
    /// Height.
    pub height_mm: f64,
}

impl Paper {
    /// 210 mm x 297 mm (ISO 216).
    pub(crate) const A4: Self = Self { width_mm: 210.0, height_mm: 297.0 };
    /// 8.5 in x 11 in.
    pub(crate) const LETTER: Self = Self { width_mm: 215.9, height_mm: 279.4 };
}

/// A page with a card on it.
#[derive(Clone, Debug)]
pub(crate) struct Page {
    /// The paper, or the part of it that is drawn.
    pub paper: Paper,
    /// What is black: board, markers and bars.
    pub ink: Vec<Rect>,
    /// Where to cut.
    pub cut: Rect,
    /// The words.
    pub words: Vec<Words>,
}

/// A line of words on the page.
#[derive(Clone, Debug)]
pub(crate) struct Words {
    /// What they say.
    pub text: String,
    /// Start of their base line.
    pub at_mm: [f64; 2],
    /// Which way they read.
    pub direction: Direction,
    /// Em size.
    pub em_mm: f64,
    /// Length they are set to.
    pub long_mm: f64,
}

impl Page {
    /// The card in the middle of a sheet of paper.
    #[must_use]
    pub(crate) fn on(paper: Paper, design: &CardDesign) -> Self {
        let sheet = design.sheet();
        let shift = [
            (paper.width_mm - sheet.width_mm) / 2.0 - sheet.x_mm,
            (paper.height_mm - sheet.height_mm) / 2.0 - sheet.y_mm,
        ];
        Self::shifted(paper, design, shift)
    }

    /// The card with a narrow rim of paper.
    #[must_use]
    pub(crate) fn trimmed(design: &CardDesign) -> Self {
        let around = design.sheet().grown(PNG_RIM_MM);
        let paper = Paper { width_mm: around.width_mm, height_mm: around.height_mm };
        Self::shifted(paper, design, [-around.x_mm, -around.y_mm])
    }

    fn shifted(paper: Paper, design: &CardDesign, [dx, dy]: [f64; 2]) -> Self {
        let moved = |r: Rect| Rect { x_mm: r.x_mm + dx, y_mm: r.y_mm + dy, ..r };
        let bars = design.bars();
        let mut ink: Vec<Rect> = design.black_rects().into_iter().map(moved).collect();
        ink.extend(bars.iter().map(|bar| moved(bar.ink)));
        let letters = Lettering::new();
        let words = design
            .texts()
            .iter()
            .map(|place| {
                let mut words = set(&letters, place, design);
                words.at_mm = [words.at_mm[0] + dx, words.at_mm[1] + dy];
                words
            })
            .collect();
        Self { paper, ink, cut: moved(design.cut()), words }
    }
}

/// The words of one place, made small enough for its room.
fn set(letters: &Lettering, place: &TextPlace, design: &CardDesign) -> Words {
    let text = match place.role {
        TextRole::BarAcross | TextRole::BarDown => format!("{} mm", design.bar_mm()),
        TextRole::FirstLine => {
            "Print at 100 %. Measure both bars with a calliper: --scale card:ACROSS,DOWN".to_owned()
        }
        TextRole::SecondLine => {
            "Cut out. Lay it flat, level with the marks, whole and sharp in the photo.".to_owned()
        }
    };
    // A width in proportion to the line height, taken at a large one.
    let long_at_unit = letters.width(&text, 1000.0) / 1000.0;
    let line_mm = place.size_mm.min(place.room_mm / long_at_unit);
    Words {
        text,
        at_mm: place.at_mm,
        direction: place.direction,
        em_mm: line_mm * EM_OF_LINE,
        long_mm: line_mm * long_at_unit,
    }
}

#[cfg(test)]
mod tests;
