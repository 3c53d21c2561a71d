//! The part's surface plane as the photo shows it, and how it is fitted to known points.
//!
//! The fit is the normalised direct linear transform as a start, then Gauss-Newton on the distances
//! in the photo. Source: Hartley and Zisserman, Multiple View Geometry, 2nd ed., algorithms 4.2 and
//! 4.3 (from memory). Points far off the rest are left out by their distance to the median.

use crate::scale::bend::Bend;
use crate::{PointMm, PointPx};
use nalgebra::{Matrix3, SMatrix, SVector};

/// The plane of the part's surface, seen in the photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Plane {
    /// Homography from photo pixels to millimetres on the part. Where [`Plane::bend`] is known it takes
    /// places as a lens that bends nothing would show them ([`Bend::straight`]).
    pub part_from_photo: Matrix3<f64>,
    /// Its inverse.
    pub photo_from_part: Matrix3<f64>,
    /// What the lens bends; absent where that was not read: then photo places are taken as they are.
    pub bend: Option<Bend>,
}

impl Plane {
    /// From the homography that shows the part in the photo; none if it shows it as a line.
    #[must_use]
    pub fn from_photo_from_part(photo_from_part: Matrix3<f64>) -> Option<Self> {
        let part_from_photo = photo_from_part.try_inverse()?;
        let sound = part_from_photo.iter().chain(photo_from_part.iter()).all(|v| v.is_finite());
        sound.then_some(Self { part_from_photo, photo_from_part, bend: None })
    }

    /// The same homography behind a lens that bends.
    #[must_use]
    pub fn behind(self, bend: Option<Bend>) -> Self {
        Self { bend, ..self }
    }

    /// Where a lens that bends nothing would show a photo place.
    #[must_use]
    pub fn straight(&self, at_px: PointPx) -> PointPx {
        self.bend.map_or(at_px, |bend| bend.straight(at_px))
    }

    /// The plane through four or more known places: where they were seen, and where they lie on the
    /// part, in the same order. Least squares in the photo; a place far off the others is left out.
    /// `None` where the places span no plane or the two lists differ in length.
    ///
    /// ```
    /// let seen = [[100.0, 100.0], [300.0, 100.0], [300.0, 200.0], [100.0, 200.0]];
    /// let known = [[0.0, 0.0], [20.0, 0.0], [20.0, 10.0], [0.0, 10.0]];
    /// let plane = nde_measure::Plane::through(&seen, &known).expect("four corners");
    /// assert!((plane.mm_per_px([200.0, 150.0]) - 0.1).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn through(photo_px: &[PointPx], part_mm: &[PointMm]) -> Option<Self> {
        if photo_px.len() != part_mm.len() {
            return None;
        }
        let pairs: Vec<Pair> =
            photo_px.iter().zip(part_mm).map(|(&photo, &part)| Pair { part, photo }).collect();
        fit(&pairs, 1.0).map(|fit| fit.plane)
    }

    /// The same with what the lens bends about the middle of a photo of this size, fitted to all places.
    /// `None` where they do not tell it: many places are needed, far from the photo's middle too.
    #[must_use]
    pub fn through_with_lens(
        photo_px: &[PointPx],
        part_mm: &[PointMm],
        size_px: [u32; 2],
    ) -> Option<Self> {
        if photo_px.len() != part_mm.len() {
            return None;
        }
        let pairs: Vec<Pair> =
            photo_px.iter().zip(part_mm).map(|(&photo, &part)| Pair { part, photo }).collect();
        let flat = fit(&pairs, f64::INFINITY)?;
        fit_bent(&pairs, &flat, size_px.map(|side| f64::from(side) / 2.0)).map(|fit| fit.plane)
    }

    /// Where a photo place lies on the part.
    #[must_use]
    pub fn to_part(&self, at_px: PointPx) -> PointMm {
        project(&self.part_from_photo, self.straight(at_px))
    }

    /// Where a part place lies in the photo.
    #[must_use]
    pub fn to_photo(&self, at_mm: PointMm) -> PointPx {
        let straight = project(&self.photo_from_part, at_mm);
        self.bend.map_or(straight, |bend| bend.seen(straight))
    }

    /// Millimetres a pixel at a photo place, the geometric mean over directions.
    #[must_use]
    pub fn mm_per_px(&self, at_px: PointPx) -> f64 {
        let of_lens = self.bend.map_or(1.0, |bend| bend.area_ratio(at_px));
        (area_ratio(&self.part_from_photo, self.straight(at_px)) * of_lens).abs().sqrt()
    }
}

