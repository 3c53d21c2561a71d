//! Paints the same part twice with known growth, compares the two photos, prints what is found.
//!
//! `cargo run --release -p nde-checks --bin compare_figures -- --pairs 40 --first-seed 50000`

use anyhow::{Context as _, Result, ensure};
use clap::Parser;
use nde_checks::paint::camera::Camera;
use nde_checks::paint::scene::{Painted, Scene, SceneOptions};
use rayon::prelude::*;
use serde_json::Value;
use std::io::Write as _;
use std::path::Path;

/// Paint pairs of photos from consecutive seeds, compare them, print detection, false growth, coverage.
#[derive(Parser)]
struct Args {
    /// How many pairs.
    #[arg(long, default_value_t = 20)]
    pairs: u64,
    /// Seed of the first one.
    #[arg(long, default_value_t = 50_000)]
    first_seed: u64,
}

/// Growths that take turns, mm.
const GROWTHS_MM: [f64; 6] = [0.0, 0.1, 0.2, 0.3, 0.5, 1.0];
/// Least loss of green of an indication whose length is claimed.
const LEAST_LOSS: f64 = 0.23;

/// One indication that is in both photos.
struct Seen {
    asked_mm: f64,
    true_mm: f64,
    /// Found growth and its uncertainty; absent when not matched to itself or nothing is claimed.
    found: Option<(f64, f64)>,
    grown: bool,
    matched: bool,
}

#[derive(Default)]
struct Pair {
    seen: Vec<Seen>,
    /// Indications counted in one photo only, or matched to another mark.
    strangers: usize,
    refused: bool,
}

fn main() -> Result<()> {
    let args = Args::parse();
    ensure!(args.pairs > 0, "nothing to paint; give --pairs 1 or more");
    let pairs: Vec<Pair> = (args.first_seed..args.first_seed + args.pairs)
        .into_par_iter()
        .map(pair)
        .collect::<Result<_>>()?;
    let mut out = std::io::stdout().lock();
    let refused = pairs.iter().filter(|p| p.refused).count();
    let strangers: usize = pairs.iter().map(|p| p.strangers).sum();
    writeln!(
        out,
        "{} pairs, {refused} without a comparison; {strangers} indications new, gone or another's",
        pairs.len()
    )?;
    writeln!(
        out,
        "growth mm      n  matched  called grown  U holds the truth  median U mm  error mm median  95 %"
    )?;
    for asked in GROWTHS_MM {
        let all: Vec<&Seen> = pairs
            .iter()
            .flat_map(|p| &p.seen)
            .filter(|s| (s.asked_mm - asked).abs() < 1e-9)
            .collect();
        let claimed: Vec<(f64, f64, f64)> =
            all.iter().filter_map(|s| s.found.map(|(d, u)| (d, u, s.true_mm))).collect();
        if claimed.is_empty() {
            continue;
        }
        let share = |n: usize, of: usize| n as f64 / of.max(1) as f64;
        let held = claimed.iter().filter(|(d, u, t)| (d - t).abs() <= *u).count();
        let mut us: Vec<f64> = claimed.iter().map(|(_, u, _)| *u).collect();
        let mut errors: Vec<f64> = claimed.iter().map(|(d, _, t)| (d - t).abs()).collect();
        us.sort_by(f64::total_cmp);
        errors.sort_by(f64::total_cmp);
        writeln!(
            out,
            "{asked:9.1}  {:5}  {:7.3}  {:12.3}  {:17.3}  {:11.3}  {:15.3}  {:.3}",
            all.len(),
            share(all.iter().filter(|s| s.matched).count(), all.len()),
            share(all.iter().filter(|s| s.grown).count(), claimed.len()),
            share(held, claimed.len()),
            us[us.len() / 2],
            errors[errors.len() / 2],
            errors[(errors.len() * 95 / 100).min(errors.len() - 1)],
        )?;
    }
    Ok(())
}

