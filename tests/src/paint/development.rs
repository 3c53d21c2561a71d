//! One part while the developer draws, photographed by hand several times: bleed-out grows by known laws, the
//! camera is held anew each time, the card lies still.

use super::camera::Camera;
use super::card::Card;
use super::dice::Dice;
use super::layer::{Ink, Layer, Layers};
use super::light::Light;
use super::mark::Mark;
use super::painted::{Painted, paint};
use super::scene::{Scene, SceneOptions};
use super::sensor::Sensor;

/// How a bleed-out grows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// With the root of time, as a liquid creeps into dry powder: it still grows at the end.
    Drawing,
    /// Soon done: what is missing falls to 1/e every `over` minutes.
    Settled {
        /// Minutes.
        over: f64,
    },
    /// Nothing until then; afterwards with the root of time, and darker.
    Late {
        /// Minutes after the developer went on.
        from: f64,
    },
}

/// How one indication develops.
#[derive(Clone, Copy, Debug)]
pub struct Growth {
    /// Its law.
    pub law: Law,
    /// What it gains in length until the last photo, mm; a late one only sqrt((last - from) / last) of it.
    pub length_mm: f64,
    /// What it gains in width until then, mm; a late one as much less.
    pub width_mm: f64,
}

impl Growth {
    fn thrown(dice: &mut Dice, last: f64) -> Self {
        let law = match dice.unit() {
            t if t < 0.40 => Law::Drawing,
            t if t < 0.85 => Law::Settled { over: dice.between(0.5, 1.8) },
            _ => Law::Late { from: last * dice.between(0.15, 0.7) },
        };
        let length_mm = dice.log_between(0.2, 4.0);
        Self { law, length_mm, width_mm: length_mm.min(dice.between(0.05, 0.4)) }
    }

    /// Share of the growth and of the dye that is there, 0 to 1; absent before it appears.
    #[must_use]
    pub fn share(&self, minutes: f64, last: f64) -> Option<[f64; 2]> {
        match self.law {
            Law::Drawing => {
                let share = (minutes / last).sqrt();
                Some([share, 0.7 + 0.3 * share])
            }
            Law::Settled { over } => {
                let share = 1.0 - (-minutes / over).exp();
                Some([share, 0.7 + 0.3 * share])
            }
            Law::Late { from } => {
                let after = minutes - from;
                (after > 0.0).then(|| [(after / last).sqrt(), 1.0 - (-after / 1.5).exp()])
            }
        }
    }
}

/// A part photographed several times.
#[derive(Clone, Debug)]
pub struct Development {
    /// When, minutes after the developer went on.
    pub minutes: Vec<f64>,
    /// How each indication grows; one for each of a shot's list.
    pub growths: Vec<Growth>,
    /// The photos, in order of time. Their lists of indications run alike; one that is not there yet has no
    /// body.
    pub shots: Vec<Scene>,
}

/// Greatest tilt and roll by which a camera is held anew, radians. Chosen: a steady hand.
const TURNED: f64 = 0.08;
/// Greatest change of its distance, and shift as a share of the field.
const NEARER: f64 = 0.08;
const SHIFTED: f64 = 0.04;

impl Development {
    /// The photos of a seed. None where no hand of this seed keeps card and indications in view.
    #[must_use]
    pub fn of(seed: u64, options: &SceneOptions, minutes: &[f64]) -> Option<Self> {
        let dice = Dice::new(seed).branch(31);
        let bare = Scene::of(seed, options);
        let last = minutes.iter().copied().fold(0.0, f64::max);
        let mut law_dice = dice.branch(1);
        let growths: Vec<Growth> =
            bare.painted.iter().map(|_| Growth::thrown(&mut law_dice, last)).collect();
        let shots = minutes
            .iter()
            .enumerate()
            .map(|(n, m)| shot(&bare, &growths, [*m, last], &dice.branch(100 + n as u64)))
            .collect::<Option<_>>()?;
        Some(Self { minutes: minutes.to_vec(), growths, shots })
    }

    /// A photo once more with the card pushed and turned on the part. None where it would lie over an
    /// indication or out of view.
    #[must_use]
    pub fn with_card_moved(&self, shot: usize, shift_mm: [f64; 2], turn: f64) -> Option<Scene> {
        let mut scene = self.shots.get(shot)?.clone();
        scene.card.centre_mm = [0, 1].map(|k| scene.card.centre_mm[k] + shift_mm[k]);
        scene.card.angle += turn;
        let clear = clear(&scene.camera, &scene.card, scene.painted.iter().map(|p| &p.mark));
        clear.then_some(scene)
    }
}

