//! What stands between the ticks of a row, depth by depth.
//!
//! Where halves are halved again, the deep part of a fine row shows only its longer ticks, and is found
//! as a coarser row first. Half-way between its ticks the finer ones end, so the depths at which
//! something dark stands there belong to a finer row, the others to this one alone.

use crate::scale::ticks::along::Along;
use crate::scale::ticks::comb::{Comb, Strip};

/// Rows looked at, of the strip: one in so many.
const STEP: usize = 2;
/// Ticks looked at, about.
const TICKS: usize = 48;
/// What stands half-way is a tick if it is this share as dark as the row's own ticks there, and nothing
/// below the second share. Chosen: ticks of one rule are inked alike, blur evens them out a little.
const FINER: f64 = 0.5;
const NOTHING: f64 = 0.25;
/// Least darkness of a tick, levels.
const LEAST_DARK: f64 = 2.0;
/// Fewest rows of the strip that make a layer.
const FEWEST_ROWS: i64 = 4;

/// Depths of a strip, first and last row.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Layers {
    /// Crossed by the row's own ticks and nothing between them.
    pub(super) own: Option<[i64; 2]>,
    /// Crossed by as many ticks between them.
    pub(super) finer: Option<[i64; 2]>,
}

impl Layers {
    pub(super) fn of(strip: &Strip<'_>, comb: &Comb, map: &Along) -> Self {
        let each = comb.ticks.len().div_ceil(TICKS).max(1);
        let level = |n: f64, v: f64| strip.level(map.place(strip, n, comb.law.place(n), v), v);
        let depths: Vec<(i64, [f64; 2])> = (-strip.reach..=strip.reach)
            .step_by(STEP)
            .map(|row| {
                let v = row as f64;
                let dark = |shift: f64| {
                    let found = comb.ticks.iter().step_by(each).filter_map(|(number, _)| {
                        let n = *number as f64 + shift;
                        let beside = f64::midpoint(level(n - 0.25, v)?, level(n + 0.25, v)?);
                        Some(beside - level(n, v)?)
                    });
                    median(found.collect())
                };
                (row, [dark(0.0), dark(0.5)])
            })
            .collect();
        let usual = depths.iter().map(|d| d.1[0]).fold(0.0, f64::max);
        let inked = |own: f64| own >= LEAST_DARK.max(0.5 * usual);
        Self {
            own: longest(&depths, |[own, half]| inked(own) && half < NOTHING * own),
            finer: longest(&depths, |[own, half]| own >= LEAST_DARK && half >= FINER * own),
        }
    }
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// The longest run of depths that are so, without its rims.
fn longest(depths: &[(i64, [f64; 2])], is_so: impl Fn([f64; 2]) -> bool) -> Option<[i64; 2]> {
    let runs = depths.chunk_by(|a, b| is_so(a.1) == is_so(b.1));
    let run = runs.filter(|run| is_so(run[0].1)).max_by_key(|run| run.len())?;
    let (low, high) = (run[0].0 + 1, run[run.len() - 1].0 - 1);
    (high - low >= FEWEST_ROWS).then_some([low, high])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_run_is_kept_without_its_rims() {
        let depths: Vec<(i64, [f64; 2])> = (0..20)
            .map(|i| (2 * i, if (3..12).contains(&i) || i == 15 { [9.0, 8.0] } else { [9.0, 0.0] }))
            .collect();
        assert_eq!(longest(&depths, |[own, half]| half > 0.5 * own), Some([7, 21]));
        assert_eq!(longest(&depths, |[own, _]| own > 10.0), None);
        assert_eq!(longest(&depths[..5], |[_, half]| half > 1.0), None);
    }
}
