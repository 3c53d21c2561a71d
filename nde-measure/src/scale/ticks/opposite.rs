//! The row on the rule's other edge, looked for where one row says that it must be.
//!
//! Short ticks in one line tell the perspective along the rule well, across it only by how they
//! converge; with a row on the other edge it is told many times better. Such a row is often too short of
//! ticks to be found by itself (on the half-millimetre edge only the millimetres may be left). By the
//! row that was read the plane is known in millimetres, so all that is asked is where across marks of the
//! same distance stand in phase from piece to piece. What is found there counts only if the two rows
//! fit one map ([`crate::scale::ticks::joined`]).

use crate::scale::grey::Grey;
use crate::scale::ticks::along::Optics;
use crate::scale::ticks::beside::{LEAST_AGREEING, swing};
use crate::scale::ticks::comb::whole;
use crate::scale::ticks::hierarchy::Graduated;
use crate::scale::ticks::joined::WIDEST_RULE_MM;
use crate::scale::ticks::numbered::Numbered;
use crate::scale::ticks::rows::Row;
use crate::scale::ticks::ruled::Ruled;

/// Nearer than this a row tells next to nothing more of the perspective across, mm. Chosen: beyond the
/// short and the middle ticks of the row itself.
pub(super) const NEAREST_MM: f64 = 5.0;
/// Step across, mm: the free part of the millimetres above the halves is about 1 mm deep.
const STEP_MM: f64 = 0.25;
/// Fewest steps in a row that make a depth to read at.
const FEWEST_STEPS: usize = 3;

/// The row across, numbered by its own ticks; none if none is seen.
pub(super) fn find<'a>(
    grey: &'a Grey,
    alone: &Ruled,
    graduated: Graduated,
    optics: Optics,
) -> Option<Numbered<'a>> {
    let [a, b] = alone.ends_mm;
    let (low, high) = (a[0].min(b[0]), a[0].max(b[0]));
    let own = f64::midpoint(a[1], b[1]);
    let steps = whole(WIDEST_RULE_MM / STEP_MM);
    let depths: Vec<(f64, f64)> = (-steps..=steps)
        .map(|step| step as f64 * STEP_MM)
        .map(|across| {
            let far = across.abs() >= NEAREST_MM;
            let at = |y| swing(grey, &alone.plane, [low, high], y, graduated.pitch.mm());
            (own + across, if far { at(own + across).unwrap_or(0.0) } else { 0.0 })
        })
        .collect();
    let clear = |depth: &(f64, f64)| depth.1 >= LEAST_AGREEING;
    let runs = depths.chunk_by(|a, b| clear(a) == clear(b));
    let sum = |run: &[(f64, f64)]| run.iter().map(|d| d.1).sum::<f64>();
    let run = runs
        .filter(|run| run.len() >= FEWEST_STEPS && clear(&run[0]))
        .max_by(|a, b| sum(a).total_cmp(&sum(b)))?;
    let (top, bottom) = (run[0].0, run[run.len() - 1].0);
    let y = f64::midpoint(top, bottom);
    let place = |x: f64, y: f64| alone.plane.to_photo([x, y]).map(|v| v / grey.block as f64);
    let x = f64::midpoint(low, high);
    let between = |from: [f64; 2], to: [f64; 2]| {
        let d = [0, 1].map(|k| to[k] - from[k]);
        let length = d[0].hypot(d[1]);
        (d.map(|v| v / length), length)
    };
    let (along, length) = between(place(low, y), place(high, y));
    let (mark, depth) = between(place(x, top), place(x, bottom));
    let (_, period) = between(place(x, y), place(x + graduated.pitch.mm(), y));
    let row = Row {
        at: place(x, y),
        along,
        mark,
        period,
        extent: [-length / 2.0, length / 2.0],
        blocks: run.len(),
    };
    let half = whole(depth / 2.0).max(1);
    Numbered::laid_out(grey, &row, [-half, half], optics, graduated)
}
