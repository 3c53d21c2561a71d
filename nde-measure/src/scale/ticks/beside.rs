//! Whether the stated graduation stands beside a row that was read.
//!
//! Rules carry different rows on their two edges. Where one of them is read beyond doubt, the plane is
//! known in millimetres, and whether marks of the stated distance stand anywhere beside it is a question
//! of one frequency: much fainter or finer rows answer it than could be read by themselves. Narrow marks
//! swing at half their distance as well, so marks of twice the stated distance must be absent there:
//! among the shortest ticks of a row they are.

use crate::PointMm;
use crate::scale::grey::Grey;
use crate::scale::plane::Plane;
use crate::scale::spec::TickPitch;
use crate::scale::ticks::comb::whole;
use crate::scale::ticks::joined::WIDEST_RULE_MM;

/// How far beyond the ends of the row read is looked, mm.
const BEYOND_MM: f64 = 25.0;
/// Step across, mm: a tenth of the shortest tick would be finer than needed.
const STEP_MM: f64 = 0.5;
/// Samples from mark to mark, and marks of a piece whose phase is taken.
const SAMPLES: usize = 8;
const MARKS: usize = 8;
/// Fewest neighbouring pieces that must agree.
const FEWEST_PAIRS: usize = 3;
/// Least mean product of neighbouring pieces: the share of a piece's swing that has the stated distance,
/// if phases agree. Chosen: ticks have 0.15 to 0.5, other rows and brushed metal stay below 0.04.
pub(super) const LEAST_AGREEING: f64 = 0.1;
/// Most that the distance may be off, as phase from piece to piece, cycles: 1.5 per cent. Chosen: the
/// plane is carried on by up to 30 mm across; any two graduations differ by a fifth.
const MOST_DRIFT: f64 = 0.015 * MARKS as f64;
/// What swings at twice the stated distance may be this share of that, at most.
const MOST_DOUBLE: f64 = 0.5;
/// Least swing of a piece, levels: less is noise of the picture.
const LEAST_SWING: f64 = 1.0;

/// Whether a row of marks of this distance stands on the plane, beside the row with these ends.
pub(super) fn stands(grey: &Grey, plane: &Plane, ends_mm: [PointMm; 2], pitch: TickPitch) -> bool {
    let [a, b] = ends_mm;
    let (low, high) = (a[0].min(b[0]) - BEYOND_MM, a[0].max(b[0]) + BEYOND_MM);
    let middle = f64::midpoint(a[1], b[1]);
    let steps = whole(WIDEST_RULE_MM / STEP_MM);
    (-steps..=steps).any(|step| {
        let y = middle + step as f64 * STEP_MM;
        let at = |mm: f64| swing(grey, plane, [low, high], y, mm).unwrap_or(0.0);
        let here = at(pitch.mm());
        here >= LEAST_AGREEING && at(2.0 * pitch.mm()) <= MOST_DOUBLE * here
    })
}

/// How much of what stands along a line of the plane has this distance, in phase from piece to piece,
/// 0 to 1; none where it is not seen or does not stay in phase.
pub(super) fn swing(
    grey: &Grey,
    plane: &Plane,
    ends_mm: [f64; 2],
    y: f64,
    pitch_mm: f64,
) -> Option<f64> {
    agreeing(&pieces(grey, plane, ends_mm, y, pitch_mm))
}

/// Share of the swing at the stated distance, with its phase, piece by piece; none where the piece
/// leaves the photo or is plain.
fn pieces(
    grey: &Grey,
    plane: &Plane,
    [low, high]: [f64; 2],
    y: f64,
    pitch_mm: f64,
) -> Vec<Option<[f64; 2]>> {
    let (block, step) = (grey.block as f64, pitch_mm / SAMPLES as f64);
    let length = (SAMPLES * MARKS) as f64;
    let mut all = Vec::new();
    let mut from = low;
    while from + length * step <= high {
        let levels: Option<Vec<f64>> = (0..SAMPLES * MARKS)
            .map(|i| {
                let at = plane.to_photo([from + i as f64 * step, y]);
                grey.at(at.map(|v| v / block))
            })
            .collect();
        all.push(levels.and_then(|levels| share(&levels)));
        from += length * step;
    }
    all
}

fn share(levels: &[f64]) -> Option<[f64; 2]> {
    let n = levels.len() as f64;
    let mean = levels.iter().sum::<f64>() / n;
    // Slow changes of light are no marks: a straight line is taken off.
    let slope = levels
        .iter()
        .enumerate()
        .map(|(i, l)| (i as f64 - (n - 1.0) / 2.0) * (l - mean))
        .sum::<f64>()
        * 12.0
        / (n * (n * n - 1.0));
    let (mut cos, mut sin, mut power) = (0.0, 0.0, 0.0);
    for (i, level) in levels.iter().enumerate() {
        let off = level - mean - slope * (i as f64 - (n - 1.0) / 2.0);
        let angle = std::f64::consts::TAU * i as f64 / SAMPLES as f64;
        cos += off * angle.cos();
        sin += off * angle.sin();
        power += off * off;
    }
    let swing = (power / n).sqrt();
    let most = (power * n / 2.0).sqrt();
    (swing >= LEAST_SWING).then(|| [cos / most, sin / most])
}

/// Mean product of neighbouring pieces; none where there are too few or their phases drift.
fn agreeing(pieces: &[Option<[f64; 2]>]) -> Option<f64> {
    let pairs: Vec<[f64; 2]> = pieces
        .windows(2)
        .filter_map(|pair| {
            let ([a, b], [c, d]) = (pair[0]?, pair[1]?);
            Some([a * c + b * d, b * c - a * d])
        })
        .collect();
    let [x, y] = [0, 1].map(|k| pairs.iter().map(|p| p[k]).sum::<f64>() / pairs.len() as f64);
    let steady = y.atan2(x).abs() / std::f64::consts::TAU <= MOST_DRIFT;
    (pairs.len() >= FEWEST_PAIRS && steady).then(|| x.hypot(y))
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Matrix3;

    /// Marks 0.79375 mm apart at 10 px/mm, 6 mm above the middle of a plain picture.
    fn marked() -> (Grey, Plane) {
        let (width, height) = (900, 400);
        let levels = (0..width * height)
            .map(|i| {
                let (x, y) = ((i % width) as f64 + 0.5, (i / width) as f64 + 0.5);
                let phase = (x / 7.9375).fract();
                if (240.0..280.0).contains(&y) && phase < 0.2 { 60 } else { 180 }
            })
            .collect();
        let plane = Matrix3::new(10.0, 0.0, 450.0, 0.0, 10.0, 200.0, 0.0, 0.0, 1.0);
        let grey = Grey { width, height, levels, block: 1 };
        (grey, Plane::from_photo_from_part(plane).unwrap())
    }

    #[test]
    fn the_stated_distance_is_told_from_others() {
        let (grey, plane) = marked();
        let ends = [[-30.0, 0.0], [30.0, 0.0]];
        for pitch in [
            TickPitch::Millimetre,
            TickPitch::HalfMillimetre,
            TickPitch::InchSixteenth,
            TickPitch::InchThirtySecond,
        ] {
            let there = pitch == TickPitch::InchThirtySecond;
            assert_eq!(stands(&grey, &plane, ends, pitch), there, "{pitch:?}");
        }
    }

    #[test]
    fn nothing_stands_on_a_plain_picture() {
        let (mut grey, plane) = marked();
        grey.levels.fill(90);
        let ends = [[-30.0, 0.0], [30.0, 0.0]];
        assert!(!stands(&grey, &plane, ends, TickPitch::Millimetre));
    }
}
