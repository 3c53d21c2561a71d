//! The card found in painted photos, against the camera that took them.
//!
//! Source: the painter's own camera and card; no function is shared with the finder.

use nde_checks::paint::scene::{Scene, SceneOptions};
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
