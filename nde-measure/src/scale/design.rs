//! The printable cards as data: what is black where, in millimetres.
//!
//! A card is a chessboard with a coded marker in every white square, an open pattern that many
//! libraries read. Places are millimetres on the printed sheet: origin at the board's top left
//! outer corner, x along the top edge, y down as printed. The top left square is black.
//! Reader and printer both take the card from here, so they cannot disagree.

use crate::PointMm;
use crate::scale::dictionary::{CODE_CELLS, CODES, MARKER_CELLS, is_white};

/// Fewest squares in a row or column: below that too few inner corners are left to check a plane.
pub const FEWEST_SQUARES: u32 = 3;
/// Smallest square. Chosen: at 12 px/mm its marker cells are still 3 px wide.
pub const LEAST_SQUARE_MM: f64 = 2.0;
/// Largest square. Chosen: beyond it a card is no longer a thing laid beside a part.
pub const MOST_SQUARE_MM: f64 = 500.0;

/// Which card.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum CardName {
    /// 7 x 5 squares of 12 mm.
    Standard,
    /// 5 x 4 squares of 6 mm, for tight places.
    Small,
    /// 7 x 6 squares of 20 mm.
    Large,
    /// A user's own board.
    Own,
}

impl std::fmt::Display for CardName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Standard => "standard",
            Self::Small => "small",
            Self::Large => "large",
            Self::Own => "own",
        })
    }
}

/// A card's pattern.
#[derive(Clone, Debug, PartialEq)]
pub struct CardDesign {
    name: CardName,
    columns: u32,
    rows: u32,
    square_mm: f64,
    marker_mm: f64,
    first_id: usize,
    margin_mm: f64,
    bar_mm: f64,
}

/// Why numbers do not make a board.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DesignError {
    /// Too few squares.
    #[error("a board of {columns}x{rows} squares has too few inner corners; use at least 3x3")]
    TooFewSquares {
        /// Squares in a row.
        columns: u32,
        /// Squares in a column.
        rows: u32,
    },
    /// More white squares than the dictionary has codes.
    #[error(
        "a board of {columns}x{rows} squares needs {markers} markers and 4x4_50 has 50; use fewer squares"
    )]
    TooManySquares {
        /// Squares in a row.
        columns: u32,
        /// Squares in a column.
        rows: u32,
        /// Markers it would need.
        markers: u64,
    },
    /// Square size out of range.
    #[error("a square of {square_mm} mm is not between 2 and 500 mm; check the unit")]
    SquareSize {
        /// Side of a square.
        square_mm: f64,
    },
    /// Marker does not fit its square.
    #[error(
        "a marker of {marker_mm} mm does not fit a square of {square_mm} mm; it must be between 0.4 and 0.95 of the square"
    )]
    MarkerSize {
        /// Side of a marker.
        marker_mm: f64,
        /// Side of a square.
        square_mm: f64,
    },
}

/// An upright rectangle on the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x_mm: f64,
    /// Top edge.
    pub y_mm: f64,
    /// Extent across.
    pub width_mm: f64,
    /// Extent down.
    pub height_mm: f64,
}

impl Rect {
    /// Corners clockwise as printed, from the top left.
    #[must_use]
    pub fn corners(&self) -> [PointMm; 4] {
        let (l, t) = (self.x_mm, self.y_mm);
        let (r, b) = (l + self.width_mm, t + self.height_mm);
        [[l, t], [r, t], [r, b], [l, b]]
    }

    /// Whether the place lies inside or on the edge.
    #[must_use]
    pub fn holds(&self, at_mm: PointMm) -> bool {
        let [x, y] = at_mm;
        x >= self.x_mm
            && x <= self.x_mm + self.width_mm
            && y >= self.y_mm
            && y <= self.y_mm + self.height_mm
    }

    /// The rectangle with every edge moved out (negative: in).
    #[must_use]
    pub fn grown(&self, by_mm: f64) -> Self {
        Self {
            x_mm: self.x_mm - by_mm,
            y_mm: self.y_mm - by_mm,
            width_mm: self.width_mm + 2.0 * by_mm,
            height_mm: self.height_mm + 2.0 * by_mm,
        }
    }
}

