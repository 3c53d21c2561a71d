//! Which of several pieces each place of a window belongs to.

use super::Body;
use crate::photo::{Mask, Raster};
use crate::redness::Window;

/// How near an outline runs along another, pixels.
pub(super) const ALONG_PX: f64 = 4.0;
/// How far above the level the line of a bridge is lifted, loss of green.
pub(super) const LEAST_LIFT: f32 = 0.005;

/// Which piece each place of a window is nearest to, and how far from it.
pub(super) struct Owners {
    piece: Vec<u32>,
    squared: Vec<f32>,
    width: usize,
    height: usize,
}

impl Owners {
    pub(super) fn of(pieces: &[&Body], window: Window) -> Self {
        let n = window.width * window.height;
        let mut this = Self {
            piece: vec![0; n],
            squared: vec![f32::INFINITY; n],
            width: window.width,
            height: window.height,
        };
        for (k, body) in pieces.iter().enumerate() {
            let squared = body.mask.squared_distance_to(true);
            let (dx, dy) = (body.window.x0 - window.x0, body.window.y0 - window.y0);
            for (i, d) in squared.into_iter().enumerate() {
                let (x, y) = (dx + i % body.mask.width, dy + i / body.mask.width);
                if x < this.width && y < this.height && d < this.squared[y * this.width + x] {
                    this.squared[y * this.width + x] = d;
                    this.piece[y * this.width + x] = k as u32;
                }
            }
        }
        this
    }

    /// How far a field lies above the level of the nearest piece, up to `reach` around the pieces.
    pub(super) fn above(&self, field: &Raster, levels: &[f32], reach: f64) -> Raster {
        let mut above = Raster::filled(self.width, self.height, -1.0);
        let most = (reach * reach) as f32;
        for (i, v) in above.data.iter_mut().enumerate() {
            if self.squared[i] <= most {
                *v = field.data[i] - levels[self.piece[i] as usize];
            }
        }
        above
    }

    /// Lifts the seams between pieces just over the level: a line of grain is not the rim of a blot.
    pub(super) fn close_seams(&self, above: &mut Raster) {
        let own = Mask {
            data: self.squared.iter().map(|d| *d <= 0.0).collect(),
            ..Mask::empty(self.width, self.height)
        };
        let closed = own.bridged(0.5 * ALONG_PX);
        for (v, _) in above.data.iter_mut().zip(&closed.data).filter(|(_, c)| **c) {
            *v = v.max(LEAST_LIFT);
        }
    }

    /// Where a piece stands highest above its level.
    pub(super) fn seed(&self, above: &Raster) -> Option<usize> {
        let best = (0..above.data.len())
            .filter(|&i| self.squared[i] <= 0.0)
            .max_by(|&a, &b| above.data[a].total_cmp(&above.data[b]))?;
        (above.data[best] >= 0.0).then_some(best)
    }
}
