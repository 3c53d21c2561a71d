//! An indication on the coat: its drawing, its dye, and what is true about it.

use super::layer::{Ground, Ink, Layer};
use super::mark::Mark;
use super::part::Part;
use super::pigment::{Rgb, green_loss, load_for_loss};
use super::raster::Raster;
use super::truth::{Body, Reading};

/// A drawn indication with what is true about it.
#[derive(Clone, Debug)]
pub struct Painted {
    /// The drawing.
    pub mark: Mark,
    /// Which cluster it belongs to.
    pub cluster: usize,
    /// What is true on the part.
    pub truth: Reading,
    /// What is left of it after the photo's own blur.
    pub seen: Reading,
}

impl Painted {
    /// What the photo's own blur leaves of one body.
    #[must_use]
    pub fn seen_body(&self, body: &Body) -> Option<&Body> {
        self.seen.covering(&self.truth, body)
    }
}

/// Grid of the truth and of the dye, mm.
const FINE_MM: f64 = 0.02;

/// A mark as dye on the part, with its truth on the part and behind a blur of this standard deviation.
pub(super) fn paint(
    mark: Mark,
    cluster: usize,
    part: &Part,
    dye: Rgb,
    blur_mm: f64,
) -> (Layer, Painted) {
    let mut field = mark.dye(&part.powder, FINE_MM);
    let greatest = field.values.iter().copied().fold(1.0e-9_f32, f32::max);
    let full = load_for_loss(part.white[1], mark.full_loss) as f32 / greatest;
    field.values.iter_mut().for_each(|v| *v *= full);
    let mut loss: Raster = field.clone();
    for value in &mut loss.values {
        *value =
            if *value > 0.0 { green_loss(part.white[1], f64::from(*value)) as f32 } else { 0.0 };
    }
    let truth = Reading::of(&loss);
    let seen = Reading::of(&loss.blurred(blur_mm));
    let layer = Layer { name: "indication", ground: Ground::Coat, ink: Ink::Stain(dye), field };
    (layer, Painted { mark, cluster, truth, seen })
}
