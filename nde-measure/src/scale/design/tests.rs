//! The cards against boards drawn by an independent library (cv2 5.0.0).
//!
//! Stored rows are cells of an eighth of a square, a set bit for white, made by
//! ```text
//! b = cv2.aruco.CharucoBoard((columns, rows), square, marker, d, np.arange(first, last + 1))
//! cells = b.generateImage((columns * 80, rows * 80), marginSize=0)[5::10, 5::10] > 127
//! ```
//! with `d = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)`, legacy pattern off.

#![expect(clippy::float_cmp, reason = "designed places are exact small decimals")]

use super::*;

/// `(7, 5), 12, 9`, ids 0 to 16.
const STANDARD: [u64; 40] = [
    0x00ff00ff00ff00,
    0x00810081008100,
    0x00ad0081008d00,
    0x009500bd008d00,
    0x008d00a5008900,
    0x008900a900b500,
    0x00810081008100,
    0x00ff00ff00ff00,
    0xff00ff00ff00ff,
    0x81008100810081,
    0xa50095009d00a5,
    0xa5009100a500b9,
    0x9100a500b10089,
    0x9900b900b500b9,
    0x81008100810081,
    0xff00ff00ff00ff,
    0x00ff00ff00ff00,
    0x00810081008100,
    0x00b100bd00b100,
    0x009100b900bd00,
    0x00bd00b5009500,
    0x008900a9009900,
    0x00810081008100,
    0x00ff00ff00ff00,
    0xff00ff00ff00ff,
    0x81008100810081,
    0xbd008500810089,
    0xa5008500b900a9,
    0xa500a900ad0081,
    0x85009d009d00bd,
    0x81008100810081,
    0xff00ff00ff00ff,
    0x00ff00ff00ff00,
    0x00810081008100,
    0x00890089009100,
    0x00910099009900,
    0x00ad008d009900,
    0x008500b9009500,
    0x00810081008100,
    0x00ff00ff00ff00,
];

/// `(5, 4), 6, 4.5`, ids 17 to 26.
const SMALL: [u64; 32] = [
    0x00ff00ff00,
    0x0081008100,
    0x0099009900,
    0x009900b100,
    0x0081009500,
    0x008100b900,
    0x0081008100,
    0x00ff00ff00,
    0xff00ff00ff,
    0x8100810081,
    0x9d00a100ad,
    0x9900990081,
    0xa900a10089,
    0xbd00ad00ad,
    0x8100810081,
    0xff00ff00ff,
    0x00ff00ff00,
    0x0081008100,
    0x00b100b500,
    0x00b100b500,
    0x00b500a100,
    0x0095008900,
    0x0081008100,
    0x00ff00ff00,
    0xff00ff00ff,
    0x8100810081,
    0xbd00a500a9,
    0xb9009100b1,
    0x91009d00b9,
    0x9d00850091,
    0x8100810081,
    0xff00ff00ff,
];

/// `(7, 6), 20, 15`, ids 27 to 47.
const LARGE: [u64; 48] = [
    0x00ff00ff00ff00,
    0x00810081008100,
    0x00a90089008d00,
    0x00950085009100,
    0x00950089009900,
    0x0091008d00bd00,
    0x00810081008100,
    0x00ff00ff00ff00,
    0xff00ff00ff00ff,
    0x81008100810081,
    0x91009500a500bd,
    0x91009d00b90081,
    0x8500ad00b100b1,
    0x95008900bd00ad,
    0x81008100810081,
    0xff00ff00ff00ff,
    0x00ff00ff00ff00,
    0x00810081008100,
    0x00810081008500,
    0x00a100a500a100,
    0x00a90089009d00,
    0x00b900a5009500,
    0x00810081008100,
    0x00ff00ff00ff00,
    0xff00ff00ff00ff,
    0x81008100810081,
    0x81008100850085,
    0x9100b500b1009d,
    0xbd00bd00950085,
    0xbd009900a900a1,
    0x81008100810081,
    0xff00ff00ff00ff,
    0x00ff00ff00ff00,
    0x00810081008100,
    0x0089008d008d00,
    0x00a9008900a100,
    0x008900a100ad00,
    0x00a100b1008900,
    0x00810081008100,
    0x00ff00ff00ff00,
    0xff00ff00ff00ff,
    0x81008100810081,
    0x89008900890091,
    0x9100b900b500ad,
    0xb900b9008d0099,
    0xa100ad00bd0091,
    0x81008100810081,
    0xff00ff00ff00ff,
];

