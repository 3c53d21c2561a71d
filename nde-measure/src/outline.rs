//! The sub-pixel outline of each indication in a red region, at half contrast.
//!
//! Outlines lie on green reflectance, not on redness: green carries a JPEG's full resolution and
//! lens blur is linear in it, so half height stays in place under blur. Redness only says where
//! to look. One region may hold several bodies (marks that touch through their skirts, marks in
//! a pink area): each starts at the highest contrast not yet explained and reaches down to half
//! way between its own peak and the ground around it.

mod fields;
mod seeds;
mod stretches;
mod part;
mod half;
mod owners;
mod pieces;
mod parted;
mod dips;
mod touching;

use crate::PointPx;
use crate::photo::{Mask, Raster};
use crate::redness::Window;
use crate::regions::Area;
use crate::size::contains;
pub(crate) use fields::Site;
use fields::{Fields, Light};
use half::{Core, Start};
use part::Stamps;
pub(crate) use pieces::joined;
use seeds::Seeds;
use stretches::Stretches;
use touching::Touching;

/// How outlines are drawn.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct OutlineOptions {
    /// Share of the contrast at which the outline lies.
    pub level: f64,
    /// Share at which the visible extent lies.
    pub visible_level: f64,
    /// Standard deviation of the smoothing of green before the outline is drawn, pixels.
    pub smoothing_px: f64,
    /// The ground is read in a ring from `ring_mm[0]` to `ring_mm[1]` outside the body.
    pub ring_mm: [f64; 2],
    /// A mark of less contrast than this may be broken by powder grain; its pieces are joined where
    /// the dip between them is no deeper than the grain.
    pub bridged_contrast: f64,
    /// Pieces of a weak mark up to this far apart are put together where dye shows between them, mm.
    pub piece_gap_mm: f64,
    /// Redness that stays within this of a stronger body's outline is its halo, mm.
    pub halo_mm: f64,
    /// A body explains the redness this far around it, mm.
    pub skirt_mm: f64,
    /// Share of a body's pixels that lose less light than its peak (its peak is that percentile).
    pub peak_share: f64,
}

impl Default for OutlineOptions {
    fn default() -> Self {
        Self {
            level: 0.5,
            visible_level: 0.3,
            smoothing_px: 0.5,
            ring_mm: [0.7, 1.4],
            skirt_mm: 0.4,
            piece_gap_mm: 1.0,
            halo_mm: 1.2,
            bridged_contrast: 0.6,
            peak_share: 0.92,
        }
    }
}

/// One body of dye with its outline, all in photo pixels.
#[derive(Clone, Debug)]
pub(crate) struct Body {
    /// Outline at half contrast, pixel centres at .5.
    pub(crate) outline_px: Vec<PointPx>,
    /// Outline of the visible extent.
    pub(crate) visible_px: Vec<PointPx>,
    /// Outline where redness implies half contrast, for comparison.
    pub(crate) redness_px: Vec<PointPx>,
    /// Levels of the three outlines: loss of green, of green, and redness.
    pub(crate) level: f64,
    pub(crate) visible_level: f64,
    pub(crate) redness_level: f64,
    /// Green loss at the peak and on the ground around, 0 to 1.
    pub(crate) peak: f64,
    pub(crate) ground: f64,
    /// How much the ground varies (standard deviation by the median).
    pub(crate) ground_spread: f64,
    /// Loss of red, green and blue light above the ground, as shares of the loss of green.
    pub(crate) loss: [f64; 3],
    /// Peak loss that redness implies above the ground around, 0 to 1: what dye takes, whatever the light.
    pub(crate) redness: f64,
    /// Mean slope of green loss across the outline, per mm.
    pub(crate) slope_per_mm: f64,
    /// The same over `FALL_MM` to either side: what grain on the outline does not make.
    pub(crate) fall_per_mm: f64,
    /// Pixels of the body, in the window of `window`.
    pub(crate) mask: Mask,
    pub(crate) window: Window,
    /// It touches another body, from which it was told apart.
    pub(crate) touches: bool,
    /// It lies around several clearly stronger ones, within reach of them: their common halo, or a stain with spots.
    pub(crate) around_stronger: bool,
    /// It lies on relief or across a shadow, and was read with the shade taken out.
    pub(crate) in_even_light: bool,
    /// Its contrast with the shade on it, as an eye sees it; the same as `contrast` elsewhere.
    pub(crate) contrast_as_seen: f64,
}

impl Body {
    /// Loss of green at the peak above the ground around.
    pub(crate) fn contrast(&self) -> f64 {
        self.peak - self.ground
    }

    /// Standard deviation of a Gaussian edge as steep as the body's, mm.
    fn edge_spread_mm(&self) -> f64 {
        part::edge_spread(self.contrast(), self.slope_per_mm)
    }
}

