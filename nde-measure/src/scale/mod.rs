//! Pixels to millimetres: the card, a rule, two known points, or a known pitch.
//!
//! ```text
//! dictionary -> design -> spec -> error -> plane -> grey -> quads -> markers -> consensus
//!            -> saddle -> camera -> card -> edges -> points -> ticks -> here
//! ```
//!
//! # Does not
//! Correct lens distortion or the height of a surface above the scale: both are in the uncertainty.

mod camera;
mod card;
mod consensus;
pub mod design;
pub mod dictionary;
mod edges;
mod error;
mod grey;
mod markers;
mod plane;
mod points;
mod quads;
mod saddle;
mod spec;
mod ticks;

pub use camera::{TYPICAL_FOCAL_35MM, View, focal_px, view};
pub use design::{CardDesign, CardName, DesignError};
pub use edges::EdgeSharpness;
pub use error::ScaleError;
pub use plane::Plane;
pub use points::{CLICK_U_PX, STATED_PITCH_U, UNSEEN_TILT_DEG};
pub use spec::{ScaleSpec, SpecError, TickPitch};

use crate::{Photo, PointMm, PointPx};
use nde_core::Doubt;
use points::{Known, Square};

/// How the scale was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum ScaleKind {
    /// By the printed card.
    Card,
    /// By two points.
    Points,
    /// By a stated pitch.
    Pitch,
    /// By the graduations of a rule.
    Ticks,
}

/// Focal length that tilt and distance rest on.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Focal {
    /// As the photo tells, 35 mm equivalent.
    Stated(f64),
    /// Not told: that of a typical phone, 35 mm equivalent ([`TYPICAL_FOCAL_35MM`]).
    Typical(f64),
}

impl Focal {
    /// 35 mm equivalent.
    #[must_use]
    pub const fn mm35(self) -> f64 {
        match self {
            Self::Stated(f) | Self::Typical(f) => f,
        }
    }
}

/// What is known about the photo beside its pixels.
#[derive(Clone, Copy, Debug, Default)]
#[non_exhaustive]
pub struct ScaleOptions {
    /// Focal length of the whole, uncropped photo, 35 mm equivalent, as its stamp tells; absent where
    /// it does not tell.
    pub focal_35mm: Option<f64>,
}

impl ScaleOptions {
    /// With the focal length that the photo's stamp tells.
    #[must_use]
    pub const fn with_focal_35mm(self, focal_35mm: Option<f64>) -> Self {
        Self { focal_35mm }
    }
}

/// The card that lies in the photo.
#[derive(Clone, Debug, PartialEq)]
pub struct CardSeen {
    /// Which one.
    pub design: CardDesign,
    /// Markers that read as printed.
    pub markers_seen: usize,
    /// Inner corners that the plane rests on.
    pub corners_kept: usize,
}

/// The scale of one photo.
#[derive(Clone, Debug)]
pub struct Scale {
    /// How it was found.
    pub kind: ScaleKind,
    /// Photo to part.
    pub plane: Plane,
    /// Relative standard uncertainty of a length next to the scale: print, fit, and what a lens may
    /// distort within 20 mm. Farther away see [`Scale::relative_u_at`].
    pub relative_u: f64,
    /// The part of `relative_u` that comes from the scale's own size (print, calliper, clicking,
    /// stated pitch): common to every length measured with this scale.
    pub own_u: f64,
    /// What of the photo the scale itself covers (card with its margin): polygons, pixels.
    pub covers_px: Vec<Vec<PointPx>>,
    /// Reference features found, pixels (card corners, the two points).
    pub features_px: Vec<PointPx>,
    /// Root mean square distance of the features from the fitted plane, pixels; absent without redundancy.
    pub residual_px: Option<f64>,
    /// Tilt of the view against the plane's normal at the scale, degrees; absent where unknown.
    pub tilt_deg: Option<f64>,
    /// Distance from the camera to the scale, mm; absent where unknown.
    pub camera_distance_mm: Option<f64>,
    /// What tilt and distance rest on; absent where there are none.
    pub focal: Option<Focal>,
    /// The card, where one was found.
    pub card: Option<CardSeen>,
    /// Places in the photo on the card's white margin, clear of ink and of the margin's rim, not
    /// covered: a reference for white paper in this light. Empty without a card.
    pub white_samples_px: Vec<PointPx>,
    /// Blur of the card's edges, standard deviation in pixels, the pixel's own footprint included;
    /// absent when no edge could be read.
    pub edge_sigma_px: Option<f64>,
    /// Overshoot beside the card's edges as a share of the step (the camera's sharpening); above 0.05
    /// `edge_sigma_px` is too small. Absent when no edge could be read.
    pub edge_overshoot: Option<f64>,
    /// Doubts that every length of this photo shares.
    pub doubts: Vec<Doubt>,
    /// Outline of the scale on the part; empty where it lies nowhere (a stated pitch).
    pub outline_mm: Vec<PointMm>,
}

