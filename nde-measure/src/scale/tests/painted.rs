//! Photos of a card drawn by plain ray casting: each pixel is the mean of points on the sheet.
//! Shares nothing with the reader but the card's own ink rectangles, which are pinned elsewhere.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "painted places and levels are small and not negative"
)]

use crate::scale::design::{CardDesign, Rect};
use crate::{Photo, PointMm, PointPx};
use nalgebra::{Matrix3, Rotation3, Vector3};

/// A painted photo of one or more cards.
pub(super) struct Painted {
    pub(super) size_px: [u32; 2],
    /// Lens to photo, pixels a radian on the axis.
    pub(super) focal_px: f64,
    pub(super) blur_px: f64,
    /// Grey levels, uniform noise to each side.
    pub(super) noise: f64,
    pub(super) cards: Vec<Laid>,
    /// Grey things lying on everything, in the photo.
    pub(super) covers: Vec<[f64; 4]>,
}

/// A card laid before the camera.
pub(super) struct Laid {
    pub(super) design: CardDesign,
    pub(super) tilt_deg: f64,
    pub(super) turn_deg: f64,
    pub(super) distance_mm: f64,
    /// Where the board's middle stands from the photo's middle, mm.
    pub(super) shift_mm: [f64; 2],
    /// Printed size over designed size.
    pub(super) stretch: [f64; 2],
}

impl Laid {
    pub(super) fn new(design: CardDesign) -> Self {
        Self {
            design,
            tilt_deg: 0.0,
            turn_deg: 0.0,
            distance_mm: 300.0,
            shift_mm: [0.0, 0.0],
            stretch: [1.0, 1.0],
        }
    }

    /// Designed places to photo places.
    pub(super) fn photo_from_design(&self, focal_px: f64, size_px: [u32; 2]) -> Matrix3<f64> {
        let turn = Rotation3::from_euler_angles(0.0, self.tilt_deg.to_radians(), 0.0)
            * Rotation3::from_euler_angles(0.0, 0.0, self.turn_deg.to_radians());
        let m = turn.matrix();
        let board = self.design.board();
        let [sx, sy] = self.stretch;
        let (across, down) = (m.column(0) * sx, m.column(1) * sy);
        let middle = Vector3::new(self.shift_mm[0], self.shift_mm[1], self.distance_mm);
        let origin = middle - across * (board.width_mm / 2.0) - down * (board.height_mm / 2.0);
        let camera = Matrix3::new(
            focal_px,
            0.0,
            f64::from(size_px[0]) / 2.0,
            0.0,
            focal_px,
            f64::from(size_px[1]) / 2.0,
            0.0,
            0.0,
            1.0,
        );
        camera * Matrix3::from_columns(&[across, down, origin])
    }
}

/// A place under a homography, written out here so that the reader's own is not used.
pub(super) fn moved(h: &Matrix3<f64>, at: [f64; 2]) -> [f64; 2] {
    let v = h * Vector3::new(at[0], at[1], 1.0);
    [v[0] / v[2], v[1] / v[2]]
}

impl Painted {
    pub(super) fn with(card: Laid) -> Self {
        Self {
            size_px: [1600, 1200],
            focal_px: 1250.0,
            blur_px: 0.7,
            noise: 3.0,
            cards: vec![card],
            covers: Vec::new(),
        }
    }

    /// Where a designed place of the first card stands in the photo.
    pub(super) fn true_px(&self, at: PointMm) -> PointPx {
        moved(&self.cards[0].photo_from_design(self.focal_px, self.size_px), at)
    }

