//! How sharp the photo is, from the card's own edges.
//!
//! The outer edges of the board are straight steps from black to white. Pixels near an edge are
//! put in order of their distance to it and a blurred step (the normal distribution's sum) is fitted
//! in linear light. The principle is the slanted edge of ISO 12233 (from memory).

use crate::scale::card::Found;
use crate::scale::design::CardDesign;
use crate::scale::grey::linear;
use crate::{Photo, PointMm, PointPx};

/// What the card's edges say about the photo's sharpness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeSharpness {
    /// Standard deviation of the edge's blur, pixels, the pixel's own footprint included.
    pub sigma_px: f64,
    /// How far the photo overshoots beside an edge, as a share of the step: the trace of sharpening
    /// by the camera. Above 0.05 the blur before sharpening is not known and `sigma_px` is too small
    /// (measured with a strong sharpening: 0.33 for 0.58).
    pub overshoot: f64,
    /// Edges that could be read.
    pub edges: usize,
}

/// Farthest distance to an edge that is looked at, pixels.
const REACH_PX: f64 = 10.0;
/// Width of a distance class, pixels. Widens a blur of 0.5 px by 1 %.
const CLASS_PX: f64 = 0.25;
/// Least step, linear light, for an edge to be read: less drowns in noise and rounding.
const LEAST_STEP: f64 = 0.04;

/// Reads the card's outer edges; absent if none can be read.
pub(crate) fn sharpness(photo: &Photo, card: &Found) -> Option<EdgeSharpness> {
    let mut light = [0.0; 256];
    for (level, value) in light.iter_mut().enumerate() {
        *value = linear(level as f64);
    }
    let mut read: Vec<(f64, f64)> = outer_edges(&card.design)
        .iter()
        .filter_map(|edge| read_edge(photo, &light, edge, card))
        .collect();
    let edges = read.len();
    let middle = |values: &mut Vec<(f64, f64)>, key: fn(&(f64, f64)) -> f64| {
        values.sort_by(|a, b| key(a).total_cmp(&key(b)));
        values.get(values.len() / 2).map(key)
    };
    let sigma_px = middle(&mut read, |r| r.0)?;
    let overshoot = middle(&mut read, |r| r.1)?;
    Some(EdgeSharpness { sigma_px, overshoot, edges })
}

/// The outer edge of a black square: its ends and a point outside, on the part.
struct Edge {
    ends: [PointMm; 2],
    outside: PointMm,
    inside: PointMm,
}

fn outer_edges(card: &CardDesign) -> Vec<Edge> {
    let board = card.board();
    let (right, bottom) = (board.width_mm, board.height_mm);
    let (reach, depth) = (0.8 * card.margin_mm(), 0.4 * card.square_mm());
    let mut edges = Vec::new();
    for square in card.black_squares() {
        let [a, b, c, d] = square.grown(-0.12 * card.square_mm()).corners();
        let near = |x: f64, y: f64| (x - y).abs() < 1e-9;
        let mid = [(a[0] + c[0]) / 2.0, (a[1] + c[1]) / 2.0];
        if near(square.y_mm, 0.0) {
            edges.push(Edge {
                ends: [[a[0], 0.0], [b[0], 0.0]],
                outside: [mid[0], -reach],
                inside: [mid[0], depth],
            });
        }
        if near(square.y_mm + square.height_mm, bottom) {
            edges.push(Edge {
                ends: [[d[0], bottom], [c[0], bottom]],
                outside: [mid[0], bottom + reach],
                inside: [mid[0], bottom - depth],
            });
        }
        if near(square.x_mm, 0.0) {
            edges.push(Edge {
                ends: [[0.0, a[1]], [0.0, d[1]]],
                outside: [-reach, mid[1]],
                inside: [depth, mid[1]],
            });
        }
        if near(square.x_mm + square.width_mm, right) {
            edges.push(Edge {
                ends: [[right, b[1]], [right, c[1]]],
                outside: [right + reach, mid[1]],
                inside: [right - depth, mid[1]],
            });
        }
    }
    edges
}