/// The place under a homography.
pub(crate) fn project(h: &Matrix3<f64>, p: [f64; 2]) -> [f64; 2] {
    let w = h[(2, 0)] * p[0] + h[(2, 1)] * p[1] + h[(2, 2)];
    [
        (h[(0, 0)] * p[0] + h[(0, 1)] * p[1] + h[(0, 2)]) / w,
        (h[(1, 0)] * p[0] + h[(1, 1)] * p[1] + h[(1, 2)]) / w,
    ]
}

/// How many times larger a small area becomes under a homography; negative if it is turned over.
pub(crate) fn area_ratio(h: &Matrix3<f64>, p: [f64; 2]) -> f64 {
    // The determinant of the derivative of a homography is det(h) / w^3.
    let w = h[(2, 0)] * p[0] + h[(2, 1)] * p[1] + h[(2, 2)];
    h.determinant() / (w * w * w)
}

/// A known place on the part and where it was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pair {
    pub(crate) part: PointMm,
    pub(crate) photo: PointPx,
}

/// A plane fitted to pairs.
#[derive(Clone, Debug)]
pub(crate) struct Fit {
    pub(crate) plane: Plane,
    /// Indices of the pairs that were kept.
    pub(crate) kept: Vec<usize>,
    /// Root mean square distance in the photo over the kept pairs, pixels.
    pub(crate) rms_px: f64,
    /// Standard uncertainty of one coordinate of one point, from the residuals; absent without redundancy.
    pub(crate) point_u_px: Option<f64>,
    /// Covariance of the eight free entries of `photo_from_part` (last entry fixed at 1) and of what the
    /// lens bends (zero where that was not fitted), per unit variance of a coordinate, in normalised
    /// units; see [`Fit::relative_u`].
    cofactor: SMatrix<f64, 9, 9>,
    norm_part: Similarity,
    norm_photo: Similarity,
}

impl Fit {
    /// Standard uncertainty of what the lens bends, per square pixel, from the scatter of the points alone.
    pub(crate) fn bend_u(&self, floor_u_px: f64) -> f64 {
        let u_px = self.point_u_px.unwrap_or(0.0).max(floor_u_px) * self.norm_photo.factor;
        u_px * self.cofactor[(8, 8)].max(0.0).sqrt() * self.norm_photo.factor.powi(2)
    }

    /// Relative standard uncertainty of a length along either direction at a place on the part, from
    /// the scatter of the points alone.
    pub(crate) fn relative_u(&self, at_mm: PointMm, floor_u_px: f64) -> f64 {
        let u_px = self.point_u_px.unwrap_or(0.0).max(floor_u_px) * self.norm_photo.factor;
        let at = self.norm_part.apply(at_mm);
        let h0 = normalised(&self.plane.photo_from_part, &self.norm_part, &self.norm_photo);
        let bend0 = self.plane.bend.map(|bend| self.norm_photo.of(bend));
        // Relative change of the local area with each entry, by central differences; a length has half.
        let size = |h: &Matrix3<f64>, bend: Option<Bend>| {
            let of_lens = bend.map_or(1.0, |b| b.area_ratio(b.seen(project(h, at))));
            (area_ratio(h, at) / of_lens).abs().ln() / 2.0
        };
        let mut slope = SVector::<f64, 9>::zeros();
        let step = 1e-6;
        for i in 0..8 {
            let (mut above, mut below) = (h0, h0);
            above[(i / 3, i % 3)] += step;
            below[(i / 3, i % 3)] -= step;
            slope[i] = (size(&above, bend0) - size(&below, bend0)) / (2.0 * step);
        }
        if let Some(bend) = bend0 {
            let by = |step: f64| Some(Bend { per_px2: bend.per_px2 + step, ..bend });
            slope[8] = (size(&h0, by(step)) - size(&h0, by(-step))) / (2.0 * step);
        }
        let variance = (slope.transpose() * self.cofactor * slope)[0];
        u_px * variance.max(0.0).sqrt()
    }
}

