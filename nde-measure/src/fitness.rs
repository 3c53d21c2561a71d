//! Is this picture fit to judge?
//!
//! Each gate has a value, its limits and a remedy. A failed gate lets nothing be accepted, but
//! stops no measurement. Limits are chosen (simulated photos, method of choice), not from a standard.

use crate::Scale;
use crate::photo::{Cells, Mask};
use crate::redness::Redness;
use crate::white::White;
use nde_core::{Gate, GateOutcome};

/// What the picture can resolve, on the part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resolution {
    /// Pixel pitch at the middle of the coat, mm.
    pub pitch_mm: f64,
    /// Edge blur, standard deviation, mm; absent when not measured.
    pub blur_mm: Option<f64>,
    /// Least width sized honestly, mm.
    pub least_width_mm: f64,
    /// Gaps smaller than this are seen as none, mm.
    pub least_gap_mm: f64,
}

impl Resolution {
    /// Marks shorter than this are not called linear or rounded, mm: five standard deviations of the
    /// blur, where [`Resolution::least_width_mm`] is four.
    #[must_use]
    pub fn least_length_mm(&self) -> f64 {
        1.25 * self.least_width_mm
    }
}

/// What the gates look at.
pub(crate) struct Findings<'a> {
    pub(crate) scale: &'a Scale,
    pub(crate) resolution: &'a Resolution,
    pub(crate) cells: &'a Cells,
    pub(crate) coat: &'a Mask,
    /// How many cells beside the coat are burnt out and were coat.
    pub(crate) burnt_out: usize,
    pub(crate) white: &'a White,
    pub(crate) redness: &'a Redness,
    /// Share of the coat that is stained without a mark.
    pub(crate) pink_share: f64,
    /// Coat that was read.
    pub(crate) area_mm2: f64,
    /// Ground beside it that may be coat and was not read.
    pub(crate) doubtful_mm2: f64,
    /// Light of known white in the frame, ln of red, green, blue; absent without any.
    pub(crate) paper_ln: Option<[f64; 3]>,
    /// Colour of the coat's own white, ln of red and blue against green, where it was taken for white by nothing but
    /// being the whitest of the photo, and how far off the camera's white that is believed.
    pub(crate) untold_white: Option<([f64; 2], f64)>,
    /// Whether the coat was told from what lies around it only by a closer look.
    pub(crate) soft_rim: bool,
    /// Clear red marks beside the coat that was read.
    pub(crate) marks_beside: usize,
    /// Whether something says that this is a part with developer: its outline was drawn, or a scale lies beside it.
    pub(crate) vouched: bool,
}

/// The gates of one photo.
pub(crate) fn gates(of: &Findings<'_>) -> Vec<Gate> {
    let mut gates = vec![
        gate(
            "pixel pitch",
            Some(of.resolution.pitch_mm),
            "mm",
            0.125,
            0.20,
            "come closer, or use more of the sensor",
        ),
        gate(
            "blur",
            of.resolution.blur_mm,
            "mm",
            0.10,
            0.20,
            "focus on the part, hold still or use a stand, come closer",
        ),
        gate("tilt", of.scale.tilt_deg, "deg", 15.0, 35.0, "hold the camera square above the part"),
        gate(
            "pink background",
            Some(100.0 * of.pink_share.max(wide_pink_share(of.white, of.coat))),
            "% of the coat",
            3.0,
            MOST_PINK,
            "excess penetrant is left: clean, re-process and photograph again",
        ),
        gate(
            "coat noise",
            Some(7.0 * of.redness.noise),
            "redness",
            0.20,
            0.30,
            "give more light, so that faint marks stand out of the noise",
        ),
        gate(
            "glare",
            Some(100.0 * lost_share(of.cells, of.coat, of.burnt_out)),
            "% of the coat",
            0.5,
            MOST_LOST,
            "move the lamp or expose less: burnt-out places hide marks",
        ),
        gate(
            "uneven light",
            light_ratio(of.white, of.coat),
            "brightest : darkest",
            3.0,
            MOST_UNEVEN,
            "light the part evenly from two sides",
        ),
        area_read(of.area_mm2),
        perhaps_unread(of.doubtful_mm2, of.area_mm2),
        gate(
            "marks beside the area read",
            Some(of.marks_beside as f64),
            "",
            0.0,
            f64::INFINITY,
            "if they lie on developer, outline the whole coat, the area read as well, with --region",
        ),
    ];
    // A wall or a shirt is as white and as even as a coat; nothing red on it proves nothing.
    if !of.vouched {
        gates.push(gate(
            "coats nobody outlined",
            Some(1.0),
            "",
            0.0,
            0.0,
            "outline the developer with --region, or lay a card or a rule beside it: any white surface looks like it",
        ));
    }
    if let Some((colour, most_cast)) = of.untold_white {
        gates.push(colour_of_light(colour, most_cast));
    }
    if of.soft_rim && of.resolution.blur_mm.is_none() {
        gates.push(gate(
            "soft rim of the coat",
            Some(1.0),
            "",
            0.0,
            0.0,
            "the coat's edge runs out as slowly as light does, and nothing tells the blur: focus on the part, or lay the card beside it, which tells",
        ));
    }
    // Without known white in the frame there is nothing to hold the coat against.
    if let Some(paper) = of.paper_ln {
        gates.push(gate(
            "dark coat",
            paper_to_coat(paper, of.cells, of.coat),
            "paper : coat",
            DARK_COAT[0],
            DARK_COAT[1],
            "is this white developer? Coat it, and light the coat as brightly as the card",
        ));
    }
    gates
}

