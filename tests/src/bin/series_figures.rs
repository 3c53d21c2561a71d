//! Paints parts whose bleed-out grows by known laws, photographs each several times by hand, follows it with
//! `nde measure --series`, prints what is found. Then the same with a card that was moved, and with a photo of
//! another part.
//!
//! `cargo run --release -p nde-checks --bin series_figures -- --series 20 --first-seed 70000`

use anyhow::{Context as _, Result, ensure};
use clap::Parser;
use nde_checks::figures::claim::{Claim, errors, share};
use nde_checks::paint::development::{Development, Law};
use nde_checks::paint::dice::Dice;
use nde_checks::paint::scene::{Painted, Scene, SceneOptions};
use rayon::prelude::*;
use serde_json::Value;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// Paint series of photos from consecutive seeds, follow them, print linking, errors, growth, warnings.
#[derive(Parser)]
struct Args {
    /// How many series, at least two.
    #[arg(long, default_value_t = 20)]
    series: u64,
    /// Seed of the first one.
    #[arg(long, default_value_t = 70_000)]
    first_seed: u64,
    /// Keep the photos in this folder, to look at.
    #[arg(long)]
    keep: Option<PathBuf>,
}

/// When photos are taken, minutes.
const MINUTES: [f64; 5] = [3.0, 6.0, 10.0, 15.0, 20.0];
/// Least loss of green of an indication whose length is claimed.
const LEAST_LOSS: f64 = 0.23;
/// Gap to the next indication below which blur and joining are another table's matter, mm.
const CLEAR_MM: f64 = 1.0;
/// Move of a card that is small, mm.
const SMALL_MM: f64 = 0.5;
/// True growth between the last two photos, mm: borders of the table's rows.
const GROWN_MM: [f64; 6] = [0.005, 0.05, 0.1, 0.2, 0.4, f64::INFINITY];

/// What is said of growth between the last two photos.
struct Said {
    claim: Claim,
    says: String,
    late: bool,
}

#[derive(Default)]
struct Found {
    /// Per photo.
    lengths: [Vec<Claim>; MINUTES.len()],
    latest: Vec<Said>,
    whole: Vec<Claim>,
    /// Sound marks seen in the last photo: photos that count them, and those of these in their track.
    sound: [usize; 2],
    /// Sound marks, and those whose track holds all photos in which they are.
    through: [usize; 2],
    /// The same of marks too faint for a claimed length.
    faint: [usize; 2],
    /// Entries of tracks that belong to a known mark, and those of another mark than the track's last.
    links: [usize; 2],
    /// Doubts of the true series.
    misfits: Vec<String>,
}

/// A pair of photos with the card moved between them.
struct Moved {
    mm: f64,
    marks: usize,
    misfit: String,
}

fn main() -> Result<()> {
    let args = Args::parse();
    ensure!(args.series > 1, "different parts are compared too; give --series 2 or more");
    let own = tempfile::tempdir()?;
    let dir = args.keep.as_deref().unwrap_or(own.path());
    std::fs::create_dir_all(dir)?;
    let all: Vec<(u64, Found, Option<Moved>)> = (args.first_seed..args.first_seed + args.series)
        .into_par_iter()
        .filter_map(|seed| one(seed, dir).transpose())
        .collect::<Result<_>>()?;
    ensure!(all.len() > 1, "fewer than two of these parts can be followed; give more --series");
    let strange: Vec<String> = (0..all.len())
        .into_par_iter()
        .map(|n| {
            let (a, b) = (all[n].0, all[(n + 1) % all.len()].0);
            let last = MINUTES.len() - 1;
            misfit(&followed(dir, &[photo(a, last - 1), photo(b, last)], &MINUTES[last - 1..])?)
        })
        .collect::<Result<_>>()?;
    let mut out = std::io::stdout().lock();
    print(&mut out, &all)?;
    let noticed = strange.iter().filter(|misfit| !misfit.is_empty()).count();
    let as_other = strange.iter().filter(|misfit| *misfit == "another-place").count();
    writeln!(
        out,
        "two photos of different parts: {} pairs, {noticed} noticed, {as_other} as another place",
        strange.len()
    )?;
    Ok(())
}

fn photo(seed: u64, shot: usize) -> String {
    format!("{seed}-{shot}.jpg")
}

