//! The map from the picture to numbers along a row of ticks, fitted to where the ticks were seen.
//!
//! `number = (p . numerator) / (p . denominator)`, `p = (x, y, 1)`: what a straight, evenly divided edge
//! looks like through a lens without distortion. The denominator is the plane's horizon. A slight
//! barrel or cushion of the lens looks much like a tilt, so it is fitted with the rest, held by what
//! lenses usually do; the plane carries it, and what it leaves open widens the uncertainty.

use crate::scale::bend::Bend;
use crate::scale::ticks::comb::{Comb, FEWEST_TICKS, Law, Strip, whole};
use nalgebra::{SMatrix, SVector, Vector3};
use std::collections::BTreeMap;

/// Depths at which each tick is read.
const LEVELS: u32 = 6;
/// Radial terms of phone lenses as photos come out of them, standard deviation, and the most that is
/// believed. Common practice, no source: 0.05 is the most seen (from memory), most are corrected.
const BEND_SD: f64 = 0.015;
const MOST_BEND: f64 = 0.1;
/// Scatter of numbers before any is known, and the least that is believed.
const FIRST_SCATTER: f64 = 0.02;
const LEAST_SCATTER: f64 = 0.002;
/// Which of the fitted numbers move the plane: all but the other row's count.
const FREE: [usize; 6] = [0, 1, 2, 3, 4, 6];
/// Share of its standard uncertainty by which a number is varied to see what hangs on it.
const SHARE: f64 = 0.01;
/// Rounds of the fit. On painted rules the last changes nothing visible.
const ROUNDS: usize = 8;

/// A tick as read at one depth.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reading {
    /// Its number, in ticks of the row that the map counts.
    pub(super) number: f64,
    /// Its place, pixels of the grey picture.
    pub(super) at: [f64; 2],
    pub(super) edge: Edge,
}

/// Which row a reading comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Edge {
    /// The row the map counts.
    Own,
    /// Another row in the same plane: its numbers may be shifted by an unknown amount.
    Other,
}

/// The map from the grey picture to tick numbers.
#[derive(Clone, Debug)]
pub(super) struct Along {
    /// Numerator and denominator over normalised places.
    pub(super) numerator: Vector3<f64>,
    pub(super) denominator: Vector3<f64>,
    /// Places are `(p - centre) / spread` before they are mapped.
    pub(super) centre: [f64; 2],
    pub(super) spread: f64,
    /// Standard deviation of the numbers.
    pub(super) scatter: f64,
    /// Every reading used.
    pub(super) readings: Vec<Reading>,
    optics: Optics,
    /// Radial term of the lens, in units of the focal length of the optics.
    bend: f64,
    cofactor: SMatrix<f64, 7, 7>,
}

/// What is known of the lens, grey picture.
#[derive(Clone, Copy, Debug)]
pub(super) struct Optics {
    /// Middle of the photo.
    pub(super) middle: [f64; 2],
    /// Focal length.
    pub(super) focal: f64,
}

impl Optics {
    /// The lens with this radial term, in units of the focal length; places in pixels of the grey picture.
    fn bend(&self, term: f64) -> Bend {
        Bend { middle_px: self.middle, per_px2: term / self.focal.powi(2) }
    }
}

impl Along {
    /// From tick centres at several depths of the band all ticks cross.
    pub(super) fn fit(strip: &Strip<'_>, comb: &Comb, optics: Optics) -> Option<Self> {
        let [low, high] = comb.band;
        let mut kept: Vec<Reading> = Vec::new();
        for level in 0..LEVELS {
            let v = low as f64 + (high - low) as f64 * f64::from(level) / f64::from(LEVELS - 1);
            for (number, t) in &comb.ticks {
                if let Some(t) = centre_of_tick(strip, &comb.law, *t, v) {
                    let at = strip.place(t, v);
                    kept.push(Reading { number: *number as f64, at, edge: Edge::Own });
                }
            }
        }
        Self::through_most(kept, optics)
    }

    /// Again from what each tick crosses, first and last row of the strip for each of the comb's ticks:
    /// long ticks tell the perspective across the row much better than the band that all of them cross.
    pub(super) fn along_whole_ticks(
        &self,
        strip: &Strip<'_>,
        comb: &Comb,
        crossed: &[[f64; 2]],
    ) -> Option<Self> {
        let mut read: Vec<Reading> = Vec::new();
        for ((number, t), [low, high]) in comb.ticks.iter().zip(crossed) {
            for level in 0..LEVELS {
                let v = low + (high - low) * f64::from(level) / f64::from(LEVELS - 1);
                let n = *number as f64;
                if let Some(t) = centre_of_tick(strip, &comb.law, self.place(strip, n, *t, v), v) {
                    read.push(Reading { number: n, at: strip.place(t, v), edge: Edge::Own });
                }
            }
        }
        Self::through_most(read, self.optics)
    }

