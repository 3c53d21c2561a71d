//! The same part at two times: which indications are the same, which are new or gone, and whether any has
//! grown by more than the two measurements can be apart.

mod ground;
mod marks;
mod register;
mod growth;
mod pairs;
mod told;
mod grid;
mod plot;

pub(crate) use grid::{across, label, page, plain, rounds, upright};
pub(crate) use growth::{Change, Growth, Scales};
pub(crate) use marks::{Mark, Sight, Taken};
pub(crate) use pairs::{Comparison, compare, compare_by_scale};
pub(crate) use plot::plot;
pub(crate) use register::{Align, Move};
pub(crate) use told::{csv, json, table};

#[cfg(test)]
mod tests;
