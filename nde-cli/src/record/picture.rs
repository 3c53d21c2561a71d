//! What is known of one photo beside its indications: scale, area read, resolution, fitness.

use super::origins::Origins;
use super::sizes::Told;
use nde_core::Gate;
use nde_measure::scale::Bend;
use nde_measure::{Measurement, PointPx, Scale};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One photo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Picture {
    /// Width and height of the upright photo.
    pub size_px: [u32; 2],
    pub scale: ScaleSeen,
    pub coat: CoatSeen,
    pub resolution: ResolutionSeen,
    /// Checks of the picture.
    pub gates: Vec<GateSeen>,
}

/// How lengths were found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct ScaleSeen {
    /// `card`, `points`, `pitch`, `ticks`.
    pub kind: String,
    /// Relative standard uncertainty of a length beside the scale.
    pub relative_u: f64,
    /// The part of it that the scale's own size brings.
    pub own_u: f64,
    pub card: Option<CardRead>,
    pub focal_35mm: Option<f64>,
    pub camera_distance_mm: Option<f64>,
    pub edge_sigma_px: Option<f64>,
    pub edge_overshoot: Option<f64>,
    pub residual_px: Option<f64>,
    pub tilt_deg: Option<f64>,
    /// Height of the surface above the scale's plane, and how far it may be off either way; absent
    /// where nothing was stated and the scale is taken as level.
    pub height_mm: Option<[f64; 2]>,
    /// Where `relative_u` comes from: shares of a length next to the scale.
    pub origins: Origins,
    /// Further cards, in the frame of this one.
    pub others: Vec<ScaleSeen>,
    /// Homography from the photo to the part, row by row: pixels, centres at .5, to millimetres. Where
    /// `bend` is given, of places made straight by it first.
    pub part_from_photo: [[f64; 3]; 3],
    /// What the lens was found to bend; `null` where that was not read: then photo places are taken as
    /// they are.
    pub bend: Option<BendSeen>,
    pub features_px: Vec<PointPx>,
    pub doubts: Vec<Told>,
}

/// What a lens bends: `straight = middle_px + (seen - middle_px) / (1 + per_px2 * r^2)`, where `r` is the
/// distance of the seen place from the middle, pixels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct BendSeen {
    pub middle_px: PointPx,
    /// Above zero the rim of the photo is drawn outwards, below zero inwards.
    pub per_px2: f64,
}

impl BendSeen {
    fn of(bend: Bend) -> Self {
        Self { middle_px: bend.middle_px, per_px2: bend.per_px2 }
    }

    fn straight(&self, seen_px: PointPx) -> PointPx {
        Bend { middle_px: self.middle_px, per_px2: self.per_px2 }.straight(seen_px)
    }
}

/// The card in the photo.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct CardRead {
    pub name: String,
    pub markers_seen: usize,
    pub corners_kept: usize,
}

/// Where was looked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct CoatSeen {
    pub area_mm2: f64,
    pub outlines_px: Vec<Vec<PointPx>>,
    /// Ground beside it that may be developer and was not read; absent in older lists.
    #[serde(default)]
    pub doubtful_mm2: Option<f64>,
    /// Its outlines, pixels.
    #[serde(default)]
    pub doubtful_px: Vec<Vec<PointPx>>,
}

/// What the picture can resolve, on the part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct ResolutionSeen {
    pub pitch_mm: f64,
    pub blur_mm: Option<f64>,
    pub least_width_mm: f64,
    /// Smaller gaps are seen as none.
    pub least_gap_mm: f64,
    /// Shorter marks are not called linear or rounded.
    pub least_length_mm: f64,
}

/// One check of the picture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct GateSeen {
    pub name: String,
    pub value: Option<f64>,
    pub unit: String,
    pub warn: f64,
    /// `null` where nothing fails.
    #[serde(deserialize_with = "never")]
    #[schemars(with = "Option<f64>")]
    pub fail: f64,
    /// `pass`, `warn`, `fail`, `unknown`.
    pub outcome: String,
    pub remedy: String,
}

/// JSON has no infinity: a limit that nothing reaches stands there as null.
fn never<'de, D: serde::Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
    Ok(Option::<f64>::deserialize(from)?.unwrap_or(f64::INFINITY))
}

/// Places in the photo to a thousandth of a pixel: far finer than anything seen.
pub(super) fn fine(points: &[PointPx]) -> Vec<PointPx> {
    points.iter().map(|p| p.map(|v| (v * 1000.0).round() / 1000.0)).collect()
}

impl Picture {
    pub(super) fn of(measurement: &Measurement) -> Self {
        let (coat, resolution) = (&measurement.coat, &measurement.resolution);
        Self {
            size_px: measurement.size_px,
            scale: ScaleSeen::of(&measurement.scale),
            coat: CoatSeen {
                area_mm2: coat.area_mm2,
                outlines_px: coat.outlines_px.iter().map(|line| fine(line)).collect(),
                doubtful_mm2: Some(coat.doubtful_mm2),
                doubtful_px: coat.doubtful_px.iter().map(|line| fine(line)).collect(),
            },
            resolution: ResolutionSeen {
                pitch_mm: resolution.pitch_mm,
                blur_mm: resolution.blur_mm,
                least_width_mm: resolution.least_width_mm,
                least_gap_mm: resolution.least_gap_mm,
                least_length_mm: resolution.least_length_mm(),
            },
            gates: measurement.gates.iter().map(GateSeen::of).collect(),
        }
    }

