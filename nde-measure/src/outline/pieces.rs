//! Pieces of one mark, put together again.
//!
//! Powder grain, streaks of excess dye and a level taken at each piece's own half height break a
//! long weak mark where its dye thins. Two bodies are pieces of one mark when both are weak and
//! alike, they lie end to end or side by side, and along the crest between them the dye does not fall below
//! half contrast by more than grain explains, or over a long gap not below the visible extent. Dots in a
//! row lie on clean ground and stay apart; so do spots, which have no ends.

use super::fields::{Fields, Site};
use super::owners::{ALONG_PX, LEAST_LIFT, Owners};
use super::part::{Cut, Part, Stamps, mean_slope, percentile, slope_over};
use super::stretches::Stretches;
use super::{Body, OutlineOptions, fall_reach};
use crate::PointPx;
use crate::photo::{Mask, Raster};
use crate::redness::Window;
use crate::size::max_feret;

/// Pieces lie end to end when together they reach this share of their lengths in a row. Chosen:
/// 0.85 allows a bend of 60 degrees between equal pieces, and no branch at the side of a long one.
const END_TO_END: f64 = 0.85;
/// Pieces of one mark are alike: the weaker has at least this share of the other's contrast. Chosen:
/// what hangs between strong dots is their halo or a streak, a third of their contrast or less.
const ALIKE: f64 = 0.5;
/// Between pieces dye may fall below half contrast by this much of the grain. Chosen on painted scenes:
/// between touching marks it falls to 0.47 and less of their contrast, within a mark to 0.49.
const BRIDGED_GRAIN: f64 = 0.2;
/// Marks of less contrast than this break on the powder itself: dye may fall by all of the grain. Chosen: the
/// contrast from which on lengths are stated. A mark read as two is worse than two read as one.
const BREAKS: f64 = 0.23;
/// Over a longer gap than this many standard deviations of their edges, what is seen between pieces is
/// dye of its own, not their skirts. Two Gaussian skirts fall to 0.3 of the contrast at 2; chosen with
/// room for the longer tails of dye.
const SKIRTS: f64 = 3.0;
/// Of two pieces one of which was read with the shade taken out, grounds that differ by no more than this lie
/// in the same light. Chosen: a tenth of the contrast of a middling mark is 0.04.
const SAME_GROUND: f64 = 0.04;
/// A long body ends within this many times its width of one of its two outermost places. Chosen.
const AT_END: f64 = 1.5;
/// A body is long from this length against its width on. Chosen: at an end of it hardly anything else is.
const LONG: f64 = 4.0;
/// A body has ends from this length against its width on. Chosen.
const HAS_ENDS: f64 = 2.0;

/// Pieces lie side by side when this share of the smaller one's outline runs along the other. Chosen:
/// half of a blot that a line of grain cuts in two has a third and more, touching dots a tenth.
const SIDE_BY_SIDE: f64 = 0.25;
/// The thin dye between two pieces.
#[derive(Clone, Copy)]
struct Bridge {
    between: [usize; 2],
    ends_px: [PointPx; 2],
    lie: Lie,
}

/// How two pieces lie to each other.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Lie {
    EndToEnd,
    SideBySide,
}

