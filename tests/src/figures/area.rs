//! How much of the true coat was read, and how much was read that is no coat.

use crate::paint::scene::Scene;
use nde_core::GateOutcome;
use nde_measure::Measurement;
use nde_measure::size::contains;

/// Places are looked at this far apart, mm.
const STEP_MM: f64 = 1.0;
/// Nothing is asked of places this near to the card, mm: its paper is no coat, its rim may be either.
const BESIDE_CARD_MM: f64 = 2.0;

/// The area read against the painted coat, both on a grid of places in the frame.
#[derive(Clone, Copy, Debug, Default)]
pub struct AreaRead {
    /// Places of full coat beside the card.
    pub coat: usize,
    /// Those of them that were read.
    pub read: usize,
    /// Places that were read and hold no coat at all, not even thin.
    pub bare: usize,
    /// All places that were read.
    pub all: usize,
    /// Places that were left out as ground that may be coat...
    pub doubtful: usize,
    /// ...and those of them that are full coat.
    pub doubtful_coat: usize,
    /// A gate tells that ground beside the area read may be coat...
    pub tells_unread: bool,
    /// ...or that much of the coat is burnt out, or that marks lie beside the area read.
    pub tells_other: bool,
}

impl AreaRead {
    /// Looks at the places of one scene.
    #[must_use]
    pub fn of(scene: &Scene, measurement: &Measurement) -> Self {
        let mut found = Self::default();
        let half = [scene.camera.width, scene.camera.height].map(|v| v as f64);
        let reach = half[0].hypot(half[1]) * scene.camera.mm_per_px([0.0, 0.0]);
        let steps = (reach / STEP_MM).ceil();
        let mut y = -steps;
        while y <= steps {
            let mut x = -steps;
            while x <= steps {
                found.look_at(scene, measurement, [x * STEP_MM, y * STEP_MM]);
                x += 1.0;
            }
            y += 1.0;
        }
        let told = |name: &str| {
            measurement.gates.iter().any(|g| g.name == name && g.outcome != GateOutcome::Pass)
        };
        found.tells_unread = told("developer perhaps not read");
        found.tells_other = told("glare") || told("marks beside the area read");
        found
    }

    fn look_at(&mut self, scene: &Scene, measurement: &Measurement, at_mm: [f64; 2]) {
        if !scene.camera.sees(at_mm, 2.0) || scene.card.inside_mm(at_mm) > -BESIDE_CARD_MM {
            return;
        }
        let at_px = scene.camera.to_photo(at_mm);
        let within = |rings: &[Vec<[f64; 2]>]| rings.iter().any(|ring| contains(ring, at_px));
        let doubtful = within(&measurement.coat.doubtful_px);
        let read = !doubtful && within(&measurement.coat.outlines_px);
        let full = scene.part.coat_inside_mm(at_mm) > 0.0;
        let none = scene.part.cover(at_mm) <= 0.0;
        self.coat += usize::from(full);
        self.read += usize::from(full && read);
        self.all += usize::from(read);
        self.bare += usize::from(read && none);
        self.doubtful += usize::from(doubtful);
        self.doubtful_coat += usize::from(doubtful && full);
    }

    /// Share of the coat that was read.
    #[must_use]
    pub fn share_read(&self) -> f64 {
        self.read as f64 / self.coat.max(1) as f64
    }

    /// Share of what was read that holds no coat.
    #[must_use]
    pub fn share_bare(&self) -> f64 {
        self.bare as f64 / self.all.max(1) as f64
    }
}
