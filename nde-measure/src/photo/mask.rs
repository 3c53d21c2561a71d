//! A grid of yes and no, and distances on it.

use super::disc::{Disc, Steps};

/// A grid of yes and no, row by row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Mask {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) data: Vec<bool>,
}

impl Mask {
    pub(crate) fn empty(width: usize, height: usize) -> Self {
        Self { width, height, data: vec![false; width * height] }
    }

    pub(crate) fn at(&self, x: usize, y: usize) -> bool {
        self.data[y * self.width + x]
    }

    pub(crate) fn set(&mut self, x: usize, y: usize, value: bool) {
        self.data[y * self.width + x] = value;
    }

    pub(crate) fn row(&self, y: usize) -> &[bool] {
        &self.data[y * self.width..(y + 1) * self.width]
    }

    /// Adds the places of another of the same size.
    pub(crate) fn add(&mut self, more: &Self) {
        self.data.iter_mut().zip(&more.data).for_each(|(yes, more)| *yes |= more);
    }

    /// Takes the places of another of the same size out.
    pub(crate) fn take_out(&mut self, not: &Self) {
        self.data.iter_mut().zip(&not.data).for_each(|(yes, not)| *yes &= !not);
    }

    /// Share of the places of a kind, given by their index, that it holds.
    #[cfg(test)]
    pub(crate) fn share_of(&self, is_of_kind: impl Fn(usize) -> bool) -> f64 {
        let of = (0..self.data.len()).filter(|&i| is_of_kind(i));
        let (all, yes) = of.fold((0_u32, 0_u32), |(n, y), i| (n + 1, y + u32::from(self.data[i])));
        f64::from(yes) / f64::from(all)
    }

    pub(crate) fn count(&self) -> usize {
        self.data.iter().filter(|&&yes| yes).count()
    }

    /// The places `x0..x1` by `y0..y1`.
    pub(crate) fn cropped(&self, [x0, y0, x1, y1]: [usize; 4]) -> Self {
        let mut data = Vec::with_capacity((x1 - x0) * (y1 - y0));
        (y0..y1).for_each(|y| data.extend_from_slice(&self.row(y)[x0..x1]));
        Self { width: x1 - x0, height: y1 - y0, data }
    }

    /// Least and greatest x and y of yes, the last two not included; `None` of nothing.
    pub(crate) fn bounds(&self) -> Option<[usize; 4]> {
        let mut b = [usize::MAX, usize::MAX, 0, 0];
        for (y, row) in self.data.chunks_exact(self.width.max(1)).enumerate() {
            if let (Some(first), Some(last)) =
                (row.iter().position(|v| *v), row.iter().rposition(|v| *v))
            {
                b = [b[0].min(first), b[1].min(y), b[2].max(last + 1), y + 1];
            }
        }
        (b[2] > 0).then_some(b)
    }

    /// The part that holds all yes with one place around it, as far as the mask goes, and its first place.
    pub(crate) fn tight(&self) -> (Self, [usize; 2]) {
        let [x0, y0, x1, y1] = self.bounds().unwrap_or([0; 4]);
        let first = [x0.saturating_sub(1), y0.saturating_sub(1)];
        let crop = [first[0], first[1], (x1 + 1).min(self.width), (y1 + 1).min(self.height)];
        (self.cropped(crop), first)
    }

    /// Yes where any place within `radius` grid steps (as the crow flies) is yes.
    pub(crate) fn grown(&self, radius: f64) -> Self {
        self.with_distance(radius, true)
    }

    /// Yes where every place within `radius` grid steps is yes; beyond the rim counts as yes.
    pub(crate) fn shrunk(&self, radius: f64) -> Self {
        self.with_distance(radius, false)
    }

    /// With its gaps of up to twice `radius` grid steps.
    pub(crate) fn bridged(&self, radius: f64) -> Self {
        self.grown(radius).shrunk(radius)
    }

    /// Without a distance field: per column how near the next `grow` is, then per row how far each
    /// column's disc reaches to its sides.
    fn with_distance(&self, radius: f64, grow: bool) -> Self {
        let mut out = Self { width: self.width, height: self.height, data: self.data.clone() };
        // Growing by less than a step changes nothing.
        if radius < 1.0 || self.data.is_empty() {
            return out;
        }
        let disc = Disc::of(radius, self.width.max(self.height));
        match disc.beyond_as_byte() {
            Some(beyond) => self.paint(&disc, beyond, grow, &mut out),
            None => self.paint(&disc, disc.beyond(), grow, &mut out),
        }
        out
    }

