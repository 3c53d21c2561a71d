//! The ground of the part that one photo read, in the frame of its scale, mm: where nothing was read, nothing is
//! known.

use nde_measure::size::contains;

/// Places a side at which ground that both photos read is looked for. Chosen: its area is right to about a
/// hundredth, for eyes.
const SIDE: usize = 64;
/// Most corners of both outlines for that: keeps the work bounded; the outlines of photos have some thousands.
const MOST_CORNERS: usize = 50_000;

/// What one photo read.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Ground {
    /// Outlines of the area read.
    pub read_mm: Vec<Vec<[f64; 2]>>,
    /// Outlines of what the scale covers inside it: not read.
    pub covered_mm: Vec<Vec<[f64; 2]>>,
    /// Its size as stated beside the photo.
    pub area_mm2: f64,
}

impl Ground {
    /// Whether a place was read.
    #[must_use]
    pub(crate) fn holds(&self, at_mm: [f64; 2]) -> bool {
        let within = |lines: &[Vec<[f64; 2]>]| lines.iter().any(|line| contains(line, at_mm));
        within(&self.read_mm) && !within(&self.covered_mm)
    }

    /// Whether its numbers are some that a part can have.
    #[must_use]
    pub(crate) fn is_real(&self) -> bool {
        // A photo's horizon may lie far away, not beyond what arithmetic holds.
        let lines = self.read_mm.iter().chain(&self.covered_mm);
        lines.flatten().flatten().all(|v| v.is_finite()) && (0.0..1.0e12).contains(&self.area_mm2)
    }

    /// The same in another frame.
    #[must_use]
    pub(crate) fn moved(&self, by: impl Fn([f64; 2]) -> [f64; 2]) -> Self {
        let all = |lines: &[Vec<[f64; 2]>]| -> Vec<Vec<[f64; 2]>> {
            lines.iter().map(|line| line.iter().map(|p| by(*p)).collect()).collect()
        };
        let (read_mm, covered_mm) = (all(&self.read_mm), all(&self.covered_mm));
        Self { read_mm, covered_mm, area_mm2: self.area_mm2 }
    }

    /// How much of it another photo read too, mm2, both in one frame. Absent where the outlines are too long.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "counts of places")]
    pub(crate) fn common_mm2(&self, other: &Self) -> Option<f64> {
        let corners = |it: &Self| it.read_mm.iter().chain(&it.covered_mm).map(Vec::len).sum();
        let all: usize = [self, other].map(corners).iter().sum();
        if all > MOST_CORNERS {
            return None;
        }
        let ends = |k: usize| {
            let all = self.read_mm.iter().flatten().map(move |p| p[k]);
            all.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], v| [a.min(v), b.max(v)])
        };
        let [x, y] = [ends(0), ends(1)];
        let along = |[a, b]: [f64; 2], n: usize| a + (b - a) * (n as f64 + 0.5) / SIDE as f64;
        let places = (0..SIDE * SIDE).map(|n| [along(x, n % SIDE), along(y, n / SIDE)]);
        let (mut here, mut both) = (0_usize, 0_usize);
        for at in places.filter(|at| self.holds(*at)) {
            here += 1;
            both += usize::from(other.holds(at));
        }
        let share = if here > 0 { both as f64 / here as f64 } else { 0.0 };
        Some((share * self.area_mm2).min(other.area_mm2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn box_mm([x, y]: [f64; 2], [w, h]: [f64; 2]) -> Vec<[f64; 2]> {
        vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
    }

    #[test]
    fn ground_read_twice_is_what_lies_in_both_and_under_no_scale() {
        let old = Ground {
            read_mm: vec![box_mm([0.0, 0.0], [40.0, 20.0])],
            covered_mm: Vec::new(),
            area_mm2: 800.0,
        };
        let new = Ground {
            read_mm: vec![box_mm([120.0, 0.0], [40.0, 20.0])],
            covered_mm: vec![box_mm([120.0, 0.0], [10.0, 20.0])],
            area_mm2: 600.0,
        };
        assert!(new.holds([131.0, 5.0]) && !new.holds([125.0, 5.0]) && !new.holds([99.0, 5.0]));
        // From 130 to 140 along x: 10 mm of 20 mm.
        let both = old.moved(|p| [p[0] + 100.0, p[1]]).common_mm2(&new).unwrap();
        assert!((both - 200.0).abs() < 20.0, "{both}");
        assert_eq!(old.common_mm2(&new), Some(0.0));
        let long = Ground { read_mm: vec![vec![[0.0; 2]; MOST_CORNERS]], ..Ground::default() };
        assert_eq!(old.common_mm2(&long), None);
        assert_eq!(Ground::default().common_mm2(&old), Some(0.0));
    }
}
