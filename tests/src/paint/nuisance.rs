//! Everything on a real part that is not an indication.

use super::dice::Dice;
use super::layer::{Ground, Ink, Layer};
use super::mark::{Bead, Kind, Mark};
use super::part::Part;
use super::pigment::{Rgb, load_for_loss};
use super::raster::Raster;

/// Absorption of rust for one unit of load: brown, so blue goes first.
/// Chosen: log ratios of about -1.3 blue against -1 green-to-red, as rust on white reads.
const RUST: Rgb = [0.22, 1.0, 3.2];
/// Absorption of grey dirt.
const GREY: Rgb = [1.0, 1.0, 1.0];

/// Pink residue: a soft, cloudy area of thin dye.
#[must_use]
pub fn pink_residue(dice: &mut Dice, part: &Part, dye: Rgb, at: [f64; 2]) -> Layer {
    let size = dice.between(5.0, 14.0);
    let most = load_for_loss(part.white[1], dice.between(0.06, 0.22));
    let shift = dice.between(0.0, 300.0);
    let field = blob(at, size * 1.6, 0.15, |x, y| {
        let d2 = (x * x + y * y) / (size * size);
        let clouds = part.clouds.at((at[0] + x) * 9.0 + shift, (at[1] + y) * 9.0);
        most * ((-1.4 * d2).exp() * (0.55 + 0.35 * clouds) - 0.04).max(0.0)
    });
    Layer { name: "pink residue", ground: Ground::Coat, ink: Ink::Stain(dye), field }
}

/// Wiping streaks: thin dye dragged along one direction.
#[must_use]
pub fn wiping_streaks(dice: &mut Dice, part: &Part, dye: Rgb, at: [f64; 2]) -> Layer {
    let (length, width) = (dice.between(8.0, 20.0), dice.between(3.0, 8.0));
    let most = load_for_loss(part.white[1], dice.between(0.05, 0.16));
    let (sin, cos) = dice.between(0.0, std::f64::consts::PI).sin_cos();
    let shift = dice.between(0.0, 300.0);
    let field = blob(at, length * 1.2, 0.12, |x, y| {
        let (u, v) = (cos * x + sin * y, cos * y - sin * x);
        let fade = (-1.5 * (u / length).powi(2) - 1.5 * (v / width).powi(2)).exp();
        let streak = part.powder.at(u * 0.25 + shift, v * 1.6);
        let rough = 1.0 + 0.25 * part.powder.at(u * 4.0, v * 4.0 + shift);
        most * (fade * (0.35 + 0.5 * streak) * rough - 0.03).max(0.0)
    });
    Layer { name: "wiping streaks", ground: Ground::Coat, ink: Ink::Stain(dye), field }
}

/// A run of thinned dye: a long, narrow, soft tongue.
#[must_use]
pub fn drip(dice: &mut Dice, part: &Part, dye: Rgb, at: [f64; 2]) -> Layer {
    let (length, width) = (dice.between(8.0, 25.0), dice.between(0.8, 2.5));
    let most = load_for_loss(part.white[1], dice.between(0.06, 0.2));
    let (sin, cos) = dice.between(0.0, std::f64::consts::PI).sin_cos();
    let shift = dice.between(0.0, 300.0);
    let field = blob(at, length * 0.7, 0.1, |x, y| {
        let (u, v) = (cos * x + sin * y, cos * y - sin * x);
        let bend = 0.5 * part.clouds.at(u * 3.0 + shift, shift);
        let along = (u / (0.5 * length)).clamp(-1.2, 1.2);
        // It thins out towards its start and ends in a drop.
        let fade = (1.0 - along.powi(4)).max(0.0) * (0.6 + 0.4 * along);
        most * (fade * (-((v - bend) / width).powi(2)).exp() - 0.03).max(0.0)
    });
    Layer { name: "drip", ground: Ground::Coat, ink: Ink::Stain(dye), field }
}

/// The joint of a pressed-in bush: a fine grey ring.
#[must_use]
pub fn joint(dice: &mut Dice, part: &Part, at: [f64; 2]) -> Layer {
    let radius = dice.between(4.0, 12.0);
    let bead =
        |t: f64| Bead { at_mm: [radius * t.cos(), radius * t.sin()], radius_mm: 0.06, load: 1.0 };
    let ring = (0..=72).map(|k| bead(f64::from(k) / 72.0 * std::f64::consts::TAU)).collect();
    let mut field = strokes(part, vec![ring], at, 0.04, 0.04);
    let most = load_for_loss(part.white[1], dice.between(0.1, 0.35)) as f32;
    field.values.iter_mut().for_each(|v| *v *= most);
    Layer { name: "joint", ground: Ground::Coat, ink: Ink::Stain(GREY), field }
}

/// Rust that came through the coat, or lies on bare metal.
#[must_use]
pub fn rust(dice: &mut Dice, part: &Part, ground: Ground, at: [f64; 2]) -> Layer {
    let size = dice.between(0.5, if ground == Ground::Metal { 6.0 } else { 2.2 });
    let green = if ground == Ground::Metal { 0.35 } else { part.white[1] };
    let most = load_for_loss(green, dice.between(0.2, 0.65));
    let shift = dice.between(0.0, 300.0);
    let field = blob(at, size * 2.0, 0.05, |x, y| {
        let d = x.hypot(y) / size;
        let ragged = part.clouds.at(x * 14.0 + shift, y * 14.0);
        most * ((1.0 - d + 0.45 * ragged) * 2.5).clamp(0.0, 1.0)
    });
    let name = if ground == Ground::Metal { "bare rust" } else { "rust on coat" };
    Layer { name, ground, ink: Ink::Stain(RUST), field }
}