/// What `nde measure --series` says of photos in a folder.
fn followed(dir: &Path, photos: &[String], minutes: &[f64]) -> Result<Value> {
    let told: Vec<String> = minutes.iter().map(f64::to_string).collect();
    let mut words: Vec<String> =
        ["nde", "measure", "--series", "--quiet", "--format", "json", "--minutes"]
            .map(str::to_owned)
            .to_vec();
    words.push(told.join(","));
    words.extend(photos.iter().map(|photo| dir.join(photo).display().to_string()));
    let (mut out, mut talk) = (Vec::new(), Vec::new());
    nde_cli::run(words, &mut out, &mut talk);
    serde_json::from_slice(&out)
        .with_context(|| format!("{photos:?}: {}", String::from_utf8_lossy(&talk)))
}

/// The first misfit told of a photo; empty when there is none.
fn misfit(said: &Value) -> Result<String> {
    let photos = said["photos"].as_array().context("no photos")?;
    Ok(photos.iter().find_map(|p| p["misfit"].as_str()).unwrap_or_default().to_owned())
}

/// One series; none where no hand keeps the part in view or a photo cannot be measured.
fn one(seed: u64, dir: &Path) -> Result<Option<(u64, Found, Option<Moved>)>> {
    let mut options = SceneOptions::default();
    options.blank_share = 0.0;
    options.nuisance_chance = 0.15;
    options.spatter_chance = Some(0.0); // Marks would grow into droplets that were laid clear of them.
    options.px_per_mm = [8.0, 14.0];
    options.tilt_deg = [0.0, 25.0];
    let Some(development) = Development::of(seed, &options, &MINUTES) else { return Ok(None) };
    let photos: Vec<String> = (0..MINUTES.len()).map(|n| photo(seed, n)).collect();
    for (name, scene) in photos.iter().zip(&development.shots) {
        std::fs::write(dir.join(name), scene.jpeg())?;
    }
    let said = followed(dir, &photos, &MINUTES)?;
    if said["photos"].as_array().map(Vec::len) != Some(MINUTES.len()) {
        return Ok(None);
    }
    let moved = moved(seed, &development, dir)?;
    Ok(Some((seed, compared(&development, &said), moved)))
}

/// The last photo but one, and the last one with the card pushed.
fn moved(seed: u64, development: &Development, dir: &Path) -> Result<Option<Moved>> {
    let mut dice = Dice::new(seed).branch(41);
    let last = MINUTES.len() - 1;
    let pushed = (0..60).find_map(|_| {
        let (by, way) = (dice.log_between(0.2, 10.0), dice.between(0.0, 6.3));
        let turn = dice.between(-0.1, 0.1) * (by / 3.0).min(1.0);
        let scene = development.with_card_moved(last, [by * way.cos(), by * way.sin()], turn)?;
        Some(scene)
    });
    let Some(scene) = pushed else { return Ok(None) };
    let name = format!("{seed}-moved.jpg");
    std::fs::write(dir.join(&name), scene.jpeg())?;
    let said = followed(dir, &[photo(seed, last - 1), name], &MINUTES[last - 1..])?;
    let still = &development.shots[last].card;
    let places: Vec<[f64; 2]> = scene.bodies().map(|(_, body)| body.centroid_mm).collect();
    let away = |p: &[f64; 2]| {
        let (a, b) = (scene.card.on_paper(*p), still.on_paper(*p));
        (a[0] - b[0]).hypot(a[1] - b[1])
    };
    let marks = said["indications"].as_array().map_or(0, Vec::len);
    Ok(Some(Moved {
        mm: places.iter().map(away).sum::<f64>() / places.len().max(1) as f64,
        marks,
        misfit: misfit(&said)?,
    }))
}

/// Marks that one photo shows as one body, with nothing of another near.
fn alone(shot: &Scene, n: usize) -> bool {
    let it = &shot.painted[n];
    let gap = |a: [[f64; 2]; 2], b: [[f64; 2]; 2]| {
        let side = |k: usize| (a[0][k] - b[1][k]).max(b[0][k] - a[1][k]).max(0.0);
        side(0).hypot(side(1))
    };
    it.truth.bodies.len() == 1
        && it.truth.crumbs.is_empty()
        && shot.painted.iter().enumerate().all(|(m, other)| {
            m == n
                || (other.cluster != it.cluster
                    && gap(it.mark.bounds(), other.mark.bounds()) > CLEAR_MM)
        })
}

/// Which painted indication lies where a photo's frame says.
fn whose(shot: &Scene, at_mm: [f64; 2]) -> Option<usize> {
    let margin = shot.card.board.margin_mm;
    let at = shot.card.from_paper([at_mm[0] + margin, at_mm[1] + margin]);
    let near = |painted: &Painted| {
        painted.truth.bodies.iter().any(|body| {
            painted.truth.covers(body, at)
                || (at[0] - body.centroid_mm[0]).hypot(at[1] - body.centroid_mm[1]) < 0.5
        })
    };
    shot.painted.iter().position(near)
}

