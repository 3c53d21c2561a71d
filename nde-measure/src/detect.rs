//! Where dye is: red regions at two levels, and what is only faint.
//!
//! A region is connected redness above the lower level that reaches the upper level somewhere.
//! The levels' floors are a visibility limit; noise only raises them. Detection never sizes:
//! a threshold low enough to find a mark lies in its skirt and would read it too long.

use crate::photo::{Cells, Grid, Mask, Raster};
use crate::redness::Redness;
use crate::regions::{Area, Run, areas, areas_of_runs, runs_of};

/// How regions are found.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct DetectOptions {
    /// Lower level: least redness of every pixel of a region, before noise.
    pub low: f64,
    /// Upper level: redness that a region must reach somewhere, before noise.
    pub high: f64,
    /// Lower and upper level are at least this many standard deviations of the coat's noise.
    pub low_sigmas: f64,
    /// See `low_sigmas`.
    pub high_sigmas: f64,
    /// Smallest region, mm2 (a disc of 0.2 mm).
    pub least_area_mm2: f64,
    /// What is only above this share of both levels is shown as faint, not counted.
    pub faint_share: f64,
}

impl Default for DetectOptions {
    fn default() -> Self {
        Self {
            low: 0.10,
            high: 0.14,
            low_sigmas: 4.0,
            high_sigmas: 7.0,
            least_area_mm2: 0.03,
            faint_share: 0.6,
        }
    }
}

/// Redness levels in force for one photo.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Levels {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl Levels {
    pub(crate) fn of(redness: &Redness, options: &DetectOptions) -> Self {
        Self {
            low: options.low.max(options.low_sigmas * redness.noise),
            high: options.high.max(options.high_sigmas * redness.noise),
        }
    }

    pub(crate) fn times(self, share: f64) -> Self {
        Self { low: self.low * share, high: self.high * share }
    }
}

/// Stretches of rows inside the coat that are at least so red, in pixels of the redness window.
pub(crate) fn runs_on_coat(redness: &Redness, coat: &Mask, grid: Grid, level: f64) -> Vec<Run> {
    let (window, level) = (redness.window, level as f32);
    let mut found = Vec::new();
    for y in 0..window.height {
        let on_coat = |x: usize| {
            let (i, j) = grid.cell_of(window.x0 + x, window.y0 + y);
            i < coat.width && j < coat.height && coat.at(i, j)
        };
        runs_of(
            redness.d.row(y),
            |v| *v >= level,
            |from, to| {
                let mut x = from;
                while x < to {
                    let start = x;
                    while x < to && on_coat(x) {
                        x += 1;
                    }
                    if x > start {
                        found.push(Run { y, from: start, to: x });
                    }
                    x += 1;
                }
            },
        );
    }
    found
}

/// Connected redness, in order of first row; `runs` hold all that is as red as the lower level.
pub(crate) fn regions(redness: &Redness, runs: &[Run], levels: Levels, least_px: f64) -> Vec<Area> {
    let (low, high) = (levels.low as f32, levels.high as f32);
    let d = &redness.d;
    let mut rest = runs.iter().peekable();
    areas_of_runs(redness.window.height, |y, found| {
        while let Some(run) = rest.next_if(|run| run.y == y) {
            let row = &d.row(y)[run.from..run.to];
            runs_of(row, |v| *v >= low, |a, b| found.push((run.from + a, run.from + b)));
        }
    })
    .into_iter()
    .filter(|a| a.size() as f64 >= least_px)
    .filter(|a| a.runs.iter().any(|r| d.row(r.y)[r.from..r.to].iter().any(|v| *v >= high)))
    .collect()
}

/// Red places outside the coat, on cells, dye-like in colour; the largest first, at most `most`.
/// `white` is the coat's ln red - ln green and ln blue - ln green, `bright` its ln red: dye leaves
/// red light alone, so what is dark in red is none, and its colour is noise.
pub(crate) fn outside(
    cells: &Cells,
    coat: &Mask,
    covered: &Mask,
    white: [f32; 2],
    bright: f32,
    most: usize,
) -> (Vec<Area>, Raster) {
    let mut d = Raster::filled(cells.width(), cells.height(), 0.0);
    let near = coat.grown(2.0);
    let mut red = Mask::empty(cells.width(), cells.height());
    for (i, v) in d.data.iter_mut().enumerate() {
        *v = cells.ln[0].data[i] - cells.ln[1].data[i] - white[0];
        let blue = cells.ln[2].data[i] - cells.ln[1].data[i] - white[1];
        red.data[i] = !near.data[i]
            && !covered.data[i]
            && *v > OUTSIDE_REDNESS
            && blue > -0.35 * *v
            && cells.ln[0].data[i] > bright - OUTSIDE_DARK_LN;
    }
    let mut found: Vec<Area> = areas(&red).into_iter().filter(|a| a.size() >= 3).collect();
    found.sort_by_key(|a| std::cmp::Reverse(a.size()));
    found.truncate(most);
    (found, d)
}

/// Outside the coat nothing is smoothed or levelled, so only what is clearly red is shown. Chosen.
const OUTSIDE_REDNESS: f32 = 0.35;
/// A mark in a shadow that takes four fifths of the light still leaves this much red, ln. Chosen.
const OUTSIDE_DARK_LN: f32 = 2.0;