/// A coded marker of the board.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marker {
    /// Its id in the dictionary.
    pub id: usize,
    /// Its black border's outside.
    pub outside: Rect,
}

/// An inner corner of the chessboard, where two black and two white squares meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InnerCorner {
    /// Number, row by row from the top left.
    pub id: usize,
    /// Where it lies.
    pub at_mm: PointMm,
}

/// Which way a bar or a text runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Along x.
    Across,
    /// Along y.
    Down,
}

/// A solid bar to be measured with a calliper from end to end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// Which way it runs.
    pub direction: Direction,
    /// Its ink.
    pub ink: Rect,
}

impl Bar {
    /// Its length as designed.
    #[must_use]
    pub const fn length_mm(&self) -> f64 {
        match self.direction {
            Direction::Across => self.ink.width_mm,
            Direction::Down => self.ink.height_mm,
        }
    }
}

/// What a text on the sheet says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextRole {
    /// Length of the bar across.
    BarAcross,
    /// Length of the bar down.
    BarDown,
    /// First line of the instruction.
    FirstLine,
    /// Second line of the instruction.
    SecondLine,
}

/// Where a text stands on the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TextPlace {
    /// What it says.
    pub role: TextRole,
    /// Start of its base line.
    pub at_mm: PointMm,
    /// Which way it reads: down means turned a quarter clockwise.
    pub direction: Direction,
    /// Type size (line height) that fits the place.
    pub size_mm: f64,
    /// Room along the reading direction.
    pub room_mm: f64,
}

/// Thickness of a calliper bar: wide enough to lay a jaw against.
const BAR_INK_MM: f64 = 3.0;
/// Clear paper between the cut line and a bar, and between a bar and its text.
const BAR_CLEAR_MM: f64 = 4.0;

impl CardDesign {
    /// 7 x 5 squares of 12 mm, ids 0 to 16.
    #[must_use]
    pub const fn standard() -> Self {
        Self {
            name: CardName::Standard,
            columns: 7,
            rows: 5,
            square_mm: 12.0,
            marker_mm: 9.0,
            first_id: 0,
            margin_mm: 4.0,
            bar_mm: 100.0,
        }
    }

    /// 5 x 4 squares of 6 mm, ids 17 to 26.
    #[must_use]
    pub const fn small() -> Self {
        Self {
            name: CardName::Small,
            columns: 5,
            rows: 4,
            square_mm: 6.0,
            marker_mm: 4.5,
            first_id: 17,
            margin_mm: 4.0,
            bar_mm: 50.0,
        }
    }

    /// 7 x 6 squares of 20 mm, ids 27 to 47.
    #[must_use]
    pub const fn large() -> Self {
        Self {
            name: CardName::Large,
            columns: 7,
            rows: 6,
            square_mm: 20.0,
            marker_mm: 15.0,
            first_id: 27,
            margin_mm: 6.0,
            bar_mm: 100.0,
        }
    }

    /// The three cards of this project; no id is on two of them.
    #[must_use]
    pub const fn all() -> [Self; 3] {
        [Self::standard(), Self::small(), Self::large()]
    }

    /// A user's own board, ids from 0. Its margin is taken as a third of a square, at least 2 mm.
    ///
    /// # Errors
    /// Numbers that do not make a readable board.
    pub fn own(
        columns: u32,
        rows: u32,
        square_mm: f64,
        marker_mm: f64,
    ) -> Result<Self, DesignError> {
        if columns < FEWEST_SQUARES || rows < FEWEST_SQUARES {
            return Err(DesignError::TooFewSquares { columns, rows });
        }
        let markers = u64::from(columns) * u64::from(rows) / 2;
        if markers > CODES.len() as u64 {
            return Err(DesignError::TooManySquares { columns, rows, markers });
        }
        if !(LEAST_SQUARE_MM..=MOST_SQUARE_MM).contains(&square_mm) {
            return Err(DesignError::SquareSize { square_mm });
        }
        if !(0.4 * square_mm..=0.95 * square_mm).contains(&marker_mm) {
            return Err(DesignError::MarkerSize { marker_mm, square_mm });
        }
        Ok(Self {
            name: CardName::Own,
            columns,
            rows,
            square_mm,
            marker_mm,
            first_id: 0,
            margin_mm: (square_mm / 3.0).max(2.0),
            bar_mm: 100.0,
        })
    }

