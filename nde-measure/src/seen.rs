//! What is said of each mark: sizes on the part, uncertainty, doubts.

mod doubts;

use crate::blur::true_width;
use crate::budget::{COVERAGE, Term, combined};
use crate::outline::Body;
use crate::path::Path;
use crate::photo::{Cells, Mask};
use crate::size::{area_and_centroid, largest_circle, max_feret};
use crate::sorting::{SortingOptions, Surroundings};
use crate::{PointMm, PointPx, Scale};
use doubts::{Sizes, doubts};
use nde_core::{Doubt, Indication, Length, Measured, Place, Point, Relevance, Spread};

/// One counted indication with everything measured on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// What the rules need. Its length is [`Seen::feret_mm`] or, for a curved indication (along its
    /// centre line more than a tenth longer), [`Seen::path_mm`]; its width is [`Seen::seen_width_mm`] with
    /// the photo's blur taken back where that was measured.
    pub indication: Indication,
    /// Closed outline in the photo, pixels.
    pub outline_px: Vec<PointPx>,
    /// Centroid in the photo.
    pub centroid_px: PointPx,
    /// Centroid on the part.
    pub centroid_mm: PointMm,
    /// Direction of the length on the part, degrees from x towards y, in [0, 180).
    pub angle_deg: f64,
    /// Area inside the outline, mm².
    pub area_mm2: f64,
    /// Maximum Feret diameter: the greatest distance between two points of the half-contrast
    /// outline, carried on into ends that fade out below half contrast; of a spot without what
    /// grain adds to it.
    pub feret_mm: f64,
    /// Length along the centre line, mm; of a spot the same as [`Seen::feret_mm`].
    pub path_mm: f64,
    /// Maximum Feret diameter of the visible extent (lower contour).
    pub visible_mm: f64,
    /// Diameter of the largest circle inside the outline, as seen, blur not taken back.
    pub seen_width_mm: f64,
    /// Area divided by path length.
    pub mean_width_mm: f64,
    /// Peak loss of green reflectance above the ground around, 0 to 1.
    pub contrast: f64,
    /// Colour direction E/D: about 0 to 0.6 for dye, below -0.35 for rust and oil.
    pub colour_direction: f64,
    /// Angle between the line of sight and the surface's normal here, degrees; absent where unknown.
    pub tilt_deg: Option<f64>,
    /// Where the uncertainty of the length comes from.
    pub length_terms: LengthTerms,
}

/// Where the uncertainty of one length comes from, each source with what it brings in millimetres.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct LengthTerms {
    /// From the scale: common to every length of the photo that lies as far from the scale.
    pub scale: Vec<Term>,
    /// From this indication's own edges; empty where it is too faint for a stated uncertainty.
    pub edge: Vec<Term>,
}

/// What all marks of one photo share.
pub(crate) struct Picture<'a> {
    pub(crate) scale: &'a Scale,
    pub(crate) size_px: [u32; 2],
    /// Blur of the photo, pixels; absent when not measured.
    pub(crate) blur_px: Option<f64>,
    /// Blur to reckon with when it was not measured, pixels.
    pub(crate) typical_blur_px: f64,
    pub(crate) cells: &'a Cells,
    /// Burnt-out ground that is searched, with the marks on it.
    pub(crate) glare: &'a Mask,
    pub(crate) sorting: &'a SortingOptions,
}

impl Picture<'_> {
    /// The same picture, read with the scale that lies nearest to a place.
    pub(crate) fn at(&self, at_px: PointPx) -> Picture<'_> {
        Picture { scale: self.scale.nearest(at_px), ..*self }
    }

    pub(crate) fn to_part(&self, line_px: &[PointPx]) -> Vec<PointMm> {
        to_part(self.scale, line_px)
    }
}

fn to_part(scale: &Scale, line_px: &[PointPx]) -> Vec<PointMm> {
    line_px.iter().map(|p| scale.plane.to_part(*p)).collect()
}

/// Standard uncertainty of where an edge is, pixels: simulated half-contrast edges scatter by 0.1.
const EDGE_U_PX: f64 = 0.1;
/// Standard uncertainty of what "the edge" of a bleed-out is, mm (0.05 mm rectangular). Chosen.
const EDGE_DEFINITION_U_MM: f64 = 0.03;
/// What a mark at the limit of being sized adds to that, mm; nothing from half contrast on. Chosen on
/// painted scenes, where 0.08 mm brings the coverage of medium marks near that of strong ones.
const WEAK_EDGE_U_MM: f64 = 0.08;
/// From this length against width on a body has a centre line worth following. Chosen.
const LEAST_LINE_RATIO: f64 = 2.0;
/// Below this peak contrast no length uncertainty is claimed: simulated faint marks break up or
/// run together with streaks, and a stated interval covered only six in ten of them.
const LEAST_SIZED_CONTRAST: f64 = 0.23;

