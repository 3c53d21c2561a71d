//! Pixels to millimetres: the card, a rule, two known points, or a known pitch.
//!
//! ```text
//! dictionary -> design -> height -> spec -> error -> bend -> plane -> observed -> camera -> terms -> found -> grey
//!            -> quads -> markers -> consensus -> saddle -> card -> paper -> edges -> points -> given -> ticks -> sighted -> here
//! ```
//!
//! # Does not
//! Correct lens distortion that the scale does not tell: it is in the uncertainty. A rule's many ticks tell it,
//! and a card that is large in the photo.

pub mod dictionary;
pub mod design;
mod height;
mod spec;
mod error;
mod bend;
mod plane;
mod observed;
mod camera;
mod terms;
mod found;
mod grey;
mod quads;
mod markers;
mod consensus;
mod saddle;
mod sizes;
mod card;
mod paper;
mod edges;
mod points;
mod given;
mod ticks;
mod sighted;

pub use bend::Bend;
pub use camera::{Pose, STATED_FOCAL_U, TYPICAL_FOCAL_35MM, TYPICAL_FOCAL_WITHIN, View, focal_px};
pub use design::{CardDesign, CardName, DesignError};
pub use edges::EdgeSharpness;
pub use error::{RuleRemedy, ScaleError};
pub use found::{CardSeen, Focal, RuleSeen, Scale, ScaleKind, ScaleOptions, TickSeen};
pub use height::{Height, HeightError, LEVEL_WITHIN_MM, STATED_WITHIN_MM};
pub use plane::Plane;
pub use points::{CLICK_U_PX, STATED_PITCH_U, UNSEEN_TILT_DEG};
pub use sighted::{MarkerSighted, RowSighted, Sighted, sighted};
pub use spec::{ScaleSpec, SpecError, TickPitch};
pub use terms::{CALLIPER_U_MM, FIT_TOLD_AT_MM, LENS_U_AT_80MM, PAPER_U, RULE_U, UNCHECKED_PRINT};

use crate::budget::combined;
use crate::photo::Frame;
use crate::{Photo, PointMm, PointPx};
use card::LEAST_CORNER_U_PX;
use given::seen_squarely;
use nalgebra::{Matrix3, Rotation2, Vector2};
use nde_core::Doubt;
use paper::Margin;
use points::Known;
use terms::FocalTrust;
use ticks::FocalKnown;

/// Margin beyond the cut line that still counts as covered by the card.
const COVER_MORE_MM: f64 = 1.0;
/// The surface may lie at most so far towards the camera, as a share of the camera's height. Chosen:
/// beyond it the number or its unit is a mistake.
const MOST_RAISED: f64 = 0.5;

/// Finds the scale in the photo; without any specification, the card.
///
/// # Errors
/// See [`ScaleError`].
pub fn find(photo: &Photo, specs: &[ScaleSpec]) -> Result<Scale, ScaleError> {
    find_with(photo, specs, &ScaleOptions::default())
}

/// Finds the scale in the photo, knowing something about the camera.
///
/// Several `points` are one scale (their agreement tells their uncertainty); anything else is given
/// once. Of several cards in one photo the one that shows most gives the frame; the others stand in
/// [`Scale::others`]. The frame of a rule starts at one of its longest ticks: numerals are not read.
///
/// # Errors
/// See [`ScaleError`].
pub fn find_with(
    photo: &Photo,
    specs: &[ScaleSpec],
    options: &ScaleOptions,
) -> Result<Scale, ScaleError> {
    options.checked()?;
    let all_points: Option<Vec<Known>> = specs.iter().map(known).collect();
    match (specs, all_points) {
        ([], _) => by_card(photo, &CardDesign::all(), None, options),
        (_, Some(known)) => by_points(photo, &known, options),
        ([ScaleSpec::Card { bars_mm }], _) => by_card(photo, &CardDesign::all(), *bars_mm, options),
        ([ScaleSpec::Board { squares: [columns, rows], square_mm, marker_mm }], _) => {
            let board = CardDesign::own(*columns, *rows, *square_mm, *marker_mm)
                .map_err(|e| ScaleError::NoCard { detail: e.to_string() })?;
            by_card(photo, &[board], None, options)
        }
        ([ScaleSpec::Pitch { mm_per_px }], _) => by_pitch(photo, *mm_per_px, options),
        ([ScaleSpec::Ticks { pitch, within_px }], _) => by_ticks(photo, *pitch, within_px, options),
        ([spec], _) => Err(ScaleError::NotYetRead { spec: spec.to_string() }),
        ([first, rest @ ..], _) => {
            let other = rest.iter().find(|s| kind_of(s) != kind_of(first));
            Err(match other {
                Some(second) => ScaleError::SeveralKinds {
                    first: first.to_string(),
                    second: second.to_string(),
                },
                None => ScaleError::Repeated { spec: first.to_string() },
            })
        }
    }
}

