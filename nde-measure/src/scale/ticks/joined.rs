//! Rows held against each other: those of one rule share one map, those nearby must agree.

use crate::scale::spec::TickPitch;
use crate::scale::ticks::along::{Along, Edge, Reading};
use crate::scale::ticks::hierarchy::Graduated;
use crate::scale::ticks::numbered::Numbered;

/// Most that two rows may differ half-way between them. Chosen: each is carried on by some 10 mm
/// across; a wrong graduation would be off by a quarter at least.
const MOST_DIFFERENCE: f64 = 0.03;
/// Most that the ticks of two rows of one rule may seem turned against each other, radians. Chosen: rows
/// of one rule agree to 0.01 when carried across it; two rules laid side by side by hand seldom do.
const MOST_TURNED: f64 = 0.015;
/// Rows farther apart than this are not on one rule, and not held against each other, mm.
/// Chosen: rules are 13 to 35 mm wide.
pub(super) const WIDEST_RULE_MM: f64 = 40.0;

/// A row, and the graduation it is taken for.
pub(super) type Taken<'a> = (&'a Numbered<'a>, Graduated);

/// Millimetres a pixel half-way between two rows, by each; none where they are too far apart across to
/// tell: two ends of one row are its own affair.
fn between(a: Taken<'_>, b: Taken<'_>) -> Option<[f64; 2]> {
    let middle = |row: &Numbered<'_>| row.strip.place(row.middle(), 0.0);
    let (here, there) = (middle(a.0), middle(b.0));
    let at = [0, 1].map(|k| f64::midpoint(here[k], there[k]));
    let [first, second] = [a, b].map(|(row, taken)| row.map.steepness(at) * taken.pitch.mm());
    let [mx, my] = a.0.strip.mark;
    let apart = ((here[0] - there[0]) * mx + (here[1] - there[1]) * my).abs() * first;
    (apart < WIDEST_RULE_MM).then_some([first, second])
}

/// A row that tells its graduation must give the same scale as the chosen one where they meet.
pub(super) fn agree(a: Taken<'_>, b: Taken<'_>) -> Result<(), String> {
    match between(a, b) {
        Some([first, second]) if (first / second - 1.0).abs() > MOST_DIFFERENCE => Err(format!(
            "two rows of ticks disagree, {first:.5} and {second:.5} mm a pixel between them"
        )),
        _ => Ok(()),
    }
}

/// Whether a row in the other unit gives the same scale. Misread graduations are off by halves, and the
/// units differ by no power of two: millimetres and inches that agree are both right.
pub(super) fn vouches(a: Taken<'_>, b: Taken<'_>) -> bool {
    let metric = |taken: Taken<'_>| {
        matches!(taken.1.pitch, TickPitch::Millimetre | TickPitch::HalfMillimetre)
    };
    let alike = |[first, second]: [f64; 2]| (first / second - 1.0).abs() <= MOST_DIFFERENCE;
    metric(a) != metric(b) && between(a, b).is_some_and(alike)
}

/// Whether the ticks of two rows run alike: on one rule, both maps have the same lines of one number,
/// as far as they can be carried across.
fn parallel(row: &Numbered<'_>, other: &Numbered<'_>) -> bool {
    let at = other.strip.place(other.middle(), 0.0);
    let steepest = |map: &Along| {
        let here = map.number(at);
        let step = |d: [f64; 2]| map.number([at[0] + d[0], at[1] + d[1]]) - here;
        let (x, y) = (step([1.0, 0.0]), step([0.0, 1.0]));
        [x / x.hypot(y), y / x.hypot(y)]
    };
    let (a, b) = (steepest(&row.map), steepest(&other.map));
    (a[0] * b[1] - a[1] * b[0]).abs() < MOST_TURNED
}

/// The best row's map, with the ticks of the row farthest across on the same rule added. Also which
/// rows lie on that rule, the best one first.
pub(super) fn with_the_other_edge(
    numbered: &[Numbered<'_>],
    best: usize,
    graduated: Graduated,
) -> (Along, Vec<usize>, f64) {
    let row = &numbered[best];
    let pitch_mm = graduated.pitch.mm();
    let mut on_the_rule = vec![best];
    let mut farthest: Option<(f64, Along)> = None;
    for (i, other) in numbered.iter().enumerate() {
        let Some(there) = other.graduated.filter(|_| i != best && other.is_level()) else {
            continue;
        };
        let ends = [0, other.comb.ticks.len() - 1].map(|k| {
            let (number, t) = other.comb.ticks[k];
            (number as f64, row.map.number(other.strip.place(t, 0.0)))
        });
        let step = (ends[1].1 - ends[0].1) / (ends[1].0 - ends[0].0);
        // On the same rule: a second one may lie beside it, not quite level with it.
        let [mx, my] = row.strip.mark;
        let d = other.strip.place(other.middle(), 0.0);
        let o = row.strip.place(row.middle(), 0.0);
        let across_mm =
            ((d[0] - o[0]) * mx + (d[1] - o[1]) * my).abs() * row.map.steepness(o) * pitch_mm;
        if across_mm >= WIDEST_RULE_MM || !parallel(row, other) {
            continue;
        }
        // It counts in its own unit, in either direction.
        let true_step = there.pitch.mm() / pitch_mm * step.signum();
        if (step / true_step - 1.0).abs() > 0.05 {
            continue;
        }
        let readings: Vec<Reading> = other
            .map
            .readings
            .iter()
            .map(|r| Reading { number: r.number * true_step, at: r.at, edge: Edge::Other })
            .collect();
        let Some(joined) = row.map.joined(&readings) else { continue };
        if joined.scatter > 2.0 * row.map.scatter.max(0.005) {
            continue;
        }
        on_the_rule.push(i);
        if farthest.as_ref().is_none_or(|(far, _)| across_mm > *far) {
            farthest = Some((across_mm, joined));
        }
    }
    let (across_mm, map) = farthest.unwrap_or_else(|| (0.0, row.map.clone()));
    (map, on_the_rule, across_mm)
}