/// White paper against the brightest tenth of the coat, in green light. Developer is nearly as white
/// as paper: 0.8 to 1.1 on rendered photos, shadows across the coat included; bare metal and grey paint
/// reflect a third of it and less (from memory). Limits chosen between.
const DARK_COAT: [f64; 2] = [1.7, 2.5];

fn paper_to_coat(paper_ln: [f64; 3], cells: &Cells, coat: &Mask) -> Option<f64> {
    let on_coat = cells.ln[1].data.iter().zip(&coat.data).filter(|(_, c)| **c);
    let mut light: Vec<f32> = on_coat.map(|(v, _)| *v).collect();
    let k = light.len().checked_sub(1)? * 9 / 10;
    let bright = *light.select_nth_unstable_by(k, f32::total_cmp).1;
    Some((paper_ln[1] - f64::from(bright)).exp())
}

/// From here on the colour of a coat is worth a word where nothing else tells what white is. Chosen: a window and a lamp
/// that a camera has balanced leave less.
const OFF_WHITE: f64 = 1.25;

/// How far the colour of a coat is off the camera's white, where nothing else tells what white is.
fn colour_of_light([red, blue]: [f64; 2], most_cast: f64) -> Gate {
    let off = if red.abs() > blue.abs() { red } else { blue };
    gate(
        "colour of the light",
        Some(off.abs().exp()),
        "times off green",
        OFF_WHITE,
        // Told to people: two decimals.
        (100.0 * most_cast.exp()).round() / 100.0,
        "no white paper could be read, and the ground read does not look white: lay the card beside the part, set the camera to this light, or outline the coat with --region",
    )
}

/// Less coat than this was hardly meant as an inspection: a region drawn too small, or a coat not
/// found. Chosen.
const LEAST_AREA_MM2: [f64; 2] = [400.0, 100.0];

fn area_read(area_mm2: f64) -> Gate {
    let [warn, fail] = LEAST_AREA_MM2;
    let outcome = match area_mm2 {
        a if a < fail => GateOutcome::Fail,
        a if a < warn => GateOutcome::Warn,
        _ => GateOutcome::Pass,
    };
    let remedy = "photograph more of the coat, or draw the region around all of it";
    Gate {
        name: "area read".into(),
        value: Some(area_mm2),
        unit: "mm2".into(),
        warn,
        fail,
        outcome,
        remedy: remedy.into(),
    }
}

/// Ground beside the coat that may be coat, against the area read.
fn perhaps_unread(doubtful_mm2: f64, area_mm2: f64) -> Gate {
    gate(
        "developer perhaps not read",
        Some(100.0 * doubtful_mm2 / area_mm2).filter(|share| share.is_finite()),
        "% of the area read",
        LEAST_UNREAD,
        MOST_UNREAD,
        "ground beside the area read may be developer: light all of it alike, or outline the whole coat, this and the area read, with --region",
    )
}