/// A track as the tool tells it: photo by photo the painted indication, length and uncertainty.
fn track(development: &Development, told: &Value) -> Vec<Option<(Option<usize>, Claim)>> {
    let mut entries: Vec<Option<(Option<usize>, Claim)>> = vec![None; MINUTES.len()];
    for size in told["sizes"].as_array().into_iter().flatten() {
        let shot = MINUTES.iter().position(|m| size["minutes"].as_f64() == Some(*m));
        let at = [0, 1].map(|k| size["at_mm"][k].as_f64());
        let (Some(shot), [Some(x), Some(y)]) = (shot, at) else { continue };
        let owner = whose(&development.shots[shot], [x, y]);
        let truth = owner.and_then(|n| development.shots[shot].painted[n].truth.bodies.first());
        let claim = Claim {
            mm: size["length_mm"].as_f64().unwrap_or(f64::NAN),
            u_mm: size["length_u_mm"].as_f64().unwrap_or(f64::NAN),
            true_mm: truth.map_or(f64::NAN, |body| body.length_mm),
        };
        entries[shot] = Some((owner, claim));
    }
    entries
}

fn compared(development: &Development, said: &Value) -> Found {
    let mut found = Found::default();
    found.misfits.extend(
        said["photos"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|p| p["misfit"].as_str())
            .map(str::to_owned),
    );
    let told = said["indications"].as_array().cloned().unwrap_or_default();
    let tracks: Vec<_> = told.iter().map(|it| track(development, it)).collect();
    let last = MINUTES.len() - 1;
    for entries in &tracks {
        let owners: Vec<usize> = entries.iter().flatten().filter_map(|(owner, _)| *owner).collect();
        found.links[0] += owners.len();
        found.links[1] += owners.iter().filter(|n| Some(*n) != owners.last()).count();
    }
    for n in 0..development.growths.len() {
        let counted = |shot: usize| {
            tracks.iter().position(|t| matches!(t[shot], Some((Some(m), _)) if m == n))
        };
        let loss = |shot: usize| development.shots[shot].painted[n].mark.full_loss;
        let apart = (0..=last).all(|k| {
            development.shots[k].painted[n].truth.bodies.is_empty()
                || alone(&development.shots[k], n)
        });
        let Some(number) = counted(last).filter(|_| apart) else { continue };
        let entries = &tracks[number];
        let faint = loss(last) < LEAST_LOSS;
        let seen: Vec<usize> = (0..=last).filter(|k| counted(*k).is_some()).collect();
        let own = seen.iter().filter(|k| counted(**k) == Some(number)).count();
        let whole = usize::from(own == seen.len());
        if faint {
            found.faint = [found.faint[0] + 1, found.faint[1] + whole];
            continue;
        }
        found.sound = [found.sound[0] + seen.len(), found.sound[1] + own];
        // From the first photo on in which it is dark enough.
        let due = (0..=last).find(|k| loss(*k) >= LEAST_LOSS).unwrap_or(last);
        let held = (due..=last).all(|k| counted(k) == Some(number));
        found.through = [found.through[0] + 1, found.through[1] + usize::from(held)];
        for (k, entry) in entries.iter().enumerate() {
            if let Some((Some(m), claim)) = entry
                && *m == n
                && claim.u_mm.is_finite()
            {
                found.lengths[k].push(*claim);
            }
        }
        let it = &told[number];
        let held: Vec<usize> = (0..last).filter(|k| entries[*k].is_some()).collect();
        let truth = |k: usize| entries[k].map_or(f64::NAN, |(_, claim)| claim.true_mm);
        let claim = |name: &str| {
            let minutes = it[format!("{name}_minutes")].as_f64()?;
            let from = held.iter().find(|k| (MINUTES[last] - MINUTES[**k] - minutes).abs() < 1e-9);
            Some(Claim {
                mm: it[format!("{name}_growth_mm")].as_f64()?,
                u_mm: it[format!("{name}_growth_u_mm")].as_f64()?,
                true_mm: truth(last) - truth(*from?),
            })
        };
        if let Some(claim) = claim("latest") {
            let says = it["says"].as_str().unwrap_or_default().to_owned();
            let late = matches!(development.growths[n].law, Law::Late { .. });
            found.latest.push(Said { claim, says, late });
        }
        found.whole.extend(claim("whole"));
    }
    found
}

