//! The full record as JSON. Sizes are unrounded; outlines stand to a thousandth of a pixel.
//!
//! Views of their own, so that the shape of the file is decided here and not by the insides of a
//! library. `null` is absent.

use crate::cautions::CAUTIONS;
use crate::digest::sha256;
use crate::record::{Case, Record, Row, expanded_mm, expanded_parts_mm, kind_word, relevance_word};
use anyhow::Result;
use nde_core::{
    Confidence, Doubt, Finding, Gate, GateOutcome, Guard, Judgement, Measured, RuleSet,
};
use nde_measure::{Measurement, PointPx, Scale, Seen, SetAside};
use serde::Serialize;
use serde_json::ser::Formatter;
use std::io::Write;

/// Version of the file's shape; a change that a reader would notice raises it.
const FORM: &str = "nde-record/1";

/// Writes the record.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn write(record: &Record, target: &mut dyn Write) -> Result<()> {
    let mut writer = serde_json::Serializer::with_formatter(&mut *target, Lines::default());
    RecordView::of(record).serialize(&mut writer)?;
    Ok(target.write_all(b"\n")?)
}

/// One key a line, but lists of numbers side by side: outlines are long.
#[derive(Default)]
struct Lines {
    depth: usize,
}

impl Lines {
    fn line<W: ?Sized + Write>(&self, writer: &mut W) -> std::io::Result<()> {
        writer.write_all(b"\n")?;
        (0..self.depth).try_for_each(|_| writer.write_all(b"  "))
    }
}

impl Formatter for Lines {
    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> std::io::Result<()> {
        self.depth += 1;
        writer.write_all(b"{")
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> std::io::Result<()> {
        self.depth -= 1;
        self.line(writer)?;
        writer.write_all(b"}")
    }

    fn begin_object_key<W: ?Sized + Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> std::io::Result<()> {
        if !first {
            writer.write_all(b",")?;
        }
        self.line(writer)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> std::io::Result<()> {
        writer.write_all(b": ")
    }
}

/// Places in the photo to a thousandth of a pixel: far finer than anything seen.
fn fine(points: &[PointPx]) -> Vec<PointPx> {
    points.iter().map(|p| p.map(|v| (v * 1000.0).round() / 1000.0)).collect()
}

#[derive(Serialize)]
struct RecordView<'a> {
    form: &'static str,
    tool: ToolView,
    rules: Option<RulesView<'a>>,
    /// What uncertainty does near a limit; absent when nothing was judged.
    guard: Option<&'static str>,
    cases: Vec<CaseView<'a>>,
    could_not_be_done: Vec<FailureView<'a>>,
    cautions: [&'static str; CAUTIONS.len()],
}

#[derive(Serialize)]
struct ToolView {
    name: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
struct FailureView<'a> {
    photo: &'a str,
    why: &'a str,
}

#[derive(Serialize)]
struct RulesView<'a> {
    id: &'a str,
    title: &'a str,
    edition: Option<&'a str>,
    sha256: String,
    lines: Vec<LineView>,
    cautions: &'a [String],
}

#[derive(Serialize)]
struct LineView {
    name: String,
    sentence: String,
    limit: String,
    source: String,
    confidence: &'static str,
}

#[derive(Serialize)]
struct CaseView<'a> {
    photo: &'a str,
    sha256: &'a str,
    marked: Option<&'a str>,
    picture: Option<PictureView>,
    indications: Vec<IndicationView<'a>>,
    set_aside: Vec<AsideView>,
    judgement: Option<JudgementView<'a>>,
}

#[derive(Serialize)]
struct PictureView {
    size_px: [u32; 2],
    scale: ScaleView,
    coat: CoatView,
    resolution: ResolutionView,
    gates: Vec<GateView>,
}

#[derive(Serialize)]
struct ScaleView {
    kind: &'static str,
    /// Relative standard uncertainty of a length beside the scale.
    relative_u: f64,
    /// The part of it that the scale's own size brings.
    own_u: f64,
    card: Option<CardView>,
    focal_35mm: Option<f64>,
    camera_distance_mm: Option<f64>,
    edge_sigma_px: Option<f64>,
    edge_overshoot: Option<f64>,
    residual_px: Option<f64>,
    tilt_deg: Option<f64>,
    /// Row by row.
    part_from_photo: [[f64; 3]; 3],
    features_px: Vec<PointPx>,
    doubts: Vec<DoubtView>,
}

#[derive(Serialize)]
struct CardView {
    name: String,
    markers_seen: usize,
    corners_kept: usize,
}

#[derive(Serialize)]
struct CoatView {
    area_mm2: f64,
    outlines_px: Vec<Vec<PointPx>>,
}

#[derive(Serialize)]
struct ResolutionView {
    pitch_mm: f64,
    blur_mm: Option<f64>,
    least_width_mm: f64,
    least_gap_mm: f64,
}