/// Blur and overshoot of one edge.
fn read_edge(photo: &Photo, light: &[f64; 256], edge: &Edge, card: &Found) -> Option<(f64, f64)> {
    let ends = edge.ends.map(|p| card.to_photo(p));
    let (dx, dy) = (ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]);
    let length = dx.hypot(dy);
    let mut normal = [-dy / length, dx / length];
    let from_edge =
        |p: PointPx, n: [f64; 2]| (p[0] - ends[0][0]) * n[0] + (p[1] - ends[0][1]) * n[1];
    let outside = card.to_photo(edge.outside);
    if from_edge(outside, normal) < 0.0 {
        normal = normal.map(|v| -v);
    }
    let white_reach = from_edge(outside, normal).min(REACH_PX);
    let black_reach = (-from_edge(card.to_photo(edge.inside), normal)).min(REACH_PX);
    // Shorter edges give too few pixels a class; a shallower reach no plateau.
    if !(length >= 12.0 && white_reach >= 4.0 && black_reach >= 4.0) {
        return None;
    }
    let along = [dx / length, dy / length];
    let classes =
        step_profile(photo, light, ends[0], along, normal, length, [black_reach, white_reach])?;
    let black = plateau(&classes, -black_reach, -0.6 * black_reach)?;
    let white = plateau(&classes, 0.6 * white_reach, white_reach)?;
    let step = white - black;
    if step < LEAST_STEP {
        return None;
    }
    let profile: Vec<(f64, f64)> = classes.iter().map(|(d, v)| (*d, (v - black) / step)).collect();
    let sigma = fit_step(&profile)?;
    // Three classes together, so that a single noisy class does not count as overshoot.
    let runs = profile.windows(3).map(|w| (w[1].0, (w[0].1 + w[1].1 + w[2].1) / 3.0));
    let over = runs.fold(0.0_f64, |most, (d, v)| most.max(if d > 0.0 { v - 1.0 } else { -v }));
    Some((sigma, over))
}

/// Mean linear light by distance from the edge (positive outside), empty classes left out.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the band was checked to lie inside the photo; distances are within the reach"
)]
fn step_profile(
    photo: &Photo,
    light: &[f64; 256],
    start: PointPx,
    along: [f64; 2],
    normal: [f64; 2],
    length: f64,
    [black_reach, white_reach]: [f64; 2],
) -> Option<Vec<(f64, f64)>> {
    let rgb = photo.rgb();
    let corners =
        [(0.0, -black_reach), (0.0, white_reach), (length, -black_reach), (length, white_reach)]
            .map(|(t, d)| [0, 1].map(|k| start[k] + t * along[k] + d * normal[k]));
    let low = [0, 1].map(|k| corners.iter().map(|c| c[k]).fold(f64::INFINITY, f64::min));
    let high = [0, 1].map(|k| corners.iter().map(|c| c[k]).fold(f64::NEG_INFINITY, f64::max));
    let inside = low[0] >= 0.0
        && low[1] >= 0.0
        && high[0] <= f64::from(rgb.width())
        && high[1] <= f64::from(rgb.height());
    if !inside {
        return None;
    }
    let count = ((black_reach + white_reach) / CLASS_PX) as usize;
    let mut sums = vec![(0.0, 0.0, 0.0); count];
    let width = rgb.width() as usize;
    let bytes: &[u8] = rgb.as_raw();
    for y in low[1] as usize..high[1] as usize {
        for x in low[0] as usize..high[0] as usize {
            let p = [x as f64 + 0.5 - start[0], y as f64 + 0.5 - start[1]];
            let t = p[0] * along[0] + p[1] * along[1];
            let d = p[0] * normal[0] + p[1] * normal[1];
            if (0.0..=length).contains(&t) && d > -black_reach && d < white_reach {
                let class = ((d + black_reach) / CLASS_PX) as usize;
                if let Some(sum) = sums.get_mut(class) {
                    sum.0 += 1.0;
                    sum.1 += d;
                    sum.2 += light[usize::from(bytes[(y * width + x) * 3 + 1])];
                }
            }
        }
    }
    let classes = sums.iter().filter(|s| s.0 > 0.0).map(|s| (s.1 / s.0, s.2 / s.0));
    Some(classes.collect())
}

