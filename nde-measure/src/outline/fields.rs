//! The light of one window: what green, red and blue have lost against the local white.

use crate::photo::{Grid, Photo, Raster, light_of_srgb};
use crate::redness::{Between, Redness, Window};
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
    /// Redness.
    pub(super) d: Raster,
}

impl Fields {
    pub(super) fn of(site: &Site<'_>, window: Window, smoothing: f64) -> Self {
        let Site { photo, redness, white, grid, mm_per_px } = *site;
        let light = light_of_srgb();
        let bytes = photo.rgb().as_raw();
        let pw = photo.rgb().width() as usize;
        let (w, h) = (window.width, window.height);
        let mut loss = [(); 3].map(|()| Raster::filled(w, h, 0.0));
        let mut d = Raster { width: w, height: h, data: Vec::with_capacity(w * h) };
        let mut grounds =
            white.over.each_ref().map(|f| (Between::new(f, grid, window), vec![0.0_f32; w]));
        for y in 0..h {
            for (between, row) in &mut grounds {
                between.row(y, row);
            }
            let start = ((window.y0 + y) * pw + window.x0) * 3;
            let bytes = &bytes[start..start + 3 * w];
            for (c, (loss, (_, over))) in loss.iter_mut().zip(&grounds).enumerate() {
                let row = loss.data[y * w..(y + 1) * w].iter_mut();
                for ((o, px), over) in row.zip(bytes.chunks_exact(3)).zip(over) {
                    *o = 1.0 - light[usize::from(px[c])] * over;
                }
            }
            let from = (window.y0 + y - redness.window.y0) * redness.window.width + window.x0
                - redness.window.x0;
            d.data.extend_from_slice(&redness.d.data[from..from + w]);
        }
        let green = loss[1].blurred(smoothing);
        let soft = loss.map(|l| l.blurred(COLOUR_BLUR_PX));
        Self { window, mm_per_px, green, soft, d }
    }
}
