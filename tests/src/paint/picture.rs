//! The scene as light on the sensor, and as a JPEG.

use super::dice::Dice;
use super::layer::Ground;
use super::pigment::Rgb;
use super::scene::Scene;
use super::sensor::LightField;
use image::RgbImage;
use rayon::prelude::*;

/// What one place sends to the camera.
#[derive(Clone, Copy, Default)]
struct Shine {
    colour: Rgb,
    /// How much of a mirrored lamp it returns, 0 to 1.
    gloss: f64,
}

impl Scene {
    /// The photo as JPEG bytes: the same scene gives the same bytes, whatever the number of threads.
    #[must_use]
    pub fn jpeg(&self) -> Vec<u8> {
        self.sensor.jpeg(&self.picture())
    }

    /// The photo before it is packed.
    #[must_use]
    pub fn picture(&self) -> RgbImage {
        self.sensor.developed(self.light_field(), &Dice::new(self.seed).branch(9))
    }

    /// Linear light of every pixel, averaged over its area.
    #[must_use]
    pub fn light_field(&self) -> LightField {
        let (w, h) = (self.camera.width, self.camera.height);
        let place = |x: f64, y: f64| self.camera.to_part([x, y]).unwrap_or([1.0e6, 1.0e6]);
        let rows: Vec<Vec<[f32; 3]>> = (0..h)
            .into_par_iter()
            .map(|y| {
                let corners = |y: usize| -> Vec<[f64; 2]> {
                    (0..=w).map(|x| place(x as f64, y as f64)).collect()
                };
                let (top, bottom) = (corners(y), corners(y + 1));
                (0..w).map(|x| self.pixel([top[x], top[x + 1], bottom[x], bottom[x + 1]])).collect()
            })
            .collect();
        let plane = |k: usize| rows.iter().flatten().map(|c| c[k]).collect();
        LightField { width: w, height: h, planes: [plane(0), plane(1), plane(2)] }
    }

    /// The place of the card's plane that is seen where a place of the surface is.
    fn on_card(&self, p: [f64; 2]) -> [f64; 2] {
        self.camera.behind(p, self.card.below_mm)
    }

    /// Mean light of the quadrilateral a pixel shows.
    fn pixel(&self, corners: [[f64; 2]; 4]) -> [f32; 3] {
        let at = |s: f64, t: f64| -> [f64; 2] {
            [0, 1].map(|k| {
                let top = corners[0][k] + (corners[1][k] - corners[0][k]) * s;
                let bottom = corners[2][k] + (corners[3][k] - corners[2][k]) * s;
                top + (bottom - top) * t
            })
        };
        let middle = at(0.5, 0.5);
        let radius = (corners[0][0] - corners[3][0]).hypot(corners[0][1] - corners[3][1]) * 0.6;
        let card = self.card.inside_mm(self.on_card(middle));
        let side = if card > -radius {
            let ink = self.card.inked(self.on_card(middle));
            let plain =
                card > radius && corners.iter().all(|c| self.card.inked(self.on_card(*c)) == ink);
            if plain { 1 } else { 8 }
        } else if !self.layers.bare(middle) || self.part.plate.inside_mm(middle).abs() < radius {
            4
        } else {
            2
        };
        let mut sum = Shine::default();
        for j in 0..side {
            for i in 0..side {
                let step = |n: usize| (n as f64 + 0.5) / side as f64;
                let shine = self.shine(at(step(i), step(j)));
                sum.colour = [0, 1, 2].map(|k| sum.colour[k] + shine.colour[k]);
                sum.gloss += shine.gloss;
            }
        }
        let n = (side * side) as f64;
        let light = self.light.at(middle);
        let glare = self.light.glare_at(middle) * sum.gloss / n;
        [0, 1, 2].map(|k| (sum.colour[k] / n * light[k] + glare) as f32)
    }

    fn shine(&self, p: [f64; 2]) -> Shine {
        let q = self.on_card(p);
        let card = self.card.inside_mm(q);
        if card >= 0.0 {
            let level = if self.card.inked(q) { self.card.ink } else { self.card.paper };
            let level = level * (1.0 + 0.006 * self.part.powder.at(p[0] * 5.0, p[1] * 5.0));
            return Shine { colour: [level, level, level * 0.98], gloss: 0.06 };
        }
        // A card is 0.3 mm thick: a thin shade runs along two of its edges.
        let behind = self.card.inside_mm([q[0] - 0.35, q[1] - 0.45]);
        let shade = if behind > 0.0 { 0.72 } else { 1.0 };
        if self.part.plate.inside_mm(p) < 0.0 {
            let colour = self.layers.colour(Ground::Bench, self.part.bench_at(p), p);
            return Shine { colour: colour.map(|v| v * shade), gloss: 0.03 };
        }
        let cover = self.part.cover(p);
        let mut colour = [0.0; 3];
        if cover > 0.0 {
            let coat = self.layers.colour(Ground::Coat, self.part.white, p);
            let texture = self.part.powder_at(p);
            colour = coat.map(|v| v * texture * cover);
        }
        if cover < 1.0 {
            let metal = self.layers.colour(Ground::Metal, self.part.metal_at(p), p);
            colour = [0, 1, 2].map(|k| colour[k] + metal[k] * (1.0 - cover));
        }
        Shine { colour: colour.map(|v| v * shade), gloss: 0.08 * cover + 0.8 * (1.0 - cover) }
    }
}
