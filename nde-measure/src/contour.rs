//! Sub-pixel level lines (marching squares).
//!
//! Grid points stand at whole numbers. Places between two grid points are linear. At a saddle
//! the two high corners belong together, as runs that touch at a corner do.

use crate::photo::Raster;

/// Closed lines along which `field` has the value `level`; high ground on the same side all
/// along. Lines that would leave the grid are closed along its rim: beyond it counts as low.
pub(crate) fn level_lines(field: &Raster, level: f32) -> Vec<Vec<[f64; 2]>> {
    let (w, h) = (field.width as i64, field.height as i64);
    let low = level - 1.0;
    let value = |x: i64, y: i64| {
        if x < 0 || y < 0 || x >= w || y >= h { low } else { field.at(x as usize, y as usize) }
    };
    // Edges are numbered: 2 * place for the edge to the right, + 1 for the edge down.
    let stride = w + 2;
    let place = |x: i64, y: i64| ((y + 1) * stride + (x + 1)) as usize;
    let edges = 2 * (stride * (h + 2)) as usize;
    let mut next = vec![u32::MAX; edges];
    let mut starts = Vec::new();
    // Which places of two neighbouring rows are high, with the rim on both sides.
    let (mut above, mut below) = (vec![false; w as usize + 2], vec![false; w as usize + 2]);
    let mut corners = vec![0_u8; w as usize + 1];
    for y in -1..h {
        std::mem::swap(&mut above, &mut below);
        below.fill(false);
        if y + 1 < h {
            let row = field.row((y + 1) as usize);
            below[1..].iter_mut().zip(row).for_each(|(high, v)| *high = *v >= level);
        }
        // Corners clockwise from the upper left, a bit each.
        for (k, code) in corners.iter_mut().enumerate() {
            let high = [above[k], above[k + 1], below[k + 1], below[k]].map(u8::from);
            *code = high[0] | high[1] << 1 | high[2] << 2 | high[3] << 3;
        }
        for (x, &code) in (-1..w).zip(&corners) {
            if code == 0 || code == 15 {
                continue;
            }
            let [top, right, bottom, left] = [
                2 * place(x, y),
                2 * place(x + 1, y) + 1,
                2 * place(x, y + 1),
                2 * place(x, y) + 1,
            ];
            let mut link = |from: usize, to: usize| {
                next[from] = to as u32;
                starts.push(from);
            };
            // High ground to the right of travel (y down).
            match [0, 1, 2, 3].map(|k| code >> k & 1 == 1) {
                [false, false, false, false] | [true, true, true, true] => {}
                [true, false, false, false] => link(top, left),
                [false, true, false, false] => link(right, top),
                [false, false, true, false] => link(bottom, right),
                [false, false, false, true] => link(left, bottom),
                [true, true, false, false] => link(right, left),
                [false, true, true, false] => link(bottom, top),
                [false, false, true, true] => link(left, right),
                [true, false, false, true] => link(top, bottom),
                [true, true, true, false] => link(bottom, left),
                [true, true, false, true] => link(right, bottom),
                [true, false, true, true] => link(top, right),
                [false, true, true, true] => link(left, top),
                [true, false, true, false] => {
                    link(top, right);
                    link(bottom, left);
                }
                [false, true, false, true] => {
                    link(right, bottom);
                    link(left, top);
                }
            }
        }
    }
    let point = |edge: usize| {
        let (at, down) = (edge / 2, edge % 2 == 1);
        let (x, y) = (at as i64 % stride - 1, at as i64 / stride - 1);
        let (x2, y2) = if down { (x, y + 1) } else { (x + 1, y) };
        let (a, b) = (value(x, y), value(x2, y2));
        let t = f64::from((level - a) / (b - a)).clamp(0.0, 1.0);
        [x as f64 + t * (x2 - x) as f64, y as f64 + t * (y2 - y) as f64]
    };
    let mut lines = Vec::new();
    for start in starts {
        let mut line = Vec::new();
        let mut edge = start;
        while next[edge] != u32::MAX {
            line.push(point(edge));
            edge = std::mem::replace(&mut next[edge], u32::MAX) as usize;
        }
        if line.len() >= 3 {
            lines.push(line);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::size::area_and_centroid;

    #[test]
    fn a_cone_gives_a_circle_to_a_hundredth_of_a_pixel() {
        let mut cone = Raster::filled(41, 41, 0.0);
        for y in 0..41 {
            for x in 0..41 {
                cone.data[y * 41 + x] = 20.0 - (x as f32 - 20.3).hypot(y as f32 - 19.6);
            }
        }
        let lines = level_lines(&cone, 10.0);
        assert_eq!(lines.len(), 1);
        for p in &lines[0] {
            assert!(((p[0] - 20.3).hypot(p[1] - 19.6) - 10.0).abs() < 0.03);
        }
        let (area, middle) = area_and_centroid(&lines[0]);
        assert!((area.abs() - 314.16).abs() < 1.0);
        assert!((middle[0] - 20.3).abs() < 0.01 && (middle[1] - 19.6).abs() < 0.01);
    }

    #[test]
    fn a_ring_has_an_outer_and_an_inner_line_of_opposite_turn() {
        let mut ring = Raster::filled(9, 9, 0.0);
        for y in 2..7 {
            for x in 2..7 {
                ring.data[y * 9 + x] = 1.0;
            }
        }
        ring.data[4 * 9 + 4] = 0.0;
        let lines = level_lines(&ring, 0.5);
        assert_eq!(lines.len(), 2);
        let areas: Vec<f64> = lines.iter().map(|l| area_and_centroid(l).0).collect();
        assert!(areas[0] * areas[1] < 0.0, "{areas:?}");
    }

    #[test]
    fn high_ground_at_the_rim_is_closed_along_it() {
        let lines = level_lines(&Raster::filled(4, 3, 5.0), 1.0);
        assert_eq!(lines.len(), 1);
    }
}
