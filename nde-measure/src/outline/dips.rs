//! What tells a dip within one mark from the gap between two.
//!
//! A crack whose dye varies dips less deep. Where it runs thin, more blur thins it further, while the gap
//! between broad skirts fills in; and it thins slowly, while skirts are no longer than the blur of the sides.

use super::part::{Part, edge_spread, mean_slope};
use super::parted::Parted;
use super::stretches::Stretches;
use crate::PointPx;
use crate::photo::Raster;

/// The dip between touching marks holds less than this share of their contrast: much dye hides what changes in it.
/// Chosen: touching marks dip to 0.51 to 0.64, single strong cracks to 0.68 and above.
const DIP: f64 = 0.66;
/// Spots have no width along them that could vary, and may dip less: those whose box has a diagonal of up to this
/// many times their half width. Chosen: 2.8 is a disc, 4 an oval 1.7 times as long as wide.
const SPOT: f64 = 4.0;
/// The dip between touching marks is no longer than this many standard deviations of the edges at their
/// sides, from where one falls below `RISEN` of its own height to where the other rises above it. Two
/// blurred edges that meet at 0.5 to 0.66 make a dip of 3.3 to 2.8. On painted scenes touching marks
/// read 2.2 to 3.7, lines that run thin 3.8 to 15.
const LONGEST_DIP: f64 = 3.75;
/// See `LONGEST_DIP`. Chosen: above the flanks of the dip, below the grain of the tops.
const RISEN: f64 = 0.85;

/// The pieces of one place, and what they dip to.
pub(super) struct Dips<'a> {
    parted: &'a Parted<'a>,
    /// The places of each piece that have risen from the dip.
    risen: Vec<Vec<PointPx>>,
    /// Standard deviation of the edges at their sides, pixels.
    edge_px: f64,
    /// Which pieces are spots.
    spots: Vec<bool>,
}

impl<'a> Dips<'a> {
    pub(super) fn of(parted: &'a Parted<'a>) -> Self {
        let (green, core) = (&parted.fields.green, parted.core);
        let risen = (0..parted.all.len()).map(|k| {
            let level = (core.ground + RISEN * parted.top(green, k)) as f32;
            let own = parted.all[k].places.iter().filter(|&&i| green.data[i] >= level);
            own.map(|&i| [(i % green.width) as f64, (i / green.width) as f64]).collect()
        });
        let risen = risen.collect();
        let outline = core.part.outline(green, core.level(parted.options) as f32);
        let edge_px = outline
            .map_or(0.0, |line| edge_spread(core.peak - core.ground, mean_slope(green, &line)));
        let spots = parted.all.iter().map(is_spot).collect();
        Self { parted, risen, edge_px, spots }
    }

    /// Whether the dip between two pieces, highest at `place`, lies within one mark.
    pub(super) fn is_within_one_mark(&self, k: usize, j: usize, place: usize) -> bool {
        self.runs_thin(k, j, place) || self.thins_slowly(k, j) || self.dips_less(k, j, place)
    }

    /// More blur thins a thin line further, while a gap fills in.
    fn runs_thin(&self, k: usize, j: usize, place: usize) -> bool {
        let share = |field: &Raster| {
            let lower = self.parted.top(field, k).min(self.parted.top(field, j));
            (f64::from(field.data[place]) - self.parted.core.ground) / lower.max(1e-9)
        };
        share(&self.parted.fields.soft[1]) < share(&self.parted.fields.green)
    }

    /// The dip is longer than blurred edges make one.
    fn thins_slowly(&self, k: usize, j: usize) -> bool {
        let most = LONGEST_DIP * self.edge_px;
        let other = Stretches::of(&self.risen[j]);
        Stretches::of(&self.risen[k]).nearest_to(&other, most).is_none()
    }

    /// The dip is no deeper than what varies along a line, and the two are not both spots.
    fn dips_less(&self, k: usize, j: usize, place: usize) -> bool {
        let core = self.parted.core;
        let left = f64::from(self.parted.fields.green.data[place]) - core.ground;
        left > DIP * (core.peak - core.ground) && !(self.spots[k] && self.spots[j])
    }
}

fn is_spot(piece: &Part) -> bool {
    let inner = piece.cut(1.0).mask.squared_distance_to(false);
    let widest = inner.into_iter().fold(0.0_f32, f32::max).sqrt();
    piece.reach() <= SPOT * f64::from(widest)
}
