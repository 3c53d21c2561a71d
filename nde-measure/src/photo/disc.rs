//! How far discs around places of a grid reach along its rows.

/// Whole numbers of steps. Bytes are kept and compared fastest, and do for most discs.
pub(super) trait Steps:
    Copy + Ord + std::ops::Add<Output = Self> + From<u8> + TryInto<usize>
{
}
impl<T: Copy + Ord + std::ops::Add<Output = T> + From<u8> + TryInto<usize>> Steps for T {}

/// A disc of grid places.
pub(super) struct Disc {
    /// One more than its half width at each height; 0 at a height that is not reached.
    reaches: Vec<usize>,
    /// The least height that is not reached.
    beyond: i32,
}

impl Disc {
    /// Places not farther than `radius` from the middle; `longest` is as far as any grid goes.
    pub(super) fn of(radius: f64, longest: usize) -> Self {
        let limit = radius * radius + 1e-3;
        let most = (limit.sqrt().floor() as usize).min(longest);
        let half = |g: usize| (limit - (g * g) as f64).max(0.0).sqrt().floor() as usize;
        let reaches = (0..=most).map(|g| half(g).min(longest) + 1).chain([0]).collect();
        Self { reaches, beyond: most as i32 + 1 }
    }

    /// The least height that is not reached.
    pub(super) fn beyond(&self) -> i32 {
        self.beyond
    }

    /// The same disc, able to be asked for every height that another one may be asked for.
    pub(super) fn within(mut self, other: &Self) -> Self {
        let heights = self.reaches.len().max(other.reaches.len());
        self.reaches.resize(heights, 0);
        self
    }

    /// The least height that is not reached, where it and one step more fit into a byte.
    pub(super) fn beyond_as_byte(&self) -> Option<u8> {
        u8::try_from(self.beyond()).ok().filter(|beyond| *beyond < u8::MAX)
    }

    /// Writes `value` where the disc around any place of the row's columns reaches; `steps` is how
    /// far up or down the nearest place of each column lies, `beyond` or more where none is reached.
    pub(super) fn reach_along<T: Steps>(
        &self,
        steps: &[T],
        beyond: T,
        row: &mut [bool],
        value: bool,
    ) {
        // Blocks of columns that are all reached, or that all reach nothing, are passed over whole.
        const BLOCK: usize = 16;
        let full = self.reaches[0];
        let all_reached =
            |block: &[T; BLOCK]| block.iter().fold(true, |all, g| all & (*g < beyond));
        let none_reached =
            |block: &[T; BLOCK]| block.iter().fold(true, |all, g| all & (*g >= beyond));
        let reach = |g: T| self.reaches[g.try_into().unwrap_or(usize::MAX)];
        let (blocks, last) = steps.as_chunks::<BLOCK>();
        let (outs, last_out) = row.as_chunks_mut::<BLOCK>();

        // One past the last place reached by the columns from `x` on, written as it grows.
        let ahead = |mut end: usize, x: usize, out: &mut [bool], steps: &[T]| {
            for (k, (o, &g)) in out.iter_mut().zip(steps).enumerate() {
                end = end.max(x + k + reach(g));
                *o ^= (*o ^ value) & (x + k < end);
            }
            end
        };
        // What the columns before `x` that were passed over reach.
        let caught_up = |end: usize, x: usize| {
            let first = x.saturating_sub(full);
            let ends = steps[first..x].iter().zip(first..).map(|(g, k)| k + reach(*g));
            ends.fold(end, usize::max)
        };
        let (mut end, mut x, mut passed_over) = (0, 0, false);
        for (out, block) in outs.iter_mut().zip(blocks) {
            if all_reached(block) {
                *out = [value; BLOCK];
                passed_over = true;
            } else {
                if std::mem::take(&mut passed_over) {
                    end = caught_up(end, x);
                }
                if none_reached(block) {
                    out[..end.saturating_sub(x).min(BLOCK)].fill(value);
                } else {
                    end = ahead(end, x, out, block);
                }
            }
            x += BLOCK;
        }
        ahead(caught_up(end, x), x, last_out, last);

        // The same from the other end: the first place reached.
        let back = |mut start: usize, x: usize, out: &mut [bool], steps: &[T]| {
            for (k, (o, &g)) in out.iter_mut().zip(steps).enumerate().rev() {
                start = start.min((x + k + 1).saturating_sub(reach(g)));
                *o ^= (*o ^ value) & (x + k >= start);
            }
            start
        };
        let mut start = back(steps.len(), x, last_out, last);
        let mut passed_over = false;
        for (out, block) in outs.iter_mut().zip(blocks).rev() {
            if all_reached(block) {
                passed_over = true;
            } else {
                if std::mem::take(&mut passed_over) {
                    let near = steps[x..].iter().take(full).zip(x + 1..);
                    let starts = near.map(|(g, k)| k.saturating_sub(reach(*g)));
                    start = starts.fold(start, usize::min);
                }
                let x = x - BLOCK;
                if none_reached(block) {
                    out[start.saturating_sub(x).min(BLOCK)..].fill(value);
                } else {
                    start = back(start, x, out, block);
                }
            }
            x -= BLOCK;
        }
    }
}