/// The bodies of one region, strongest first. `high` is the redness every body must reach.
pub(crate) fn bodies(
    site: &Site<'_>,
    region: &Area,
    high: f64,
    options: &OutlineOptions,
) -> Vec<Body> {
    let mm_per_px = site.mm_per_px;
    let ring_px =
        [(options.ring_mm[0] / mm_per_px).max(6.0), (options.ring_mm[1] / mm_per_px).max(10.0)];
    let margin = ring_px[1].ceil() as usize + 3;
    let [bx0, by0, bx1, by1] = region.bounds();
    let rw = site.redness.window;
    let (x0, y0) = (bx0.saturating_sub(margin), by0.saturating_sub(margin));
    let window = Window {
        x0: rw.x0 + x0,
        y0: rw.y0 + y0,
        width: (bx1 + margin).min(rw.width) - x0,
        height: (by1 + margin).min(rw.height) - y0,
    };
    let light = Light::of(Fields::of(site, window, options.smoothing_px));
    let mut open = Mask::empty(window.width, window.height);
    for (x, y) in region.places() {
        open.set(x - x0, y - y0, true);
    }
    // The half-contrast body of a thin line can reach a little beyond its redness, which has half
    // the resolution; further out it would be a shadow.
    let skirt_px = (options.skirt_mm / mm_per_px).max(3.0);
    let mut support = open.grown(skirt_px);
    let mut stamps = Stamps::new(open.data.len());
    let mut found: Vec<Body> = Vec::new();
    let mut seeds = Seeds::of(&light.as_seen, &open, high);
    while let Some(seed) = seeds.next(&open) {
        open.data[seed] = false;
        if !support.data[seed] {
            continue;
        }
        let start = Start { seed, support: &support, ring_px, options };
        for body in bodies_at(&light, start, &mut stamps) {
            // What hangs on as a skirt is explained; it neither seeds nor carries another body.
            close_around([&mut open, &mut support], &body, window, skirt_px);
            found.push(body);
        }
    }
    let mut bodies = without_halos(found, options.halo_mm / mm_per_px);
    let lines = visible_alone(&bodies);
    bodies.iter_mut().zip(lines).for_each(|(body, line)| body.visible_px = line);
    bodies
}

/// Bodies, strongest first, without what stays within reach of a stronger one: that is its halo or the faint
/// end of its tip, which its visible extent shows. What lies around several stronger ones and within the reach of
/// all is kept as such. In the shade of relief a halo may be found before its mark.
fn without_halos(mut found: Vec<Body>, halo_px: f64) -> Vec<Body> {
    found.sort_by(|a, b| b.contrast().total_cmp(&a.contrast()));
    let mut kept: Vec<(Body, f64)> = Vec::new();
    for body in found {
        let is_halo_of = |stronger: &[&(Body, f64)]| stays_near(&body, stronger, halo_px);
        if kept.iter().any(|one| is_halo_of(&[one])) {
            continue;
        }
        let within = |(stronger, _): &&(Body, f64)| {
            body.contrast() <= 0.5 * stronger.contrast()
                && windows_meet(body.window, stronger.window)
                && stronger.outline_px.first().is_some_and(|p| contains(&body.outline_px, *p))
        };
        let inside: Vec<&(Body, f64)> = kept.iter().filter(within).collect();
        let around_stronger = is_halo_of(&inside);
        let wide = widest_half(&body.mask);
        kept.push((Body { around_stronger, ..body }, wide));
    }
    kept.into_iter().map(|(body, _)| body).collect()
}

/// Marks as alike as this are neighbours; a weaker one may be the other's tip. Chosen.
const NEIGHBOUR: f64 = 0.7;

/// The visible extent of each body without what lies nearer to a neighbour: that is the neighbour's.
fn visible_alone(bodies: &[Body]) -> Vec<Vec<PointPx>> {
    let outlines: Vec<Stretches<'_>> =
        bodies.iter().map(|body| Stretches::of(&body.outline_px)).collect();
    let alone = |(k, body): (usize, &Body)| {
        let is_neighbour = |j: usize, other: &Body| {
            let alike = other.contrast() >= NEIGHBOUR * body.contrast();
            j != k && alike && windows_meet(body.window, other.window)
        };
        let neighbours: Vec<&Stretches<'_>> = (0..bodies.len())
            .filter(|&j| is_neighbour(j, &bodies[j]))
            .map(|j| &outlines[j])
            .collect();
        let mut line = body.visible_px.clone();
        if !neighbours.is_empty() {
            line.retain(|p| {
                let own = outlines[k].squared_to(*p, f64::INFINITY);
                neighbours.iter().all(|other| own <= other.squared_to(*p, own))
            });
        }
        line
    };
    bodies.iter().enumerate().map(alone).collect()
}

