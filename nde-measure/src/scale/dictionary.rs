//! The open 4x4 marker dictionary of fifty codes, as data.
//!
//! A code is the inner 4 x 4 cells of a marker, row by row from its top left, a set bit for a white
//! cell, most significant bit first. Around the cells runs a black border one cell wide.
//!
//! Source: the dictionary called `DICT_4X4_50` by the libraries that read this open pattern. Values
//! read out of one of them (cv2 5.0.0), for `i` in 0..50:
//! `cv2.aruco.Dictionary.getBitsFromByteList(d.bytesList[i:i+1], 4)` with
//! `d = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)`.

/// Cells along one side of a marker's code.
pub const CODE_CELLS: usize = 4;
/// Cells along one side of a marker with its black border.
pub const MARKER_CELLS: usize = CODE_CELLS + 2;
/// Wrong cells that are still told apart: any two codes, turned any way, differ in at least three
/// cells (checked by a test), so one wrong cell leads back to one code only.
pub const MOST_WRONG_CELLS: u32 = 1;

/// The fifty codes, by id.
pub const CODES: [u16; 50] = [
    0xB532, 0x0F9A, 0x332D, 0x9946, 0x549E, 0x79CD, 0x9E2E, 0xC4F2, 0xFEDA, 0xCF56, 0xF991, 0x11A7,
    0x0EB7, 0x2A0F, 0x24B1, 0x263E, 0x4665, 0x6600, 0x6C5E, 0x76AF, 0x868B, 0xB02B, 0xCCD5, 0xDD82,
    0xFE47, 0x9471, 0xACE4, 0xA554, 0x2123, 0x346F, 0x4415, 0x57B2, 0x9ECF, 0xF0CB, 0x08AE, 0x0929,
    0x1875, 0x04FF, 0x0DF6, 0x1C5A, 0x1718, 0x2A28, 0x328C, 0x38B2, 0x24E8, 0x2EEB, 0x2D3F, 0x4B64,
    0x502E, 0x5013,
];

/// What a read code says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decoded {
    /// Marker id, an index of [`CODES`].
    pub id: usize,
    /// Quarter turns clockwise that bring the cells as read upright.
    pub quarter_turns: usize,
    /// Cells that differ from the dictionary.
    pub wrong_cells: u32,
}

/// Whether the cell in this row and column of a code is white.
#[must_use]
pub const fn is_white(code: u16, row: usize, column: usize) -> bool {
    code >> (15 - (row * CODE_CELLS + column)) & 1 == 1
}

/// The code turned a quarter clockwise.
#[must_use]
pub const fn turned_clockwise(code: u16) -> u16 {
    let mut turned = 0;
    let mut row = 0;
    while row < CODE_CELLS {
        let mut column = 0;
        while column < CODE_CELLS {
            // What comes to stand in (row, column) stood in (last - column, row).
            turned = turned << 1 | is_white(code, CODE_CELLS - 1 - column, row) as u16;
            column += 1;
        }
        row += 1;
    }
    turned
}

/// Looks the cells up, in any of the four turns, with up to [`MOST_WRONG_CELLS`] wrong cells.
#[must_use]
pub fn decode(cells: u16) -> Option<Decoded> {
    let mut best: Option<Decoded> = None;
    let mut upright = cells;
    for quarter_turns in 0..4 {
        for (id, code) in CODES.iter().enumerate() {
            let wrong_cells = (upright ^ code).count_ones();
            if wrong_cells <= MOST_WRONG_CELLS && best.is_none_or(|b| wrong_cells < b.wrong_cells) {
                best = Some(Decoded { id, quarter_turns, wrong_cells });
            }
        }
        upright = turned_clockwise(upright);
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_quarter_turns_change_nothing() {
        for code in CODES {
            let once = turned_clockwise(code);
            assert_ne!(once, code);
            let full = turned_clockwise(turned_clockwise(turned_clockwise(once)));
            assert_eq!(full, code);
        }
    }

    #[test]
    fn a_clockwise_turn_brings_the_left_column_to_the_top() {
        let left_column = 0b1000_1000_1000_1000;
        assert_eq!(turned_clockwise(left_column), 0b1111_0000_0000_0000);
    }

    #[test]
    fn one_wrong_cell_never_leads_to_another_code() {
        let mut least = u32::MAX;
        for (i, a) in CODES.iter().enumerate() {
            let mut turned = *a;
            for turn in 0..4 {
                for (j, b) in CODES.iter().enumerate() {
                    if i != j || turn != 0 {
                        least = least.min((turned ^ b).count_ones());
                    }
                }
                turned = turned_clockwise(turned);
            }
        }
        assert!(least > 2 * MOST_WRONG_CELLS, "codes differ in only {least} cells");
    }

    #[test]
    fn turned_and_damaged_codes_are_read() {
        for (id, code) in CODES.iter().enumerate() {
            // Three more clockwise turns bring a code turned once upright.
            let found = decode(turned_clockwise(*code) ^ 0x0100).unwrap();
            assert_eq!((found.id, found.quarter_turns, found.wrong_cells), (id, 3, 1));
        }
        assert_eq!(decode(0xFFFF), None);
        assert_eq!(decode(0x0000), None);
    }

    /// First marker as an image library draws it: `d.generateImageMarker(0, 60, borderBits=1)[5::10, 5::10]`.
    #[test]
    fn first_code_is_laid_out_as_others_draw_it() {
        let rows = ["1011", "0101", "0011", "0010"];
        for (row, text) in rows.iter().enumerate() {
            for (column, cell) in text.bytes().enumerate() {
                assert_eq!(is_white(CODES[0], row, column), cell == b'1');
            }
        }
    }
}
