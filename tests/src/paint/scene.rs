//! A whole scene from one number: what lies on the bench, how it is lit, who photographs it.

use super::camera::{Camera, Stand};
use super::card::{Board, Card};
use super::dice::Dice;
use super::layer::{Ground, Layer, Layers};
use super::light::{Glare, Light, Shadow};
use super::mark::Mark;
use super::nuisance;
pub use super::painted::Painted;
use super::painted::paint;
use super::part::Part;
use super::pigment::Rgb;
use super::recipe;
use super::relief::Relief;
use super::sensor::Sensor;
use super::spatter::{self, Droplet};
use super::truth::Body;

/// What scenes are made from, beside their seed.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct SceneOptions {
    /// Least and greatest pixels a millimetre in the middle, default 8 to 20.
    pub px_per_mm: [f64; 2],
    /// Least and greatest tilt, degrees, default 0 to 35.
    pub tilt_deg: [f64; 2],
    /// Greatest radial lens term in either direction, default 0.
    pub most_k1: f64,
    /// Share of scenes without any indication, default 0.1.
    pub blank_share: f64,
    /// Chance of each kind of nuisance, default 0.35; 0 paints a clean part.
    pub nuisance_chance: f64,
    /// Chance of spatter of penetrant; absent, the default, is a third of `nuisance_chance`. 0 leaves every photo
    /// as it is without spatter; with spatter all else in it stays the same.
    pub spatter_chance: Option<f64>,
}

impl Default for SceneOptions {
    fn default() -> Self {
        Self {
            px_per_mm: [8.0, 20.0],
            tilt_deg: [0.0, 35.0],
            most_k1: 0.0,
            blank_share: 0.1,
            nuisance_chance: 0.35,
            spatter_chance: None,
        }
    }
}

/// Everything needed to paint one photo.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The number it was made from.
    pub seed: u64,
    /// The camera.
    pub camera: Camera,
    /// The scale card.
    pub card: Card,
    /// Bench, part and coat.
    pub part: Part,
    /// The light.
    pub light: Light,
    /// How light becomes a picture.
    pub sensor: Sensor,
    /// Indications and nuisances.
    pub layers: Layers,
    /// Indications with their truth.
    pub painted: Vec<Painted>,
    /// Droplets of spatter on the coat.
    pub droplets: Vec<Droplet>,
}

impl Scene {
    /// The scene of a seed: the same seed and options give the same scene.
    ///
    /// # Panics
    /// When no place for a card is found at all: options that leave no room.
    #[must_use]
    pub fn of(seed: u64, options: &SceneOptions) -> Self {
        let dice = Dice::new(seed);
        let (camera, card) = framed(&mut dice.branch(1), options);
        let half_mm = [
            camera.width as f64 / 2.0 * camera.mm_per_px([0.0, 0.0]),
            camera.height as f64 / 2.0 * camera.mm_per_px([0.0, 0.0]),
        ];
        let part = Part::thrown(&mut dice.branch(2), half_mm);
        let mut light = Light::thrown(&mut dice.branch(3), half_mm[0]);
        let sensor = Sensor::thrown(&mut dice.branch(4));
        let mut look = dice.branch(5);
        let dye = [look.between(0.02, 0.08), 1.0, look.between(0.6, 1.3)];
        let mut stage = Stage { camera: &camera, card: &card, part: &part, taken: Vec::new() };

        let mut layers = Vec::new();
        let mut painted = Vec::new();
        let mut recipe_dice = dice.branch(6);
        if !recipe_dice.chance(options.blank_share) {
            for cluster in 0..5 + recipe_dice.below(8) {
                let drawn = recipe::cluster(&mut recipe_dice);
                let reach = drawn.reach_mm();
                if let Some(at) = stage.free_place(&mut recipe_dice, reach, 2.5) {
                    let turn = recipe_dice.between(0.0, std::f64::consts::TAU);
                    for mark in drawn.laid(turn, at).marks {
                        let pitch = camera.mm_per_px(at);
                        let (layer, done) =
                            paint(mark, cluster, &part, dye, sensor.edge_blur_px() * pitch);
                        layers.push(layer);
                        painted.push(done);
                    }
                }
            }
        }
        let mut nuisance_dice = dice.branch(7);
        stage.strew(&mut nuisance_dice, options.nuisance_chance, dye, &mut layers);
        shade(&mut dice.branch(8), options.nuisance_chance, &mut light, &stage, half_mm[0]);
        let mut shape_dice = dice.branch(9);
        stage.shape(&mut shape_dice, options.nuisance_chance, dye, &mut layers, &mut light);
        let mut droplets = Vec::new();
        let chance = options.spatter_chance.unwrap_or(options.nuisance_chance / 3.0);
        for mark in stage.spatter(&mut dice.branch(10), chance, &painted) {
            let laid = spatter::laid(mark, &part, dye, &camera, sensor.edge_blur_px());
            if let Some((layer, droplet)) = laid {
                layers.push(layer);
                droplets.push(droplet);
            }
        }
        let reach = half_mm[0] * 2.2;
        let layers = Layers::sorted(layers, [-reach, -reach], [reach, reach]);
        Self { seed, camera, card, part, light, sensor, layers, painted, droplets }
    }

