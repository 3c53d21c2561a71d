//! The bench, the bare metal of the part, and the white coat on it.

use super::dice::Dice;
use super::grain::Grain;
use super::pigment::Rgb;

/// The finish of bare metal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finish {
    /// Brushed stainless: long fine lines and a bright band.
    Brushed,
    /// Cast: dull and bumpy.
    Cast,
    /// Mottled with oxide and stains.
    Oxide,
}

/// A rectangle with rounded, wandering edges.
#[derive(Clone, Debug)]
pub struct Patch {
    /// Its middle, mm.
    pub centre_mm: [f64; 2],
    /// Half its sides, mm.
    pub half_mm: [f64; 2],
    /// Its turn, radians.
    pub angle: f64,
    /// Radius of its corners, mm.
    pub corner_mm: f64,
}

impl Patch {
    /// A place in the patch's own frame, mm from its middle.
    #[must_use]
    pub fn own(&self, p: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = self.angle.sin_cos();
        let (dx, dy) = (p[0] - self.centre_mm[0], p[1] - self.centre_mm[1]);
        [cos * dx + sin * dy, cos * dy - sin * dx]
    }

    /// Distance from the border, mm: positive inside.
    #[must_use]
    pub fn inside_mm(&self, p: [f64; 2]) -> f64 {
        let [x, y] = self.own(p);
        let dx = x.abs() - self.half_mm[0] + self.corner_mm;
        let dy = y.abs() - self.half_mm[1] + self.corner_mm;
        self.corner_mm - dx.max(0.0).hypot(dy.max(0.0)) - dx.max(dy).min(0.0)
    }
}

/// Bench, part and coat.
#[derive(Clone, Debug)]
pub struct Part {
    /// The bench's colour.
    bench: Rgb,
    /// The part's outline.
    pub plate: Patch,
    /// Its finish.
    pub finish: Finish,
    metal: Rgb,
    /// Where developer was sprayed.
    pub sprayed: Patch,
    feather_mm: f64,
    wander_mm: f64,
    /// Reflectance of the clean, full coat.
    pub white: Rgb,
    powder_sd: f64,
    powder_mm: f64,
    /// Fine grain shared by all surfaces.
    pub powder: Grain,
    /// Clouds shared by all surfaces.
    pub clouds: Grain,
}

impl Part {
    /// A part that fills most of a field of these half sides, mm.
    #[must_use]
    pub fn thrown(dice: &mut Dice, half_mm: [f64; 2]) -> Self {
        let benches = [
            [0.05, 0.09, 0.22],
            [0.38, 0.24, 0.11],
            [0.16, 0.16, 0.15],
            [0.08, 0.11, 0.09],
            [0.33, 0.31, 0.28],
            [0.22, 0.15, 0.10],
        ];
        let finish = [Finish::Brushed, Finish::Cast, Finish::Oxide][dice.below(3)];
        let grey = match finish {
            Finish::Brushed => dice.between(0.38, 0.62),
            Finish::Cast => dice.between(0.14, 0.30),
            Finish::Oxide => dice.between(0.25, 0.45),
        };
        // Bronze is yellow, stainless and aluminium nearly grey.
        let warm =
            if dice.chance(0.25) { dice.between(0.05, 0.18) } else { dice.between(-0.02, 0.03) };
        let angle = dice.between(-0.35, 0.35);
        let centre_mm =
            [half_mm[0] * dice.between(-0.08, 0.08), half_mm[1] * dice.between(-0.08, 0.08)];
        let plate_half =
            [half_mm[0] * dice.between(0.80, 1.15), half_mm[1] * dice.between(0.78, 1.1)];
        let sprayed = Patch {
            centre_mm: [
                centre_mm[0] + plate_half[0] * dice.between(-0.08, 0.08),
                centre_mm[1] + plate_half[1] * dice.between(-0.08, 0.08),
            ],
            half_mm: [
                plate_half[0] * dice.between(0.72, 0.98),
                plate_half[1] * dice.between(0.70, 0.98),
            ],
            angle: angle + dice.between(-0.05, 0.05),
            corner_mm: dice.between(5.0, 14.0),
        };
        let level = dice.between(0.78, 0.88);
        Self {
            bench: benches[dice.below(benches.len())].map(|v| v * dice.between(0.85, 1.2)),
            plate: Patch {
                centre_mm,
                half_mm: plate_half,
                angle,
                corner_mm: dice.between(0.5, 8.0),
            },
            finish,
            metal: [grey * (1.0 + warm), grey, grey * (1.0 - warm)],
            sprayed,
            feather_mm: dice.between(2.0, 7.0),
            wander_mm: dice.between(0.5, 3.0),
            white: [level * dice.between(0.99, 1.02), level, level * dice.between(0.95, 1.01)],
            powder_sd: dice.between(0.01, 0.02),
            powder_mm: dice.between(0.1, 0.3),
            powder: Grain::powder(dice),
            clouds: Grain::clouds(dice),
        }
    }