#[derive(Serialize)]
struct GateView {
    name: &'static str,
    value: Option<f64>,
    unit: &'static str,
    warn: f64,
    fail: f64,
    outcome: &'static str,
    remedy: &'static str,
}

#[derive(Serialize)]
struct DoubtView {
    word: &'static str,
    sentence: String,
}

#[derive(Serialize)]
struct SizeView {
    mm: f64,
    /// Expanded uncertainty, k = 2; absent when typed or not claimed.
    u_mm: Option<f64>,
    edge_u_mm: Option<f64>,
    scale_u_mm: Option<f64>,
}

#[derive(Serialize)]
struct IndicationView<'a> {
    id: &'a str,
    kind: &'static str,
    p_linear: Option<f64>,
    length: SizeView,
    width: SizeView,
    ratio: Option<f64>,
    at_px: Option<[f64; 2]>,
    at_mm: Option<[f64; 2]>,
    angle_deg: Option<f64>,
    area_mm2: Option<f64>,
    feret_mm: Option<f64>,
    path_mm: Option<f64>,
    visible_mm: Option<f64>,
    seen_width_mm: Option<f64>,
    mean_width_mm: Option<f64>,
    contrast: Option<f64>,
    colour_direction: Option<f64>,
    relevance: &'static str,
    judged_relevant: Option<bool>,
    label: Option<&'a str>,
    group: Option<u32>,
    verdict: Option<&'static str>,
    reason: Option<&'a str>,
    doubts: Vec<DoubtView>,
    outline_px: Option<Vec<PointPx>>,
}

#[derive(Serialize)]
struct AsideView {
    reason: &'static str,
    at_px: [f64; 2],
    at_mm: [f64; 2],
    length_mm: f64,
    width_mm: f64,
    contrast: f64,
    outline_px: Vec<PointPx>,
}

#[derive(Serialize)]
struct JudgementView<'a> {
    verdict: &'static str,
    as_measured: &'static str,
    findings: Vec<FindingView<'a>>,
    conventions: &'a [String],
    notes: &'a [String],
}

#[derive(Serialize)]
struct FindingView<'a> {
    verdict: &'static str,
    rule: &'a str,
    indications: &'a [String],
    found: &'a str,
    limit: &'a str,
    source: &'a str,
    confidence: &'static str,
    action: Option<&'a str>,
}

impl<'a> RecordView<'a> {
    fn of(record: &'a Record) -> Self {
        let rules = record.criteria.rules.as_ref();
        Self {
            form: FORM,
            tool: ToolView { name: "nde", version: env!("CARGO_PKG_VERSION") },
            rules: rules.map(RulesView::of),
            guard: rules.map(|_| guard_word(record.criteria.guard)),
            cases: record.cases.iter().map(CaseView::of).collect(),
            could_not_be_done: record
                .failures
                .iter()
                .map(|f| FailureView { photo: &f.name, why: &f.why })
                .collect(),
            cautions: CAUTIONS,
        }
    }
}

/// The word of the command line.
const fn guard_word(guard: Guard) -> &'static str {
    match guard {
        Guard::AcceptSide => "accept-side",
        Guard::AsMeasured => "as-measured",
    }
}

impl<'a> RulesView<'a> {
    fn of(set: &'a RuleSet) -> Self {
        Self {
            id: set.id(),
            title: set.title(),
            edition: set.edition(),
            sha256: sha256(set.text().as_bytes()),
            lines: set
                .rules()
                .map(|line| LineView {
                    name: line.name,
                    sentence: line.sentence,
                    limit: line.limit,
                    confidence: Confidence::word(line.source.confidence),
                    source: line.source.text,
                })
                .collect(),
            cautions: set.cautions(),
        }
    }
}

impl<'a> CaseView<'a> {
    fn of(case: &'a Case) -> Self {
        let measurement = case.measurement();
        let seen = |n: usize| measurement.and_then(|m| m.indications.get(n));
        Self {
            photo: &case.name,
            sha256: &case.sha256,
            marked: case.marked.as_deref(),
            picture: measurement.map(PictureView::of),
            indications: case
                .rows()
                .into_iter()
                .enumerate()
                .map(|(n, row)| IndicationView::of(row, seen(n)))
                .collect(),
            set_aside: measurement.iter().flat_map(|m| &m.set_aside).map(AsideView::of).collect(),
            judgement: case.judgement.as_ref().map(JudgementView::of),
        }
    }
}

impl PictureView {
    fn of(measurement: &Measurement) -> Self {
        let resolution = &measurement.resolution;
        Self {
            size_px: measurement.size_px,
            scale: ScaleView::of(&measurement.scale),
            coat: CoatView {
                area_mm2: measurement.coat.area_mm2,
                outlines_px: measurement.coat.outlines_px.iter().map(|o| fine(o)).collect(),
            },
            resolution: ResolutionView {
                pitch_mm: resolution.pitch_mm,
                blur_mm: resolution.blur_mm,
                least_width_mm: resolution.least_width_mm,
                least_gap_mm: resolution.least_gap_mm,
            },
            gates: measurement.gates.iter().map(GateView::of).collect(),
        }
    }
}

