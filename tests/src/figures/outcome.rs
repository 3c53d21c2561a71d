//! One painted scene, measured through the public API and held against its truth.

use super::area::AreaRead;
use super::cause::cause;
use super::spatter::{DropletRead, read};
use crate::paint::scene::Scene;
use crate::paint::truth::Body;
use nde_core::Shape;
use nde_measure::{MeasureOptions, Measurement, Photo, PhotoLimits, ScaleSpec, SetAsideReason};
use std::time::Instant;

/// A call belongs to a truth when its centroid lies in the true outline, or this near to it or to its centroid, mm.
/// Chosen: the same distance as the demo photos' scorer.
const REACH_MM: f64 = 1.0;

/// What is true about one indication.
#[derive(Clone, Debug)]
pub struct Truth {
    /// What it was drawn as.
    pub kind: &'static str,
    /// Peak share of green light lost, 0 to 1.
    pub peak: f64,
    /// Length and width on the part, mm.
    pub size_mm: [f64; 2],
    /// Length and width left after the photo's own blur, mm; absent when blur joined it to a neighbour.
    pub seen_mm: Option<[f64; 2]>,
    /// Peak after the photo's own blur.
    pub seen_peak: f64,
    /// Centre line inside the outline, mm.
    pub path_mm: f64,
    /// Width in pixels.
    pub width_px: f64,
    /// Whether length is more than three times the width.
    pub linear: bool,
    /// Where, pixels.
    pub at_px: [f64; 2],
}

/// What the measurer said about one indication.
#[derive(Clone, Debug)]
pub struct Call {
    /// Its id.
    pub id: String,
    /// Maximum Feret diameter, mm.
    pub feret_mm: f64,
    /// The length that is judged, mm.
    pub length_mm: f64,
    /// Path length, mm.
    pub path_mm: f64,
    /// Width, mm.
    pub width_mm: f64,
    /// Expanded uncertainty of length, mm; absent when not claimed.
    pub length_u_mm: Option<f64>,
    /// Expanded uncertainty of width, mm; absent when not claimed.
    pub width_u_mm: Option<f64>,
    /// Whether length is more than three times the width.
    pub linear: bool,
    /// Peak loss of green it read.
    pub contrast: f64,
    /// Fixed words of its doubts.
    pub doubts: Vec<&'static str>,
    /// Where, pixels.
    pub at_px: [f64; 2],
}

/// What became of one truth or one call.
#[derive(Clone, Debug)]
pub enum Finding {
    /// A true indication and its call.
    Hit(Truth, Call),
    /// A true indication without a call.
    Missed {
        /// The truth.
        truth: Truth,
        /// Why something near it was set aside, if something was.
        aside: Option<&'static str>,
        /// Blur joined it to a neighbour that was called: no second call could be expected.
        joined: bool,
    },
    /// A call without a truth.
    False {
        /// The call.
        call: Call,
        /// What lies there.
        cause: &'static str,
    },
}

/// Peak loss of green from which a mark is asked for. Chosen: the least for which finding is promised.
pub const ASKED: f64 = 0.23;

impl Finding {
    /// Whether a mark for which finding is promised was called; `None` of anything
    /// else.
    #[must_use]
    pub fn asked(&self) -> Option<bool> {
        match self {
            Self::Hit(truth, _) => (truth.peak >= ASKED).then_some(true),
            Self::Missed { truth, joined: false, .. } => (truth.peak >= ASKED).then_some(false),
            Self::Missed { .. } | Self::False { .. } => None,
        }
    }
}

/// One scene measured.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The scene's seed.
    pub seed: u64,
    /// Pixels a millimetre in the middle.
    pub px_per_mm: f64,
    /// Tilt, degrees.
    pub tilt_deg: f64,
    /// Why there is no measurement.
    pub refused: Option<String>,
    /// Every truth and every call.
    pub findings: Vec<Finding>,
    /// Error of a length at the coat's middle by the found scale alone, relative; absent without a scale.
    pub scale_error: Option<f64>,
    /// The area read against the painted coat; absent without a measurement.
    pub area: Option<AreaRead>,
    /// Droplets of spatter and whether they were called; empty without a measurement.
    pub droplets: Vec<DropletRead>,
    /// Seconds the measurer took, decoding included.
    pub seconds: f64,
}

/// The scale given to the measurer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScaleGiven {
    /// The card, its bars read as exact.
    Card,
    /// The card for its size and what it covers, without the white of its paper: as beside a rule.
    CardWithoutPaper,
    /// The true pitch; only for scenes photographed straight on.
    TruePitch,
}

