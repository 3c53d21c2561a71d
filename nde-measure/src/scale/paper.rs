//! White paper in the photo: the middle of the card's margin.

use super::card::{BURNT_OUT, Found};
use super::grey::green_at;
use crate::{Photo, PointMm, PointPx};

/// Places on the middle of a card's white margin that look like uncovered paper.
pub(crate) struct Margin {
    /// In the light of most of the card.
    pub(crate) white_px: Vec<PointPx>,
    /// In any light: the shadow that lies over a part lies over the card as well.
    pub(crate) any_light_px: Vec<PointPx>,
}

/// Samples for each square of the card. Chosen: the margin's light changes little over a third of a square.
const PER_SQUARE: f64 = 3.0;
/// Paper is at least so bright against other paper in the same light. Chosen: a light gradient over the card
/// is allowed for.
const LEAST_SHARE: f64 = 0.75;
/// Samples on either side within which the light counts as the same: a square, so that both black and white
/// fields of the board lie among them.
const SAME_LIGHT: usize = 3;
/// Ink on the board is at most so bright against the paper beside it, in levels of the photo. Chosen: a tenth of
/// the light is a third of the levels; a lamp mirrored on the ink adds some. What covers the margin covers
/// the board beside it and shows no such step.
const MOST_INK: f64 = 0.6;

/// Green levels, 0 to 255, at a place on the margin and half a square inside the board beside it.
struct Sample {
    margin: f64,
    board: f64,
    at: PointPx,
}

impl Margin {
    pub(crate) fn of(photo: &Photo, found: &Found) -> Self {
        let board = found.design.board();
        let ring = board.grown(found.design.margin_mm() / 2.0).corners();
        let inside = board.grown(-found.design.square_mm() / 2.0).corners();
        // Around the card.
        let mut samples = Vec::new();
        for i in 0..4 {
            let along = |corners: &[PointMm; 4], t: f64| {
                let (from, to) = (corners[i], corners[(i + 1) % 4]);
                found.to_photo([0, 1].map(|j| from[j] + t * (to[j] - from[j])))
            };
            let (from, to) = (ring[i], ring[(i + 1) % 4]);
            let length = (to[0] - from[0]).hypot(to[1] - from[1]);
            let count = (PER_SQUARE * length / found.design.square_mm()).ceil();
            let mut k = 0.0;
            while k < count {
                let t = k / count;
                let at = along(&ring, t);
                let levels = (green_at(photo, at), green_at(photo, along(&inside, t)));
                if let (Some(margin), Some(board)) = levels {
                    samples.push(Sample { margin, board, at });
                }
                k += 1.0;
            }
        }
        Self { white_px: white(&samples), any_light_px: in_any_light(&samples) }
    }
}

fn white(samples: &[Sample]) -> Vec<PointPx> {
    let mut levels: Vec<f64> = samples.iter().map(|s| s.margin).collect();
    levels.sort_by(f64::total_cmp);
    // Uncovered paper is bright. Burnt-out paper is no white to go by, unless all of it is burnt out: then white
    // is at least that bright.
    let Some(usual) = levels.get(levels.len() * 2 / 3).copied() else { return Vec::new() };
    let most = if usual < BURNT_OUT { (1.25 * usual).min(BURNT_OUT) } else { 256.0 };
    let is_white = |level: f64| level > LEAST_SHARE * usual && level < most;
    samples.iter().filter(|s| is_white(s.margin)).map(|s| s.at).collect()
}

fn in_any_light(samples: &[Sample]) -> Vec<PointPx> {
    let n = samples.len();
    let beside = |i: usize| (0..=2 * SAME_LIGHT).map(move |k| (i + n - SAME_LIGHT.min(n) + k) % n);
    let is_paper = |i: usize| {
        let own = samples[i].margin;
        let levels = |k: usize| [samples[k].margin, samples[k].board];
        let brightest = beside(i).flat_map(levels).fold(0.0, f64::max);
        let ink = beside(i).map(|k| samples[k].board).fold(f64::MAX, f64::min);
        own > LEAST_SHARE * brightest && ink < MOST_INK * own
    };
    (0..n).filter(|&i| is_paper(i)).map(|i| samples[i].at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 60 places around a card; `light` tells the share of light there, `covered` what lies on it instead.
    fn ring(light: impl Fn(usize) -> f64, covered: impl Fn(usize) -> Option<f64>) -> Vec<Sample> {
        let sample = |i: usize| {
            let ink = if (i / 3).is_multiple_of(2) { 0.1 } else { 0.95 };
            let (margin, board) = (220.0 * light(i), 220.0 * light(i) * ink);
            let at = [i as f64, 0.0];
            match covered(i) {
                Some(level) => Sample { margin: level, board: level, at },
                None => Sample { margin, board, at },
            }
        };
        (0..60).map(sample).collect()
    }

    fn has(places: &[PointPx], x: f64) -> bool {
        places.iter().any(|p| (p[0] - x).abs() < 0.1)
    }

    #[test]
    fn paper_in_a_shadow_is_paper() {
        let samples = ring(|i| if i >= 40 { 0.4 } else { 1.0 }, |_| None);
        let all = in_any_light(&samples);
        assert!(has(&all, 5.0) && has(&all, 50.0));
        // Close to the edge of the shadow nobody knows which light it is.
        assert!(!has(&all, 41.0) && has(&all, 44.0));
        assert!(white(&samples).iter().all(|p| p[0] < 39.5));
    }

    #[test]
    fn a_glove_on_the_card_is_no_paper_in_a_shadow() {
        let samples = ring(|_| 1.0, |i| (20..35).contains(&i).then_some(60.0));
        let all = in_any_light(&samples);
        assert!((20..35).all(|i| !has(&all, f64::from(i))), "{all:?}");
        assert!(has(&all, 10.0) && has(&all, 45.0));
    }

    #[test]
    fn few_samples_are_no_harm() {
        assert!(in_any_light(&[]).is_empty() && white(&[]).is_empty());
        let one = [Sample { margin: 200.0, board: 20.0, at: [1.0, 2.0] }];
        assert_eq!(in_any_light(&one).len(), 1);
    }
}