impl ScaleView {
    fn of(scale: &Scale) -> Self {
        let h = &scale.plane.part_from_photo;
        Self {
            kind: super::scale_word(scale.kind),
            relative_u: scale.relative_u,
            own_u: scale.own_u,
            card: scale.card.as_ref().map(|card| CardView {
                name: card.design.name().to_string(),
                markers_seen: card.markers_seen,
                corners_kept: card.corners_kept,
            }),
            focal_35mm: scale.focal.map(nde_measure::scale::Focal::mm35),
            camera_distance_mm: scale.camera_distance_mm,
            edge_sigma_px: scale.edge_sigma_px,
            edge_overshoot: scale.edge_overshoot,
            residual_px: scale.residual_px,
            tilt_deg: scale.tilt_deg,
            part_from_photo: [0, 1, 2].map(|row| [0, 1, 2].map(|column| h[(row, column)])),
            features_px: fine(&scale.features_px),
            doubts: scale.doubts.iter().map(DoubtView::of).collect(),
        }
    }
}

impl GateView {
    fn of(gate: &Gate) -> Self {
        Self {
            name: gate.name,
            value: gate.value,
            unit: gate.unit,
            warn: gate.warn,
            fail: gate.fail,
            outcome: gate_word(gate.outcome),
            remedy: gate.remedy,
        }
    }
}

const fn gate_word(outcome: GateOutcome) -> &'static str {
    match outcome {
        GateOutcome::Pass => "pass",
        GateOutcome::Warn => "warn",
        GateOutcome::Fail => "fail",
        GateOutcome::Unknown => "unknown",
    }
}

impl DoubtView {
    fn of(doubt: &Doubt) -> Self {
        Self { word: doubt.word(), sentence: doubt.to_string() }
    }
}

impl SizeView {
    fn of(measured: &Measured) -> Self {
        let parts = expanded_parts_mm(measured);
        Self {
            mm: measured.value.mm(),
            u_mm: expanded_mm(measured),
            edge_u_mm: parts.map(|p| p[0]),
            scale_u_mm: parts.map(|p| p[1]),
        }
    }
}

impl<'a> IndicationView<'a> {
    fn of(row: Row<'a>, seen: Option<&'a Seen>) -> Self {
        Self {
            id: row.id,
            kind: kind_word(row.kind),
            p_linear: row.p_linear,
            length: SizeView::of(&row.length),
            width: SizeView::of(&row.width),
            ratio: row.ratio,
            at_px: row.at_px,
            at_mm: row.at_mm,
            angle_deg: row.angle_deg,
            area_mm2: row.area_mm2,
            feret_mm: seen.map(|s| s.feret_mm),
            path_mm: row.path_mm,
            visible_mm: row.visible_mm,
            seen_width_mm: seen.map(|s| s.seen_width_mm),
            mean_width_mm: row.mean_width_mm,
            contrast: row.contrast,
            colour_direction: seen.map(|s| s.colour_direction),
            relevance: relevance_word(row.relevance),
            judged_relevant: row.relevant,
            label: row.label,
            group: row.group,
            verdict: row.verdict.map(nde_core::Verdict::word),
            reason: row.verdict.map(|_| row.reason),
            doubts: row.doubts.iter().map(DoubtView::of).collect(),
            outline_px: seen.map(|s| fine(&s.outline_px)),
        }
    }
}

impl AsideView {
    fn of(aside: &SetAside) -> Self {
        Self {
            reason: super::aside_word(aside.reason),
            at_px: aside.centroid_px,
            at_mm: aside.centroid_mm,
            length_mm: aside.length_mm,
            width_mm: aside.width_mm,
            contrast: aside.contrast,
            outline_px: fine(&aside.outline_px),
        }
    }
}

impl<'a> JudgementView<'a> {
    fn of(judgement: &'a Judgement) -> Self {
        Self {
            verdict: judgement.verdict.word(),
            as_measured: judgement.as_measured.word(),
            findings: judgement.findings.iter().map(FindingView::of).collect(),
            conventions: &judgement.conventions,
            notes: &judgement.notes,
        }
    }
}

impl<'a> FindingView<'a> {
    fn of(finding: &'a Finding) -> Self {
        Self {
            verdict: finding.verdict.word(),
            rule: &finding.rule,
            indications: &finding.indications,
            found: &finding.found,
            limit: &finding.limit,
            source: &finding.source.text,
            confidence: finding.source.confidence.word(),
            action: finding.action.as_deref(),
        }
    }
}