/// Measures one scene.
#[must_use]
pub fn measured(scene: &Scene, jpeg: &[u8], scale: ScaleGiven) -> (Outcome, Option<Measurement>) {
    let spec = match scale {
        ScaleGiven::Card | ScaleGiven::CardWithoutPaper => {
            ScaleSpec::Card { bars_mm: Some([100.0, 100.0]) }
        }
        ScaleGiven::TruePitch => ScaleSpec::Pitch { mm_per_px: scene.camera.mm_per_px([0.0, 0.0]) },
    };
    let start = Instant::now();
    let result =
        Photo::decode(jpeg, &PhotoLimits::default()).map_err(|e| e.to_string()).and_then(|photo| {
            let mut found = nde_measure::scale::find(&photo, &[spec]).map_err(|e| e.to_string())?;
            if scale == ScaleGiven::CardWithoutPaper {
                found.white_samples_px.clear();
                found.paper_px.clear();
            }
            nde_measure::measure_at(&photo, found, &MeasureOptions::default())
                .map_err(|e| e.to_string())
        });
    let mut outcome = Outcome {
        seed: scene.seed,
        px_per_mm: 1.0 / scene.camera.mm_per_px([0.0, 0.0]),
        tilt_deg: scene.camera.tilt_deg,
        refused: None,
        findings: Vec::new(),
        scale_error: None,
        area: None,
        droplets: Vec::new(),
        seconds: start.elapsed().as_secs_f64(),
    };
    match result {
        Err(why) => {
            outcome.refused = Some(why);
            outcome.findings = all_missed(scene);
            (outcome, None)
        }
        Ok(measurement) => {
            outcome.findings = findings(scene, &measurement);
            outcome.scale_error = Some(scale_error(scene, &measurement));
            outcome.area = Some(AreaRead::of(scene, &measurement));
            outcome.droplets = read(scene, &measurement);
            (outcome, Some(measurement))
        }
    }
}

/// A refused photo leaves every indication unseen.
fn all_missed(scene: &Scene) -> Vec<Finding> {
    scene
        .bodies()
        .map(|(painted, body)| Finding::Missed {
            truth: truth_of(scene, painted.mark.kind.word(), painted, body, true),
            aside: Some("photo refused"),
            joined: false,
        })
        .collect()
}

/// Relative error of lengths of 10 mm in both directions round the coat's middle.
fn scale_error(scene: &Scene, measurement: &Measurement) -> f64 {
    let centre = scene.part.sprayed.centre_mm;
    let length = |d: [f64; 2]| {
        let ends = [-1.0, 1.0].map(|s| {
            let p = [centre[0] + s * d[0], centre[1] + s * d[1]];
            measurement.scale.plane.to_part(scene.camera.to_photo(p))
        });
        (ends[0][0] - ends[1][0]).hypot(ends[0][1] - ends[1][1])
    };
    let errors = [length([5.0, 0.0]) / 10.0 - 1.0, length([0.0, 5.0]) / 10.0 - 1.0];
    if errors[0].abs() > errors[1].abs() { errors[0] } else { errors[1] }
}

fn findings(scene: &Scene, measurement: &Measurement) -> Vec<Finding> {
    let bodies: Vec<_> = scene.bodies().collect();
    let calls: Vec<Call> = measurement.indications.iter().map(call_of).collect();
    let places: Vec<[f64; 2]> =
        calls.iter().map(|c| scene.camera.to_part(c.at_px).unwrap_or([1.0e6; 2])).collect();
    // Every third place of an outline tells where it lies.
    let outlines: Vec<Vec<[f64; 2]>> = measurement
        .indications
        .iter()
        .map(|seen| {
            seen.outline_px.iter().step_by(3).filter_map(|p| scene.camera.to_part(*p)).collect()
        })
        .collect();
    // Possible partners of each body, nearest first; a small share of length decides between equals.
    let near: Vec<Vec<(f64, usize)>> = bodies
        .iter()
        .map(|(painted, body)| {
            let mut list: Vec<(f64, usize)> = places
                .iter()
                .enumerate()
                .filter_map(|(i, p)| {
                    // The centroid of a curved mark lies beside it: either place counts, and so does ground that
                    // both cover.
                    let [cx, cy] = body.centroid_mm;
                    let off_centre = (p[0] - cx).hypot(p[1] - cy);
                    let shared = off_centre < body.length_mm
                        && outlines[i].iter().any(|q| painted.truth.covers(body, *q));
                    let d = if shared || painted.truth.covers(body, *p) {
                        0.0
                    } else {
                        body.edge_distance_mm(*p).min(off_centre)
                    };
                    let off = (calls[i].feret_mm / body.length_mm).ln().abs().min(2.0);
                    (d <= REACH_MM).then_some((d + 0.05 * off, i))
                })
                .collect();
            list.sort_by(|a, b| a.0.total_cmp(&b.0));
            list
        })
        .collect();
    let owner = matched(&near, calls.len());
    let called: Vec<Option<usize>> =
        (0..bodies.len()).map(|b| owner.iter().position(|o| *o == Some(b))).collect();

    let mut all = Vec::new();
    for (b, (painted, body)) in bodies.iter().enumerate() {
        let seen = painted.seen_body(body);
        // Two bodies of one drawing that share what is seen were joined by blur.
        let twins: Vec<usize> = (0..bodies.len())
            .filter(|&o| {
                o != b
                    && std::ptr::eq(bodies[o].0, *painted)
                    && seen.is_some_and(|s| {
                        bodies[o].0.seen_body(bodies[o].1).is_some_and(|t| std::ptr::eq(s, t))
                    })
            })
            .collect();
        let truth = truth_of(scene, painted.mark.kind.word(), painted, body, twins.is_empty());
        if let Some(c) = called[b] {
            all.push(Finding::Hit(truth, calls[c].clone()));
        } else {
            let aside = measurement.set_aside.iter().find_map(|s| {
                let p = scene.camera.to_part(s.centroid_px)?;
                let near = painted.truth.covers(body, p) || body.edge_distance_mm(p) <= REACH_MM;
                near.then_some(reason_word(s.reason))
            });
            let joined = twins.iter().any(|t| called[*t].is_some());
            all.push(Finding::Missed { truth, aside, joined });
        }
    }
    for (i, call) in calls.into_iter().enumerate() {
        if owner[i].is_none() {
            let cause = cause(scene, places[i], REACH_MM);
            all.push(Finding::False { call, cause });
        }
    }
    all
}

