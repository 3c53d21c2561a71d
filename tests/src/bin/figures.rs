//! Paints scenes, measures them, prints how well that went.
//!
//! `cargo run --release -p nde-checks --bin figures -- --scenes 60 --first-seed 1000`

use clap::Parser;
use image::RgbImage;
use nde_checks::figures::look::{Case, cases, crop, overlay};
use nde_checks::figures::outcome::{Finding, Outcome, ScaleGiven, measured};
use nde_checks::figures::retake::Retake;
use nde_checks::figures::table::table;
use nde_checks::paint::scene::{Scene, SceneOptions};
use rayon::prelude::*;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// Paint scenes from consecutive seeds, measure them, print the figure table.
#[derive(Parser)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of the command line")]
struct Args {
    /// How many scenes.
    #[arg(long, default_value_t = 60)]
    scenes: u64,
    /// Seed of the first one.
    #[arg(long, default_value_t = 1000)]
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
    /// Chance of each kind of nuisance.
    #[arg(long, default_value_t = 0.35)]
    nuisances: f64,
    /// Chance of spatter of penetrant; a third of the nuisances' when not given, 0 for none.
    #[arg(long)]
    spatter: Option<f64>,
    /// Give the true pitch instead of the card (paints without tilt).
    #[arg(long)]
    truth_scale: bool,
    /// Leave out what the card's white paper tells, as beside a rule.
    #[arg(long, conflicts_with = "truth_scale")]
    no_paper: bool,
    /// Read each photo as another camera or another light might have made it.
    #[arg(long)]
    retaken: bool,
    /// Write photos and overlays here.
    #[arg(long)]
    dump: Option<PathBuf>,
    /// Write the photos here as well; those that are already here are read instead of painted again.
    #[arg(long)]
    save: Option<PathBuf>,
    /// Tell on stderr when a scene is done.
    #[arg(long)]
    progress: bool,
    /// List this many of the worst cases.
    #[arg(long, default_value_t = 0)]
    worst: usize,
    /// Write crops of the worst cases here.
    #[arg(long)]
    crops: Option<PathBuf>,
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    let mut options = SceneOptions::default();
    options.px_per_mm = [args.px_per_mm[0], args.px_per_mm[1]];
    options.tilt_deg = if args.truth_scale { [0.0, 0.0] } else { [args.tilt[0], args.tilt[1]] };
    options.most_k1 = if args.truth_scale { 0.0 } else { args.k1 };
    options.nuisance_chance = args.nuisances;
    options.spatter_chance = args.spatter;
    anyhow::ensure!(args.scenes > 0, "nothing to paint; give --scenes 1 or more");
    for dir in args.dump.iter().chain(&args.crops) {
        std::fs::create_dir_all(dir)?;
    }
    let scale = match (args.truth_scale, args.no_paper) {
        (true, _) => ScaleGiven::TruePitch,
        (_, true) => ScaleGiven::CardWithoutPaper,
        _ => ScaleGiven::Card,
    };
    let seeds = args.first_seed..args.first_seed + args.scenes;
    let mut outcomes: Vec<Outcome> = seeds
        .into_par_iter()
        .map(|seed| {
            let scene = Scene::of(seed, &options);
            let bytes = photo(&args, &scene)?;
            let (outcome, measurement) = measured(&scene, &bytes, scale);
            if args.progress {
                let mut talk = std::io::stderr();
                writeln!(talk, "scene {seed}: measured in {:.2} s", outcome.seconds)?;
            }
            if let Some(dir) = &args.dump {
                std::fs::write(dir.join(format!("scene-{seed}.jpg")), &bytes)?;
                let drawn = overlay(&scene, &decoded(&bytes)?, measurement.as_ref());
                let name = dir.join(format!("scene-{seed}-read.jpg"));
                std::fs::write(name, nde_checks::paint::sensor::jpeg(&drawn, 92))?;
            }
            Ok(outcome)
        })
        .collect::<std::io::Result<_>>()?;
    outcomes.sort_by_key(|o| o.seed);

