//! Runs in line.
//!
//! A row is a set of members that one straight line touches all of, linked to each other by
//! edge-to-edge gaps that a limit catches; one longer gap ends the row. No document publishes how
//! straight "in a line" is, so this is a named convention; a strip width may be given, and then one
//! straight strip of that width touches every member.
//!
//! # How a row is found
//! For one direction, the members' shadows on a line across it are intervals, and intervals have a
//! common point when every two of them have one. So a set is in line exactly when some direction lies
//! in the arc of every pair, where a pair's arc holds the directions of the lines that touch both.
//! Every part of a row is in line too, and a linked set of `n` holds linked sets of every smaller
//! size; so growing linked sets one by one, and leaving off at the first that is not in line, misses
//! no row of the wanted count. Each linked set is met once (enumeration after Wernicke, 2006, IEEE/ACM
//! Transactions on Computational Biology and Bioinformatics 3(4) 347-359; from memory).
//! Arcs are compared in floating point; ties are decided in integers.

use crate::ground::Ground;
use crate::length::Length;

mod arc;
mod search;

/// What makes a row.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row {
    /// Fewest members that make a row.
    pub(crate) count: usize,
    /// Width of the strip that touches every member; zero for a line.
    pub(crate) strip: Length,
    /// Most pairs looked at before the search gives up; [`EFFORT`] but in tests.
    pub(crate) effort: usize,
}

/// Pairs looked at in about a second of one core. Chosen: lists of 10 000 marks at any density that a
/// person would still judge need a tenth of it.
pub(crate) const EFFORT: usize = 8_000_000;

/// What a search for rows found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Rows {
    /// Members of each row, ascending; together they hold every member that stands in any row.
    pub(crate) rows: Vec<Vec<usize>>,
    /// Whether the search ran to its end; false when the marks stand too thick to try every line.
    pub(crate) complete: bool,
}

/// Finds rows among `grounds`. `near` says whether the gap between two of them is caught by the
/// row's limit; `reach` is a gap beyond which it never is.
pub(crate) fn find_rows(
    grounds: &[&Ground],
    row: Row,
    reach: Length,
    near: &dyn Fn(usize, usize) -> bool,
) -> Rows {
    search::Search::new(grounds, row, reach, near).run()
}

#[cfg(test)]
mod tests;
