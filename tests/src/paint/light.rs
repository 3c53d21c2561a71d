//! The light on the bench: slope, colour slope, one shadow, glare.

use super::dice::Dice;
use super::pigment::Rgb;
use super::relief::Relief;

/// A shadow with one straight border.
#[derive(Clone, Debug)]
pub struct Shadow {
    /// A place on the border, mm.
    pub at_mm: [f64; 2],
    /// Direction into the shade, radians.
    pub angle: f64,
    /// Width of the half shade, mm.
    pub soft_mm: f64,
    /// What is left of the light in the shade, per channel.
    pub left: Rgb,
}

impl Shadow {
    /// Distance of a place from the border, mm: positive in the shade.
    #[must_use]
    pub fn depth_mm(&self, p: [f64; 2]) -> f64 {
        let (sin, cos) = self.angle.sin_cos();
        (p[0] - self.at_mm[0]) * cos + (p[1] - self.at_mm[1]) * sin
    }
}

/// A mirrored lamp.
#[derive(Clone, Debug)]
pub struct Glare {
    /// Its middle, mm.
    pub at_mm: [f64; 2],
    /// Its spread, mm.
    pub spread_mm: f64,
    /// Light it adds on bare metal, in units of full white.
    pub strength: f64,
}

/// Light over the whole field.
#[derive(Clone, Debug)]
pub struct Light {
    /// Relative change over one millimetre.
    slope: [f64; 2],
    /// Relative fall with the squared distance from the middle, per mm2.
    fall: f64,
    /// Relative change of red (and against it of blue) over one millimetre.
    warmth: [f64; 2],
    /// At most one shadow border.
    pub shadow: Option<Shadow>,
    /// At most one lamp mirrored.
    pub glare: Option<Glare>,
    /// Shapes of the part, as light and shade.
    pub relief: Vec<Relief>,
}

impl Light {
    /// Light over a field of this half width, mm: up to 40 % of slope and 12 % of colour slope.
    #[must_use]
    pub fn thrown(dice: &mut Dice, half_mm: f64) -> Self {
        let mut slope = |most: f64| {
            let (sin, cos) = (std::f64::consts::TAU * dice.unit()).sin_cos();
            let size = most * dice.unit() / half_mm;
            [cos * size, sin * size]
        };
        let (slope, warmth) = (slope(0.40), slope(0.12));
        let fall = dice.between(0.0, 0.15) / (half_mm * half_mm);
        Self { slope, fall, warmth, shadow: None, glare: None, relief: Vec::new() }
    }

    /// Light of each channel at a place, about 1 in the middle.
    #[must_use]
    pub fn at(&self, p: [f64; 2]) -> Rgb {
        let level = (1.0 + self.slope[0] * p[0] + self.slope[1] * p[1]).max(0.25)
            - self.fall * (p[0] * p[0] + p[1] * p[1]).min(1.0 / self.fall.max(1.0e-9) * 0.3);
        let warm = (self.warmth[0] * p[0] + self.warmth[1] * p[1]).clamp(-0.25, 0.25);
        let mut light = [level * (1.0 + warm), level, level * (1.0 - warm)];
        if let Some(shadow) = &self.shadow {
            let t = (shadow.depth_mm(p) / shadow.soft_mm + 0.5).clamp(0.0, 1.0);
            let t = t * t * (3.0 - 2.0 * t);
            for (channel, left) in light.iter_mut().zip(shadow.left) {
                *channel *= 1.0 + (left - 1.0) * t;
            }
        }
        for relief in &self.relief {
            let left = relief.at(p);
            light.iter_mut().for_each(|channel| *channel *= left);
        }
        light
    }

    /// Light the mirrored lamp adds on bare metal at a place.
    #[must_use]
    pub fn glare_at(&self, p: [f64; 2]) -> f64 {
        self.glare.as_ref().map_or(0.0, |g| {
            let d = (p[0] - g.at_mm[0]).hypot(p[1] - g.at_mm[1]) / g.spread_mm;
            if d > 4.0 { 0.0 } else { g.strength * (-0.5 * d * d).exp() }
        })
    }
}
