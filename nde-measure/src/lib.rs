//! From a photo of developed red penetrant, with a scale in the frame, to measured indications.
//!
//! ```
//! use nde_core::{GateOutcome, JudgeOptions, RuleSet, Verdict, judge};
//! use nde_measure::{MeasureOptions, Photo, PhotoLimits, measure};
//!
//! let bytes = std::fs::read("../fixtures/photos/deck-fitting-cast.jpg")?; // or from anywhere
//! let photo = Photo::decode(&bytes, &PhotoLimits::default())?;
//! let found = measure(&photo, &[], &MeasureOptions::default())?; // no scale named: the card
//! for seen in &found.indications {
//!     let (id, length) = (&seen.indication.id, &seen.indication.length);
//!     match length.expanded_mm() {
//!         Some(u) => println!("{id}: {:.2} mm ± {u:.2} mm (k = 2)", length.value.mm()),
//!         None => println!("{id}: about {:.1} mm, too faint to size", length.value.mm()),
//!     }
//! }
//! for aside in &found.set_aside {
//!     println!("seen, not counted: {} ({:.1} mm)", aside.reason, aside.length_mm);
//! }
//! for gate in found.gates.iter().filter(|gate| gate.outcome != GateOutcome::Pass) {
//!     println!("picture: {} {}; {}", gate.name, gate.outcome, gate.remedy);
//! }
//! let rules = RuleSet::builtin("weld-vessel-si").ok_or("it ships")?;
//! let how = JudgeOptions::default().with_gates(&found.gates);
//! let judged = judge(&found.list(), &rules, &how)?;
//! assert_eq!(judged.verdict, Verdict::Reject); // a crack of 24 mm
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! ```text
//! budget -> photo -> scale -> regions -> coat -> white -> redness -> detect -> contour -> size -> path
//!       -> beads -> blur -> outline -> fibre -> sorting -> seen -> asides -> fitness -> measurement -> error
//!       -> measure -> marks
//! ```
//!
//! Photo places are pixels of the upright photo, x right, y down, pixel **centres at .5** (the
//! first pixel covers 0..1). Part places are millimetres on the surface plane. Names end in the unit.
//!
//! # One step alone
//!
//! | to | call |
//! | --- | --- |
//! | find the scale only | [`scale::find_with`]; what may belong to one: [`scale::sighted`] |
//! | measure by a plane known from elsewhere | [`Scale::given`], then [`measure_at`] |
//! | say where the coat is | [`MeasureOptions::region_px`] |
//! | size an outline you have | [`Plane::to_part`] of its corners, then [`size::max_feret`], [`size::largest_circle`] |
//! | say where an uncertainty comes from | [`Seen::length_terms`], [`Scale::terms_at`], [`budget`] |
//! | draw on the photo | [`marks::draw`] |
//!
//! [`coat`], [`white`], [`redness`], [`detect`], [`outline`] and [`sorting`] say how these stages work and hold
//! their settings; the stages themselves run inside [`measure_at`] only.
//!
//! # Many photos
//! Every function is pure: it starts no thread, keeps nothing between calls, and gives the same result on any
//! thread. All types are `Send` and `Sync`. A measurement needs about 7 MB a megapixel and cannot be
//! stopped half way (a few tenths of a second), so a pool is bounded by its threads and stopped between photos:
//! see `examples/many_photos.rs`.
//!
//! # What errors say
//! Errors name the fact and the remedy by the thing itself (the scale, written as [`ScaleSpec`] reads it; the coat);
//! gates and doubts name it as the command `nde` takes it (`--scale`, `--region`). Software with another face matches
//! on the variants and on [`nde_core::Doubt::word`].
//!
//! # Features
//! `heic` (default): phones' HEIC files, by a decoder in Rust. Without it they are
//! [`PhotoError::UnknownFormat`]. Types of [`image`] and [`nalgebra`] are part of this crate's own, which are
//! therefore handed on.
//!
//! # Does not
//! Judge: what is allowed stands in `nde-core`. Size the flaw: an indication is the bleed-out. Read files.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "pixel counts and grid places stay far below 2^31, and rounding to a pixel is meant"
)]

// In the order in which data flows.
pub mod budget;
pub mod photo;
pub mod scale;
mod regions;
pub mod coat;
pub mod white;
pub mod redness;
pub mod detect;
mod contour;
pub mod size;
mod path;
mod beads;
pub mod blur;
pub mod outline;
mod fibre;
pub mod sorting;
mod seen;
mod asides;
mod fitness;
mod measurement;
mod error;
mod measure;
pub mod marks;

pub use asides::SetAside;
pub use error::MeasureError;
pub use fitness::Resolution;
pub use image;
pub use measure::{MeasureOptions, measure, measure_at};
pub use measurement::{Coat, Measurement};
pub use nalgebra;
pub use photo::{Photo, PhotoError, PhotoLimits, TakenAt};
pub use scale::{CardDesign, CardName, Plane, Scale, ScaleError, ScaleKind, ScaleSpec};
pub use seen::{LengthTerms, Seen};
pub use sorting::SetAsideReason;

/// A place in the upright photo, pixels, pixel centres at .5.
pub type PointPx = [f64; 2];
/// A place on the surface plane, millimetres.
pub type PointMm = [f64; 2];
