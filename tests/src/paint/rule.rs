//! A steel rule as engraved: rows of ticks on its edges, numerals, brushed metal, scratches.
//!
//! Places on the rule are counted from its first corner: u along it, v across it, millimetres.

use super::dice::Dice;

/// How a row is divided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Graduation {
    /// 1 mm, the fifth longer, the tenth longest.
    Millimetre,
    /// 0.5 mm, with longer ticks every 1, 5 and 10 mm.
    HalfMillimetre,
    /// 1/16 inch by halves.
    Sixteenth,
    /// 1/32 inch by halves.
    ThirtySecond,
    /// 1/64 inch by halves.
    SixtyFourth,
}

impl Graduation {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Millimetre,
        Self::HalfMillimetre,
        Self::Sixteenth,
        Self::ThirtySecond,
        Self::SixtyFourth,
    ];

    /// From tick to tick, mm. An inch is 25.4 mm.
    #[must_use]
    pub const fn pitch_mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::HalfMillimetre => 0.5,
            Self::Sixteenth => 1.5875,
            Self::ThirtySecond => 0.793_75,
            Self::SixtyFourth => 0.396_875,
        }
    }

    /// As it is asked for.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Millimetre => "1mm",
            Self::HalfMillimetre => "0.5mm",
            Self::Sixteenth => "1/16in",
            Self::ThirtySecond => "1/32in",
            Self::SixtyFourth => "1/64in",
        }
    }

    /// Whether it divides the inch.
    #[must_use]
    pub const fn is_inch(self) -> bool {
        matches!(self, Self::Sixteenth | Self::ThirtySecond | Self::SixtyFourth)
    }

    /// How much longer than the shortest a tick is, mm, before the rule's own style.
    fn longer_mm(self, number: i64) -> f64 {
        let halvings = |levels: u32| f64::from(number.trailing_zeros().min(levels));
        match self {
            Self::Millimetre => match number.rem_euclid(10) {
                0 => 3.2,
                5 => 1.6,
                _ => 0.0,
            },
            Self::HalfMillimetre => match number.rem_euclid(20) {
                0 => 4.2,
                10 => 2.8,
                n if n % 2 == 0 => 1.2,
                _ => 0.0,
            },
            Self::Sixteenth => 1.1 * halvings(4),
            Self::ThirtySecond => 0.95 * halvings(5),
            Self::SixtyFourth => 0.85 * halvings(6),
        }
    }

    /// Ticks from one numeral to the next.
    const fn numbered_every(self) -> i64 {
        match self {
            Self::Millimetre => 10,
            Self::HalfMillimetre => 20,
            Self::Sixteenth => 16,
            Self::ThirtySecond => 32,
            Self::SixtyFourth => 64,
        }
    }
}

/// Where on the rule a row begins and which way it counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counts {
    /// From the left end.
    Onwards,
    /// From the right end.
    Back,
}

/// A row of ticks along one edge.
#[derive(Clone, Debug)]
pub struct TickRow {
    /// How it is divided.
    pub graduation: Graduation,
    /// Shortest tick, mm.
    pub shortest_mm: f64,
    /// Style: how strongly lengths differ, about 1.
    pub contrast: f64,
    /// Thickness of a tick, mm.
    pub thick_mm: f64,
    /// Distance of the first tick from the rule's end, mm.
    pub start_mm: f64,
    /// Which way it counts.
    pub counts: Counts,
}

impl TickRow {
    /// A row as somebody might engrave it.
    #[must_use]
    pub fn thrown(dice: &mut Dice, graduation: Graduation) -> Self {
        let fine = graduation.pitch_mm() < 0.6;
        Self {
            graduation,
            shortest_mm: dice.between(1.6, if fine { 2.2 } else { 3.0 }),
            contrast: dice.between(0.8, 1.15),
            thick_mm: if fine { dice.between(0.09, 0.13) } else { dice.between(0.11, 0.20) },
            start_mm: if dice.chance(0.5) { 0.0 } else { dice.between(1.0, 6.0) },
            counts: if dice.chance(0.5) { Counts::Onwards } else { Counts::Back },
        }
    }

    fn length_mm(&self, number: i64) -> f64 {
        self.shortest_mm + self.contrast * self.graduation.longer_mm(number)
    }