fn kind_of(spec: &ScaleSpec) -> std::mem::Discriminant<ScaleSpec> {
    std::mem::discriminant(spec)
}

fn known(spec: &ScaleSpec) -> Option<Known> {
    match *spec {
        ScaleSpec::Points { from_px, to_px, distance_mm } => {
            Some(Known { from_px, to_px, distance_mm })
        }
        _ => None,
    }
}

/// What tilt, distance and heights rest on, and what is doubtful about it.
struct Lens {
    focal: Focal,
    px: f64,
    size_px: [u32; 2],
    doubts: Vec<Doubt>,
}

impl Lens {
    fn of(photo: &Photo, options: &ScaleOptions) -> Self {
        let size_px = photo.size_px();
        let typical = Focal::Typical(TYPICAL_FOCAL_35MM);
        let changed = |stamped_px| (typical, vec![Doubt::PhotoChanged { stamped_px, size_px }]);
        let (focal, doubts) = match (options.focal_35mm, photo.stamp().focal_35mm) {
            (Some(known), _) => (Focal::Stated(known), Vec::new()),
            (None, None) => (typical, Vec::new()),
            (None, Some(stamped)) => match photo.stamp().frame(size_px) {
                Frame::Whole => (Focal::Stated(stamped), Vec::new()),
                Frame::Resized { stamped_px } => changed(Some(stamped_px)),
                Frame::Cropped => changed(None),
            },
        };
        Self { focal, px: focal_px(focal.mm35(), size_px), size_px, doubts }
    }

    fn pose(&self, plane: &Plane) -> Option<Pose> {
        Pose::of(&plane.photo_from_part, self.px, self.size_px)
    }

    /// The scale with its plane moved to the surface, and what that does to the uncertainty.
    fn raised(&self, scale: Scale, height: Option<Height>) -> Result<Scale, ScaleError> {
        let on_the_surface = matches!(scale.kind, ScaleKind::Points | ScaleKind::Pitch);
        if height.is_none() && on_the_surface {
            return Ok(scale);
        }
        let pose = self.pose(&scale.plane);
        let Some(pose) = pose else {
            return match height {
                None => Ok(scale),
                Some(height) => Err(ScaleError::HeightUnclear { height_mm: height.mm }),
            };
        };
        let (height_mm, camera_mm) = (height.map_or(0.0, |h| h.mm), pose.height_mm());
        let raised = pose.raised(&scale.plane, height_mm);
        let plane = raised
            .filter(|_| height_mm <= MOST_RAISED * camera_mm)
            .ok_or(ScaleError::TooHigh { height_mm, camera_mm })?;
        let at = |f: f64| Pose::of(&scale.plane.photo_from_part, self.px * f, self.size_px);
        let slope = terms::height_slope(at).unwrap_or(1.0);
        let trust = match self.focal {
            Focal::Stated(_) => FocalTrust::Stated,
            Focal::Typical(_) => FocalTrust::Assumed,
        };
        let mut doubts = scale.doubts;
        if let (Focal::Typical(focal_35mm), true) = (self.focal, height_mm.abs() > 0.0) {
            doubts.push(Doubt::FocalAssumed { focal_35mm });
        }
        let mut terms = scale.terms;
        terms.extend(terms::height(height, camera_mm, slope, trust));
        let relative_u = terms::next_to(&terms, plane.bend);
        Ok(Scale { plane, terms, relative_u, doubts, height, ..scale })
    }
}

fn by_card(
    photo: &Photo,
    designs: &[CardDesign],
    bars_mm: Option<[f64; 2]>,
    options: &ScaleOptions,
) -> Result<Scale, ScaleError> {
    let lens = Lens::of(photo, options);
    let mut all = Vec::new();
    for (found, bars_mm) in card::find(photo, designs, bars_mm)? {
        all.push(lens.raised(of_card(photo, &found, bars_mm, &lens), options.height)?);
    }
    let mut all = all.into_iter();
    let none = || ScaleError::NoCard { detail: "no marker could be read".to_owned() };
    let mut first = all.next().ok_or_else(none)?;
    for other in all {
        first.covers_px.extend(other.covers_px.iter().cloned());
        first.white_samples_px.extend(&other.white_samples_px);
        first.paper_px.extend(&other.paper_px);
        first.others.extend(in_frame_of(&first, other));
    }
    Ok(first)
}

