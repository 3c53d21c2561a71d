//! What of the red is counted, and why the rest is not.
//!
//! Nothing is dropped: what is not counted is set aside with its reason. The tool asks only
//! whether a mark looks like dye with an edge of its own; relevant or not is a person's call.
//!
//! - colour: dye takes green and blue and leaves red. Rust, oil and dirt take more blue than
//!   green; fibres, scratches and shadows take red as well. Dye under a shadow's border keeps its redness.
//!   A fibre is told by its ends as well, which are as dark as its middle.
//! - pink areas: excess penetrant leaves soft streaks over a stained ground. A mark there counts
//!   when its contrast or its edge stands out from the streaks around it.

use crate::coat::BROWN;
use crate::fibre::Fibre;
use crate::outline::Body;
use crate::photo::{Cells, Grid, Mask};
use crate::white::White;

/// Why something seen is not counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum SetAsideReason {
    /// Too faint to count, or no more than the grain of its ground: look here.
    Faint,
    /// Colour not like penetrant (brownish).
    Brownish,
    /// Takes red light as well (lint, dirt, scratch), not like penetrant.
    Dark,
    /// A soft pink area without an edge of its own: excess penetrant.
    PinkArea,
    /// Outside the area read: off the developer, on developer that was not read, or at the rim of the
    /// area and too weak to tell from it.
    OutsideCoat,
}

impl SetAsideReason {
    /// A short fixed word for lists, such as `pink-area`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Faint => "faint",
            Self::Brownish => "brownish",
            Self::Dark => "dark",
            Self::PinkArea => "pink-area",
            Self::OutsideCoat => "outside-coat",
        }
    }
}

impl std::fmt::Display for SetAsideReason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.word())
    }
}

/// What counts. Limits are chosen on rendered photos, where the cause of every red place is known.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct SortingOptions {
    /// Brownish: extra loss of blue against green above this share of the loss of green against
    /// red. Dye reads -0.4 to 0.3, rust 0.4 to 0.9 (real penetrant
    /// on developer, measured on photos without size truth: -0.6 to 0.25).
    pub brown: f64,
    /// Dark: loss of red above this share of the loss of green, beyond what this photo's dye has.
    /// Dye reads 0 to 0.35, lint and dirt 0.35 to 1.
    pub dark: f64,
    /// A mark of at least this contrast is too deep a red for lint or dirt...
    pub deep_contrast: f64,
    /// ...unless it takes more than this share of red as well. A shadow on a mark takes both.
    pub deep_red: f64,
    /// What takes red is shade on dye where redness accounts for this share of the loss of green. On
    /// painted scenes marks across a shadow's border read 0.76 and more, lint, dirt and grain to 0.65.
    pub shaded: f64,
    /// Shade lies on the ground around, too: its scatter is at least this. Chosen: three times that of
    /// an even coat. Red lint on an even ground stays lint.
    pub shaded_ground: f64,
    /// Least contrast of a counted mark, as loss of green (the visibility limit).
    pub least_contrast: f64,
    /// A mark of at least this contrast counts whatever its surroundings.
    pub clear_contrast: f64,
    /// In a pink area a fainter mark counts when green falls by at least this much a millimetre
    /// across its outline and it has `fair_contrast`, or by half as much again. Streaks of excess
    /// penetrant read 0.1 to 0.3, marks 0.3 and more.
    pub least_slope_per_mm: f64,
    /// See `least_slope_per_mm`.
    pub fair_contrast: f64,
    /// Streaks have steep outlines where noise or sharpening makes grain of them. In a pink area a mark that is
    /// not clear by its contrast falls by at least this much a millimetre over 0.3 mm to either side, where
    /// grain plays no part, or stands out from a calm ground (`calm_ground`). Of rendered photos and their noisier,
    /// sharper and smaller copies three in four streaks read less, one mark in twenty-five.
    pub least_fall_per_mm: f64,
    /// A ground is calm that scatters by the mark's contrast over this, or less. Streaks read 3 to 6, seldom 8.
    pub calm_ground: f64,
    /// How far the surroundings reach, mm.
    pub surroundings_mm: f64,
    /// Share of the surroundings that may be stained before they are called pink.
    pub pink_share: f64,
    /// Redness D of a stained cell.
    pub stained: f64,
    /// A mark that is not clear stands out from its ground by this many times the ground's own
    /// scatter, and one of few pixels by more: there are many specks of grain, see `grain_pixels`.
    /// On rendered photos marks read 3 and more, grain at thin rims and in streaks 1.7 to 2.3.
    pub least_over_grain: f64,
    /// The factor grows by this over the number of the mark's pixels.
    pub grain_pixels: f64,
    /// No grain is as strong as this. Chosen: noise in a shadow reads to 0.55 in green.
    pub drowned_contrast: f64,
    /// Outside pink areas a mark needs at least this slope, unless it is clear.
    pub softest_slope_per_mm: f64,
    /// The same over 0.3 mm to either side: half of the least contrast falls within 0.6 mm.
    pub softest_fall_per_mm: f64,
    /// No dye is what takes more red than this photo's dye, by this share of its loss of green, takes as much as...
    pub odd_red: f64,
    /// ...this (smallest droplets of dye, whose colour is noisy, read to 0.2), and...
    pub least_odd_red: f64,
    /// ...either takes more blue than green, by this share, and is less red than its contrast would be of dye, by
    /// this share (burnt-out pigment)...
    pub odd_blue: f64,
    /// See `odd_blue`. Marks in their own light read 0.85 and more where they take more blue than green.
    pub odd_redness: f64,
    /// ...or is a fibre: less red than its contrast would be of dye, by this share,
    pub fibre_redness: f64,
    /// as dark at its ends as in its middle, to this share (red lint reads 0.79 to 1.0, hairlines as dark as
    /// lint 0.55 to 0.8),
    pub fibre_ends: f64,
    /// no wider than this, mm (red lint reads 0.25 to 0.7, blur included),
    pub fibre_width_mm: f64,
    /// and this many times as long as wide.
    pub fibre_ratio: f64,
}

