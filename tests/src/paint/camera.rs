//! Where a place of the part appears in the photo.
//!
//! Part: millimetres, x right, y down, z away from the camera, surface at z = 0. Photo: pixels, x right,
//! y down, pixel centres at .5. A pinhole with one radial term: r' = r (1 + k1 r^2) in units of the focal length.

/// A pinhole camera in front of the plane z = 0.
#[derive(Clone, Debug)]
pub struct Camera {
    /// Photo width, pixels.
    pub width: usize,
    /// Photo height, pixels.
    pub height: usize,
    /// Focal length, pixels.
    pub focal_px: f64,
    /// First radial term.
    pub k1: f64,
    /// Tilt of the view against the plane's normal, degrees.
    pub tilt_deg: f64,
    turn: [[f64; 3]; 3],
    stand: [f64; 3],
}

/// What a camera is built from.
#[derive(Clone, Debug)]
pub struct Stand {
    /// Photo width, pixels.
    pub width: usize,
    /// Photo height, pixels.
    pub height: usize,
    /// Focal length, pixels.
    pub focal_px: f64,
    /// Pixels a millimetre in the middle of the photo, seen straight on.
    pub px_per_mm: f64,
    /// Tilt, radians.
    pub tilt: f64,
    /// Direction of the axis it is tilted about, radians.
    pub axis: f64,
    /// Roll about the view, radians.
    pub roll: f64,
    /// First radial term.
    pub k1: f64,
}

impl Camera {
    /// A camera that looks at the part's origin.
    #[must_use]
    pub fn looking(stand: &Stand) -> Self {
        let (s, c) = stand.tilt.sin_cos();
        let (a, b) = (stand.axis.cos(), stand.axis.sin());
        // Rodrigues about (a, b, 0).
        let tilt = [
            [c + a * a * (1.0 - c), a * b * (1.0 - c), b * s],
            [a * b * (1.0 - c), c + b * b * (1.0 - c), -a * s],
            [-b * s, a * s, c],
        ];
        let (rs, rc) = stand.roll.sin_cos();
        let mut turn = [[0.0; 3]; 3];
        for k in 0..3 {
            turn[0][k] = rc * tilt[0][k] - rs * tilt[1][k];
            turn[1][k] = rs * tilt[0][k] + rc * tilt[1][k];
            turn[2][k] = tilt[2][k];
        }
        let distance = stand.focal_px / stand.px_per_mm;
        let stand_mm = [0, 1, 2].map(|k| -turn[2][k] * distance);
        Self {
            width: stand.width,
            height: stand.height,
            focal_px: stand.focal_px,
            k1: stand.k1,
            tilt_deg: stand.tilt.to_degrees(),
            turn,
            stand: stand_mm,
        }
    }

    /// The same camera held anew: turned about the part's origin (radians about the photo's right, down and
    /// forward), `nearer` times as near, then moved along the part.
    #[must_use]
    pub fn held_anew(&self, turn: [f64; 3], nearer: f64, shift_mm: [f64; 2]) -> Self {
        let [[sx, cx], [sy, cy], [sz, cz]] = turn.map(|a| [a.sin(), a.cos()]);
        let about = [
            [[1.0, 0.0, 0.0], [0.0, cx, -sx], [0.0, sx, cx]],
            [[cy, 0.0, sy], [0.0, 1.0, 0.0], [-sy, 0.0, cy]],
            [[cz, -sz, 0.0], [sz, cz, 0.0], [0.0, 0.0, 1.0]],
        ];
        let product = |a: [[f64; 3]; 3], b: [[f64; 3]; 3]| {
            [0, 1, 2].map(|r| [0, 1, 2].map(|c| (0..3).map(|k| a[r][k] * b[k][c]).sum::<f64>()))
        };
        let turned = about.into_iter().fold(self.turn, |whole, step| product(step, whole));
        let away = self.stand.iter().map(|v| v * v).sum::<f64>().sqrt() / nearer;
        let [x, y, z] = [0, 1, 2].map(|k| -turned[2][k] * away);
        Self {
            tilt_deg: turned[2][2].clamp(-1.0, 1.0).acos().to_degrees(),
            turn: turned,
            stand: [x + shift_mm[0], y + shift_mm[1], z],
            ..self.clone()
        }
    }

    /// The camera of the same photo brought to another size, of nearly the same proportions.
    #[must_use]
    pub fn resized(&self, width: usize, height: usize) -> Self {
        let focal_px = self.focal_px * width as f64 / self.width as f64;
        Self { width, height, focal_px, ..self.clone() }
    }

    fn middle(&self) -> [f64; 2] {
        [self.width as f64 / 2.0, self.height as f64 / 2.0]
    }

    /// Where a place of the part appears, pixels.
    #[must_use]
    pub fn to_photo(&self, p: [f64; 2]) -> [f64; 2] {
        let d = [p[0] - self.stand[0], p[1] - self.stand[1], -self.stand[2]];
        let [x, y, z] = [0, 1, 2].map(|r| (0..3).map(|k| self.turn[r][k] * d[k]).sum::<f64>());
        let (u, v) = (x / z, y / z);
        let bend = 1.0 + self.k1 * (u * u + v * v);
        let [cx, cy] = self.middle();
        [cx + self.focal_px * u * bend, cy + self.focal_px * v * bend]
    }