/// A few grey specks.
#[must_use]
pub fn specks(dice: &mut Dice, part: &Part, at: [f64; 2]) -> Layer {
    let spots: Vec<[f64; 3]> = (0..3 + dice.below(7))
        .map(|_| [dice.normal() * 2.0, dice.normal() * 2.0, dice.between(0.08, 0.25)])
        .collect();
    let most = load_for_loss(part.white[1], dice.between(0.15, 0.6));
    let field = blob(at, 7.0, 0.03, |x, y| {
        let cover = spots.iter().map(|s| 1.0 - ((x - s[0]).hypot(y - s[1]) - s[2]) / 0.04 - 0.5);
        most * cover.fold(0.0, f64::max).clamp(0.0, 1.0)
    });
    Layer { name: "grey specks", ground: Ground::Coat, ink: Ink::Stain(GREY), field }
}

/// A textile fibre.
#[must_use]
pub fn fibre(dice: &mut Dice, part: &Part, at: [f64; 2]) -> Layer {
    let (mut turn, mut p) = (dice.between(0.0, 6.2), [0.0_f64, 0.0]);
    let curl = dice.normal() * 0.15;
    let radius_mm = dice.between(0.03, 0.07);
    let beads: Vec<Bead> = (0..14 + dice.below(16))
        .map(|_| {
            turn += curl + 0.12 * dice.normal();
            p = [p[0] + 0.35 * turn.cos(), p[1] + 0.35 * turn.sin()];
            Bead { at_mm: p, radius_mm, load: dice.between(0.7, 0.95) }
        })
        .collect();
    let colours = [[0.05, 0.09, 0.30], [0.04, 0.04, 0.05], [0.10, 0.12, 0.16]];
    let colour = colours[dice.below(3)];
    let field = strokes(part, vec![beads], at, 0.02, 0.015);
    Layer { name: "fibre", ground: Ground::Coat, ink: Ink::Paint(colour), field }
}

/// A scratch that shows through the coat as a grey line.
#[must_use]
pub fn scratch(dice: &mut Dice, part: &Part, at: [f64; 2]) -> Layer {
    let (sin, cos) = dice.between(0.0, 6.2).sin_cos();
    let half = dice.between(3.0, 12.0);
    let bead =
        |t: f64| Bead { at_mm: [t * half * cos, t * half * sin], radius_mm: 0.07, load: 1.0 };
    let mut field = strokes(part, vec![vec![bead(-1.0), bead(1.0)]], at, 0.03, 0.03);
    let most = load_for_loss(part.white[1], dice.between(0.08, 0.3)) as f32;
    field.values.iter_mut().for_each(|v| *v *= most);
    Layer { name: "scratch", ground: Ground::Coat, ink: Ink::Stain(GREY), field }
}

/// A number painted in red on bare metal.
#[must_use]
pub fn lettering(dice: &mut Dice, part: &Part, at: [f64; 2]) -> Layer {
    let height = dice.between(4.0, 9.0);
    let digits: [&[[f64; 2]]; 4] = [
        &[[0.0, 0.0], [0.6, 0.0], [0.2, 1.0]],
        &[[0.0, 0.6], [0.5, 0.6], [0.4, 0.0], [0.0, 0.6], [0.4, 0.6], [0.4, 1.0]],
        &[[0.1, 0.2], [0.3, 0.0], [0.3, 1.0]],
        &[[0.0, 0.1], [0.5, 0.1], [0.3, 0.45], [0.55, 0.7], [0.3, 1.0], [0.0, 0.9]],
    ];
    let (sin, cos) = (part.plate.angle + dice.normal() * 0.1).sin_cos();
    let all = (0..2 + dice.below(3))
        .map(|i| {
            digits[dice.below(4)]
                .iter()
                .map(|[x, y]| {
                    let (x, y) = (height * (x + 0.8 * i as f64), height * y);
                    let at_mm = [cos * x - sin * y, sin * x + cos * y];
                    Bead { at_mm, radius_mm: height * 0.06, load: 1.0 }
                })
                .collect()
        })
        .collect();
    let field = strokes(part, all, at, 0.05, 0.04);
    let colour = [dice.between(0.35, 0.6), 0.02, 0.03];
    Layer { name: "red lettering", ground: Ground::Metal, ink: Ink::Paint(colour), field }
}

/// A red cap lying on the bench.
#[must_use]
pub fn red_cap(dice: &mut Dice, part: &Part, at: [f64; 2]) -> Layer {
    let (sin, cos) = dice.between(0.0, 6.2).sin_cos();
    let half = dice.between(6.0, 14.0);
    let bead = |t: f64| Bead { at_mm: [t * half * cos, t * half * sin], radius_mm: 6.0, load: 1.0 };
    let field = strokes(part, vec![vec![bead(-1.0), bead(1.0)]], at, 0.1, 0.08);
    let colour = [dice.between(0.4, 0.6), 0.02, 0.025];
    Layer { name: "red cap", ground: Ground::Bench, ink: Ink::Paint(colour), field }
}

fn blob(at: [f64; 2], half: f64, step: f64, value: impl Fn(f64, f64) -> f64) -> Raster {
    let low = [at[0] - half, at[1] - half];
    let high = [at[0] + half, at[1] + half];
    Raster::painted(low, high, step, |p| value(p[0] - at[0], p[1] - at[1]))
}

fn strokes(part: &Part, strokes: Vec<Vec<Bead>>, at: [f64; 2], step: f64, softness: f64) -> Raster {
    let mark =
        Mark { kind: Kind::Line, strokes, softness_mm: softness, ragged_mm: 0.0, full_loss: 1.0 };
    mark.laid(0.0, at).dye(&part.powder, step)
}