/// Relative standard uncertainty that an unknown lens distortion adds 80 mm away from the scale; it
/// grows with the square of the distance. Source: simulation with a radial coefficient of 0.05, the
/// most seen on phones (from memory): 0.6 % at 80 mm.
pub const LENS_U_AT_80MM: f64 = 0.006;
/// "Next to the scale" reaches so far beyond its outline.
const NEXT_TO_MM: f64 = 20.0;
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
/// A long rule averages a lens's distortion; towards its ends the scale is off by what the lens does
/// in this share of the half length (chosen: a straight law through a cubic distortion).
const ALONG_SHARE: f64 = 0.6;
/// Corner places are never believed better than this, pixels. Chosen: errors common to all corners
/// (lens, colour filter, JPEG) do not show in their scatter.
const LEAST_CORNER_U_PX: f64 = 0.05;
/// Margin beyond the cut line that still counts as covered by the card.
const COVER_MORE_MM: f64 = 1.0;

impl Scale {
    /// Distance on the part from the scale's outline, mm; zero on it, absent where the scale lies nowhere.
    #[must_use]
    pub fn distance_mm(&self, at_mm: PointMm) -> Option<f64> {
        let n = self.outline_mm.len();
        let edges = (0..n).map(|i| (self.outline_mm[i], self.outline_mm[(i + 1) % n]));
        if n >= 3 && encloses(&self.outline_mm, at_mm) {
            return Some(0.0);
        }
        edges.map(|(a, b)| distance_to_segment(at_mm, a, b)).min_by(f64::total_cmp)
    }

    /// Relative standard uncertainty of a length at a place on the part, the scale's own part included.
    #[must_use]
    pub fn relative_u_at(&self, at_mm: PointMm) -> f64 {
        let away = self.distance_mm(at_mm).unwrap_or(0.0).max(NEXT_TO_MM);
        let next = lens_u(NEXT_TO_MM);
        // `relative_u` holds the lens up to the nearest ring already.
        (self.relative_u.powi(2) - next.powi(2) + lens_u(away).powi(2)).max(0.0).sqrt()
    }
}

fn lens_u(away_mm: f64) -> f64 {
    LENS_U_AT_80MM * (away_mm / 80.0).powi(2)
}