fn assert_drawn_alike(card: &CardDesign, rows: &[u64]) {
    let [columns, squares_down] = card.squares();
    let (wide, high) = (columns as usize * 8, squares_down as usize * 8);
    assert_eq!(rows.len(), high);
    let ink = card.black_rects();
    let cell_mm = card.square_mm() / 8.0;
    for (y, row) in rows.iter().enumerate() {
        for x in 0..wide {
            let at = [(x as f64 + 0.5) * cell_mm, (y as f64 + 0.5) * cell_mm];
            let white = row >> (wide - 1 - x) & 1 == 1;
            let black = ink.iter().any(|rect| rect.holds(at));
            assert_eq!(black, !white, "{:?} at {at:?}", card.name());
        }
    }
}

#[test]
fn cards_are_black_where_another_library_draws_black() {
    assert_drawn_alike(&CardDesign::standard(), &STANDARD);
    assert_drawn_alike(&CardDesign::small(), &SMALL);
    assert_drawn_alike(&CardDesign::large(), &LARGE);
}

/// `b.getChessboardCorners()` and `b.getObjPoints()` of the standard board.
#[test]
fn corners_and_markers_lie_where_another_library_puts_them() {
    let card = CardDesign::standard();
    let corners = card.inner_corners();
    assert_eq!(corners.len(), 24);
    assert_eq!(corners[0].at_mm, [12.0, 12.0]);
    assert_eq!(corners[5].at_mm, [72.0, 12.0]);
    assert_eq!(corners[6].at_mm, [12.0, 24.0]);
    let first: Vec<_> = card.markers().iter().map(|m| (m.id, m.outside.corners()[0])).collect();
    assert_eq!(
        first[..4],
        [(0, [13.5, 1.5]), (1, [37.5, 1.5]), (2, [61.5, 1.5]), (3, [1.5, 13.5])]
    );
}

#[test]
fn no_id_is_on_two_cards() {
    let ids: Vec<[usize; 2]> = CardDesign::all().iter().map(CardDesign::ids).collect();
    assert_eq!(ids, [[0, 16], [17, 26], [27, 47]]);
}

#[test]
fn bars_and_texts_stand_outside_the_cut_line_and_on_the_sheet() {
    for card in CardDesign::all() {
        let cut = card.cut();
        assert!(card.margin_mm() >= 4.0);
        let sheet = card.sheet();
        for bar in card.bars() {
            assert_eq!(bar.length_mm(), card.bar_mm());
            for corner in bar.ink.corners() {
                assert!(!cut.holds(corner) && sheet.holds(corner), "{:?}", card.name());
            }
        }
        let [across, down] = card.bars();
        let meet = across.ink.corners().iter().any(|c| down.ink.holds(*c))
            || down.ink.corners().iter().any(|c| across.ink.holds(*c));
        assert!(!meet, "{:?}: bars cross", card.name());
        for text in card.texts() {
            assert!(sheet.holds(text.at_mm) && !cut.holds(text.at_mm), "{text:?}");
        }
    }
}

#[test]
fn the_standard_card_fits_a_sheet_of_office_paper() {
    let sheet = CardDesign::standard().sheet();
    // ISO 216 A4 is 210 x 297 mm; printers need some 5 mm of edge (common practice, no source).
    assert!(sheet.width_mm <= 200.0 && sheet.height_mm <= 287.0, "{sheet:?}");
    let large = CardDesign::large().sheet();
    assert!(large.width_mm <= 200.0 && large.height_mm <= 287.0, "{large:?}");
}

#[test]
fn unreadable_boards_are_refused() {
    assert!(CardDesign::own(7, 5, 12.0, 9.0).is_ok());
    assert!(CardDesign::own(2, 5, 12.0, 9.0).is_err());
    assert!(CardDesign::own(11, 10, 12.0, 9.0).is_err());
    assert!(CardDesign::own(u32::MAX, u32::MAX, 12.0, 9.0).is_err());
    for square in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        assert!(CardDesign::own(7, 5, square, 9.0).is_err(), "{square}");
    }
    for marker in [f64::NAN, 0.0, 12.0, 2.0] {
        assert!(CardDesign::own(7, 5, 12.0, marker).is_err(), "{marker}");
    }
}