/// Median of the classes between two distances.
fn plateau(classes: &[(f64, f64)], from: f64, to: f64) -> Option<f64> {
    let mut values: Vec<f64> =
        classes.iter().filter(|(d, _)| *d >= from && *d <= to).map(|(_, v)| *v).collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// Standard deviation of the blurred step from 0 to 1 that fits best; its place is free.
fn fit_step(profile: &[(f64, f64)]) -> Option<f64> {
    let (mut place, mut sigma) = (0.0, 1.0);
    for _ in 0..40 {
        let (mut aa, mut ab, mut bb, mut ra, mut rb) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (d, v) in profile {
            let z: f64 = (d - place) / sigma;
            let density = (-z * z / 2.0).exp() / (sigma * (2.0 * std::f64::consts::PI).sqrt());
            let (by_place, by_sigma) = (-density, -density * z);
            let rest = v - normal_sum(z);
            aa += by_place * by_place;
            ab += by_place * by_sigma;
            bb += by_sigma * by_sigma;
            ra += by_place * rest;
            rb += by_sigma * rest;
        }
        let det = aa * bb - ab * ab;
        if det <= 0.0 {
            return None;
        }
        let (move_place, move_sigma) = ((bb * ra - ab * rb) / det, (aa * rb - ab * ra) / det);
        place += move_place.clamp(-1.0, 1.0);
        sigma = (sigma + move_sigma.clamp(-0.5, 0.5)).max(0.1);
        if move_place.abs() + move_sigma.abs() < 1e-5 {
            let near = place.abs() < REACH_PX / 2.0 && sigma < REACH_PX / 2.0;
            return near.then_some(sigma);
        }
    }
    None
}

/// Share of a standard normal distribution below `z`, to 1e-7.
/// Source: Abramowitz and Stegun, 26.2.17 (from memory; checked against tabled values below).
fn normal_sum(z: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * z.abs());
    let series = t
        * (0.319_381_530
            + t * (-0.356_563_782
                + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let tail = (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt() * series;
    if z >= 0.0 { 1.0 - tail } else { tail }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values from any table of the normal distribution.
    #[test]
    fn normal_sum_matches_the_table() {
        for (z, share) in
            [(0.0, 0.5), (1.0, 0.841_344_75), (-1.96, 0.024_997_90), (3.0, 0.998_650_10)]
        {
            assert!((normal_sum(z) - share).abs() < 2e-7, "{z}");
        }
    }

    #[test]
    fn a_step_of_known_blur_is_read() {
        for true_sigma in [0.4, 0.8, 2.0] {
            // A Gaussian blur built from its definition: the mean of a hard step over many shifts.
            let profile: Vec<(f64, f64)> = (-40..=40)
                .map(|i| {
                    let d = f64::from(i) * 0.25;
                    let (mut inside, mut all) = (0.0, 0.0);
                    for k in -400..=400 {
                        let shift = f64::from(k) * 0.01 * true_sigma * 1.2;
                        let w = (-(shift / true_sigma).powi(2) / 2.0).exp();
                        all += w;
                        if d + shift > 0.3 {
                            inside += w;
                        }
                    }
                    (d, inside / all)
                })
                .collect();
            let sigma = fit_step(&profile).unwrap();
            assert!((sigma / true_sigma - 1.0).abs() < 0.02, "{sigma} for {true_sigma}");
        }
    }

    #[test]
    fn no_step_gives_no_blur() {
        let flat: Vec<(f64, f64)> = (-40..=40).map(|i| (f64::from(i) * 0.25, 0.5)).collect();
        assert_eq!(fit_step(&flat), None);
        assert_eq!(fit_step(&[]), None);
    }

    #[test]
    fn the_standard_card_has_fourteen_outer_edges() {
        assert_eq!(outer_edges(&CardDesign::standard()).len(), 14);
    }
}
