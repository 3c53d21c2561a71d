//! Paints scenes, finds the card in each, prints how often and how true.
//!
//! `cargo run --release -p nde-checks --bin scale_figures -- --scenes 200 --first-seed 20000`

use clap::Parser;
use nde_checks::paint::scene::{Scene, SceneOptions};
use nde_measure::{Photo, PhotoLimits, Scale, ScaleSpec, scale};
use rayon::prelude::*;
use std::io::Write as _;
use std::time::Instant;

/// Paint scenes from consecutive seeds, find the card, print the error of known lengths.
#[derive(Parser)]
struct Args {
    /// How many scenes.
    #[arg(long, default_value_t = 100)]
    scenes: u64,
    /// Seed of the first one.
    #[arg(long, default_value_t = 20_000)]
    first_seed: u64,
    /// Least and greatest pixels a millimetre.
    #[arg(long, num_args = 2, default_values_t = [8.0, 20.0])]
    px_per_mm: Vec<f64>,
    /// Least and greatest tilt, degrees.
    #[arg(long, num_args = 2, default_values_t = [0.0, 35.0])]
    tilt: Vec<f64>,
    /// Greatest radial lens term in either direction.
    #[arg(long, default_value_t = 0.0)]
    k1: f64,
}

/// Half the length of the probes, mm.
const HALF_MM: f64 = 5.0;

/// One scene's result: relative errors with their distance from the card, or the refusal.
struct Found {
    seed: u64,
    seconds: f64,
    errors: Result<Vec<(f64, f64)>, String>,
    /// Stated relative standard uncertainty.
    stated: f64,
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    anyhow::ensure!(args.scenes > 0, "nothing to paint; give --scenes 1 or more");
    let mut options = SceneOptions::default();
    options.px_per_mm = [args.px_per_mm[0], args.px_per_mm[1]];
    options.tilt_deg = [args.tilt[0], args.tilt[1]];
    options.most_k1 = args.k1;
    options.blank_share = 1.0; // Indications do not matter here.
    let found: Vec<Found> = (args.first_seed..args.first_seed + args.scenes)
        .into_par_iter()
        .map(|seed| look(&Scene::of(seed, &options)))
        .collect();

    let mut out = std::io::stdout().lock();
    let locked = found.iter().filter(|f| f.errors.is_ok()).count();
    let mut seconds: Vec<f64> = found.iter().map(|f| f.seconds).collect();
    seconds.sort_by(f64::total_cmp);
    writeln!(
        out,
        "card found in {locked} of {} = {:.4}; seconds a photo median {:.2} worst {:.2}",
        found.len(),
        locked as f64 / found.len() as f64,
        seconds[seconds.len() / 2],
        seconds[seconds.len() - 1]
    )?;
    for one in &found {
        if let Err(why) = &one.errors {
            writeln!(out, "  refused {}: {why}", one.seed)?;
        }
    }
    for (low, high) in [(0.0, 10.0), (10.0, 40.0), (40.0, 80.0), (80.0, 150.0), (150.0, 400.0)] {
        let mut errors: Vec<(f64, u64)> = found
            .iter()
            .filter_map(|f| f.errors.as_ref().ok().map(|e| (e, f.seed)))
            .flat_map(|(e, seed)| e.iter().map(move |(d, e)| (*d, e.abs(), seed)))
            .filter(|(d, _, _)| *d >= low && *d < high)
            .map(|(_, e, seed)| (100.0 * e, seed))
            .collect();
        errors.sort_by(|a, b| a.0.total_cmp(&b.0));
        if let (Some(worst), n) = (errors.last(), errors.len()) {
            writeln!(
                out,
                "  {low:>3.0} to {high:<3.0} mm from the card: n {n:<6} error % median {:.4}  p95 {:.4}  worst {:.4} (scene {})",
                errors[n / 2].0,
                errors[n * 95 / 100].0,
                worst.0,
                worst.1
            )?;
        }
    }
    let near: Vec<bool> = found
        .iter()
        .filter_map(|f| f.errors.as_ref().ok().map(|e| (e, f.stated)))
        .flat_map(|(e, u)| {
            e.iter().filter(|(d, _)| *d < 40.0).map(move |(_, e)| e.abs() <= 2.0 * u)
        })
        .collect();
    let within = near.iter().filter(|w| **w).count();
    writeln!(
        out,
        "  within 40 mm the stated U (k = 2) covers {within} of {} = {:.4}",
        near.len(),
        within as f64 / near.len().max(1) as f64
    )?;
    anyhow::ensure!(locked > 0, "no card was found: these figures say nothing");
    Ok(())
}

fn look(scene: &Scene) -> Found {
    let jpeg = scene.jpeg();
    let start = Instant::now();
    let found = Photo::decode(&jpeg, &PhotoLimits::default()).map_err(|e| e.to_string()).and_then(
        |photo| {
            let spec = ScaleSpec::Card { bars_mm: Some([100.0, 100.0]) };
            scale::find(&photo, &[spec]).map_err(|e| e.to_string())
        },
    );
    let seconds = start.elapsed().as_secs_f64();
    let stated = found.as_ref().map_or(f64::NAN, |s| s.relative_u);
    Found { seed: scene.seed, seconds, errors: found.map(|s| errors(scene, &s)), stated }
}

/// Errors of 10 mm lengths along both directions on a grid over the whole photo, with the distance to the card.
fn errors(scene: &Scene, scale: &Scale) -> Vec<(f64, f64)> {
    let (w, h) = (scene.camera.width as f64, scene.camera.height as f64);
    let mut all = Vec::new();
    for i in 0..9 {
        for j in 0..7 {
            let px = [w * (0.06 + 0.11 * f64::from(i)), h * (0.08 + 0.14 * f64::from(j))];
            let Some(p) = scene.camera.to_part(px) else { continue };
            for d in [[HALF_MM, 0.0], [0.0, HALF_MM]] {
                let ends = [[p[0] - d[0], p[1] - d[1]], [p[0] + d[0], p[1] + d[1]]];
                let [a, b] = ends.map(|e| scale.plane.to_part(scene.camera.to_photo(e)));
                let error = (a[0] - b[0]).hypot(a[1] - b[1]) / (2.0 * HALF_MM) - 1.0;
                all.push(((-scene.card.inside_mm(p)).max(0.0), error));
            }
        }
    }
    all
}
