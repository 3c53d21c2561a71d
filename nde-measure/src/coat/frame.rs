//! How an even area lies in the photo's frame: a bench goes along it, a part is cut by it.

use crate::regions::Area;

/// Areas are cores of even ground, shaved by a few cells on all sides: what ends this near to the frame
/// reaches it, cells.
const SHAVED: usize = 12;

/// How many sides of the photo's frame an area reaches.
pub(super) fn sides_of_frame(area: &Area, width: usize, height: usize) -> usize {
    let [x0, y0, x1, y1] = area.bounds();
    let reaches = [x0 <= SHAVED, y0 <= SHAVED, x1 + SHAVED >= width, y1 + SHAVED >= height];
    reaches.into_iter().filter(|yes| *yes).count()
}

/// Whether an area follows the photo's frame further than a part that is cut by it would: a bench does.
pub(super) fn runs_along_the_frame(area: &Area, width: usize, height: usize) -> bool {
    let at_frame = |x: usize, y: usize| x == 0 || y == 0 || x + 1 == width || y + 1 == height;
    let near = |x: usize, y: usize| {
        (0..=SHAVED)
            .any(|d| at_frame(x.saturating_sub(d), y.saturating_sub(d)) || at_frame(x + d, y + d))
    };
    let b = area.bounds();
    if !(near(b[0], b[1]) || near(b[2] - 1, b[3] - 1)) {
        return false;
    }
    let rim = area.places().filter(|&(x, y)| near(x, y)).count() as f64 / SHAVED as f64;
    rim > 1.3 * (area.size() as f64).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Mask;
    use crate::regions::areas;

    const SIZE: (usize, usize) = (200, 150);

    fn area(is: impl Fn(usize, usize) -> bool) -> Area {
        let mut mask = Mask::empty(SIZE.0, SIZE.1);
        for y in 0..SIZE.1 {
            for x in 0..SIZE.0 {
                mask.set(x, y, is(x, y));
            }
        }
        areas(&mask).swap_remove(0)
    }

    #[test]
    fn a_bench_runs_along_the_frame_and_a_part_that_is_cut_by_it_does_not() {
        let bench = area(|x, y| x < 30 || y < 30 || x >= 170);
        assert_eq!(sides_of_frame(&bench, SIZE.0, SIZE.1), 4);
        assert!(runs_along_the_frame(&bench, SIZE.0, SIZE.1));
        let part = area(|x, y| x < 120 && (30..130).contains(&y));
        assert_eq!(sides_of_frame(&part, SIZE.0, SIZE.1), 1);
        assert!(!runs_along_the_frame(&part, SIZE.0, SIZE.1));
    }
}
