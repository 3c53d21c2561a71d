//! Rules for judging penetrant indications: sizes in millimetres go in, a verdict with its
//! reasons comes out.
//!
//! No pixels, no files, no clock: every function here is pure. Seeing the indications is the
//! work of `nde-measure`.
//!
//! ```text
//! length -> source -> place -> doubt -> indication -> shape -> joining -> alignment -> window
//!        -> rules -> verdict
//! ```
//!
//! # Does not
//! Choose the criteria for you, or tell relevant from non-relevant indications.

mod doubt;
mod indication;
mod length;
mod place;
mod source;

pub use doubt::{Doubt, Gate, GateOutcome, Weight};
pub use indication::{Indication, Relevance, Shape};
pub use length::{Length, LengthError, Measured, Spread};
pub use place::{Place, Point};
pub use source::{Confidence, Source};
