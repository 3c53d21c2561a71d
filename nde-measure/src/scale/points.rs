//! Scales without a card: two places a known distance apart, or a known pitch.
//!
//! Both know nothing about the view: the plane is taken as seen squarely. What a slight tilt may do
//! is inside the uncertainty.

use crate::PointPx;
use crate::budget::Term;
use crate::scale::error::ScaleError;
use crate::scale::plane::Plane;
use nalgebra::Matrix3;

/// Standard uncertainty of a place clicked by hand. Source: common practice, no source; also what a
/// practised hand showed on simulated rules.
pub const CLICK_U_PX: f64 = 1.5;
/// Tilt that goes unnoticed when a camera is held square by eye. Chosen: common practice, no source.
pub const UNSEEN_TILT_DEG: f64 = 10.0;
/// Relative standard uncertainty of a pitch that somebody states. Chosen: a working distance kept to
/// 3 mm of 300 mm.
pub const STATED_PITCH_U: f64 = 0.01;
/// Least distance between the points. Chosen: below it clicking alone costs more than 4 %.
pub(crate) const LEAST_SPAN_PX: f64 = 50.0;
/// Most that repeated points may differ. Chosen: beyond it one of them is a mistake or the view is
/// tilted by more than 18 degrees.
pub(crate) const MOST_SPREAD: f64 = 0.05;

/// One known distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Known {
    pub(crate) from_px: PointPx,
    pub(crate) to_px: PointPx,
    pub(crate) distance_mm: f64,
}

/// A plane seen squarely, and how well its scale is known (shares of a length).
#[derive(Clone, Debug)]
pub(crate) struct Square {
    pub(crate) plane: Plane,
    pub(crate) terms: Vec<Term>,
}

/// Relative shortening by a tilt nobody noticed.
fn unseen_tilt() -> Term {
    let most = 1.0 - UNSEEN_TILT_DEG.to_radians().cos();
    Term::rectangular("tilt that nobody noticed", 100.0 * most, "%").times(0.01)
}

/// From known distances; more than one (a repeat, or elsewhere) tells how well they agree.
///
/// The frame starts at the first point of the first distance, x along it.
pub(crate) fn from_points(known: &[Known], size_px: [u32; 2]) -> Result<Square, ScaleError> {
    let first = known.first().ok_or(ScaleError::NoPoints)?;
    let [width, height] = size_px;
    let mut scales = Vec::new();
    let mut click_u = f64::INFINITY;
    for k in known {
        for [x, y] in [k.from_px, k.to_px] {
            let inside =
                (0.0..=f64::from(width)).contains(&x) && (0.0..=f64::from(height)).contains(&y);
            if !inside {
                return Err(ScaleError::PointOutside { x, y, width, height });
            }
        }
        let span_px = (k.to_px[0] - k.from_px[0]).hypot(k.to_px[1] - k.from_px[1]);
        if span_px < LEAST_SPAN_PX {
            return Err(ScaleError::PointsTooClose { span_px, least_px: LEAST_SPAN_PX });
        }
        scales.push(likely(k.distance_mm / span_px)?);
        click_u = click_u.min(std::f64::consts::SQRT_2 * CLICK_U_PX / span_px);
    }
    let n = scales.len() as f64;
    let mean = scales.iter().sum::<f64>() / n;
    let least = scales.iter().copied().fold(f64::INFINITY, f64::min);
    let most = scales.iter().copied().fold(0.0, f64::max);
    if most - least > MOST_SPREAD * mean {
        return Err(ScaleError::PointsDisagree {
            least,
            most,
            allowed_percent: 100.0 * MOST_SPREAD,
        });
    }
    // Few repeats say little, so they never lower the clicking uncertainty below its usual value.
    let variance = scales.iter().map(|s| (s / mean - 1.0).powi(2)).sum::<f64>();
    let seen_u = if scales.len() > 1 { (variance / (n - 1.0)).sqrt() } else { 0.0 };
    let freedom = (seen_u > click_u).then_some(n - 1.0);
    let clicks = Term::normal("clicking the two ends", 100.0 * click_u.max(seen_u), "%")
        .times(0.01)
        .with_freedom(freedom);
    let [dx, dy] = [first.to_px[0] - first.from_px[0], first.to_px[1] - first.from_px[1]];
    let (cos, sin) = (dx / dx.hypot(dy), dy / dx.hypot(dy));
    let [x, y] = first.from_px;
    let photo_from_part =
        Matrix3::new(cos / mean, -sin / mean, x, sin / mean, cos / mean, y, 0.0, 0.0, 1.0);
    square(photo_from_part, mean, vec![clicks, unseen_tilt()])
}