    /// The map through most readings.
    fn through_most(mut kept: Vec<Reading>, optics: Optics) -> Option<Self> {
        let n = kept.len() as f64;
        let centre = [0, 1].map(|k| kept.iter().map(|r| r.at[k]).sum::<f64>() / n);
        let far = |r: &Reading| (r.at[0] - centre[0]).hypot(r.at[1] - centre[1]);
        let spread = kept.iter().map(far).fold(1.0, f64::max);
        for _ in 0..6 {
            if kept.len() < 2 * FEWEST_TICKS {
                return None;
            }
            let map = Self::solve(&kept, centre, spread, optics)?;
            let off = |r: &Reading| (map.number(r.at) - r.number).abs();
            let mut all: Vec<f64> = kept.iter().map(off).collect();
            all.sort_by(f64::total_cmp);
            // Three and a half standard deviations by the median.
            let limit = (3.5 * 1.4826 * all[all.len() / 2]).max(1e-6);
            let before = kept.len();
            let fine: Vec<_> = kept.iter().filter(|r| off(r) <= limit).copied().collect();
            if fine.len() == before {
                return Some(map);
            }
            kept = fine;
        }
        Self::solve(&kept, centre, spread, optics)
    }

    /// With the readings of another row of the same plane: across the rule they tell the perspective
    /// much better than the short ticks of one row. How the two rows count against each other stays open.
    pub(super) fn joined(&self, others: &[Reading]) -> Option<Self> {
        let readings: Vec<Reading> = self.readings.iter().chain(others).copied().collect();
        Self::solve(&readings, self.centre, self.spread, self.optics)
    }

    fn solve(readings: &[Reading], centre: [f64; 2], spread: f64, optics: Optics) -> Option<Self> {
        let alone = readings.iter().all(|r| r.edge == Edge::Own);
        let mut map = Self {
            numerator: Vector3::zeros(),
            denominator: Vector3::new(0.0, 0.0, 1.0),
            centre,
            spread,
            optics,
            bend: 0.0,
            scatter: FIRST_SCATTER,
            readings: readings.to_vec(),
            cofactor: SMatrix::zeros(),
        };
        let mut shift = 0.0;
        // Each equation is divided by its denominator of the round before, so that numbers count alike.
        for round in 0..ROUNDS {
            let mut normal = SMatrix::<f64, 7, 7>::zeros();
            let mut right = SVector::<f64, 7>::zeros();
            for reading in readings {
                let p = map.normal_place(reading.at);
                let w = map.denominator.dot(&p);
                if w.abs() < 1e-3 {
                    return None;
                }
                let other = f64::from(u8::from(reading.edge == Edge::Other));
                let n = reading.number + other * shift;
                // How a stronger bend moves the place, and with it the number.
                let unit = spread * optics.focal.powi(2);
                let moved = optics.bend(map.bend).pull(reading.at).map(|v| v / unit);
                let pull = map.numerator - map.denominator * n;
                let by_bend =
                    if round == 0 { 0.0 } else { pull[0] * moved[0] + pull[1] * moved[1] };
                let row = SVector::<f64, 7>::from([
                    p[0],
                    p[1],
                    1.0,
                    -n * p[0],
                    -n * p[1],
                    -other * w,
                    by_bend,
                ]) / w;
                normal += row * row.transpose();
                right += row * ((n - other * shift * w) / w);
            }
            // Readings of one tick at several depths err together.
            let weight = f64::from(LEVELS) * map.scatter.max(LEAST_SCATTER).powi(2);
            normal[(6, 6)] += weight / BEND_SD.powi(2);
            right[6] -= weight / BEND_SD.powi(2) * map.bend;
            if alone {
                normal[(5, 5)] = 1.0;
            }
            let cofactor = normal.try_inverse()?;
            let s = cofactor * right;
            shift = s[5];
            map.numerator = Vector3::new(s[0], s[1], s[2]);
            map.denominator = Vector3::new(s[3], s[4], 1.0);
            map.bend = (map.bend + s[6]).clamp(-MOST_BEND, MOST_BEND);
            map.cofactor = cofactor;
            let off = |r: &Reading| {
                let other = f64::from(u8::from(r.edge == Edge::Other));
                map.number(r.at) - r.number - other * shift
            };
            let square: f64 = readings.iter().map(|r| off(r).powi(2)).sum();
            map.scatter = (square / (readings.len() as f64 - 7.0).max(1.0)).sqrt();
        }
        map.scatter.is_finite().then_some(map)
    }