/// The scale of one card, taken as level with the surface.
fn of_card(photo: &Photo, found: &card::Found, bars_mm: Option<[f64; 2]>, lens: &Lens) -> Scale {
    let design = &found.design;
    let board = design.board();
    let centre = found.printed([board.width_mm / 2.0, board.height_mm / 2.0]);
    let pose = lens.pose(&found.fit.plane);
    let here = found.fit.plane.straight(found.fit.plane.to_photo(centre));
    let seen = pose.and_then(|pose| pose.view(here));
    let (mut terms, mut doubts) = terms::print(design, bars_mm);
    doubts.extend(lens.doubts.iter().cloned());
    let own_u = combined(&terms);
    let fit_u = FIT_TOLD_AT_MM.map(|away_mm| {
        let beside = design.cut().grown(away_mm).corners();
        let u = |c: &PointMm| found.fit.relative_u(found.printed(*c), LEAST_CORNER_U_PX);
        beside.iter().map(u).fold(0.0, f64::max)
    });
    terms.push(terms::fit(fit_u[0], found.corners_px.len()));
    let paper = Margin::of(photo, found);
    let sharp = edges::sharpness(photo, found);
    let cover = design.cut().grown(COVER_MORE_MM).corners();
    Scale {
        kind: ScaleKind::Card,
        relative_u: terms::next_to(&terms, found.fit.plane.bend),
        terms,
        own_u,
        // Without the lens in it what the fit leaves open is little against what the lens may bend.
        fit_u: found.fit.plane.bend.map_or([0.0; 2], |_| fit_u),
        covers_px: vec![cover.iter().map(|c| found.to_photo(*c)).collect()],
        features_px: found.corners_px.clone(),
        residual_px: found.fit.point_u_px.map(|_| found.fit.rms_px),
        tilt_deg: seen.map(|v| v.tilt_deg),
        camera_distance_mm: seen.map(|v| v.distance_mm),
        pose,
        height: None,
        focal: seen.map(|_| lens.focal),
        rule: None,
        card: Some(CardSeen {
            design: design.clone(),
            markers_seen: found.markers_seen,
            corners_kept: found.corners_px.len(),
        }),
        white_samples_px: paper.white_px,
        paper_px: paper.any_light_px,
        edge_sigma_px: sharp.map(|s| s.sigma_px),
        edge_overshoot: sharp.map(|s| s.overshoot),
        doubts,
        outline_mm: design.cut().corners().iter().map(|c| found.printed(*c)).collect(),
        plane: found.fit.plane.clone(),
        others: Vec::new(),
    }
}

/// A further card turned and moved, not scaled, so that it lies on the part where the first scale
/// sees it; none where the first sees no such place.
///
/// Turn and shift by least squares over its corners. Source: the orthogonal Procrustes problem in
/// the plane, closed form (from memory).
fn in_frame_of(first: &Scale, other: Scale) -> Option<Scale> {
    let vector = |p: PointMm| Vector2::new(p[0], p[1]);
    let own: Vec<Vector2<f64>> = other.outline_mm.iter().copied().map(vector).collect();
    let seen: Vec<Vector2<f64>> = other
        .outline_mm
        .iter()
        .map(|p| vector(first.plane.to_part(other.plane.to_photo(*p))))
        .collect();
    let middle =
        |points: &[Vector2<f64>]| points.iter().sum::<Vector2<f64>>() / points.len() as f64;
    let (from, to) = (middle(&own), middle(&seen));
    let (mut cos, mut sin) = (0.0, 0.0);
    for (a, b) in own.iter().zip(&seen) {
        let (a, b) = (a - from, b - to);
        cos += a.dot(&b);
        sin += a.perp(&b);
    }
    let turn = Rotation2::new(sin.atan2(cos));
    let shift = to - turn * from;
    let moved = |p: PointMm| {
        let v = turn * vector(p) + shift;
        [v.x, v.y]
    };
    let own_from_first = turn.inverse();
    let back = own_from_first * -shift;
    let r = own_from_first.matrix();
    let own_from_first =
        Matrix3::new(r[(0, 0)], r[(0, 1)], back.x, r[(1, 0)], r[(1, 1)], back.y, 0.0, 0.0, 1.0);
    Some(Scale {
        plane: Plane::from_photo_from_part(other.plane.photo_from_part * own_from_first)?
            .behind(other.plane.bend),
        outline_mm: other.outline_mm.iter().copied().map(moved).collect(),
        ..other
    })
}

