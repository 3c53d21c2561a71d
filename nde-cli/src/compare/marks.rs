//! What is compared: the counted indications of one photo, out of a record or freshly measured.

use super::ground::Ground;
use crate::record::{BendSeen, on_part as on_part_by};
use anyhow::{Context as _, Result, anyhow, bail};
use nde_core::Spread;
use nde_measure::{LengthTerms, Measurement, ScaleKind};
use serde::Deserialize;
use std::path::Path;

/// Most bytes of a record: tens of thousands of indications with their outlines.
const MOST_BYTES: u64 = 1 << 30;

/// Sources of a length's uncertainty that are the same in every photo of one mark beside a scale that has not
/// moved: how high the surface lies over the scale, and what of a soft edge counts. Ends that thin out are not:
/// they fade with light and noise (taken as shared, the growth of painted marks since the first photo was off by
/// more than U in 8 %).
pub(super) const SHARED: [&str; 4] = [
    "surface level with the scale",
    "height of the surface",
    "what the edge of a bleed-out is",
    "visible beyond half contrast",
];

/// One indication.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Mark {
    /// Its name in its own list.
    pub id: String,
    /// Centroid on the part, in the frame of its own scale.
    pub at_mm: [f64; 2],
    /// Length end to end.
    pub length_mm: f64,
    /// Standard uncertainty of its own edges and of its scale; absent when none is claimed.
    pub u_mm: Option<[f64; 2]>,
    /// Width and its expanded uncertainty (k = 2), where it was just measured; the latter absent when
    /// none is claimed.
    pub width_mm: Option<(f64, Option<f64>)>,
    /// Standard uncertainties within `u_mm` that a photo of the same mark beside the same, unmoved scale
    /// shares; empty where it was not just measured.
    pub shared_u_mm: Vec<(&'static str, f64)>,
    /// Its outline in the frame of its own scale; empty where it was not just measured.
    pub outline_mm: Vec<[f64; 2]>,
}

/// One photo's indications.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Taken {
    /// What it is called.
    pub photo: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Relative standard uncertainty that the scale's own size brings.
    pub own_u: f64,
    /// Its indications.
    pub marks: Vec<Mark>,
    /// What its frame hangs on; absent where it was not just measured.
    pub scale: Option<ScaleKind>,
    /// What of the part it shows; absent where it was not just measured.
    pub sight: Option<Sight>,
    /// What of the part it read; absent for a typed list, which does not tell.
    pub ground: Option<Ground>,
}

/// What of the part one photo shows, in the frame of its scale.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Sight {
    /// The photo's border.
    pub border_mm: Vec<[f64; 2]>,
    /// Outlines of the coat that was read, ...
    pub read_mm: Vec<Vec<[f64; 2]>>,
    /// ... and of what the scale covers.
    pub covers_mm: Vec<Vec<[f64; 2]>>,
    /// Outlines of what is seen and not counted.
    pub asides_mm: Vec<Vec<[f64; 2]>>,
}

impl Sight {
    fn of(measurement: &Measurement) -> Self {
        let on_part = |outline: &[[f64; 2]]| on_part(outline, measurement);
        let all = |outlines: &[Vec<[f64; 2]>]| outlines.iter().map(|it| on_part(it)).collect();
        let [w, h] = measurement.size_px.map(f64::from);
        Self {
            border_mm: on_part(&[[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]),
            read_mm: all(&measurement.coat.outlines_px),
            covers_mm: all(&measurement.scale.covers_px),
            asides_mm: measurement.set_aside.iter().map(|a| on_part(&a.outline_px)).collect(),
        }
    }
}

#[derive(Deserialize)]
struct RecordIn {
    form: String,
    cases: Vec<CaseIn>,
}

#[derive(Deserialize)]
struct CaseIn {
    photo: String,
    sha256: String,
    picture: Option<PictureIn>,
    indications: Vec<MarkIn>,
}

#[derive(Deserialize)]
struct PictureIn {
    scale: ScaleIn,
    coat: Option<CoatIn>,
}

#[derive(Deserialize)]
struct ScaleIn {
    own_u: f64,
    kind: Option<String>,
    part_from_photo: Option<[[f64; 3]; 3]>,
    bend: Option<BendSeen>,
    #[serde(default)]
    features_px: Vec<[f64; 2]>,
}

#[derive(Deserialize)]
struct CoatIn {
    area_mm2: f64,
    outlines_px: Vec<Vec<[f64; 2]>>,
}

impl PictureIn {
    /// What was read; absent where the record does not tell.
    fn ground(&self) -> Option<Ground> {
        let (scale, coat) = (&self.scale, self.coat.as_ref()?);
        let part_from_photo = scale.part_from_photo?;
        let on_part = |p: &[f64; 2]| on_part_by(&part_from_photo, scale.bend.as_ref(), *p);
        let lines = coat.outlines_px.iter();
        // The corners of a card's squares lie along the axes of its own frame.
        let card: Vec<[f64; 2]> = scale.features_px.iter().map(on_part).collect();
        let end = |k: usize, of: fn(f64, f64) -> f64| card.iter().map(|p| p[k]).reduce(of);
        let covered = match [end(0, f64::min), end(1, f64::min), end(0, f64::max), end(1, f64::max)]
        {
            [Some(x0), Some(y0), Some(x1), Some(y1)] if scale.kind.as_deref() == Some("card") => {
                vec![vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1]]]
            }
            _ => Vec::new(),
        };
        Some(Ground {
            read_mm: lines.map(|line| line.iter().map(on_part).collect()).collect(),
            covered_mm: covered,
            area_mm2: coat.area_mm2,
        })
    }
}

