//! What a lens bends: places seen in the photo, and where a lens that bends nothing would show them.
//!
//! ```text
//! straight = middle + (seen - middle) / (1 + per_px2 * r^2),   r = |seen - middle|, pixels
//! ```
//! Above zero it draws the photo's rim outwards (a cushion), below zero inwards (a barrel). One term
//! is all that is modelled. Source: the division model, Fitzgibbon 2001 (from memory); in small terms it
//! is the usual radial coefficient, `k1 = per_px2 * focal_px^2`, and unlike that it is undone in closed form.

use crate::PointPx;

/// Least denominator, so that any place, however far outside of the photo, has an image. Chosen: the
/// strongest lens believed (k1 = -0.1) comes to it at twice the corner of a wide photo.
const LEAST: f64 = 0.1;

/// The radial term of the lens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Where the lens bends nothing: the photo's middle.
    pub middle_px: PointPx,
    /// The term, per square pixel.
    pub per_px2: f64,
}

impl Bend {
    fn denominator(&self, square: f64) -> f64 {
        (1.0 + self.per_px2 * square).max(LEAST)
    }

    /// Where a lens that bends nothing would show a place that is seen here.
    #[must_use]
    pub fn straight(&self, seen_px: PointPx) -> PointPx {
        let d = [0, 1].map(|k| seen_px[k] - self.middle_px[k]);
        let by = self.denominator(d[0] * d[0] + d[1] * d[1]);
        [0, 1].map(|k| self.middle_px[k] + d[k] / by)
    }

    /// Where this lens shows a place that one which bends nothing would show here.
    #[must_use]
    pub fn seen(&self, straight_px: PointPx) -> PointPx {
        let d = [0, 1].map(|k| straight_px[k] - self.middle_px[k]);
        // Of the two places on the ray the nearer; beyond the last that any place comes to, that one.
        let root = (1.0 - 4.0 * self.per_px2 * (d[0] * d[0] + d[1] * d[1])).max(0.0).sqrt();
        [0, 1].map(|k| self.middle_px[k] + d[k] * 2.0 / (1.0 + root))
    }

    /// How many times larger a small area seen here would be through a lens that bends nothing.
    #[must_use]
    pub fn area_ratio(&self, seen_px: PointPx) -> f64 {
        let d = [0, 1].map(|k| seen_px[k] - self.middle_px[k]);
        let square = d[0] * d[0] + d[1] * d[1];
        let by = self.denominator(square);
        // Across the ray 1 / by, along it the derivative of r / (1 + k r^2).
        (1.0 - self.per_px2 * square) / (by * by * by)
    }

    /// How a place as through a lens that bends nothing moves with the term, pixels for a term of one.
    #[must_use]
    pub(crate) fn pull(&self, seen_px: PointPx) -> PointPx {
        let d = [0, 1].map(|k| seen_px[k] - self.middle_px[k]);
        let square = d[0] * d[0] + d[1] * d[1];
        let by = self.denominator(square);
        d.map(|v| -v * square / (by * by))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLACES: [PointPx; 4] =
        [[1000.0, 750.0], [120.0, 40.0], [1990.0, 1480.0], [1400.0, 300.0]];

    fn lenses() -> [Bend; 3] {
        // k1 of -0.05, 0 and 0.05 at a focal length of 1500 pixels.
        [-0.05, 0.0, 0.05]
            .map(|k1| Bend { middle_px: [1000.0, 750.0], per_px2: k1 / 1500.0_f64.powi(2) })
    }

    #[test]
    fn seen_undoes_straight() {
        for (lens, at) in lenses().iter().flat_map(|l| PLACES.map(|p| (l, p))) {
            let back = lens.seen(lens.straight(at));
            assert!((back[0] - at[0]).hypot(back[1] - at[1]) < 1e-9, "{lens:?} {at:?}: {back:?}");
        }
    }

    /// Against the usual form, seen = straight (1 + k1 r^2): they differ in the fourth power only.
    #[test]
    fn it_is_the_usual_radial_coefficient_in_small_terms() {
        let (focal, k1) = (1500.0, 0.02);
        let lens = Bend { middle_px: [0.0, 0.0], per_px2: k1 / (focal * focal) };
        let (x, y): (f64, f64) = (0.3, 0.2);
        let grown = 1.0 + k1 * (x * x + y * y);
        let seen = lens.seen([focal * x, focal * y]);
        // Twice the square of k1 r^2, 0.0026, of 450 pixels.
        assert!((seen[0] - focal * x * grown).abs() < 0.007, "{seen:?}");
        assert!(seen[0] > focal * x + 1.0, "a cushion draws outwards: {seen:?}");
    }

    #[test]
    fn area_and_pull_are_derivatives() {
        for (lens, [x, y]) in lenses().iter().flat_map(|l| PLACES.map(|p| (l, p))) {
            let h = 0.01;
            let step = |dx: f64, dy: f64| lens.straight([x + dx, y + dy]);
            let (a, b, c, d) = (step(-h, 0.0), step(h, 0.0), step(0.0, -h), step(0.0, h));
            let area =
                ((b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])) / (4.0 * h * h);
            assert!((area / lens.area_ratio([x, y]) - 1.0).abs() < 1e-6, "{lens:?} {x},{y}");
            let step = 1e-12;
            let more = Bend { per_px2: lens.per_px2 + step, ..*lens }.straight([x, y]);
            let less = Bend { per_px2: lens.per_px2 - step, ..*lens }.straight([x, y]);
            let pull = lens.pull([x, y]);
            for k in 0..2 {
                let seen = (more[k] - less[k]) / (2.0 * step);
                assert!((seen - pull[k]).abs() <= 1e-3 * pull[k].abs() + 1.0, "{lens:?} {x},{y}");
            }
        }
    }

    #[test]
    fn places_far_outside_have_an_image_too() {
        for (lens, at) in lenses().iter().flat_map(|l| [[1e7, -1e7], [-1e4, 3e4]].map(|p| (l, p))) {
            for p in [lens.straight(at), lens.seen(at)] {
                assert!(p.iter().all(|v| v.is_finite()), "{lens:?} {at:?}: {p:?}");
            }
        }
    }
}