/// From a stated pitch; the frame starts at the photo's top left corner, x along the photo's x.
pub(crate) fn from_pitch(mm_per_px: f64) -> Result<Square, ScaleError> {
    let px_per_mm = 1.0 / likely(mm_per_px)?;
    let photo_from_part = Matrix3::from_diagonal(&[px_per_mm, px_per_mm, 1.0].into());
    let stated = Term::normal("pitch as stated", 100.0 * STATED_PITCH_U, "%").times(0.01);
    square(photo_from_part, mm_per_px, vec![stated, unseen_tilt()])
}

fn square(
    photo_from_part: Matrix3<f64>,
    mm_per_px: f64,
    terms: Vec<Term>,
) -> Result<Square, ScaleError> {
    let plane = Plane::from_photo_from_part(photo_from_part);
    let plane = plane.ok_or(ScaleError::ScaleUnlikely { mm_per_px })?;
    Ok(Square { plane, terms })
}

fn likely(mm_per_px: f64) -> Result<f64, ScaleError> {
    if (0.0005..=10.0).contains(&mm_per_px) {
        Ok(mm_per_px)
    } else {
        Err(ScaleError::ScaleUnlikely { mm_per_px })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::combined;

    const SIZE: [u32; 2] = [1000, 800];

    fn known(from_px: PointPx, to_px: PointPx, distance_mm: f64) -> Known {
        Known { from_px, to_px, distance_mm }
    }

    #[test]
    fn the_frame_starts_at_the_first_point_along_the_two() {
        let square = from_points(&[known([100.0, 100.0], [400.0, 500.0], 50.0)], SIZE).unwrap();
        let end = square.plane.to_part([400.0, 500.0]);
        assert!((end[0] - 50.0).abs() < 1e-9 && end[1].abs() < 1e-9, "{end:?}");
        // Seen the same way round as in the photo: right of the line's direction (y down) is +y.
        let right = square.plane.to_part([100.0 - 4.0, 100.0 + 3.0]);
        assert!(right[0].abs() < 1e-9 && (right[1] - 0.5).abs() < 1e-9, "{right:?}");
        assert!((square.plane.mm_per_px([300.0, 300.0]) - 0.1).abs() < 1e-12);
    }

    #[test]
    fn a_repeat_gives_the_clicking_uncertainty() {
        let once = known([100.0, 100.0], [600.0, 100.0], 50.0);
        let again = known([100.0, 100.0], [610.0, 100.0], 50.0);
        let alone = from_points(&[once], SIZE).unwrap();
        let both = from_points(&[once, again], SIZE).unwrap();
        // 1.5 px at each end of 500 px, and 1 - cos 10 deg = 1.52 % rectangular.
        let expected = (2.0_f64.sqrt() * 1.5 / 500.0).hypot(0.015_192 / 3.0_f64.sqrt());
        let [alone, both] = [alone, both].map(|square| combined(&square.terms));
        assert!((alone - expected).abs() < 1e-6, "{alone}");
        assert!(both > alone);
    }

    #[test]
    fn impossible_points_are_refused() {
        let far = known([100.0, 100.0], [1600.0, 100.0], 50.0);
        assert!(matches!(from_points(&[far], SIZE), Err(ScaleError::PointOutside { .. })));
        let close = known([100.0, 100.0], [110.0, 100.0], 50.0);
        assert!(matches!(from_points(&[close], SIZE), Err(ScaleError::PointsTooClose { .. })));
        let a = known([100.0, 100.0], [600.0, 100.0], 50.0);
        let b = known([100.0, 100.0], [600.0, 100.0], 60.0);
        assert!(matches!(from_points(&[a, b], SIZE), Err(ScaleError::PointsDisagree { .. })));
        let huge = known([100.0, 100.0], [600.0, 100.0], 50_000.0);
        assert!(matches!(from_points(&[huge], SIZE), Err(ScaleError::ScaleUnlikely { .. })));
        assert!(matches!(from_pitch(1e-9), Err(ScaleError::ScaleUnlikely { .. })));
        assert!(matches!(from_pitch(f64::NAN), Err(ScaleError::ScaleUnlikely { .. })));
    }

    #[test]
    fn a_pitch_is_the_same_everywhere() {
        let square = from_pitch(0.083).unwrap();
        let [x, y] = square.plane.to_part([100.0, 50.0]);
        assert!((x - 8.3).abs() < 1e-9 && (y - 4.15).abs() < 1e-9);
    }
}