    /// Whether ink lies so far along the row and so deep from its edge, on a rule of this length.
    fn inked(&self, along_mm: f64, depth_mm: f64, rule_mm: f64) -> bool {
        let from_start = match self.counts {
            Counts::Onwards => along_mm,
            Counts::Back => rule_mm - along_mm,
        } - self.start_mm;
        let pitch = self.graduation.pitch_mm();
        let last = ((rule_mm - 2.0 * self.start_mm) / pitch + 0.01).floor();
        let number = (from_start / pitch).round().clamp(0.0, last);
        if (from_start - number * pitch).abs() < self.thick_mm / 2.0 {
            return depth_mm < self.length_mm(number as i64);
        }
        // The numeral stands behind its tick, deeper than the short ticks.
        let every = self.graduation.numbered_every() as f64 * pitch;
        let unit = (from_start / every).floor();
        if unit < 1.0 {
            return false;
        }
        let longest = self.length_mm(0);
        let (x, y) = (from_start - unit * every - 0.45, depth_mm - (longest - 1.7));
        let tens = (unit as u32 / 10) % 10;
        if tens > 0 {
            return digit(tens, x, y) || digit(unit as u32 % 10, x - 1.5, y);
        }
        digit(unit as u32 % 10, x, y)
    }
}

/// Strokes of each digit: top, upper left, upper right, middle, lower left, lower right, bottom.
const STROKES: [u8; 10] = [
    0b111_0111, 0b001_0010, 0b101_1101, 0b101_1011, 0b011_1010, 0b110_1011, 0b110_1111, 0b101_0010,
    0b111_1111, 0b111_1011,
];

/// Whether ink lies in a digit of 1.1 by 2 mm, counted from its upper left corner.
fn digit(value: u32, x: f64, y: f64) -> bool {
    let (wide, high, stroke) = (1.1, 2.0, 0.24);
    if !(0.0..wide).contains(&x) || !(0.0..high).contains(&y) {
        return false;
    }
    let half = high / 2.0;
    let strokes = STROKES[value as usize % 10];
    let on = |n: u32| strokes >> (6 - n) & 1 == 1;
    on(0) && y < stroke
        || on(1) && x < stroke && y < half
        || on(2) && x > wide - stroke && y < half
        || on(3) && (y - half).abs() < stroke / 2.0
        || on(4) && x < stroke && y > half
        || on(5) && x > wide - stroke && y > half
        || on(6) && y > high - stroke
}

/// A scratch: a straight line on the metal.
#[derive(Clone, Debug)]
struct Scratch {
    from_mm: [f64; 2],
    along: [f64; 2],
    length_mm: f64,
    half_thick_mm: f64,
    shine: f64,
}

/// A rule lying on the part.
#[derive(Clone, Debug)]
pub struct Rule {
    /// Length and width, mm.
    pub size_mm: [f64; 2],
    /// Its middle, mm on the part.
    pub centre_mm: [f64; 2],
    /// Turn of its length against x, radians.
    pub angle: f64,
    /// Rows along the upper and the lower edge.
    pub rows: [Option<TickRow>; 2],
    steel: f64,
    ink: f64,
    brushed: f64,
    scratches: Vec<Scratch>,
}

impl Rule {
    /// A rule with these rows as somebody might own it, 150 or 300 mm long.
    #[must_use]
    pub fn thrown(dice: &mut Dice, rows: [Option<Graduation>; 2]) -> Self {
        let long = if dice.chance(0.7) { 150.0 } else { 300.0 };
        let size_mm = [long + dice.between(2.0, 12.0), dice.between(15.0, 30.0)];
        let scratches = (0..dice.below(14))
            .map(|_| {
                let turn = dice.between(0.0, std::f64::consts::TAU);
                Scratch {
                    from_mm: [dice.between(0.0, size_mm[0]), dice.between(0.0, size_mm[1])],
                    along: [turn.cos(), turn.sin()],
                    length_mm: dice.between(3.0, 40.0),
                    half_thick_mm: dice.between(0.02, 0.08),
                    shine: dice.between(-0.25, 0.35),
                }
            })
            .collect();
        Self {
            size_mm,
            centre_mm: [0.0, 0.0],
            angle: 0.0,
            rows: rows.map(|g| g.map(|g| TickRow::thrown(dice, g))),
            steel: dice.between(0.35, 0.75),
            ink: dice.between(0.02, 0.12),
            brushed: dice.between(0.01, 0.08),
            scratches,
        }
    }

