//! A line in short stretches, each with the box it lies in: what is near a place is found without
//! looking at every point.

use crate::PointPx;

/// Points a stretch. Chosen: a line of a thousand points then has some thirty boxes.
const POINTS: usize = 32;

/// A line's points and the box of each stretch of them.
pub(super) struct Stretches<'a> {
    points: &'a [PointPx],
    /// Least and greatest x and y of each stretch, and of all.
    boxes: Vec<[PointPx; 2]>,
    bounds: [PointPx; 2],
}

impl<'a> Stretches<'a> {
    pub(super) fn of(points: &'a [PointPx]) -> Self {
        let boxes: Vec<_> = points.chunks(POINTS).map(boxed).collect();
        let bounds = boxed(boxes.iter().flatten());
        Self { points, boxes, bounds }
    }

    /// Whether the boxes around two lines come as near as `gap`.
    pub(super) fn within(&self, other: &Self, gap: f64) -> bool {
        let ([low, high], [other_low, other_high]) = (self.bounds, other.bounds);
        (0..2).all(|k| low[k] - gap <= other_high[k] && other_low[k] - gap <= high[k])
    }

    /// Squared distance from a place to the nearest point; where that is more than `most`, only that it is more.
    pub(super) fn squared_to(&self, at: PointPx, most: f64) -> f64 {
        let mut nearest = f64::INFINITY;
        for (stretch, corners) in self.points.chunks(POINTS).zip(&self.boxes) {
            if to_box(at, corners) <= nearest.min(most) {
                nearest = stretch.iter().map(|q| squared(at, *q)).fold(nearest, f64::min);
            }
        }
        nearest
    }

    /// The two points at which two lines are nearest, not farther apart than `most`.
    pub(super) fn nearest_to(&self, other: &Self, most: f64) -> Option<[PointPx; 2]> {
        // Rounding must not lose what lies just at `most`.
        let mut least = most.powi(2) * (1.0 + 1e-9);
        let mut own = None;
        for p in self.points {
            let squared = other.squared_to(*p, least);
            if squared < least {
                (least, own) = (squared, Some(*p));
            }
        }
        let p = own?;
        let q = other.points.iter().min_by(|a, b| squared(p, **a).total_cmp(&squared(p, **b)))?;
        ((p[0] - q[0]).hypot(p[1] - q[1]) <= most).then_some([p, *q])
    }
}

/// Least and greatest x and y of places.
fn boxed<'a>(places: impl IntoIterator<Item = &'a PointPx>) -> [PointPx; 2] {
    places.into_iter().fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], p| {
        [[low[0].min(p[0]), low[1].min(p[1])], [high[0].max(p[0]), high[1].max(p[1])]]
    })
}

/// Squared distance between two places.
pub(super) fn squared(p: PointPx, q: PointPx) -> f64 {
    (p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2)
}

/// Squared distance from a place to a box, 0 inside; rounded no higher than that to any point in it.
fn to_box(at: PointPx, [low, high]: &[PointPx; 2]) -> f64 {
    let off = |k: usize| (low[k] - at[k]).max(at[k] - high[k]).max(0.0);
    off(0).powi(2) + off(1).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A spiral of 500 points.
    fn spiral() -> Vec<PointPx> {
        let at = |k: i32| 0.05 * f64::from(k);
        (0..500).map(|k| [at(k) * at(k).cos(), 3.0 + at(k) * at(k).sin()]).collect()
    }

    #[test]
    fn distances_agree_with_a_search_over_all_points() {
        let line = spiral();
        let stretches = Stretches::of(&line);
        for (x, y) in (-30..30).flat_map(|x| (-30..30).map(move |y| (x, y))) {
            let at = [f64::from(x) * 1.1, f64::from(y) * 0.9];
            let slow = line.iter().map(|q| squared(at, *q)).fold(f64::INFINITY, f64::min);
            let exact = |most: f64| stretches.squared_to(at, most).total_cmp(&slow).is_eq();
            assert!(exact(f64::INFINITY) && exact(slow));
            assert!(stretches.squared_to(at, 0.9 * slow) > 0.9 * slow);
        }
        assert!(Stretches::of(&[]).squared_to([0.0, 0.0], f64::INFINITY).is_infinite());
    }

    #[test]
    fn two_lines_are_nearest_where_a_search_over_all_pairs_says() {
        let (a, b) =
            (spiral(), spiral().iter().map(|p| [p[0] + 52.5, p[1] - 7.3]).collect::<Vec<_>>());
        let apart = |[p, q]: [PointPx; 2]| squared(p, q).sqrt();
        let slow =
            a.iter().flat_map(|p| b.iter().map(|q| apart([*p, *q]))).fold(f64::INFINITY, f64::min);
        let pair = Stretches::of(&a).nearest_to(&Stretches::of(&b), 100.0);
        assert!((apart(pair.unwrap()) - slow).abs() < 1e-12);
        assert!(Stretches::of(&a).nearest_to(&Stretches::of(&b), 0.9 * slow).is_none());
    }
}