fn pair(seed: u64) -> Result<Pair> {
    let mut options = SceneOptions::default();
    options.blank_share = 0.0;
    options.nuisance_chance = 0.0;
    let growth =
        |n: usize| GROWTHS_MM[(n + usize::try_from(seed % 6).unwrap_or(0)) % GROWTHS_MM.len()];
    let old = Scene::of(seed, &options);
    let Some(new) = old.later(seed + 1_000_000, &options, growth) else {
        return Ok(Pair { refused: true, ..Pair::default() });
    };
    let dir = tempfile::tempdir()?;
    let run = |words: &[&str]| {
        let (mut out, mut talk) = (Vec::new(), Vec::new());
        let path = |word: &&str| match word.strip_prefix('@') {
            Some(name) => dir.path().join(name).display().to_string(),
            None => (*word).to_owned(),
        };
        nde_cli::run(words.iter().map(path), &mut out, &mut talk);
        out
    };
    let mut records = Vec::new();
    for (name, scene) in [("old", &old), ("new", &new)] {
        let photo = format!("{name}.jpg");
        std::fs::write(dir.path().join(&photo), scene.jpeg())?;
        run(&["nde", "evaluate", &format!("@{photo}"), "--out", &format!("@{name}")]);
        records.push(record(&dir.path().join(name)));
    }
    let said = run(&["nde", "compare", "@old", "@new", "--same-card", "--format", "json"]);
    let (Some(Ok(before)), Some(Ok(after)), Ok(said)) =
        (records.first(), records.get(1), serde_json::from_slice::<Value>(&said))
    else {
        return Ok(Pair { refused: true, ..Pair::default() });
    };
    let rows = said["photos"][0]["indications"].as_array().cloned().unwrap_or_default();
    let mut result = Pair::default();
    let mut expected = 0;
    for (n, (a, b)) in old.painted.iter().zip(&new.painted).enumerate() {
        let alone = |p: &Painted| p.truth.bodies.len() == 1 && p.truth.crumbs.is_empty();
        let neighbour = old.painted.iter().filter(|p| p.cluster == a.cluster).count() > 1;
        if !alone(a) || !alone(b) || neighbour || a.mark.full_loss < LEAST_LOSS {
            continue;
        }
        let (Some(id_old), Some(id_new)) = (id(before, &old.camera, a), id(after, &new.camera, b))
        else {
            continue; // Not counted in one of the photos: the other tables say how often.
        };
        expected += 1;
        let row = rows.iter().find(|r| r["id_new"] == id_new.as_str());
        let own = row.filter(|r| r["id_old"] == id_old.as_str());
        let found = own.and_then(|r| Some((r["growth_mm"].as_f64()?, r["growth_u_mm"].as_f64()?)));
        result.seen.push(Seen {
            asked_mm: growth(n),
            true_mm: b.truth.bodies[0].length_mm - a.truth.bodies[0].length_mm,
            found,
            grown: own.is_some_and(|r| r["change"] == "grown"),
            matched: own.is_some(),
        });
    }
    let matched = result.seen.iter().filter(|s| s.matched).count();
    result.strangers = expected - matched;
    Ok(result)
}

fn record(dir: &Path) -> Result<Value> {
    let text = std::fs::read(dir.join("indications.json")).context("no record")?;
    Ok(serde_json::from_slice(&text)?)
}

/// The counted indication that lies on a painted one.
fn id(record: &Value, camera: &Camera, painted: &Painted) -> Option<String> {
    let body = painted.truth.bodies.first()?;
    record["cases"][0]["indications"].as_array()?.iter().find_map(|it| {
        let at = it["at_px"].as_array()?;
        let at_part = camera.to_part([at.first()?.as_f64()?, at.get(1)?.as_f64()?])?;
        let near = painted.truth.covers(body, at_part)
            || (at_part[0] - body.centroid_mm[0]).hypot(at_part[1] - body.centroid_mm[1]) < 0.5;
        near.then(|| it["id"].as_str().map(str::to_owned)).flatten()
    })
}
