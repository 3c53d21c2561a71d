use super::*;
use crate::redness::Window;

/// A body of 0.6 contrast that takes red and blue light by these shares of its loss of green.
fn body(red: f64, blue: f64, redness: f64) -> Body {
    Body {
        outline_px: Vec::new(),
        visible_px: Vec::new(),
        redness_px: Vec::new(),
        level: 0.3,
        visible_level: 0.18,
        redness_level: 0.3,
        peak: 0.6,
        ground: 0.0,
        ground_spread: 0.02,
        loss: [red, 1.0, blue],
        redness,
        slope_per_mm: 1.0,
        fall_per_mm: 1.0,
        mask: Mask::empty(1, 1),
        window: Window { x0: 0, y0: 0, width: 1, height: 1 },
        touches: false,
        around_stronger: false,
        in_even_light: false,
        contrast_as_seen: 0.6,
    }
}

fn odd(body: &Body, ends: f64) -> bool {
    let fibre = || Some(Fibre { ends, width_mm: 0.4, ratio: 10.0 });
    is_odd(body, 0.25, fibre, &SortingOptions::default())
}

#[test]
fn red_lint_is_told_from_a_hairline_by_its_ends() {
    let thin = body(0.4, 0.95, 0.36);
    assert!(odd(&thin, 0.95));
    assert!(!odd(&thin, 0.7));
    // A line of dye as even as a fibre keeps the dye's colour.
    assert!(!odd(&body(0.27, 0.95, 0.55), 0.95));
}

#[test]
fn burnt_out_pigment_takes_more_red_and_more_blue_than_dye() {
    assert!(odd(&body(0.4, 1.15, 0.4), 0.0));
    assert!(!odd(&body(0.4, 0.95, 0.4), 0.0));
    assert!(!odd(&body(0.27, 1.15, 0.4), 0.0));
    // Shade takes red, and what is left without it is no colour to go by.
    assert!(!odd(&Body { in_even_light: true, ..body(0.4, 1.15, 0.4) }, 0.0));
}
