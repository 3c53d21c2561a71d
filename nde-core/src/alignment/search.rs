//! The search for rows: linked sets, grown one by one, that stay in line.

use std::cell::RefCell;
use std::rc::Rc;

use super::arc::{Arc, Shared, in_line_exactly};
use super::{Row, Rows};
use crate::dot::as_f64;
use crate::ground::{Ground, box_gap};
use crate::length::Length;

/// Up to so many members, whatever fits is tried for a longer row; beyond, only what its line touches.
const SHORT_ROW: usize = 64;

pub(super) struct Search<'a> {
    grounds: &'a [&'a Ground],
    count: usize,
    strip: i64,
    effort: usize,
    reach: f64,
    near: &'a dyn Fn(usize, usize) -> bool,
    /// Indices by the left end of their boxes, with the widest box, to look up neighbours.
    by_left: Vec<usize>,
    rank: Vec<usize>,
    widest: i64,
    neighbours: RefCell<Vec<Option<Rc<[usize]>>>>,
    steps: std::cell::Cell<usize>,
    /// Members of the set being grown, and what they are linked to.
    known: Vec<bool>,
    covered: Vec<bool>,
    rows: Vec<Vec<usize>>,
}

/// A linked set on its way to the wanted count.
struct Grown {
    members: Vec<usize>,
    shared: Shared,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        grounds: &'a [&'a Ground],
        row: Row,
        reach: Length,
        near: &'a dyn Fn(usize, usize) -> bool,
    ) -> Self {
        let mut by_left: Vec<usize> = (0..grounds.len()).collect();
        by_left.sort_by_key(|i| (grounds[*i].bounds().0, *i));
        let mut rank = vec![0; grounds.len()];
        for (place, index) in by_left.iter().enumerate() {
            rank[*index] = place;
        }
        let width = |g: &&Ground| g.bounds().1[0] - g.bounds().0[0];
        Self {
            grounds,
            count: row.count,
            // A strip of width w adds w/2 on each side of a pair: w nanometres are 2 * (w/2) here.
            strip: i64::try_from(row.strip.nm()).unwrap_or(0) * 2,
            effort: row.effort,
            reach: 2.0e6 * reach.mm() + 4.0,
            near,
            by_left,
            rank,
            widest: grounds.iter().map(width).max().unwrap_or(0),
            neighbours: RefCell::new(vec![None; grounds.len()]),
            steps: std::cell::Cell::new(0),
            known: vec![false; grounds.len()],
            covered: vec![false; grounds.len()],
            rows: Vec::new(),
        }
    }

    pub(super) fn run(mut self) -> Rows {
        if self.count < 2 {
            let rows = (0..self.grounds.len()).map(|i| vec![i]).collect();
            return Rows { rows, complete: true };
        }
        for seed in 0..self.grounds.len() {
            if self.exhausted() {
                break;
            }
            self.grow_from(seed);
        }
        let complete = !self.exhausted();
        Rows { rows: self.rows, complete }
    }

    /// Every linked set whose first member is `seed`.
    fn grow_from(&mut self, seed: usize) {
        let around = self.neighbours_of(seed);
        let ahead: Vec<usize> = around.iter().copied().filter(|n| *n > seed).collect();
        self.mark(seed, &ahead, true);
        self.grow(seed, &Grown { members: vec![seed], shared: Shared::all() }, ahead.clone());
        self.mark(seed, &ahead, false);
    }

    fn grow(&mut self, seed: usize, grown: &Grown, mut ahead: Vec<usize>) {
        if grown.members.len() == self.count {
            self.keep(grown);
            return;
        }
        while let Some(next) = ahead.pop() {
            if self.exhausted() {
                return;
            }
            let Some(shared) = self.shared_with(grown, next) else { continue };
            let mut members = grown.members.clone();
            members.push(next);
            // Only what `next` alone brings in, so that every set is met once.
            let around = self.neighbours_of(next);
            let fresh: Vec<usize> =
                around.iter().copied().filter(|n| *n > seed && !self.known[*n]).collect();
            self.steps.set(self.steps.get() + (around.len() + ahead.len()) / 8);
            self.mark(next, &fresh, true);
            let further = ahead.iter().chain(&fresh).copied().collect();
            self.grow(seed, &Grown { members, shared }, further);
            self.mark(next, &fresh, false);
            self.known[next] = true;
        }
    }

    /// Marks what the set holds or is linked to.
    fn mark(&mut self, member: usize, around: &[usize], known: bool) {
        self.known[member] = known;
        for n in around {
            self.known[*n] = known;
        }
    }

    /// The directions left when `next` joins; absent when none can be.
    fn shared_with(&self, grown: &Grown, next: usize) -> Option<Shared> {
        let mut shared = grown.shared.clone();
        for member in &grown.members {
            self.step();
            shared = shared.with(Arc::new(self.grounds[*member], self.grounds[next], self.strip));
            if !shared.may_exist() {
                return None;
            }
        }
        Some(shared)
    }

    fn keep(&mut self, grown: &Grown) {
        if grown.members.iter().all(|m| self.covered[*m]) {
            return;
        }
        let grounds: Vec<&Ground> = grown.members.iter().map(|m| self.grounds[*m]).collect();
        if !grown.shared.surely_exists() && !in_line_exactly(&grounds, self.strip) {
            return;
        }
        let row = self.lengthened(grown);
        for member in &row {
            self.covered[*member] = true;
        }
        self.rows.push(row);
    }

    /// The row with every further linked member that one line through its middle touches too, and then
    /// with whatever still is in line with all of them.
    fn lengthened(&self, grown: &Grown) -> Vec<usize> {
        let mut row = grown.members.clone();
        let mut taken = vec![false; self.grounds.len()];
        for member in &row {
            taken[*member] = true;
        }
        if let Some(line) = grown.shared.middle().and_then(|angle| self.line_along(angle, &row)) {
            self.extend(&mut row, &mut taken, &mut |_, n| line.touches(self.grounds[n]));
        }
        let mut shared = Some(Shared::all());
        for (i, member) in row.iter().enumerate().take(SHORT_ROW) {
            let grown = Grown { members: row[..i].to_vec(), shared: Shared::all() };
            let with = self.shared_with(&grown, *member);
            shared = shared.zip(with).map(|(known, with)| known.and(&with));
        }
        if let Some(mut shared) = shared {
            self.extend(&mut row, &mut taken, &mut |row, n| {
                let grown = Grown { members: row.to_vec(), shared: shared.clone() };
                let with = if row.len() < SHORT_ROW { self.shared_with(&grown, n) } else { None };
                let fits = with.filter(Shared::surely_exists);
                let found = fits.is_some();
                shared = fits.unwrap_or_else(|| shared.clone());
                found
            });
        }
        row.sort_unstable();
        row
    }

    /// Takes linked members into the row while they fit.
    fn extend(
        &self,
        row: &mut Vec<usize>,
        taken: &mut [bool],
        fits: &mut dyn FnMut(&[usize], usize) -> bool,
    ) {
        let mut at = 0;
        while at < row.len() && !self.exhausted() {
            for n in self.neighbours_of(row[at]).iter().copied() {
                self.step();
                if !taken[n] && fits(row, n) {
                    taken[n] = true;
                    row.push(n);
                }
            }
            at += 1;
        }
    }

    fn line_along(&self, angle: f64, members: &[usize]) -> Option<Line> {
        let (sin, cos) = angle.sin_cos();
        let mut line = Line { normal: [-sin, cos], low: f64::INFINITY, high: f64::NEG_INFINITY };
        let shadows: Vec<(f64, f64)> =
            members.iter().map(|m| line.shadow(self.grounds[*m])).collect();
        let half = as_f64(self.strip) / 2.0;
        let low = shadows.iter().map(|s| s.0).fold(f64::NEG_INFINITY, f64::max);
        let high = shadows.iter().map(|s| s.1).fold(f64::INFINITY, f64::min);
        let middle = f64::midpoint(low, high);
        (line.low, line.high) = (middle - half, middle + half);
        middle.is_finite().then_some(line)
    }

    fn neighbours_of(&self, index: usize) -> Rc<[usize]> {
        if let Some(known) = &self.neighbours.borrow()[index] {
            return Rc::clone(known);
        }
        let bounds = self.grounds[index].bounds();
        let left = as_f64(bounds.0[0] - self.widest) - self.reach;
        let right = as_f64(bounds.1[0]) + self.reach;
        let start = self.by_left.partition_point(|i| as_f64(self.grounds[*i].bounds().0[0]) < left);
        let mut found: Vec<usize> = Vec::new();
        for other in self.by_left[start..].iter().copied() {
            let other_bounds = self.grounds[other].bounds();
            if as_f64(other_bounds.0[0]) > right {
                break;
            }
            self.step();
            let candidate =
                self.rank[other] != self.rank[index] && box_gap(bounds, other_bounds) <= self.reach;
            if candidate && (self.near)(index, other) {
                found.push(other);
            }
        }
        found.sort_unstable();
        let found: Rc<[usize]> = found.into();
        self.neighbours.borrow_mut()[index] = Some(Rc::clone(&found));
        found
    }

    fn step(&self) {
        self.steps.set(self.steps.get() + 1);
    }

    fn exhausted(&self) -> bool {
        self.steps.get() > self.effort
    }
}

struct Line {
    normal: [f64; 2],
    low: f64,
    high: f64,
}

impl Line {
    /// Lowest and highest place of a ground's shadow across the line.
    fn shadow(&self, ground: &Ground) -> (f64, f64) {
        let mut shadow = (f64::INFINITY, f64::NEG_INFINITY);
        for (p, r) in ground.hull() {
            let at = self.normal[0] * as_f64(p[0]) + self.normal[1] * as_f64(p[1]);
            shadow = (shadow.0.min(at - as_f64(*r)), shadow.1.max(at + as_f64(*r)));
        }
        shadow
    }

    fn touches(&self, ground: &Ground) -> bool {
        let (low, high) = self.shadow(ground);
        low <= self.high && self.low <= high
    }
}