    /// The same part and indications photographed again another day: another stand, card, light and sensor,
    /// each indication longer by `growth_mm` of its place in the list. None when no stand of this seed sees
    /// every indication clear of the card.
    #[must_use]
    pub fn later(
        &self,
        seed: u64,
        options: &SceneOptions,
        growth_mm: impl Fn(usize) -> f64,
    ) -> Option<Self> {
        let dice = Dice::new(seed);
        let marks: Vec<Mark> = self
            .painted
            .iter()
            .enumerate()
            .map(|(n, painted)| painted.mark.clone().longer(growth_mm(n)))
            .collect();
        let (camera, card) = (0..400).find_map(|n| {
            let (camera, card) = framed(&mut dice.branch(100 + n), options);
            let clear = marks.iter().all(|mark| {
                let [low, high] = mark.bounds();
                [low, high, [low[0], high[1]], [high[0], low[1]]]
                    .iter()
                    .all(|p| camera.sees(*p, 40.0) && card.inside_mm(*p) < -4.0)
            });
            clear.then_some((camera, card))
        })?;
        let half_mm = camera.width as f64 / 2.0 * camera.mm_per_px([0.0, 0.0]);
        let light = Light::thrown(&mut dice.branch(3), half_mm);
        let sensor = Sensor::thrown(&mut dice.branch(4));
        let mut look = dice.branch(5);
        let dye = [look.between(0.02, 0.08), 1.0, look.between(0.6, 1.3)];
        let (mut layers, mut painted) = (Vec::new(), Vec::new());
        for (mark, old) in marks.into_iter().zip(&self.painted) {
            let [low, high] = mark.bounds();
            let pitch = camera.mm_per_px([(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0]);
            let blur_mm = sensor.edge_blur_px() * pitch;
            let (layer, done) = paint(mark, old.cluster, &self.part, dye, blur_mm);
            layers.push(layer);
            painted.push(done);
        }
        let reach = half_mm * 2.2;
        let layers = Layers::sorted(layers, [-reach, -reach], [reach, reach]);
        let (part, droplets) = (self.part.clone(), Vec::new());
        Some(Self { seed, camera, card, part, light, sensor, layers, painted, droplets })
    }

    /// Every true body with the drawing it belongs to.
    pub fn bodies(&self) -> impl Iterator<Item = (&Painted, &Body)> {
        self.painted.iter().flat_map(|p| p.truth.bodies.iter().map(move |b| (p, b)))
    }
}

/// A camera and a card that lies whole in its view, as far from the middle as it can.
fn framed(dice: &mut Dice, options: &SceneOptions) -> (Camera, Card) {
    let mut px_per_mm = dice.log_between(options.px_per_mm[0], options.px_per_mm[1]);
    let width = ((px_per_mm * 170.0).clamp(1600.0, 2800.0) / 16.0).round() as usize * 16;
    let (zoom, axis) = (dice.between(0.75, 1.5), dice.between(0.0, 6.3));
    let tilt = dice.between(options.tilt_deg[0], options.tilt_deg[1]).to_radians();
    let k1 = dice.between(-options.most_k1, options.most_k1);
    loop {
        let camera = Camera::looking(&Stand {
            width,
            height: width * 3 / 4,
            focal_px: width as f64 * zoom,
            px_per_mm,
            tilt,
            axis,
            roll: 0.0,
            k1,
        });
        let half = width as f64 / 2.0 / px_per_mm;
        for _ in 0..60 {
            let angle = dice.between(0.0, std::f64::consts::TAU);
            let mut best: Option<(f64, Card)> = None;
            for _ in 0..80 {
                let centre_mm = [dice.between(-half, half), dice.between(-half, half)];
                let card = Card {
                    board: Board::STANDARD,
                    centre_mm,
                    angle,
                    paper: 0.80,
                    ink: 0.035,
                    below_mm: 0.0,
                };
                let away = centre_mm[0].hypot(centre_mm[1]);
                let whole = card.corners_mm().iter().all(|c| camera.sees(*c, 12.0));
                if whole && best.as_ref().is_none_or(|b| away > b.0) {
                    best = Some((away, card));
                }
            }
            if let Some((_, mut card)) = best {
                card.paper = dice.between(0.70, 0.86);
                card.ink = dice.between(0.02, 0.07);
                return (camera, card);
            }
        }
        px_per_mm *= 0.92;
        assert!(px_per_mm > 2.0, "no room for a card");
    }
}

/// Where things may still be laid.
struct Stage<'a> {
    camera: &'a Camera,
    card: &'a Card,
    part: &'a Part,
    taken: Vec<([f64; 2], f64)>,
}

