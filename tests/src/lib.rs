//! Outside checks: painted scenes, published values and the rules once more, through public APIs only.

pub mod paint;
pub mod figures;
pub mod scales;
pub mod slow;
