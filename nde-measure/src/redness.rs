//! How much dye: redness D against the local white.
//!
//! `D = ln(R/G) - ln(Rw/Gw)`: dye absorbs green most and red hardly, so D grows with dye, while
//! shadow, dirt and grey specks leave it alone. On which side of red a colour lies says
//! `E = ln(B/G) - ln(Bw/Gw)`: pink of dye has E above 0 or near it, rust and oil (brown) far below.

use crate::photo::{Grid, Mask, Photo, Raster, ln_of_srgb};
use crate::white::{White, median};

/// How redness is made.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct RednessOptions {
    /// Standard deviation of the smoothing before detection, pixels; never less than
    /// `smoothing_mm` on the part. Colour in a JPEG has half the resolution of brightness, so less is noise.
    pub smoothing_px: f64,
    /// The same on the part, mm.
    pub smoothing_mm: f64,
}

impl Default for RednessOptions {
    fn default() -> Self {
        Self { smoothing_px: 0.8, smoothing_mm: 0.05 }
    }
}

/// A window of the photo: its first pixel and its size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Window {
    pub(crate) x0: usize,
    pub(crate) y0: usize,
    pub(crate) width: usize,
    pub(crate) height: usize,
}

/// Redness over a window of the photo.
#[derive(Clone, Debug)]
pub(crate) struct Redness {
    pub(crate) window: Window,
    /// D, smoothed.
    pub(crate) d: Raster,
    /// Standard deviation of D on clean coat.
    pub(crate) noise: f64,
}

impl Redness {
    /// Redness in `window`; noise is taken where `clean` cells say so.
    pub(crate) fn of(
        photo: &Photo,
        window: Window,
        white: &White,
        grid: Grid,
        mm_per_px: f64,
        options: &RednessOptions,
    ) -> Self {
        let ln = ln_of_srgb();
        let pw = photo.rgb().width() as usize;
        let bytes = photo.rgb().as_raw();
        let mut ground = vec![0.0_f32; window.width];
        let mut white_at = Between::new(&white.red_green, grid, window);
        let sigma = options.smoothing_px.max(options.smoothing_mm / mm_per_px);
        let d = Raster::blurred_of(window.width, window.height, sigma, |y, out| {
            white_at.row(y, &mut ground);
            let start = ((window.y0 + y) * pw + window.x0) * 3;
            let row = &bytes[start..start + window.width * 3];
            for ((o, px), w) in out.iter_mut().zip(row.chunks_exact(3)).zip(&ground) {
                *o = ln[usize::from(px[0])] - ln[usize::from(px[1])] - w;
            }
        });
        let noise = 1.4826 * f64::from(median(clean_values(&d, window, &white.clean, grid)));
        Self { window, d, noise }
    }
}

/// |D| at every third pixel of clean coat.
fn clean_values(d: &Raster, window: Window, clean: &Mask, grid: Grid) -> Vec<f32> {
    let mut values = Vec::new();
    let columns: Vec<(usize, usize)> = (0..window.width)
        .step_by(3)
        .map(|x| (x, grid.cell_of(window.x0 + x, window.y0).0))
        .take_while(|(_, i)| *i < clean.width)
        .collect();
    for y in (0..window.height).step_by(3) {
        let (_, j) = grid.cell_of(window.x0, window.y0 + y);
        if j < clean.height {
            let (row, clean) = (d.row(y), clean.row(j));
            let here = columns.iter().filter(|(_, i)| clean[*i]);
            values.extend(here.map(|(x, _)| row[*x].abs()));
        }
    }
    values
}

/// A cell field at the pixels of a window, linear between the middles of cells, row by row.
pub(crate) struct Between<'a> {
    field: &'a Raster,
    /// Of each column of the window: the cell to its left, and how far it is on the way to the next.
    columns: Vec<(u32, f32)>,
    first_row: f32,
    side: f32,
    /// One row of the field at the wanted height, and its steps from cell to cell.
    cells: Vec<[f32; 2]>,
}

impl<'a> Between<'a> {
    pub(crate) fn new(field: &'a Raster, grid: Grid, window: Window) -> Self {
        let side = grid.side as f32;
        let last = (field.width - 1) as f32;
        let columns = (0..window.width)
            .map(|x| {
                let u = ((window.x0 + x - grid.x0) as f32 + 0.5) / side - 0.5;
                let u = u.clamp(0.0, last);
                (u as u32, u.fract())
            })
            .collect();
        let first_row = (window.y0 - grid.y0) as f32;
        Self { field, columns, first_row, side, cells: vec![[0.0; 2]; field.width] }
    }

    /// Row `y` of the window.
    pub(crate) fn row(&mut self, y: usize, out: &mut [f32]) {
        let v = (self.first_row + y as f32 + 0.5) / self.side - 0.5;
        let v = v.clamp(0.0, (self.field.height - 1) as f32);
        let (j, fy) = (v as usize, v.fract());
        let (top, bottom) = (self.field.row(j), self.field.row((j + 1).min(self.field.height - 1)));
        // Only the cells under the window.
        let Some((&(from, _), &(to, _))) = self.columns.first().zip(self.columns.last()) else {
            return;
        };
        let (from, to) = (from as usize, (to as usize + 2).min(self.cells.len()));
        for i in from..to {
            self.cells[i][0] = top[i] + (bottom[i] - top[i]) * fy;
        }
        for i in from..to {
            let next = self.cells[(i + 1).min(to - 1)][0];
            self.cells[i][1] = next - self.cells[i][0];
        }
        for (o, &(i, share)) in out.iter_mut().zip(&self.columns) {
            let [value, step] = self.cells[i as usize];
            *o = value + step * share;
        }
    }
}
