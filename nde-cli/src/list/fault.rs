//! What can be wrong with a typed list: where, what, and what to do.

use super::MOST_BYTES;
use crate::degrees::DegreesError;
use nde_core::{Length, LengthError};

/// Why a text is not a list of indications.
#[derive(Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub(crate) enum ListError {
    /// Not UTF-8.
    #[error("is not UTF-8 text; save it as \"CSV UTF-8\"")]
    NotUtf8,
    /// Too many bytes.
    #[error("is larger than {} MB; split it", MOST_BYTES >> 20)]
    TooLarge,
    /// Nothing in it.
    #[error("is empty; the first line must be id,length_mm,width_mm")]
    Empty,
    /// A needed heading is not there.
    #[error(
        "has no column {heading}; the first line must hold id,length_mm,width_mm (or length_in,width_in), it holds: {found}"
    )]
    NoColumn {
        /// The needed heading.
        heading: &'static str,
        /// The headings there.
        found: String,
    },
    /// A heading that is nearly one.
    #[error("has a column `{found}`; rename it to {wanted}")]
    NearHeading {
        /// As it stands.
        found: String,
        /// As it must be.
        wanted: &'static str,
    },
    /// A heading stands twice, or once in each unit.
    #[error("has the column {heading} more than once (or in both mm and in); keep one")]
    TwiceColumn {
        /// The heading without its unit.
        heading: &'static str,
    },
    /// One coordinate without the other.
    #[error("has only one of the columns x and y; give both or none")]
    HalfPlace,
    /// A place without the direction of the length.
    #[error(
        "line {line}: a place needs the direction of the length; add a column angle_deg, degrees from x towards y"
    )]
    NoAngle {
        /// Line in the file, from 1.
        line: u64,
    },
    /// A row with more or fewer cells than headings.
    #[error(
        "line {line}: {cells} cells under {headings} headings; {}",
        if cells > headings {
            "write decimals with a point (1.5), and quote a text that holds a comma"
        } else {
            "keep one cell under each heading, empty where nothing is known, and check the quotes"
        }
    )]
    Ragged {
        /// Line in the file, from 1.
        line: u64,
        /// Cells in the row.
        cells: usize,
        /// Headings.
        headings: usize,
    },
    /// The text cannot be split into cells.
    #[error("line {line}: {detail}; check the quotes")]
    Broken {
        /// Line in the file, from 1; 0 when not known.
        line: u64,
        /// What the reader said.
        detail: String,
    },
    /// One cell.
    #[error("line {line}, column {column}: {fault}")]
    Cell {
        /// Line in the file, from 1.
        line: u64,
        /// Its heading.
        column: String,
        /// What is wrong.
        fault: CellFault,
    },
}

/// What is wrong with one cell.
#[derive(Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub(crate) enum CellFault {
    /// Nothing there.
    #[error("is empty; fill it in or remove the line")]
    Missing,
    /// No length.
    #[error(transparent)]
    Length(#[from] LengthError),
    /// A decimal comma.
    #[error("`{text}` has a comma; write decimals with a point, such as 1.5")]
    DecimalComma {
        /// The cell.
        text: String,
    },
    /// A unit that the heading names already.
    #[error("`{text}` holds a unit; the heading names it, so leave it out here")]
    Unit {
        /// The cell.
        text: String,
    },
    /// A whole number and a fraction with a dash between them.
    #[error("`{text}` has a dash; write a space before the fraction, such as 1 3/16")]
    Dash {
        /// The cell.
        text: String,
    },
    /// A reading that is about a size or next to one.
    #[error("`{text}` is no single size; write the one that is to be judged, such as 1.5")]
    About {
        /// The cell.
        text: String,
    },
    /// One coordinate of two.
    #[error("is empty beside a filled {other}; fill in both, or empty both")]
    HalfPlace {
        /// The heading of the filled one.
        other: String,
    },
    /// A size of zero.
    #[error("is 0; an indication has a size, measure it or remove the line")]
    Zero,
    /// Wider than long.
    #[error("width {width} is more than length {length}; the length is the longer one, swap them")]
    WiderThanLong {
        /// The width.
        width: Length,
        /// The length.
        length: Length,
    },
    /// No angle.
    #[error(transparent)]
    Angle(#[from] DegreesError),
    /// A word that is not known here.
    #[error("`{text}` is not known; write {known}, or leave it empty")]
    Word {
        /// The cell.
        text: String,
        /// The known words.
        known: &'static str,
    },
    /// A name that stands twice.
    #[error("`{id}` stands already on line {first}; give every indication a name of its own")]
    TwiceId {
        /// The name.
        id: String,
        /// Line of the first one.
        first: u64,
    },
}
