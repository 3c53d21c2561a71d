//! How long each tick of a row is.

use crate::scale::ticks::along::Along;
use crate::scale::ticks::comb::{Comb, Strip};

/// A tick goes on while its darkness is this share of what it is where all ticks cross.
const LEAST_DARK: f64 = 0.4;
/// Pixels without it that end a tick.
const GAP_PX: u32 = 4;

/// Length of one tick beyond the band that all ticks cross, any unit, by its number along the row.
#[derive(Clone, Copy, Debug)]
pub(super) struct TickLength {
    pub(super) number: i64,
    pub(super) length: f64,
}

/// The ticks to one side of the band that all of them cross.
#[derive(Clone, Debug, Default)]
pub(super) struct Side {
    /// Lengths beyond the band, pixels as at the middle tick; below zero if a tick ends within it.
    pub(super) lengths: Vec<TickLength>,
    /// Where each ends in the strip.
    pub(super) ends: Vec<(f64, f64)>,
}

/// The ticks beyond the band, to its two sides.
pub(super) fn tick_lengths(strip: &Strip<'_>, comb: &Comb, map: &Along) -> [Side; 2] {
    let contrast = |number: i64, v: f64| {
        let n = number as f64;
        let level = |n: f64| {
            let t = map.place(strip, n, comb.law.place(n), v);
            // A mean over a sixth of a tick to each side.
            let s = comb.law.spacing(t).abs() / 6.0;
            Some((strip.level(t - s, v)? + strip.level(t, v)? + strip.level(t + s, v)?) / 3.0)
        };
        // The lighter side counts: on the other a numeral may stand.
        Some(level(n - 0.5)?.max(level(n + 0.5)?) - level(n)?)
    };
    let [low, high] = comb.band;
    let mut sides = [Side::default(), Side::default()];
    let usual_spacing = comb.law.spacing(comb.ticks[comb.ticks.len() / 2].1).abs();
    for (number, _) in &comb.ticks {
        let in_band: Vec<f64> = (low..=high).filter_map(|v| contrast(*number, v as f64)).collect();
        let usual = in_band.iter().sum::<f64>() / in_band.len().max(1) as f64;
        if usual < 1.0 {
            continue;
        }
        for (side, (from, direction)) in [(high, 1), (low, -1)].into_iter().enumerate() {
            let dark = |v: i64| contrast(*number, v as f64).map(|c| c >= LEAST_DARK * usual);
            // Laid out askew, a strip's band may reach beyond the end of a tick.
            let mut end = from;
            while end != (low + high) / 2 && dark(end) != Some(true) {
                end -= direction;
            }
            let (mut v, mut weak) = (from, 0);
            while end * direction >= from * direction && v.abs() < strip.reach && weak < GAP_PX {
                v += direction;
                match dark(v) {
                    Some(true) => (end, weak) = (v, 0),
                    Some(false) => weak += 1,
                    None => break,
                }
            }
            let length = ((end - from) * direction) as f64;
            // Between the last dark pixel and the next, where the darkness falls below its share.
            let least = LEAST_DARK * usual;
            let part = match [end, end + direction].map(|v| contrast(*number, v as f64)) {
                [Some(last), Some(next)] if last >= least && next < least => {
                    (last - least) / (last - next)
                }
                _ => 0.0,
            };
            let (n, end) = (*number as f64, end as f64 + direction as f64 * part);
            sides[side].ends.push((map.place(strip, n, comb.law.place(n), end), end));
            // Seen along the row at a slant, ticks shrink as the square root of their spacing.
            let here = comb.law.spacing(comb.law.place(*number as f64)).abs();
            let length = length * (usual_spacing / here).sqrt();
            sides[side].lengths.push(TickLength { number: *number, length });
        }
    }
    sides
}