/// Scale and shift that bring points around the origin at unit spread.
#[derive(Clone, Copy, Debug)]
struct Similarity {
    factor: f64,
    centre: [f64; 2],
}

impl Similarity {
    fn around(points: impl Iterator<Item = [f64; 2]> + Clone) -> Option<Self> {
        let (mut n, mut cx, mut cy) = (0.0, 0.0, 0.0);
        for [x, y] in points.clone() {
            n += 1.0;
            cx += x;
            cy += y;
        }
        let centre = [cx / n, cy / n];
        let spread = points.map(|p| (p[0] - centre[0]).hypot(p[1] - centre[1])).sum::<f64>() / n;
        let factor = std::f64::consts::SQRT_2 / spread;
        factor.is_finite().then_some(Self { factor, centre })
    }

    fn apply(&self, p: [f64; 2]) -> [f64; 2] {
        [(p[0] - self.centre[0]) * self.factor, (p[1] - self.centre[1]) * self.factor]
    }

    /// The lens in places that this brings around the origin.
    fn of(&self, bend: Bend) -> Bend {
        Bend {
            middle_px: self.apply(bend.middle_px),
            per_px2: bend.per_px2 / (self.factor * self.factor),
        }
    }

    fn matrix(&self) -> Matrix3<f64> {
        let f = self.factor;
        Matrix3::new(f, 0.0, -f * self.centre[0], 0.0, f, -f * self.centre[1], 0.0, 0.0, 1.0)
    }

    fn inverse(&self) -> Matrix3<f64> {
        let g = 1.0 / self.factor;
        Matrix3::new(g, 0.0, self.centre[0], 0.0, g, self.centre[1], 0.0, 0.0, 1.0)
    }
}

/// The homography between normalised coordinates, last entry 1.
fn normalised(h: &Matrix3<f64>, part: &Similarity, photo: &Similarity) -> Matrix3<f64> {
    let m = photo.matrix() * h * part.inverse();
    m / m[(2, 2)]
}

/// Fits a plane to four or more pairs; none if they do not span one.
///
/// A pair farther off than six times the median distance (and than `least_px`) is left out, worst
/// first. Chosen: six medians are about five standard deviations of a circular normal scatter, so a
/// good point is practically never lost.
pub(crate) fn fit(pairs: &[Pair], least_px: f64) -> Option<Fit> {
    let mut kept: Vec<usize> = (0..pairs.len()).collect();
    loop {
        let chosen: Vec<Pair> = kept.iter().map(|i| pairs[*i]).collect();
        let found = fit_all(&chosen)?;
        let off: Vec<f64> = chosen.iter().map(|p| distance_px(&found.plane, p)).collect();
        let mut sorted = off.clone();
        sorted.sort_by(f64::total_cmp);
        let limit = (6.0 * sorted[sorted.len() / 2]).max(least_px);
        let worst = (0..off.len()).max_by(|a, b| off[*a].total_cmp(&off[*b]))?;
        if off[worst] <= limit || kept.len() <= 4 {
            return Some(Fit { kept, ..found });
        }
        kept.remove(worst);
    }
}

/// Distance in the photo between where the pair was seen and where the plane puts it.
pub(crate) fn distance_px(plane: &Plane, pair: &Pair) -> f64 {
    let [x, y] = plane.to_photo(pair.part);
    (x - pair.photo[0]).hypot(y - pair.photo[1])
}