    /// A place on the part, counted from the rule's first corner.
    #[must_use]
    pub fn on_rule(&self, p: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = self.angle.sin_cos();
        let (dx, dy) = (p[0] - self.centre_mm[0], p[1] - self.centre_mm[1]);
        [cos * dx + sin * dy + self.size_mm[0] / 2.0, cos * dy - sin * dx + self.size_mm[1] / 2.0]
    }

    /// The place on the part of a place on the rule.
    #[must_use]
    pub fn on_part(&self, [u, v]: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = self.angle.sin_cos();
        let (x, y) = (u - self.size_mm[0] / 2.0, v - self.size_mm[1] / 2.0);
        [self.centre_mm[0] + cos * x - sin * y, self.centre_mm[1] + sin * x + cos * y]
    }

    /// Distance of a place from the rule's edge, mm: positive on the rule.
    #[must_use]
    pub fn inside_mm(&self, p: [f64; 2]) -> f64 {
        let [u, v] = self.on_rule(p);
        let (x, y) = (u.min(self.size_mm[0] - u), v.min(self.size_mm[1] - v));
        if x < 0.0 && y < 0.0 { -x.hypot(y) } else { x.min(y) }
    }

    /// Reflectance at a place on the rule.
    #[must_use]
    pub fn reflectance(&self, [u, v]: [f64; 2]) -> f64 {
        let depths = [v, self.size_mm[1] - v];
        let inked = self.rows.iter().zip(depths).any(|(row, depth)| {
            row.as_ref().is_some_and(|row| depth < 10.0 && row.inked(u, depth, self.size_mm[0]))
        });
        if inked {
            return self.ink;
        }
        // Brushed along its length: lines of uneven brightness that change slowly along it.
        let line = |k: f64| {
            let wave = ((v * k).floor() * 12.9898 + (u / 23.0).floor() * 4.1).sin() * 43_758.545_3;
            wave - wave.floor() - 0.5
        };
        let mut level = self.steel * (1.0 + self.brushed * (line(19.0) + line(7.0)));
        for scratch in &self.scratches {
            let d = [u - scratch.from_mm[0], v - scratch.from_mm[1]];
            let along = d[0] * scratch.along[0] + d[1] * scratch.along[1];
            let off = (d[1] * scratch.along[0] - d[0] * scratch.along[1]).abs();
            if off < scratch.half_thick_mm && (0.0..scratch.length_mm).contains(&along) {
                level += scratch.shine;
            }
        }
        level.max(0.02)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_stand_where_the_graduation_says() {
        let row = |graduation| TickRow {
            graduation,
            shortest_mm: 2.0,
            contrast: 1.0,
            thick_mm: 0.1,
            start_mm: 0.0,
            counts: Counts::Onwards,
        };
        let inch = row(Graduation::ThirtySecond);
        assert!(inch.inked(25.4, 6.5, 150.0) && !inch.inked(25.4 / 2.0, 6.5, 150.0));
        assert!(inch.inked(25.4 / 2.0, 5.7, 150.0) && !inch.inked(25.4 / 4.0, 5.7, 150.0));
        assert!(inch.inked(25.4 / 32.0, 1.9, 150.0) && !inch.inked(25.4 / 64.0, 1.0, 150.0));
        let mm = row(Graduation::Millimetre);
        assert!(mm.inked(20.0, 5.0, 150.0) && !mm.inked(25.0, 5.0, 150.0));
        assert!(mm.inked(25.0, 3.5, 150.0) && !mm.inked(24.0, 3.5, 150.0));
        let back = TickRow { counts: Counts::Back, start_mm: 5.0, ..mm };
        assert!(back.inked(150.0 - 15.0, 5.0, 150.0) && !back.inked(149.0, 1.0, 150.0));
    }

    #[test]
    fn a_place_on_the_rule_comes_back() {
        let mut rule = Rule::thrown(&mut Dice::new(4), [Some(Graduation::Millimetre), None]);
        rule.centre_mm = [10.0, -7.0];
        rule.angle = 2.1;
        let [u, v] = rule.on_rule(rule.on_part([31.0, 4.0]));
        assert!((u - 31.0).abs() < 1e-9 && (v - 4.0).abs() < 1e-9);
        assert!((rule.inside_mm(rule.on_part([31.0, 4.0])) - 4.0).abs() < 1e-9);
    }
}
