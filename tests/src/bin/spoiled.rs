//! Blank painted parts whose photo is spoiled on purpose: none may end in accept.
//!
//! `cargo run --release -p nde-checks --bin spoiled -- --scenes 20 --first-seed 9000`
//!
//! Blank, because a spoiled photo of a cracked part may still show the crack; of a blank part a spoiled
//! photo shows nothing, which is what must not be taken for a clean part.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "grey levels and sides are clamped before they are cut"
)]

use clap::Parser;
use image::{Rgb, RgbImage, imageops};
use nde_checks::paint::scene::{Scene, SceneOptions};
use nde_checks::paint::sensor::jpeg;
use nde_core::{GateOutcome, Indication, JudgeOptions, RuleSet, Verdict, judge};
use nde_measure::{MeasureOptions, Photo, PhotoLimits, ScaleSpec, measure};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::io::Write as _;

/// Spoil painted photos, print how each kind ends.
#[derive(Parser)]
struct Args {
    /// How many scenes of each kind.
    #[arg(long, default_value_t = 20)]
    scenes: u64,
    /// Seed of the first one.
    #[arg(long, default_value_t = 9000)]
    first_seed: u64,
}

/// What is done to a photo.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Spoil {
    Nothing,
    Blur,
    Far,
    Tilt,
    Glare,
    Pink,
    Noise,
    Uneven,
}

impl Spoil {
    const ALL: [Self; 8] = [
        Self::Nothing,
        Self::Blur,
        Self::Far,
        Self::Tilt,
        Self::Glare,
        Self::Pink,
        Self::Noise,
        Self::Uneven,
    ];

    const fn name(self) -> &'static str {
        match self {
            Self::Nothing => "as painted",
            Self::Blur => "out of focus, 0.3 mm",
            Self::Far => "far away, 4 px/mm",
            Self::Tilt => "tilt of 45 to 50 deg",
            Self::Glare => "a tenth burnt out",
            Self::Pink => "a third stained pink",
            Self::Noise => "noise of 30 grey levels",
            Self::Uneven => "light 1 to 14 across",
        }
    }

    fn done_to(self, picture: &RgbImage, px_per_mm: f64) -> RgbImage {
        let (w, h) = picture.dimensions();
        let along = |x: u32| f64::from(x) / f64::from(w);
        match self {
            Self::Nothing | Self::Tilt => picture.clone(),
            Self::Blur => imageops::blur(picture, (0.3 * px_per_mm) as f32),
            Self::Far => {
                let share = 4.0 / px_per_mm;
                let side = |s: u32| (f64::from(s) * share).round().max(1.0) as u32;
                imageops::resize(picture, side(w), side(h), imageops::FilterType::Triangle)
            }
            Self::Glare => {
                // A burnt-out stripe from top to bottom through the middle, an eighth of the width.
                changed(picture, |x, _, c| {
                    let off = (along(x) - 0.5).abs();
                    let add = ((0.07 - off) / 0.01).clamp(0.0, 1.0) * 4.0;
                    c.map(|v| v + add)
                })
            }
            Self::Pink => changed(picture, |x, y, c| {
                let wave = (f64::from(x) / (9.0 * px_per_mm)).sin()
                    * (f64::from(y) / (7.0 * px_per_mm)).cos();
                let loss = 0.28 * wave.max(0.0);
                [c[0] * (1.0 - 0.08 * loss), c[1] * (1.0 - loss), c[2] * (1.0 - 0.8 * loss)]
            }),
            Self::Noise => {
                let mut seed = 88_172_645_463_325_252_u64;
                let mut out = picture.clone();
                for v in out.iter_mut() {
                    seed ^= seed << 13;
                    seed ^= seed >> 7;
                    seed ^= seed << 17;
                    // The sum of four dice is bell-shaped enough.
                    let dice: f64 = (0..4).map(|k| f64::from((seed >> (16 * k)) as u16)).sum();
                    let noise = (dice / 65_535.0 - 2.0) * 30.0 / 0.577;
                    *v = (f64::from(*v) + noise).clamp(0.0, 255.0) as u8;
                }
                out
            }
            Self::Uneven => changed(picture, |x, _, c| c.map(|v| v / (1.0 + 13.0 * along(x)))),
        }
    }
}

