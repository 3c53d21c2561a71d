//! The figure table over many outcomes.

use super::area::AreaRead;
use super::outcome::{ASKED, Call, Finding, Outcome, Truth};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Contrast tiers by peak loss of green: below the first limit nothing is promised.
/// Chosen: the limits the detection figures of the method are stated for.
const TIERS: [(&str, f64, f64); 4] = [
    ("below 14 %", 0.0, 0.14),
    ("faint 14-23 %", 0.14, ASKED),
    ("medium 23-42 %", ASKED, 0.42),
    ("strong > 42 %", 0.42, 1.01),
];

/// Length bins, mm.
const LENGTHS: [f64; 7] = [0.0, 1.0, 2.0, 4.0, 8.0, 16.0, f64::INFINITY];

/// Everything counted, ready to print.
#[must_use]
pub fn table(outcomes: &[Outcome]) -> String {
    let mut text = String::new();
    let done: Vec<&Outcome> = outcomes.iter().filter(|o| o.refused.is_none()).collect();
    let _ = head(&mut text, outcomes, &done);
    let _ = area(&mut text, &done);
    // A refused photo counts: its indications were missed.
    let findings: Vec<&Finding> = outcomes.iter().flat_map(|o| &o.findings).collect();
    let _ = detection(&mut text, &findings);
    let _ = false_calls(&mut text, &done);
    let _ = spatter(&mut text, &done);
    let hits: Vec<(&Truth, &Call)> = findings
        .iter()
        .filter_map(|f| match f {
            Finding::Hit(t, c) => Some((t, c)),
            _ => None,
        })
        .collect();
    let _ = sizes(&mut text, &hits);
    let _ = classes(&mut text, &hits);
    let _ = coverage(&mut text, &hits);
    text
}

fn head(text: &mut String, outcomes: &[Outcome], done: &[&Outcome]) -> std::fmt::Result {
    let mut seconds: Vec<f64> = outcomes.iter().map(|o| o.seconds).collect();
    seconds.sort_by(f64::total_cmp);
    writeln!(
        text,
        "scenes {}, measured {}, seconds a photo median {:.2} worst {:.2}",
        outcomes.len(),
        done.len(),
        quantile(&seconds, 0.5),
        quantile(&seconds, 1.0)
    )?;
    for outcome in outcomes {
        if let Some(why) = &outcome.refused {
            writeln!(
                text,
                "  refused {} ({:.1} px/mm, tilt {:.0} deg): {why}",
                outcome.seed, outcome.px_per_mm, outcome.tilt_deg
            )?;
        }
    }
    let errors: Vec<f64> = done.iter().filter_map(|o| o.scale_error).collect();
    writeln!(text, "SCALE at the coat's middle, relative to the truth, %")?;
    writeln!(text, "  {}", spread(&errors.iter().map(|e| 100.0 * e).collect::<Vec<_>>()))
}

/// Shares of the coat that are worth a line of their own. Chosen.
const LITTLE_READ: f64 = 0.85;
const MUCH_BARE: f64 = 0.01;
/// Where less than this share is read, something should tell. Chosen.
const MOST_READ: f64 = 0.95;

fn area(text: &mut String, done: &[&Outcome]) -> std::fmt::Result {
    let areas: Vec<(u64, AreaRead)> =
        done.iter().filter_map(|o| Some((o.seed, o.area?))).filter(|(_, a)| a.coat > 0).collect();
    let sorted = |share: &dyn Fn(&AreaRead) -> f64| {
        let mut all: Vec<f64> = areas.iter().map(|(_, a)| share(a)).collect();
        all.sort_by(f64::total_cmp);
        all
    };
    let read = sorted(&AreaRead::share_read);
    let bare = sorted(&AreaRead::share_bare);
    writeln!(text, "AREA READ")?;
    writeln!(
        text,
        "  share of the full coat that was read: median {:.3}  p5 {:.3}  least {:.3}",
        quantile(&read, 0.5),
        quantile(&read, 0.05),
        quantile(&read, 0.0)
    )?;
    writeln!(
        text,
        "  share of the area read without any coat: median {:.4}  p95 {:.4}  most {:.4}",
        quantile(&bare, 0.5),
        quantile(&bare, 0.95),
        quantile(&bare, 1.0)
    )?;
    let [little, rest]: [Vec<&AreaRead>; 2] = [true, false].map(|is_little| {
        let all = areas.iter().map(|(_, a)| a);
        all.filter(|a| (a.share_read() < MOST_READ) == is_little).collect()
    });
    let told = |of: &[&AreaRead], tells: &dyn Fn(&AreaRead) -> bool| {
        of.iter().filter(|a| tells(a)).count()
    };
    writeln!(
        text,
        "  less than {MOST_READ} of the coat read in {} photos: unread ground told in {}, glare or marks beside in {}, neither in {}; of the {} others unread ground told in {}",
        little.len(),
        told(&little, &|a| a.tells_unread),
        told(&little, &|a| a.tells_other),
        told(&little, &|a| !a.tells_unread && !a.tells_other),
        rest.len(),
        told(&rest, &|a| a.tells_unread),
    )?;
    let apart = areas.iter().filter(|(_, a)| {
        a.share_read() < LITTLE_READ || a.share_bare() > MUCH_BARE || a.tells_unread
    });
    for (seed, a) in apart {
        let (read, bare) = (a.share_read(), a.share_bare());
        let (doubtful, coat) = (a.doubtful, a.doubtful_coat);
        writeln!(
            text,
            "  {seed}: read {read:.3}, bare {bare:.3}, doubtful {doubtful} mm2, {coat} of it coat"
        )?;
    }
    Ok(())
}

