//! Photos of a rule drawn by plain ray casting: each pixel is the mean of points on the bench.
//! Shares no function with the reader.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "painted places and levels are small and not negative"
)]

use nalgebra::{Matrix3, Rotation3, Vector3};

/// One row of graduations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::scale) enum Graduation {
    Millimetre,
    HalfMillimetre,
    ThirtySecond,
    SixtyFourth,
}

impl Graduation {
    pub(in crate::scale) fn pitch_mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::HalfMillimetre => 0.5,
            Self::ThirtySecond => 0.79375,
            Self::SixtyFourth => 0.396_875,
        }
    }

    fn length_mm(self, number: i64) -> f64 {
        match self {
            Self::Millimetre => match number.rem_euclid(10) {
                0 => 6.0,
                5 => 4.5,
                _ => 3.0,
            },
            Self::HalfMillimetre => match number.rem_euclid(20) {
                0 => 6.0,
                10 => 4.5,
                n if n % 2 == 0 => 3.0,
                _ => 2.0,
            },
            Self::ThirtySecond => 2.0 + 0.9 * f64::from(number.trailing_zeros().min(5)),
            Self::SixtyFourth => 1.6 + 0.8 * f64::from(number.trailing_zeros().min(6)),
        }
    }
}

/// A painted rule.
#[derive(Clone, Debug)]
pub(in crate::scale) struct Painted {
    pub(in crate::scale) size_px: [u32; 2],
    pub(in crate::scale) focal_px: f64,
    /// Radial term of the lens: seen = straight (1 + k1 r^2), r in focal lengths from the middle.
    pub(in crate::scale) k1: f64,
    pub(in crate::scale) distance_mm: f64,
    pub(in crate::scale) tilt_deg: f64,
    pub(in crate::scale) tilt_towards_deg: f64,
    pub(in crate::scale) turn_deg: f64,
    /// Upper and lower edge.
    pub(in crate::scale) rows: [Graduation; 2],
    pub(in crate::scale) length_mm: f64,
    pub(in crate::scale) width_mm: f64,
    pub(in crate::scale) blur_px: f64,
    pub(in crate::scale) noise: f64,
    /// Steel, ink and bench, linear light.
    pub(in crate::scale) light: [f64; 3],
    /// Glare: photo place, radius; none if the radius is 0.
    pub(in crate::scale) glare: [f64; 3],
}

impl Default for Painted {
    fn default() -> Self {
        Self {
            size_px: [1100, 700],
            focal_px: 1300.0,
            k1: 0.0,
            distance_mm: 130.0,
            tilt_deg: 0.0,
            tilt_towards_deg: 0.0,
            turn_deg: 3.0,
            rows: [Graduation::Millimetre, Graduation::HalfMillimetre],
            length_mm: 80.0,
            width_mm: 18.0,
            blur_px: 0.7,
            noise: 2.0,
            light: [0.45, 0.08, 0.2],
            glare: [0.0; 3],
        }
    }
}

impl Painted {
    /// Part to photo; the rule's upper left corner is the origin.
    pub(in crate::scale) fn photo_from_part(&self) -> Matrix3<f64> {
        let z = Vector3::z_axis();
        let towards = self.tilt_towards_deg.to_radians();
        let turn = Rotation3::from_axis_angle(&z, towards)
            * Rotation3::from_euler_angles(0.0, self.tilt_deg.to_radians(), 0.0)
            * Rotation3::from_axis_angle(&z, self.turn_deg.to_radians() - towards);
        let m = turn.matrix();
        let (across, down) = (m.column(0).into_owned(), m.column(1).into_owned());
        let origin = Vector3::new(0.0, 0.0, self.distance_mm)
            - across * (self.length_mm / 2.0)
            - down * (self.width_mm / 2.0);
        let [w, h] = self.size_px.map(f64::from);
        let f = self.focal_px;
        Matrix3::new(f, 0.0, w / 2.0, 0.0, f, h / 2.0, 0.0, 0.0, 1.0)
            * Matrix3::from_columns(&[across, down, origin])
    }

    /// Where a place of the rule is seen.
    pub(in crate::scale) fn to_photo(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let v = self.photo_from_part() * Vector3::new(x, y, 1.0);
        let middle = self.size_px.map(|n| f64::from(n) / 2.0);
        let d = [v[0] / v[2] - middle[0], v[1] / v[2] - middle[1]];
        let grown = 1.0 + self.k1 * (d[0] * d[0] + d[1] * d[1]) / self.focal_px.powi(2);
        [middle[0] + d[0] * grown, middle[1] + d[1] * grown]
    }

