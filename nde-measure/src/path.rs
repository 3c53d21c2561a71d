//! Length along the centre line, for curved and branched indications.
//!
//! The centre line is the thinned mask; the path is its longest way, smoothed so that pixel stairs
//! do not lengthen it, and carried on from both ends to the outline. Branches that are no part of
//! the path and longer than the body is wide are counted.

use crate::photo::Mask;
use std::collections::VecDeque;
use std::sync::LazyLock;

/// The centre line of one body.
#[derive(Clone, Debug)]
pub(crate) struct Path {
    /// Along the longest way, grid places of the mask.
    pub(crate) places: Vec<[f64; 2]>,
    /// Half width of the mask at each of them, grid steps.
    pub(crate) half_width: Vec<f64>,
    /// From the path's two ends on to the rim of the mask, in the path's own direction, grid steps.
    pub(crate) ends: [f64; 2],
    /// Branches longer than the body is wide.
    pub(crate) branches: usize,
}

impl Path {
    /// The centre line of a mask that is one connected body; `None` of nothing.
    pub(crate) fn of(mask: &Mask) -> Option<Self> {
        let (mask, [x0, y0]) = mask.tight();
        let inner = mask.squared_distance_to(false);
        let thin = thinned(&mask);
        let start = thin.data.iter().position(|v| *v)?;
        let (far, _) = farthest(&thin, start);
        let (end, from) = farthest(&thin, far);
        let mut way = vec![end];
        while let Some(before) = from[way[way.len() - 1]] {
            way.push(before);
        }
        let w = thin.width;
        let radius = |i: usize| f64::from(inner[i]).sqrt();
        let widest = way.iter().map(|&i| radius(i)).fold(0.0, f64::max);
        let mut rest = thin.clone();
        for &i in &way {
            rest.data[i] = false;
        }
        // A spur shorter than the body is wide is roughness of its outline.
        let branches = crate::regions::areas(&rest)
            .iter()
            .filter(|spur| spur.size() as f64 > 2.5 * widest + 3.0)
            .count();
        let half_width = way.iter().map(|&i| radius(i)).collect();
        let mut places: Vec<[f64; 2]> =
            way.iter().map(|&i| [(i % w) as f64, (i / w) as f64]).collect();
        let first = to_rim(&mask, &places);
        places.reverse();
        let last = to_rim(&mask, &places);
        places.reverse();
        for p in &mut places {
            *p = [p[0] + x0 as f64, p[1] + y0 as f64];
        }
        Some(Self { places, half_width, ends: [first, last], branches })
    }

    /// Length on the part: `to_part` takes grid places of the mask to millimetres.
    pub(crate) fn length_mm(&self, to_part: impl Fn([f64; 2]) -> [f64; 2]) -> f64 {
        let n = self.places.len();
        let half = self.median_half_width();
        let reach = (half.round() as usize).clamp(2, 12);
        let smooth = |k: usize| {
            // The window shrinks towards the ends, so that the ends stay.
            let r = reach.min(k).min(n - 1 - k);
            let part = &self.places[k - r..=k + r];
            let sum = part.iter().fold([0.0, 0.0], |s, p| [s[0] + p[0], s[1] + p[1]]);
            [sum[0] / part.len() as f64, sum[1] / part.len() as f64]
        };
        let line: Vec<[f64; 2]> = (0..n).map(|k| to_part(smooth(k))).collect();
        let along: f64 =
            line.windows(2).map(|p| (p[0][0] - p[1][0]).hypot(p[0][1] - p[1][1])).sum();
        // Thinning stops half a width or more before the outline.
        let step = |k: usize| {
            let [x, y] = self.places[k];
            let (a, b) = (to_part([x, y]), to_part([x + 0.7, y + 0.7]));
            (a[0] - b[0]).hypot(a[1] - b[1])
        };
        along + self.ends[0] * step(0) + self.ends[1] * step(n - 1)
    }

