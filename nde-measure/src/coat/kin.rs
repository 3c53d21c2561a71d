//! Which other even areas are the same coat: beyond a bead, a thread or a card, or in a shadow.

use super::CoatOptions;
use super::look::Look;
use super::shade::Pair;
use crate::photo::{Mask, Raster};
use crate::regions::Area;
use std::cell::OnceCell;

/// An even area, shaved a little on all sides, and how it looks.
pub(super) type Even = (Area, Look);

/// What the areas lie on, on the cells.
pub(super) struct Ground<'a> {
    /// ln of red light, the same averaged over relief, and its grain.
    pub(super) bright: &'a Raster,
    pub(super) smooth: &'a Raster,
    pub(super) grain: &'a Raster,
    /// Not coat, whatever it looks like: card, rule.
    pub(super) covered: &'a Mask,
    /// Side of a cell, mm.
    pub(super) cell_mm: f64,
    pub(super) options: &'a CoatOptions,
}

/// One area of the coat, and what may belong to it.
struct Own<'a> {
    ground: &'a Ground<'a>,
    /// How much light shadows take here, ln.
    shadow_ln: f64,
    mask: Mask,
    look: Look,
    size: usize,
    bounds: [usize; 4],
    /// It reaches two sides of the frame itself: no bench lies around it.
    fills_frame: bool,
    near: OnceCell<Mask>,
    beyond: OnceCell<Mask>,
}

/// The areas that are coat with the one at `main`, which is the surest. `shadow_ln` is by how much light
/// differs over known white, ln.
pub(super) fn kin<'a>(
    evens: &'a [Even],
    main: usize,
    ground: &Ground<'_>,
    shadow_ln: f64,
) -> Vec<&'a Area> {
    let shadow_ln = ground.options.shadow.ln().max(shadow_ln + ALIKE_LN);
    let own = |i: usize| Own::of(&evens[i], ground, shadow_ln);
    let first = own(main);
    let mut is_kin: Vec<bool> =
        evens.iter().enumerate().map(|(i, even)| i == main || first.has_kin(even)).collect();
    // What lies beyond the card looks like what lies on this side of it, in the shadow as in the light.
    let found: Vec<usize> = (0..evens.len()).filter(|&i| is_kin[i] && i != main).collect();
    for own in found.into_iter().map(own) {
        for (yes, even) in is_kin.iter_mut().zip(evens) {
            let may_be = first.may_lie_in_a_shadow(&even.1) && !first.may_be_bench(&even.0);
            *yes = *yes || (may_be && own.has_twin_beside(even, first.size));
        }
    }
    evens.iter().zip(is_kin).filter(|(_, yes)| *yes).map(|((area, _), _)| area).collect()
}

impl<'a> Own<'a> {
    fn of((area, look): &Even, ground: &'a Ground<'a>, shadow_ln: f64) -> Self {
        let mask = area.mask(ground.bright.width, ground.bright.height);
        Self {
            ground,
            shadow_ln,
            look: *look,
            size: area.size(),
            bounds: area.bounds(),
            fills_frame: sides_of_frame(area, mask.width, mask.height) >= 2,
            mask,
            near: OnceCell::new(),
            beyond: OnceCell::new(),
        }
    }

