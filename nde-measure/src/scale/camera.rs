//! The camera's place against the plane, from the plane and a focal length.
//!
//! A plane raised by h towards the camera shows every place of it through the same pixel as a place of
//! the plane below, on one line of sight. So it is the plane below, shrunk towards the foot of the
//! camera's height d in the ratio (d - h) / d: a length on it that is read with the plane below reads
//! d / (d - h) too long.

use crate::scale::plane::Plane;
use crate::{PointMm, PointPx};
use nalgebra::{Matrix3, Vector3};

/// Focal length assumed where the photo does not tell: a phone's main camera, 35 mm equivalent.
/// Common practice, no source: such cameras lie between 23 and 28 mm.
pub const TYPICAL_FOCAL_35MM: f64 = 26.0;
/// Relative standard uncertainty of a stated focal length: whole millimetres, and two conventions
/// (by the diagonal, by the width) that differ by 4 % on a 4:3 frame (from memory).
pub const STATED_FOCAL_U: f64 = 0.04;
/// An assumed focal length may be off by this share either way, all values alike. Chosen: a phone's
/// wide lens has half of the typical one, a zoom at twice is not noticed.
pub const TYPICAL_FOCAL_WITHIN: f64 = 0.5;
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

/// How the camera stands to a plane, for a lens without distortion whose axis meets the photo's middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Photo places to directions in the camera's frame.
    sight_from_photo: Matrix3<f64>,
    /// The plane's x and y axes and its origin in the camera's frame, mm; z looks away from the camera.
    camera_from_part: Matrix3<f64>,
    /// The plane's normal in the camera's frame, unit length, towards the camera.
    normal: Vector3<f64>,
}

impl Pose {
    /// From the plane's homography; none if it belongs to no such camera.
    #[must_use]
    pub fn of(photo_from_part: &Matrix3<f64>, focal_px: f64, size_px: [u32; 2]) -> Option<Self> {
        let [cx, cy] = size_px.map(|side| f64::from(side) / 2.0);
        let f = focal_px;
        let back = Matrix3::new(1.0 / f, 0.0, -cx / f, 0.0, 1.0 / f, -cy / f, 0.0, 0.0, 1.0);
        let h = back * photo_from_part;
        // Both columns have the length of the unknown factor; without noise they agree.
        let factor = (h.column(0).norm() * h.column(1).norm()).sqrt();
        let across = h.column(0).cross(&h.column(1));
        if across.norm() <= 0.0 || factor <= 0.0 {
            return None;
        }
        // The plane lies before the camera.
        let factor = factor.copysign(h[(2, 2)]);
        let camera_from_part = h / factor;
        let normal = across / across.norm();
        let towards = -normal.dot(&camera_from_part.column(2)).signum();
        let pose = Self { sight_from_photo: back, camera_from_part, normal: normal * towards };
        let sound = camera_from_part.iter().all(|v| v.is_finite()) && pose.height_mm() > 0.0;
        sound.then_some(pose)
    }

    /// Height of the camera above the plane, mm, above zero.
    #[must_use]
    pub fn height_mm(&self) -> f64 {
        -self.normal.dot(&self.camera_from_part.column(2))
    }

    /// The view of the place of the plane that a pixel shows, as through a lens that bends nothing
    /// ([`Plane::straight`]); none above the plane's horizon.
    #[must_use]
    pub fn view(&self, at_px: PointPx) -> Option<View> {
        let sight = self.sight_from_photo * Vector3::new(at_px[0], at_px[1], 1.0);
        let cosine = -self.normal.dot(&sight) / sight.norm();
        let distance_mm = self.height_mm() / cosine;
        (cosine > f64::EPSILON && distance_mm.is_finite())
            .then(|| View { tilt_deg: cosine.min(1.0).acos().to_degrees(), distance_mm })
    }

    /// Foot of the camera's height, on the plane.
    fn foot_mm(&self) -> Option<PointMm> {
        let down = self.camera_from_part.try_inverse()? * (-self.normal);
        let foot = [down[0] / down[2], down[1] / down[2]];
        foot.iter().all(|v| v.is_finite()).then_some(foot)
    }

