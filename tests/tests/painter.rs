//! The painter keeps its own promises: same seed, same bytes; and the truth is what was painted.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "pixel places inside the picture"
)]

use nde_checks::paint::pigment::green_loss;
use nde_checks::paint::scene::{Scene, SceneOptions};

fn small() -> SceneOptions {
    let mut options = SceneOptions::default();
    options.px_per_mm = [8.0, 8.5];
    options.blank_share = 0.0;
    options
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let bytes = |seed| Scene::of(seed, &small()).jpeg();
    let first = bytes(4);
    assert_eq!(first, bytes(4));
    assert_ne!(first, bytes(5));
}

/// Colour is stored at half resolution: the sampling factors in the frame header are 2x2, 1x1, 1x1.
/// Source: ITU-T T.81, B.2.2 (from memory).
#[test]
fn colour_is_stored_at_half_resolution() {
    let bytes = Scene::of(4, &small()).jpeg();
    let frame =
        bytes.windows(2).position(|w| w == [0xff, 0xc0] || w == [0xff, 0xc2]).expect("a frame");
    let factors: Vec<u8> = (0..3).map(|k| bytes[frame + 11 + 3 * k]).collect();
    assert_eq!(factors, [0x22, 0x11, 0x11]);
}

/// Light that reaches the sensor at an indication's centre is what its truth says: the green loss against the
/// clean coat beside it. Held without nuisances, without blur, noise or tone.
#[test]
fn the_light_at_a_spot_carries_its_true_contrast() {
    let mut options = small();
    options.nuisance_chance = 0.0;
    let mut looked = 0;
    for seed in 10..20 {
        let scene = Scene::of(seed, &options);
        let field = scene.light_field();
        for (drawn, body) in scene.bodies() {
            // Spots with a flat top wider than the pixels averaged.
            if body.width_mm < 1.2
                || body.ratio() > 1.3
                || drawn.mark.softness_mm > 0.08 * body.width_mm
            {
                continue;
            }
            let mean = |centre: [f64; 2], half: f64| {
                let [x, y] = scene.camera.to_photo(centre);
                let range = |at: f64| (at - half).round() as usize..=(at + half).round() as usize;
                let all: Vec<f64> = range(y)
                    .flat_map(|row| range(x).map(move |column| row * field.width + column))
                    .map(|i| f64::from(field.planes[1][i]))
                    .collect();
                all.iter().sum::<f64>() / all.len() as f64
            };
            let away = body.length_mm / 2.0 + 1.5;
            let around = [[away, 0.0], [-away, 0.0], [0.0, away], [0.0, -away]]
                .map(|d| mean([body.centroid_mm[0] + d[0], body.centroid_mm[1] + d[1]], 2.0));
            // Opposite sides cancel the light's slope; the lighter pair is clear of neighbours in a row.
            let ground = ((around[0] + around[1]) / 2.0).max((around[2] + around[3]) / 2.0);
            let loss = 1.0 - mean(body.centroid_mm, 1.0) / ground;
            // Powder texture of 2 % over nine pixels of spot and a hundred of ground.
            assert!((loss - body.peak).abs() < 0.04, "seed {seed}: {loss} is not {}", body.peak);
            assert!((drawn.mark.full_loss - body.peak).abs() < 0.05, "seed {seed}");
            looked += 1;
        }
    }
    assert!(looked >= 4, "only {looked} spots");
    assert!((green_loss(0.85, 0.0)).abs() < 1.0e-12);
}

/// Spatter has a stream of its own: light changes where droplets lie and nowhere else.
#[test]
fn spatter_changes_only_the_places_of_its_droplets() {
    let with = |chance: f64| {
        let mut options = small();
        options.spatter_chance = Some(chance);
        options
    };
    let mut looked = 0;
    for seed in [4, 5, 6] {
        let (clean, spattered) = (Scene::of(seed, &with(0.0)), Scene::of(seed, &with(1.0)));
        assert!(clean.droplets.is_empty());
        let (before, after) = (clean.light_field(), spattered.light_field());
        let places: Vec<[f64; 3]> = spattered
            .droplets
            .iter()
            .map(|d| {
                let [x, y] = spattered.camera.to_photo(d.at_mm);
                // Its rim is at most 0.15 mm wide and fades within 0.4 mm more.
                let reach_mm = d.length_mm / 2.0 + 0.55;
                [x, y, reach_mm / spattered.camera.mm_per_px(d.at_mm) * 1.3 + 2.0]
            })
            .collect();
        for (i, (old, new)) in before.planes[1].iter().zip(&after.planes[1]).enumerate() {
            let at = [(i % before.width) as f64 + 0.5, (i / before.width) as f64 + 0.5];
            let near = places.iter().any(|p| (p[0] - at[0]).hypot(p[1] - at[1]) < p[2]);
            // A hidden change of one part in a thousand would be seen: finer sampling alone is less.
            assert!(near || (old - new).abs() < 1.0e-3, "seed {seed} at {at:?}: {old} is {new}");
        }
        for droplet in &spattered.droplets {
            let [x, y] = spattered.camera.to_photo(droplet.at_mm).map(|v| v as usize);
            let i = y * before.width + x;
            let left = after.planes[1][i] / before.planes[1][i];
            let dark = droplet.length_mm > 0.4;
            assert!(!dark || left < 0.5, "seed {seed}: {left} of the light left in {droplet:?}");
            looked += usize::from(dark);
        }
        assert_eq!(clean.painted.len(), spattered.painted.len());
    }
    assert!(looked >= 5, "only {looked} droplets");
}