    /// Its checks, counted and named.
    #[must_use]
    pub(crate) fn checks(&self) -> Checks {
        let mut checks = Checks { all: self.gates.len(), ..Checks::default() };
        for gate in &self.gates {
            let list = match gate.outcome.as_str() {
                "pass" => continue,
                "fail" => &mut checks.failed,
                "warn" => &mut checks.warned,
                _ => &mut checks.unknown,
            };
            list.push(gate.name.clone());
        }
        checks
    }

    /// Where a place of the photo lies on the part.
    #[must_use]
    pub(crate) fn on_part(&self, at_px: PointPx) -> [f64; 2] {
        on_part(&self.scale.part_from_photo, self.scale.bend.as_ref(), at_px)
    }
}

/// Where a place of the photo lies on the part, by the record's scale.
#[must_use]
pub(crate) fn on_part(
    part_from_photo: &[[f64; 3]; 3],
    bend: Option<&BendSeen>,
    at_px: PointPx,
) -> [f64; 2] {
    let [x, y] = bend.map_or(at_px, |bend| bend.straight(at_px));
    let [u, v, w] = part_from_photo.map(|row| row[0] * x + row[1] * y + row[2]);
    [u / w, v / w]
}

impl ScaleSeen {
    fn of(scale: &Scale) -> Self {
        let h = &scale.plane.part_from_photo;
        Self {
            kind: scale.kind.word().to_owned(),
            relative_u: scale.relative_u,
            own_u: scale.own_u,
            card: scale.card.as_ref().map(|card| CardRead {
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
            height_mm: scale.height.map(|h| [h.mm, h.within_mm]),
            origins: Origins::of_scale(scale),
            others: scale.others.iter().map(Self::of).collect(),
            part_from_photo: [0, 1, 2].map(|row| [0, 1, 2].map(|column| h[(row, column)])),
            bend: scale.plane.bend.map(BendSeen::of),
            features_px: fine(&scale.features_px),
            doubts: scale.doubts.iter().map(Told::of).collect(),
        }
    }
}

impl GateSeen {
    fn of(gate: &Gate) -> Self {
        Self {
            name: gate.name.to_string(),
            value: gate.value,
            unit: gate.unit.to_string(),
            warn: gate.warn,
            fail: gate.fail,
            outcome: gate.outcome.word().to_owned(),
            remedy: gate.remedy.to_string(),
        }
    }

    /// Such as `picture warning` and `blur 0.150 mm (warns above 0.1 mm, not fit above 0.2 mm)`; absent for a check
    /// that passed.
    #[must_use]
    pub(crate) fn told(&self) -> Option<(&'static str, String)> {
        let word = match self.outcome.as_str() {
            "pass" => return None,
            "warn" => "warning",
            "fail" => "not fit",
            _ => "unknown",
        };
        // A count has no unit and no decimals.
        let count = self.unit.is_empty() && self.value.is_some_and(|v| v.fract() == 0.0);
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        let digits = match self.value.map_or(0.0, f64::abs) {
            _ if count => 0,
            value if value >= 10.0 => 1,
            value if value >= 1.0 => 2,
            _ => 3,
        };
        let value =
            self.value.map_or_else(|| "not known".to_owned(), |v| format!("{v:.digits$}{unit}"));
        Some((word, format!("{} {value} ({})", self.name, self.limits())))
    }

    /// Both limits, such as `warns above 0.1 mm, not fit above 0.2 mm`.
    fn limits(&self) -> String {
        // A share of something names it once.
        let unit = match self.unit.split_once(' ') {
            Some(("%", _)) => " %".to_owned(),
            _ if self.unit.is_empty() => String::new(),
            _ => format!(" {}", self.unit),
        };
        let (warn, fail) = (self.warn, self.fail);
        // Of an area the smaller one is the worse.
        let side = if fail < warn { "below" } else { "above" };
        if fail.is_infinite() {
            format!("warns {side} {warn}{unit}, never unfit by itself")
        } else if (fail - warn).abs() < f64::EPSILON {
            format!("not fit {side} {fail}{unit}")
        } else {
            format!("warns {side} {warn}{unit}, not fit {side} {fail}{unit}")
        }
    }
}

/// The checks of one picture, counted and named.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Checks {
    /// How many there are.
    pub all: usize,
    /// Names of those that make the picture unfit, ...
    pub failed: Vec<String>,
    /// ... of those that warn, ...
    pub warned: Vec<String>,
    /// ... and of those that could not be made.
    pub unknown: Vec<String>,
}

impl Checks {
    /// Such as `not fit: tilt; warning: blur, glare`, or `all 13 passed`.
    #[must_use]
    pub(crate) fn told(&self) -> String {
        let groups =
            [("not fit", &self.failed), ("warning", &self.warned), ("unknown", &self.unknown)];
        let told: Vec<String> = groups
            .iter()
            .filter(|(_, names)| !names.is_empty())
            .map(|(word, names)| format!("{word}: {}", names.join(", ")))
            .collect();
        if told.is_empty() { format!("all {} passed", self.all) } else { told.join("; ") }
    }
}