fn detection(text: &mut String, findings: &[&Finding]) -> std::fmt::Result {
    let truths: Vec<(&Truth, bool)> = findings
        .iter()
        .filter_map(|f| match f {
            Finding::Hit(t, _) => Some((t, true)),
            Finding::Missed { truth, joined: false, .. } => Some((truth, false)),
            _ => None,
        })
        .collect();
    let joined =
        findings.iter().filter(|f| matches!(f, Finding::Missed { joined: true, .. })).count();
    writeln!(
        text,
        "DETECTION  ({joined} more were joined to a called neighbour by the photo's blur)"
    )?;
    let share = |keep: &dyn Fn(&Truth) -> bool| {
        let all: Vec<bool> = truths.iter().filter(|(t, _)| keep(t)).map(|(_, hit)| *hit).collect();
        let hits = all.iter().filter(|h| **h).count();
        format!("{hits}/{} = {:.3}", all.len(), hits as f64 / all.len().max(1) as f64)
    };
    writeln!(text, "  all                {}", share(&|_| true))?;
    for (name, low, high) in TIERS {
        writeln!(
            text,
            "  {name:<18} {}   by what the blur leaves: {}",
            share(&|t| t.peak >= low && t.peak < high),
            share(&|t| t.seen_peak >= low && t.seen_peak < high)
        )?;
    }
    for pair in LENGTHS.windows(2) {
        let name = if pair[1].is_finite() {
            format!("{:.0}-{:.0} mm", pair[0], pair[1])
        } else {
            format!("> {:.0} mm", pair[0])
        };
        let keep = |t: &Truth| t.size_mm[0] >= pair[0] && t.size_mm[0] < pair[1];
        writeln!(
            text,
            "  {name:<18} {}   of those >= 23 %: {}",
            share(&keep),
            share(&|t| keep(t) && t.peak >= ASKED)
        )?;
    }
    let mut kinds: Vec<&str> = truths.iter().map(|(t, _)| t.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    for kind in kinds {
        writeln!(text, "  {kind:<18} {}", share(&|t| t.kind == kind))?;
    }
    let mut asides: BTreeMap<&str, usize> = BTreeMap::new();
    for finding in findings {
        if let Finding::Missed { aside, joined: false, .. } = finding {
            *asides.entry(aside.unwrap_or("nothing there")).or_default() += 1;
        }
    }
    writeln!(text, "  missed ones were set aside as: {asides:?}")
}

fn false_calls(text: &mut String, done: &[&Outcome]) -> std::fmt::Result {
    let mut causes: BTreeMap<&str, usize> = BTreeMap::new();
    let mut clean = 0;
    let mut total = 0;
    for outcome in done {
        let before = total;
        for finding in &outcome.findings {
            if let Finding::False { cause, .. } = finding {
                *causes.entry(cause).or_default() += 1;
                total += 1;
            }
        }
        clean += usize::from(total == before);
    }
    writeln!(
        text,
        "FALSE CALLS  {total} = {:.2} a photo; {clean} of {} photos have none",
        total as f64 / done.len().max(1) as f64,
        done.len()
    )?;
    for (cause, n) in causes {
        writeln!(text, "  {n:>4}  {cause}")?;
    }
    Ok(())
}

/// A droplet this long as seen, mm, is long enough to be judged. Chosen: above what blur leaves of a speck.
const JUDGED_MM: f64 = 0.4;

fn spatter(text: &mut String, done: &[&Outcome]) -> std::fmt::Result {
    let droplets: Vec<_> = done.iter().flat_map(|o| &o.droplets).collect();
    let share = |long: bool, dark: bool| {
        let of = droplets
            .iter()
            .filter(|d| (d.seen_mm >= JUDGED_MM) == long && (d.seen_peak >= ASKED || !dark));
        let (all, called) = of.fold((0, 0), |(n, c), d| (n + 1, c + usize::from(d.called)));
        format!("{called}/{all}")
    };
    writeln!(
        text,
        "SPATTER  {} droplets; called of those seen at {JUDGED_MM} mm or longer {} (of those >= 23 %: {}), of the smaller {}",
        droplets.len(),
        share(true, false),
        share(true, true),
        share(false, false)
    )?;
    let (with, without): (Vec<&Outcome>, Vec<&Outcome>) =
        done.iter().partition(|o| !o.droplets.is_empty());
    for (name, photos) in [("with spatter", with), ("without", without)] {
        let causes = photos.iter().flat_map(|o| &o.findings).filter_map(|f| match f {
            Finding::False { cause, .. } => Some(*cause),
            _ => None,
        });
        let (all, other) =
            causes.fold((0, 0), |(all, other), c| (all + 1, other + usize::from(c != "spatter")));
        let a_photo = |n: usize| n as f64 / photos.len().max(1) as f64;
        writeln!(
            text,
            "  false calls in {} photos {name}: {all} = {:.2} a photo, on anything but droplets {other} = {:.2}",
            photos.len(),
            a_photo(all),
            a_photo(other)
        )?;
    }
    Ok(())
}

/// One line of the size table: its name, and the measured and the true value where both are there.
type SizeRow = (&'static str, fn(&Truth, &Call) -> Option<[f64; 2]>);

/// One line of the class table: its name and which truths belong to it.
type ClassRow = (&'static str, fn(&Truth) -> bool);

fn sizes(text: &mut String, hits: &[(&Truth, &Call)]) -> std::fmt::Result {
    let rows: [SizeRow; 7] = [
        ("end to end, on the part", |t, c| Some([c.feret_mm, t.size_mm[0]])),
        ("the same without a doubt", |t, c| {
            c.doubts.is_empty().then_some([c.feret_mm, t.size_mm[0]])
        }),
        ("end to end, as seen", |t, c| t.seen_mm.map(|seen| [c.feret_mm, seen[0]])),
        ("as judged, on the part", |t, c| Some([c.length_mm, t.size_mm[0]])),
        ("path, linear ones", |t, c| t.linear.then_some([c.path_mm, t.path_mm])),
        ("width, on the part", |t, c| Some([c.width_mm, t.size_mm[1]])),
        ("width, as seen", |t, c| t.seen_mm.map(|seen| [c.width_mm, seen[1]])),
    ];
    writeln!(text, "SIZE ERROR, measured minus true, mm")?;
    for (name, pair) in rows {
        for (tier, low, high) in TIERS {
            let errors: Vec<f64> = hits
                .iter()
                .filter(|(t, _)| t.peak >= low && t.peak < high)
                .filter_map(|(t, c)| pair(t, c).map(|[measured, truth]| measured - truth))
                .collect();
            if !errors.is_empty() {
                writeln!(text, "  {name:<24} {tier:<15} {}", spread(&errors))?;
            }
        }
    }
    let clear: Vec<f64> = hits
        .iter()
        .filter(|(t, _)| t.peak >= 0.5 && t.width_px >= 3.0)
        .filter_map(|(t, c)| t.seen_mm.map(|s| 100.0 * (c.feret_mm / s[0] - 1.0).abs()))
        .collect();
    let mut sorted = clear.clone();
    sorted.sort_by(f64::total_cmp);
    writeln!(
        text,
        "  clear ones (>= 50 %, >= 3 px wide), end to end as seen: median relative error {:.2} % (n {})",
        quantile(&sorted, 0.5),
        clear.len()
    )
}

fn classes(text: &mut String, hits: &[(&Truth, &Call)]) -> std::fmt::Result {
    writeln!(text, "CLASS (linear: length > 3 width)")?;
    let rows: [ClassRow; 3] = [
        ("all >= 23 %", |t| t.peak >= ASKED),
        (">= 23 %, ratio not in 2.5-3.6", |t| {
            let ratio = t.size_mm[0] / t.size_mm[1];
            t.peak >= ASKED && !(2.5..3.6).contains(&ratio)
        }),
        ("faint", |t| t.peak < ASKED),
    ];
    for (name, keep) in rows {
        let kept: Vec<_> = hits.iter().filter(|(t, _)| keep(t)).collect();
        let agree = kept.iter().filter(|(t, c)| t.linear == c.linear).count();
        let to_rounded = kept.iter().filter(|(t, c)| t.linear && !c.linear).count();
        let doubted = |c: &Call| {
            c.doubts.iter().any(|d| {
                ["too-small-to-classify", "wide-spot-on-line", "width-upper-bound"].contains(d)
            })
        };
        let silent = kept.iter().filter(|(t, c)| t.linear && !c.linear && !doubted(c)).count();
        writeln!(
            text,
            "  {name:<30} {agree}/{} = {:.3}; true linear called rounded {to_rounded} (without a doubt on its shape {silent})",
            kept.len(),
            agree as f64 / kept.len().max(1) as f64
        )?;
    }
    Ok(())
}

fn coverage(text: &mut String, hits: &[(&Truth, &Call)]) -> std::fmt::Result {
    writeln!(text, "COVERAGE of U (k = 2), share within, of those with a claimed U")?;
    let bounded =
        |c: &Call| c.doubts.iter().any(|d| d.starts_with("cut-by") || *d == "touches-glare");
    for (tier, low, high) in TIERS {
        let kept: Vec<_> =
            hits.iter().filter(|(t, c)| t.peak >= low && t.peak < high && !bounded(c)).collect();
        if kept.is_empty() {
            continue;
        }
        let share = |within: &dyn Fn(&Truth, &Call) -> Option<bool>| {
            let all: Vec<bool> = kept.iter().filter_map(|(t, c)| within(t, c)).collect();
            let hits = all.iter().filter(|w| **w).count();
            format!("{hits}/{} = {:.3}", all.len(), hits as f64 / all.len().max(1) as f64)
        };
        let mean = |value: fn(&Call) -> Option<f64>| {
            let all: Vec<f64> = kept.iter().filter_map(|(_, c)| value(c)).collect();
            all.iter().sum::<f64>() / all.len().max(1) as f64
        };
        writeln!(
            text,
            "  {tier:<15} length on part {}, as seen {}, mean U {:.3} mm; width as seen {}, mean U {:.3} mm",
            share(&|t, c| c.length_u_mm.map(|u| (c.feret_mm - t.size_mm[0]).abs() <= u)),
            share(&|t, c| Some((c.feret_mm - t.seen_mm?[0]).abs() <= c.length_u_mm?)),
            mean(|c| c.length_u_mm),
            share(&|t, c| Some((c.width_mm - t.seen_mm?[1]).abs() <= c.width_u_mm?)),
            mean(|c| c.width_u_mm),
        )?;
    }
    Ok(())
}

/// Bias, median and tail of errors.
fn spread(errors: &[f64]) -> String {
    if errors.is_empty() {
        return "none".into();
    }
    let n = errors.len() as f64;
    let mean = errors.iter().sum::<f64>() / n;
    let mut sorted = errors.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mut size: Vec<f64> = errors.iter().map(|e| e.abs()).collect();
    size.sort_by(f64::total_cmp);
    format!(
        "n {:<4} bias {mean:+.3}  median {:+.3}  |e| median {:.3}  p95 {:.3}  worst {:.3}",
        errors.len(),
        quantile(&sorted, 0.5),
        quantile(&size, 0.5),
        quantile(&size, 0.95),
        quantile(&size, 1.0)
    )
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "0 <= share <= 1 of a small count"
)]
fn quantile(sorted: &[f64], share: f64) -> f64 {
    if sorted.is_empty() {
        return f64::NAN;
    }
    let at = share * (sorted.len() - 1) as f64;
    let (low, t) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + (sorted[high] - sorted[low]) * t
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_by_hand() {
        let v = [1.0, 2.0, 4.0, 8.0];
        assert!((quantile(&v, 0.5) - 3.0).abs() < 1.0e-12);
        assert!((quantile(&v, 1.0) - 8.0).abs() < 1.0e-12);
        assert!(quantile(&[], 0.5).is_nan());
    }
}
