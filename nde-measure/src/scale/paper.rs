//! White paper in the photo: the middle of the card's margin.

use super::card::{BURNT_OUT, Found};
use super::grey::green_at;
use crate::{Photo, PointPx};

/// Places on the middle of a card's white margin that look like uncovered paper.
pub(crate) struct Paper {
    /// In the light of most of the card.
    pub(crate) white_px: Vec<PointPx>,
    /// In any light, but not burnt out: the shadow that lies over a part lies over the card as well.
    pub(crate) any_light_px: Vec<PointPx>,
}

/// Samples for each square of the card.
const PER_SQUARE: f64 = 3.0;
/// Paper is at least so bright against other paper in the same light. Chosen: a light gradient over the card
/// is allowed for.
const LEAST_SHARE: f64 = 0.75;
/// Samples on either side within which the light counts as the same: a square.
const SAME_LIGHT: usize = 3;

impl Paper {
    pub(crate) fn of(photo: &Photo, found: &Found) -> Self {
        let board = found.design.board();
        let out = found.design.margin_mm() / 2.0;
        let ring = board.grown(out).corners();
        // Level of green, 0 to 255, and the place; around the card.
        let mut samples: Vec<(f64, PointPx)> = Vec::new();
        for (i, from) in ring.iter().enumerate() {
            let to = ring[(i + 1) % 4];
            let length = (to[0] - from[0]).hypot(to[1] - from[1]);
            let count = (PER_SQUARE * length / found.design.square_mm()).ceil();
            let mut k = 0.0;
            while k < count {
                let t = k / count;
                let at = found.to_photo([0, 1].map(|j| from[j] + t * (to[j] - from[j])));
                if let Some(level) = green_at(photo, at) {
                    samples.push((level, at));
                }
                k += 1.0;
            }
        }
        Self { white_px: white(&samples), any_light_px: in_any_light(&samples) }
    }
}

fn white(samples: &[(f64, PointPx)]) -> Vec<PointPx> {
    let mut levels: Vec<f64> = samples.iter().map(|s| s.0).collect();
    levels.sort_by(f64::total_cmp);
    // Burnt-out paper is no white to go by, unless all of it is burnt out: then white is at least that bright.
    let Some(usual) = levels.get(levels.len() * 2 / 3).copied() else { return Vec::new() };
    let most = if usual < BURNT_OUT { (1.25 * usual).min(BURNT_OUT) } else { 256.0 };
    let is_white = |level: f64| level > LEAST_SHARE * usual && level < most;
    samples.iter().filter(|s| is_white(s.0)).map(|s| s.1).collect()
}

fn in_any_light(samples: &[(f64, PointPx)]) -> Vec<PointPx> {
    let n = samples.len();
    let beside = |i: usize| (0..=2 * SAME_LIGHT).map(move |k| (i + n - SAME_LIGHT.min(n) + k) % n);
    let is_paper = |i: usize| {
        let brightest = beside(i).map(|k| samples[k].0).fold(0.0, f64::max);
        samples[i].0 > LEAST_SHARE * brightest && samples[i].0 < BURNT_OUT
    };
    (0..n).filter(|&i| is_paper(i)).map(|i| samples[i].1).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(level: impl Fn(usize) -> f64) -> Vec<(f64, PointPx)> {
        (0..60).map(|i| (level(i), [i as f64, 0.0])).collect()
    }

    #[test]
    fn paper_in_a_shadow_is_paper_and_a_bar_printed_on_it_is_not() {
        let samples = ring(|i| match i {
            20 | 21 => 40.0,
            40.. => 90.0,
            _ => 220.0,
        });
        let all = in_any_light(&samples);
        let has = |x: f64| all.iter().any(|p| (p[0] - x).abs() < 0.1);
        assert!(has(5.0) && has(50.0) && !has(20.0));
        // Close to the edge of the shadow nobody knows which light it is.
        assert!(!has(41.0) && has(43.0));
        assert!(white(&samples).iter().all(|p| p[0] < 39.5));
    }

    #[test]
    fn few_samples_are_no_harm() {
        assert!(in_any_light(&[]).is_empty());
        assert_eq!(in_any_light(&[(200.0, [1.0, 2.0])]).len(), 1);
    }
}