    fn paint<T: Steps>(&self, disc: &Disc, beyond: T, value: bool, out: &mut Self) {
        let down = self.steps_down(value, beyond);
        for (row, steps) in out.data.chunks_exact_mut(self.width).zip(down.chunks_exact(self.width))
        {
            disc.reach_along(steps, beyond, row, value);
        }
    }

    /// Hands on every place farther than `near` from all yes, but within `far` of one, row by row.
    pub(crate) fn each_between(&self, near: f64, far: f64, see: impl FnMut(usize, usize)) {
        if self.data.is_empty() {
            return;
        }
        let longest = self.width.max(self.height);
        let far = Disc::of(far, longest);
        let near = Disc::of(near, longest).within(&far);
        let near_beyond = near.beyond();
        match (near_beyond.try_into(), far.beyond_as_byte()) {
            (Ok(near_beyond), Some(far_beyond)) => {
                self.each_between_discs::<u8>((&near, near_beyond), (&far, far_beyond), see);
            }
            _ => self.each_between_discs((&near, near_beyond), (&far, far.beyond()), see),
        }
    }

    fn each_between_discs<T: Steps>(
        &self,
        (near, near_beyond): (&Disc, T),
        (far, far_beyond): (&Disc, T),
        mut see: impl FnMut(usize, usize),
    ) {
        let down = self.steps_down(true, far_beyond);
        let mut ring = vec![false; self.width];
        for (y, steps) in down.chunks_exact(self.width).enumerate() {
            ring.fill(false);
            far.reach_along(steps, far_beyond, &mut ring, true);
            near.reach_along(steps, near_beyond, &mut ring, false);
            for (n, block) in ring.chunks(16).enumerate() {
                if block.iter().fold(false, |any, yes| any | yes) {
                    let places = block.iter().enumerate().filter(|(_, yes)| **yes);
                    places.for_each(|(x, _)| see(16 * n + x, y));
                }
            }
        }
    }

    /// Steps within its column from every place to the nearest whose value is `value`, at most `most`.
    fn steps_down<T: Steps>(&self, value: bool, most: T) -> Vec<T> {
        let (w, one) = (self.width, T::from(1));
        let mut steps: Vec<T> =
            self.data.iter().map(|&v| if v == value { T::from(0_u8) } else { most }).collect();
        for y in 1..self.height {
            let (above, here) = steps.split_at_mut(y * w);
            for (h, &a) in here[..w].iter_mut().zip(&above[(y - 1) * w..]) {
                *h = (*h).min(a + one);
            }
        }
        for y in (1..self.height).rev() {
            let (above, here) = steps.split_at_mut(y * w);
            for (a, &h) in above[(y - 1) * w..].iter_mut().zip(&here[..w]) {
                *a = (*a).min(h + one);
            }
        }
        steps
    }

    /// Squared distance, grid steps, of every place to the nearest place whose value is `value`.
    /// Steps within columns, then along each row lower envelopes of parabolas (Felzenszwalb and
    /// Huttenlocher, "Distance transforms of sampled functions", Theory of Computing 8, 2012; from memory).
    pub(crate) fn squared_distance_to(&self, value: bool) -> Vec<f32> {
        const FAR: i32 = 1 << 20;
        if self.data.is_empty() {
            return Vec::new();
        }
        let steps = self.steps_down(value, FAR);
        let mut field = vec![FAR_SQUARED; self.data.len()];
        let mut envelope = Envelope::new(self.width);
        for (out, steps) in field.chunks_exact_mut(self.width).zip(steps.chunks_exact(self.width)) {
            // Between places that are 0 only the two at its ends matter to a stretch.
            let mut x = 0;
            while x < steps.len() {
                if steps[x] == 0 {
                    out[x] = 0.0;
                    x += 1;
                    continue;
                }
                let first = x.saturating_sub(1);
                x += steps[x..].iter().take_while(|g| **g != 0).count();
                let end = (x + 1).min(steps.len());
                envelope.lower(&steps[first..end], FAR, &mut out[first..end]);
            }
        }
        field
    }
}