    /// Which card this is.
    #[must_use]
    pub const fn name(&self) -> CardName {
        self.name
    }

    /// Squares across and down.
    #[must_use]
    pub const fn squares(&self) -> [u32; 2] {
        [self.columns, self.rows]
    }

    /// Side of a chessboard square.
    #[must_use]
    pub const fn square_mm(&self) -> f64 {
        self.square_mm
    }

    /// Side of a marker, black border included.
    #[must_use]
    pub const fn marker_mm(&self) -> f64 {
        self.marker_mm
    }

    /// White paper around the board, up to the cut line.
    #[must_use]
    pub const fn margin_mm(&self) -> f64 {
        self.margin_mm
    }

    /// Length of the calliper bars as designed.
    #[must_use]
    pub const fn bar_mm(&self) -> f64 {
        self.bar_mm
    }

    /// Ids of its markers, smallest and largest.
    #[must_use]
    pub fn ids(&self) -> [usize; 2] {
        [self.first_id, self.first_id + self.marker_count() - 1]
    }

    /// Number of its markers.
    #[must_use]
    pub const fn marker_count(&self) -> usize {
        (self.columns * self.rows / 2) as usize
    }

    /// The chessboard, without margin.
    #[must_use]
    pub fn board(&self) -> Rect {
        Rect {
            x_mm: 0.0,
            y_mm: 0.0,
            width_mm: f64::from(self.columns) * self.square_mm,
            height_mm: f64::from(self.rows) * self.square_mm,
        }
    }

    /// The cut line: the board with its white margin.
    #[must_use]
    pub fn cut(&self) -> Rect {
        self.board().grown(self.margin_mm)
    }

    fn square(&self, column: u32, row: u32) -> Rect {
        Rect {
            x_mm: f64::from(column) * self.square_mm,
            y_mm: f64::from(row) * self.square_mm,
            width_mm: self.square_mm,
            height_mm: self.square_mm,
        }
    }

    fn squares_where(&self, odd: u32) -> Vec<Rect> {
        let each_row = |row| {
            (0..self.columns)
                .filter(move |column| (column + row) % 2 == odd)
                .map(move |column| self.square(column, row))
        };
        (0..self.rows).flat_map(each_row).collect()
    }

    /// Black chessboard squares, row by row.
    #[must_use]
    pub fn black_squares(&self) -> Vec<Rect> {
        self.squares_where(0)
    }

    /// White chessboard squares, row by row; each holds a marker, in the same order.
    #[must_use]
    pub fn white_squares(&self) -> Vec<Rect> {
        self.squares_where(1)
    }

    /// The markers, row by row.
    #[must_use]
    pub fn markers(&self) -> Vec<Marker> {
        let inset = (self.square_mm - self.marker_mm) / 2.0;
        self.white_squares()
            .iter()
            .enumerate()
            .map(|(i, square)| Marker { id: self.first_id + i, outside: square.grown(-inset) })
            .collect()
    }

    /// Inner corners of the chessboard, row by row.
    #[must_use]
    pub fn inner_corners(&self) -> Vec<InnerCorner> {
        let at =
            |column, row| [f64::from(column) * self.square_mm, f64::from(row) * self.square_mm];
        (1..self.rows)
            .flat_map(|row| (1..self.columns).map(move |column| (column, row)))
            .enumerate()
            .map(|(id, (column, row))| InnerCorner { id, at_mm: at(column, row) })
            .collect()
    }

    /// All ink of the board: squares and markers.
    ///
    /// Rectangles inside a marker overlap on purpose (runs of cells across and down), so that no
    /// hairline shows between neighbours where a viewer smooths edges.
    #[must_use]
    pub fn black_rects(&self) -> Vec<Rect> {
        let mut ink = self.black_squares();
        for marker in self.markers() {
            marker_ink(&marker, &mut ink);
        }
        ink
    }

