//! What lies where something was called that is no indication.

use super::spatter::on_droplet;
use crate::paint::scene::Scene;

/// Layers whose marks are held against the calls one by one.
const OF_THEIR_OWN: [&str; 2] = ["indication", "spatter"];

/// What lies on the part where a call has no truth, mm, or within a reach of it.
pub(super) fn cause(scene: &Scene, p: [f64; 2], reach_mm: f64) -> &'static str {
    let part_of_one = scene.painted.iter().any(|painted| {
        let all = painted.truth.bodies.iter().chain(&painted.truth.crumbs);
        all.into_iter().any(|b| painted.truth.covers(b, p) || b.edge_distance_mm(p) <= reach_mm)
    });
    if part_of_one {
        return "fragment of a true one";
    }
    if on_droplet(scene, p) {
        return "spatter";
    }
    if let Some(layer) =
        scene.layers.all().iter().find(|l| !OF_THEIR_OWN.contains(&l.name) && l.near(p, reach_mm))
    {
        return layer.name;
    }
    let beside_card = scene.card.inside_mm(p);
    if beside_card > -2.0 {
        return if beside_card > 0.0 { "on the card" } else { "beside the card" };
    }
    if scene.part.plate.inside_mm(p) < 0.0 {
        return "bench";
    }
    if scene.part.coat_inside_mm(p) < 0.5 {
        return "coat edge or bare metal";
    }
    let border = scene.light.shadow.as_ref().map(|s| s.depth_mm(p).abs() - s.soft_mm / 2.0);
    if border.is_some_and(|d| d < 2.0) {
        return "shadow border";
    }
    if scene.light.glare_at(p) > 0.02 {
        return "glare";
    }
    "clean coat"
}