/// What the visible extent reaches beyond the half-contrast outline at a blunt end, against the softness of the
/// dye along the sides. This and the next two chosen together on 300 painted scenes and looked at on scenes
/// of another painter: a quarter more or less of one changes how many lengths are 0.15 mm off by less than a tenth.
const BLUNT_END: f64 = 1.25;
/// The blur's part of that softness, standard deviations of the blur: between levels 0.5 and 0.3 lie 0.37 of
/// them beside a line much thinner than the blur, 0.52 at a lone edge. It is no dye's, so it is not taken off:
/// blur shortens a thin end by as much as it spreads it.
const SOFTNESS_OF_BLUR: f64 = 0.4;
/// Grain carries the farthest place of the visible extent outwards by this many times the scatter of the edge.
const GRAIN_AT_ENDS: f64 = 4.0;
/// Of the many nearly equal diameters of a spot the greatest is the one that grain lengthens, by this many
/// times the scatter of the edge. Chosen on painted scenes, where medium spots read 0.02 mm long without it. A
/// line has one direction to be long in.
const GRAIN_ON_SPOT: f64 = 0.6;
/// Scatter beyond this is no grain, mm. Chosen: powder scatters painted edges by 0.01 to 0.05.
const MOST_GRAIN_MM: f64 = 0.1;