impl Stage<'_> {
    /// A visible place on full coat, clear of the card and of what was laid before, which it then takes.
    fn free_place(&mut self, dice: &mut Dice, reach: f64, clear: f64) -> Option<[f64; 2]> {
        let half = self.part.sprayed.half_mm;
        for _ in 0..300 {
            let at = [0, 1].map(|k| {
                self.part.sprayed.centre_mm[k] + dice.between(-1.2, 1.2) * half[0].max(half[1])
            });
            let free = self.part.coat_inside_mm(at) > reach + 1.0
                && self.card.inside_mm(at) < -(reach + 2.0)
                && self
                    .taken
                    .iter()
                    .all(|(p, r)| (p[0] - at[0]).hypot(p[1] - at[1]) > reach + r + clear);
            let ring = [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]];
            let seen = ring
                .iter()
                .all(|d| self.camera.sees([at[0] + reach * d[0], at[1] + reach * d[1]], 25.0));
            if free && seen {
                self.taken.push((at, reach));
                return Some(at);
            }
        }
        None
    }

    /// A visible place where `wanted` holds.
    fn any_place(&self, dice: &mut Dice, wanted: impl Fn([f64; 2]) -> bool) -> Option<[f64; 2]> {
        let half = self.camera.width as f64 / 2.0 * self.camera.mm_per_px([0.0, 0.0]);
        (0..300).find_map(|_| {
            let at = [dice.between(-half, half), dice.between(-half, half)];
            (self.camera.sees(at, 5.0) && self.card.inside_mm(at) < -1.0 && wanted(at))
                .then_some(at)
        })
    }

    /// Droplets of spatter that lie on full coat in view, clear of the card and of every indication.
    fn spatter(&self, dice: &mut Dice, chance: f64, painted: &[Painted]) -> Vec<Mark> {
        let coated = |p: [f64; 2]| self.part.coat_inside_mm(p) > 1.0;
        let at = dice.chance(chance).then(|| self.any_place(dice, coated)).flatten();
        let all = at.map_or(Vec::new(), |at| spatter::thrown(dice, self.part, at));
        let lies = |mark: &Mark| {
            let corners = mark.bounds();
            corners
                .iter()
                .all(|p| coated(*p) && self.camera.sees(*p, 5.0) && self.card.inside_mm(*p) < -2.0)
                && spatter::is_clear(mark, painted)
        };
        all.into_iter().filter(lies).collect()
    }

    /// What a part's own shape does, and runs of thinned dye on it.
    fn shape(
        &mut self,
        dice: &mut Dice,
        chance: f64,
        dye: Rgb,
        layers: &mut Vec<Layer>,
        light: &mut Light,
    ) {
        let part = self.part;
        let coated = |p: [f64; 2]| part.coat_inside_mm(p) > 1.0;
        if dice.chance(chance) {
            for _ in 0..1 + dice.below(2) {
                light
                    .relief
                    .extend(self.any_place(dice, coated).map(|at| Relief::thrown(dice, at)));
            }
        }
        if dice.chance(chance)
            && let Some(at) = self.any_place(dice, coated)
        {
            layers.push(nuisance::drip(dice, part, dye, at));
        }
        if dice.chance(chance)
            && let Some(at) = self.any_place(dice, coated)
        {
            layers.push(nuisance::joint(dice, part, at));
        }
    }

    fn strew(&mut self, dice: &mut Dice, chance: f64, dye: Rgb, layers: &mut Vec<Layer>) {
        let part = self.part;
        let coated = |p: [f64; 2]| part.coat_inside_mm(p) > 1.0;
        // Smears may lie over indications; the rest keeps its distance.
        for kind in 0..2 {
            if dice.chance(chance)
                && let Some(at) = self.any_place(dice, coated)
            {
                layers.push(if kind == 0 {
                    nuisance::pink_residue(dice, part, dye, at)
                } else {
                    nuisance::wiping_streaks(dice, part, dye, at)
                });
            }
        }
        for kind in 0..4 {
            if !dice.chance(chance) {
                continue;
            }
            for _ in 0..1 + dice.below(3) {
                let reach = [3.0, 4.0, 3.0, 6.0][kind];
                if let Some(at) = self.free_place(dice, reach, 0.5) {
                    layers.push(match kind {
                        0 => nuisance::rust(dice, part, Ground::Coat, at),
                        1 => nuisance::specks(dice, part, at),
                        2 => nuisance::fibre(dice, part, at),
                        _ => nuisance::scratch(dice, part, at),
                    });
                }
            }
        }
        let bare = |p: [f64; 2]| part.plate.inside_mm(p) > 1.0 && part.coat_inside_mm(p) < -6.0;
        if dice.chance(chance)
            && let Some(at) = self.any_place(dice, bare)
        {
            layers.push(nuisance::rust(dice, part, Ground::Metal, at));
        }
        if dice.chance(chance)
            && let Some(at) = self.any_place(dice, bare)
        {
            layers.push(nuisance::lettering(dice, part, at));
        }
        if dice.chance(chance)
            && let Some(at) = self.any_place(dice, |p| part.plate.inside_mm(p) < -2.0)
        {
            layers.push(nuisance::red_cap(dice, part, at));
        }
    }
}

/// A tinted shadow and a mirrored lamp, each with this chance.
fn shade(dice: &mut Dice, chance: f64, light: &mut Light, stage: &Stage<'_>, half: f64) {
    if dice.chance(chance) {
        let left = dice.between(0.35, 0.7);
        let tint = dice.between(-0.04, 0.08);
        light.shadow = Some(Shadow {
            at_mm: [dice.between(-0.7, 0.7) * half, dice.between(-0.5, 0.5) * half],
            angle: dice.between(0.0, std::f64::consts::TAU),
            soft_mm: dice.log_between(0.8, 25.0),
            left: [left * (1.0 - tint), left, left * (1.0 + tint)],
        });
    }
    if dice.chance(chance)
        && let Some(at_mm) = stage.any_place(dice, |p| stage.part.plate.inside_mm(p) > 0.0)
    {
        let (spread_mm, strength) = (dice.between(5.0, 20.0), dice.between(0.4, 1.6));
        light.glare = Some(Glare { at_mm, spread_mm, strength });
    }
}