fn fit_all(pairs: &[Pair]) -> Option<Fit> {
    if pairs.len() < 4 {
        return None;
    }
    let norm_part = Similarity::around(pairs.iter().map(|p| p.part))?;
    let norm_photo = Similarity::around(pairs.iter().map(|p| p.photo))?;
    let points: Vec<([f64; 2], [f64; 2])> =
        pairs.iter().map(|p| (norm_part.apply(p.part), norm_photo.apply(p.photo))).collect();
    let mut h = direct(&points)?;
    let mut cofactor = SMatrix::<f64, 9, 9>::zeros();
    for _ in 0..10 {
        let (normal, gradient) = normal_equations(&h, &points);
        let inverse = normal.try_inverse()?;
        cofactor.fixed_view_mut::<8, 8>(0, 0).copy_from(&inverse);
        let step = inverse * gradient;
        for i in 0..8 {
            h[(i / 3, i % 3)] += step[i];
        }
        if step.norm() < 1e-12 {
            break;
        }
    }
    let plane = Plane::from_photo_from_part(norm_photo.inverse() * h * norm_part.matrix())?;
    let square_sum: f64 = pairs.iter().map(|p| distance_px(&plane, p).powi(2)).sum();
    #[expect(clippy::cast_precision_loss, reason = "at most some hundred points")]
    let n = pairs.len() as f64;
    let spare = 2.0 * n - 8.0;
    Some(Fit {
        plane,
        kept: (0..pairs.len()).collect(),
        rms_px: (square_sum / n).sqrt(),
        point_u_px: (spare > 0.0).then(|| (square_sum / spare).sqrt()),
        cofactor,
        norm_part,
        norm_photo,
    })
}

/// The same pairs with a lens that bends about a place of the photo, from the plane that was fitted to all
/// of them. None where they do not tell it.
pub(crate) fn fit_bent(pairs: &[Pair], flat: &Fit, middle_px: PointPx) -> Option<Fit> {
    let (norm_part, norm_photo) = (flat.norm_part, flat.norm_photo);
    let mut h = normalised(&flat.plane.photo_from_part, &norm_part, &norm_photo);
    let mut bend = Bend { middle_px: norm_photo.apply(middle_px), per_px2: 0.0 };
    let mut cofactor = SMatrix::<f64, 9, 9>::zeros();
    for _ in 0..10 {
        let mut normal = SMatrix::<f64, 9, 9>::zeros();
        let mut gradient = SVector::<f64, 9>::zeros();
        for pair in pairs {
            let (part, seen) = (norm_part.apply(pair.part), norm_photo.apply(pair.photo));
            let (straight, pull) = (bend.straight(seen), bend.pull(seen));
            let (place, rows) = slopes(&h, part);
            for k in 0..2 {
                let mut row = SVector::<f64, 9>::zeros();
                row.fixed_rows_mut::<8>(0).copy_from(&rows[k]);
                row[8] = -pull[k];
                normal += row * row.transpose();
                gradient += row * (straight[k] - place[k]);
            }
        }
        cofactor = normal.try_inverse()?;
        let step = cofactor * gradient;
        for i in 0..8 {
            h[(i / 3, i % 3)] += step[i];
        }
        bend.per_px2 += step[8];
        if step.norm() < 1e-12 {
            break;
        }
    }
    let per_px2 = bend.per_px2 * norm_photo.factor.powi(2);
    let plane = Plane::from_photo_from_part(norm_photo.inverse() * h * norm_part.matrix())?
        .behind(Some(Bend { middle_px, per_px2 }));
    let square_sum: f64 = pairs.iter().map(|p| distance_px(&plane, p).powi(2)).sum();
    #[expect(clippy::cast_precision_loss, reason = "at most some hundred points")]
    let n = pairs.len() as f64;
    let spare = 2.0 * n - 9.0;
    (spare > 0.0 && square_sum.is_finite()).then(|| Fit {
        plane,
        kept: (0..pairs.len()).collect(),
        rms_px: (square_sum / n).sqrt(),
        point_u_px: Some((square_sum / spare).sqrt()),
        cofactor,
        norm_part,
        norm_photo,
    })
}

/// Direct linear solution between normalised points, last entry 1.
fn direct(points: &[([f64; 2], [f64; 2])]) -> Option<Matrix3<f64>> {
    let mut sum = SMatrix::<f64, 9, 9>::zeros();
    for ([x, y], [u, v]) in points {
        let rows = [
            SVector::<f64, 9>::from([-x, -y, -1.0, 0.0, 0.0, 0.0, u * x, u * y, *u]),
            SVector::<f64, 9>::from([0.0, 0.0, 0.0, -x, -y, -1.0, v * x, v * y, *v]),
        ];
        for row in rows {
            sum += row * row.transpose();
        }
    }
    let eigen = sum.symmetric_eigen();
    let least = eigen.eigenvalues.imin();
    let h = eigen.eigenvectors.column(least);
    let m = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], h[8]);
    let m = m / m[(2, 2)];
    m.iter().all(|v| v.is_finite()).then_some(m)
}

