//! What one run found, before it takes any form.

use crate::settings::Criteria;
use nde_core::{
    Doubt, Indication, Judgement, Length, LinearPast, Measured, Place, Ratio, Relevance, Shape,
    Side, Spread, Verdict, call_shape, length_over_width,
};
use nde_measure::Measurement;

/// One run.
#[derive(Debug)]
pub(crate) struct Record {
    /// What was judged by.
    pub criteria: Criteria,
    /// What was read, in the order given.
    pub cases: Vec<Case>,
    /// What could not be read or judged, in the order given.
    pub failures: Vec<Failure>,
}

/// One photo or one typed list.
#[derive(Debug)]
pub(crate) struct Case {
    /// What it is called.
    pub name: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// What stands in it.
    pub content: Content,
    /// What is concluded; absent when nothing was judged.
    pub judgement: Option<Judgement>,
    /// File name of its marked photo inside the output folder, with `/`; absent when none was drawn.
    pub marked: Option<String>,
}

/// What stands in a case.
#[derive(Debug)]
pub(crate) enum Content {
    /// A measured photo.
    Photo(Box<Measurement>),
    /// A list typed by hand.
    List(Vec<Indication>),
}

/// Something that could not be done, and why: the fact and the remedy.
#[derive(Debug)]
pub(crate) struct Failure {
    /// The photo or list.
    pub name: String,
    /// Why.
    pub why: String,
}

/// One indication as every export shows it. What is not known is absent.
#[derive(Debug)]
pub(crate) struct Row<'a> {
    /// Photo or list it stands in.
    pub photo: &'a str,
    /// Its name there.
    pub id: &'a str,
    /// Linear or rounded.
    pub kind: Shape,
    /// Length.
    pub length: Measured,
    /// Width.
    pub width: Measured,
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
    /// Length along the centre line.
    pub path_mm: Option<f64>,
    /// Peak loss of green reflectance, 0 to 1.
    pub contrast: Option<f64>,
    /// Group it was judged in.
    pub group: Option<u32>,
    /// What a person called it.
    pub relevance: Relevance,
    /// Whether it was judged as relevant; absent when nothing was judged.
    pub relevant: Option<bool>,
    /// Verdict; absent when nothing was judged.
    pub verdict: Option<Verdict>,
    /// Why.
    pub reason: &'a str,
    /// Doubts.
    pub doubts: &'a [Doubt],
    /// Maximum Feret diameter of the visible extent.
    pub visible_mm: Option<f64>,
    /// Area over path length.
    pub mean_width_mm: Option<f64>,
    /// Probability of linear.
    pub p_linear: Option<f64>,
    /// What a person says it is.
    pub label: Option<&'a str>,
}

impl Record {
    /// All indications of all cases, in order.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.cases.iter().flat_map(Case::rows)
    }
}

impl Case {
    /// What was measured; absent for a typed list.
    #[must_use]
    pub(crate) fn measurement(&self) -> Option<&Measurement> {
        match &self.content {
            Content::Photo(measurement) => Some(measurement),
            Content::List(_) => None,
        }
    }

    /// Its verdict; absent when nothing was judged.
    #[must_use]
    pub(crate) fn verdict(&self) -> Option<Verdict> {
        self.judgement.as_ref().map(|j| j.verdict)
    }

    /// Its indications.
    #[must_use]
    pub(crate) fn rows(&self) -> Vec<Row<'_>> {
        match &self.content {
            Content::Photo(measurement) => measurement
                .indications
                .iter()
                .enumerate()
                .map(|(n, seen)| Row {
                    // The list shows the length end to end; a curved one is judged by its path, which
                    // stands beside it and in the reason.
                    length: Measured {
                        value: Length::from_mm(seen.feret_mm)
                            .unwrap_or(seen.indication.length.value),
                        ..seen.indication.length
                    },
                    at_px: Some(seen.centroid_px),
                    at_mm: Some(seen.centroid_mm),
                    angle_deg: Some(seen.angle_deg),
                    area_mm2: Some(seen.area_mm2),
                    path_mm: Some(seen.path_mm),
                    contrast: Some(seen.contrast),
                    visible_mm: Some(seen.visible_mm),
                    mean_width_mm: Some(seen.mean_width_mm),
                    ..self.row(n, &seen.indication)
                })
                .collect(),
            Content::List(indications) => {
                indications.iter().enumerate().map(|(n, i)| self.row(n, i)).collect()
            }
        }
    }

    fn row<'a>(&'a self, n: usize, indication: &'a Indication) -> Row<'a> {
        let judged = self.judgement.as_ref().and_then(|j| j.indications.get(n));
        let (at_mm, angle_deg) = match &indication.place {
            Some(Place::Stadium { centre, angle_udeg, .. }) => {
                (Some([centre.x_mm(), centre.y_mm()]), Some(degrees(*angle_udeg)))
            }
            _ => (None, None),
        };
        let ratio = length_over_width(indication.length.value, indication.width.value);
        Row {
            photo: &self.name,
            id: &indication.id,
            kind: judged.map_or_else(|| common_shape(indication), |j| j.shape),
            length: indication.length,
            width: indication.width,
            ratio: judged.map_or(ratio, |j| j.ratio),
            at_px: None,
            at_mm,
            angle_deg,
            area_mm2: None,
            path_mm: indication.path.map(nde_core::Length::mm),
            contrast: None,
            group: judged.and_then(|j| j.group),
            relevance: indication.relevance,
            relevant: judged.map(|j| j.relevant),
            verdict: judged.map(|j| j.verdict),
            reason: judged.map_or("", |j| &j.reason),
            doubts: &indication.doubts,
            visible_mm: None,
            mean_width_mm: None,
            p_linear: judged.and_then(|j| j.p_linear),
            label: indication.label.as_deref(),
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

/// The word every export uses.
#[must_use]
pub(crate) const fn kind_word(kind: Shape) -> &'static str {
    match kind {
        Shape::Linear => "linear",
        Shape::Rounded => "rounded",
    }
}

/// The word every export uses.
#[must_use]
pub(crate) const fn relevance_word(relevance: Relevance) -> &'static str {
    match relevance {
        Relevance::NotYetCalled => "not-yet-called",
        Relevance::Relevant => "relevant",
        Relevance::NonRelevant => "non-relevant",
        Relevance::False => "false",
    }
}

/// The two parts of an expanded uncertainty (k = 2): this value's own edges, and the scale that
/// the whole photo shares. Absent when typed or not claimed.
#[must_use]
pub(crate) fn expanded_parts_mm(measured: &Measured) -> Option<[f64; 2]> {
    match measured.spread {
        Spread::Standard { edge, scale } => Some([2.0 * edge.mm(), 2.0 * scale.mm()]),
        _ => None,
    }
}

/// Expanded uncertainty (k = 2) of a measured value; absent when typed (it has none) or not claimed.
#[must_use]
pub(crate) fn expanded_mm(measured: &Measured) -> Option<f64> {
    match measured.spread {
        Spread::Exact => None,
        _ => measured.expanded_mm(),
    }
}