/// Everything measured on a counted body; `None` where its outline has no size.
///
/// Where a mark thins out below the blur, half of its own peak cuts its ends off. The visible
/// extent reaches further, but everywhere by the softness of the edge, not only at the ends. So
/// the length is the half-contrast Feret diameter plus what the visible extent reaches beyond it
/// in excess of that softness (mean distance of the two outlines, without the blur's part) and of
/// what grain adds to a greatest distance.
pub(crate) fn seen(body: &Body, around: &Surroundings<'_>, picture: &Picture<'_>) -> Option<Seen> {
    let all = picture.scale;
    let picture = &picture.at(area_and_centroid(&body.outline_px).1);
    let outline_mm = picture.to_part(&body.outline_px);
    let half = max_feret(&outline_mm)?;
    let (area, centroid_mm) = area_and_centroid(&outline_mm);
    let (_, centroid_px) = area_and_centroid(&body.outline_px);
    let area_mm2 = area.abs();
    let pitch = picture.scale.plane.mm_per_px(centroid_px);
    let seen_width_mm = largest_circle(&outline_mm, 0.003)?.1;

    let visible_mm_line = picture.to_part(&body.visible_px);
    let visible_mm = max_feret(&visible_mm_line).map_or(half.length, |f| f.length.max(half.length));
    let perimeter: f64 = outline_mm
        .iter()
        .zip(outline_mm.iter().cycle().skip(1))
        .map(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1]))
        .sum();
    let softness =
        (area_and_centroid(&visible_mm_line).0.abs() - area_mm2).max(0.0) / perimeter.max(1e-9);
    // A visible extent that runs far beyond is another mark's or a streak's.
    let most = (0.15 * half.length).max(0.6);
    let sigma_mm = picture.blur_px.unwrap_or(picture.typical_blur_px) * pitch;
    // Grain takes a share of the light that is left.
    let spread_mm = body.ground_spread / body.slope_per_mm.max(0.05);
    let scatter_mm = ((1.0 - body.level).clamp(0.0, 1.0) * spread_mm).min(MOST_GRAIN_MM);
    // A spot has no thin ends; what its visible extent reaches beyond is its halo or its neighbour.
    let line = half.length > LEAST_LINE_RATIO * seen_width_mm;
    let (half_mm, tips) = if line {
        // Where the blur is not known, all of the softness is taken off, which stands for grain as well.
        let blunt = picture.blur_px.map_or(2.0 * softness, |_| {
            let of_dye = (softness - SOFTNESS_OF_BLUR * sigma_mm).max(0.0);
            2.0 * BLUNT_END * of_dye + GRAIN_AT_ENDS * scatter_mm
        });
        (half.length, (visible_mm - half.length - blunt).clamp(0.0, most))
    } else {
        let grain = GRAIN_ON_SPOT * scatter_mm;
        ((half.length - grain).max(seen_width_mm), 0.0)
    };
    let feret_mm = half_mm + tips;

    let width_mm = picture.blur_px.map_or(seen_width_mm, |b| true_width(seen_width_mm, b * pitch));

    let path = Path::of(&body.mask)?;
    let origin = [body.window.x0 as f64 + 0.5, body.window.y0 as f64 + 0.5];
    let along =
        path.length_mm(|p| picture.scale.plane.to_part([p[0] + origin[0], p[1] + origin[1]]));
    // The thinned line leaves out the fading ends and cuts corners; it is never less than the chord.
    // A spot has no centre line of its own: its length is its greatest extent.
    let long = feret_mm > LEAST_LINE_RATIO * seen_width_mm;
    let path_mm = if long { (along + tips).max(feret_mm) } else { feret_mm };
    let curved = path_mm > 1.1 * feret_mm;
    let criterion_mm = if curved { path_mm } else { feret_mm };

    let mut doubts = doubts(
        body,
        around,
        picture,
        &Sizes {
            feret_mm,
            path_mm,
            curved,
            visible_mm,
            tips_mm: tips,
            seen_width_mm,
            median_width_mm: 2.0 * path.median_half_width() * pitch,
            branches: path.branches,
            sigma_mm,
            pitch,
            centroid_mm,
        },
    );

    let noise_mm = 0.5 * spread_mm;
    let edge = (std::f64::consts::SQRT_2 * EDGE_U_PX * pitch).max(0.035);
    // Weak marks have weak edges: simulated ones scatter twice as far as strong ones.
    let weak = WEAK_EDGE_U_MM * ((0.5 - body.contrast()) / 0.25).clamp(0.0, 1.0);
    let noise = Term::normal("noise of the coat", noise_mm.min(0.3), "mm");
    let definition = Term::normal("what the edge of a bleed-out is", EDGE_DEFINITION_U_MM, "mm");
    let length_edge = vec![
        Term::normal("where the two ends are seen", edge, "mm"),
        Term::normal("weak contrast", weak, "mm"),
        definition.clone(),
        Term::normal("ends that thin out", tips, "mm").times(0.5),
        Term::normal("visible beyond half contrast", visible_mm - half.length, "mm").times(0.1),
        noise.clone(),
    ];
    let width_edge = [
        Term::normal("where the two sides are seen", edge, "mm"),
        Term::normal("weak contrast", weak, "mm"),
        definition,
        Term::normal("blur taken back", seen_width_mm - width_mm, "mm").times(0.5),
        noise.times(0.5),
    ];
    let mut scale_terms = picture.scale.terms_at(centroid_mm);
    if let Some((other_mm, share)) = disagreeing(all, picture.scale, &body.outline_px, half.length)
    {
        doubts.push(Doubt::ScalesDisagree { used_mm: half.length, other_mm });
        scale_terms.push(share);
    }
    let faint = body.contrast() < LEAST_SIZED_CONTRAST;
    let measured = |mm: f64, edge: &[Term]| {
        let spread = if faint {
            Spread::Unclaimed
        } else {
            let scale = length(mm * combined(&scale_terms));
            Spread::Standard { edge: length(combined(edge)), scale }
        };
        Measured { value: length(mm), spread }
    };
    let indication = Indication {
        id: String::new(),
        length: measured(criterion_mm, &length_edge),
        width: measured(width_mm, &width_edge),
        path: Some(length(path_mm)),
        edge_shift: Some(length((EDGE_U_PX * pitch).hypot(0.02))),
        place: Some(Place::Outline(
            outline_mm.iter().map(|p| Point::from_mm(p[0], p[1])).collect(),
        )),
        given_shape: None,
        relevance: Relevance::NotYetCalled,
        label: None,
        doubts,
    };
    let d = 1.0 - body.loss[0].min(0.99);
    Some(Seen {
        indication,
        outline_px: body.outline_px.clone(),
        centroid_px,
        centroid_mm,
        angle_deg: half.angle_deg(),
        area_mm2,
        feret_mm,
        path_mm,
        visible_mm,
        seen_width_mm,
        mean_width_mm: area_mm2 / path_mm.max(1e-9),
        contrast: body.contrast(),
        colour_direction: (1.0 - body.loss[2]) / d,
        tilt_deg: picture.scale.view_at(centroid_px).map(|view| view.tilt_deg),
        length_terms: LengthTerms {
            scale: scale_terms.iter().map(|term| term.of(criterion_mm)).collect(),
            edge: if faint { Vec::new() } else { length_edge },
        },
    })
}

/// Of the further scales the one that differs most from the scale used, by more than their expanded
/// uncertainties explain: its reading, and the difference as a source of uncertainty.
fn disagreeing(
    all: &Scale,
    used: &Scale,
    outline_px: &[PointPx],
    used_mm: f64,
) -> Option<(f64, Term)> {
    let expanded = |scale: &Scale| {
        let (_, at_mm) = area_and_centroid(&to_part(scale, outline_px));
        COVERAGE * scale.relative_u_at(at_mm)
    };
    all.all_but(used)
        .filter_map(|other| {
            let other_mm = max_feret(&to_part(other, outline_px))?.length;
            let share = (other_mm / used_mm - 1.0).abs();
            (share > expanded(used).hypot(expanded(other))).then_some((other_mm, share))
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(other_mm, share)| {
            let term = Term::rectangular("another scale that disagrees", 100.0 * share, "%");
            (other_mm, term.times(0.01))
        })
}

/// Lengths are finite and not negative here; what is not counts as nothing.
fn length(mm: f64) -> Length {
    Length::from_mm(mm).unwrap_or(Length::ZERO)
}