    /// Whether another area is the same coat.
    fn has_kin(&self, (area, look): &Even) -> bool {
        let options = self.ground.options;
        if !look.has_grain_of(&self.look, options.most_grain) {
            return false;
        }
        let (lighter, cast) = look.beside(&self.look);
        let size = area.size();
        // A coat cut in two by a rule or a bead looks alike on both sides; cut by the edge of a
        // shadow it is darker, and bluer or redder, but lies close by.
        let bench = self.may_be_bench(area);
        let around = bench && self.lies_within(area.bounds());
        let smooth = 2.0 * look.grain < self.look.grain;
        if is_alike(lighter, cast) && size * ALIKE_SHARE >= self.size && !around && !smooth {
            return true;
        }
        // Paper beside both tells that they are equally white, whatever light falls on them.
        if !smooth
            && size * TWIN_SHARE >= self.size
            && self.is_as_white(look)
            && (!bench || self.light_keeps_between(area, look))
        {
            return true;
        }
        if !self.may_lie_in_a_shadow(look) {
            return false;
        }
        // Nothing but relief or the edge of a light shadow lies between.
        if !smooth
            && !around
            && size * SHADED_SHARE >= self.size
            && is_near_alike(lighter, cast)
            && self.light_keeps_between(area, look)
        {
            return true;
        }
        let along = runs_along_the_frame(area, self.mask.width, self.mask.height);
        // Beyond a bead, a thread or a card: about as light, the same cast, the same powder. What is about
        // as large as the coat may lie in a shadow as well.
        let large = size * 2 >= self.size && !along;
        let twin = (large || options.twin_light.contains(&lighter))
            && cast < options.twin_cast
            && !smooth
            && size * TWIN_SHARE >= self.size
            && !bench
            && touches(area, self.beyond())
            && (!along || (size * 2 < self.size && touches(area, self.near())));
        // Where it could be something else, the light must fall from one to the other as it does across the
        // edge of a shadow.
        let sure = !bench && !along && size * SURE_SHARE >= self.size;
        twin || (size * SHADED_SHARE >= self.size
            && touches(area, self.beyond())
            && ((sure && touches(area, self.near())) || self.light_falls_in_one_step(area, look)))
    }

    /// Whether another area close by looks as this one does in every way; `coat` is the size of the surest.
    fn has_twin_beside(&self, (area, look): &Even, coat: usize) -> bool {
        let (lighter, cast) = look.beside(&self.look);
        area.size() * SHADED_SHARE >= coat
            && 2.0 * look.grain > self.look.grain
            && look.has_grain_of(&self.look, self.ground.options.most_grain)
            && ((is_alike(lighter, cast) && touches(area, self.near()))
                || (is_near_alike(lighter, cast) && self.light_keeps_between(area, look)))
    }

    /// Whether it is as white as this one against the paper beside each.
    fn is_as_white(&self, look: &Look) -> bool {
        let (Some(own), Some(other)) = (self.look.against, look.against) else { return false };
        let (lighter, cast) = other.off(&own);
        lighter.abs() < AS_WHITE_LN && cast < AS_WHITE_COLOUR
    }

    /// Around a coat that does not reach the frame itself, what lies along three of its sides is the bench.
    fn may_be_bench(&self, area: &Area) -> bool {
        !self.fills_frame && sides_of_frame(area, self.mask.width, self.mask.height) >= 3
    }

    /// Whether most of the box around this area lies in another's: a bench goes around its part.
    fn lies_within(&self, [x0, y0, x1, y1]: [usize; 4]) -> bool {
        let [a0, b0, a1, b1] = self.bounds;
        let overlap = |low: usize, high: usize| high.saturating_sub(low);
        let shared = overlap(x0.max(a0), x1.min(a1)) * overlap(y0.max(b0), y1.min(b1));
        3 * shared > 2 * overlap(a0, a1) * overlap(b0, b1)
    }

    /// Whether a shadow, or the end of one, can make the same powder look so.
    fn may_lie_in_a_shadow(&self, look: &Look) -> bool {
        let (lighter, cast) = look.beside(&self.look);
        lighter.abs() < self.shadow_ln && cast < self.ground.options.shadow_cast
    }

    /// Twice what cores of even ground were shaved by, cells.
    fn shaved(&self) -> f64 {
        self.ground.options.neck_mm / self.ground.cell_mm
    }

    /// How far the edge of a shadow may part two areas, cells.
    fn reach(&self) -> f64 {
        self.shaved() + self.ground.options.shadow_edge_mm / self.ground.cell_mm
    }

    fn near(&self) -> &Mask {
        self.near.get_or_init(|| self.within(self.reach()))
    }

