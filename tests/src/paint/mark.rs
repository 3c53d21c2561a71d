//! The geometry of an indication as it is drawn, millimetres on the part.
//!
//! A mark is a set of strokes; a stroke is a chain of beads, and dye lies where a bead or the taper
//! between two beads covers. One bead alone is a dot.

use super::dice::Dice;
use super::grain::Grain;
use super::raster::Raster;

/// One place of a stroke.
#[derive(Clone, Copy, Debug)]
pub struct Bead {
    /// Where, mm.
    pub at_mm: [f64; 2],
    /// Half the stroke's width here, mm.
    pub radius_mm: f64,
    /// Dye load here as a share of the mark's full load, 0 to 1.
    pub load: f64,
}

/// What a mark was drawn as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Random walk, tapering in width and load.
    Crack,
    /// Random walk with side branches.
    Branched,
    /// Straight, even line.
    Line,
    /// Part of a circle.
    Arc,
    /// Round or nearly round spot.
    Dot,
    /// Oval whose length is near three times its width.
    Oval,
    /// Straight line with gaps.
    Dashed,
    /// One of several dots in a row.
    RowDot,
    /// One of two close neighbours.
    Pair,
}

impl Kind {
    /// One word for tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Crack => "crack",
            Self::Branched => "branched",
            Self::Line => "line",
            Self::Arc => "arc",
            Self::Dot => "dot",
            Self::Oval => "oval",
            Self::Dashed => "dashed",
            Self::RowDot => "row-dot",
            Self::Pair => "pair",
        }
    }
}

/// One drawn indication.
#[derive(Clone, Debug)]
pub struct Mark {
    /// What it was drawn as.
    pub kind: Kind,
    /// Its strokes.
    pub strokes: Vec<Vec<Bead>>,
    /// Scale of the logistic edge, mm: dye falls from 73 % to 27 % of its load over twice this.
    pub softness_mm: f64,
    /// Standard deviation of the ragged edge, mm.
    pub ragged_mm: f64,
    /// Share of green light lost where the load is full, 0 to 1.
    pub full_loss: f64,
}

impl Mark {
    /// A spot of one bead.
    #[must_use]
    pub fn dot(kind: Kind, diameter_mm: f64) -> Self {
        let bead = Bead { at_mm: [0.0, 0.0], radius_mm: diameter_mm / 2.0, load: 1.0 };
        Self::of(kind, vec![vec![bead]])
    }

    /// An oval along x.
    #[must_use]
    pub fn oval(kind: Kind, length_mm: f64, width_mm: f64) -> Self {
        let (a, b) = (length_mm / 2.0, width_mm / 2.0);
        // Circles inside an ellipse: radius from the curvature at the tips up to the half width.
        let tip = b * b / a;
        let beads = (0..=16)
            .map(|i| {
                let t = f64::from(i) / 8.0 - 1.0;
                let x = t * (a - tip);
                let radius_mm = b * (1.0 - (x * x) / (a * a - b * b).max(1.0e-9)).max(0.0).sqrt();
                Bead { at_mm: [x, 0.0], radius_mm: radius_mm.max(tip), load: 1.0 }
            })
            .collect();
        Self::of(kind, vec![beads])
    }

    /// A straight, even line along x.
    #[must_use]
    pub fn line(kind: Kind, length_mm: f64, width_mm: f64) -> Self {
        let half = (length_mm - width_mm).max(0.0) / 2.0;
        let bead = |x: f64| Bead { at_mm: [x, 0.0], radius_mm: width_mm / 2.0, load: 1.0 };
        Self::of(kind, vec![vec![bead(-half), bead(half)]])
    }

    /// A straight line with gaps.
    #[must_use]
    pub fn dashed(dice: &mut Dice, dashes: usize, width_mm: f64) -> Self {
        let mut x = 0.0;
        let mut strokes = Vec::new();
        for _ in 0..dashes {
            let length = dice.between(1.2, 4.0);
            let bead = |x: f64| Bead { at_mm: [x, 0.0], radius_mm: width_mm / 2.0, load: 1.0 };
            strokes.push(vec![bead(x), bead(x + length)]);
            x += length + width_mm + dice.between(0.5, 2.0);
        }
        Self::of(Kind::Dashed, strokes).centred()
    }

