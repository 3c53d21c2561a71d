//! Paints photos of cards and rules, asks for the scale of each, prints how often and how true.
//!
//! `cargo run --release -p nde-checks --bin scale_figures -- --cards 1000 --rules 1000 --first-seed 300000`

use clap::Parser;
use nde_checks::paint::still::Still;
use nde_checks::paint::stills::{self, StillOptions};
use nde_checks::scales::look::{Answer, Look};
use nde_checks::scales::{bands, tables};
use nde_measure::ScaleSpec;
use rayon::prelude::*;
use std::io::Write as _;

/// Paint photos of scales from consecutive seeds, find the scale in each, print the error of known lengths.
#[derive(Parser)]
struct Args {
    /// How many photos of a card.
    #[arg(long, default_value_t = 100)]
    cards: u64,
    /// How many photos of a rule.
    #[arg(long, default_value_t = 100)]
    rules: u64,
    /// Seed of the first photo of each kind. Seeds below 100000 were looked at while the finder was made.
    #[arg(long, default_value_t = 1)]
    first_seed: u64,
    /// Least and greatest pixels a millimetre of the rules.
    #[arg(long, num_args = 2, default_values_t = [8.0, 20.0])]
    px_per_mm: Vec<f64>,
    /// Greatest radial lens term in either direction.
    #[arg(long, default_value_t = 0.02)]
    k1: f64,
    /// Least and greatest tilt of the rules, degrees.
    #[arg(long, num_args = 2, default_values_t = [0.0, 30.0])]
    tilt_deg: Vec<f64>,
    /// Every rule with a phone's main lens from near by, in a wide field, its focal length told in half of the photos.
    #[arg(long)]
    near_by: bool,
    /// Also print what became of each photo.
    #[arg(long)]
    each: bool,
    /// Write the photos here as well; those that are already here are read instead of painted again.
    #[arg(long)]
    save: Option<std::path::PathBuf>,
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    anyhow::ensure!(args.cards + args.rules > 0, "nothing to paint; give --cards or --rules");
    let mut out = std::io::stdout().lock();
    if args.cards > 0 {
        let seen = cards(&args)?;
        each(&mut out, &args, &seen)?;
        writeln!(out, "{}", tables::of("Cards, both bars read", &seen))?;
        anyhow::ensure!(any_found(&seen), "no card was found: these figures say nothing");
    }
    if args.rules > 0 {
        let (right, absent) = rules(&args)?;
        each(&mut out, &args, &right)?;
        for look in absent.iter().filter(|_| args.each) {
            writeln!(out, "{} {}, which is not there: {}", look.seed, look.asked, became(look))?;
        }
        writeln!(out, "{}", tables::of("Rules, asked for a row they have", &right))?;
        writeln!(out, "{}", tables::of_absent(&absent))?;
        anyhow::ensure!(any_found(&right), "no rule was read: these figures say nothing");
    }
    Ok(())
}

fn any_found(seen: &[tables::Seen]) -> bool {
    seen.iter().any(|(look, _)| matches!(look.answer, Answer::Found(_)))
}

fn cards(args: &Args) -> anyhow::Result<Vec<tables::Seen>> {
    let options = StillOptions { most_k1: args.k1, ..StillOptions::cards() };
    let seeds = args.first_seed..args.first_seed + args.cards;
    seeds
        .into_par_iter()
        .map(|seed| {
            let still = stills::card(seed, &options);
            let jpeg = photo(args, "card", &still)?;
            let bars_mm = Some(if seed % 3 == 0 { [50.0, 50.0] } else { [100.0, 100.0] });
            Ok((Look::at(&still, &jpeg, &ScaleSpec::Card { bars_mm }), bands::of(&still)))
        })
        .collect()
}

/// Each photo asked for its own row, and some for one that is not there.
fn rules(args: &Args) -> anyhow::Result<(Vec<tables::Seen>, Vec<Look>)> {
    let options = StillOptions {
        most_k1: args.k1,
        tilt_deg: [args.tilt_deg[0], args.tilt_deg[1]],
        near_by: args.near_by,
        ..StillOptions::rules()
    };
    let seeds = args.first_seed..args.first_seed + args.rules;
    let all: Vec<(tables::Seen, Option<Look>)> = seeds
        .into_par_iter()
        .map(|seed| {
            let still = stills::rule(seed, [args.px_per_mm[0], args.px_per_mm[1]], &options);
            let jpeg = photo(args, "rule", &still)?;
            let ask = |word: &str| -> anyhow::Result<Look> {
                Ok(Look::at(&still, &jpeg, &format!("ticks:{word}").parse()?))
            };
            let asked = bands::asked_of(&still).expect("a still of rules");
            // Every second photo is asked the wrong question too.
            let absent = bands::absent_from(&still).filter(|_| seed % 2 == 0);
            let absent = absent.map(|g| ask(g.word())).transpose()?;
            Ok(((ask(asked.word())?, bands::of(&still)), absent))
        })
        .collect::<anyhow::Result<_>>()?;
    let (right, absent): (Vec<_>, Vec<_>) = all.into_iter().unzip();
    Ok((right, absent.into_iter().flatten().collect()))
}

/// The photo as bytes: painted, or read where it was written before.
fn photo(args: &Args, name: &str, still: &Still) -> anyhow::Result<Vec<u8>> {
    let Some(folder) = &args.save else { return Ok(still.jpeg()) };
    let file = folder.join(format!("{name}-{}.jpg", still.seed));
    if file.exists() {
        return Ok(std::fs::read(file)?);
    }
    std::fs::create_dir_all(folder)?;
    let jpeg = still.jpeg();
    std::fs::write(file, &jpeg)?;
    Ok(jpeg)
}

/// What became of each photo, and what kind of photo it was.
fn each(out: &mut impl std::io::Write, args: &Args, seen: &[tables::Seen]) -> std::io::Result<()> {
    for (look, bands) in seen.iter().filter(|_| args.each) {
        let kind: Vec<String> = bands.iter().map(|(name, band)| format!("{name} {band}")).collect();
        writeln!(out, "{} {}: {} [{}]", look.seed, look.asked, became(look), kind.join("; "))?;
    }
    Ok(())
}

fn became(look: &Look) -> String {
    match &look.answer {
        Answer::Found(_) => {
            let near = 100.0 * look.worst([0.0, 20.0]).unwrap_or(f64::NAN);
            let stated = look.probes().iter().map(|p| 100.0 * p.stated).fold(99.0, f64::min);
            format!("worst {near:.3} % at the scale, U {stated:.3} %")
        }
        Answer::Refused(why) => why.clone(),
    }
}
