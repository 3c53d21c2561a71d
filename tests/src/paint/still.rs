//! A small photo of a scale on a bench: a card or rules, nothing else, so that a thousand are soon painted.
//!
//! The picture is the middle of a larger photo: the camera stands as far away as one would hold it,
//! and the focal length told is the one that belongs to the part shown.

use super::bench::{Bench, Cover};
use super::camera::Camera;
use super::card::Card;
use super::dice::Dice;
use super::light::Light;
use super::pigment::Rgb;
use super::rule::Rule;
use super::sensor::{LightField, Sensor};
use rayon::prelude::*;

/// What of known size lies in the photo.
#[derive(Clone, Debug)]
pub enum Lying {
    /// One card.
    Card(Card),
    /// One rule or more; the first is the one asked for.
    Rules(Vec<Rule>),
}

/// One photo.
#[derive(Clone, Debug)]
pub struct Still {
    /// The number it was made from.
    pub seed: u64,
    /// The camera.
    pub camera: Camera,
    /// Focal length that the photo tells, 35 mm equivalent: rounded and a little off, or absent.
    pub told_35mm: Option<f64>,
    /// The scale.
    pub lying: Lying,
    /// What hides parts of it.
    pub covers: Vec<Cover>,
    /// The ground.
    pub bench: Bench,
    /// The light.
    pub light: Light,
    /// How light becomes a picture.
    pub sensor: Sensor,
}

/// Share of a mirrored lamp that smooth paper and steel return.
const GLOSS: [f64; 2] = [0.3, 0.8];

impl Still {
    /// The photo as JPEG bytes: the same still gives the same bytes, whatever the number of threads.
    #[must_use]
    pub fn jpeg(&self) -> Vec<u8> {
        let picture = self.sensor.developed(self.light_field(), &Dice::new(self.seed).branch(9));
        self.sensor.jpeg(&picture)
    }

    /// Distance of a place from what the photo shows of the scale, mm: zero on it.
    #[must_use]
    pub fn away_mm(&self, p: [f64; 2]) -> f64 {
        match &self.lying {
            Lying::Card(card) => (-card.inside_mm(p)).max(0.0),
            Lying::Rules(rules) => {
                let (rule, [low, high]) = (&rules[0], self.shown_mm(&rules[0]));
                let [u, v] = rule.on_rule(p);
                let off = |at: f64, low: f64, high: f64| (low - at).max(at - high).max(0.0);
                off(u, low, high).hypot(off(v, 0.0, rule.size_mm[1]))
            }
        }
    }

    /// First and last place along a rule that the photo shows, mm from its end.
    fn shown_mm(&self, rule: &Rule) -> [f64; 2] {
        let middle = rule.size_mm[1] / 2.0;
        let shown = (0..=rule.size_mm[0] as usize)
            .map(|u| u as f64)
            .filter(|u| self.camera.sees(rule.on_part([*u, middle]), 0.0));
        shown.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], u| [low.min(u), high.max(u)])
    }

    fn inside_mm(&self, p: [f64; 2]) -> f64 {
        match &self.lying {
            Lying::Card(card) => card.inside_mm(p),
            Lying::Rules(rules) => rules.first().map_or(f64::NEG_INFINITY, |r| r.inside_mm(p)),
        }
    }

    fn light_field(&self) -> LightField {
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
        let radius = (corners[0][0] - corners[3][0]).hypot(corners[0][1] - corners[3][1]);
        let side = self.samples(middle, radius, &corners);
        let (mut sum, mut gloss) = ([0.0; 3], 0.0);
        for j in 0..side {
            for i in 0..side {
                let step = |n: usize| (n as f64 + 0.5) / side as f64;
                let (colour, shine) = self.shine(at(step(i), step(j)));
                sum = [0, 1, 2].map(|k| sum[k] + colour[k]);
                gloss += shine;
            }
        }
        let n = (side * side) as f64;
        let (light, glare) = (self.light.at(middle), self.light.glare_at(middle));
        [0, 1, 2].map(|k| (sum[k] / n * light[k] + glare * gloss / n) as f32)
    }

    /// Samples along one side of a pixel: many where ink may be, few elsewhere.
    fn samples(&self, middle: [f64; 2], radius: f64, corners: &[[f64; 2]; 4]) -> usize {
        match &self.lying {
            Lying::Card(card) => {
                let inside = card.inside_mm(middle);
                let ink = card.inked(middle);
                let plain = inside > radius && corners.iter().all(|c| card.inked(*c) == ink);
                if inside > -radius && !plain { 6 } else { 1 }
            }
            Lying::Rules(rules) => {
                let near = |r: &Rule| {
                    let inside = r.inside_mm(middle);
                    let [_, v] = r.on_rule(middle);
                    inside > -radius && v.min(r.size_mm[1] - v) < 10.0
                };
                if rules.iter().any(near) { 4 } else { 1 }
            }
        }
    }

    fn shine(&self, p: [f64; 2]) -> (Rgb, f64) {
        if let Some(cover) = self.covers.iter().find(|c| c.hides(p)) {
            return (cover.colour, 0.02);
        }
        match &self.lying {
            Lying::Card(card) if card.inside_mm(p) >= 0.0 => {
                let level = if card.inked(p) { card.ink } else { card.paper };
                return ([level; 3], GLOSS[0]);
            }
            Lying::Rules(rules) => {
                if let Some(rule) = rules.iter().find(|r| r.inside_mm(p) >= 0.0) {
                    return ([rule.reflectance(rule.on_rule(p)); 3], GLOSS[1]);
                }
            }
            Lying::Card(_) => {}
        }
        let behind = self.inside_mm([p[0] - 0.35, p[1] - 0.45]) > 0.0;
        let shade = if behind { 0.7 } else { 1.0 };
        (self.bench.at(p).map(|v| v * shade), 0.03)
    }
}