fn encloses(ring: &[PointMm], [x, y]: PointMm) -> bool {
    let n = ring.len();
    let crossed = (0..n).filter(|i| {
        let (a, b) = (ring[*i], ring[(*i + 1) % n]);
        (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    });
    crossed.count() % 2 == 1
}

fn distance_to_segment(p: PointMm, a: PointMm, b: PointMm) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let square = dx * dx + dy * dy;
    let along = if square > 0.0 {
        (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (p[0] - a[0] - along * dx).hypot(p[1] - a[1] - along * dy)
}

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
/// once. Of cards of different designs in one photo the one that shows most is used; two cards of
/// one design are refused. The frame of a rule starts at one of its longest ticks: numerals are not
/// read.
///
/// # Errors
/// See [`ScaleError`].
pub fn find_with(
    photo: &Photo,
    specs: &[ScaleSpec],
    options: &ScaleOptions,
) -> Result<Scale, ScaleError> {
    let all_points: Option<Vec<Known>> = specs.iter().map(known).collect();
    match (specs, all_points) {
        ([], _) => by_card(photo, &CardDesign::all(), None, options),
        (_, Some(known)) => by_points(photo, &known),
        ([ScaleSpec::Card { bars_mm }], _) => by_card(photo, &CardDesign::all(), *bars_mm, options),
        ([ScaleSpec::Board { squares: [columns, rows], square_mm, marker_mm }], _) => {
            let board = CardDesign::own(*columns, *rows, *square_mm, *marker_mm)
                .map_err(|e| ScaleError::NoCard { detail: e.to_string() })?;
            by_card(photo, &[board], None, options)
        }
        ([ScaleSpec::Pitch { mm_per_px }], _) => by_pitch(photo, *mm_per_px),
        ([ScaleSpec::Ticks(pitch @ (TickPitch::Millimetre | TickPitch::HalfMillimetre))], _) => {
            by_ticks(photo, *pitch, options)
        }
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

fn by_card(
    photo: &Photo,
    designs: &[CardDesign],
    bars_mm: Option<[f64; 2]>,
    options: &ScaleOptions,
) -> Result<Scale, ScaleError> {
    let found = card::find(photo, designs, bars_mm)?;
    let design = &found.design;
    let size_px = [photo.rgb().width(), photo.rgb().height()];
    let focal = options.focal_35mm.map_or(Focal::Typical(TYPICAL_FOCAL_35MM), Focal::Stated);
    let board = design.board();
    let centre = found.printed([board.width_mm / 2.0, board.height_mm / 2.0]);
    let seen = view(
        &found.fit.plane.photo_from_part,
        found.fit.plane.to_photo(centre),
        focal_px(focal.mm35(), size_px),
        size_px,
    );
    let (own_u, doubts) = match (design.name(), bars_mm) {
        (_, Some([across, down])) => {
            ((CALLIPER_U_MM / across.min(down)).hypot(PAPER_U), Vec::new())
        }
        // The user states the sizes of an own board as they are: measured over its length.
        (CardName::Own, None) => {
            ((CALLIPER_U_MM / board.width_mm.max(board.height_mm)).hypot(PAPER_U), Vec::new())
        }
        (_, None) => (UNCHECKED_PRINT / 3.0_f64.sqrt(), vec![Doubt::UnverifiedPrint]),
    };
    let beside = design.cut().grown(NEXT_TO_MM).corners();
    let fit_u = beside
        .iter()
        .map(|c| found.fit.relative_u(found.printed(*c), LEAST_CORNER_U_PX))
        .fold(0.0, f64::max);
    let sharp = edges::sharpness(photo, &found);
    let cover = design.cut().grown(COVER_MORE_MM).corners();
    Ok(Scale {
        kind: ScaleKind::Card,
        relative_u: own_u.hypot(fit_u).hypot(lens_u(NEXT_TO_MM)),
        own_u,
        covers_px: vec![cover.iter().map(|c| found.to_photo(*c)).collect()],
        features_px: found.corners_px.clone(),
        residual_px: found.fit.point_u_px.map(|_| found.fit.rms_px),
        tilt_deg: seen.map(|v| v.tilt_deg),
        camera_distance_mm: seen.map(|v| v.distance_mm),
        focal: seen.map(|_| focal),
        card: Some(CardSeen {
            design: design.clone(),
            markers_seen: found.markers_seen,
            corners_kept: found.corners_px.len(),
        }),
        white_samples_px: card::white_samples(photo, &found),
        edge_sigma_px: sharp.map(|s| s.sigma_px),
        edge_overshoot: sharp.map(|s| s.overshoot),
        doubts,
        outline_mm: design.cut().corners().iter().map(|c| found.printed(*c)).collect(),
        plane: found.fit.plane,
    })
}

fn by_ticks(photo: &Photo, pitch: TickPitch, options: &ScaleOptions) -> Result<Scale, ScaleError> {
    let size_px = [photo.rgb().width(), photo.rgb().height()];
    let focal = options.focal_35mm.map_or(Focal::Typical(TYPICAL_FOCAL_35MM), Focal::Stated);
    let focal_px = focal_px(focal.mm35(), size_px);
    let ruled = ticks::find(photo, pitch, focal_px)?;
    let [a, b] = ruled.ends_mm;
    let here = ruled.plane.to_photo([(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]);
    let seen = view(&ruled.plane.photo_from_part, here, focal_px, size_px);
    Ok(Scale {
        kind: ScaleKind::Ticks,
        relative_u: RULE_U
            .hypot(ruled.fit_u)
            .hypot(lens_u(NEXT_TO_MM))
            .hypot(lens_u(ALONG_SHARE * (b[0] - a[0]).abs() / 2.0)),
        own_u: RULE_U,
        covers_px: vec![ruled.covers_mm.iter().map(|c| ruled.plane.to_photo(*c)).collect()],
        features_px: ruled.features_px,
        residual_px: Some(ruled.residual_px),
        tilt_deg: seen.map(|v| v.tilt_deg),
        camera_distance_mm: seen.map(|v| v.distance_mm),
        focal: Some(focal),
        card: None,
        white_samples_px: Vec::new(),
        edge_sigma_px: None,
        edge_overshoot: None,
        doubts: Vec::new(),
        outline_mm: ruled.ends_mm.to_vec(),
        plane: ruled.plane,
    })
}

fn by_points(photo: &Photo, known: &[Known]) -> Result<Scale, ScaleError> {
    let size_px = [photo.rgb().width(), photo.rgb().height()];
    let square = points::from_points(known, size_px)?;
    let ends: Vec<PointPx> = known.iter().flat_map(|k| [k.from_px, k.to_px]).collect();
    Ok(seen_squarely(ScaleKind::Points, square, ends))
}

fn by_pitch(_photo: &Photo, mm_per_px: f64) -> Result<Scale, ScaleError> {
    let square = points::from_pitch(mm_per_px)?;
    Ok(seen_squarely(ScaleKind::Pitch, square, Vec::new()))
}

fn seen_squarely(kind: ScaleKind, square: Square, features_px: Vec<PointPx>) -> Scale {
    let outline_mm = features_px.iter().take(2).map(|p| square.plane.to_part(*p)).collect();
    Scale {
        kind,
        relative_u: square.relative_u.hypot(lens_u(NEXT_TO_MM)),
        own_u: square.relative_u,
        covers_px: Vec::new(),
        features_px,
        residual_px: None,
        tilt_deg: None,
        camera_distance_mm: None,
        focal: None,
        card: None,
        white_samples_px: Vec::new(),
        edge_sigma_px: None,
        edge_overshoot: None,
        doubts: Vec::new(),
        outline_mm,
        plane: square.plane,
    }
}

#[cfg(test)]
mod tests;
