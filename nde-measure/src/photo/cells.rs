//! The photo in small square cells: mean linear light, and how much of it is burnt out.
//!
//! Light, coat and background change slowly over the part, so they are looked for on cells of
//! a few tenths of a millimetre instead of on pixels.

use super::{LINEAR_OF_SRGB, Photo, Raster};
use std::sync::LazyLock;

/// Where cells lie: cell (i, j) covers pixels `x0 + side * i .. x0 + side * (i + 1)`, likewise down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Grid {
    /// First pixel of the first cell.
    pub(crate) x0: usize,
    pub(crate) y0: usize,
    /// Pixels a side.
    pub(crate) side: usize,
}

impl Grid {
    /// The cell that holds a pixel at or after the grid's first one.
    pub(crate) fn cell_of(self, x: usize, y: usize) -> (usize, usize) {
        ((x - self.x0) / self.side, (y - self.y0) / self.side)
    }

    /// Middle of a cell in the photo, pixels.
    pub(crate) fn centre_px(self, i: usize, j: usize) -> [f64; 2] {
        let side = self.side as f64;
        [self.x0 as f64 + (i as f64 + 0.5) * side, self.y0 as f64 + (j as f64 + 0.5) * side]
    }

    /// A place of the photo in cells, whole numbers at the middles of cells.
    pub(crate) fn place_of(self, px: f64, py: f64) -> (f64, f64) {
        let side = self.side as f64;
        ((px - self.x0 as f64) / side - 0.5, (py - self.y0 as f64) / side - 0.5)
    }
}

/// Mean light in square cells of the photo.
#[derive(Clone, Debug)]
pub(crate) struct Cells {
    /// Where the cells lie.
    pub(crate) grid: Grid,
    /// Natural logarithm of mean linear red, green, blue.
    pub(crate) ln: [Raster; 3],
    /// Share of pixels burnt out in all three channels, or black in all three.
    pub(crate) lost: Raster,
}

/// At this byte and above a channel is burnt out; at or below [`BLACK`] it is black. Chosen:
/// JPEG rounding moves a full white by up to three steps.
const WHITE: u8 = 252;
const BLACK: u8 = 3;

/// Counts that stand for full light: whole numbers add up fast and in any order.
const COUNTS: f64 = (1 << 30) as f64;
/// Lowest bits of the counts, too small to matter as light: the byte is burnt out, the byte is black.
const BURNT: u32 = 1;
const DARK: u32 = 2;

/// Linear light of each sRGB byte, in counts.
static COUNTS_OF_SRGB: LazyLock<[u32; 256]> = LazyLock::new(|| {
    let mut counts = LINEAR_OF_SRGB.map(|light| (f64::from(light) * COUNTS).round() as u32 & !3);
    counts[usize::from(WHITE)..].iter_mut().for_each(|c| *c |= BURNT);
    counts[..=usize::from(BLACK)].iter_mut().for_each(|c| *c |= DARK);
    counts
});

/// A cell that lost its light to the bright side has at least this much of it, ln. Chosen: far above black.
const BRIGHT_SIDE_LN: f32 = -0.5;

impl Cells {
    /// Cells of `side` pixels; a rim narrower than a cell is left out.
    pub(crate) fn of(photo: &Photo, side: usize) -> Self {
        let rgb = photo.rgb();
        let (pw, ph) = (rgb.width() as usize, rgb.height() as usize);
        let side = side.clamp(1, pw.min(ph));
        let (w, h) = (pw / side, ph / side);
        let mut ln = [(); 3].map(|()| Raster::filled(w, h, 0.0));
        let mut lost = Raster::filled(w, h, 0.0);
        let bytes = rgb.as_raw();
        let light = &*COUNTS_OF_SRGB;
        let share = 1.0 / (side * side) as f64;
        let mut sums = vec![[0_u64; 4]; w];
        for j in 0..h {
            sums.fill([0; 4]);
            for y in j * side..(j + 1) * side {
                let row = &bytes[y * pw * 3..(y * pw + w * side) * 3];
                for (sum, cell) in sums.iter_mut().zip(row.chunks_exact(side * 3)) {
                    let pixels = cell.as_chunks::<3>().0;
                    let mut lost = 0;
                    for px in pixels {
                        let [red, green, blue] = px.map(|byte| light[usize::from(byte)]);
                        sum[0] += u64::from(red);
                        sum[1] += u64::from(green);
                        sum[2] += u64::from(blue);
                        lost |= red & green & blue;
                    }
                    // Few cells hold any, so they are counted where there are some.
                    if lost & (BURNT | DARK) != 0 {
                        let all = |px: &[u8; 3]| px.map(|byte| light[usize::from(byte)]);
                        let is_lost = |[r, g, b]: [u32; 3]| r & g & b & (BURNT | DARK) != 0;
                        sum[3] += pixels.iter().map(all).filter(|px| is_lost(*px)).count() as u64;
                    }
                }
            }
            for (i, sum) in sums.iter().enumerate() {
                for (channel, raster) in ln.iter_mut().enumerate() {
                    let mean = sum[channel] as f64 * share / COUNTS;
                    raster.data[j * w + i] = mean.max(2e-4).ln() as f32;
                }
                lost.data[j * w + i] = (sum[3] as f64 * share) as f32;
            }
        }
        Self { grid: Grid { x0: 0, y0: 0, side }, ln, lost }
    }

    /// Whether a cell lost most of its pixels, and lost them to the bright side.
    pub(crate) fn is_burnt_out(&self, i: usize) -> bool {
        self.lost.data[i] >= 0.5 && self.ln[1].data[i] > BRIGHT_SIDE_LN
    }

    /// ln of a channel's light against green.
    pub(crate) fn against_green(&self, channel: usize) -> Raster {
        let (own, green) = (&self.ln[channel], &self.ln[1]);
        Raster { data: own.data.iter().zip(&green.data).map(|(v, g)| v - g).collect(), ..*own }
    }

    pub(crate) fn width(&self) -> usize {
        self.lost.width
    }

    pub(crate) fn height(&self) -> usize {
        self.lost.height
    }

    /// The cells `x0..x1` by `y0..y1`.
    pub(crate) fn cropped(&self, [x0, y0, x1, y1]: [usize; 4]) -> Self {
        let side = self.grid.side;
        Self {
            grid: Grid { x0: self.grid.x0 + x0 * side, y0: self.grid.y0 + y0 * side, side },
            ln: [0, 1, 2].map(|c| self.ln[c].cropped([x0, y0, x1, y1])),
            lost: self.lost.cropped([x0, y0, x1, y1]),
        }
    }
}
