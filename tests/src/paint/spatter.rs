//! Spatter: droplets of red penetrant that hit the developer when a can or a brush is used nearby.
//!
//! A droplet is dark and saturated in the middle, with a thin rim of dye that the powder drew out of it. One by one
//! droplets look like small round indications, and are meant to: only what lies around them could tell them apart.

use super::camera::Camera;
use super::dice::Dice;
use super::layer::Layer;
use super::mark::{Kind, Mark};
use super::painted::{Painted, paint};
use super::part::Part;
use super::pigment::{Rgb, load_for_loss};

/// Drawn lengths between which 19 of 20 droplets lie, and none lies outside, mm. At half its peak a saturated one is up
/// to a tenth of a millimetre longer.
const LENGTH_MM: [f64; 2] = [0.1, 0.9];
/// A droplet lies at least this far from every indication, mm, so that the truth of both stays what was drawn.
const CLEAR_MM: f64 = 1.5;

/// A droplet on the coat.
#[derive(Clone, Copy, Debug)]
pub struct Droplet {
    /// Its middle, mm.
    pub at_mm: [f64; 2],
    /// Its length at half its peak, mm.
    pub length_mm: f64,
    /// Length left after the photo's own blur, mm.
    pub seen_mm: f64,
    /// Peak share of green light lost after the photo's own blur, 0 to 1.
    pub seen_peak: f64,
}

impl Droplet {
    /// Distance of a place from its middle, mm.
    #[must_use]
    pub fn away_mm(&self, p: [f64; 2]) -> f64 {
        (p[0] - self.at_mm[0]).hypot(p[1] - self.at_mm[1])
    }
}

/// Five to forty droplets round a place: half the time a loose cluster, else a fan along one direction.
#[must_use]
pub fn thrown(dice: &mut Dice, part: &Part, at: [f64; 2]) -> Vec<Mark> {
    let count = 5 + dice.below(36);
    let fan = dice.chance(0.5);
    let heading = dice.between(0.0, std::f64::consts::TAU);
    let opening = dice.between(0.06, 0.3);
    let reach = dice.between(12.0, 40.0);
    let spread = dice.between(3.0, 12.0);
    let saturated = dice.between(0.7, 0.9);
    (0..count)
        .map(|_| {
            let way = heading + opening * dice.normal();
            let far = reach * (0.25 + 0.75 * dice.unit());
            let off = [spread * dice.normal(), spread * dice.normal()];
            let mark = droplet(dice, part, fan, saturated);
            let off = if fan {
                let middle = 0.625 * reach;
                [far * way.cos() - middle * heading.cos(), far * way.sin() - middle * heading.sin()]
            } else {
                off
            };
            mark.laid(way, [at[0] + off[0], at[1] + off[1]])
        })
        .collect()
}

/// One droplet round the origin; in a fan half of them are drawn out along x.
fn droplet(dice: &mut Dice, part: &Part, fan: bool, saturated: f64) -> Mark {
    let [least, most] = LENGTH_MM.map(f64::ln);
    // Two standard deviations on either side.
    let length =
        ((least + most) / 2.0 + (most - least) / 4.0 * dice.normal()).clamp(least, most).exp();
    let ratio = dice.between(1.1, 1.7);
    let drawn_out = dice.chance(0.5) && fan;
    let mut mark = if drawn_out {
        Mark::oval(Kind::Dot, length, length / ratio)
    } else {
        Mark::dot(Kind::Dot, length)
    };
    mark.full_loss = (saturated * dice.between(0.9, 1.05)).min(0.92);
    let green = part.white[1];
    let thin =
        load_for_loss(green, dice.between(0.08, 0.22)) / load_for_loss(green, mark.full_loss);
    let wicked = dice.between(0.04, 0.15);
    let rim = mark.strokes[0].iter().map(|bead| {
        let mut bead = *bead;
        (bead.radius_mm, bead.load) = (bead.radius_mm + wicked, thin);
        bead
    });
    mark.strokes.push(rim.collect());
    mark.softness_mm = (0.1 * length).clamp(0.015, 0.04);
    mark
}

/// Whether a droplet lies clear of every indication.
#[must_use]
pub fn is_clear(droplet: &Mark, indications: &[Painted]) -> bool {
    let [low, high] = droplet.bounds();
    let at = [0, 1].map(|k| (low[k] + high[k]) / 2.0);
    let own = (high[0] - low[0]).max(high[1] - low[1]) / 2.0;
    indications.iter().all(|painted| {
        let mut bodies = painted.truth.bodies.iter().chain(&painted.truth.crumbs);
        bodies.all(|body| {
            !painted.truth.covers(body, at) && body.edge_distance_mm(at) > CLEAR_MM + own
        })
    })
}

/// A droplet as dye on the coat, and what this camera with this edge blur in pixels sees of it.
#[must_use]
pub fn laid(
    mark: Mark,
    part: &Part,
    dye: Rgb,
    camera: &Camera,
    blur_px: f64,
) -> Option<(Layer, Droplet)> {
    let [low, high] = mark.bounds();
    let at_mm = [0, 1].map(|k| (low[k] + high[k]) / 2.0);
    let (layer, done) = paint(mark, 0, part, dye, blur_px * camera.mm_per_px(at_mm));
    let (body, seen) = (done.truth.bodies.first()?, done.seen.bodies.first()?);
    let droplet =
        Droplet { at_mm, length_mm: body.length_mm, seen_mm: seen.length_mm, seen_peak: seen.peak };
    Some((Layer { name: "spatter", ..layer }, droplet))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lengths as drawn: the middle one is the geometric mean of the two limits, 0.3 mm.
    #[test]
    fn droplets_are_as_many_and_as_long_as_told() {
        let part = Part::thrown(&mut Dice::new(1), [80.0, 60.0]);
        let mut lengths = Vec::new();
        for seed in 0..60 {
            let all = thrown(&mut Dice::new(seed), &part, [0.0, 0.0]);
            assert!((5..=40).contains(&all.len()), "{} droplets", all.len());
            lengths.extend(all.iter().map(|mark| {
                let core = &mark.strokes[0];
                let far = core.iter().map(|b| {
                    let from = [0, 1].map(|k| b.at_mm[k] - core[0].at_mm[k]);
                    from[0].hypot(from[1]) + b.radius_mm + core[0].radius_mm
                });
                far.fold(0.0, f64::max)
            }));
        }
        lengths.sort_by(f64::total_cmp);
        let at = |share: usize| lengths[(lengths.len() - 1) * share / 100];
        assert!(at(0) > 0.099 && at(100) < 0.901, "{} to {}", at(0), at(100));
        assert!((at(50) - 0.3).abs() < 0.03, "{}", at(50));
    }
}
