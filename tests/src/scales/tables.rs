//! The tables over many looks.

use super::bands::Band;
use super::look::{Answer, Look, Probe};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// A scale whose error next to it is greater than this is a gross error.
pub const GROSS: f64 = 0.02;
/// Distances from the scale that are told apart, mm.
const RINGS: [(&str, [f64; 2]); 3] =
    [("at the scale", [0.0, 20.0]), ("at 80 mm", [60.0, 100.0]), ("at 150 mm", [125.0, 175.0])];

/// One question and the bands of its still.
pub type Seen = (Look, Vec<Band>);

/// Share found, errors, coverage, refusals: of all and by bands.
#[must_use]
pub fn of(title: &str, seen: &[Seen]) -> String {
    let mut text = String::new();
    let all: Vec<&Look> = seen.iter().map(|(look, _)| look).collect();
    let _ = head(&mut text, title, &all);
    let _ = refusals(&mut text, &all);
    let mut tables: BTreeMap<&'static str, BTreeMap<&str, Vec<&Look>>> = BTreeMap::new();
    let mut order: Vec<&'static str> = Vec::new();
    for (look, bands) in seen {
        for (table, band) in bands {
            if !order.contains(table) {
                order.push(table);
            }
            tables.entry(table).or_default().entry(band).or_default().push(look);
        }
    }
    let _ = writeln!(
        text,
        "\n  {:<30} {:>5} {:>7}  {:>20}  {:>7} {:>6}  {:>5}",
        "by", "n", "found", "error % at the scale", "cover", "gross", "ms"
    );
    for table in order {
        for (band, looks) in &tables[table] {
            let _ = line(&mut text, &format!("{table}: {band}"), looks);
        }
    }
    text
}

/// Questions for a graduation that is not there: how many were refused, and what the rest gave.
#[must_use]
pub fn of_absent(seen: &[Look]) -> String {
    let mut text = String::new();
    let all: Vec<&Look> = seen.iter().collect();
    let gross = gross(&all);
    let found = all.iter().filter(|l| matches!(l.answer, Answer::Found(_))).count();
    let _ = writeln!(
        text,
        "Rules asked for a graduation they do not have: {} asked, {} refused, {} read with the right pitch all the same, {} gross",
        all.len(),
        all.len() - found,
        found - gross.len(),
        gross.len()
    );
    for look in gross {
        let _ = writeln!(text, "  gross: seed {} asked for {}", look.seed, look.asked);
    }
    let _ = refusals(&mut text, &all);
    text
}

fn head(text: &mut String, title: &str, all: &[&Look]) -> std::fmt::Result {
    let found: Vec<&&Look> = all.iter().filter(|l| matches!(l.answer, Answer::Found(_))).collect();
    writeln!(
        text,
        "{title}: found in {} of {} = {:.2} %; {:.0} ms a photo (median), {:.0} worst",
        found.len(),
        all.len(),
        100.0 * found.len() as f64 / all.len().max(1) as f64,
        1000.0 * quantile(all.iter().map(|l| l.seconds).collect(), 0.5),
        1000.0 * quantile(all.iter().map(|l| l.seconds).collect(), 1.0),
    )?;
    writeln!(
        text,
        "  {:<14} {:>6}  {:>24}  {:>24}  {:>14}  {:>10}",
        "10 mm lengths",
        "n",
        "error %: median p95 worst",
        "worst of a photo: p50 p95",
        "within U (k=2)",
        "U %: p50"
    )?;
    for (name, ring) in RINGS {
        let probes: Vec<(&Probe, u64)> = all
            .iter()
            .flat_map(|l| l.probes().iter().map(|p| (p, l.seed)))
            .filter(|(p, _)| p.away_mm >= ring[0] && p.away_mm < ring[1])
            .collect();
        let errors = |q| quantile(probes.iter().map(|(p, _)| 100.0 * p.error.abs()).collect(), q);
        let photos: Vec<f64> =
            all.iter().filter_map(|l| l.worst(ring)).map(|e| 100.0 * e).collect();
        let within = probes.iter().filter(|(p, _)| p.error.abs() <= p.stated).count();
        let worst = probes.iter().max_by(|a, b| a.0.error.abs().total_cmp(&b.0.error.abs()));
        writeln!(
            text,
            "  {name:<14} {:>6}  {:>7.3} {:>7.3} {:>8.3}  {:>11.3} {:>12.3}  {:>12.2} %  {:>10.2}   (worst: seed {})",
            probes.len(),
            errors(0.5),
            errors(0.95),
            errors(1.0),
            quantile(photos.clone(), 0.5),
            quantile(photos, 0.95),
            100.0 * within as f64 / probes.len().max(1) as f64,
            quantile(probes.iter().map(|(p, _)| 100.0 * p.stated).collect(), 0.5),
            worst.map_or(0, |w| w.1),
        )?;
    }
    let gross = gross(all);
    writeln!(
        text,
        "  gross errors accepted (> {:.0} % at the scale): {}",
        100.0 * GROSS,
        gross.len()
    )?;
    for look in gross {
        writeln!(text, "    seed {} asked for {}", look.seed, look.asked)?;
    }
    Ok(())
}

