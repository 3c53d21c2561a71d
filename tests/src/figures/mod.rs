//! How well the measurer reads painted scenes: matching, outcomes, tables, pictures to look at.
//!
//! ```text
//! area (what was read of the coat), spatter (its droplets) -> cause (of a false call) -> outcome (one scene measured and matched) -> table (many outcomes) -> look (pictures of them)
//! spoil (photos spoiled on purpose), retake (as another camera might have taken them); claim (a stated value, its uncertainty and the truth)
//! ```

pub mod area;
pub mod spatter;
mod cause;
pub mod outcome;
pub mod table;
pub mod look;
pub mod claim;
pub mod spoil;
pub mod retake;
