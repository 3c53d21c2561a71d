//! Which indications hang together.
//!
//! Two are linked when the edge-to-edge gap between them is caught by a limit; what is linked, directly
//! or through others, is one cluster. The result does not depend on the order of the list.

use crate::dot::as_f64;
use crate::ground::{Ground, box_gap};
use crate::length::Length;

/// Clusters of `grounds`, each ascending, ordered by their first member; a single one is a cluster
/// too. `near` says whether two are linked; `reach` is a gap beyond which they never are.
pub(crate) fn clusters(
    grounds: &[&Ground],
    reach: Length,
    near: &dyn Fn(usize, usize) -> bool,
) -> Vec<Vec<usize>> {
    let mut trees = Trees::new(grounds.len());
    each_pair_within(grounds, reach, &mut |a, b| {
        if trees.root(a) != trees.root(b) && near(a, b) {
            trees.join(a, b);
        }
    });
    trees.clusters()
}

/// Calls `visit` with every pair whose boxes are within `reach`, and maybe some more.
pub(crate) fn each_pair_within(
    grounds: &[&Ground],
    reach: Length,
    visit: &mut dyn FnMut(usize, usize),
) {
    let reach = 2.0e6 * reach.mm() + 4.0;
    let mut by_left: Vec<usize> = (0..grounds.len()).collect();
    by_left.sort_by_key(|i| (grounds[*i].bounds().0, *i));
    // Those whose right end is still within reach of the sweep.
    let mut open: Vec<usize> = Vec::new();
    for index in by_left {
        let bounds = grounds[index].bounds();
        let left = as_f64(bounds.0[0]) - reach;
        open.retain(|other| as_f64(grounds[*other].bounds().1[0]) >= left);
        for other in &open {
            if box_gap(bounds, grounds[*other].bounds()) <= reach {
                visit(index.min(*other), index.max(*other));
            }
        }
        open.push(index);
    }
}

/// Disjoint sets that can be joined.
struct Trees {
    parent: Vec<usize>,
}

impl Trees {
    fn new(count: usize) -> Self {
        Self { parent: (0..count).collect() }
    }

    fn root(&mut self, mut of: usize) -> usize {
        while self.parent[of] != of {
            self.parent[of] = self.parent[self.parent[of]];
            of = self.parent[of];
        }
        of
    }

    /// The smaller root stays, so that the result has one order.
    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b)] = a.min(b);
    }

    fn clusters(mut self) -> Vec<Vec<usize>> {
        let count = self.parent.len();
        let mut of_root: Vec<Vec<usize>> = vec![Vec::new(); count];
        for i in 0..count {
            let root = self.root(i);
            of_root[root].push(i);
        }
        of_root.retain(|cluster| !cluster.is_empty());
        of_root
    }
}
