//! The coat as the user drew it.

use crate::PointPx;
use crate::photo::{Cells, Mask};

/// A corner may lie so far outside the photo, as a share of its side: it was clicked a little beside. Chosen.
const OVERSHOOT: f64 = 0.1;

/// The coat as drawn, without what the scale covers.
pub(crate) fn drawn(cells: &Cells, covered: &Mask, region_px: &[Vec<PointPx>]) -> Mask {
    let mut coat = cells_inside(cells, region_px);
    coat.take_out(covered);
    coat
}

/// A corner that lies clearly outside a photo of this size, pixels: most likely a slip of the pen. What is no number
/// lies nowhere in it.
pub(crate) fn corner_outside(region_px: &[Vec<PointPx>], size_px: [u32; 2]) -> Option<PointPx> {
    let beyond = |p: &&PointPx| {
        p.iter()
            .zip(size_px.map(f64::from))
            .any(|(v, side)| !(-OVERSHOOT * side..=(1.0 + OVERSHOOT) * side).contains(v))
    };
    region_px.iter().flatten().find(beyond).copied()
}

/// Marks the cells whose middle lies inside any of the polygons.
pub(crate) fn cells_inside(cells: &Cells, polygons_px: &[Vec<PointPx>]) -> Mask {
    let mut mask = Mask::empty(cells.width(), cells.height());
    for polygon in polygons_px {
        for j in 0..mask.height {
            let y = cells.grid.centre_px(0, j)[1];
            let mut crossings: Vec<f64> = polygon
                .iter()
                .zip(polygon.iter().cycle().skip(1))
                .filter(|(a, b)| (a[1] > y) != (b[1] > y))
                .map(|(a, b)| a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
                .collect();
            crossings.sort_by(f64::total_cmp);
            for pair in crossings.chunks_exact(2) {
                let from = cells.grid.place_of(pair[0], y).0.ceil().max(0.0) as usize;
                let to = cells.grid.place_of(pair[1], y).0.floor().min(mask.width as f64 - 1.0);
                if to >= 0.0 {
                    for i in from..=to as usize {
                        mask.set(i, j, true);
                    }
                }
            }
        }
    }
    mask
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_far_outside_the_photo_is_named_and_one_just_beside_is_not() {
        let region = |x: f64| vec![vec![[10.0, 10.0], [x, 20.0], [300.0, 400.0]]];
        assert_eq!(corner_outside(&region(2000.0), [2000, 1500]), None);
        assert_eq!(corner_outside(&region(2190.0), [2000, 1500]), None);
        assert_eq!(corner_outside(&region(20_000.0), [2000, 1500]), Some([20_000.0, 20.0]));
        assert_eq!(corner_outside(&region(-300.0), [2000, 1500]), Some([-300.0, 20.0]));
    }
}