#[derive(Deserialize)]
struct MarkIn {
    id: String,
    length: SizeIn,
    at_mm: Option<[f64; 2]>,
}

#[derive(Deserialize)]
struct SizeIn {
    mm: f64,
    edge_u_mm: Option<f64>,
    scale_u_mm: Option<f64>,
}

impl Taken {
    /// Whether its frame is printed on what lies on the part, the same wherever the camera stands: a card's or
    /// a board's. A rule's starts at the first of its longest ticks in view; that of two points or of a pitch
    /// moves with the camera.
    #[must_use]
    pub(crate) fn frame_is_printed(&self) -> bool {
        self.scale == Some(ScaleKind::Card)
    }

    /// All photos of a record.
    ///
    /// # Errors
    /// It cannot be read, is no record of this tool, or holds numbers that no part has.
    pub(crate) fn all_of(path: &Path) -> Result<Vec<Self>> {
        let shown = path.display();
        let size = std::fs::metadata(path)
            .map_err(|e| anyhow!("{shown}: cannot be read ({e}); check the name"))?
            .len();
        if size > MOST_BYTES {
            bail!("{shown}: is larger than 1 GB; compare single parts");
        }
        let file = std::fs::File::open(path)
            .map_err(|e| anyhow!("{shown}: cannot be read ({e}); check its permissions"))?;
        let record: RecordIn = serde_json::from_reader(std::io::BufReader::new(file))
            .map_err(|e| anyhow!("{e}; give the indications.json that `nde evaluate --out` wrote"))
            .with_context(|| shown.to_string())?;
        if !record.form.starts_with("nde-record/") {
            bail!("{shown}: is a `{}`; give the indications.json of `nde evaluate`", record.form);
        }
        record
            .cases
            .into_iter()
            .map(Self::of_case)
            .collect::<Result<_>>()
            .with_context(|| shown.to_string())
    }

    fn of_case(case: CaseIn) -> Result<Self> {
        let typed = case.picture.is_none();
        let own_u = case.picture.as_ref().map_or(0.0, |p| p.scale.own_u);
        let ground = case.picture.as_ref().and_then(PictureIn::ground);
        if ground.as_ref().is_some_and(|it| !it.is_real()) {
            bail!("{}: its area read lies where no part does; evaluate the photo anew", case.photo);
        }
        let mut marks = Vec::new();
        for mark in case.indications {
            let id = mark.id;
            let Some(at_mm) = mark.at_mm else {
                bail!("indication {id} of {} has no place; give x_mm,y_mm in the list", case.photo);
            };
            let u_mm = match (mark.length.edge_u_mm, mark.length.scale_u_mm) {
                // In the record they stand with k = 2.
                (Some(edge), Some(scale)) => Some([edge / 2.0, scale / 2.0]),
                _ if typed => Some([0.0, 0.0]),
                _ => None,
            };
            let numbers = [at_mm[0], at_mm[1], mark.length.mm, own_u];
            let parts = u_mm.unwrap_or_default();
            if numbers.iter().chain(&parts).any(|v| !v.is_finite() || v.abs() > 1.0e6)
                || mark.length.mm <= 0.0
                || parts.iter().any(|u| *u < 0.0)
            {
                bail!("indication {id} of {} has a size or place that no part has", case.photo);
            }
            marks.push(Mark { id, at_mm, length_mm: mark.length.mm, u_mm, ..Mark::default() });
        }
        Ok(Self { photo: case.photo, sha256: case.sha256, own_u, marks, ground, ..Self::default() })
    }

    /// A photo just measured.
    #[must_use]
    pub(crate) fn measured(photo: &str, sha256: &str, measurement: &Measurement) -> Self {
        let marks = measurement
            .indications
            .iter()
            .map(|seen| Mark {
                id: seen.indication.id.clone(),
                at_mm: seen.centroid_mm,
                length_mm: seen.feret_mm,
                u_mm: match seen.indication.length.spread {
                    Spread::Standard { edge, scale } => Some([edge.mm(), scale.mm()]),
                    Spread::Exact => Some([0.0, 0.0]),
                    _ => None,
                },
                width_mm: Some((
                    seen.indication.width.value.mm(),
                    match seen.indication.width.spread {
                        Spread::Standard { edge, scale } => Some(2.0 * edge.mm().hypot(scale.mm())),
                        Spread::Exact => Some(0.0),
                        _ => None,
                    },
                )),
                shared_u_mm: shared(&seen.length_terms),
                outline_mm: on_part(&seen.outline_px, measurement),
            })
            .collect();
        let sight = Sight::of(measurement);
        Self {
            photo: photo.to_owned(),
            sha256: sha256.to_owned(),
            own_u: measurement.scale.own_u,
            marks,
            scale: Some(measurement.scale.kind),
            ground: Some(Ground {
                read_mm: sight.read_mm.clone(),
                covered_mm: sight.covers_mm.clone(),
                area_mm2: measurement.coat.area_mm2,
            }),
            sight: Some(sight),
        }
    }
}

/// A line of a photo in the frame of its scale.
fn on_part(line_px: &[[f64; 2]], measurement: &Measurement) -> Vec<[f64; 2]> {
    line_px.iter().map(|p| measurement.scale.plane.to_part(*p)).collect()
}

fn shared(terms: &LengthTerms) -> Vec<(&'static str, f64)> {
    let all = terms.scale.iter().chain(&terms.edge);
    all.filter(|t| SHARED.contains(&t.name)).map(|t| (t.name, t.contribution())).collect()
}
