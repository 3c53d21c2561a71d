//! One indication as every export shows it. What is not known is absent.

use super::origins::LengthOrigins;
use super::picture::fine;
use super::said::Said;
use super::sizes::{Size, Told};
use super::word;
use nde_core::{
    Indication, Judged, Length, LinearPast, Measured, Place, Ratio, Relevance, Shape, Side,
    Verdict, call_shape, length_over_width,
};
use nde_measure::{PointPx, Seen};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One indication.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Row {
    /// Its name in its photo or list.
    pub id: String,
    /// Linear or rounded.
    #[schemars(with = "word::KindWord")]
    pub kind: Shape,
    /// Probability of linear.
    pub p_linear: Option<f64>,
    /// Length end to end.
    pub length: Size,
    pub width: Size,
    /// Length over width.
    pub ratio: Option<f64>,
    /// Centroid in the upright photo.
    pub at_px: Option<[f64; 2]>,
    /// Centroid on the part.
    pub at_mm: Option<[f64; 2]>,
    /// Direction of the length, degrees from x towards y.
    pub angle_deg: Option<f64>,
    /// Area inside the outline.
    pub area_mm2: Option<f64>,
    /// Maximum Feret diameter.
    pub feret_mm: Option<f64>,
    /// Length along the centre line.
    pub path_mm: Option<f64>,
    /// Maximum Feret diameter of the visible extent.
    pub visible_mm: Option<f64>,
    /// Width as seen, the blur not taken back.
    pub seen_width_mm: Option<f64>,
    /// Area over path length.
    pub mean_width_mm: Option<f64>,
    /// Peak loss of green reflectance, 0 to 1.
    pub contrast: Option<f64>,
    /// About 0 to 0.6 for dye, below -0.35 for rust and oil.
    pub colour_direction: Option<f64>,
    /// What a person called it.
    #[schemars(with = "word::RelevanceWord")]
    pub relevance: Relevance,
    /// Whether it was judged as relevant; absent when nothing was judged.
    pub judged_relevant: Option<bool>,
    /// What a person says it is.
    pub label: Option<String>,
    /// What else a person said of it; absent when nobody did.
    #[serde(default)]
    pub said: Option<Said>,
    /// Group it was judged in.
    pub group: Option<u32>,
    /// Absent when nothing was judged.
    #[schemars(with = "Option<word::VerdictWord>")]
    pub verdict: Option<Verdict>,
    /// Why; absent when nothing was judged.
    pub reason: Option<String>,
    pub doubts: Vec<Told>,
    /// Angle between the line of sight and the surface's normal here; absent where unknown.
    pub tilt_deg: Option<f64>,
    /// Where the uncertainty of the length comes from; absent for a typed one.
    pub length_origins: Option<LengthOrigins>,
    /// Closed outline in the upright photo; absent for a typed one.
    pub outline_px: Option<Vec<PointPx>>,
}

impl Row {
    /// As measured in a photo.
    pub(super) fn seen(seen: &Seen, judged: Option<&Judged>) -> Self {
        let length = Measured {
            // The list shows the length end to end; a curved one is judged by its path, which
            // stands beside it and in the reason.
            value: Length::from_mm(seen.feret_mm).unwrap_or(seen.indication.length.value),
            ..seen.indication.length
        };
        Self {
            length: Size::of(&length),
            at_px: Some(seen.centroid_px),
            at_mm: Some(seen.centroid_mm),
            angle_deg: Some(seen.angle_deg),
            area_mm2: Some(seen.area_mm2),
            feret_mm: Some(seen.feret_mm),
            path_mm: Some(seen.path_mm),
            visible_mm: Some(seen.visible_mm),
            seen_width_mm: Some(seen.seen_width_mm),
            mean_width_mm: Some(seen.mean_width_mm),
            contrast: Some(seen.contrast),
            colour_direction: Some(seen.colour_direction),
            tilt_deg: seen.tilt_deg,
            length_origins: Some(LengthOrigins::of(&seen.length_terms)),
            outline_px: Some(fine(&seen.outline_px)),
            ..Self::of(&seen.indication, judged)
        }
    }

    /// As typed, or without what only a photo shows.
    pub(super) fn of(indication: &Indication, judged: Option<&Judged>) -> Self {
        let (at_mm, angle_deg) = match &indication.place {
            Some(Place::Stadium { centre, angle_udeg, .. }) => {
                (Some([centre.x_mm(), centre.y_mm()]), Some(degrees(*angle_udeg)))
            }
            _ => (None, None),
        };
        let ratio = length_over_width(indication.length.value, indication.width.value);
        Self {
            id: indication.id.clone(),
            kind: judged.map_or_else(|| common_shape(indication), |j| j.shape),
            p_linear: judged.and_then(|j| j.p_linear),
            length: Size::of(&indication.length),
            width: Size::of(&indication.width),
            ratio: judged.map_or(ratio, |j| j.ratio),
            at_px: None,
            at_mm,
            angle_deg,
            area_mm2: None,
            feret_mm: None,
            path_mm: indication.path.map(Length::mm),
            visible_mm: None,
            seen_width_mm: None,
            mean_width_mm: None,
            contrast: None,
            colour_direction: None,
            relevance: indication.relevance,
            judged_relevant: judged.map(|j| j.relevant),
            label: indication.label.clone(),
            said: None,
            group: judged.and_then(|j| j.group),
            verdict: judged.map(|j| j.verdict),
            reason: judged.map(|j| j.reason.clone()),
            doubts: indication.doubts.iter().map(Told::of).collect(),
            tilt_deg: None,
            length_origins: None,
            outline_px: None,
        }
    }
}

/// Linear past three times the width, a tie rounded: what most documents say (VIII-1 App. 8, 8-3;
/// ISO 23277:2015, 3.1). Used only where no rule set says otherwise.
fn common_shape(indication: &Indication) -> Shape {
    let ratio = Ratio::new(3, 1).expect("three is a ratio");
    call_shape(indication, LinearPast { ratio, side: Side::Over }, 0.0).best
}

#[expect(clippy::cast_precision_loss, reason = "at most a full turn")]
fn degrees(udeg: i64) -> f64 {
    udeg as f64 / 1.0e6
}
