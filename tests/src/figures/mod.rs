//! How well the measurer reads painted scenes: matching, outcomes, tables, pictures to look at.
//!
//! ```text
//! outcome (one scene measured and matched) -> table (many outcomes) -> look (pictures of them)
//! ```

pub mod outcome;
pub mod table;
pub mod look;