    /// Part of a circle with tapering ends.
    #[must_use]
    pub fn arc(radius_mm: f64, degrees: f64, width_mm: f64) -> Self {
        let n = 32;
        let beads = (0..=n)
            .map(|i| {
                let u = f64::from(i) / f64::from(n);
                let angle = (u - 0.5) * degrees.to_radians();
                let taper = (6.0 * u.min(1.0 - u)).min(1.0);
                Bead {
                    at_mm: [radius_mm * angle.sin(), radius_mm * angle.cos()],
                    radius_mm: width_mm / 2.0 * (0.5 + 0.5 * taper),
                    load: 0.4 + 0.6 * taper,
                }
            })
            .collect();
        Self::of(Kind::Arc, vec![beads]).centred()
    }

    /// A crack: a jagged walk whose width and load fall towards its tips.
    #[must_use]
    pub fn crack(dice: &mut Dice, length_mm: f64, width_mm: f64) -> Self {
        Self::of(Kind::Crack, vec![walk(dice, [0.0, 0.0], 0.0, length_mm, width_mm)]).centred()
    }

    /// A crack with one to three side branches.
    #[must_use]
    pub fn branched(dice: &mut Dice, length_mm: f64, width_mm: f64) -> Self {
        let main = walk(dice, [0.0, 0.0], 0.0, length_mm, width_mm);
        let mut strokes = vec![main];
        for _ in 0..1 + dice.below(3) {
            let root = strokes[0][strokes[0].len() / 4 + dice.below(strokes[0].len() / 2)];
            let side = if dice.chance(0.5) { 1.0 } else { -1.0 };
            let heading = side * dice.between(0.5, 1.2);
            let length = length_mm * dice.between(0.2, 0.45);
            let mut branch = walk(dice, root.at_mm, heading, length, width_mm * 0.8);
            let thin = branch.len() / 2;
            for bead in &mut branch[..thin] {
                bead.radius_mm = width_mm * 0.4; // A branch is not thin where it leaves its crack.
                bead.load = 1.0;
            }
            strokes.push(branch);
        }
        Self::of(Kind::Branched, strokes).centred()
    }

    fn of(kind: Kind, strokes: Vec<Vec<Bead>>) -> Self {
        Self { kind, strokes, softness_mm: 0.05, ragged_mm: 0.0, full_loss: 0.7 }
    }

    fn beads(&self) -> impl Iterator<Item = &Bead> {
        self.strokes.iter().flatten()
    }

    fn beads_mut(&mut self) -> impl Iterator<Item = &mut Bead> {
        self.strokes.iter_mut().flatten()
    }

    fn centred(mut self) -> Self {
        let [low, high] = self.bounds();
        let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
        self.beads_mut().for_each(|b| b.at_mm = [b.at_mm[0] - middle[0], b.at_mm[1] - middle[1]]);
        self
    }

    /// The same mark turned about the origin and then moved.
    #[must_use]
    pub fn laid(mut self, angle: f64, at_mm: [f64; 2]) -> Self {
        let (sin, cos) = angle.sin_cos();
        self.beads_mut().for_each(|b| {
            let [x, y] = b.at_mm;
            b.at_mm = [at_mm[0] + cos * x - sin * y, at_mm[1] + sin * x + cos * y];
        });
        self
    }

    /// The same mark, longer by so much: its beads drawn apart about its middle, none of them larger.
    #[must_use]
    pub fn longer(mut self, growth_mm: f64) -> Self {
        let [low, high] = self.bounds();
        let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
        let mut apart = 0.0_f64;
        for (n, a) in self.beads().enumerate() {
            for b in self.beads().skip(n + 1) {
                apart = apart.max((a.at_mm[0] - b.at_mm[0]).hypot(a.at_mm[1] - b.at_mm[1]));
            }
        }
        if apart > 0.0 {
            let by = 1.0 + growth_mm / apart;
            self.beads_mut().for_each(|bead| {
                bead.at_mm = [0, 1].map(|k| middle[k] + by * (bead.at_mm[k] - middle[k]));
            });
        }
        self
    }

    /// The same mark bled out: longer by so much, and wider by so much. A lone bead can only widen, so it
    /// widens by `growth_mm`.
    #[must_use]
    pub fn bled(self, growth_mm: f64, wider_mm: f64) -> Self {
        let lone = self.strokes.iter().map(Vec::len).sum::<usize>() < 2;
        let wider_mm = if lone { growth_mm } else { wider_mm };
        let mut bled = self.longer(growth_mm - wider_mm);
        bled.beads_mut().for_each(|bead| bead.radius_mm += wider_mm / 2.0);
        bled
    }

