//! The camera's place against the plane, from the plane and a focal length.

use crate::PointPx;
use nalgebra::{Matrix3, Vector3};

/// Focal length assumed where the photo does not tell: a phone's main camera, 35 mm equivalent.
/// Common practice, no source: such cameras lie between 23 and 28 mm.
pub const TYPICAL_FOCAL_35MM: f64 = 26.0;
/// Diagonal of the 24 x 36 mm frame that "35 mm equivalent" refers to.
const DIAGONAL_35MM: f64 = 43.27;

/// Focal length in pixels of a whole (not cropped) photo of this size.
#[must_use]
pub fn focal_px(focal_35mm: f64, size_px: [u32; 2]) -> f64 {
    focal_35mm / DIAGONAL_35MM * f64::from(size_px[0]).hypot(f64::from(size_px[1]))
}

/// How the camera stands to the plane at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Angle between the line of sight at the place and the plane's normal, degrees.
    pub tilt_deg: f64,
    /// Distance from the camera to the place, mm.
    pub distance_mm: f64,
}

/// How the camera stands to the plane, for a lens without distortion whose axis meets the photo's
/// middle; none if the homography belongs to no such camera.
#[must_use]
pub fn view(
    photo_from_part: &Matrix3<f64>,
    at_px: PointPx,
    focal_px: f64,
    size_px: [u32; 2],
) -> Option<View> {
    let middle = [f64::from(size_px[0]) / 2.0, f64::from(size_px[1]) / 2.0];
    let back = Matrix3::new(
        1.0 / focal_px,
        0.0,
        -middle[0] / focal_px,
        0.0,
        1.0 / focal_px,
        -middle[1] / focal_px,
        0.0,
        0.0,
        1.0,
    );
    let h = back * photo_from_part;
    let (r1, r2, t) = (h.column(0), h.column(1), h.column(2));
    // Both columns have the length of the unknown factor; without noise they agree.
    let factor = (r1.norm() * r2.norm()).sqrt();
    let normal = r1.cross(&r2);
    let sight = back * Vector3::new(at_px[0], at_px[1], 1.0);
    let along = normal.dot(&sight);
    if normal.norm() <= 0.0 || along.abs() <= f64::EPSILON || factor <= 0.0 {
        return None;
    }
    let cosine = (along / (normal.norm() * sight.norm())).abs().min(1.0);
    let distance_mm = (normal.dot(&t) / along * sight.norm()).abs() / factor;
    distance_mm.is_finite().then(|| View { tilt_deg: cosine.acos().to_degrees(), distance_mm })
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Rotation3;

    #[test]
    fn tilt_and_distance_of_a_made_camera_come_back() {
        let f = focal_px(26.0, [4000, 3000]);
        let camera = Matrix3::new(f, 0.0, 2000.0, 0.0, f, 1500.0, 0.0, 0.0, 1.0);
        for tilt in [0.0_f64, 12.0, 40.0] {
            let turn = Rotation3::from_euler_angles(tilt.to_radians(), 0.0, 0.7);
            let turn = turn.matrix();
            let mut h = Matrix3::from_columns(&[
                turn.column(0).into_owned(),
                turn.column(1).into_owned(),
                Vector3::new(0.0, 0.0, 300.0),
            ]);
            h = camera * h;
            let seen = view(&(h / h[(2, 2)]), [2000.0, 1500.0], f, [4000, 3000]).unwrap();
            assert!((seen.tilt_deg - tilt).abs() < 1e-5, "{seen:?}");
            assert!((seen.distance_mm - 300.0).abs() < 1e-6, "{seen:?}");
        }
        assert!(view(&Matrix3::zeros(), [0.0, 0.0], f, [4000, 3000]).is_none());
    }
}