/// Joins what belongs together; `site_at` tells what a place of the photo is read from.
pub(crate) fn joined<'a>(
    bodies: Vec<Body>,
    site_at: impl Fn(PointPx) -> Site<'a>,
    options: &OutlineOptions,
) -> Vec<Body> {
    let spans: Vec<Span<'_>> = bodies.iter().map(Span::of).collect();
    let mut group: Vec<usize> = (0..bodies.len()).collect();
    let mut bridges = Vec::new();
    for i in 0..bodies.len() {
        for j in i + 1..bodies.len() {
            let weaker = bodies[i].contrast().min(bodies[j].contrast());
            let stronger = bodies[i].contrast().max(bodies[j].contrast());
            // Levels read in the shade do not hold without it.
            let other_light = bodies[i].in_even_light != bodies[j].in_even_light
                && (bodies[i].ground - bodies[j].ground).abs() > SAME_GROUND;
            let told_apart = other_light
                || bodies[i].touches && bodies[j].touches
                || bodies[i].around_stronger
                || bodies[j].around_stronger;
            if told_apart || weaker >= options.bridged_contrast || weaker < ALIKE * stronger {
                continue;
            }
            let site = site_at(bodies[i].outline_px[0]);
            let gap_px = (options.piece_gap_mm / site.mm_per_px).max(3.0);
            if !spans[i].outline.within(&spans[j].outline, gap_px) {
                continue;
            }
            if let Some(bridge) = bridge(&bodies, &spans, [i, j], gap_px, &site, options) {
                bridges.push(bridge);
                let (a, b) = (group[i].min(group[j]), group[i].max(group[j]));
                group.iter_mut().filter(|g| **g == b).for_each(|g| *g = a);
            }
        }
    }
    if bridges.is_empty() {
        return bodies;
    }
    let mut out = Vec::new();
    for first in 0..bodies.len() {
        if group[first] != first {
            continue;
        }
        let pieces: Vec<usize> = (first..bodies.len()).filter(|&k| group[k] == first).collect();
        if pieces.len() == 1 {
            out.push(bodies[first].clone());
            continue;
        }
        let spans_over: Vec<Bridge> =
            bridges.iter().filter(|b| group[b.between[0]] == first).copied().collect();
        let site = site_at(bodies[first].outline_px[0]);
        let members: Vec<&Body> = pieces.iter().map(|&k| &bodies[k]).collect();
        match whole(&members, &spans_over, &site, options) {
            Some(body) => out.push(body),
            None => out.extend(members.into_iter().cloned()),
        }
    }
    out
}

/// How far a body reaches.
struct Span<'a> {
    outline: Stretches<'a>,
    feret_px: f64,
    ends_px: [PointPx; 2],
    width_px: f64,
}

impl<'a> Span<'a> {
    fn of(body: &'a Body) -> Self {
        let feret = max_feret(&body.outline_px);
        let feret_px = feret.map_or(0.0, |f| f.length);
        Self {
            outline: Stretches::of(&body.outline_px),
            feret_px,
            ends_px: feret.map_or([[f64::INFINITY; 2]; 2], |f| f.ends),
            width_px: body.mask.count() as f64 / feret_px.max(1.0),
        }
    }

    fn has_ends(&self) -> bool {
        self.feret_px >= HAS_ENDS * self.width_px
    }

    /// Whether the body ends at a place of its outline.
    fn ends_at(&self, p: PointPx) -> bool {
        let near = |end: &PointPx| (p[0] - end[0]).hypot(p[1] - end[1]) <= AT_END * self.width_px;
        self.feret_px >= LONG * self.width_px && self.ends_px.iter().any(near)
    }
}

