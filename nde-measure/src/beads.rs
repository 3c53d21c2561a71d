//! Spots that touch: a row of beads that half contrast does not part.
//!
//! Blur closes gaps below about one and a half of its standard deviations, so touching spots are one
//! outline. They are told by its shape: discs side by side that fill its length, with necks between.

use crate::photo::Mask;
use crate::regions::areas;

/// Necks are narrower than this share of the widest disc. Chosen.
const NECK: f64 = 0.65;
/// The discs together reach at least this share of the length. Chosen: a row of equal discs reaches
/// all of it, a line with two wide places far less.
const FILLED: f64 = 0.75;

/// How many spots touch in a body of length `feret_px`; 1 where it is a single one.
pub(crate) fn touching_spots(mask: &Mask, feret_px: f64) -> usize {
    let mask = mask.tight().0;
    let inner = mask.squared_distance_to(false);
    let widest = inner.iter().copied().fold(0.0_f32, f32::max);
    // A disc of two pixels has no shape.
    if widest < 4.0 {
        return 1;
    }
    let least = widest * (NECK * NECK) as f32;
    let mut cores = Mask::empty(mask.width, mask.height);
    for (core, &d) in cores.data.iter_mut().zip(&inner) {
        *core = d > least;
    }
    let discs: Vec<f64> = areas(&cores)
        .iter()
        .map(|a| {
            let r = a.places().map(|(x, y)| inner[y * mask.width + x]).fold(0.0_f32, f32::max);
            2.0 * f64::from(r).sqrt()
        })
        .collect();
    if discs.iter().sum::<f64>() >= FILLED * feret_px { discs.len().max(1) } else { 1 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn discs(places: &[(f64, f64, f64)]) -> Mask {
        let mut mask = Mask::empty(120, 60);
        for y in 0..60 {
            for x in 0..120 {
                let inside =
                    |&(cx, cy, r): &(f64, f64, f64)| (x as f64 - cx).hypot(y as f64 - cy) <= r;
                mask.set(x, y, places.iter().any(inside));
            }
        }
        mask
    }

    #[test]
    fn beads_are_counted() {
        let row = discs(&[(20.0, 30.0, 12.0), (43.0, 30.0, 12.0), (66.0, 30.0, 12.0)]);
        assert_eq!(touching_spots(&row, 70.0), 3);
        assert_eq!(touching_spots(&discs(&[(20.0, 30.0, 12.0), (41.0, 34.0, 10.0)]), 43.0), 2);
    }

    #[test]
    fn a_spot_and_a_line_are_one() {
        assert_eq!(touching_spots(&discs(&[(20.0, 30.0, 12.0)]), 24.0), 1);
        let line: Vec<(f64, f64, f64)> = (10..100).map(|x| (f64::from(x), 30.0, 4.0)).collect();
        assert_eq!(touching_spots(&discs(&line), 98.0), 1);
        // Two wide places on a line do not fill it.
        let mut lumpy = line;
        lumpy.extend([(30.0, 30.0, 7.0), (70.0, 30.0, 7.0)]);
        assert_eq!(touching_spots(&discs(&lumpy), 98.0), 1);
    }
}