fn normal_equations(
    h: &Matrix3<f64>,
    points: &[([f64; 2], [f64; 2])],
) -> (SMatrix<f64, 8, 8>, SVector<f64, 8>) {
    let mut normal = SMatrix::<f64, 8, 8>::zeros();
    let mut gradient = SVector::<f64, 8>::zeros();
    for (part, seen) in points {
        let (place, rows) = slopes(h, *part);
        for k in 0..2 {
            normal += rows[k] * rows[k].transpose();
            gradient += rows[k] * (seen[k] - place[k]);
        }
    }
    (normal, gradient)
}

/// The place under a homography, and how each of its coordinates changes with the eight free entries.
fn slopes(h: &Matrix3<f64>, [x, y]: [f64; 2]) -> ([f64; 2], [SVector<f64, 8>; 2]) {
    let w = h[(2, 0)] * x + h[(2, 1)] * y + 1.0;
    let [u, v] = project(h, [x, y]);
    let across = SVector::<f64, 8>::from([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y]) / w;
    let down = SVector::<f64, 8>::from([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y]) / w;
    ([u, v], [across, down])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(h: &Matrix3<f64>) -> Vec<Pair> {
        let places =
            (0..6).flat_map(|i| (0..4).map(move |j| [f64::from(i) * 12.0, f64::from(j) * 12.0]));
        places.map(|part| Pair { part, photo: project(h, part) }).collect()
    }

    fn tilted() -> Matrix3<f64> {
        Matrix3::new(9.0, -2.7, 1527.0, -1.3, -9.4, 1079.0, 3.5e-4, -7.8e-4, 1.0)
    }

    #[test]
    fn an_exact_plane_is_found_exactly() {
        let found = fit(&grid(&tilted()), 0.5).unwrap();
        for pair in grid(&tilted()) {
            assert!(distance_px(&found.plane, &pair) < 1e-8);
        }
        assert_eq!(found.kept.len(), 24);
        assert!(found.rms_px < 1e-8);
    }

    #[test]
    fn points_far_off_are_left_out() {
        let mut pairs = grid(&tilted());
        pairs[5].photo[0] += 9.0;
        pairs[17].photo[1] -= 4.0;
        let found = fit(&pairs, 0.5).unwrap();
        assert_eq!(found.kept.len(), 22);
        assert!(!found.kept.contains(&5) && !found.kept.contains(&17));
        assert!(found.rms_px < 1e-8);
    }

    #[test]
    fn points_on_a_line_span_no_plane() {
        let pairs: Vec<Pair> = (0..8)
            .map(|i| Pair { part: [f64::from(i), 0.0], photo: [10.0 * f64::from(i), 5.0] })
            .collect();
        assert!(fit(&pairs, 0.5).is_none());
        assert!(fit(&[], 0.5).is_none());
    }

    /// The claimed uncertainty against the scatter of repeated fits with known noise.
    #[test]
    fn uncertainty_matches_repeated_fits() {
        let exact = grid(&tilted());
        let mut state = 1_u64;
        let mut uniform = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        // Uniform in +-0.5 has a standard deviation of 0.2887; scaled to 0.1 px.
        let at = [80.0, 18.0];
        let (mut sizes, mut claimed) = (Vec::new(), 0.0);
        let runs = 400;
        for _ in 0..runs {
            let pairs: Vec<Pair> = exact
                .iter()
                .map(|p| Pair {
                    photo: [p.photo[0] + 0.3464 * uniform(), p.photo[1] + 0.3464 * uniform()],
                    ..*p
                })
                .collect();
            let found = fit(&pairs, 5.0).unwrap();
            sizes.push(area_ratio(&found.plane.photo_from_part, at).abs().ln() / 2.0);
            claimed += found.relative_u(at, 0.0) / f64::from(runs);
        }
        let mean = sizes.iter().sum::<f64>() / f64::from(runs);
        let scatter =
            (sizes.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / f64::from(runs - 1)).sqrt();
        assert!((claimed / scatter - 1.0).abs() < 0.12, "claimed {claimed}, seen {scatter}");
    }
}
