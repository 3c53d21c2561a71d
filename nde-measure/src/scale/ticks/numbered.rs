//! One row of ticks: numbered, mapped, its graduation told.

use crate::scale::grey::Grey;
use crate::scale::spec::TickPitch;
use crate::scale::ticks::along::{Along, Optics};
use crate::scale::ticks::comb::{self, Comb, Reach, Strip};
use crate::scale::ticks::hierarchy::{Graduated, recognise};
use crate::scale::ticks::lengths::{TickLength, tick_lengths};
use crate::scale::ticks::rows::Row;

/// Most scatter of tick places along the rule, mm, standard deviation. Source: simulated rules read
/// to 0.01 mm; three times that is a misreading.
const MOST_SCATTER_MM: f64 = 0.03;

/// Scatter of the numbers that no row is blamed for, ticks. On painted rules sharp rows scatter by 0.002 to 0.02.
const SOUND_SCATTER: f64 = 0.01;

/// A row of ticks, numbered, with its map.
pub(super) struct Numbered<'a> {
    pub(super) strip: Strip<'a>,
    pub(super) comb: Comb,
    pub(super) map: Along,
    /// What the lengths of its ticks tell, if they tell it clearly.
    pub(super) graduated: Option<Graduated>,
    lengths: [Vec<TickLength>; 2],
}

impl<'a> Numbered<'a> {
    /// Numbers the ticks of a row; how many there are if there are too few.
    pub(super) fn read(grey: &'a Grey, row: &Row, optics: Optics) -> Result<Self, usize> {
        let near = Self::read_within(grey, row, optics, Reach::Blocks);
        let far = Self::read_within(grey, row, optics, Reach::Photo);
        match (near, far) {
            (Ok(near), Ok(far)) => {
                // Farther on more ticks may be seen, or a bench that looks like some.
                let better = (far.graduated.is_some(), far.comb.ticks.len())
                    > (near.graduated.is_some(), near.comb.ticks.len());
                let sound = far.map.scatter <= 1.5 * near.map.scatter.max(SOUND_SCATTER);
                Ok(if better && sound { far } else { near })
            }
            (near, far) => far.or(near),
        }
    }

    fn read_within(grey: &'a Grey, row: &Row, optics: Optics, reach: Reach) -> Result<Self, usize> {
        let first = Self::read_once(grey, row, optics, reach)?;
        // Once more along the edge that the ticks themselves show.
        let again =
            first.straightened(row).and_then(|row| Self::read_once(grey, &row, optics, reach).ok());
        Ok(match again {
            Some(again) if again.comb.ticks.len() * 10 >= first.comb.ticks.len() * 9 => again,
            _ => first,
        })
    }

    fn read_once(grey: &'a Grey, row: &Row, optics: Optics, reach: Reach) -> Result<Self, usize> {
        let strip = Strip::of(grey, row, reach);
        let comb = comb::read(&strip, row.period)?;
        let map = Along::fit(&strip, &comb, optics).ok_or(comb.ticks.len())?;
        let lengths = tick_lengths(&strip, &comb, &map);
        let graduated = lengths.iter().find_map(|side| recognise(side));
        Ok(Self { strip, comb, map, graduated, lengths })
    }

    /// The row turned so that the ticks' even ends (at the rule's edge) lie level.
    fn straightened(&self, row: &Row) -> Option<Row> {
        let [low, high] = self.comb.band;
        let line = |side: usize| {
            let sign = [1.0, -1.0][side];
            let from = [high, low][side] as f64;
            let ends: Vec<(f64, f64)> = self.lengths[side]
                .iter()
                .map(|l| (self.comb.law.place(l.number as f64), from + sign * l.length))
                .collect();
            median_line(&ends)
        };
        let (high_side, low_side) = (line(0)?, line(1)?);
        let edge = if high_side.scatter < low_side.scatter { high_side } else { low_side };
        if edge.slope.abs() > 0.1 {
            return None;
        }
        let along = [0, 1].map(|k| row.along[k] + edge.slope * row.mark[k]);
        let length = along[0].hypot(along[1]);
        // The middle of the band at the row's own place goes to row 0.
        let shift = (low + high) as f64 / 2.0;
        Some(Row {
            at: [0, 1].map(|k| row.at[k] + shift * row.mark[k]),
            along: along.map(|v| v / length),
            ..*row
        })
    }