    /// Least and greatest place covered by the beads, mm.
    #[must_use]
    pub fn bounds(&self) -> [[f64; 2]; 2] {
        let [mut low, mut high] = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
        for bead in self.beads() {
            low = [0, 1].map(|k| low[k].min(bead.at_mm[k] - bead.radius_mm));
            high = [0, 1].map(|k| high[k].max(bead.at_mm[k] + bead.radius_mm));
        }
        [low, high]
    }

    /// Greatest distance of the drawing from the origin, mm.
    #[must_use]
    pub fn reach_mm(&self) -> f64 {
        self.beads().map(|b| b.at_mm[0].hypot(b.at_mm[1]) + b.radius_mm).fold(0.0, f64::max)
    }

    /// The mark's dye as a share of its full load, on a fine grid.
    #[must_use]
    pub fn dye(&self, grain: &Grain, step_mm: f64) -> Raster {
        // Beyond ten edge scales less than 1 in 20 000 of the load is left.
        let margin = 10.0 * self.softness_mm + 3.0 * self.ragged_mm + 2.0 * step_mm;
        let [low, high] = self.bounds();
        let mut field = Raster::filled(
            [low[0] - margin, low[1] - margin],
            [high[0] + margin, high[1] + margin],
            step_mm,
            0.0,
        );
        for stroke in &self.strokes {
            for i in 0..stroke.len().saturating_sub(1).max(1) {
                let a = stroke[i];
                let b = *stroke.get(i + 1).unwrap_or(&a);
                self.cover(&mut field, grain, a, b, margin);
            }
        }
        field
    }

    fn cover(&self, field: &mut Raster, grain: &Grain, a: Bead, b: Bead, margin: f64) {
        let reach = a.radius_mm.max(b.radius_mm) + margin;
        let low = [0, 1].map(|k| a.at_mm[k].min(b.at_mm[k]) - reach);
        let high = [0, 1].map(|k| a.at_mm[k].max(b.at_mm[k]) + reach);
        let [columns, rows] = field.cells_in(low, high);
        let along = [b.at_mm[0] - a.at_mm[0], b.at_mm[1] - a.at_mm[1]];
        let squared = (along[0] * along[0] + along[1] * along[1]).max(1.0e-12);
        for row in rows[0]..rows[1] {
            for column in columns[0]..columns[1] {
                let p = field.place(column, row);
                let from = [p[0] - a.at_mm[0], p[1] - a.at_mm[1]];
                let t = ((from[0] * along[0] + from[1] * along[1]) / squared).clamp(0.0, 1.0);
                let off = (from[0] - t * along[0]).hypot(from[1] - t * along[1]);
                let mut inside = a.radius_mm + (b.radius_mm - a.radius_mm) * t - off;
                if inside < -margin {
                    continue;
                }
                if self.ragged_mm > 0.0 {
                    inside += self.ragged_mm * grain.at(p[0] * 5.0, p[1] * 5.0);
                }
                let load = a.load + (b.load - a.load) * t;
                let share = load / (1.0 + (-inside / self.softness_mm).exp());
                let value = &mut field.values[row * field.width + column];
                *value = value.max(share as f32);
            }
        }
    }
}

/// A jagged walk: heading wanders and is pulled back, width and load swell in the middle.
fn walk(dice: &mut Dice, from: [f64; 2], heading: f64, length_mm: f64, width_mm: f64) -> Vec<Bead> {
    let steps = ((length_mm / 0.45).round() as usize).max(6);
    let step = length_mm / steps as f64;
    let (mut turn, mut at) = (0.0_f64, from);
    let mut beads = Vec::new();
    for i in 0..=steps {
        let u = i as f64 / steps as f64;
        let swell = (std::f64::consts::PI * u).sin().max(0.0).powf(0.5);
        let radius_mm =
            width_mm / 2.0 * (0.35 + 0.65 * swell) * (1.0 + 0.18 * dice.normal()).clamp(0.6, 1.5);
        let load = (0.25 + 0.75 * swell) * (1.0 - 0.25 * dice.unit());
        beads.push(Bead { at_mm: at, radius_mm, load });
        turn = 0.75 * turn + 0.35 * dice.normal();
        at = [at[0] + step * (heading + turn).cos(), at[1] + step * (heading + turn).sin()];
    }
    beads
}
