//! Set-aside marks that lie together, drawn as one.

use super::labels::bounds;
use crate::{PointPx, SetAsideReason};

/// Marks of one reason that touch.
pub(super) struct Patch {
    pub(super) reason: SetAsideReason,
    pub(super) outlines: Vec<Vec<PointPx>>,
    bounds: [f64; 4],
}

/// Marks of one reason whose surrounding rectangles lie within `reach` of each other become one
/// patch; the widest patch comes first.
pub(super) fn joined(
    marks: impl Iterator<Item = (SetAsideReason, Vec<PointPx>)>,
    reach: f64,
) -> Vec<Patch> {
    let mut patches: Vec<Patch> = Vec::new();
    for (reason, outline) in marks {
        let Some(bounds) = bounds(&outline) else { continue };
        let mut joined = Patch { reason, outlines: vec![outline], bounds };
        // A patch that touches the new one is taken into it; that may make it touch others.
        while let Some(n) = patches.iter().position(|p| p.touches(&joined, reach)) {
            joined.take(patches.swap_remove(n));
        }
        patches.push(joined);
    }
    patches.sort_by(|a, b| b.extent().total_cmp(&a.extent()));
    patches
}

impl Patch {
    fn touches(&self, other: &Self, reach: f64) -> bool {
        let ([l, t, r, b], [ol, ot, or, ob]) = (self.bounds, other.bounds);
        self.reason == other.reason
            && l <= or + reach
            && ol <= r + reach
            && t <= ob + reach
            && ot <= b + reach
    }

    fn take(&mut self, other: Self) {
        self.outlines.extend(other.outlines);
        let ([l, t, r, b], [ol, ot, or, ob]) = (self.bounds, other.bounds);
        self.bounds = [l.min(ol), t.min(ot), r.max(or), b.max(ob)];
    }

    fn extent(&self) -> f64 {
        (self.bounds[2] - self.bounds[0]).hypot(self.bounds[3] - self.bounds[1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_late_mark_joins_two_patches() {
        let at = |x: f64| vec![[x, 0.0], [x + 2.0, 0.0], [x + 2.0, 2.0]];
        let pink = |x| (SetAsideReason::PinkArea, at(x));
        let marks = [pink(0.0), pink(20.0), (SetAsideReason::Faint, at(0.0)), pink(10.0)];
        let counts = |reach| -> Vec<usize> {
            joined(marks.clone().into_iter(), reach).iter().map(|p| p.outlines.len()).collect()
        };
        assert_eq!(counts(8.0), [3, 1]);
        assert_eq!(counts(7.9), [1, 1, 1, 1]);
    }
}