    pub(super) fn photo(&self) -> Photo {
        let [width, height] = self.size_px;
        let mut light = vec![0.55_f32; (width * height) as usize];
        for card in &self.cards {
            self.lay(card, &mut light);
        }
        let light = blurred(&light, width as usize, height as usize, self.blur_px);
        let mut state = 7_u64;
        let mut uniform = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (state >> 40) as f64 / f64::from(1_u32 << 23) - 1.0
        };
        Photo::from_rgb(image::RgbImage::from_fn(width, height, |x, y| {
            let (u, v) = (f64::from(x) + 0.5, f64::from(y) + 0.5);
            let covered =
                self.covers.iter().any(|[l, t, r, b]| u > *l && u < *r && v > *t && v < *b);
            let value = if covered { 0.35 } else { f64::from(light[(y * width + x) as usize]) };
            // Light falls off to half over the photo's width; then the sRGB curve.
            let lit = value * (1.0 - 0.5 * u / f64::from(width));
            let coded =
                if lit <= 0.003_130_8 { 12.92 * lit } else { 1.055 * lit.powf(1.0 / 2.4) - 0.055 };
            let level = (255.0 * coded + self.noise * uniform()).round().clamp(0.0, 255.0) as u8;
            image::Rgb([level, level, level])
        }))
    }

    fn lay(&self, card: &Laid, light: &mut [f32]) {
        let h = card.photo_from_design(self.focal_px, self.size_px);
        let back = h.try_inverse().unwrap();
        let cut = card.design.cut();
        let ink = InkMap::of(&card.design);
        let corners = cut.corners().map(|c| moved(&h, c));
        let bound = |k: usize, most: u32| {
            let low = corners.iter().map(|c| c[k]).fold(f64::INFINITY, f64::min).floor().max(0.0);
            let high = corners.iter().map(|c| c[k]).fold(0.0, f64::max).ceil().min(f64::from(most));
            low as u32..high as u32
        };
        for y in bound(1, self.size_px[1]) {
            for x in bound(0, self.size_px[0]) {
                let mut sum = 0.0;
                let ground = light[(y * self.size_px[0] + x) as usize];
                for i in 0..25 {
                    // 25 points with 25 different places in each direction, so that an edge along
                    // a pixel row is drawn to a fiftieth of a pixel.
                    let (du, dv) = (f64::from(i) + 0.5, f64::from(7 * i % 25) + 0.5);
                    let at = moved(&back, [f64::from(x) + du / 25.0, f64::from(y) + dv / 25.0]);
                    sum += if !cut.holds(at) {
                        ground
                    } else if ink.is_black(at) {
                        0.04
                    } else {
                        0.85
                    };
                }
                light[(y * self.size_px[0] + x) as usize] = sum / 25.0;
            }
        }
    }
}

/// The board's ink as cells of an eighth of a square, with the card's exact 0.75 marker share.
struct InkMap {
    cell_mm: f64,
    board: Rect,
    across: usize,
    black: Vec<bool>,
}

impl InkMap {
    fn of(design: &CardDesign) -> Self {
        let cell_mm = design.square_mm() / 8.0;
        let board = design.board();
        let across = (board.width_mm / cell_mm).round() as usize;
        let down = (board.height_mm / cell_mm).round() as usize;
        let ink = design.black_rects();
        let black = (0..across * down)
            .map(|i| {
                let at =
                    [(i % across) as f64 + 0.5, (i / across) as f64 + 0.5].map(|v| v * cell_mm);
                ink.iter().any(|r| r.holds(at))
            })
            .collect();
        Self { cell_mm, board, across, black }
    }

    fn is_black(&self, at: PointMm) -> bool {
        self.board.holds(at) && {
            let [x, y] = at.map(|v| (v / self.cell_mm) as usize);
            self.black.get(y * self.across + x.min(self.across - 1)).copied().unwrap_or(false)
        }
    }
}

fn blurred(light: &[f32], width: usize, height: usize, sigma: f64) -> Vec<f32> {
    let reach = (4.0 * sigma).ceil() as i64;
    let weights: Vec<f64> =
        (-reach..=reach).map(|i| (-(i as f64 / sigma).powi(2) / 2.0).exp()).collect();
    let total: f64 = weights.iter().sum();
    let pass = |from: &[f32], across: bool| -> Vec<f32> {
        (0..width * height)
            .map(|i| {
                let (x, y) = ((i % width) as i64, (i / width) as i64);
                let sum: f64 = (-reach..=reach)
                    .zip(&weights)
                    .map(|(d, w)| {
                        let u = if across { (x + d).clamp(0, width as i64 - 1) } else { x };
                        let v = if across { y } else { (y + d).clamp(0, height as i64 - 1) };
                        w * f64::from(from[v as usize * width + u as usize])
                    })
                    .sum();
                (sum / total) as f32
            })
            .collect()
    };
    pass(&pass(light, true), false)
}
