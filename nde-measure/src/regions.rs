//! Connected areas of a mask, by runs.
//!
//! A run is a stretch of yes in one row; runs that touch (also at a corner) belong together.
//! Runs need a fraction of the memory and time of a picture of labels.

use crate::photo::Mask;

/// A stretch of yes in row `y`: columns `from` up to, not including, `to`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Run {
    pub(crate) y: usize,
    pub(crate) from: usize,
    pub(crate) to: usize,
}

/// One connected area.
#[derive(Clone, Debug, Default)]
pub(crate) struct Area {
    /// Its runs, top to bottom.
    pub(crate) runs: Vec<Run>,
}

impl Area {
    /// Number of grid places.
    pub(crate) fn size(&self) -> usize {
        self.runs.iter().map(|r| r.to - r.from).sum()
    }

    /// Least and greatest x and y: `[x0, y0, x1, y1]`, the last two not included.
    pub(crate) fn bounds(&self) -> [usize; 4] {
        self.runs.iter().fold([usize::MAX, usize::MAX, 0, 0], |b, r| {
            [b[0].min(r.from), b[1].min(r.y), b[2].max(r.to), b[3].max(r.y + 1)]
        })
    }

    /// Marks its places in a mask of the same grid.
    pub(crate) fn draw(&self, mask: &mut Mask) {
        for r in &self.runs {
            mask.data[r.y * mask.width + r.from..r.y * mask.width + r.to].fill(true);
        }
    }

    /// Its places alone, in a grid of this size.
    pub(crate) fn mask(&self, width: usize, height: usize) -> Mask {
        let mut mask = Mask::empty(width, height);
        self.draw(&mut mask);
        mask
    }

    /// Its places alone, in the part `[x0, y0, x1, y1]` of a grid; all of them lie within.
    pub(crate) fn mask_in(&self, [x0, y0, x1, y1]: [usize; 4]) -> Mask {
        let mut mask = Mask::empty(x1 - x0, y1 - y0);
        for r in &self.runs {
            let row = (r.y - y0) * mask.width;
            mask.data[row + r.from - x0..row + r.to - x0].fill(true);
        }
        mask
    }

    /// All its places.
    pub(crate) fn places(&self) -> impl Iterator<Item = (usize, usize)> {
        self.runs.iter().flat_map(|r| (r.from..r.to).map(move |x| (x, r.y)))
    }
}

/// The connected areas of a mask, in order of their first run.
pub(crate) fn areas(mask: &Mask) -> Vec<Area> {
    areas_of_runs(mask.height, |y, found| {
        let row = &mask.data[y * mask.width..(y + 1) * mask.width];
        runs_of(row, |yes| *yes, |from, to| found.push((from, to)));
    })
}

/// Hands on the stretches of a row for whose places `yes` holds: from, and up to, not including.
pub(crate) fn runs_of<T>(row: &[T], yes: impl Fn(&T) -> bool, mut found: impl FnMut(usize, usize)) {
    // Most of a row is empty: blocks without any are passed over whole.
    const BLOCK: usize = 16;
    let mut x = 0;
    while x < row.len() {
        let block = &row[x..(x + BLOCK).min(row.len())];
        if !block.iter().fold(false, |any, v| any | yes(v)) {
            x += block.len();
            continue;
        }
        let end = x + block.len();
        while x < end {
            if !yes(&row[x]) {
                x += 1;
                continue;
            }
            let from = x;
            while x < row.len() && yes(&row[x]) {
                x += 1;
            }
            found(from, x);
        }
    }
}

/// The connected areas of rows whose runs `runs_of_row` appends, left to right, as from and to.
pub(crate) fn areas_of_runs(
    height: usize,
    mut runs_of_row: impl FnMut(usize, &mut Vec<(usize, usize)>),
) -> Vec<Area> {
    let mut runs: Vec<Run> = Vec::new();
    let mut parent: Vec<usize> = Vec::new();
    let mut above = 0..0;
    let mut row = Vec::new();
    for y in 0..height {
        let first = runs.len();
        row.clear();
        runs_of_row(y, &mut row);
        for &(from, to) in &row {
            let this = runs.len();
            runs.push(Run { y, from, to });
            parent.push(this);
            // What ends before this run begins ends before all runs to the right of it, too.
            while above.start < above.end && runs[above.start].to < from {
                above.start += 1;
            }
            for other in above.clone() {
                if runs[other].from > to {
                    break;
                }
                join(&mut parent, this, other);
            }
        }
        above = first..runs.len();
    }
    let mut area_of_root = vec![usize::MAX; runs.len()];
    let mut found: Vec<Area> = Vec::new();
    for (i, run) in runs.iter().enumerate() {
        let root = root(&mut parent, i);
        if area_of_root[root] == usize::MAX {
            area_of_root[root] = found.len();
            found.push(Area::default());
        }
        found[area_of_root[root]].runs.push(*run);
    }
    found
}

fn root(parent: &mut [usize], mut i: usize) -> usize {
    while parent[i] != i {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    i
}

fn join(parent: &mut [usize], a: usize, b: usize) {
    let (a, b) = (root(parent, a), root(parent, b));
    parent[a.max(b)] = a.min(b);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(rows: &[&str]) -> Mask {
        let mut mask = Mask::empty(rows[0].len(), rows.len());
        for (y, row) in rows.iter().enumerate() {
            for (x, c) in row.bytes().enumerate() {
                mask.set(x, y, c == b'#');
            }
        }
        mask
    }

    #[test]
    fn corners_join_and_gaps_do_not() {
        let found = areas(&drawn(&["##..#", "..#.#", "....#", "##..."]));
        let sizes: Vec<usize> = found.iter().map(Area::size).collect();
        assert_eq!(sizes, [3, 3, 2]);
        assert_eq!(found[0].bounds(), [0, 0, 3, 2]);
    }

    #[test]
    fn a_fork_is_one_area() {
        assert_eq!(areas(&drawn(&["#.#.#", "#.#.#", "#####"])).len(), 1);
    }
}
