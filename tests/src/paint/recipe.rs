//! Which indications a scene gets, before they are laid on the part.

use super::dice::Dice;
use super::mark::{Kind, Mark};

/// Marks that belong together, drawn round the origin.
#[derive(Clone, Debug)]
pub struct Cluster {
    /// Its marks in place to each other.
    pub marks: Vec<Mark>,
}

impl Cluster {
    /// Greatest distance of the drawing from the origin, mm.
    #[must_use]
    pub fn reach_mm(&self) -> f64 {
        self.marks.iter().map(Mark::reach_mm).fold(0.0, f64::max)
    }

    /// The cluster turned and moved.
    #[must_use]
    pub fn laid(self, angle: f64, at_mm: [f64; 2]) -> Self {
        Self { marks: self.marks.into_iter().map(|m| m.laid(angle, at_mm)).collect() }
    }
}

/// One random cluster: half strong, three in ten medium, two in ten faint.
#[must_use]
pub fn cluster(dice: &mut Dice) -> Cluster {
    let full_loss = match dice.unit() {
        t if t < 0.5 => dice.between(0.45, 0.92),
        t if t < 0.8 => dice.between(0.24, 0.42),
        _ => dice.between(0.145, 0.23),
    };
    let width = dice.log_between(0.22, 1.1);
    let length = (width * dice.between(4.0, 6.0)).max(dice.log_between(2.0, 28.0));
    let marks = match dice.below(16) {
        0..=3 => vec![Mark::crack(dice, length, width)],
        4 => vec![Mark::branched(dice, length.max(6.0), width)],
        5 | 6 => vec![Mark::line(Kind::Line, length.min(16.0), width)],
        7 => vec![Mark::arc(dice.between(3.0, 12.0), dice.between(50.0, 170.0), width)],
        8..=10 => vec![Mark::dot(Kind::Dot, dice.log_between(0.5, 4.0))],
        11 | 12 => {
            let (width, ratio) = (dice.log_between(0.5, 2.0), dice.between(1.3, 4.2));
            vec![Mark::oval(Kind::Oval, width * ratio, width)]
        }
        13 => vec![Mark::dashed(dice, 2 + dice.clone().below(3), width.clamp(0.3, 0.8))],
        14 => row(dice),
        _ => pair(dice),
    };
    let softness = dice.log_between(0.03, 0.3);
    let ragged = if dice.chance(0.6) { dice.between(0.01, 0.06) } else { 0.0 };
    let marks = marks.into_iter().map(|mut mark| {
        let bounds = mark.bounds();
        let across = mark.strokes.iter().flatten().map(|b| b.radius_mm).fold(0.0, f64::max) * 2.0;
        let most = if full_loss > 0.42 { 0.14 } else { 0.25 };
        mark.softness_mm = softness.min(most * across).max(0.02);
        mark.ragged_mm = ragged.min(0.15 * across);
        mark.full_loss = full_loss;
        debug_assert!(bounds[0][0].is_finite(), "a mark has at least one bead");
        mark
    });
    Cluster { marks: marks.collect() }
}

/// Four to six dots along a line, gaps on both sides of 1.5 mm.
fn row(dice: &mut Dice) -> Vec<Mark> {
    let n = 4 + dice.below(3);
    let mut x = 0.0;
    let mut marks: Vec<Mark> = Vec::new();
    for _ in 0..n {
        let diameter = dice.between(0.7, 2.2);
        let mark = Mark::dot(Kind::RowDot, diameter);
        marks.push(mark.laid(0.0, [x + diameter / 2.0, 0.12 * dice.normal()]));
        x += diameter + dice.between(0.9, 2.4);
    }
    marks.into_iter().map(|m| m.laid(0.0, [-x / 2.0, 0.0])).collect()
}

/// Two neighbours end to end with a gap of half a millimetre to three.
fn pair(dice: &mut Dice) -> Vec<Mark> {
    let (a, b) = (dice.between(1.5, 6.0), dice.between(1.5, 6.0));
    let width = dice.between(0.35, 0.9);
    let gap = dice.between(0.6, 3.0);
    let first = Mark::line(Kind::Pair, a, width).laid(0.0, [-(a + gap) / 2.0, 0.0]);
    let second = Mark::line(Kind::Pair, b, width).laid(0.0, [(b + gap) / 2.0, 0.0]);
    vec![first, second]
}
