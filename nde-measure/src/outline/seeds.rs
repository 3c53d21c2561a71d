//! Places where the bodies of a region may start, the highest contrast first.

use super::fields::Fields;
use crate::photo::Mask;
use std::cmp::Reverse;

/// Places where a body may start, the highest contrast first.
pub(super) struct Seeds {
    /// How high, as a whole number in the order of the values, and where: the highest of all, in order
    /// from the end, and the rest in none.
    highest: Vec<(u32, Reverse<usize>)>,
    rest: Vec<(u32, Reverse<usize>)>,
}

impl Seeds {
    pub(super) fn of(fields: &Fields, open: &Mask, high: f64) -> Self {
        let rest = (0..open.data.len())
            .filter(|&i| open.data[i] && f64::from(fields.d.data[i]) >= high)
            .map(|i| (in_order(fields.green.data[i]), Reverse(i)))
            .collect();
        Self { highest: Vec::new(), rest }
    }

    /// The next that is still open. Most close with the first bodies, so only a part is put in order at a time.
    pub(super) fn next(&mut self, open: &Mask) -> Option<usize> {
        loop {
            while let Some((_, Reverse(seed))) = self.highest.pop() {
                if open.data[seed] {
                    return Some(seed);
                }
            }
            self.rest.retain(|(_, Reverse(i))| open.data[*i]);
            let others = self.rest.len() - (self.rest.len() / 16).max(64).min(self.rest.len());
            if others > 0 {
                self.rest.select_nth_unstable(others);
            }
            self.highest.extend(self.rest.drain(others..));
            self.highest.sort_unstable();
            if self.highest.is_empty() {
                return None;
            }
        }
    }
}

/// A whole number for each value, in the order of `f32::total_cmp`.
const fn in_order(value: f32) -> u32 {
    let bits = value.to_bits();
    if bits >> 31 == 0 { bits | 1 << 31 } else { !bits }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Raster;
    use crate::redness::Window;

    #[test]
    fn open_places_come_by_height_then_by_place() {
        let (w, h) = (40, 30);
        let mut green = Raster::filled(w, h, 0.0);
        for (i, v) in green.data.iter_mut().enumerate() {
            // Every value some ten times, below 0 as well.
            *v = ((i * 7919) % 113) as f32 - 20.0;
        }
        let order = |i: &usize| (std::cmp::Reverse(green.data[*i] as i32), *i);
        let mut slow: Vec<usize> = (0..w * h).filter(|i| i % 3 > 0).collect();
        slow.sort_by_key(order);
        let fields = Fields {
            window: Window { x0: 0, y0: 0, width: w, height: h },
            mm_per_px: 0.1,
            soft: [green.clone(), green.clone(), green.clone()],
            green: green.clone(),
            d: Raster::filled(w, h, 1.0),
        };
        let mut open = Mask { data: (0..w * h).map(|i| i % 3 > 0).collect(), width: w, height: h };
        let mut seeds = Seeds::of(&fields, &open, 0.5);
        let first: Vec<usize> = (0..300).filter_map(|_| seeds.next(&open)).collect();
        assert_eq!(first, slow[..300]);
        // What closes meanwhile does not come.
        slow[300..].iter().step_by(2).for_each(|&i| open.data[i] = false);
        let rest: Vec<usize> = std::iter::from_fn(|| seeds.next(&open)).collect();
        let expected: Vec<usize> = slow[300..].iter().copied().skip(1).step_by(2).collect();
        assert_eq!(rest, expected);
    }
}