    /// Median half width along the path, grid steps.
    pub(crate) fn median_half_width(&self) -> f64 {
        let mut all = self.half_width.clone();
        let middle = all.len() / 2;
        *all.select_nth_unstable_by(middle, f64::total_cmp).1
    }
}

/// From the first place on to the rim of the mask, in the direction in which the line arrives there.
fn to_rim(mask: &Mask, line: &[[f64; 2]]) -> f64 {
    let [x, y] = line[0];
    let back = line[(line.len() - 1).min(6)];
    let (dx, dy) = (x - back[0], y - back[1]);
    let length = dx.hypot(dy);
    // A single place reaches half a step either way.
    let (dx, dy) = if length > 0.0 { (dx / length, dy / length) } else { (1.0, 0.0) };
    let inside = |t: f64| {
        let (px, py) = ((x + t * dx).round(), (y + t * dy).round());
        let in_grid = px >= 0.0 && py >= 0.0 && px < mask.width as f64 && py < mask.height as f64;
        in_grid && mask.at(px as usize, py as usize)
    };
    let most = 2.0 * (mask.width + mask.height) as f64;
    let mut t = 0.0;
    while t < most && inside(t) {
        t += 0.25;
    }
    t
}

/// Where one can go from a place: the eight neighbours, straight ones first.
const AROUND: [(i64, i64); 8] =
    [(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1)];

fn neighbours(thin: &Mask, at: usize) -> impl Iterator<Item = (usize, f64)> {
    let (x, y) = ((at % thin.width) as i64, (at / thin.width) as i64);
    AROUND.iter().filter_map(move |&(dx, dy)| {
        let (nx, ny) = (x + dx, y + dy);
        let inside = nx >= 0 && ny >= 0 && nx < thin.width as i64 && ny < thin.height as i64;
        let i = (ny * thin.width as i64 + nx) as usize;
        let length = if dx != 0 && dy != 0 { std::f64::consts::SQRT_2 } else { 1.0 };
        (inside && thin.data[i]).then_some((i, length))
    })
}

/// The place farthest along the thinned mask, and from where each place was reached.
fn farthest(thin: &Mask, start: usize) -> (usize, Vec<Option<usize>>) {
    let mut reached = vec![f64::INFINITY; thin.data.len()];
    let mut from = vec![None; thin.data.len()];
    reached[start] = 0.0;
    let mut queue = VecDeque::from([start]);
    // Ways are short and nearly a line, so relaxing in turn settles at once almost everywhere.
    while let Some(at) = queue.pop_front() {
        for (next, length) in neighbours(thin, at) {
            let way = reached[at] + length;
            if way + 1e-9 < reached[next] {
                reached[next] = way;
                from[next] = Some(at);
                queue.push_back(next);
            }
        }
    }
    let best = (0..reached.len())
        .filter(|&i| thin.data[i] && reached[i].is_finite())
        .max_by(|&a, &b| reached[a].total_cmp(&reached[b]))
        .unwrap_or(start);
    (best, from)
}

/// Thinning to lines one place wide that keeps the mask's connections (Zhang and Suen, "A fast
/// parallel algorithm for thinning digital patterns", CACM 27, 1984; from memory).
fn thinned(mask: &Mask) -> Mask {
    // With a rim of no around it every place has eight neighbours.
    let (w, h) = (mask.width + 2, mask.height + 2);
    let mut thin = Mask::empty(w, h);
    for (to, from) in
        thin.data.chunks_exact_mut(w).skip(1).zip(mask.data.chunks_exact(mask.width.max(1)))
    {
        to[1..w - 1].copy_from_slice(from);
    }
    let around = |data: &[bool], i: usize| -> usize {
        // Clockwise from above.
        let at = [i - w, i - w + 1, i + 1, i + w + 1, i + w, i + w - 1, i - 1, i - w - 1];
        at.iter().enumerate().map(|(k, &i)| usize::from(data[i]) << k).sum()
    };
    let mut live: Vec<usize> = (0..thin.data.len()).filter(|&i| thin.data[i]).collect();
    loop {
        let mut changed = false;
        for goes in &*GOES {
            let gone: Vec<usize> =
                live.iter().copied().filter(|&i| goes[around(&thin.data, i)]).collect();
            // A last block of four would go all at once; one place of it stays.
            let keep = usize::from(!gone.is_empty() && gone.len() == live.len());
            for &i in gone.iter().skip(keep) {
                thin.data[i] = false;
            }
            let gone = &gone[keep..];
            changed |= !gone.is_empty();
            live.retain(|&i| thin.data[i]);
        }
        if !changed {
            return thin.cropped([1, 1, w - 1, h - 1]);
        }
    }
}

