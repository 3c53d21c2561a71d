//! What a person said of one indication, as it stands in the record.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a person said of one indication, beside its relevance and label.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub(crate) struct Said {
    pub reason: Option<String>,
    pub by: Option<String>,
    pub when: Option<String>,
    /// Size by hand.
    pub own_length_mm: Option<f64>,
    pub own_width_mm: Option<f64>,
    /// Added by a person: no measurement stands behind it.
    pub added: bool,
}
