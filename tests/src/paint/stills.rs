//! Photos of scales thrown over stated ranges.

use super::bench::{Bench, Cover};
use super::camera::{Camera, Stand};
use super::card::{Board, Card};
use super::dice::Dice;
use super::light::{Glare, Light};
use super::rule::{Graduation, Rule};
use super::sensor::Sensor;
use super::still::{Lying, Still};
use std::f64::consts::TAU;

/// Ranges of the photos, beside their seed.
#[derive(Clone, Debug)]
pub struct StillOptions {
    /// Least and greatest tilt, degrees.
    pub tilt_deg: [f64; 2],
    /// Least and greatest blur of the lens, standard deviation, pixels.
    pub blur_px: [f64; 2],
    /// Least and greatest distance of the camera, mm.
    pub distance_mm: [f64; 2],
    /// Greatest radial lens term in either direction.
    pub most_k1: f64,
    /// Chance that something hides part of the scale (of a card: one marker).
    pub cover_chance: f64,
    /// Chance that a lamp is mirrored on the scale.
    pub glare_chance: f64,
    /// Rules: every photo with a phone's main lens from near by, the rule in a wide field; half of them
    /// tell the focal length. Else most are parts of photos, or taken from farther away.
    pub near_by: bool,
}

impl StillOptions {
    /// Cards: tilt to 50 degrees, blur to 2 px, a third with a marker covered, a third with glare.
    #[must_use]
    pub const fn cards() -> Self {
        Self {
            tilt_deg: [0.0, 50.0],
            blur_px: [0.5, 2.0],
            distance_mm: [180.0, 450.0],
            most_k1: 0.02,
            cover_chance: 0.35,
            glare_chance: 0.35,
            near_by: false,
        }
    }

    /// Rules: tilt to 30 degrees, blur to 1 px, a third covered in part, a third with glare.
    #[must_use]
    pub const fn rules() -> Self {
        Self { tilt_deg: [0.0, 30.0], blur_px: [0.4, 1.0], ..Self::cards() }
    }
}

/// Diagonal of the frame that "35 mm equivalent" refers to, mm.
const DIAGONAL_35MM: f64 = 43.27;
/// Share of photos of a rule that tell no focal length (a card needs none).
const UNTOLD: f64 = 0.15;

/// How a picture is framed: pixels a millimetre and width shown, mm.
#[derive(Clone, Copy)]
struct Frame {
    px_per_mm: f64,
    field_mm: f64,
    lens: Lens,
    focal: Told,
}

/// The lens.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Lens {
    /// A phone's main camera, nothing cut off.
    Main,
    /// By the distance.
    Any,
}

/// Whether the photo tells its focal length.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Told {
    Yes,
    No,
}

/// The camera, and the focal length the photo tells.
fn camera(dice: &mut Dice, frame: Frame, options: &StillOptions) -> (Camera, Option<f64>) {
    let width = (frame.px_per_mm * frame.field_mm / 16.0).round() as usize * 16;
    let height = width * 3 / 4;
    let diagonal = (width as f64).hypot(height as f64);
    let focal_px = if frame.lens == Lens::Main {
        dice.between(23.0, 28.0) / DIAGONAL_35MM * diagonal
    } else {
        dice.between(options.distance_mm[0], options.distance_mm[1]) * frame.px_per_mm
    };
    // Told as a whole number, by one convention or the other.
    let told = focal_px / diagonal * DIAGONAL_35MM * dice.between(0.965, 1.035);
    let camera = Camera::looking(&Stand {
        width,
        height,
        focal_px,
        px_per_mm: frame.px_per_mm,
        tilt: dice.between(options.tilt_deg[0], options.tilt_deg[1]).to_radians(),
        axis: dice.between(0.0, TAU),
        roll: dice.between(0.0, TAU),
        k1: dice.between(-options.most_k1, options.most_k1),
    });
    (camera, (frame.focal == Told::Yes).then(|| told.round()))
}

fn sensor(dice: &mut Dice, options: &StillOptions) -> Sensor {
    let thrown = Sensor::thrown(dice);
    Sensor { blur_px: dice.between(options.blur_px[0], options.blur_px[1]), ..thrown }
}