fn by_ticks(
    photo: &Photo,
    stated: TickPitch,
    within_px: &[PointPx],
    options: &ScaleOptions,
) -> Result<Scale, ScaleError> {
    let lens = Lens::of(photo, options);
    let focal_known = match lens.focal {
        Focal::Stated(_) => FocalKnown::Told,
        Focal::Typical(_) if lens.doubts.is_empty() => FocalKnown::Typical,
        Focal::Typical(_) => FocalKnown::Unknown,
    };
    let told_at_mm = FIT_TOLD_AT_MM;
    let asked = ticks::Asked { stated, within_px, focal_px: lens.px, focal_known, told_at_mm };
    let ruled = ticks::find(photo, &asked)?;
    let lens = Lens { px: ruled.focal_px, ..lens };
    let [a, b] = ruled.ends_mm;
    let here = ruled.plane.to_photo([(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]);
    let pose = lens.pose(&ruled.plane);
    let seen = pose.and_then(|pose| pose.view(ruled.plane.straight(here)));
    let terms = vec![
        terms::share("the rule's own graduation", RULE_U),
        terms::share("plane through the scale's marks", ruled.fit_u[0]),
    ];
    let relative_u = terms::next_to(&terms, ruled.plane.bend);
    if 2.0 * relative_u > MOST_RULE_U {
        let (why, remedy) = match (ruled.slanted, focal_known) {
            (false, _) => ("too few are seen clearly", RuleRemedy::MoreTicks),
            (true, FocalKnown::Told) => ("they are seen too slanted", RuleRemedy::Square),
            (true, FocalKnown::Unknown) => (
                "they are seen too slanted for a cropped or resized photo, whose focal length no longer holds",
                RuleRemedy::SquareOrOriginal,
            ),
            (true, FocalKnown::Typical) => (
                "they are seen too slanted for a photo that does not tell its focal length",
                RuleRemedy::SquareOrTold,
            ),
        };
        let detail = format!("its ticks fix the scale only to {:.1} %: {why}", 200.0 * relative_u);
        return Err(ScaleError::NoRule { detail, remedy });
    }
    let scale = Scale {
        kind: ScaleKind::Ticks,
        relative_u,
        terms,
        own_u: RULE_U,
        fit_u: ruled.fit_u,
        covers_px: vec![ruled.covers_mm.iter().map(|c| ruled.plane.to_photo(*c)).collect()],
        features_px: ruled.features_px,
        residual_px: Some(ruled.residual_px),
        tilt_deg: seen.map(|v| v.tilt_deg),
        camera_distance_mm: seen.map(|v| v.distance_mm),
        pose,
        height: None,
        focal: Some(lens.focal),
        rule: Some(ruled.rule),
        card: None,
        white_samples_px: Vec::new(),
        paper_px: Vec::new(),
        edge_sigma_px: None,
        edge_overshoot: None,
        doubts: lens.doubts.clone(),
        outline_mm: ruled.ends_mm.to_vec(),
        plane: ruled.plane,
        others: Vec::new(),
    };
    lens.raised(scale, options.height)
}

/// A rule whose ticks leave more expanded uncertainty (k = 2) than this next to it is refused. Chosen on
/// painted rules: of 129 read, the three that were off by more than 2 % had wide or misjudged fits.
const MOST_RULE_U: f64 = 0.02;

fn by_points(photo: &Photo, known: &[Known], options: &ScaleOptions) -> Result<Scale, ScaleError> {
    let square = points::from_points(known, photo.size_px())?;
    let ends: Vec<PointPx> = known.iter().flat_map(|k| [k.from_px, k.to_px]).collect();
    let scale = seen_squarely(ScaleKind::Points, square, ends);
    Lens::of(photo, options).raised(scale, options.height)
}

fn by_pitch(photo: &Photo, mm_per_px: f64, options: &ScaleOptions) -> Result<Scale, ScaleError> {
    let square = points::from_pitch(mm_per_px)?;
    let scale = seen_squarely(ScaleKind::Pitch, square, Vec::new());
    Lens::of(photo, options).raised(scale, options.height)
}

#[cfg(test)]
mod tests;
