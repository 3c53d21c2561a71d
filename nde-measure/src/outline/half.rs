//! The core of a body: what stands above half of its own contrast, and the body drawn around it.

use super::fields::Fields;
use super::part::{Cut, Part, Stamps, mean_slope, percentile, slope_over};
use super::{Body, OutlineOptions, fall_reach};
use crate::PointPx;
use crate::photo::{Mask, Raster};
use crate::redness::Window;
use crate::white::median;

/// Where a body starts, and how it is read.
#[derive(Clone, Copy)]
pub(super) struct Start<'a> {
    /// Its highest place, in the window.
    pub(super) seed: usize,
    /// The places that may belong to it.
    pub(super) support: &'a Mask,
    /// From where to where around it the ground is read.
    pub(super) ring_px: [f64; 2],
    pub(super) options: &'a OutlineOptions,
}

/// What stands above half of its own contrast.
pub(super) struct Core {
    pub(super) part: Part,
    /// Places of the ground around it.
    ring: Vec<usize>,
    pub(super) peak: f64,
    pub(super) ground: f64,
    pub(super) spread: f64,
}

impl Core {
    /// Around `seed`: the level settles in a few rounds, since peak and ground depend on it.
    pub(super) fn at(fields: &Fields, start: Start<'_>, stamps: &mut Stamps) -> Option<Self> {
        let Start { seed, support, ring_px, options } = start;
        let mut peak = f64::from(fields.green.data[seed]);
        let mut ground = 0.0_f64;
        let mut spread = 0.0_f64;
        let mut part = Part::default();
        let mut ring = Vec::new();
        for _ in 0..4 {
            let level = ground + options.level * (peak - ground);
            let next = Part::around(&fields.green, support, seed, level as f32, stamps);
            // As many places above another level are the same places: peak and ground stay, too.
            if next.places.is_empty() || next.places.len() == part.places.len() {
                break;
            }
            part = next;
            peak = f64::from(percentile(
                part.places.iter().map(|&i| fields.green.data[i]),
                options.peak_share,
            ));
            ring = part.ring(ring_px);
            if !ring.is_empty() {
                ground = f64::from(median(ring.iter().map(|&i| fields.green.data[i]).collect()));
                let off = ring
                    .iter()
                    .map(|&i| (f64::from(fields.green.data[i]) - ground).abs() as f32)
                    .collect();
                spread = 1.4826 * f64::from(median(off));
            }
        }
        if part.places.is_empty() || peak - ground < 0.02 {
            return None;
        }
        Some(Self { part, ring, peak, ground, spread })
    }

    /// The level of its outline, loss of green.
    pub(super) fn level(&self, options: &OutlineOptions) -> f64 {
        self.ground + options.level * (self.peak - self.ground)
    }

    pub(super) fn body(
        self,
        fields: &Fields,
        start: Start<'_>,
        stamps: &mut Stamps,
    ) -> Option<Body> {
        let Start { seed, support, ring_px, options } = start;
        let mut level = self.level(options);
        let Self { mut part, mut ring, peak, ground, spread } = self;
        // Powder grain breaks a thin line where it dips just under half: a dip within the grain is no gap.
        let visible_level = ground + options.visible_level * (peak - ground);
        // A strong mark does not break on grain, and its neighbours would count as its grain.
        let contrast = peak - ground;
        let grain =
            if contrast < options.bridged_contrast { spread.min(0.15 * contrast) } else { 0.0 };
        let bridge = (level - grain).max(visible_level);
        let bridged = Part::around(&fields.green, support, seed, bridge as f32, stamps);
        if bridged.reach() > 1.15 * part.reach() + 3.0 {
            ring = bridged.ring(ring_px);
            part = bridged;
            level = bridge;
        }
        let of_ring =
            |field: &Raster| f64::from(median(ring.iter().map(|&i| field.data[i]).collect()));
        let red_peak = f64::from(percentile(
            part.places.iter().map(|&i| fields.d.data[i]),
            options.peak_share,
        ));
        let grounds = [0, 1, 2].map(|c| of_ring(&fields.soft[c]));
        let loss = part.loss_ratios(&fields.soft, grounds);
        let outline = part.outline(&fields.green, level as f32)?;
        let visible = Part::around(&fields.green, support, seed, visible_level as f32, stamps);
        // Half of the loss that redness implies, 1 - exp(-redness), not half of the redness.
        let implied = |redness: f64| 1.0 - (-redness).exp();
        let (low, high) = (implied(of_ring(&fields.d)), implied(red_peak));
        let redness_level = -(1.0 - low - options.level * (high - low)).max(1e-6).ln();
        let redder = Part::around(&fields.d, support, seed, redness_level as f32, stamps);
        let slope = mean_slope(&fields.green, &outline);
        let Cut { x0, y0, mask } = part.cut(ring_px[1] + 2.0);
        let fall = slope_over(&fields.green, &outline, fall_reach(&mask, fields.mm_per_px));
        let to_photo = |line: Vec<[f64; 2]>| -> Vec<PointPx> {
            line.iter()
                .map(|p| {
                    [p[0] + fields.window.x0 as f64 + 0.5, p[1] + fields.window.y0 as f64 + 0.5]
                })
                .collect()
        };
        Some(Body {
            visible_px: visible
                .outline(&fields.green, visible_level as f32)
                .map(to_photo)
                .unwrap_or_default(),
            redness_px: redder
                .outline(&fields.d, redness_level as f32)
                .map(to_photo)
                .unwrap_or_default(),
            outline_px: to_photo(outline),
            level,
            visible_level,
            redness_level,
            peak,
            ground,
            ground_spread: spread,
            loss,
            redness: high - low,
            slope_per_mm: slope / fields.mm_per_px,
            fall_per_mm: fall / fields.mm_per_px,
            window: Window {
                x0: fields.window.x0 + x0,
                y0: fields.window.y0 + y0,
                width: mask.width,
                height: mask.height,
            },
            mask,
            touches: false,
            around_stronger: false,
            in_even_light: false,
            contrast_as_seen: peak - ground,
        })
    }
}