/// Whether a place goes in the first and in the second pass of a round, by its eight neighbours,
/// a bit each, clockwise from above.
static GOES: LazyLock<[[bool; 256]; 2]> = LazyLock::new(|| {
    [0, 1].map(|pass| {
        std::array::from_fn(|code| {
            let p: [bool; 8] = std::array::from_fn(|k| code >> k & 1 == 1);
            let count = p.iter().filter(|v| **v).count();
            let turns = (0..8).filter(|&k| !p[k] && p[(k + 1) % 8]).count();
            let open = if pass == 0 {
                !(p[2] && p[4] && (p[0] || p[6]))
            } else {
                !(p[0] && p[6] && (p[2] || p[4]))
            };
            (2..=6).contains(&count) && turns == 1 && open
        })
    })
});

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// A band of half width `r` along a curve, 140 x 140.
    fn band(r: f64, curve: impl Fn(f64) -> [f64; 2]) -> Mask {
        let mut mask = Mask::empty(140, 140);
        for y in 0..140 {
            for x in 0..140 {
                let near = (0..=400)
                    .map(|k| curve(f64::from(k) / 400.0))
                    .map(|p| (p[0] - x as f64).hypot(p[1] - y as f64))
                    .fold(f64::INFINITY, f64::min);
                mask.set(x, y, near <= r);
            }
        }
        mask
    }

    #[test]
    fn a_slanting_bar_is_as_long_as_its_ends_are_apart() {
        let bar = band(3.0, |t| [20.0 + 80.0 * t, 30.0 + 47.0 * t]);
        let length = Path::of(&bar).unwrap().length_mm(|p| p);
        let truth = 80.0_f64.hypot(47.0) + 6.0;
        assert!((length - truth).abs() < 2.0, "{length} {truth}");
    }

    #[test]
    fn a_half_circle_is_longer_than_its_chord() {
        let arc = band(3.0, |t| [70.0 + 40.0 * (PI * t).cos(), 90.0 - 40.0 * (PI * t).sin()]);
        let path = Path::of(&arc).unwrap();
        let length = path.length_mm(|p| p);
        let truth = 40.0 * PI + 6.0;
        assert!((length - truth).abs() < 0.02 * truth, "{length} {truth}");
        assert_eq!(path.branches, 0);
    }

    #[test]
    fn a_fork_has_a_branch() {
        let mut fork = band(2.0, |t| [20.0 + 100.0 * t, 70.0]);
        let arm = band(2.0, |t| [70.0, 70.0 + 50.0 * t]);
        for (a, b) in fork.data.iter_mut().zip(&arm.data) {
            *a |= *b;
        }
        assert_eq!(Path::of(&fork).unwrap().branches, 1);
    }

    #[test]
    fn a_block_of_four_keeps_a_place() {
        let mut block = Mask::empty(6, 6);
        for (x, y) in [(2, 2), (3, 2), (2, 3), (3, 3)] {
            block.set(x, y, true);
        }
        assert!(Path::of(&block).is_some());
    }

    #[test]
    fn one_place_and_nothing() {
        let mut dot = Mask::empty(3, 3);
        assert!(Path::of(&dot).is_none());
        dot.set(1, 1, true);
        assert!(Path::of(&dot).unwrap().length_mm(|p| p) > 0.0);
    }
}
