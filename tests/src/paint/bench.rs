//! What a scale lies on, and what lies on the scale.

use super::dice::Dice;
use super::grain::Grain;
use super::pigment::Rgb;

/// A bench, half of it under a coated part.
#[derive(Clone, Debug)]
pub struct Bench {
    wood: Rgb,
    coat: Rgb,
    /// Border between the two: distance from the origin, and its direction, radians.
    border: (f64, f64),
    clouds: Grain,
    powder: Grain,
    rough: f64,
}

impl Bench {
    /// A bench in some workshop; the part's edge passes within this distance of the middle, mm.
    #[must_use]
    pub fn thrown(dice: &mut Dice, half_mm: f64) -> Self {
        let level = dice.between(0.08, 0.45);
        Self {
            wood: [level, level * dice.between(0.6, 1.0), level * dice.between(0.35, 1.0)],
            coat: [dice.between(0.72, 0.88); 3],
            border: (dice.between(-half_mm, half_mm), dice.between(0.0, std::f64::consts::TAU)),
            clouds: Grain::clouds(dice),
            powder: Grain::powder(dice),
            rough: dice.between(0.05, 0.3),
        }
    }

    /// Reflectance at a place.
    #[must_use]
    pub fn at(&self, p: [f64; 2]) -> Rgb {
        let (distance, turn) = self.border;
        if p[0] * turn.cos() + p[1] * turn.sin() > distance {
            let powder = 1.0 + 0.02 * self.powder.at(p[0] * 8.0, p[1] * 8.0);
            return self.coat.map(|v| v * powder);
        }
        let grain = 1.0 + self.rough * self.clouds.at(p[0] * 2.0, p[1] * 2.0);
        self.wood.map(|v| (v * grain).max(0.01))
    }
}

/// Something round that hides what lies below: a finger, a cap, a fold of cloth.
#[derive(Clone, Debug)]
pub struct Cover {
    /// Its middle, mm.
    pub centre_mm: [f64; 2],
    /// Its radius, mm.
    pub radius_mm: f64,
    /// Its colour.
    pub colour: Rgb,
}

impl Cover {
    /// Whether it hides a place.
    #[must_use]
    pub fn hides(&self, p: [f64; 2]) -> bool {
        (p[0] - self.centre_mm[0]).hypot(p[1] - self.centre_mm[1]) < self.radius_mm
    }
}