fn line(text: &mut String, name: &str, looks: &[&Look]) -> std::fmt::Result {
    let found = looks.iter().filter(|l| matches!(l.answer, Answer::Found(_))).count();
    let probes: Vec<&Probe> =
        looks.iter().flat_map(|l| l.probes()).filter(|p| p.away_mm < RINGS[0].1[1]).collect();
    let errors = |q| quantile(probes.iter().map(|p| 100.0 * p.error.abs()).collect(), q);
    let every: Vec<&Probe> = looks.iter().flat_map(|l| l.probes()).collect();
    let within = every.iter().filter(|p| p.error.abs() <= p.stated).count();
    writeln!(
        text,
        "  {name:<30} {:>5} {:>6.1}%  {:>6.3} {:>6.3} {:>6.2}  {:>6.1}% {:>6}  {:>5.0}",
        looks.len(),
        100.0 * found as f64 / looks.len().max(1) as f64,
        errors(0.5),
        errors(0.95),
        errors(1.0),
        100.0 * within as f64 / every.len().max(1) as f64,
        gross(looks).len(),
        1000.0 * quantile(looks.iter().map(|l| l.seconds).collect(), 0.5),
    )
}

fn gross<'a>(all: &[&'a Look]) -> Vec<&'a Look> {
    all.iter().filter(|l| l.worst(RINGS[0].1).is_some_and(|e| e > GROSS)).copied().collect()
}

/// Refusals by reason, numbers left out, the commonest first, with some seeds.
fn refusals(text: &mut String, all: &[&Look]) -> std::fmt::Result {
    let mut reasons: BTreeMap<String, Vec<u64>> = BTreeMap::new();
    for look in all {
        if let Answer::Refused(why) = &look.answer {
            reasons.entry(without_numbers(why)).or_default().push(look.seed);
        }
    }
    let mut sorted: Vec<_> = reasons.into_iter().collect();
    sorted.sort_by_key(|(_, seeds)| std::cmp::Reverse(seeds.len()));
    for (reason, seeds) in sorted {
        let some: Vec<String> = seeds.iter().take(6).map(u64::to_string).collect();
        writeln!(text, "  refused {:>4}: {reason} (seeds {})", seeds.len(), some.join(" "))?;
    }
    Ok(())
}

/// A refusal's fact, with `#` for numbers and without its remedy.
fn without_numbers(why: &str) -> String {
    let fact = why.split("); ").next().unwrap_or(why);
    let mut text = String::new();
    for c in fact.chars() {
        if !c.is_ascii_digit() {
            text.push(c);
        } else if !text.ends_with('#') {
            text.push('#');
        }
    }
    text
}

/// The value below which this share lies; nothing for nothing.
fn quantile(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let last = values.len().saturating_sub(1) as f64;
    let rank = (0..values.len()).find(|i| *i as f64 >= share * last);
    rank.map_or(f64::NAN, |i| values[i])
}