/// A picture with its linear light changed.
fn changed(picture: &RgbImage, change: impl Fn(u32, u32, [f64; 3]) -> [f64; 3]) -> RgbImage {
    let linear = |v: u8| {
        let u = f64::from(v) / 255.0;
        if u <= 0.040_45 { u / 12.92 } else { ((u + 0.055) / 1.055).powf(2.4) }
    };
    let level = |l: f64| {
        let l = l.clamp(0.0, 1.0);
        let u = if l <= 0.003_130_8 { 12.92 * l } else { 1.055 * l.powf(1.0 / 2.4) - 0.055 };
        (255.0 * u).round() as u8
    };
    RgbImage::from_fn(picture.width(), picture.height(), |x, y| {
        Rgb(change(x, y, picture.get_pixel(x, y).0.map(linear)).map(level))
    })
}

/// How one photo ended: a word, and the gates that failed or warned.
fn ended(seed: u64, spoil: Spoil, rules: &RuleSet) -> anyhow::Result<(String, Vec<String>)> {
    let mut options = SceneOptions::default();
    options.blank_share = 1.0;
    options.nuisance_chance = 0.0;
    options.px_per_mm = [10.0, 14.0];
    options.tilt_deg = if spoil == Spoil::Tilt { [45.0, 50.0] } else { [0.0, 10.0] };
    let scene = Scene::of(seed, &options);
    let px_per_mm = 1.0 / scene.camera.mm_per_px([0.0, 0.0]);
    let photo = Photo::decode(
        &jpeg(&spoil.done_to(&scene.picture(), px_per_mm), 92),
        &PhotoLimits::default(),
    )?;
    let card = ScaleSpec::Card { bars_mm: Some([100.0, 100.0]) };
    let found = match measure(&photo, &[card], &MeasureOptions::default()) {
        Ok(found) => found,
        Err(why) => return Ok(("refused".into(), vec![why.to_string()])),
    };
    let marks: Vec<Indication> = found.indications.iter().map(|s| s.indication.clone()).collect();
    let mut how = JudgeOptions::default();
    how.gates = found.gates.clone();
    let verdict = judge(&marks, rules, &how)?.verdict;
    let said = found
        .gates
        .iter()
        .filter(|g| matches!(g.outcome, GateOutcome::Fail | GateOutcome::Warn))
        .map(|g| format!("{} {:?}", g.name, g.outcome).to_lowercase())
        .collect();
    let word = match verdict {
        Verdict::Accept => "accept",
        Verdict::Review => "review",
        Verdict::Reject => "reject",
    };
    Ok((word.into(), said))
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    anyhow::ensure!(args.scenes > 0, "nothing to paint; give --scenes 1 or more");
    let rules = RuleSet::builtin("weld-vessel-si")
        .ok_or_else(|| anyhow::anyhow!("weld-vessel-si does not ship any more"))?;
    let mut out = std::io::stdout().lock();
    writeln!(out, "blank painted parts, seeds from {}, {} a kind", args.first_seed, args.scenes)?;
    for spoil in Spoil::ALL {
        let ends: Vec<(String, Vec<String>)> = (args.first_seed..args.first_seed + args.scenes)
            .into_par_iter()
            .map(|seed| ended(seed, spoil, &rules))
            .collect::<anyhow::Result<_>>()?;
        let (mut words, mut said) = (BTreeMap::new(), BTreeMap::new());
        for (word, why) in ends {
            *words.entry(word).or_insert(0) += 1;
            for line in why {
                *said.entry(line).or_insert(0) += 1;
            }
        }
        writeln!(out, "{:<24} {words:?}", spoil.name())?;
        for (line, n) in said {
            writeln!(out, "    {n:>3}  {line}")?;
        }
    }
    Ok(())
}
