//! The light of one window: what green, red and blue have lost against the local white.

use crate::photo::{Grid, Photo, Raster, ln_of_srgb};
use crate::redness::{Redness, Window, white_row};
use crate::white::White;

/// What a region is read from: the photo and what is known of it there.
#[derive(Clone, Copy)]
pub(crate) struct Site<'a> {
    pub(crate) photo: &'a Photo,
    pub(crate) redness: &'a Redness,
    pub(crate) white: &'a White,
    pub(crate) grid: Grid,
    /// Pitch at the region.
    pub(crate) mm_per_px: f64,
}

/// Brightness and colour of a JPEG are blurred differently; over this much blur they agree. Chosen:
/// colour at half resolution plus the camera's own colour smoothing.
const COLOUR_BLUR_PX: f64 = 2.0;

/// The light fields of one window around a region.
pub(super) struct Fields {
    pub(super) window: Window,
    pub(super) mm_per_px: f64,
    /// Loss of green against white, smoothed.
    pub(super) green: Raster,
    /// Loss of red, green, blue, smoothed as widely as colour is in a JPEG with halved colour.
    pub(super) soft: [Raster; 3],
    /// Redness, and the loss that redness alone implies: 1 - Gn/Rn.
    pub(super) d: Raster,
    pub(super) ratio: Raster,
}

impl Fields {
    pub(super) fn of(site: &Site<'_>, window: Window, smoothing: f64) -> Self {
        let Site { photo, redness, white, grid, mm_per_px } = *site;
        let ln = ln_of_srgb();
        let bytes = photo.rgb().as_raw();
        let pw = photo.rgb().width() as usize;
        let (w, h) = (window.width, window.height);
        let mut loss = [(); 3].map(|()| Raster::filled(w, h, 0.0));
        let mut d = Raster::filled(w, h, 0.0);
        let mut rows = [vec![0.0; w], vec![0.0; w], vec![0.0; w]];
        for y in 0..h {
            white_row(&white.red, grid, window, y, &mut rows[0]);
            white_row(&white.red_green, grid, window, y, &mut rows[1]);
            white_row(&white.blue_green, grid, window, y, &mut rows[2]);
            let start = ((window.y0 + y) * pw + window.x0) * 3;
            for x in 0..w {
                let px = &bytes[start + 3 * x..start + 3 * x + 3];
                let green = rows[0][x] - rows[1][x];
                let ground = [rows[0][x], green, green + rows[2][x]];
                for c in 0..3 {
                    loss[c].data[y * w + x] = 1.0 - (ln[usize::from(px[c])] - ground[c]).exp();
                }
            }
            let from = (window.y0 + y - redness.window.y0) * redness.window.width + window.x0
                - redness.window.x0;
            d.data[y * w..(y + 1) * w].copy_from_slice(&redness.d.data[from..from + w]);
        }
        let ratio = Raster { data: d.data.iter().map(|v| 1.0 - (-v).exp()).collect(), ..d };
        let green = loss[1].blurred(smoothing);
        let soft = loss.map(|l| l.blurred(COLOUR_BLUR_PX));
        Self { window, mm_per_px, green, soft, d, ratio }
    }
}
