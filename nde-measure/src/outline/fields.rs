//! The light of one window: what green, red and blue have lost against the local white.

use crate::coat::RED_SHARE_OF_DYE;
use crate::photo::{Grid, Photo, Raster, light_of_srgb};
use crate::redness::{Between, Redness, Window};
use crate::white::White;
use std::cell::OnceCell;

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
#[derive(Clone)]
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

/// Shade is taken out up to this factor of light, ln, and light is reckoned as at least this share of white:
/// beyond lies noise. Chosen.
const MOST_SHADE: f32 = 1.2;
const LEAST_LIGHT: f32 = 0.02;

impl Fields {
    /// The same with the light that falls on relief or in a shadow taken out of the loss of green.
    ///
    /// Relief and shadows take from all colours alike, dye hardly from red: what red has lost beyond what this
    /// much dye takes is shade. It is read as widely as colour is blurred, so edges of dye stay as sharp as
    /// they are in green.
    pub(super) fn in_even_light(&self) -> Self {
        let mut even = self.clone();
        let [red, soft_green, _] = &self.soft;
        for ((green, red), soft) in even.green.data.iter_mut().zip(&red.data).zip(&soft_green.data)
        {
            let (red, soft) = ((1.0 - red).max(LEAST_LIGHT), (1.0 - soft).max(LEAST_LIGHT));
            let redness = (red / soft).ln().max(0.0);
            let shade = red.ln() + RED_SHARE_OF_DYE * redness;
            *green = 1.0 - (1.0 - *green) * (-shade).clamp(-MOST_SHADE, MOST_SHADE).exp();
        }
        even
    }

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

/// The light fields of one region: as seen, and with shade taken out, made when first asked for.
pub(super) struct Light {
    pub(super) as_seen: Fields,
    even: OnceCell<Fields>,
}

impl Light {
    pub(super) fn of(as_seen: Fields) -> Self {
        Self { as_seen, even: OnceCell::new() }
    }

    pub(super) fn even(&self) -> &Fields {
        self.even.get_or_init(|| self.as_seen.in_even_light())
    }
}