/// The thin dye between two bodies, if they are pieces of one mark.
fn bridge(
    bodies: &[Body],
    spans: &[Span<'_>],
    [i, j]: [usize; 2],
    gap_px: f64,
    site: &Site<'_>,
    options: &OutlineOptions,
) -> Option<Bridge> {
    let (a, b) = (&bodies[i], &bodies[j]);
    let ends_px = spans[i].outline.nearest_to(&spans[j].outline, gap_px)?;
    let gap = (ends_px[0][0] - ends_px[1][0]).hypot(ends_px[0][1] - ends_px[1][1]);
    let (small, large) = if spans[i].feret_px < spans[j].feret_px { (i, j) } else { (j, i) };
    let side_by_side = shared_rim(&bodies[small], &spans[large].outline) >= SIDE_BY_SIDE;
    let lie = if side_by_side { Lie::SideBySide } else { Lie::EndToEnd };
    // A strong mark does not break on grain, but its thin end does.
    let strong = a.contrast().max(b.contrast()) >= options.bridged_contrast;
    if strong && !spans[large].ends_at(ends_px[usize::from(large == j)]) {
        return None;
    }
    if lie == Lie::EndToEnd {
        if !spans[i].has_ends() && !spans[j].has_ends() {
            return None;
        }
        let both: Vec<PointPx> = a.outline_px.iter().chain(&b.outline_px).copied().collect();
        let together = max_feret(&both)?.length;
        if together < END_TO_END * (spans[i].feret_px + spans[j].feret_px) {
            return None;
        }
    }
    let [p, q] = ends_px;
    let room = 6.0 + 0.5 * spans[i].width_px.min(spans[j].width_px);
    let window = around([p, q], room, site)?;
    let fields = fields_of(&[a, b], site, window, options);
    let here = |at: PointPx| [at[0] - window.x0 as f64 - 0.5, at[1] - window.y0 as f64 - 0.5];
    let (p, q) = (here(p), here(q));
    // No farther aside than the narrower one reaches from its middle.
    let level = crest(&fields.green, [p, q], 0.5 * spans[i].width_px.min(spans[j].width_px));
    let ground = 0.5 * (a.ground + b.ground);
    let weaker = a.contrast().min(b.contrast());
    // A gap is what falls below half contrast by more than the grain makes of an unbroken mark.
    let share = if weaker < BREAKS { 1.0 } else { BRIDGED_GRAIN };
    let grain = share * a.ground_spread.max(b.ground_spread);
    let unbroken = level - ground >= options.level * weaker - grain;
    let reach_mm = SKIRTS * a.edge_spread_mm().max(b.edge_spread_mm());
    let beyond_skirts = gap * site.mm_per_px > reach_mm;
    let visible = level - ground >= options.visible_level * weaker;
    (visible && (unbroken || beyond_skirts)).then_some(Bridge { between: [i, j], ends_px, lie })
}

/// The least height of the crest of a field between two places, up to `aside` beside the straight way: a mark bends.
fn crest(field: &Raster, [p, q]: [[f64; 2]; 2], aside: f64) -> f64 {
    let way = (p[0] - q[0]).hypot(p[1] - q[1]);
    let along = [(q[0] - p[0]) / way.max(1e-9), (q[1] - p[1]) / way.max(1e-9)];
    let steps = (2.0 * way).ceil().max(1.0) as usize;
    let beside = (2.0 * aside).ceil() as i32;
    let highest = |k: usize| {
        let t = way * k as f64 / steps as f64;
        let at = [p[0] + along[0] * t, p[1] + along[1] * t];
        let height = |s: f64| f64::from(field.between(at[0] - s * along[1], at[1] + s * along[0]));
        // Three places across it, so that one grain of powder does not break it.
        let mean = |step: i32| {
            let s = 0.5 * f64::from(step);
            (height(s - 1.0) + height(s) + height(s + 1.0)) / 3.0
        };
        (-beside..=beside).map(mean).fold(f64::NEG_INFINITY, f64::max)
    };
    (0..=steps).map(highest).fold(f64::INFINITY, f64::min)
}

/// Share of a body's outline that runs along another's.
fn shared_rim(small: &Body, large: &Stretches<'_>) -> f64 {
    let along = ALONG_PX.powi(2);
    let near = |p: &&PointPx| large.squared_to(**p, along) <= along;
    small.outline_px.iter().filter(near).count() as f64 / small.outline_px.len().max(1) as f64
}

/// A window around two places, within what was read.
fn around(places: [PointPx; 2], room: f64, site: &Site<'_>) -> Option<Window> {
    let read = site.redness.window;
    let bound = |k: usize, from: usize, size: usize| {
        let (a, b) = (places[0][k].min(places[1][k]) - room, places[0][k].max(places[1][k]) + room);
        let low = (a.max(from as f64) as usize).min(from + size);
        let high = (b.ceil().max(0.0) as usize).clamp(low, from + size);
        (low, high - low)
    };
    let (x0, width) = bound(0, read.x0, read.width);
    let (y0, height) = bound(1, read.y0, read.height);
    (width > 2 && height > 2).then_some(Window { x0, y0, width, height })
}

/// The light that pieces are read in: without its shade if one of them was.
fn fields_of(
    pieces: &[&Body],
    site: &Site<'_>,
    window: Window,
    options: &OutlineOptions,
) -> Fields {
    let fields = Fields::of(site, window, options.smoothing_px);
    if pieces.iter().any(|b| b.in_even_light) { fields.in_even_light() } else { fields }
}

/// One body made of several; `None` where their outlines do not meet after all.
fn whole(
    pieces: &[&Body],
    bridges: &[Bridge],
    site: &Site<'_>,
    options: &OutlineOptions,
) -> Option<Body> {
    let read = site.redness.window;
    let x0 = pieces.iter().map(|b| b.window.x0).min()?;
    let y0 = pieces.iter().map(|b| b.window.y0).min()?;
    let x1 = pieces.iter().map(|b| b.window.x0 + b.window.width).max()?;
    let y1 = pieces.iter().map(|b| b.window.y0 + b.window.height).max()?;
    let window = Window {
        x0,
        y0,
        width: x1.min(read.x0 + read.width) - x0,
        height: y1.min(read.y0 + read.height) - y0,
    };
    let fields = fields_of(pieces, site, window, options);
    let skirt_px = (options.skirt_mm / site.mm_per_px).max(3.0);
    let owners = Owners::of(pieces, window);
    let mut stamps = Stamps::new(window.width * window.height);
    let room = (options.ring_mm[1] / site.mm_per_px).max(10.0);
    let mut draw = |field: &Raster, level_of: &dyn Fn(&Body) -> f64, reach: f64| {
        let levels: Vec<f32> = pieces.iter().map(|b| level_of(b) as f32).collect();
        let mut above = owners.above(field, &levels, reach);
        bridges.iter().for_each(|b| span_bridge(&mut above, b, window));
        if bridges.iter().any(|b| b.lie == Lie::SideBySide) {
            owners.close_seams(&mut above);
        }
        let seed = owners.seed(&above)?;
        let all =
            Mask { data: vec![true; above.data.len()], ..Mask::empty(above.width, above.height) };
        let part = Part::around(&above, &all, seed, 0.0, &mut stamps);
        let outline = part.outline(&above, 0.0)?;
        Some((part, outline))
    };
    let (part, outline) = draw(&fields.green, &|b| b.level, 2.0)?;
    if !pieces.iter().all(|b| is_reached(b, &part, window)) {
        return None;
    }
    let visible = draw(&fields.green, &|b| b.visible_level, skirt_px);
    let redness = draw(&fields.d, &|b| b.redness_level, 3.0);
    let slope = mean_slope(&fields.green, &outline);
    let Cut { x0, y0, mask } = part.cut(room + 2.0);
    let fall = slope_over(&fields.green, &outline, fall_reach(&mask, fields.mm_per_px));
    let to_photo = |line: Vec<[f64; 2]>| -> Vec<PointPx> {
        line.iter()
            .map(|p| [p[0] + window.x0 as f64 + 0.5, p[1] + window.y0 as f64 + 0.5])
            .collect()
    };
    let sizes: Vec<f64> = pieces.iter().map(|b| b.mask.count() as f64).collect();
    let total: f64 = sizes.iter().sum();
    let mean = |value: &dyn Fn(&Body) -> f64| {
        pieces.iter().zip(&sizes).map(|(b, n)| value(b) * n).sum::<f64>() / total.max(1.0)
    };
    let green = &fields.green.data;
    let peak = f64::from(percentile(part.places.iter().map(|&i| green[i]), options.peak_share));
    let ground = mean(&|b| b.ground);
    Some(Body {
        outline_px: to_photo(outline),
        visible_px: visible.map(|(_, line)| to_photo(line)).unwrap_or_default(),
        redness_px: redness.map(|(_, line)| to_photo(line)).unwrap_or_default(),
        level: mean(&|b| b.level),
        visible_level: mean(&|b| b.visible_level),
        redness_level: mean(&|b| b.redness_level),
        peak,
        ground,
        ground_spread: mean(&|b| b.ground_spread),
        loss: [0, 1, 2].map(|c| mean(&|b: &Body| b.loss[c])),
        redness: mean(&|b| b.redness),
        slope_per_mm: slope / fields.mm_per_px,
        fall_per_mm: fall / fields.mm_per_px,
        touches: pieces.iter().any(|b| b.touches),
        around_stronger: false,
        in_even_light: pieces.iter().any(|b| b.in_even_light),
        contrast_as_seen: mean(&|b| b.contrast_as_seen).max(peak - ground),
        window: Window {
            x0: window.x0 + x0,
            y0: window.y0 + y0,
            width: mask.width,
            height: mask.height,
        },
        mask,
    })
}

/// Whether a part of `window` holds any place of a body.
fn is_reached(body: &Body, part: &Part, window: Window) -> bool {
    part.places.iter().any(|&i| {
        let (x, y) = (window.x0 + i % window.width, window.y0 + i / window.width);
        let own = body.window;
        (own.x0..own.x0 + own.width).contains(&x)
            && (own.y0..own.y0 + own.height).contains(&y)
            && body.mask.at(x - own.x0, y - own.y0)
    })
}

/// Lifts a line of a bridge just over the level, so that the pieces hang together.
fn span_bridge(above: &mut Raster, bridge: &Bridge, window: Window) {
    let here = |at: PointPx| [at[0] - window.x0 as f64 - 0.5, at[1] - window.y0 as f64 - 0.5];
    let [p, q] = bridge.ends_px.map(here);
    let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
    let squared = (dx * dx + dy * dy).max(1e-9);
    let low = [0, 1].map(|k| (p[k].min(q[k]) - 1.0).floor().max(0.0) as usize);
    let high = [0, 1].map(|k| (p[k].max(q[k]) + 1.0).ceil().max(0.0) as usize);
    for y in low[1]..=high[1].min(above.height - 1) {
        for x in low[0]..=high[0].min(above.width - 1) {
            let (vx, vy) = (x as f64 - p[0], y as f64 - p[1]);
            let t = ((vx * dx + vy * dy) / squared).clamp(0.0, 1.0);
            if (vx - t * dx).hypot(vy - t * dy) <= 0.8 {
                let v = &mut above.data[y * above.width + x];
                *v = v.max(LEAST_LIFT);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crest_is_followed_beside_the_straight_way() {
        let mut bow = Raster::filled(40, 30, 0.0);
        for (i, v) in bow.data.iter_mut().enumerate() {
            let (x, y) = ((i % 40) as f64, (i / 40) as f64);
            // Three places aside half way between the two.
            let middle = 10.0 + 3.0 * (1.0 - ((x - 20.0) / 10.0).powi(2));
            *v = (-0.5 * ((y - middle) / 1.5).powi(2)).exp() as f32;
        }
        let places = [[10.0, 10.0], [30.0, 10.0]];
        assert!(crest(&bow, places, 0.0) < 0.3);
        assert!(crest(&bow, places, 4.0) > 0.7);
        // It is the least height on the way, not the greatest.
        let gap = |x: usize| if (19..23).contains(&x) { 0.1 } else { 1.0 };
        bow.data.iter_mut().enumerate().for_each(|(i, v)| *v *= gap(i % 40));
        assert!(crest(&bow, places, 4.0) < 0.2);
    }
}
