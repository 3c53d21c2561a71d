//! Outside checks: painted scenes and published values, through public APIs only.

pub mod paint;
pub mod figures;