impl Default for SortingOptions {
    fn default() -> Self {
        Self {
            brown: f64::from(BROWN),
            dark: 0.10,
            deep_contrast: 0.70,
            deep_red: 0.55,
            shaded: 0.72,
            shaded_ground: 0.04,
            least_contrast: 0.14,
            clear_contrast: 0.45,
            least_slope_per_mm: 0.29,
            fair_contrast: 0.23,
            surroundings_mm: 8.0,
            pink_share: 0.04,
            stained: 0.06,
            least_over_grain: 2.5,
            grain_pixels: 30.0,
            drowned_contrast: 0.6,
            softest_slope_per_mm: 0.15,
            softest_fall_per_mm: 0.12,
            least_fall_per_mm: 0.23,
            calm_ground: 7.0,
            odd_red: 0.08,
            least_odd_red: 0.22,
            odd_blue: 0.02,
            odd_redness: 0.85,
            fibre_redness: 0.8,
            fibre_ends: 0.85,
            fibre_width_mm: 0.7,
            fibre_ratio: 2.5,
        }
    }
}

/// The surroundings of bodies on the cells.
pub(crate) struct Surroundings<'a> {
    grid: Grid,
    cell_mm: f64,
    coat: &'a Mask,
    stained: Mask,
}

impl<'a> Surroundings<'a> {
    /// Stained cells of the coat, without clear marks, which stain nothing but themselves.
    pub(crate) fn of(
        cells: &Cells,
        white: &White,
        coat: &'a Mask,
        bodies: &[Body],
        cell_mm: f64,
        options: &SortingOptions,
    ) -> Self {
        let grid = cells.grid;
        let mut stained = Mask::empty(coat.width, coat.height);
        for i in 0..coat.data.len() {
            let d = cells.ln[0].data[i] - cells.ln[1].data[i] - white.red_green.data[i];
            let blue = cells.ln[2].data[i] - cells.ln[1].data[i] - white.blue_green.data[i];
            // Brown stains are not pink.
            stained.data[i] = coat.data[i] && f64::from(d) > options.stained && blue > -BROWN * d;
        }
        let this = Self { grid, cell_mm, coat, stained };
        let mut clear = Mask::empty(coat.width, coat.height);
        for body in bodies.iter().filter(|b| is_clear(b, options)) {
            this.draw(body, &mut clear, [0, 0]);
        }
        let clear = clear.grown(1.5 / cell_mm);
        let mut stained = this.stained;
        stained.take_out(&clear);
        Self { grid, cell_mm, coat, stained }
    }

