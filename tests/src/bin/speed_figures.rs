//! What reading a photo costs, as multiples of decoding it: milliseconds belong to a machine, ratios less so.
//!
//! `cargo run --release -p nde-checks --bin speed_figures`
//!
//! Every round decodes, measures and draws each photo in turn on one thread, so that whatever else the
//! machine does slows all of them alike; the ratio is taken round by round, and its median told.

use anyhow::{Context as _, Result, ensure};
use clap::Parser;
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use nde_measure::marks::{MarkOptions, draw};
use nde_measure::{MeasureOptions, Photo, PhotoLimits, ScaleSpec, measure};
use std::fs;
use std::path::PathBuf;
use std::time::Instant;

/// Ratios of reading to decoding.
#[derive(Parser)]
struct Words {
    /// Photos; without any the demo photos.
    photos: Vec<PathBuf>,
    /// What is of known size in them.
    #[arg(long, default_value = "card")]
    scale: String,
    /// How often each is read.
    #[arg(long, default_value_t = 9)]
    rounds: usize,
}

#[expect(clippy::print_stdout, reason = "a program that prints figures")]
fn main() -> Result<()> {
    let words = Words::parse();
    let scale: ScaleSpec = words.scale.parse().context("--scale")?;
    let mut photos = words.photos;
    if photos.is_empty() {
        photos = fs::read_dir("fixtures/photos")?
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|path| path.extension().is_some_and(|e| e == "jpg"))
            .collect();
        photos.sort();
    }
    ensure!(!photos.is_empty() && words.rounds > 0, "nothing to read");
    println!("photo, megapixels, decode ms, list / decode, list and marked photo / decode");
    for path in photos {
        let bytes = fs::read(&path).with_context(|| path.display().to_string())?;
        let (mut decodes, mut lists, mut pictures) = (Vec::new(), Vec::new(), Vec::new());
        let mut size = [0, 0];
        for _ in 0..words.rounds {
            let start = Instant::now();
            let photo = Photo::decode(&bytes, &PhotoLimits::default())?;
            let decode = start.elapsed().as_secs_f64();
            let found = measure(&photo, std::slice::from_ref(&scale), &MeasureOptions::default())
                .with_context(|| path.display().to_string())?;
            let list = start.elapsed().as_secs_f64();
            let marked = draw(&photo, &found, &[], &MarkOptions::default());
            let mut file = Vec::new();
            let mut encoder = Encoder::new(&mut file, 85);
            encoder.set_sampling_factor(SamplingFactor::F_1_1);
            let side = |full: u32| u16::try_from(full).context("a side of the marked photo");
            let (width, height) = (side(marked.width())?, side(marked.height())?);
            encoder.encode(marked.as_raw(), width, height, ColorType::Rgb)?;
            let picture = start.elapsed().as_secs_f64();
            size = photo.size_px();
            decodes.push(decode * 1000.0);
            lists.push(list / decode);
            pictures.push(picture / decode);
        }
        println!(
            "{}, {:.1}, {:.0}, {:.1}, {:.1}",
            path.file_name().unwrap_or_default().display(),
            f64::from(size[0]) * f64::from(size[1]) / 1.0e6,
            median(&mut decodes),
            median(&mut lists),
            median(&mut pictures)
        );
    }
    Ok(())
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}