    fn beyond(&self) -> &Mask {
        let twin = self.ground.options.twin_mm / self.ground.cell_mm;
        self.beyond.get_or_init(|| self.within(self.shaved() + twin))
    }

    /// What lies within `reach` of the area, or of a card or a rule that does.
    fn within(&self, reach: f64) -> Mask {
        let mut near = self.mask.grown(reach);
        let covered = self.ground.covered;
        if near.data.iter().zip(&covered.data).any(|(n, c)| *n && *c) {
            for (n, &c) in near.data.iter_mut().zip(&covered.data) {
                *n |= c;
            }
            near = near.grown(reach);
        }
        near
    }

    fn light_falls_in_one_step(&self, area: &Area, look: &Look) -> bool {
        let other = area.mask(self.mask.width, self.mask.height);
        let widest = self.shaved() + self.ground.options.twin_mm / self.ground.cell_mm;
        let pair = self.pair((&other, *look), widest);
        pair.light_falls_in_one_step(self.ground.options.most_grain)
    }

    fn light_keeps_between(&self, area: &Area, look: &Look) -> bool {
        let other = area.mask(self.mask.width, self.mask.height);
        let widest = self.shaved() + self.ground.options.through_mm / self.ground.cell_mm;
        self.pair((&other, *look), widest).light_keeps_between(self.ground.smooth)
    }

    fn pair<'p>(&'p self, area: (&'p Mask, Look), widest: f64) -> Pair<'p> {
        Pair {
            bright: self.ground.bright,
            grain: self.ground.grain,
            coat: (&self.mask, self.look),
            area,
            covered: self.ground.covered,
            widest,
        }
    }
}

/// The coat is at most so many times as large as another part of it that looks alike wherever it lies, ...
const ALIKE_SHARE: usize = 4;
/// ... lies beyond a bead, a thread or a card, ...
const TWIN_SHARE: usize = 150;
/// ... lies in a shadow, ...
const SHADED_SHARE: usize = 60;
/// ... or does so and need not show the step of the light. Chosen: the smaller, the more else it may be.
const SURE_SHARE: usize = 20;
/// As light, ln, and of the same cast, as the two sides of a coat that a rule or a bead parts. Chosen: light
/// slopes by that over a part, and less than the edge of a shadow takes.
const ALIKE_LN: f64 = 0.3;
const ALIKE_CAST: f64 = 0.05;

/// The same where nothing but relief or the edge of a shadow lies between. Chosen: two lamps of different colour
/// change so much over a part.
const NEAR_ALIKE_LN: f64 = 0.5;
const NEAR_ALIKE_CAST: f64 = 0.12;
/// Equally white against the paper beside, ln of light and of colour. Chosen: a benchtop or metal as white as
/// this is told by its grain.
const AS_WHITE_LN: f64 = 0.2;
const AS_WHITE_COLOUR: f64 = 0.06;

fn is_near_alike(lighter: f64, cast: f64) -> bool {
    lighter.abs() < NEAR_ALIKE_LN && cast < NEAR_ALIKE_CAST
}

fn is_alike(lighter: f64, cast: f64) -> bool {
    lighter.abs() < ALIKE_LN && cast < ALIKE_CAST
}

/// Whether a good part of an area's rim lies in `near`, not just a corner.
fn touches(area: &Area, near: &Mask) -> bool {
    let close = area.places().filter(|&(x, y)| near.at(x, y)).count();
    close as f64 > 2.0 * (area.size() as f64).sqrt()
}

/// Areas are cores of even ground, shaved by a few cells on all sides: what ends this near to the frame
/// reaches it, cells.
const SHAVED: usize = 12;

/// How many sides of the photo's frame an area reaches.
pub(super) fn sides_of_frame(area: &Area, width: usize, height: usize) -> usize {
    let [x0, y0, x1, y1] = area.bounds();
    let reaches = [x0 <= SHAVED, y0 <= SHAVED, x1 + SHAVED >= width, y1 + SHAVED >= height];
    reaches.into_iter().filter(|yes| *yes).count()
}

/// Whether an area follows the photo's frame further than a part that is cut by it would: a bench does.
fn runs_along_the_frame(area: &Area, width: usize, height: usize) -> bool {
    let at_frame = |x: usize, y: usize| x == 0 || y == 0 || x + 1 == width || y + 1 == height;
    let near = |x: usize, y: usize| {
        (0..=SHAVED)
            .any(|d| at_frame(x.saturating_sub(d), y.saturating_sub(d)) || at_frame(x + d, y + d))
    };
    let b = area.bounds();
    if !(near(b[0], b[1]) || near(b[2] - 1, b[3] - 1)) {
        return false;
    }
    let rim = area.places().filter(|&(x, y)| near(x, y)).count() as f64 / SHAVED as f64;
    rim > 1.3 * (area.size() as f64).sqrt()
}

#[cfg(test)]
mod tests {
    use crate::coat::{CoatOptions, propose};
    use crate::photo::{Cells, Grid, Mask, Raster};