    /// Where a straight lens would show what is seen here: the other way round, by turns.
    fn straight(&self, [u, v]: [f64; 2]) -> [f64; 2] {
        let middle = self.size_px.map(|n| f64::from(n) / 2.0);
        let seen = [u - middle[0], v - middle[1]];
        let mut d = seen;
        for _ in 0..6 {
            let grown = 1.0 + self.k1 * (d[0] * d[0] + d[1] * d[1]) / self.focal_px.powi(2);
            d = seen.map(|s| s / grown);
        }
        [middle[0] + d[0], middle[1] + d[1]]
    }

    fn light_at(&self, [x, y]: [f64; 2]) -> f64 {
        let [steel, ink, bench] = self.light;
        if !((0.0..=self.length_mm).contains(&x) && (0.0..=self.width_mm).contains(&y)) {
            return bench;
        }
        // A thin dark rim, as stamped rules have.
        if y < 0.12 || y > self.width_mm - 0.12 {
            return ink;
        }
        for (row, depth) in self.rows.iter().zip([y, self.width_mm - y]) {
            let pitch = row.pitch_mm();
            let from_start = x - 2.0;
            let number = (from_start / pitch).round() as i64;
            let off = (from_start - number as f64 * pitch).abs();
            let thick = if pitch < 0.7 { 0.07 } else { 0.1 };
            if off < thick && depth < row.length_mm(number) && from_start > -0.1 {
                return ink;
            }
            // A numeral: a small box beyond every longest tick.
            let longest = if pitch < 0.7 { 20.0 } else { 10.0 } * pitch;
            let off = (from_start - (from_start / longest).round() * longest).abs();
            if off > 0.2 && off < 0.9 && depth > 6.2 && depth < 7.6 {
                return ink;
            }
        }
        // Brushed along the rule.
        let line = ((y * 31.0).floor() * 12.9898).sin() * 43758.5453;
        steel * (0.95 + 0.1 * (line - line.floor()))
    }

    pub(in crate::scale) fn photo(&self) -> image::RgbImage {
        let [width, height] = self.size_px;
        let back = self.photo_from_part().try_inverse().unwrap();
        let mut light = vec![0.0_f32; (width * height) as usize];
        for y in 0..height {
            for x in 0..width {
                let mut sum = 0.0;
                for i in 0..7 {
                    let u = f64::from(x) + (f64::from(i) + 0.5) / 7.0;
                    let v = f64::from(y) + (f64::from(3 * i % 7) + 0.5) / 7.0;
                    let [u, v] = self.straight([u, v]);
                    let p = back * Vector3::new(u, v, 1.0);
                    sum += self.light_at([p[0] / p[2], p[1] / p[2]]);
                }
                light[(y * width + x) as usize] = (sum / 7.0) as f32;
            }
        }
        let light = blurred(&light, width as usize, self.blur_px);
        let mut state = 11_u64;
        let mut uniform = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (state >> 40) as f64 / f64::from(1_u32 << 23) - 1.0
        };
        image::RgbImage::from_fn(width, height, |x, y| {
            let (u, v) = (f64::from(x) + 0.5, f64::from(y) + 0.5);
            let [gx, gy, radius] = self.glare;
            let near = if radius > 0.0 { (u - gx).hypot(v - gy) / radius } else { 9.0 };
            let lit = f64::from(light[(y * width + x) as usize])
                * (1.0 - 0.4 * u / f64::from(width))
                + 1.2 * (-near * near).exp();
            let lit = lit.min(1.0);
            let coded =
                if lit <= 0.003_130_8 { 12.92 * lit } else { 1.055 * lit.powf(1.0 / 2.4) - 0.055 };
            let level = (255.0 * coded + self.noise * uniform()).round().clamp(0.0, 255.0) as u8;
            image::Rgb([level; 3])
        })
    }
}

fn blurred(light: &[f32], width: usize, sigma: f64) -> Vec<f32> {
    let height = light.len() / width;
    let reach = (3.5 * sigma).ceil() as i64;
    let weights: Vec<f32> =
        (-reach..=reach).map(|i| (-(i as f64 / sigma).powi(2) / 2.0).exp() as f32).collect();
    let total: f32 = weights.iter().sum();
    let pass = |from: &[f32], dx: i64, dy: i64| -> Vec<f32> {
        (0..light.len())
            .map(|i| {
                let (x, y) = ((i % width) as i64, (i / width) as i64);
                let sum: f32 = (-reach..=reach)
                    .zip(&weights)
                    .map(|(d, w)| {
                        let u = (x + d * dx).clamp(0, width as i64 - 1) as usize;
                        let v = (y + d * dy).clamp(0, height as i64 - 1) as usize;
                        w * from[v * width + u]
                    })
                    .sum();
                sum / total
            })
            .collect()
    };
    pass(&pass(light, 1, 0), 0, 1)
}