    /// The two calliper bars, outside the cut line.
    #[must_use]
    pub fn bars(&self) -> [Bar; 2] {
        let cut = self.cut();
        let below = cut.y_mm + cut.height_mm + BAR_CLEAR_MM;
        let beside = cut.x_mm + cut.width_mm.max(self.bar_mm) + BAR_CLEAR_MM;
        [
            Bar {
                direction: Direction::Across,
                ink: Rect {
                    x_mm: cut.x_mm,
                    y_mm: below,
                    width_mm: self.bar_mm,
                    height_mm: BAR_INK_MM,
                },
            },
            Bar {
                direction: Direction::Down,
                ink: Rect {
                    x_mm: beside,
                    y_mm: cut.y_mm,
                    width_mm: BAR_INK_MM,
                    height_mm: self.bar_mm,
                },
            },
        ]
    }

    /// Where texts stand: both bars' lengths and the two lines of the instruction.
    #[must_use]
    pub fn texts(&self) -> [TextPlace; 4] {
        let [across, down] = self.bars();
        let size_mm = 3.0;
        let left = across.ink.x_mm;
        let under_bar = across.ink.y_mm + across.ink.height_mm + 1.0 + size_mm;
        // The lines may run under the bar down, so they start below both bars.
        let under_all = under_bar.max(down.ink.y_mm + down.ink.height_mm + 1.0) + BAR_CLEAR_MM;
        let room_mm = down.ink.x_mm + down.ink.width_mm + 1.0 + size_mm - left;
        let line = |role, y| TextPlace {
            role,
            at_mm: [left, y],
            direction: Direction::Across,
            size_mm,
            room_mm,
        };
        [
            TextPlace { room_mm: self.bar_mm, ..line(TextRole::BarAcross, under_bar) },
            TextPlace {
                role: TextRole::BarDown,
                // Reading down, letters stand to the right of their base line.
                at_mm: [down.ink.x_mm + down.ink.width_mm + 1.0, down.ink.y_mm],
                direction: Direction::Down,
                size_mm,
                room_mm: self.bar_mm,
            },
            line(TextRole::FirstLine, under_all + size_mm),
            line(TextRole::SecondLine, under_all + 2.5 * size_mm),
        ]
    }

    /// All that is printed, the cut line and text places included.
    #[must_use]
    pub fn sheet(&self) -> Rect {
        let cut = self.cut();
        let [_, down] = self.bars();
        let [.., last] = self.texts();
        Rect {
            x_mm: cut.x_mm,
            y_mm: cut.y_mm,
            width_mm: down.ink.x_mm + down.ink.width_mm + 1.0 + last.size_mm - cut.x_mm,
            height_mm: last.at_mm[1] + last.size_mm / 2.0 - cut.y_mm,
        }
    }
}

/// Ink of one marker: border and black cells, as runs across and down.
fn marker_ink(marker: &Marker, ink: &mut Vec<Rect>) {
    let code = CODES[marker.id];
    #[expect(clippy::cast_precision_loss, reason = "at most six cells")]
    let cell = |n: usize| n as f64 * marker.outside.width_mm / MARKER_CELLS as f64;
    let black = |row: usize, column: usize| {
        let inner = 1..=CODE_CELLS;
        !(inner.contains(&row) && inner.contains(&column) && is_white(code, row - 1, column - 1))
    };
    for line in 0..MARKER_CELLS {
        for direction in [Direction::Across, Direction::Down] {
            let mut start = None;
            for along in 0..=MARKER_CELLS {
                let is_black = along < MARKER_CELLS
                    && match direction {
                        Direction::Across => black(line, along),
                        Direction::Down => black(along, line),
                    };
                match (start, is_black) {
                    (None, true) => start = Some(along),
                    (Some(from), false) => {
                        let (x, y, w, h) = match direction {
                            Direction::Across => (from, line, along - from, 1),
                            Direction::Down => (line, from, 1, along - from),
                        };
                        ink.push(Rect {
                            x_mm: marker.outside.x_mm + cell(x),
                            y_mm: marker.outside.y_mm + cell(y),
                            width_mm: cell(w),
                            height_mm: cell(h),
                        });
                        start = None;
                    }
                    _ => {}
                }
            }
        }
    }
}

#[cfg(test)]
mod tests;