    const SIZE: (usize, usize) = (300, 200);

    /// Shares of two kinds of ground that are read; `ground` tells light, whether the ground is rough, and the
    /// kind, at a place in mm.
    fn shares(ground: impl Fn(f32, f32) -> (f32, bool, usize)) -> [f64; 2] {
        let mut red = Raster::filled(SIZE.0, SIZE.1, 0.0);
        let mut kinds = Vec::new();
        for y in 0..SIZE.1 {
            for x in 0..SIZE.0 {
                let (light, rough, kind) = ground(x as f32 * 0.3, y as f32 * 0.3);
                let grain = ((x * 37 + y * 91) % 17) as f32 / 17.0 - 0.5;
                red.data[y * SIZE.0 + x] = light + grain * if rough { 0.3 } else { 0.02 };
                kinds.push(kind);
            }
        }
        let ln = [red.clone(), red.clone(), red];
        let lost = Raster::filled(SIZE.0, SIZE.1, 0.0);
        let cells = Cells { grid: Grid { x0: 0, y0: 0, side: 3 }, ln, lost };
        let nothing = Mask::empty(SIZE.0, SIZE.1);
        let coat = propose(&cells, &nothing, None, 0.3, &CoatOptions::default()).unwrap();
        [0, 1].map(|kind| {
            let of = (0..kinds.len()).filter(|&i| kinds[i] == kind);
            let (all, yes) =
                of.fold((0_u32, 0_u32), |(n, y), i| (n + 1, y + u32::from(coat.data[i])));
            f64::from(yes) / f64::from(all)
        })
    }

    #[test]
    fn a_shadow_over_half_a_coat_that_fills_the_frame_is_read_through() {
        // Its edge, 2 mm wide, runs askew; the shadowed half reaches three sides of the frame.
        let [lit, shaded] = shares(|x, y| {
            let into = ((x + 0.3 * y - 60.0) / 2.0).clamp(0.0, 1.0);
            (-0.2 - 0.7 * into, false, usize::from(into > 0.5))
        });
        assert!(lit > 0.95 && shaded > 0.95, "{lit} {shaded}");
    }

    #[test]
    fn an_even_bench_around_the_rim_of_a_part_is_not_read() {
        for bench in [-0.5, -0.9] {
            let [coat, around] = shares(|x, y| {
                let out = (x - 45.0).abs().max((y - 30.0).abs() * 1.5) - 30.0;
                match out {
                    out if out < 0.0 => (-0.2, false, 0),
                    out if out < 3.0 => (-0.7, true, 2),
                    _ => (bench, false, 1),
                }
            });
            // A millimetre and a half along the rough rim is left out: a tenth of so small a coat.
            assert!(coat > 0.85 && around < 0.01, "bench {bench}: {coat} {around}");
        }
    }
}
