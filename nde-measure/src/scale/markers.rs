//! Coded markers read out of dark quads.

use crate::PointPx;
use crate::scale::dictionary::{CODE_CELLS, MARKER_CELLS, decode};
use crate::scale::grey::Grey;
use crate::scale::quads::Quad;
use nalgebra::Matrix3;

/// Least step from the black border to the white around it, grey levels. Chosen: twice what makes
/// a pixel dark at all.
const LEAST_STEP: f64 = 12.0;
/// Border cells (of 20) that may look white: a glint or a speck of developer.
const MOST_WRONG_BORDER: u32 = 2;

/// A marker read in the photo.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sighting {
    pub(crate) id: usize,
    /// Outer corners of the black border, photo pixels, clockwise as printed from its top left.
    pub(crate) corners_px: [PointPx; 4],
}

/// Reads the marker in a quad, if there is one.
pub(crate) fn read(grey: &Grey, quad: &Quad) -> Option<Sighting> {
    let from_unit = unit_square_to(quad)?;
    let level = |u: f64, v: f64| {
        let w = from_unit[(2, 0)] * u + from_unit[(2, 1)] * v + from_unit[(2, 2)];
        let x = from_unit[(0, 0)] * u + from_unit[(0, 1)] * v + from_unit[(0, 2)];
        let y = from_unit[(1, 0)] * u + from_unit[(1, 1)] * v + from_unit[(1, 2)];
        grey.at([x / w, y / w])
    };
    let cell = 1.0 / MARKER_CELLS as f64;
    // Around the border is white paper; half a cell out lies well within it.
    let (mut white, mut black) = (0.0, 0.0);
    for i in 0..4 {
        let along = (f64::from(i) + 0.5) / 4.0;
        for (out, rim) in [(-0.5 * cell, 0.5 * cell), (1.0 + 0.5 * cell, 1.0 - 0.5 * cell)] {
            white += level(along, out)? + level(out, along)?;
            black += level(along, rim)? + level(rim, along)?;
        }
    }
    let (white, black) = (white / 16.0, black / 16.0);
    if white - black < LEAST_STEP {
        return None;
    }
    let middle = (white + black) / 2.0;
    let mut cells = 0_u16;
    let mut wrong_border = 0;
    for row in 0..MARKER_CELLS {
        for column in 0..MARKER_CELLS {
            let (u, v) = ((column as f64 + 0.5) * cell, (row as f64 + 0.5) * cell);
            let mut sum = level(u, v)?;
            for (du, dv) in [(-0.2, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.2, 0.2)] {
                sum += level(u + du * cell, v + dv * cell)?;
            }
            let is_white = sum / 5.0 > middle;
            let inner = 1..=CODE_CELLS;
            if inner.contains(&row) && inner.contains(&column) {
                cells = cells << 1 | u16::from(is_white);
            } else {
                wrong_border += u32::from(is_white);
                if wrong_border > MOST_WRONG_BORDER {
                    return None;
                }
            }
        }
    }
    let decoded = decode(cells)?;
    let block = grey.block as f64;
    let corner = |i: usize| quad[(i + 4 - decoded.quarter_turns) % 4].map(|v| v * block);
    Some(Sighting { id: decoded.id, corners_px: [corner(0), corner(1), corner(2), corner(3)] })
}

/// The homography from the unit square (corners 0,0 1,0 1,1 0,1) to a quad.
///
/// Source: Heckbert, Fundamentals of Texture Mapping and Image Warping, 1989, section 2.2.3 (from memory).
fn unit_square_to(quad: &Quad) -> Option<Matrix3<f64>> {
    let [p0, p1, p2, p3] = *quad;
    let sum = [p0[0] - p1[0] + p2[0] - p3[0], p0[1] - p1[1] + p2[1] - p3[1]];
    let d1 = [p1[0] - p2[0], p1[1] - p2[1]];
    let d2 = [p3[0] - p2[0], p3[1] - p2[1]];
    let det = d1[0] * d2[1] - d2[0] * d1[1];
    if det.abs() < 1e-9 {
        return None;
    }
    let g = (sum[0] * d2[1] - d2[0] * sum[1]) / det;
    let h = (d1[0] * sum[1] - sum[0] * d1[1]) / det;
    Some(Matrix3::new(
        p1[0] - p0[0] + g * p1[0],
        p3[0] - p0[0] + h * p3[0],
        p0[0],
        p1[1] - p0[1] + g * p1[1],
        p3[1] - p0[1] + h * p3[1],
        p0[1],
        g,
        h,
        1.0,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::dictionary::{CODES, is_white};
    use crate::scale::plane::project;

    /// A marker drawn cell by cell, turned clockwise by quarter turns, ten pixels a cell.
    fn drawn(id: usize, quarter_turns: usize) -> Grey {
        let side = (MARKER_CELLS + 2) * 10;
        let mut levels = vec![220; side * side];
        for y in 10..side - 10 {
            for x in 10..side - 10 {
                let (mut column, mut row) = (x / 10 - 1, y / 10 - 1);
                for _ in 0..quarter_turns {
                    // Undo one clockwise turn.
                    (column, row) = (row, MARKER_CELLS - 1 - column);
                }
                let inner = 1..=CODE_CELLS;
                let white = inner.contains(&row)
                    && inner.contains(&column)
                    && is_white(CODES[id], row - 1, column - 1);
                levels[y * side + x] = if white { 210 } else { 60 };
            }
        }
        Grey { width: side, height: side, levels, block: 2 }
    }

    #[test]
    fn a_marker_is_read_in_any_turn_with_its_own_first_corner() {
        let quad = [[10.0, 10.0], [70.0, 10.0], [70.0, 70.0], [10.0, 70.0]];
        for turns in 0..4 {
            let seen = read(&drawn(23, turns), &quad).unwrap();
            assert_eq!(seen.id, 23);
            let first = quad[turns].map(|v| v * 2.0);
            assert!((seen.corners_px[0][0] - first[0]).abs() < 1e-9, "{turns}");
            assert!((seen.corners_px[0][1] - first[1]).abs() < 1e-9, "{turns}");
        }
    }

    #[test]
    fn a_plain_black_square_is_no_marker() {
        let mut grey = drawn(0, 0);
        for level in grey.levels.iter_mut().filter(|l| **l < 215) {
            *level = 60;
        }
        let quad = [[10.0, 10.0], [70.0, 10.0], [70.0, 70.0], [10.0, 70.0]];
        assert_eq!(read(&grey, &quad), None);
    }

    #[test]
    fn the_unit_square_reaches_the_quad() {
        let quad = [[3.0, 4.0], [30.0, 8.0], [25.0, 40.0], [1.0, 22.0]];
        let h = unit_square_to(&quad).unwrap();
        for (unit, there) in [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]].into_iter().zip(quad)
        {
            let [x, y] = project(&h, unit);
            assert!((x - there[0]).hypot(y - there[1]) < 1e-9);
        }
        assert!(unit_square_to(&[[0.0, 0.0]; 4]).is_none());
    }
}
