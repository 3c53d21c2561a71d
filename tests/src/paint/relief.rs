//! Shape of the part as light and shade: bosses, threads, weld ripple. The dye lies on it as on a plane.

use super::dice::Dice;
use std::f64::consts::TAU;

/// One raised or cut shape.
#[derive(Clone, Debug)]
pub struct Relief {
    shape: Shape,
    at_mm: [f64; 2],
    /// Direction from which the light comes, radians.
    lamp: f64,
    /// Greatest relative change of light on its flanks.
    strength: f64,
}

#[derive(Clone, Debug)]
enum Shape {
    /// A round boss or dish: flanks at its rim.
    Boss { radius_mm: f64, flank_mm: f64 },
    /// Parallel grooves across a band.
    Thread { angle: f64, pitch_mm: f64, half_width_mm: f64 },
    /// A weld bead: a crown with bent ripples across.
    Bead { angle: f64, half_width_mm: f64, ripple_mm: f64 },
}

impl Relief {
    /// A random shape at a place.
    #[must_use]
    pub fn thrown(dice: &mut Dice, at_mm: [f64; 2]) -> Self {
        let angle = dice.between(0.0, TAU);
        let shape = match dice.below(3) {
            0 => {
                Shape::Boss { radius_mm: dice.between(6.0, 22.0), flank_mm: dice.between(0.6, 3.0) }
            }
            1 => Shape::Thread {
                angle,
                pitch_mm: dice.between(0.8, 2.5),
                half_width_mm: dice.between(5.0, 14.0),
            },
            _ => Shape::Bead {
                angle,
                half_width_mm: dice.between(4.0, 8.0),
                ripple_mm: dice.between(1.0, 2.8),
            },
        };
        Self { shape, at_mm, lamp: dice.between(0.0, TAU), strength: dice.between(0.06, 0.28) }
    }

    /// What is left of the light at a place.
    #[must_use]
    pub fn at(&self, p: [f64; 2]) -> f64 {
        let (x, y) = (p[0] - self.at_mm[0], p[1] - self.at_mm[1]);
        let across = |angle: f64| {
            let (sin, cos) = angle.sin_cos();
            (x * cos + y * sin, y * cos - x * sin)
        };
        let within = |v: f64, half: f64| ((half - v.abs()) / 0.8).clamp(0.0, 1.0);
        let slope = match self.shape {
            Shape::Boss { radius_mm, flank_mm } => {
                let away = x.hypot(y);
                let flank = (-((away - radius_mm) / flank_mm).powi(2)).exp();
                flank * (x * self.lamp.cos() + y * self.lamp.sin()) / away.max(1e-6)
            }
            Shape::Thread { angle, pitch_mm, half_width_mm } => {
                let (u, v) = across(angle);
                let band = within(v, half_width_mm) * within(u, 4.0 * half_width_mm);
                band * (TAU * u / pitch_mm).sin()
            }
            Shape::Bead { angle, half_width_mm, ripple_mm } => {
                let (u, v) = across(angle);
                let crown = v / half_width_mm;
                // Ripples bend back towards the bead's edges.
                let ripple = (TAU * (u + 0.5 * half_width_mm * crown * crown) / ripple_mm).sin();
                within(v, half_width_mm) * (0.6 * crown * self.lamp.cos() + 0.5 * ripple)
            }
        };
        (1.0 + self.strength * slope).max(0.2)
    }
}
