//! One photo or one typed list.

use super::judged::Decided;
use super::picture::{Picture, fine};
use super::row::Row;
use nde_core::{Indication, Judgement, Verdict};
use nde_measure::{Measurement, PointPx, SetAside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One photo or one typed list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Case {
    /// What it is called.
    pub photo: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// File of its marked photo inside the output folder, with `/`; absent when none was drawn.
    pub marked: Option<String>,
    /// Absent for a typed list.
    pub picture: Option<Picture>,
    pub indications: Vec<Row>,
    /// Seen and not counted.
    pub set_aside: Vec<Aside>,
    /// Absent when nothing was judged.
    pub judgement: Option<Decided>,
    /// What was concluded without any call; absent without calls.
    #[serde(default)]
    pub uncalled: Option<Decided>,
}

/// Something seen and not counted, with its reason.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Aside {
    pub reason: String,
    pub at_px: [f64; 2],
    pub at_mm: [f64; 2],
    pub length_mm: f64,
    pub width_mm: f64,
    pub contrast: f64,
    pub outline_px: Vec<PointPx>,
}

impl Case {
    /// A measured photo.
    #[must_use]
    pub(crate) fn of_photo(
        photo: &str,
        sha256: &str,
        measurement: &Measurement,
        judgement: Option<&Judgement>,
    ) -> Self {
        let judged = |n: usize| judgement.and_then(|j| j.indications.get(n));
        let seen = measurement.indications.iter().enumerate();
        Self {
            photo: photo.to_owned(),
            sha256: sha256.to_owned(),
            marked: None,
            picture: Some(Picture::of(measurement)),
            indications: seen.map(|(n, seen)| Row::seen(seen, judged(n))).collect(),
            set_aside: measurement.set_aside.iter().map(Aside::of).collect(),
            judgement: judgement.map(Decided::of),
            uncalled: None,
        }
    }

    /// A list typed by hand.
    #[must_use]
    pub(crate) fn of_list(
        name: &str,
        sha256: &str,
        indications: &[Indication],
        judgement: Option<&Judgement>,
    ) -> Self {
        let judged = |n: usize| judgement.and_then(|j| j.indications.get(n));
        let typed = indications.iter().enumerate();
        Self {
            photo: name.to_owned(),
            sha256: sha256.to_owned(),
            marked: None,
            picture: None,
            indications: typed.map(|(n, typed)| Row::of(typed, judged(n))).collect(),
            set_aside: Vec::new(),
            judgement: judgement.map(Decided::of),
            uncalled: None,
        }
    }

    /// Its verdict; absent when nothing was judged.
    #[must_use]
    pub(crate) fn verdict(&self) -> Option<Verdict> {
        self.judgement.as_ref().map(|j| j.verdict)
    }
}

impl Aside {
    fn of(aside: &SetAside) -> Self {
        Self {
            reason: aside.reason.word().to_owned(),
            at_px: aside.centroid_px,
            at_mm: aside.centroid_mm,
            length_mm: aside.length_mm,
            width_mm: aside.width_mm,
            contrast: aside.contrast,
            outline_px: fine(&aside.outline_px),
        }
    }
}

/// Words for eyes of why something seen is not counted; `outside-coat` is any ground that was not read, be it
/// developer or not.
#[must_use]
pub(crate) fn aside_words(word: &str) -> &str {
    match word {
        "pink-area" => "in a pink area",
        "outside-coat" => "outside the area read",
        word => word,
    }
}
