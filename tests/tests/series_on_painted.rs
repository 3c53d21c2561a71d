//! `nde measure --series` on painted photos: one part as it develops, a card that was pushed, another part.

use nde_checks::paint::development::Development;
use nde_checks::paint::scene::SceneOptions;
use serde_json::Value;
use std::path::Path;

fn options() -> SceneOptions {
    let mut options = SceneOptions::default();
    options.blank_share = 0.0;
    options.nuisance_chance = 0.0;
    options.px_per_mm = [8.0, 8.5];
    options.tilt_deg = [0.0, 15.0];
    options
}

/// Exit code, JSON, talk.
fn followed(dir: &Path, photos: [&str; 2]) -> (u8, Value, String) {
    let words = ["nde", "measure", "--series", "--format", "json", "--minutes", "5,20"];
    let words = words.map(str::to_owned).into_iter();
    let paths = photos.map(|name| dir.join(name).display().to_string());
    let (mut out, mut talk) = (Vec::new(), Vec::new());
    let outcome = nde_cli::run(words.chain(paths), &mut out, &mut talk);
    let said = serde_json::from_slice(&out).expect("JSON");
    (outcome.code(), said, String::from_utf8(talk).expect("UTF-8"))
}

#[test]
fn a_development_is_followed_and_what_is_none_is_told() {
    let dir = tempfile::tempdir().expect("a folder");
    let dir = dir.path();
    // Some parts are too full for a hand that moves.
    let painted = |first: u64, minutes: &[f64]| {
        (first..first + 20).find_map(|seed| {
            Development::of(seed, &options(), minutes).filter(|it| it.growths.len() > 5)
        })
    };
    let own = painted(72_000, &[5.0, 20.0]).expect("a steady hand");
    let other = painted(72_500, &[20.0]).expect("a steady hand");
    let push = |n: f64| own.with_card_moved(1, [4.0 * n.cos(), 4.0 * n.sin()], 0.03);
    let pushed = (0..12).find_map(|n| push(f64::from(n) * 0.5)).expect("room for the card");
    let scenes =
        [("a", &own.shots[0]), ("b", &own.shots[1]), ("pushed", &pushed), ("c", &other.shots[0])];
    for (name, scene) in scenes {
        std::fs::write(dir.join(name), scene.jpeg()).expect("it can be written");
    }

    let (code, said, talk) = followed(dir, ["a", "b"]);
    assert_eq!(code, 0, "{talk}");
    let photo = &said["photos"][0];
    assert!(photo["misfit"].is_null() && photo["laid_over_by"] == "scale", "{photo}");
    let due = photo["due_in_last"].as_u64().expect("a number");
    assert!(due >= 3 && photo["shown_in_last"] == due, "{photo}");
    // Every growth that is told holds the truth of the mark it lies at, but for one in twenty and one more.
    let told = said["indications"].as_array().expect("a list");
    let growths: Vec<[f64; 3]> = told.iter().filter_map(|it| growth(&own, it)).collect();
    let held = growths.iter().filter(|[mm, u, truth]| (mm - truth).abs() <= *u).count();
    assert!(growths.len() >= 3 && held + 1 + growths.len() / 20 >= growths.len(), "{growths:?}");

    let (code, said, talk) = followed(dir, ["a", "pushed"]);
    assert!(code == 1 && talk.contains("the scale lay"), "{talk}");
    assert_eq!(said["photos"][0]["misfit"], "scale-moved");
    let (code, said, talk) = followed(dir, ["a", "c"]);
    assert!(code == 1 && talk.contains("is it the same place"), "{talk}");
    assert_eq!(said["photos"][0]["misfit"], "another-place");
}

/// Growth as told, its U, and as painted, of a mark that is one body in both photos.
fn growth(own: &Development, told: &Value) -> Option<[f64; 3]> {
    let [first, last] = [&own.shots[0], &own.shots[1]];
    let at = [0, 1].map(|k| told["at_mm"][k].as_f64().map(|v| v + last.card.board.margin_mm));
    let at = last.card.from_paper([at[0]?, at[1]?]);
    let body = |n: usize| match &last.painted[n].truth.bodies[..] {
        [body] if last.painted[n].truth.covers(body, at) => Some(body.length_mm),
        _ => None,
    };
    let (n, length_mm) = (0..last.painted.len()).find_map(|n| Some((n, body(n)?)))?;
    let [before] = &first.painted[n].truth.bodies[..] else { return None };
    let alone = last.painted.iter().filter(|p| p.cluster == last.painted[n].cluster).count() == 1;
    let number = |name: &str| told[name].as_f64();
    let claim = [number("latest_growth_mm")?, number("latest_growth_u_mm")?];
    alone.then_some([claim[0], claim[1], length_mm - before.length_mm])
}
