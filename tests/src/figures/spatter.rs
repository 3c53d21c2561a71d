//! Droplets of spatter, and which of them were called.

use crate::paint::scene::Scene;
use nde_measure::Measurement;
use nde_measure::size::contains;

/// A call lies on a droplet when its centroid is this near to the droplet's rim, mm, or nearer.
/// Chosen: two pixels at 10 px/mm.
const BESIDE_MM: f64 = 0.2;

/// One droplet held against the calls.
#[derive(Clone, Copy, Debug)]
pub struct DropletRead {
    /// Length left of it after the photo's own blur, mm.
    pub seen_mm: f64,
    /// Peak share of green light lost that the blur leaves, 0 to 1.
    pub seen_peak: f64,
    /// Whether it was called, alone or with others.
    pub called: bool,
}

/// Every droplet of a scene: called where its middle lies in the outline of a call or a call's centroid on it.
#[must_use]
pub fn read(scene: &Scene, measurement: &Measurement) -> Vec<DropletRead> {
    let of = |droplet: &crate::paint::spatter::Droplet| {
        let at_px = scene.camera.to_photo(droplet.at_mm);
        let called = measurement.indications.iter().any(|call| {
            let centroid = scene.camera.to_part(call.centroid_px);
            contains(&call.outline_px, at_px)
                || centroid.is_some_and(|p| droplet.away_mm(p) <= droplet.seen_mm / 2.0 + BESIDE_MM)
        });
        DropletRead { seen_mm: droplet.seen_mm, seen_peak: droplet.seen_peak, called }
    };
    scene.droplets.iter().map(of).collect()
}

/// Whether a place of the part lies on a droplet.
pub(super) fn on_droplet(scene: &Scene, p: [f64; 2]) -> bool {
    scene.droplets.iter().any(|d| d.away_mm(p) <= d.seen_mm / 2.0 + BESIDE_MM)
}