    /// Which place of the part a photo place shows; absent above the horizon.
    #[must_use]
    pub fn to_part(&self, at_px: [f64; 2]) -> Option<[f64; 2]> {
        let [cx, cy] = self.middle();
        let (du, dv) = ((at_px[0] - cx) / self.focal_px, (at_px[1] - cy) / self.focal_px);
        let (mut u, mut v) = (du, dv);
        for _ in 0..8 {
            let bend = 1.0 + self.k1 * (u * u + v * v);
            (u, v) = (du / bend, dv / bend);
        }
        let ray = [0, 1, 2].map(|k| self.turn[0][k] * u + self.turn[1][k] * v + self.turn[2][k]);
        if ray[2] < 1.0e-3 {
            return None;
        }
        let t = -self.stand[2] / ray[2];
        Some([self.stand[0] + t * ray[0], self.stand[1] + t * ray[1]])
    }

    /// The place of the plane z = `depth_mm` that stands behind a place of the surface, seen from here.
    #[must_use]
    pub fn behind(&self, p: [f64; 2], depth_mm: f64) -> [f64; 2] {
        let far = 1.0 - depth_mm / self.stand[2];
        [0, 1].map(|k| self.stand[k] + far * (p[k] - self.stand[k]))
    }

    /// Height above the surface, mm.
    #[must_use]
    pub fn height_mm(&self) -> f64 {
        -self.stand[2]
    }

    /// Millimetres a pixel at a place of the part, the geometric mean over directions.
    #[must_use]
    pub fn mm_per_px(&self, p: [f64; 2]) -> f64 {
        let h = 0.01;
        let o = self.to_photo(p);
        let a = self.to_photo([p[0] + h, p[1]]);
        let b = self.to_photo([p[0], p[1] + h]);
        let area = (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
        h / area.abs().sqrt()
    }

    /// Whether a place appears in the photo, this many pixels inside its border.
    #[must_use]
    pub fn sees(&self, p: [f64; 2], inside_px: f64) -> bool {
        let [x, y] = self.to_photo(p);
        x >= inside_px
            && y >= inside_px
            && x <= self.width as f64 - inside_px
            && y <= self.height as f64 - inside_px
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn to_part_undoes_to_photo() {
        let camera = Camera::looking(&Stand {
            width: 1600,
            height: 1200,
            focal_px: 1300.0,
            px_per_mm: 10.0,
            tilt: 0.5,
            axis: 1.0,
            roll: 2.0,
            k1: -0.03,
        });
        for p in [[0.0, 0.0], [31.0, -17.5], [-40.0, 22.0]] {
            let back = camera.to_part(camera.to_photo(p)).expect("in front of the camera");
            assert!((back[0] - p[0]).hypot(back[1] - p[1]) < 1.0e-6, "{back:?}");
        }
        let middle = camera.to_photo([0.0, 0.0]);
        assert!((middle[0] - 800.0).abs() < 1.0e-9 && (middle[1] - 600.0).abs() < 1.0e-9);
    }

    #[test]
    fn held_anew_it_looks_where_it_is_told() {
        let camera = Camera::looking(&Stand {
            width: 1600,
            height: 1200,
            focal_px: 1300.0,
            px_per_mm: 10.0,
            tilt: 0.0,
            axis: 0.0,
            roll: 0.0,
            k1: 0.0,
        });
        let again = camera.held_anew([0.1, 0.0, 0.3], 1.25, [4.0, -3.0]);
        let [x, y] = again.to_photo([4.0, -3.0]);
        assert!((x - 800.0).abs() < 1.0e-9 && (y - 600.0).abs() < 1.0e-9, "{x} {y}");
        assert!((again.tilt_deg - 0.1_f64.to_degrees()).abs() < 1.0e-9);
        assert!((again.height_mm() - 130.0 / 1.25 * 0.1_f64.cos()).abs() < 1.0e-9);
        let roll = again.to_photo([5.0, -3.0]);
        let turned = ((roll[1] - y) / (roll[0] - x)).atan();
        assert!((turned - 0.3).abs() < 1.0e-9, "{turned}");
    }

    #[test]
    fn straight_on_the_pitch_is_the_one_asked_for() {
        let camera = Camera::looking(&Stand {
            width: 1600,
            height: 1200,
            focal_px: 1300.0,
            px_per_mm: 8.0,
            tilt: 0.0,
            axis: 0.0,
            roll: 0.0,
            k1: 0.0,
        });
        assert!((camera.mm_per_px([20.0, 5.0]) - 0.125).abs() < 1.0e-9);
        let right = camera.to_photo([10.0, 0.0]);
        assert!((right[0] - 880.0).abs() < 1.0e-9, "{right:?}");
    }
}
