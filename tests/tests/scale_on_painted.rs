//! The card found in painted photos, against the camera that took them.
//!
//! Source: the painter's own camera and card; no function is shared with the finder.

use nde_checks::paint::scene::{Scene, SceneOptions};
use nde_measure::scale::ScaleOptions;
use nde_measure::{Photo, PhotoLimits, ScaleSpec, scale};

/// Greatest relative error of a length beside the card with lens distortion absent.
/// Chosen: the goal stated for the card, 0.2 % at the card.
const WORST: f64 = 0.002;

/// Scenes at the coarse end, where the card has the fewest pixels; the figures cover the rest.
fn options() -> SceneOptions {
    let mut options = SceneOptions::default();
    options.px_per_mm = [8.0, 9.5];
    options
}

#[test]
fn painted_cards_are_found_and_true_to_scale() {
    let mut looked = 0;
    for seed in 70..76 {
        let scene = Scene::of(seed, &options());
        let photo = Photo::decode(&scene.jpeg(), &PhotoLimits::default()).expect("a JPEG");
        let spec = ScaleSpec::Card { bars_mm: Some([100.0, 100.0]) };
        let found = scale::find(&photo, &[spec]).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
        let corners = scene.card.corners_mm();
        let size = scene.card.board.paper_mm();
        for (from, to, true_mm) in
            [(0, 1, size[0]), (1, 2, size[1]), (2, 3, size[0]), (3, 0, size[1])]
        {
            let [a, b] =
                [from, to].map(|i: usize| found.plane.to_part(scene.camera.to_photo(corners[i])));
            let error = (a[0] - b[0]).hypot(a[1] - b[1]) / true_mm - 1.0;
            assert!(error.abs() < WORST, "seed {seed}: {:.3} %", 100.0 * error);
        }
        looked += 1;
    }
    assert_eq!(looked, 6);
}

/// The frame is seen the same way round as in the photo: not mirrored, x along the card's long side.
#[test]
fn the_plane_is_not_mirrored() {
    let scene = Scene::of(77, &options());
    let photo = Photo::decode(&scene.jpeg(), &PhotoLimits::default()).expect("a JPEG");
    let found = scale::find(&photo, &[]).expect("a card");
    let at = |p: [f64; 2]| found.plane.to_part(scene.camera.to_photo(p));
    let [o, x, y] = [at([0.0, 0.0]), at([10.0, 0.0]), at([0.0, 10.0])];
    let cross = (x[0] - o[0]) * (y[1] - o[1]) - (x[1] - o[1]) * (y[0] - o[0]);
    assert!((cross - 100.0).abs() < 2.0, "{cross}");
}

/// A card that lies below the part's surface: read as level, lengths on the part come out too long by
/// d / (d - h); with the height stated they are true. The painter casts its own rays.
#[test]
fn a_stated_height_makes_lengths_on_the_part_true() {
    let mut looked = 0;
    for (seed, below_mm) in [(80, 8.0), (81, 8.0), (82, -5.0), (83, 15.0)] {
        let mut scene = Scene::of(seed, &options());
        scene.card.below_mm = below_mm;
        let photo = Photo::decode(&scene.jpeg(), &PhotoLimits::default()).expect("a JPEG");
        let [w, h] = photo.size_px().map(f64::from);
        let known = ScaleOptions::default()
            .with_focal_35mm(Some(scene.camera.focal_px * 43.27 / w.hypot(h)));
        let spec = [ScaleSpec::Card { bars_mm: Some([100.0, 100.0]) }];
        let find = |options| scale::find_with(&photo, &spec, &options).expect("a card");
        let level = find(known);
        let text = format!("{below_mm}mm±0.1mm");
        let raised = find(known.with_height(Some(text.parse().expect("a height"))));
        // A length on the part's surface beside the card.
        let at = scene.card.centre_mm;
        let ends = [[at[0] - 10.0, at[1]], [at[0] + 10.0, at[1]]];
        let share = |scale: &nde_measure::Scale| {
            let [a, b] = ends.map(|e| scale.plane.to_part(scene.camera.to_photo(e)));
            (a[0] - b[0]).hypot(a[1] - b[1]) / 20.0
        };
        // The camera stands over the card by its height over the surface and what the card is lower.
        let camera_mm = scene.camera.height_mm() + below_mm;
        let too_long = camera_mm / (camera_mm - below_mm);
        assert!((too_long - 1.0).abs() > 0.01, "seed {seed}: too small an effect to be seen");
        assert!((share(&level) / too_long - 1.0).abs() < WORST, "seed {seed}: {}", share(&level));
        assert!((share(&raised) - 1.0).abs() < WORST, "seed {seed}: {}", share(&raised));
        looked += 1;
    }
    assert_eq!(looked, 4);
}
