//! The rules once more, slowly: an evaluator that shares no code with the engine.
//!
//! It reads the same TOML text with a reader of its own, holds every number as a whole number over a
//! whole number of any size, and tries everything: every pair, every subset, every direction. It takes
//! exact lists only, so its verdicts are accept and reject, and review where a person must say
//! something first. Lists of up to about twenty marks are its measure.
//!
//! What no document publishes (how straight a line is, what counts in a window) it does as the engine's
//! conventions say; that these are what the words say is checked by the vectors worked out by hand.

#![expect(
    clippy::missing_panics_doc,
    reason = "it stops at whatever a list or a set made for it never holds"
)]

pub mod number;
pub mod set;
pub mod mark;
pub mod gap;
pub mod line;
pub mod window;
pub mod circle;
pub mod joining;
pub mod judge;
pub mod layout;
pub mod maps;
pub mod boundary;
pub mod compare;
pub mod changes;
pub mod trial;