    /// Standard deviation of what neighbouring ticks have in common of their distance from the map, ticks:
    /// noise has nothing in common, a row counted wrong has most.
    pub(super) fn in_common(&self) -> f64 {
        let mut ticks: BTreeMap<i64, (f64, f64)> = BTreeMap::new();
        for r in self.readings.iter().filter(|r| r.edge == Edge::Own) {
            let (n, sum) = ticks.entry(whole(r.number)).or_default();
            *n += 1.0;
            *sum += self.number(r.at) - r.number;
        }
        let off: Vec<f64> = ticks.values().map(|(n, sum)| sum / n).collect();
        let products: f64 = off.windows(2).map(|pair| pair[0] * pair[1]).sum();
        (products / off.len().max(2) as f64).max(0.0).sqrt()
    }

    /// The place as a lens that bends nothing would show it, normalised.
    fn normal_place(&self, at: [f64; 2]) -> Vector3<f64> {
        let straight = self.optics.bend(self.bend).straight(at);
        let [x, y] = [0, 1].map(|k| (straight[k] - self.centre[k]) / self.spread);
        Vector3::new(x, y, 1.0)
    }

    pub(super) fn number(&self, at: [f64; 2]) -> f64 {
        let p = self.normal_place(at);
        self.numerator.dot(&p) / self.denominator.dot(&p)
    }

    /// Numbers a pixel at a place, in the steepest direction.
    pub(super) fn steepness(&self, at: [f64; 2]) -> f64 {
        let here = self.number(at);
        let step = |d: [f64; 2]| self.number([at[0] + d[0], at[1] + d[1]]) - here;
        step([1.0, 0.0]).hypot(step([0.0, 1.0]))
    }

    /// Where along the strip tick `number` crosses row `v`, near the place `t`.
    pub(super) fn place(&self, strip: &Strip<'_>, number: f64, t: f64, v: f64) -> f64 {
        let mut t = t;
        for _ in 0..2 {
            let here = self.number(strip.place(t, v));
            let slope = self.number(strip.place(t + 1.0, v)) - here;
            let step = (number - here) / slope;
            if !step.is_finite() {
                break;
            }
            t += step.clamp(-100.0, 100.0);
        }
        t
    }

    /// What the lens bends, in a photo that shows so many pixels for one of the grey picture.
    pub(super) fn lens(&self, block: f64) -> Bend {
        let grey = self.optics.bend(self.bend);
        Bend {
            middle_px: grey.middle_px.map(|v| v * block),
            per_px2: grey.per_px2 / (block * block),
        }
    }

    /// The map with each free number in turn larger by a small share of its standard uncertainty.
    fn varied(&self) -> [Self; FREE.len()] {
        FREE.map(|k| {
            let step = SHARE * self.cofactor[(k, k)].max(0.0).sqrt() * self.unit_u();
            let mut map = self.clone();
            match k {
                0..=2 => map.numerator[k] += step,
                6 => map.bend += step,
                _ => map.denominator[k - 3] += step,
            }
            map
        })
    }

    /// Standard uncertainty for a cofactor of one. Readings of one tick at several depths err together.
    fn unit_u(&self) -> f64 {
        self.scatter.max(LEAST_SCATTER) * f64::from(LEVELS).sqrt()
    }

    /// Standard uncertainty, from the scatter of the readings, of each of what `told` tells of a map.
    pub(super) fn u_of(&self, told: impl Fn(&Self) -> Option<Vec<f64>>) -> Option<Vec<f64>> {
        let here = told(self)?;
        let varied: Option<Vec<Vec<f64>>> = self.varied().iter().map(told).collect();
        let varied = varied?;
        let c = &self.cofactor;
        let u = |i: usize| {
            // Slopes by each number in units of its own uncertainty; then the correlations.
            let slopes: Vec<f64> = varied.iter().map(|v| (v[i] - here[i]) / SHARE).collect();
            let mut variance = 0.0;
            for (j, a) in FREE.into_iter().zip(&slopes) {
                for (k, b) in FREE.into_iter().zip(&slopes) {
                    variance += a * b * c[(j, k)] / (c[(j, j)] * c[(k, k)]).sqrt();
                }
            }
            variance.max(0.0).sqrt()
        };
        Some((0..here.len()).map(u).collect())
    }
}

/// Centre of the dark around a tick in one row of the strip; none if there is no clear dark.
fn centre_of_tick(strip: &Strip<'_>, law: &Law, t: f64, v: f64) -> Option<f64> {
    let half = 0.42 * law.spacing(t).abs();
    // Two rounds: the window is centred on the tick before the final reading.
    let mut at = t;
    for _ in 0..2 {
        let light = strip.level(at - half, v)?.min(strip.level(at + half, v)?);
        let (mut weight, mut sum) = (0.0, 0.0);
        let steps = 2 * whole(2.0 * half).max(3);
        for i in 0..=steps {
            let d = -half + 2.0 * half * i as f64 / steps as f64;
            let dark = (light - strip.level(at + d, v)?).max(0.0);
            weight += dark;
            sum += dark * d;
        }
        if weight < 2.0 * steps as f64 / 4.0 {
            return None;
        }
        at += sum / weight;
    }
    ((at - t).abs() < half).then_some(at)
}
