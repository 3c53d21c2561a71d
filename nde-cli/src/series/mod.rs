//! The same place photographed while the developer draws: how each indication's length and width went, and
//! whether it still grows. Sizes of the bleed-out only; nothing is said about depth.

mod times;
mod place;
mod track;
mod told;
mod plot;

pub(crate) use plot::plot;
pub(crate) use times::{Shot, check_told, minutes};
pub(crate) use told::{csv, json, table, unchecked, warnings};
pub(crate) use track::series;

#[cfg(test)]
mod tests;