    /// Share of the coat around a body that is stained.
    fn stained_share(&self, body: &Body, reach_mm: f64) -> f64 {
        let reach = (reach_mm / self.cell_mm).ceil();
        let (x, y) = self.grid.place_of(body.window.x0 as f64, body.window.y0 as f64);
        let side = self.grid.side as f64;
        let (w, h) = (body.window.width as f64 / side, body.window.height as f64 / side);
        let crop = [
            (x - reach).max(0.0) as usize,
            (y - reach).max(0.0) as usize,
            ((x + w + reach).max(0.0) as usize + 2).min(self.coat.width),
            ((y + h + reach).max(0.0) as usize + 2).min(self.coat.height),
        ];
        let mut own = Mask::empty(crop[2] - crop[0], crop[3] - crop[1]);
        self.draw(body, &mut own, [crop[0], crop[1]]);
        let (near, far) = (own.grown(1.0 / self.cell_mm), own.grown(reach_mm / self.cell_mm));
        let (coat, stained) = (self.coat.cropped(crop), self.stained.cropped(crop));
        let (mut all, mut pink) = (0_usize, 0_usize);
        for i in 0..own.data.len() {
            if coat.data[i] && far.data[i] && !near.data[i] {
                all += 1;
                pink += usize::from(stained.data[i]);
            }
        }
        pink as f64 / all.max(1) as f64
    }

    /// Marks the cells of a body in a mask whose first cell is `origin`.
    fn draw(&self, body: &Body, mask: &mut Mask, origin: [usize; 2]) {
        for y in 0..body.mask.height {
            for x in 0..body.mask.width {
                if body.mask.at(x, y) {
                    let (i, j) = self.grid.cell_of(body.window.x0 + x, body.window.y0 + y);
                    if i >= origin[0] && j >= origin[1] {
                        let (i, j) = (i - origin[0], j - origin[1]);
                        if i < mask.width && j < mask.height {
                            mask.set(i, j, true);
                        }
                    }
                }
            }
        }
    }

    /// Share of a coat that is stained without a clear mark.
    pub(crate) fn pink_share_of(&self, coat: &Mask) -> f64 {
        let stained =
            coat.data.iter().zip(&self.stained.data).filter(|(coat, yes)| **coat && **yes);
        stained.count() as f64 / coat.count().max(1) as f64
    }

    /// Whether the coat around a body is stained.
    pub(crate) fn is_pink(&self, body: &Body, options: &SortingOptions) -> bool {
        self.stained_share(body, options.surroundings_mm) > options.pink_share
    }

    /// Whether a body runs into the rim of the coat.
    pub(crate) fn cut_by_rim(&self, body: &Body) -> bool {
        self.at_rim(body, 0.3)
    }

    /// Whether a body comes as near as `reach_mm` to the rim of the coat.
    fn at_rim(&self, body: &Body, reach_mm: f64) -> bool {
        body.outline_px.iter().any(|p| {
            let (x, y) = self.grid.place_of(p[0], p[1]);
            let reach = (reach_mm / self.cell_mm).round().max(1.0) as i64;
            let (i, j) = (x.round() as i64, y.round() as i64);
            [(-reach, 0), (reach, 0), (0, -reach), (0, reach)].iter().any(|(dx, dy)| {
                let (a, b) = (i + dx, j + dy);
                a < 0
                    || b < 0
                    || a >= self.coat.width as i64
                    || b >= self.coat.height as i64
                    || !self.coat.at(a as usize, b as usize)
            })
        })
    }
}

/// Contrast enough, or an edge steep enough, to be a mark whatever the surroundings.
fn is_clear(body: &Body, options: &SortingOptions) -> bool {
    let steep = body.slope_per_mm >= options.least_slope_per_mm;
    let very_steep = body.slope_per_mm >= 1.5 * options.least_slope_per_mm;
    body.contrast() >= options.clear_contrast
        || very_steep
        || (steep && body.contrast_as_seen >= options.fair_contrast)
}