/// A photo of a card: small, standard or large by turns of the seed.
///
/// # Panics
/// When no place for the card is found: options that leave no room.
#[must_use]
pub fn card(seed: u64, options: &StillOptions) -> Still {
    let mut dice = Dice::new(seed).branch(21);
    let (board, px_per_mm) = match seed % 3 {
        0 => (Board::SMALL, [10.0, 24.0]),
        1 => (Board::STANDARD, [6.0, 15.0]),
        _ => (Board::LARGE, [5.0, 10.0]),
    };
    let [paper_x, paper_y] = board.paper_mm();
    let mut frame = Frame {
        px_per_mm: dice.log_between(px_per_mm[0], px_per_mm[1]),
        field_mm: paper_x.hypot(paper_y) * dice.between(1.15, 1.6),
        lens: Lens::Any,
        focal: Told::Yes,
    };
    let (camera, told_35mm, card) = loop {
        let (camera, told) = camera(&mut dice, frame, options);
        let placed = (0..60).find_map(|_| {
            let half = frame.field_mm / 2.0;
            let card = Card {
                below_mm: 0.0,
                board,
                centre_mm: [dice.between(-half, half), dice.between(-half, half)],
                angle: dice.between(0.0, TAU),
                paper: dice.between(0.7, 0.86),
                ink: dice.between(0.02, 0.07),
            };
            let whole = card.corners_mm().iter().all(|c| camera.sees(*c, 6.0));
            whole.then_some(card)
        });
        if let Some(card) = placed {
            break (camera, told, card);
        }
        frame.field_mm *= 1.05;
        assert!(frame.field_mm < 1000.0, "no room for the card");
    };
    let on_card = |dice: &mut Dice| {
        let (sin, cos) = card.angle.sin_cos();
        let (x, y) = (dice.between(-0.4, 0.4) * paper_x, dice.between(-0.4, 0.4) * paper_y);
        [card.centre_mm[0] + cos * x - sin * y, card.centre_mm[1] + sin * x + cos * y]
    };
    let mut covers = Vec::new();
    if dice.chance(options.cover_chance) {
        let radius_mm = 0.55 * board.square_mm;
        covers.push(Cover { centre_mm: on_card(&mut dice), radius_mm, colour: [0.5, 0.3, 0.22] });
    }
    let mut light = Light::thrown(&mut dice, frame.field_mm / 2.0);
    if dice.chance(options.glare_chance) {
        light.glare = Some(Glare {
            at_mm: on_card(&mut dice),
            spread_mm: dice.between(0.05, 0.12) * paper_x,
            strength: dice.between(0.8, 4.0),
        });
    }
    let bench = Bench::thrown(&mut dice, frame.field_mm / 2.0);
    let sensor = sensor(&mut dice, options);
    Still { seed, camera, told_35mm, lying: Lying::Card(card), covers, bench, light, sensor }
}

/// A photo of a rule whose first row is divided as asked by turns of the seed; often with another row
/// on its other edge, at times with a second rule beside it.
#[must_use]
pub fn rule(seed: u64, px_per_mm: [f64; 2], options: &StillOptions) -> Still {
    let mut dice = Dice::new(seed).branch(22);
    let asked = Graduation::ALL[(seed % 5) as usize];
    let mut other = |share: f64| {
        let any = Graduation::ALL[dice.below(5)];
        dice.chance(share).then_some(any)
    };
    let (edge, second) = (other(0.75), [other(1.0), other(0.5)]);
    // Without a focal length told the whole photo is painted, so a wide field.
    let untold = dice.chance(if options.near_by { 0.5 } else { UNTOLD });
    let frame = if untold || options.near_by {
        let px_per_mm = px_per_mm[0] * dice.between(1.0, 1.15);
        let focal = if untold { Told::No } else { Told::Yes };
        Frame { px_per_mm, field_mm: 220.0, lens: Lens::Main, focal }
    } else {
        let px_per_mm = dice.log_between(px_per_mm[0], px_per_mm[1]);
        Frame { px_per_mm, field_mm: dice.between(105.0, 130.0), lens: Lens::Any, focal: Told::Yes }
    };
    let (camera, told_35mm) = camera(&mut dice, frame, options);
    let mut rows = [Some(asked), edge];
    if dice.chance(0.5) {
        rows.reverse();
    }
    let mut rule = Rule::thrown(&mut dice, rows);
    rule.angle = dice.between(0.0, TAU);
    // Its middle within reach, so that 80 mm of it or more are in the photo.
    let slide = dice.between(-0.5, 0.5) * (rule.size_mm[0] - 110.0).max(0.0);
    let aside = dice.between(-20.0, 20.0);
    let (sin, cos) = rule.angle.sin_cos();
    rule.centre_mm = [cos * slide - sin * aside, sin * slide + cos * aside];
    let on_rule = |dice: &mut Dice| {
        rule.on_part([
            rule.size_mm[0] / 2.0 - slide + dice.between(-45.0, 45.0),
            dice.between(0.0, rule.size_mm[1]),
        ])
    };
    let mut covers = Vec::new();
    if dice.chance(options.cover_chance) {
        let radius_mm = dice.between(6.0, 14.0);
        covers.push(Cover { centre_mm: on_rule(&mut dice), radius_mm, colour: [0.5, 0.3, 0.22] });
    }
    let mut light = Light::thrown(&mut dice, frame.field_mm / 2.0);
    if dice.chance(options.glare_chance) {
        light.glare = Some(Glare {
            at_mm: on_rule(&mut dice),
            spread_mm: dice.between(4.0, 12.0),
            strength: dice.between(0.4, 1.6),
        });
    }
    let mut rules = vec![rule];
    if dice.chance(0.12) {
        let mut more = Rule::thrown(&mut dice, second);
        more.angle = rules[0].angle + dice.between(-0.15, 0.15);
        let gap = (more.size_mm[1] + rules[0].size_mm[1]) / 2.0 + dice.between(14.0, 30.0);
        let gap = if aside > 0.0 { -gap } else { gap };
        more.centre_mm = [rules[0].centre_mm[0] - sin * gap, rules[0].centre_mm[1] + cos * gap];
        rules.push(more);
    }
    let bench = Bench::thrown(&mut dice, frame.field_mm / 2.0);
    let sensor = sensor(&mut dice, options);
    Still { seed, camera, told_35mm, lying: Lying::Rules(rules), covers, bench, light, sensor }
}