    /// Length beyond the band of the longest kind of tick, to one side, pixels.
    fn longest(&self, side: usize) -> f64 {
        let mut all: Vec<f64> = self.lengths[side].iter().map(|l| l.length).collect();
        all.sort_by(f64::total_cmp);
        // The longest kind is a tenth to a sixty-fourth of the ticks.
        all.get(all.len() * 98 / 100).copied().unwrap_or(0.0)
    }

    /// Corners of the strip that the ticks fill, grey picture.
    pub(super) fn outline(&self) -> [[f64; 2]; 4] {
        let [low, high] = self.comb.band;
        let (top, bottom) = (low as f64 - self.longest(1), high as f64 + self.longest(0));
        let ticks = &self.comb.ticks;
        let (first, last) = (ticks[0].1, ticks[ticks.len() - 1].1);
        [(first, top), (last, top), (last, bottom), (first, bottom)]
            .map(|(t, v)| self.strip.place(t, v))
    }

    /// The two ends of a usual longest tick near the middle of the row, grey picture: the median, for
    /// some run into a numeral.
    pub(super) fn longest_tick(&self, graduated: Graduated) -> [[f64; 2]; 2] {
        let every = Graduated::longest_every(graduated.pitch);
        let usual = |side: usize| {
            let longest = |l: &&TickLength| (l.number - graduated.zero).rem_euclid(every) == 0;
            let mut all: Vec<f64> =
                self.lengths[side].iter().filter(longest).map(|l| l.length).collect();
            all.sort_by(f64::total_cmp);
            all.get(all.len() / 2).copied().unwrap_or(0.0)
        };
        let [low, high] = self.comb.band;
        let t = self.middle();
        [low as f64 - usual(1), high as f64 + usual(0)].map(|v| self.strip.place(t, v))
    }

    /// Place of the middle tick along the strip.
    pub(super) fn middle(&self) -> f64 {
        self.comb.ticks[self.comb.ticks.len() / 2].1
    }

    /// What confirms or contradicts the stated graduation.
    /// One grey pixel stands for so many of the photo (`block`).
    pub(super) fn confirm(&self, stated: TickPitch, block: f64) -> Result<Graduated, String> {
        let spacing_px = self.comb.law.spacing(self.middle()).abs() * block;
        let Some(found) = self.graduated else {
            return Err(format!(
                "no pattern of longer ticks every {}th confirms {}",
                Graduated::longest_every(stated),
                stated.word()
            ));
        };
        let graduated = found.confirms(stated, spacing_px)?;
        let scatter_mm = self.map.scatter * graduated.pitch.mm();
        if scatter_mm > MOST_SCATTER_MM {
            return Err(format!("they scatter by {scatter_mm:.3} mm along it"));
        }
        Ok(graduated)
    }
}

/// A straight line by medians: through the medians of the first and last third.
struct MedianLine {
    slope: f64,
    /// Median distance from the line.
    scatter: f64,
}

fn median_line(points: &[(f64, f64)]) -> Option<MedianLine> {
    let third = points.len() / 3;
    if third < 3 {
        return None;
    }
    let median = |values: &mut Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    };
    let middle = |part: &[(f64, f64)]| {
        let x = median(&mut part.iter().map(|p| p.0).collect());
        (x, median(&mut part.iter().map(|p| p.1).collect()))
    };
    let (a, b) = (middle(&points[..third]), middle(&points[points.len() - third..]));
    let slope = (b.1 - a.1) / (b.0 - a.0);
    // Mean distance: long ticks among the ends make a side uneven, so the mean, not the median.
    let off = points.iter().map(|p| (p.1 - a.1 - slope * (p.0 - a.0)).abs().min(12.0)).sum::<f64>();
    slope.is_finite().then(|| MedianLine { slope, scatter: off / points.len() as f64 })
}
