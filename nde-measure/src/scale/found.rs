//! The scale of one photo, and what is known about the camera.

use crate::budget::{Term, combined};
use crate::scale::camera::{Pose, View};
use crate::scale::design::CardDesign;
use crate::scale::error::ScaleError;
use crate::scale::height::Height;
use crate::scale::plane::Plane;
use crate::scale::spec::TickPitch;
use crate::scale::terms;
use crate::{PointMm, PointPx};
use nde_core::Doubt;

/// How the scale was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
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
    /// Not found: the caller knows it ([`Scale::given`]).
    Given,
}

impl ScaleKind {
    /// A short fixed word for lists: `card`, `points`, `pitch`, `ticks` or `given`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Card => "card",
            Self::Points => "points",
            Self::Pitch => "pitch",
            Self::Ticks => "ticks",
            Self::Given => "given",
        }
    }
}

impl std::fmt::Display for ScaleKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.word())
    }
}

/// Focal length that tilt and distance rest on.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Focal {
    /// As the photo tells, 35 mm equivalent.
    Stated(f64),
    /// Not told: that of a typical phone, 35 mm equivalent ([`crate::scale::TYPICAL_FOCAL_35MM`]).
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
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct ScaleOptions {
    /// Focal length of the whole, uncropped photo, 35 mm equivalent, from elsewhere than its stamp;
    /// absent: the stamp is asked.
    pub focal_35mm: Option<f64>,
    /// Height of the surface above the scale's plane; absent: level with it.
    pub height: Option<Height>,
}

impl ScaleOptions {
    /// With a focal length that is known from elsewhere than the photo's stamp.
    #[must_use]
    pub const fn with_focal_35mm(self, focal_35mm: Option<f64>) -> Self {
        Self { focal_35mm, ..self }
    }

    /// With the surface so high above the scale's plane.
    #[must_use]
    pub const fn with_height(self, height: Option<Height>) -> Self {
        Self { height, ..self }
    }

    /// Nothing that is no number may get into an uncertainty.
    pub(crate) fn checked(&self) -> Result<(), ScaleError> {
        if let Some(Height { mm, within_mm }) = self.height
            && !(mm.is_finite() && within_mm.is_finite() && within_mm >= 0.0)
        {
            return Err(ScaleError::NoHeight { height_mm: mm, within_mm });
        }
        match self.focal_35mm {
            Some(focal_35mm) if !FOCAL_35MM.contains(&focal_35mm) => {
                Err(ScaleError::NoFocal { focal_35mm })
            }
            _ => Ok(()),
        }
    }
}

/// Focal lengths that a caller may state, 35 mm equivalent. Chosen: half of the shortest and ten times the
/// longest that a photo's stamp is believed.
pub(crate) const FOCAL_35MM: std::ops::RangeInclusive<f64> = 4.0..=4000.0;

/// The card that lies in the photo.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct CardSeen {
    /// Which one.
    pub design: CardDesign,
    /// Markers that read as printed.
    pub markers_seen: usize,
    /// Inner corners that the plane rests on.
    pub corners_kept: usize,
}

/// A tick of a rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TickSeen {
    /// Its number from the frame's origin, in ticks; x on the part is the number times the graduation.
    pub number: i64,
    /// Kind by its length: 0 for the longest.
    pub kind: usize,
    /// Its two ends in the photo.
    pub ends_px: [PointPx; 2],
}

/// The row of ticks that a rule was read by.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleSeen {
    /// Its graduation as read: the stated one, or one that stands in for it on the same rule.
    pub pitch: TickPitch,
    /// Ticks found, along the row.
    pub ticks: Vec<TickSeen>,
    /// Kind of the ticks of each number from 0 to the next of the longest, which is not listed.
    pub kinds: Vec<usize>,
}