/// Whether two windows share a place.
const fn windows_meet(a: Window, b: Window) -> bool {
    a.x0 < b.x0 + b.width
        && b.x0 < a.x0 + a.width
        && a.y0 < b.y0 + b.height
        && b.y0 < a.y0 + a.height
}

/// Half width of a mask at its widest, grid steps.
fn widest_half(mask: &Mask) -> f64 {
    f64::from(mask.tight().0.squared_distance_to(false).into_iter().fold(0.0_f32, f32::max).sqrt())
}

/// How far to either side of an outline its fall is read, mm: over thrice this streaks of excess penetrant go
/// over into their ground, within it marks do. Chosen.
const FALL_MM: f64 = 0.3;

/// The same in grid steps, in a narrow mark half way to its middle.
fn fall_reach(mask: &Mask, mm_per_px: f64) -> f64 {
    (FALL_MM / mm_per_px).min(0.5 * widest_half(mask)).max(1.0)
}

/// Loss of green in a window, as seen.
pub(crate) fn green_of(window: Window, site: &Site<'_>) -> Raster {
    Fields::of(site, window, 0.0).green
}

/// Takes a body and its skirt out of masks.
fn close_around(masks: [&mut Mask; 2], body: &Body, window: Window, skirt_px: f64) {
    let near = body.mask.grown(skirt_px);
    let (dx, dy) = (body.window.x0 - window.x0, body.window.y0 - window.y0);
    for mask in masks {
        for y in 0..near.height {
            let at = (y + dy) * mask.width + dx;
            let row = mask.data[at..at + near.width].iter_mut();
            row.zip(near.row(y)).for_each(|(yes, near)| *yes &= !near);
        }
    }
}

/// Whether all of `body` lies within `halo_px` of some of clearly stronger ones. Wide bodies have wide halos.
fn stays_near(body: &Body, stronger: &[&(Body, f64)], halo_px: f64) -> bool {
    let stronger: Vec<(Stretches<'_>, f64)> = stronger
        .iter()
        .filter(|(stronger, _)| body.contrast() <= 0.5 * stronger.contrast())
        .map(|(other, wide)| (Stretches::of(&other.outline_px), (halo_px + 0.5 * wide).powi(2)))
        .collect();
    let near = |p: &PointPx| stronger.iter().any(|(other, far)| other.squared_to(*p, *far) <= *far);
    !stronger.is_empty() && body.outline_px.iter().all(near)
}

/// The ground around a mark is broken up when it spreads by this much, and by this share of the mark's
/// contrast. Chosen: powder on a plane spreads by 0.01 to 0.025, painted threads and ripple by 0.05 to 0.2,
/// rendered castings by 0.05 to 0.1; half of the contrast is read within a tenth from there on.
const BROKEN_UP: f64 = 0.03;
const BROKEN_UP_SHARE: f64 = 0.12;
/// Shade is what breaks it up when little of that is left without it. Chosen: on relief a quarter to a half is
/// left, on powder nearly all.
const LEFT_WITHOUT_SHADE: f64 = 0.6;

/// The body that holds `seed`, or all the bodies that touch there.
fn bodies_at(light: &Light, start: Start<'_>, stamps: &mut Stamps) -> Vec<Body> {
    let Some(core) = Core::at(&light.as_seen, start, stamps) else {
        return Vec::new();
    };
    let as_seen = core.peak - core.ground;
    if core.spread > BROKEN_UP.max(BROKEN_UP_SHARE * as_seen) {
        let even = light.even();
        let in_even_light = Core::at(even, start, stamps)
            .filter(|even| even.spread <= LEFT_WITHOUT_SHADE * core.spread);
        if let Some(core) = in_even_light {
            let mut bodies = bodies_of(even, core, start, stamps);
            for body in &mut bodies {
                body.in_even_light = true;
                body.contrast_as_seen = body.contrast().max(as_seen);
            }
            return bodies;
        }
    }
    bodies_of(&light.as_seen, core, start, stamps)
}

/// The body of a core, or all the bodies that touch in it.
fn bodies_of(fields: &Fields, core: Core, start: Start<'_>, stamps: &mut Stamps) -> Vec<Body> {
    let touching = touching::touching(fields, &core, start.support, start.options, stamps);
    if touching.is_empty() {
        return core.body(fields, start, stamps).into_iter().collect();
    }
    let alone = touching.into_iter().filter_map(|Touching { seed, support }| {
        let start = Start { seed, support: &support, ..start };
        let core = Core::at(fields, start, stamps)?;
        let body = core.body(fields, start, stamps)?;
        Some(Body { touches: true, ..body })
    });
    alone.collect()
}

#[cfg(test)]
mod tests;