/// One-to-one pairs, as many as possible, near ones first (augmenting paths): the body of each call.
fn matched(near: &[Vec<(f64, usize)>], calls: usize) -> Vec<Option<usize>> {
    fn seek(
        body: usize,
        near: &[Vec<(f64, usize)>],
        owner: &mut [Option<usize>],
        tried: &mut [bool],
    ) -> bool {
        for &(_, call) in &near[body] {
            if !tried[call] {
                tried[call] = true;
                if owner[call].is_none_or(|other| seek(other, near, owner, tried)) {
                    owner[call] = Some(body);
                    return true;
                }
            }
        }
        false
    }
    let mut owner = vec![None; calls];
    let mut order: Vec<usize> = (0..near.len()).collect();
    let first = |b: &usize| near[*b].first().map_or(f64::INFINITY, |n| n.0);
    order.sort_by(|a, b| first(a).total_cmp(&first(b)));
    for body in order {
        seek(body, near, &mut owner, &mut vec![false; calls]);
    }
    owner
}

fn truth_of(
    scene: &Scene,
    kind: &'static str,
    painted: &crate::paint::scene::Painted,
    body: &Body,
    alone: bool,
) -> Truth {
    let seen = painted.seen_body(body);
    Truth {
        kind,
        peak: body.peak,
        size_mm: [body.length_mm, body.width_mm],
        seen_mm: seen.filter(|_| alone).map(|s| [s.length_mm, s.width_mm]),
        seen_peak: seen.map_or(0.0, |s| s.peak),
        path_mm: painted.truth.path_mm(body, &painted.mark),
        width_px: body.width_mm / scene.camera.mm_per_px(body.centroid_mm),
        linear: body.is_linear(),
        at_px: scene.camera.to_photo(body.centroid_mm),
    }
}

fn call_of(seen: &nde_measure::Seen) -> Call {
    let indication = &seen.indication;
    let [length_mm, width_mm] = [indication.length.value.mm(), indication.width.value.mm()];
    let linear = match indication.given_shape {
        Some(shape) => shape == Shape::Linear,
        None => length_mm > 3.0 * width_mm,
    };
    Call {
        id: indication.id.clone(),
        feret_mm: seen.feret_mm,
        length_mm,
        path_mm: seen.path_mm,
        width_mm,
        length_u_mm: indication.length.expanded_mm(),
        width_u_mm: indication.width.expanded_mm(),
        linear,
        contrast: seen.contrast,
        doubts: indication.doubts.iter().map(nde_core::Doubt::word).collect(),
        at_px: seen.centroid_px,
    }
}

const fn reason_word(reason: SetAsideReason) -> &'static str {
    match reason {
        SetAsideReason::Faint => "faint",
        SetAsideReason::Brownish => "brownish",
        SetAsideReason::Dark => "dark",
        SetAsideReason::PinkArea => "pink area",
        SetAsideReason::OutsideCoat => "outside coat",
        _ => "other",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn matching_is_one_to_one_and_as_large_as_possible() {
        // Body 0 could take call 0 or 1, body 1 only call 0.
        let near = vec![vec![(0.0, 0), (0.5, 1)], vec![(0.2, 0)], vec![]];
        assert_eq!(matched(&near, 3), vec![Some(1), Some(0), None]);
    }
}
