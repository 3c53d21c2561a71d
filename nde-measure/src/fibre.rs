//! What a thin body is like along its length: a fibre, or dye out of a flaw.
//!
//! A flaw thins out towards its ends and so does the dye out of it. A fibre lies on the coat: it is thin, and as
//! dark at its very ends as in its middle. Lengths in mm, contrast as loss of green.

use crate::path::Path;
use crate::photo::{Mask, Raster};
use crate::white::median;

/// A thin body along its centre line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fibre {
    /// Contrast at the fainter end as a share of the middle's.
    pub(crate) ends: f64,
    /// How wide it were with its full contrast throughout, mm: blur leaves that as it is, nearly.
    pub(crate) width_mm: f64,
    /// Length of its centre line against its own width.
    pub(crate) ratio: f64,
}

/// An end is this share of the centre line. Chosen.
const END: f64 = 0.15;
/// The shortest centre line with two ends and a middle, pixels. Chosen.
const LEAST_PLACES: usize = 8;
/// So far to either side of the centre line the crest lies, and beyond the outline the skirt ends, pixels. Chosen.
const CREST_PX: f64 = 1.5;
const SKIRT_PX: f64 = 3.0;
/// Where the ground beside it is read, pixels from the outline: with its shade, as the crest is. Chosen.
const BESIDE_PX: [f64; 2] = [6.0, 10.0];
/// Steps across the centre line, pixels.
const STEP_PX: f64 = 0.5;

impl Fibre {
    /// Along a body's mask, on the loss of green in its window; `None` of a body too short to have ends.
    pub(crate) fn of(mask: &Mask, green: &Raster, mm_per_px: f64) -> Option<Self> {
        let path = Path::of(mask)?;
        let n = path.places.len();
        if n < LEAST_PLACES {
            return None;
        }
        let mut beside = Vec::new();
        mask.each_between(BESIDE_PX[0], BESIDE_PX[1], |x, y| beside.push(green.at(x, y)));
        let ground = median(beside);
        let half = path.median_half_width().max(1.0);
        let line: Vec<[f64; 2]> = (0..n)
            .map(|k| {
                let part = &path.places[k.saturating_sub(2)..(k + 3).min(n)];
                let sum = part.iter().fold([0.0, 0.0], |s, p| [s[0] + p[0], s[1] + p[1]]);
                sum.map(|v| v / part.len() as f64)
            })
            .collect();
        let (mut crest, mut amount) = (Vec::with_capacity(n), Vec::with_capacity(n));
        for (k, p) in line.iter().enumerate() {
            let (from, to) = (line[k.saturating_sub(3)], line[(k + 3).min(n - 1)]);
            let (tx, ty) = (to[0] - from[0], to[1] - from[1]);
            let length = tx.hypot(ty).max(1e-9);
            let across =
                |t: f64| green.between(p[0] - t * ty / length, p[1] + t * tx / length) - ground;
            let steps = |reach: f64| {
                let count = (reach / STEP_PX).round() as i32;
                (-count..=count).map(|i| across(f64::from(i) * STEP_PX))
            };
            crest.push(steps(CREST_PX).fold(f32::MIN, f32::max));
            amount.push(steps(half + SKIRT_PX).sum::<f32>() * STEP_PX as f32);
        }
        let end = ((END * n as f64).round() as usize).max(3);
        let mean = |part: &[f32]| f64::from(part.iter().sum::<f32>()) / part.len() as f64;
        let fainter = mean(&crest[..end]).min(mean(&crest[n - end..]));
        let middle = f64::from(median(crest)).max(1e-6);
        let along: f64 =
            line.windows(2).map(|p| (p[0][0] - p[1][0]).hypot(p[0][1] - p[1][1])).sum();
        Some(Self {
            ends: fainter / middle,
            width_mm: f64::from(median(amount)) / middle * mm_per_px,
            ratio: along / (2.0 * half),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A line of 60 x 3 pixels whose loss at each place along it, 0 to 1, is given; blurred.
    fn line(loss: impl Fn(f64) -> f64) -> Option<Fibre> {
        let mut green = Raster::filled(110, 50, 0.0);
        for (y, x) in (24..27).flat_map(|y| (25..85).map(move |x| (y, x))) {
            green.data[y * 110 + x] = loss((x - 25) as f64 / 59.0) as f32;
        }
        let green = green.blurred(1.0);
        let peak = green.data.iter().copied().fold(0.0, f32::max);
        let mask = Mask {
            data: green.data.iter().map(|v| *v > 0.5 * peak).collect(),
            ..Mask::empty(110, 50)
        };
        Fibre::of(&mask, &green, 0.1)
    }

    #[test]
    fn a_fibre_is_as_dark_at_its_ends() {
        let fibre = line(|_| 0.6).unwrap();
        assert!((0.9..1.05).contains(&fibre.ends), "{fibre:?}");
        // Three pixels of it, seen through a blur of one.
        assert!((0.3..0.4).contains(&fibre.width_mm), "{fibre:?}");
        assert!(fibre.ratio > 10.0, "{fibre:?}");
    }

    #[test]
    fn a_flaw_thins_out() {
        let flaw = line(|t| 0.3 + 0.6 * (std::f64::consts::PI * t).sin()).unwrap();
        assert!(flaw.ends < 0.85, "{flaw:?}");
    }

    #[test]
    fn a_spot_has_no_ends() {
        let mut mask = Mask::empty(40, 40);
        (18..22).for_each(|y| (18..22).for_each(|x| mask.set(x, y, true)));
        assert!(Fibre::of(&mask, &Raster::filled(40, 40, 0.5), 0.1).is_none());
    }
}