    /// Distance from where the coat begins to thin out, mm: positive where it is full.
    #[must_use]
    pub fn coat_inside_mm(&self, p: [f64; 2]) -> f64 {
        let wander = self.wander_mm * self.clouds.at(p[0] * 4.0, p[1] * 4.0 + 91.0);
        self.sprayed.inside_mm(p).min(self.plate.inside_mm(p) + 2.0) + wander - self.feather_mm
    }

    /// Share of the ground the coat hides, 0 to 1.
    #[must_use]
    pub fn cover(&self, p: [f64; 2]) -> f64 {
        let thickness = self.coat_inside_mm(p) / self.feather_mm + 1.0;
        if thickness >= 1.0 {
            return 1.0;
        }
        if thickness <= -0.4 {
            return 0.0;
        }
        // Overspray lies as separate specks where the coat is thin.
        let speck = self.powder.at(p[0] * 9.0 + 3.1, p[1] * 9.0);
        let t = (thickness * 1.25 + 0.32 * speck * (1.0 - thickness.max(0.0))).clamp(0.0, 1.0);
        t * t * (3.0 - 2.0 * t)
    }

    /// What the coat's texture multiplies its reflectance with.
    #[must_use]
    pub fn powder_at(&self, p: [f64; 2]) -> f64 {
        let cells = 2.0 / self.powder_mm;
        let fine = self.powder.at(p[0] * cells, p[1] * cells);
        let coarse = self.clouds.at(p[0] * 6.0, p[1] * 6.0);
        1.0 + self.powder_sd * fine + 0.012 * coarse
    }

    /// Reflectance of the bare metal.
    #[must_use]
    pub fn metal_at(&self, p: [f64; 2]) -> Rgb {
        let [u, v] = self.plate.own(p);
        let edge = self.plate.inside_mm(p);
        let (level, brown) = match self.finish {
            Finish::Brushed => {
                let lines = self.powder.at(u * 0.25, v * 7.0)
                    + 0.6 * self.powder.at(u * 0.1, v * 2.3 + 40.0);
                let band = 0.25 * self.clouds.at(u * 0.15, v * 1.5);
                (1.0 + 0.13 * lines + band, 0.0)
            }
            Finish::Cast => {
                let bumps = self.powder.at(u * 3.0, v * 3.0) + self.clouds.at(u * 5.0, v * 5.0);
                (1.0 + 0.14 * bumps, 0.05)
            }
            Finish::Oxide => {
                let lines = self.powder.at(u * 0.3, v * 6.0);
                let stain = self.clouds.at(u * 5.0, v * 7.0);
                let spot = ((stain - 0.4) * 6.0).clamp(0.0, 1.0);
                let rust = ((self.clouds.at(u * 4.0 + 200.0, v * 4.0) - 1.2) * 5.0).clamp(0.0, 1.0);
                (1.0 + 0.08 * lines - 0.35 * spot, 0.06 * spot + 0.35 * rust)
            }
        };
        // A broken edge catches the light.
        let rim = if edge < 0.6 { 1.25 } else { 1.0 };
        let level = (level * rim).clamp(0.15, 2.0);
        [
            self.metal[0] * level * (1.0 + 0.3 * brown),
            self.metal[1] * level * (1.0 - 0.5 * brown),
            self.metal[2] * level * (1.0 - 1.6 * brown).max(0.1),
        ]
    }

    /// Reflectance of the bench, darker under the part's edge.
    #[must_use]
    pub fn bench_at(&self, p: [f64; 2]) -> Rgb {
        let level = 1.0
            + 0.14 * self.clouds.at(p[0] * 2.5, p[1] * 2.5)
            + 0.05 * self.powder.at(p[0] * 3.0, p[1] * 3.0);
        let away = -self.plate.inside_mm([p[0] - 1.5, p[1] - 2.5]);
        let shade = 1.0 - 0.6 * (-away.max(0.0) / 3.0).exp();
        self.bench.map(|v| (v * level * shade).max(0.01))
    }
}