/// The scale of one photo: found by [`find`](crate::scale::find) and [`find_with`](crate::scale::find_with),
/// or made from a plane that the caller knows by [`Scale::given`].
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Scale {
    /// How it was found.
    pub kind: ScaleKind,
    /// Photo to part: the plane of the surface, which is the scale's own unless a height was stated.
    pub plane: Plane,
    /// Relative standard uncertainty of a length next to the scale: [`Scale::terms`], and what a lens
    /// may distort within 20 mm. Farther away see [`Scale::relative_u_at`].
    pub relative_u: f64,
    /// Where it comes from, but for the lens: shares of a length.
    pub terms: Vec<Term>,
    /// The part of `relative_u` that comes from the scale's own size (print, calliper, clicking,
    /// stated pitch): common to every length measured with this scale.
    pub own_u: f64,
    /// Relative standard uncertainty that the plane's fit adds to a length at the two distances
    /// [`crate::scale::FIT_TOLD_AT_MM`] from the scale; it grows evenly from one to the other and on. Equal: it does not grow.
    pub fit_u: [f64; 2],
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
    /// How the camera stands to the scale's plane; absent where unknown.
    pub pose: Option<Pose>,
    /// Height of the surface above the scale's plane as the user says it; absent: taken as level.
    pub height: Option<Height>,
    /// What tilt and distance rest on; absent where there are none.
    pub focal: Option<Focal>,
    /// The card, where one was found.
    pub card: Option<CardSeen>,
    /// The rule, where one was read.
    pub rule: Option<RuleSeen>,
    /// Places in the photo on the card's white margin, clear of ink and of the margin's rim, not
    /// covered: a reference for white paper in this light. Empty without a card.
    pub white_samples_px: Vec<PointPx>,
    /// The same in any light: also where the card lies in a shadow, or is burnt out.
    pub paper_px: Vec<PointPx>,
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
    /// Further cards in the photo, each with its own plane and size, in the frame of this one.
    pub others: Vec<Scale>,
}

impl Scale {
    /// Whether every source of uncertainty of this scale and of the further cards is a number.
    pub(crate) fn uncertainty_is_told(&self) -> bool {
        let numbers = [self.relative_u, self.own_u, self.fit_u[0], self.fit_u[1]];
        numbers.iter().all(|u| u.is_finite() && *u >= 0.0)
            && self.terms.iter().all(|term| term.contribution().is_finite())
            && self.others.iter().all(Self::uncertainty_is_told)
    }

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

    /// Where the uncertainty of a length at a place on the part comes from: shares of the length.
    #[must_use]
    pub fn terms_at(&self, at_mm: PointMm) -> Vec<Term> {
        let away_mm = self.distance_mm(at_mm).unwrap_or(0.0);
        let fit = terms::fit_farther(self.fit_u, away_mm);
        self.terms
            .iter()
            .cloned()
            .chain([terms::lens(away_mm, self.plane.bend)])
            .chain(fit)
            .collect()
    }

    /// Relative standard uncertainty of a length at a place on the part, the scale's own part included.
    #[must_use]
    pub fn relative_u_at(&self, at_mm: PointMm) -> f64 {
        combined(&self.terms_at(at_mm))
    }

    /// How the camera stands to the surface where a photo place lies; absent where unknown.
    #[must_use]
    pub fn view_at(&self, at_px: PointPx) -> Option<View> {
        self.pose.and_then(|pose| pose.view(self.plane.straight(at_px)))
    }

    /// This scale, or the further card that lies nearer to a photo place.
    #[must_use]
    pub fn nearest(&self, at_px: PointPx) -> &Self {
        let away = |s: &Self| s.distance_mm(s.plane.to_part(at_px)).unwrap_or(f64::INFINITY);
        let all = std::iter::once(self).chain(&self.others);
        all.min_by(|a, b| away(a).total_cmp(&away(b))).unwrap_or(self)
    }

    /// This scale and the further cards but for one of them.
    pub fn all_but<'a>(&'a self, one: &'a Self) -> impl Iterator<Item = &'a Self> {
        std::iter::once(self).chain(&self.others).filter(move |s| !std::ptr::eq(*s, one))
    }
}

pub(crate) fn encloses(ring: &[PointMm], [x, y]: PointMm) -> bool {
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