/// What stands for "nowhere", squared steps.
const FAR_SQUARED: f32 = 1e12;

/// Working space for one line of the distance transform.
struct Envelope {
    /// Where parabolas stand that take part, their heights, and from where on each is the lowest.
    apex: Vec<usize>,
    height: Vec<f64>,
    from: Vec<f64>,
    /// Half of one over each whole number.
    half_over: Vec<f64>,
}

impl Envelope {
    fn new(length: usize) -> Self {
        Self {
            apex: Vec::with_capacity(length),
            height: Vec::with_capacity(length),
            from: Vec::with_capacity(length),
            half_over: (0..=length).map(|n| 0.5 / n as f64).collect(),
        }
    }

    fn lower(&mut self, steps: &[i32], far: i32, out: &mut [f32]) {
        self.apex.clear();
        self.height.clear();
        self.from.clear();
        for (q, &g) in steps.iter().enumerate() {
            if g >= far {
                continue;
            }
            // Of a parabola only its height and place matter: f(q) + q^2.
            let height = f64::from(g).powi(2) + (q as f64).powi(2);
            let mut start = f64::NEG_INFINITY;
            while let (Some(&v), Some(&h), Some(&from)) =
                (self.apex.last(), self.height.last(), self.from.last())
            {
                start = (height - h) * self.half_over[q - v];
                if start > from {
                    break;
                }
                self.apex.pop();
                self.height.pop();
                self.from.pop();
                start = f64::NEG_INFINITY;
            }
            self.apex.push(q);
            self.height.push(height);
            self.from.push(start);
        }
        let mut k = 0;
        for (x, o) in out.iter_mut().enumerate() {
            if self.apex.is_empty() {
                return;
            }
            while k + 1 < self.apex.len() && self.from[k + 1] < x as f64 {
                k += 1;
            }
            let (v, x) = (self.apex[k] as f64, x as f64);
            *o = (self.height[k] + x * (x - 2.0 * v)) as f32;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_agree_with_a_search_over_all_places() {
        let mut mask = Mask::empty(17, 11);
        for (x, y) in [(2, 3), (12, 9), (16, 0)] {
            mask.set(x, y, true);
        }
        let fast = mask.squared_distance_to(true);
        for y in 0..11_i32 {
            for x in 0..17_i32 {
                let slow = [(2, 3), (12, 9), (16, 0)]
                    .iter()
                    .map(|(a, b)| (a - x).pow(2) + (b - y).pow(2))
                    .min();
                assert_eq!(Some(fast[(y * 17 + x) as usize] as i32), slow);
            }
        }
    }

    #[test]
    fn growing_and_rings_agree_with_a_search_over_all_places() {
        // Solid stretches longer than a block, gaps, and grain; wide enough for steps beyond a byte.
        for (width, height, radius) in [(97, 61, 7.3), (130, 40, 19.0), (301, 280, 260.0)] {
            let mut mask = Mask::empty(width, height);
            for (i, v) in mask.data.iter_mut().enumerate() {
                let (x, y) = (i % width, i / width);
                let grain = (x * 7919 + y * 104_729) % 97 == 0 && x < width / 3;
                *v = grain
                    || (y > height / 2
                        && x > width / 2
                        && x < width / 2 + 40
                        && y < height / 2 + 9);
            }
            let squared = mask.squared_distance_to(true);
            let near = |i: usize, r: f64| f64::from(squared[i]) <= r * r + 1e-3;
            let grown = mask.grown(radius);
            assert!((0..mask.data.len()).all(|i| grown.data[i] == near(i, radius)));
            let mut ring = Mask::empty(width, height);
            mask.each_between(0.5 * radius, radius, |x, y| ring.set(x, y, true));
            let between = |i: usize| near(i, radius) && !near(i, 0.5 * radius);
            assert!((0..mask.data.len()).all(|i| ring.data[i] == between(i)), "{radius}");
        }
    }

    #[test]
    fn growing_then_shrinking_a_disc_gives_the_disc() {
        let mut disc = Mask::empty(40, 40);
        for y in 0..40_i32 {
            for x in 0..40_i32 {
                disc.set(x as usize, y as usize, (x - 20).pow(2) + (y - 20).pow(2) <= 64);
            }
        }
        assert_eq!(disc.grown(4.0).shrunk(4.0).count(), disc.count());
    }
}