    /// The plane that lies `height_mm` nearer to the camera, in the same frame: places of the surface
    /// stand straight above those of the plane below. None at or above the camera.
    #[must_use]
    pub fn raised(&self, plane: &Plane, height_mm: f64) -> Option<Plane> {
        let ratio = 1.0 - height_mm / self.height_mm();
        let [x, y] = self.foot_mm()?;
        let shrink = Matrix3::new(
            ratio,
            0.0,
            (1.0 - ratio) * x,
            0.0,
            ratio,
            (1.0 - ratio) * y,
            0.0,
            0.0,
            1.0,
        );
        if ratio <= 0.0 {
            return None;
        }
        let raised = Plane::from_photo_from_part(plane.photo_from_part * shrink.try_inverse()?)?;
        Some(raised.behind(plane.bend))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Rotation3;

    fn made(tilt_deg: f64, f: f64) -> (Matrix3<f64>, Matrix3<f64>) {
        let camera = Matrix3::new(f, 0.0, 2000.0, 0.0, f, 1500.0, 0.0, 0.0, 1.0);
        let turn = Rotation3::from_euler_angles(tilt_deg.to_radians(), 0.0, 0.7);
        let turn = turn.matrix();
        let to_camera = Matrix3::from_columns(&[
            turn.column(0).into_owned(),
            turn.column(1).into_owned(),
            Vector3::new(0.0, 0.0, 300.0),
        ]);
        let h = camera * to_camera;
        (h / h[(2, 2)], turn.clone_owned())
    }

    #[test]
    fn tilt_and_distance_of_a_made_camera_come_back() {
        let f = focal_px(26.0, [4000, 3000]);
        for tilt in [0.0_f64, 12.0, 40.0] {
            let pose = Pose::of(&made(tilt, f).0, f, [4000, 3000]).unwrap();
            let seen = pose.view([2000.0, 1500.0]).unwrap();
            assert!((seen.tilt_deg - tilt).abs() < 1e-5, "{seen:?}");
            assert!((seen.distance_mm - 300.0).abs() < 1e-6, "{seen:?}");
            let height = 300.0 * tilt.to_radians().cos();
            assert!((pose.height_mm() - height).abs() < 1e-6, "{pose:?}");
        }
        assert!(Pose::of(&Matrix3::zeros(), f, [4000, 3000]).is_none());
    }

    /// Against a camera written out in space: places of the raised plane are projected one by one.
    #[test]
    fn a_raised_plane_is_read_as_it_lies() {
        let f = focal_px(26.0, [4000, 3000]);
        for tilt in [0.0_f64, 25.0, 45.0] {
            let (h, turn) = made(tilt, f);
            let plane = Plane::from_photo_from_part(h).unwrap();
            let pose = Pose::of(&h, f, [4000, 3000]).unwrap();
            for height in [-12.0, 0.0, 8.0, 30.0] {
                let raised = pose.raised(&plane, height).unwrap();
                for at in [[0.0, 0.0], [40.0, -25.0], [-60.0, 10.0]] {
                    // z of the turned frame looks away from the camera here.
                    let place =
                        turn * Vector3::new(at[0], at[1], -height) + Vector3::new(0.0, 0.0, 300.0);
                    let seen = [2000.0 + f * place[0] / place[2], 1500.0 + f * place[1] / place[2]];
                    let back = raised.to_part(seen);
                    let off = (back[0] - at[0]).hypot(back[1] - at[1]);
                    assert!(off < 1e-6, "tilt {tilt}, height {height}: {back:?} for {at:?}");
                }
            }
            assert!(pose.raised(&plane, 301.0).is_none());
        }
    }

    /// Closed form: seen with the plane below, a length on a surface nearer by h reads d / (d - h) too long.
    #[test]
    fn a_length_above_the_plane_reads_too_long_in_the_stated_ratio() {
        let f = focal_px(26.0, [4000, 3000]);
        let (h, _) = made(0.0, f);
        let plane = Plane::from_photo_from_part(h).unwrap();
        let raised = Pose::of(&h, f, [4000, 3000]).unwrap().raised(&plane, 8.0).unwrap();
        let ends = [[1900.0, 1400.0], [2300.0, 1700.0]];
        let length = |plane: &Plane| {
            let [a, b] = ends.map(|e| plane.to_part(e));
            (a[0] - b[0]).hypot(a[1] - b[1])
        };
        assert!((length(&plane) / length(&raised) - 300.0 / 292.0).abs() < 1e-9);
    }
}
