//! The printed scale card, drawn from the open dictionary's bits and nothing else.
//!
//! Squares alternate, the first is black; every white square holds the next marker in reading order,
//! centred. A marker is six cells wide: one black cell round four by four bits.

use std::sync::OnceLock;

/// Marker bits, `id` and sixteen digits a line; made by `tests/scripts/aruco_bits.py`.
const BITS: &str = include_str!("../../../fixtures/outside/aruco-4x4-50.txt");

/// The pattern of a card.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Board {
    /// Squares along the long side.
    pub columns: usize,
    /// Squares along the short side.
    pub rows: usize,
    /// Side of a square, mm.
    pub square_mm: f64,
    /// Side of a marker, mm.
    pub marker_mm: f64,
    /// Id of the first marker.
    pub first_id: usize,
    /// White paper round the squares, mm.
    pub margin_mm: f64,
}

impl Board {
    /// 7 x 5 squares of 12 mm, ids 0 to 16.
    pub const STANDARD: Self =
        Self { columns: 7, rows: 5, square_mm: 12.0, marker_mm: 9.0, first_id: 0, margin_mm: 4.0 };

    /// 5 x 4 squares of 6 mm, ids 17 to 26.
    pub const SMALL: Self =
        Self { columns: 5, rows: 4, square_mm: 6.0, marker_mm: 4.5, first_id: 17, margin_mm: 4.0 };

    /// 7 x 6 squares of 20 mm, ids 27 to 47.
    pub const LARGE: Self = Self {
        columns: 7,
        rows: 6,
        square_mm: 20.0,
        marker_mm: 15.0,
        first_id: 27,
        margin_mm: 4.0,
    };

    /// Size of the paper, mm.
    #[must_use]
    pub fn paper_mm(&self) -> [f64; 2] {
        [self.columns, self.rows].map(|n| n as f64 * self.square_mm + 2.0 * self.margin_mm)
    }

    /// Whether ink lies at a place counted from the first square's outer corner, mm.
    #[must_use]
    pub fn inked(&self, x: f64, y: f64) -> bool {
        let (fx, fy) = ((x / self.square_mm).floor(), (y / self.square_mm).floor());
        if fx < 0.0 || fy < 0.0 {
            return false;
        }
        let (column, row) = (fx as usize, fy as usize);
        if column >= self.columns || row >= self.rows {
            return false;
        }
        if (column + row).is_multiple_of(2) {
            return true;
        }
        let cell = self.marker_mm / 6.0;
        let inset = (self.square_mm - self.marker_mm) / 2.0;
        let u = ((x - fx * self.square_mm - inset) / cell).floor();
        let v = ((y - fy * self.square_mm - inset) / cell).floor();
        if !(0.0..6.0).contains(&u) || !(0.0..6.0).contains(&v) {
            return false;
        }
        let (u, v) = (u as usize, v as usize);
        if u == 0 || v == 0 || u == 5 || v == 5 {
            return true;
        }
        let white_before = (row * self.columns + column) / 2;
        let bits = dictionary()[self.first_id + white_before];
        bits >> (15 - ((v - 1) * 4 + u - 1)) & 1 == 0
    }
}

/// The bits of every marker, first row in the highest bits.
fn dictionary() -> &'static [u16] {
    static ALL: OnceLock<Vec<u16>> = OnceLock::new();
    ALL.get_or_init(|| {
        BITS.lines()
            .filter(|line| !line.starts_with('#'))
            .map(|line| {
                let bits = line.split(' ').nth(1).expect("every line is `id bits`");
                u16::from_str_radix(bits, 2).expect("sixteen binary digits")
            })
            .collect()
    })
}

/// A card lying on the part.
#[derive(Clone, Debug)]
pub struct Card {
    /// Its pattern.
    pub board: Board,
    /// Middle of the paper, mm.
    pub centre_mm: [f64; 2],
    /// Turn of its long side against x, radians.
    pub angle: f64,
    /// Reflectance of paper.
    pub paper: f64,
    /// Reflectance of ink.
    pub ink: f64,
    /// How far it lies below the part's surface, mm.
    pub below_mm: f64,
}

impl Card {
    /// A place on the part, counted from the paper's first corner.
    #[must_use]
    pub fn on_paper(&self, p: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = self.angle.sin_cos();
        let (dx, dy) = (p[0] - self.centre_mm[0], p[1] - self.centre_mm[1]);
        let size = self.board.paper_mm();
        [cos * dx + sin * dy + size[0] / 2.0, cos * dy - sin * dx + size[1] / 2.0]
    }

    /// The place on the part of one counted from the paper's first corner.
    #[must_use]
    pub fn from_paper(&self, p: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = self.angle.sin_cos();
        let size = self.board.paper_mm();
        let (x, y) = (p[0] - size[0] / 2.0, p[1] - size[1] / 2.0);
        [self.centre_mm[0] + cos * x - sin * y, self.centre_mm[1] + sin * x + cos * y]
    }

    /// Distance of a place from the paper's edge, mm: positive on the paper.
    #[must_use]
    pub fn inside_mm(&self, p: [f64; 2]) -> f64 {
        let [u, v] = self.on_paper(p);
        let size = self.board.paper_mm();
        let (x, y) = (u.min(size[0] - u), v.min(size[1] - v));
        if x < 0.0 && y < 0.0 { -x.hypot(y) } else { x.min(y) }
    }

    /// Whether ink lies at a place of the part.
    #[must_use]
    pub fn inked(&self, p: [f64; 2]) -> bool {
        let [u, v] = self.on_paper(p);
        self.board.inked(u - self.board.margin_mm, v - self.board.margin_mm)
    }

    /// The four corners of the paper, mm.
    #[must_use]
    pub fn corners_mm(&self) -> [[f64; 2]; 4] {
        let size = self.board.paper_mm();
        let (sin, cos) = self.angle.sin_cos();
        [[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]].map(|[a, b]| {
            let (x, y) = (a * size[0], b * size[1]);
            [self.centre_mm[0] + cos * x - sin * y, self.centre_mm[1] + sin * x + cos * y]
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the first marker of the dictionary as printed everywhere: rows 1011 0101 0011 0010.
    #[test]
    fn first_marker_stands_in_the_second_square() {
        let board = Board::STANDARD;
        let row = |v: f64| -> String {
            (0..6)
                .map(|u| if board.inked(13.5 + 1.5 * f64::from(u) + 0.7, v) { '#' } else { '.' })
                .collect()
        };
        assert_eq!(row(2.2), "######");
        assert_eq!(row(3.7), "#.#..#");
        assert_eq!(row(5.2), "##.#.#");
        assert!(board.inked(1.0, 1.0) && !board.inked(12.5, 0.5) && !board.inked(-1.0, 1.0));
    }

    #[test]
    fn all_markers_of_the_shipped_cards_are_known() {
        assert_eq!(dictionary().len(), 50);
    }
}