    let mut out = std::io::stdout().lock();
    writeln!(
        out,
        "painted scenes, seeds {} to {}, {:?} px/mm, tilt {:?} deg, k1 up to {}, scale: {scale:?}{}",
        args.first_seed,
        args.first_seed + args.scenes - 1,
        options.px_per_mm,
        options.tilt_deg,
        options.most_k1,
        if args.retaken { ", each taken anew by another camera" } else { "" }
    )?;
    write!(out, "{}", table(&outcomes))?;
    if args.retaken {
        write!(out, "{}", by_retake(&outcomes))?;
    }
    if args.worst > 0 {
        let mut all: Vec<(u64, Case)> =
            outcomes.iter().flat_map(|o| cases(o).into_iter().map(|c| (o.seed, c))).collect();
        all.sort_by(|a, b| b.1.badness.total_cmp(&a.1.badness));
        all.truncate(args.worst);
        writeln!(out, "THE {} WORST", all.len())?;
        for (i, (_, case)) in all.iter().enumerate() {
            writeln!(out, "  {:>2} {}", i + 1, case.line)?;
        }
        if let Some(dir) = &args.crops {
            write_crops(dir, &args, &all, &options, scale)?;
        }
    }
    let measured = outcomes.iter().filter(|o| o.refused.is_none()).count();
    anyhow::ensure!(measured > 0, "no scene was measured: these figures say nothing");
    Ok(())
}

/// What is counted of the medium and strong marks, by what was different.
fn by_retake(outcomes: &[Outcome]) -> String {
    let mut lines = String::from("TAKEN ANEW, medium and strong marks counted\n");
    for kind in Retake::ALL {
        let of = || outcomes.iter().filter(|o| Retake::of(o.seed) == kind);
        let marks = || of().flat_map(|o| &o.findings).filter_map(Finding::asked);
        let (all, counted) = (marks().count(), marks().filter(|counted| *counted).count());
        let refused = of().filter(|o| o.refused.is_some()).count();
        let photos = of().count();
        let name = kind.name();
        lines += &format!("  {name:16} {counted}/{all} in {photos} photos, {refused} refused\n");
    }
    lines
}

/// The photo as bytes: painted, or read where it was written before, and taken anew where that is asked for.
fn photo(args: &Args, scene: &Scene) -> std::io::Result<Vec<u8>> {
    let bytes = painted(args.save.as_deref(), scene)?;
    if args.retaken {
        return Retake::of(scene.seed).photo(&bytes).map_err(std::io::Error::other);
    }
    Ok(bytes)
}

fn painted(folder: Option<&Path>, scene: &Scene) -> std::io::Result<Vec<u8>> {
    let Some(folder) = folder else { return Ok(scene.jpeg()) };
    let file = folder.join(format!("scene-{}.jpg", scene.seed));
    if file.exists() {
        return std::fs::read(file);
    }
    std::fs::create_dir_all(folder)?;
    let jpeg = scene.jpeg();
    std::fs::write(file, &jpeg)?;
    Ok(jpeg)
}

fn decoded(jpeg: &[u8]) -> std::io::Result<RgbImage> {
    let picture = image::load_from_memory(jpeg).map_err(std::io::Error::other)?;
    Ok(picture.to_rgb8())
}

fn write_crops(
    dir: &Path,
    args: &Args,
    worst: &[(u64, Case)],
    options: &SceneOptions,
    scale: ScaleGiven,
) -> std::io::Result<()> {
    let mut seeds: Vec<u64> = worst.iter().map(|w| w.0).collect();
    seeds.sort_unstable();
    seeds.dedup();
    for seed in seeds {
        let scene = Scene::of(seed, options);
        let bytes = photo(args, &scene)?;
        let (_, measurement) = measured(&scene, &bytes, scale);
        let photo = decoded(&bytes)?;
        let drawn = overlay(&scene, &photo, measurement.as_ref());
        for (i, (_, case)) in worst.iter().enumerate().filter(|(_, w)| w.0 == seed) {
            let name = dir.join(format!("{:02}-scene-{seed}.jpg", i + 1));
            std::fs::write(name, crop(case, &photo, &drawn))?;
        }
    }
    Ok(())
}