/// Whether the card is whole in view, and every mark is and lies clear of it.
fn clear<'a>(camera: &Camera, card: &Card, mut marks: impl Iterator<Item = &'a Mark>) -> bool {
    card.corners_mm().iter().all(|corner| camera.sees(*corner, 12.0))
        && marks.all(|mark| {
            let [low, high] = mark.bounds();
            [low, high, [low[0], high[1]], [high[0], low[1]]]
                .iter()
                .all(|p| camera.sees(*p, 20.0) && card.inside_mm(*p) < -2.0)
        })
}

fn shot(bare: &Scene, growths: &[Growth], [minutes, last]: [f64; 2], dice: &Dice) -> Option<Scene> {
    let marks: Vec<Mark> = bare
        .painted
        .iter()
        .zip(growths)
        .map(|(painted, growth)| {
            let [size, dye] = growth.share(minutes, last).unwrap_or([0.0, 0.0]);
            let mark = painted.mark.clone().bled(size * growth.length_mm, size * growth.width_mm);
            Mark { full_loss: dye * mark.full_loss, ..mark }
        })
        .collect();
    let mut hand = dice.branch(1);
    let half_mm = bare.camera.width as f64 / 2.0 * bare.camera.mm_per_px([0.0, 0.0]);
    let camera = (0..60).find_map(|_| {
        let turn = [0, 1, 2].map(|_| hand.between(-TURNED, TURNED));
        let nearer = 1.0 + hand.between(-NEARER, NEARER / 4.0);
        let shift = [0, 1].map(|_| half_mm * hand.between(-SHIFTED, SHIFTED));
        let camera = bare.camera.held_anew(turn, nearer, shift);
        clear(&camera, &bare.card, marks.iter()).then_some(camera)
    })?;
    // The same room: what stands stays, what the hand and the automatic do differs.
    let mut light = Light::thrown(&mut dice.branch(2), half_mm);
    (light.shadow, light.glare) = (bare.light.shadow.clone(), bare.light.glare.clone());
    light.relief.clone_from(&bare.light.relief);
    let mut automatic = dice.branch(3);
    let sensor = Sensor {
        blur_px: bare.sensor.blur_px * automatic.between(0.8, 1.25),
        balance: bare.sensor.balance.map(|v| v * automatic.between(0.95, 1.05)),
        exposure: (bare.sensor.exposure * automatic.between(0.85, 1.15)).min(1.02),
        ..bare.sensor.clone()
    };
    let dye = bare.layers.all().iter().find_map(|layer| match (layer.name, layer.ink) {
        ("indication", Ink::Stain(dye)) => Some(dye),
        _ => None,
    });
    let mut layers: Vec<Layer> =
        bare.layers.all().iter().filter(|layer| layer.name != "indication").cloned().collect();
    let mut painted: Vec<Painted> = Vec::new();
    for (mark, old) in marks.into_iter().zip(&bare.painted) {
        let [low, high] = mark.bounds();
        let pitch = camera.mm_per_px([(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0]);
        let blur_mm = sensor.edge_blur_px() * pitch;
        let dye = dye.unwrap_or([0.05, 1.0, 0.9]);
        let (layer, done) = paint(mark, old.cluster, &bare.part, dye, blur_mm);
        layers.push(layer);
        painted.push(done);
    }
    let reach = half_mm * 2.4;
    let layers = Layers::sorted(layers, [-reach, -reach], [reach, reach]);
    let (part, card, droplets) = (bare.part.clone(), bare.card.clone(), bare.droplets.clone());
    let seed = dice.branch(4).bits();
    Some(Scene { seed, camera, card, part, light, sensor, layers, painted, droplets })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paint::mark::Kind;

    #[test]
    fn growth_is_what_its_law_says() {
        let growth = |law| Growth { law, length_mm: 2.0, width_mm: 0.2 };
        let size = |law, at| growth(law).share(at, 20.0).map(|[size, _]| size);
        assert_eq!(size(Law::Drawing, 5.0), Some(0.5));
        assert!(size(Law::Settled { over: 1.0 }, 15.0).is_some_and(|s| s > 0.999_999));
        assert_eq!(size(Law::Late { from: 6.0 }, 5.0), None);
        assert_eq!(size(Law::Late { from: 4.0 }, 9.0), Some(0.5));
    }

    #[test]
    fn a_bled_mark_is_longer_by_what_was_asked() {
        let (line, dot) = (Mark::line(Kind::Line, 5.0, 0.6), Mark::dot(Kind::Dot, 1.5));
        for (mark, wider) in [(line, 0.2), (dot, 1.0)] {
            let [low, high] = mark.bounds();
            let [new_low, new_high] = mark.bled(1.0, 0.2).bounds();
            let side = |k: usize| (new_high[k] - new_low[k]) - (high[k] - low[k]);
            assert!((side(0) - 1.0).abs() < 1e-9 && (side(1) - wider).abs() < 1e-9);
        }
    }
}