fn print(out: &mut dyn std::io::Write, all: &[(u64, Found, Option<Moved>)]) -> Result<()> {
    let found: Vec<&Found> = all.iter().map(|(_, found, _)| found).collect();
    let sum = |pick: fn(&Found) -> [usize; 2]| {
        found.iter().map(|f| pick(f)).fold([0, 0], |s, p| [s[0] + p[0], s[1] + p[1]])
    };
    let [tracked, through] = sum(|f| f.through);
    let [seen, own] = sum(|f| f.sound);
    let [faint, faint_through] = sum(|f| f.faint);
    let [links, wrong] = sum(|f| f.links);
    writeln!(
        out,
        "{} series of {} photos; {tracked} sound marks, {:.3} followed through all photos they are dark enough in",
        all.len(),
        MINUTES.len(),
        share(through, tracked)
    )?;
    writeln!(
        out,
        "of {seen} photos that count a sound mark {:.3} stand in its track; of {faint} faint marks {:.3} are followed wherever counted",
        share(own, seen),
        share(faint_through, faint)
    )?;
    writeln!(out, "{wrong} of {links} entries of all tracks belong to another mark")?;
    writeln!(out, "what              n  error median  95 %  U median  U holds the truth")?;
    for (k, minutes) in MINUTES.iter().enumerate() {
        let claims: Vec<Claim> = found.iter().flat_map(|f| f.lengths[k].clone()).collect();
        writeln!(out, "length {minutes:4} min  {}", errors(&claims))?;
    }
    print_growth(out, &found)?;
    print_misfits(out, all)
}

fn print_growth(out: &mut dyn std::io::Write, found: &[&Found]) -> Result<()> {
    let latest: Vec<&Said> = found.iter().flat_map(|f| &f.latest).collect();
    let claims: Vec<Claim> = latest.iter().map(|said| said.claim).collect();
    writeln!(out, "growth, last      {}", errors(&claims))?;
    let claims: Vec<Claim> = found.iter().flat_map(|f| f.whole.clone()).collect();
    writeln!(out, "growth, whole     {}", errors(&claims))?;
    writeln!(out, "true growth in the last interval, mm   n  growing  no growth shown  shorter")?;
    let mut low = f64::NEG_INFINITY;
    for high in GROWN_MM {
        let of: Vec<&&Said> =
            latest.iter().filter(|s| s.claim.true_mm >= low && s.claim.true_mm < high).collect();
        let says = |word: &str| share(of.iter().filter(|s| s.says == word).count(), of.len());
        writeln!(
            out,
            "to {high:5}  {:5}  {:.3}  {:.3}  {:.3}",
            of.len(),
            says("growing"),
            says("no-growth-shown"),
            says("shorter")
        )?;
        low = high;
    }
    let beyond: Vec<&&Said> = latest.iter().filter(|s| s.claim.true_mm > s.claim.u_mm).collect();
    let told = beyond.iter().filter(|s| s.says == "growing").count();
    writeln!(
        out,
        "growth beyond its own U: {} marks ({} late), {:.3} called growing",
        beyond.len(),
        beyond.iter().filter(|s| s.late).count(),
        share(told, beyond.len())
    )?;
    Ok(())
}

fn print_misfits(out: &mut dyn std::io::Write, all: &[(u64, Found, Option<Moved>)]) -> Result<()> {
    let false_ones: Vec<String> = all
        .iter()
        .filter(|(_, found, _)| !found.misfits.is_empty())
        .map(|(seed, found, _)| format!("{seed} {:?}", found.misfits))
        .collect();
    writeln!(
        out,
        "true series taken for a misfit: {} {}",
        false_ones.len(),
        false_ones.join("; ")
    )?;
    let moved: Vec<(u64, &Moved)> =
        all.iter().filter_map(|(seed, _, moved)| Some((*seed, moved.as_ref()?))).collect();
    for (name, low, high) in [("under", 0.0, SMALL_MM), ("from", SMALL_MM, f64::INFINITY)] {
        let of: Vec<&(u64, &Moved)> =
            moved.iter().filter(|(_, m)| m.mm >= low && m.mm < high).collect();
        let as_such = of.iter().filter(|(_, m)| m.misfit == "scale-moved").count();
        let missed: Vec<String> = of
            .iter()
            .filter(|(_, m)| m.misfit.is_empty())
            .map(|(seed, m)| format!("{seed} {:.2} mm {} marks", m.mm, m.marks))
            .collect();
        writeln!(
            out,
            "card moved by {name} {SMALL_MM} mm at the marks: {} pairs, {} noticed, {as_such} as a moved scale; missed: {}",
            of.len(),
            of.len() - missed.len(),
            missed.join("; ")
        )?;
    }
    Ok(())
}
