//! One still: asked for its scale, known lengths on its plane compared with the painter's camera.

use crate::paint::camera::Camera;
use crate::paint::still::{Lying, Still};
use nde_measure::scale::ScaleOptions;
use nde_measure::{Photo, PhotoLimits, Scale, ScaleSpec, scale};
use std::time::Instant;

/// Half the length of a probe, mm.
const HALF_MM: f64 = 5.0;
/// Probes lie up to so far from the scale, mm.
const FARTHEST_MM: f64 = 175.0;
/// Places where the photo would be so many times coarser than in its middle are not probed: nobody measures there.
const COARSEST: f64 = 2.5;

/// A known length on the part's plane as the found scale gives it.
#[derive(Clone, Copy, Debug)]
pub struct Probe {
    /// Distance from the scale, mm.
    pub away_mm: f64,
    /// Relative error of the length.
    pub error: f64,
    /// Stated relative expanded uncertainty there, k = 2.
    pub stated: f64,
}

/// What came of one question.
#[derive(Clone, Debug)]
pub enum Answer {
    /// A scale, with its probes.
    Found(Vec<Probe>),
    /// None, and why.
    Refused(String),
}

/// One question to one still.
#[derive(Clone, Debug)]
pub struct Look {
    /// The still's seed.
    pub seed: u64,
    /// What was asked for.
    pub asked: String,
    /// What came of it.
    pub answer: Answer,
    /// From JPEG bytes to the scale.
    pub seconds: f64,
}

impl Look {
    /// Asks a still, packed as a JPEG, for its scale.
    #[must_use]
    pub fn at(still: &Still, jpeg: &[u8], spec: &ScaleSpec) -> Self {
        let start = Instant::now();
        let options = ScaleOptions::default().with_focal_35mm(still.told_35mm);
        let found = Photo::decode(jpeg, &PhotoLimits::default())
            .map_err(|e| e.to_string())
            .and_then(|photo| {
                scale::find_with(&photo, std::slice::from_ref(spec), &options)
                    .map_err(|e| e.to_string())
            });
        let seconds = start.elapsed().as_secs_f64();
        let answer = match found {
            Ok(scale) => Answer::Found(probes(still, &scale)),
            Err(why) => Answer::Refused(why),
        };
        Self { seed: still.seed, asked: spec.to_string(), answer, seconds }
    }

    /// Probes of a scale that was found; none of a refusal.
    #[must_use]
    pub fn probes(&self) -> &[Probe] {
        match &self.answer {
            Answer::Found(probes) => probes,
            Answer::Refused(_) => &[],
        }
    }

    /// Greatest error, either way, of the lengths between two distances from the scale.
    #[must_use]
    pub fn worst(&self, [low, high]: [f64; 2]) -> Option<f64> {
        let near = self.probes().iter().filter(|p| p.away_mm >= low && p.away_mm < high);
        near.map(|p| p.error.abs()).max_by(f64::total_cmp)
    }
}

/// Lengths of 10 mm along and across the scale, on a grid round it.
fn probes(still: &Still, scale: &Scale) -> Vec<Probe> {
    let (centre, angle) = match &still.lying {
        Lying::Card(card) => (card.centre_mm, card.angle),
        // A rule may be longer than the photo: round the middle of what is seen.
        Lying::Rules(rules) => {
            let [u, v] = rules[0].on_rule([0.0, 0.0]);
            (rules[0].on_part([u, v.clamp(0.0, rules[0].size_mm[1])]), rules[0].angle)
        }
    };
    let (sin, cos) = angle.sin_cos();
    let finest = still.camera.mm_per_px([0.0, 0.0]);
    let mut all = Vec::new();
    for i in -9_i32..=9 {
        for j in -9_i32..=9 {
            let (x, y) = (20.0 * f64::from(i), 20.0 * f64::from(j));
            let at = [centre[0] + cos * x - sin * y, centre[1] + sin * x + cos * y];
            let away_mm = still.away_mm(at);
            if away_mm > FARTHEST_MM || !shown(&still.camera, at, finest) {
                continue;
            }
            for d in [[cos, sin], [-sin, cos]] {
                let ends = [-1.0, 1.0].map(|s| [0, 1].map(|k| at[k] + s * HALF_MM * d[k]));
                let [a, b] = ends.map(|e| scale.plane.to_part(still.camera.to_photo(e)));
                let error = (a[0] - b[0]).hypot(a[1] - b[1]) / (2.0 * HALF_MM) - 1.0;
                let here = scale.plane.to_part(still.camera.to_photo(at));
                let stated = 2.0 * scale.relative_u_at(here);
                all.push(Probe { away_mm, error, stated });
            }
        }
    }
    all
}

/// Whether a place lies in front of the camera and is not seen much more coarsely than the middle.
fn shown(camera: &Camera, at: [f64; 2], finest: f64) -> bool {
    let back = camera.to_part(camera.to_photo(at));
    back.is_some_and(|b| (b[0] - at[0]).hypot(b[1] - at[1]) < 0.1)
        && camera.mm_per_px(at) < COARSEST * finest
}