fn gate(
    name: &'static str,
    value: Option<f64>,
    unit: &'static str,
    warn: f64,
    fail: f64,
    remedy: &'static str,
) -> Gate {
    let outcome = outcome(value, warn, fail);
    Gate { name: name.into(), value, unit: unit.into(), warn, fail, outcome, remedy: remedy.into() }
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

/// Share of the coat that may be stained, %. Chosen.
const MOST_PINK: f64 = 10.0;
/// Brightest against darkest ground on the coat. Chosen: painted photos with a shadow across the coat reach
/// 4.4 and read as well as others.
const MOST_UNEVEN: f64 = 5.0;

/// Ground beside the coat that may be coat, against the area read, %. Chosen: a strip along its rim is less.
const LEAST_UNREAD: f64 = 2.0;
/// Half of such ground is bare metal or bench on painted photos, so no more is refused than what would be a fifth
/// of the whole coat. Chosen.
const MOST_UNREAD: f64 = 25.0;

/// Share of the coat that may be burnt out, %. Chosen: what is burnt out is unread, and a picture that leaves
/// more of the part unread than this is not accepted; rendered photos fit to read have up to 2.3.
const MOST_LOST: f64 = 3.0;

/// Share of the coat that is burnt out or black: cells on it, and those beside it that were coat.
fn lost_share(cells: &Cells, coat: &Mask, beside: usize) -> f64 {
    let lost =
        coat.data.iter().zip(&cells.lost.data).filter(|(coat, lost)| **coat && **lost >= 0.5);
    (lost.count() + beside) as f64 / (coat.count() + beside).max(1) as f64
}

/// Redness of the local white against the whitest tenth of the coat, from which on a place counts as
/// stained widely. Chosen: lamps and window together differ by 0.1 at most on rendered photos.
const WIDELY_STAINED: f32 = 0.12;

/// Share of the coat whose own white is pink: a stain wider than any mark is taken for the white.
///
/// Warmer light is redder too, but takes as much blue as it adds red; dye takes green.
fn wide_pink_share(white: &White, coat: &Mask) -> f64 {
    let on_coat = || (0..coat.data.len()).filter(|&i| coat.data[i]);
    let mut redness: Vec<f32> = on_coat().map(|i| white.red_green.data[i]).collect();
    if redness.len() < 20 {
        return 0.0;
    }
    let k = redness.len() / 10;
    let whitest = *redness.select_nth_unstable_by(k, f32::total_cmp).1;
    let blue: Vec<f32> = on_coat()
        .filter(|&i| white.red_green.data[i] <= whitest)
        .map(|i| white.blue_green.data[i])
        .collect();
    let blue = crate::white::median(blue);
    let stained = on_coat().filter(|&i| {
        let d = white.red_green.data[i] - whitest;
        d > WIDELY_STAINED && white.blue_green.data[i] - blue > -0.35 * d
    });
    stained.count() as f64 / coat.count().max(1) as f64
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn white_far_from_the_cameras_warns_and_then_fails_to_either_side() {
        let outcome = |red: f64, blue: f64| colour_of_light([red, blue], 0.35).outcome;
        for off in [0.0, 0.22, -0.22] {
            assert_eq!([outcome(off, 0.0), outcome(0.0, off)], [GateOutcome::Pass; 2], "{off}");
        }
        for off in [0.23, 0.349, -0.23, -0.349] {
            assert_eq!([outcome(off, 0.1), outcome(0.1, off)], [GateOutcome::Warn; 2], "{off}");
        }
        for off in [0.36, -0.36, 0.9] {
            assert_eq!([outcome(off, 0.1), outcome(-0.1, off)], [GateOutcome::Fail; 2], "{off}");
        }
        assert_eq!(outcome(0.0, f64::NAN), GateOutcome::Unknown);
    }

    #[test]
    fn developer_that_was_perhaps_not_read_warns_and_then_fails() {
        let outcome = |doubtful: f64| perhaps_unread(doubtful, 1000.0).outcome;
        assert_eq!([0.0, 20.0].map(outcome), [GateOutcome::Pass; 2]);
        assert_eq!([21.0, 250.0].map(outcome), [GateOutcome::Warn; 2]);
        assert_eq!(outcome(251.0), GateOutcome::Fail);
        // Nothing was read: there is nothing to hold it against.
        assert_eq!(perhaps_unread(10.0, 0.0).outcome, GateOutcome::Unknown);
    }
}