/// The loss of red that this photo's own dye shows, from its strong marks; the lower quartile,
/// because a fibre among them reads more.
pub(crate) fn red_loss_of_dye(bodies: &[Body]) -> Option<f64> {
    let mut strong: Vec<f64> = bodies
        .iter()
        .filter(|b| b.contrast() >= 0.55 && b.loss[2] < 1.08)
        .map(|b| b.loss[0])
        .collect();
    strong.sort_by(f64::total_cmp);
    strong.get(strong.len() / 4).copied()
}

/// Red and blue as dye of this photo does not take them; see [`SortingOptions::odd_red`]. Shade takes red as well.
fn is_odd(
    body: &Body,
    dye_red: f64,
    fibre: impl FnOnce() -> Option<Fibre>,
    options: &SortingOptions,
) -> bool {
    let [red, _, blue] = body.loss;
    let redness = body.redness / body.contrast();
    let thin_and_even = |f: Fibre| {
        f.ends > options.fibre_ends
            && f.width_mm < options.fibre_width_mm
            && f.ratio > options.fibre_ratio
    };
    let pigment =
        !body.in_even_light && blue - 1.0 > options.odd_blue && redness < options.odd_redness;
    red > options.least_odd_red.max(dye_red + options.odd_red)
        && (pigment || redness < options.fibre_redness && fibre().is_some_and(thin_and_even))
}

/// Whether a mark that is not clear by its contrast has no edge of its own.
fn is_soft(body: &Body, clear: bool, around: &Surroundings<'_>, options: &SortingOptions) -> bool {
    let sudden = body.fall_per_mm >= options.least_fall_per_mm;
    if clear && sudden {
        return false;
    }
    if around.is_pink(body, options) {
        let calm = body.contrast() >= options.calm_ground * body.ground_spread;
        !clear || !calm
    } else {
        !clear && body.slope_per_mm < options.softest_slope_per_mm
            || body.fall_per_mm < options.softest_fall_per_mm
    }
}

/// The loss of red that dye shows where a photo has no strong mark that tells.
const USUAL_RED: f64 = 0.27;

/// Why a body is not counted; `None` where it is. `fibre` tells what a thin body is like along its length.
pub(crate) fn set_aside(
    body: &Body,
    around: &Surroundings<'_>,
    dye_red: Option<f64>,
    fibre: impl FnOnce() -> Option<Fibre>,
    options: &SortingOptions,
) -> Option<SetAsideReason> {
    let [red, _, blue] = body.loss;
    if body.around_stronger {
        return Some(SetAsideReason::PinkArea);
    }
    if blue - 1.0 > options.brown * (1.0 - red).max(0.0) {
        return Some(SetAsideReason::Brownish);
    }
    // A mark of few pixels has a noisy colour.
    let allowance = 0.9 / (body.mask.count() as f64).sqrt();
    let dye_red = dye_red.unwrap_or(USUAL_RED);
    let dark = (dye_red + options.dark).max(0.26) + allowance;
    let deep = body.contrast() >= options.deep_contrast && red < options.deep_red;
    // Shade takes red light as well, but leaves the redness of what it lies on.
    let shade = body.in_even_light || body.ground_spread >= options.shaded_ground;
    let shaded_dye =
        shade && body.redness >= options.least_contrast.max(options.shaded * body.contrast());
    if red > dark && !deep && !shaded_dye {
        return Some(SetAsideReason::Dark);
    }
    if is_odd(body, dye_red, fibre, options) {
        return Some(SetAsideReason::Dark);
    }
    let clear = is_clear(body, options);
    if !clear && around.at_rim(body, 0.6) {
        return Some(SetAsideReason::OutsideCoat);
    }
    if body.contrast() < options.clear_contrast && is_soft(body, clear, around, options) {
        return Some(SetAsideReason::PinkArea);
    }
    let times = options.least_over_grain + options.grain_pixels / body.mask.count().max(1) as f64;
    let drowned = body.contrast() < options.drowned_contrast.min(times * body.ground_spread);
    (drowned || body.contrast() < options.least_contrast).then_some(SetAsideReason::Faint)
}

#[cfg(test)]
mod tests;
