//! Where the uncertainty of a scale comes from: shares of a length that all lengths of a photo have
//! in common.

use crate::budget::{Term, combined};
use crate::scale::bend::Bend;
use crate::scale::camera::{Pose, STATED_FOCAL_U, TYPICAL_FOCAL_WITHIN};
use crate::scale::design::{CardDesign, CardName};
use crate::scale::height::Height;
use nde_core::Doubt;

/// Relative standard uncertainty that an unknown lens distortion adds 80 mm away from the scale; it
/// grows with the square of the distance. Source: simulation with a radial coefficient of 0.05, the
/// most seen on phones (from memory): 0.6 % at 80 mm.
pub const LENS_U_AT_80MM: f64 = 0.006;
/// "Next to the scale" reaches so far beyond its outline.
pub(crate) const NEXT_TO_MM: f64 = 20.0;
/// Distances from the scale at which the fit's own uncertainty is told, mm.
pub const FIT_TOLD_AT_MM: [f64; 2] = [NEXT_TO_MM, 80.0];
/// An unchecked print may be off by so much, either way, all values alike. Source: printers and
/// copiers reported from 97 % to 103 % (secondary sources); taken as rectangular.
pub const UNCHECKED_PRINT: f64 = 0.03;
/// Standard uncertainty of a calliper reading of a printed bar, mm. Common practice, no source.
pub const CALLIPER_U_MM: f64 = 0.05;
/// Relative standard uncertainty of paper with the humidity between printing and use (from memory:
/// 0.1 to 0.3 % in all).
pub const PAPER_U: f64 = 0.0015;
/// Relative standard uncertainty of a steel rule's own graduation: 0.1 mm over 150 mm, rectangular
/// (common practice, no source).
pub const RULE_U: f64 = 0.000_4;
/// What one radial term leaves of a lens's distortion, as a share. Source: thirteen photographs of a
/// chessboard through a wide lens (`fixtures/outside/chessboard.csv`): 0.78 mm off a plane, 0.17 mm off
/// one with the term, 0.13 mm of it the corners' own; a seventh. Taken as a fifth.
const LEFT_BY_ONE_TERM: f64 = 0.2;

const PERCENT: f64 = 0.01;

/// A share stated by its standard uncertainty.
pub(crate) const fn share(name: &'static str, u: f64) -> Term {
    Term::normal(name, 100.0 * u, "%").times(PERCENT)
}

/// What a lens distortion adds so far from the scale; less than [`NEXT_TO_MM`] counts as that. Of one that
/// was read only what its single term leaves: what it leaves open itself is in the fit.
pub(crate) fn lens(away_mm: f64, read: Option<Bend>) -> Term {
    let left = if read.is_some() { LEFT_BY_ONE_TERM } else { 1.0 };
    let away_mm = away_mm.max(NEXT_TO_MM);
    share("lens, by the distance from the scale", left * LENS_U_AT_80MM * (away_mm / 80.0).powi(2))
}

/// Relative standard uncertainty (k = 1) of a length next to the scale, up to [`NEXT_TO_MM`] from it: the scale's
/// own terms, and what the lens may bend there.
pub(crate) fn next_to(terms: &[Term], read: Option<Bend>) -> f64 {
    combined(terms).hypot(lens(NEXT_TO_MM, read).contribution())
}

/// The scatter of the features that the plane was fitted to.
pub(crate) fn fit(u: f64, features: usize) -> Term {
    let spare = (2 * features).checked_sub(8).filter(|spare| *spare > 0);
    share("plane through the scale's marks", u).with_freedom(spare.map(|spare| spare as f64))
}

/// What the fit adds so far from the scale beyond what it adds next to it; none where it does not grow.
pub(crate) fn fit_farther([near, far]: [f64; 2], away_mm: f64) -> Option<Term> {
    let share_of_way = (away_mm - FIT_TOLD_AT_MM[0]) / (FIT_TOLD_AT_MM[1] - FIT_TOLD_AT_MM[0]);
    let here = near + (far - near) * share_of_way;
    (far > near && share_of_way > 0.0)
        .then(|| share("plane, by the distance from the scale", (here * here - near * near).sqrt()))
}

/// The size of a card's print.
pub(crate) fn print(design: &CardDesign, bars_mm: Option<[f64; 2]>) -> (Vec<Term>, Vec<Doubt>) {
    let calliper = |over_mm: f64| {
        Term::normal("calliper reading of the bars", CALLIPER_U_MM, "mm").times(1.0 / over_mm)
    };
    let paper = share("paper and humidity", PAPER_U);
    let board = design.board();
    match (design.name(), bars_mm) {
        (_, Some([across, down])) => (vec![calliper(across.min(down)), paper], Vec::new()),
        // The user states the sizes of an own board as they are: measured over its length.
        (CardName::Own, None) => {
            (vec![calliper(board.width_mm.max(board.height_mm)), paper], Vec::new())
        }
        (_, None) => {
            let printer = Term::rectangular("printer, not checked", 100.0 * UNCHECKED_PRINT, "%");
            (vec![printer.times(PERCENT)], vec![Doubt::UnverifiedPrint])
        }
    }
}

/// How well the focal length is known that the correction for a height rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FocalTrust {
    Stated,
    Assumed,
}

/// The height of the surface above the scale, and the focal length that tells what it does.
///
/// `camera_mm` is the camera's height over the scale's plane, `slope` how many per cent it changes
/// for one per cent of focal length.
pub(crate) fn height(
    stated: Option<Height>,
    camera_mm: f64,
    slope: f64,
    trust: FocalTrust,
) -> Vec<Term> {
    let height = stated.unwrap_or(Height::level());
    let name = match stated {
        Some(_) => "height of the surface",
        None => "surface level with the scale",
    };
    let left = camera_mm - height.mm;
    let mut terms = vec![Term::rectangular(name, height.within_mm, "mm").times(1.0 / left)];
    if height.mm.abs() > 0.0 {
        let focal = match trust {
            FocalTrust::Stated => Term::normal("focal length", 100.0 * STATED_FOCAL_U, "%"),
            FocalTrust::Assumed => {
                Term::rectangular("focal length, assumed", 100.0 * TYPICAL_FOCAL_WITHIN, "%")
            }
        };
        terms.push(focal.times(PERCENT * slope * height.mm / left));
    }
    terms
}

/// Per cent that the camera's height changes for one per cent of focal length, around `pose_at(1)`.
pub(crate) fn height_slope(pose_at: impl Fn(f64) -> Option<Pose>) -> Option<f64> {
    let step = 0.01;
    let [less, more] = [1.0 - step, 1.0 + step].map(|f| pose_at(f).map(|p| p.height_mm().ln()));
    Some((more? - less?) / (2.0 * step))
}
