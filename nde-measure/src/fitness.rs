//! Is this picture fit to judge?
//!
//! Each gate has a value, its limits and a remedy. A failed gate lets nothing be accepted, but
//! stops no measurement. Limits are chosen (simulated photos, method of choice), not from a standard.

use crate::photo::{Cells, Mask};
use crate::redness::Redness;
use crate::white::White;
use crate::{Resolution, Scale};
use nde_core::{Gate, GateOutcome};

/// The gates of one photo. `pink_share` is the share of the coat that is stained without a mark.
pub(crate) fn gates(
    scale: &Scale,
    resolution: &Resolution,
    cells: &Cells,
    coat: &Mask,
    white: &White,
    redness: &Redness,
    pink_share: f64,
) -> Vec<Gate> {
    vec![
        gate(
            "pixel pitch",
            Some(resolution.pitch_mm),
            "mm",
            0.125,
            0.20,
            "come closer, or use more of the sensor",
        ),
        gate(
            "blur",
            resolution.blur_mm,
            "mm",
            0.10,
            0.20,
            "focus on the part, hold still or use a stand, come closer",
        ),
        gate("tilt", scale.tilt_deg, "deg", 15.0, 35.0, "hold the camera square above the part"),
        gate(
            "pink background",
            Some(100.0 * pink_share),
            "% of the coat",
            3.0,
            15.0,
            "excess penetrant is left: clean, re-process and photograph again",
        ),
        gate(
            "coat noise",
            Some(7.0 * redness.noise),
            "redness",
            0.20,
            0.30,
            "give more light, so that faint marks stand out of the noise",
        ),
        gate(
            "glare",
            Some(100.0 * lost_share(cells, coat)),
            "% of the coat",
            0.5,
            5.0,
            "move the lamp or expose less: burnt-out places hide marks",
        ),
        gate(
            "uneven light",
            light_ratio(white, coat),
            "brightest : darkest",
            3.0,
            8.0,
            "light the part evenly from two sides",
        ),
    ]
}

fn gate(
    name: &'static str,
    value: Option<f64>,
    unit: &'static str,
    warn: f64,
    fail: f64,
    remedy: &'static str,
) -> Gate {
    Gate { name, value, unit, warn, fail, outcome: outcome(value, warn, fail), remedy }
}

/// A value at a limit still passes it.
fn outcome(value: Option<f64>, warn: f64, fail: f64) -> GateOutcome {
    match value {
        None => GateOutcome::Unknown,
        Some(v) if v > fail => GateOutcome::Fail,
        Some(v) if v > warn => GateOutcome::Warn,
        Some(v) if v.is_nan() => GateOutcome::Unknown,
        Some(_) => GateOutcome::Pass,
    }
}

/// Share of the coat's cells that are mostly burnt out or black.
fn lost_share(cells: &Cells, coat: &Mask) -> f64 {
    let lost = coat.data.iter().zip(&cells.lost.data).filter(|(c, l)| **c && **l >= 0.5).count();
    lost as f64 / coat.count().max(1) as f64
}

/// Light of the brightest against the darkest twentieth of the coat.
fn light_ratio(white: &White, coat: &Mask) -> Option<f64> {
    let mut light: Vec<f32> = (0..coat.data.len())
        .filter(|&i| coat.data[i])
        .map(|i| white.red.data[i] - white.red_green.data[i])
        .collect();
    let k = light.len() / 20;
    if light.len() < 20 {
        return None;
    }
    let dark = *light.select_nth_unstable_by(k, f32::total_cmp).1;
    let last = light.len() - 1 - k;
    let bright = *light.select_nth_unstable_by(last, f32::total_cmp).1;
    Some(f64::from(bright - dark).exp())
}
