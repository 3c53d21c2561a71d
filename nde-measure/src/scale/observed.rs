//! Whether the corners of a card or board tell what the lens bends.
//!
//! They do where many of them reach far from the photo's middle: by simulation a card of 80 by 50 mm in the
//! middle of the photo never tells it, a board that fills the photo does. Held against thirteen photographs
//! of a chessboard through a lens that bends strongly (`tests/tests/real_chessboard.rs`).

use crate::PointPx;
use crate::scale::plane::{Fit, Pair, distance_px, fit_bent};

/// Most that the term's uncertainty may leave open of a length along the ray where marks are measured:
/// three times the term times the square of the distance from the middle. Chosen, with the rule.
const MOST_OPEN: f64 = 0.005;
/// Marks are measured up to so far beyond the corners, mm; within the photo.
const USED_MM: f64 = 80.0;
/// Least ratio of what the term explains to what it leaves, a spare coordinate (F test). Source: the table of
/// F for one against sixty and more, one in a thousand: 12.
const LEAST_F: f64 = 12.0;
/// Most scatter of the corners about the fit, pixels, one coordinate: more, and the sheet does not lie flat or
/// the photo is not sharp, and either looks like a lens. Source: simulation of sheets bowed by 0.3 and 1 mm
/// at 12 MP: below this no sheet bowed by 1 mm was left, and of those bowed by 0.3 mm lengths 80 mm away
/// were off half as much with the term as without.
const MOST_SCATTER_PX: f64 = 0.12;
/// Fewest spare coordinates: with less the scatter itself is not known.
const FEWEST_SPARE: usize = 30;

/// The fit with the lens, where the pairs tell it for certain.
pub(crate) fn with_lens(
    pairs: &[Pair],
    flat: &Fit,
    size_px: [u32; 2],
    floor_u_px: f64,
) -> Option<Fit> {
    let spare = (2 * pairs.len()).checked_sub(9).filter(|spare| *spare >= FEWEST_SPARE)?;
    let middle = size_px.map(|side| f64::from(side) / 2.0);
    let bent = fit_bent(pairs, flat, middle)?;
    let far = farthest_px(pairs, flat, middle);
    let open = 3.0 * bent.bend_u(floor_u_px) * far * far;
    let left = |fit: &Fit| pairs.iter().map(|p| distance_px(&fit.plane, p).powi(2)).sum::<f64>();
    let (without, with) = (left(flat), left(&bent));
    let f = (without - with) / (with / spare as f64).max(floor_u_px * floor_u_px);
    let flat_sheet = bent.point_u_px.is_some_and(|u| u <= MOST_SCATTER_PX);
    (flat_sheet && open <= MOST_OPEN && f >= LEAST_F).then_some(bent)
}

/// How far from the photo's middle marks are measured, pixels: beyond the corners, within the photo.
fn farthest_px(pairs: &[Pair], flat: &Fit, middle: PointPx) -> f64 {
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for pair in pairs {
        for k in 0..2 {
            low[k] = low[k].min(pair.part[k] - USED_MM);
            high[k] = high[k].max(pair.part[k] + USED_MM);
        }
    }
    let corners = [low, [high[0], low[1]], high, [low[0], high[1]]];
    let away = |at: PointPx| {
        let [dx, dy] = [0, 1].map(|k| (at[k] - middle[k]).abs().min(middle[k]));
        dx.hypot(dy)
    };
    corners.iter().map(|c| away(flat.plane.to_photo(*c))).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::bend::Bend;
    use crate::scale::plane::{Plane, fit};
    use nalgebra::Matrix3;

    const SIZE: [u32; 2] = [2000, 1500];

    /// Corners 12 mm apart, seen through a lens with this term, with 0.05 px of noise.
    fn board(columns: i32, rows: i32, px_per_mm: f64, k1: f64) -> Vec<Pair> {
        let bend = Bend { middle_px: [1000.0, 750.0], per_px2: k1 / 1500.0_f64.powi(2) };
        let (w, h) = (f64::from(columns - 1) * 6.0, f64::from(rows - 1) * 6.0);
        let s = px_per_mm;
        let view = Matrix3::new(s, 0.2, 1000.0 - s * w, 0.1, s, 750.0 - s * h, 2e-4, -3e-4, 1.0);
        let plane = Plane::from_photo_from_part(view).unwrap().behind(Some(bend));
        let mut state = 5_u64;
        let mut uniform = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        let places =
            (0..columns).flat_map(|i| (0..rows).map(move |j| [i, j].map(|n| f64::from(n) * 12.0)));
        places
            .map(|part| {
                let seen = plane.to_photo(part);
                Pair { part, photo: seen.map(|v| v + 0.17 * uniform()) }
            })
            .collect()
    }

    #[test]
    fn a_board_that_fills_the_photo_tells_the_lens_and_a_small_one_does_not() {
        let read = |pairs: &[Pair]| {
            let flat = fit(pairs, f64::INFINITY).unwrap();
            with_lens(pairs, &flat, SIZE, 0.05).map(|fit| fit.plane.bend.unwrap())
        };
        let large = read(&board(12, 9, 12.0, -0.03)).unwrap();
        let k1 = large.per_px2 * 1500.0_f64.powi(2);
        assert!((k1 + 0.03).abs() < 0.003, "{k1}");
        assert!(read(&board(6, 4, 6.0, -0.03)).is_none(), "too small");
        assert!(read(&board(12, 9, 12.0, 0.0)).is_none(), "nothing to be told");
    }
}
