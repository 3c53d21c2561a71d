//! Which other even areas are the same coat: beyond a bead, a thread or a card, or in a shadow.

use super::ground::Ground;
use super::look::Look;
use super::piece::{Even, Piece, touches};
use crate::photo::Mask;
use crate::regions::Area;
use std::cell::OnceCell;

/// Another area that may belong to one of the coat.
struct Other<'a> {
    area: &'a Area,
    look: &'a Look,
    size: usize,
    /// By how much it is lighter, ln, and by how much its colour differs.
    lighter: f64,
    cast: f64,
    /// It lies along three sides of the frame, and all around the other.
    bench: bool,
    around: bool,
    /// It has hardly any grain: a painted or plastic surface.
    grainless: bool,
    /// What was found of the ground between, where it was asked: it costs most.
    keeps_light: OnceCell<bool>,
    one_step: OnceCell<bool>,
}

impl Other<'_> {
    /// Whether it is at least one part in `share` of a size.
    fn is_share(&self, of: usize, share: usize) -> bool {
        self.size * share >= of
    }
}

/// What was made of the even areas of a photo.
pub(super) struct Kin<'a> {
    /// Those that are coat.
    pub(super) coat: Vec<&'a Area>,
    /// Those that may be and are not sure enough, or were held for coat at a first look.
    pub(super) doubtful: Vec<&'a Area>,
}

/// Which areas are coat with the one at `main`, which is the surest. `shadow_ln` is by how much light
/// differs over known white, ln; `before` is what was held for coat at a first look.
pub(super) fn kin<'a>(
    evens: &'a [Even],
    main: usize,
    ground: &Ground<'_>,
    shadow_ln: f64,
    before: Option<&Mask>,
) -> Kin<'a> {
    // What light paper shows to differ by, a coat's own slope of light comes upon.
    let shadow_takes = ground.options.shadow.ln().max(shadow_ln + ALIKE_LN);
    let piece = |i: usize| Piece::of(&evens[i], ground, shadow_takes);
    let first = piece(main);
    let mut largest: Vec<usize> = (0..evens.len()).collect();
    largest.sort_by_key(|&i| std::cmp::Reverse(evens[i].0.size()));
    largest.truncate(MOST_AREAS);
    let mut is_kin = vec![false; evens.len()];
    is_kin[main] = true;
    for &i in largest.iter().filter(|&&i| i != main) {
        is_kin[i] = first.has_kin(&evens[i]);
    }
    // What lies beyond the card looks like what lies on this side of it, in the shadow as in the light.
    let is_found = |i: &&usize| is_kin[**i] && **i != main;
    let found: Vec<Piece<'_>> =
        largest.iter().filter(is_found).take(MOST_PARTS).map(|&i| piece(i)).collect();
    for own in &found {
        for &i in &largest {
            let (area, look) = &evens[i];
            // The surest may be a spot of lamplight on a coat that is larger.
            let may_lie = |piece: &Piece<'_>| piece.may_lie_in_a_shadow(look);
            let may_be = (may_lie(&first) || (own.size > first.size && may_lie(own)))
                && !first.may_be_bench(area);
            is_kin[i] = is_kin[i] || (may_be && own.has_twin_beside(&evens[i], first.size));
        }
    }
    let is_doubtful = |i: &&usize| {
        let is_near = |own: &Piece<'_>| touches(&evens[**i].0, own.beyond());
        let may_be =
            || first.may_have_kin(&evens[**i]) && (is_near(&first) || found.iter().any(is_near));
        let was = |mask: &Mask| {
            let most = HELD_BEFORE * ground.options.most_grain;
            evens[**i].1.may_have_grain_of(&first.look, most) && lies_in(&evens[**i].0, mask)
        };
        !is_kin[**i] && (before.is_some_and(was) || may_be())
    };
    let doubtful = largest.iter().filter(is_doubtful).map(|&i| &evens[i].0).collect();
    let all = evens.iter().zip(is_kin);
    Kin { coat: all.filter(|(_, yes)| *yes).map(|((area, _), _)| area).collect(), doubtful }
}

impl Piece<'_> {
    /// Whether another area is the same coat.
    fn has_kin(&self, (area, look): &Even) -> bool {
        let (lighter, cast) = look.beside(&self.look);
        let noise = self.noise_allowed(look, lighter);
        if !look.has_grain_of(&self.look, noise * self.ground.options.most_grain) {
            return false;
        }
        let bench = self.may_be_bench(area);
        let other = Other {
            area,
            look,
            size: area.size(),
            lighter,
            cast,
            bench,
            around: bench && self.lies_within(area.bounds()),
            grainless: self.has_twice_the_grain_of(look),
            keeps_light: OnceCell::new(),
            one_step: OnceCell::new(),
        };
        let as_white = self.looks_alike(&other) || self.is_as_white(&other);
        let by_shadow = || {
            self.is_near_alike(&other)
                || self.is_powder_beyond_relief(&other)
                || self.is_twin_beyond(&other)
                || self.shadow_falls_on(&other)
        };
        // What is darker than the coat against the paper beside it may still have the edge of a shadow between
        // itself and that paper; then the light is seen to fall from the coat to it.
        let falls = || self.light_falls_onto(&other) || self.light_keeps_up_to(&other);
        as_white
            || (self.may_lie_in_a_shadow(look)
                && by_shadow()
                && (!self.paper_tells_darker(look) || falls()))
            || self.deep_shadow_falls_on(&other)
    }

    /// How much more grain noise may add. Bare metal out of the lamp's way is nowhere as white as paper; where the ground
    /// is less dim than shade makes it, twice as close to the paper is asked for, and less of its grain is noise.
    fn noise_allowed(&self, look: &Look, lighter: f64) -> f64 {
        let dim = (-lighter / ALIKE_LN).clamp(0.0, 1.0);
        let within = if dim < 1.0 { JUST_AS_WHITE } else { 1.0 };
        if self.is_as_white_as_paper_tells(look, within) {
            1.0 + dim * (MOST_NOISE - 1.0)
        } else {
            1.0
        }
    }

    /// Whether another area looks as the same coat in another light may.
    fn may_have_kin(&self, (area, look): &Even) -> bool {
        !self.has_twice_the_grain_of(look)
            && look.may_have_grain_of(&self.look, self.ground.options.most_grain)
            && self.may_lie_in_a_shadow(look)
            && !self.may_be_bench(area)
            && !self.lies_within(area.bounds())
            && !self.runs_along_the_frame(area)
    }

    /// A coat cut in two by a rule or a bead looks alike on both sides.
    fn looks_alike(&self, other: &Other<'_>) -> bool {
        is_alike(other.lighter, other.cast)
            && other.is_share(self.size, ALIKE_SHARE)
            && !other.around
            && !other.grainless
    }

    /// Paper beside both tells that they are equally white, whatever light falls on them. What may be the bench
    /// is asked for more.
    fn is_as_white(&self, other: &Other<'_>) -> bool {
        let within = if self.runs_along_the_frame(other.area) { JUST_AS_WHITE } else { 1.0 };
        !other.grainless
            && other.is_share(self.size, TWIN_SHARE)
            && self.is_as_white_as_paper_tells(other.look, within)
            && touches(other.area, self.beyond())
            && (!other.bench || self.is_whitest_beyond(other) || self.light_keeps_up_to(other))
    }

    /// As white as can be told and of just the same powder, and it does not go around the coat as a bench does.
    fn is_whitest_beyond(&self, other: &Other<'_>) -> bool {
        let grains = other.look.grain_beside(&self.look);
        !other.around
            && self.is_as_white_as_paper_tells(other.look, JUST_AS_WHITE)
            && (1.0 / SAME_GRAIN..SAME_GRAIN).contains(&grains)
    }

    /// Nothing but relief or the edge of a light shadow lies between.
    fn is_near_alike(&self, other: &Other<'_>) -> bool {
        !other.grainless
            && !other.around
            && other.is_share(self.size, SHADED_SHARE)
            && is_near_alike(other.lighter, other.cast)
            && self.light_keeps_up_to(other)
    }

    /// Nothing but relief lies between, in whatever light. Asked of what is not small, of just the same powder and away
    /// from the frame. Chosen on painted scenes: bare metal read so shows its grain, a bench reaches the frame.
    fn is_powder_beyond_relief(&self, other: &Other<'_>) -> bool {
        !other.grainless
            && !other.around
            && !other.bench
            && !self.runs_along_the_frame(other.area)
            && other.is_share(self.size, SURE_SHARE)
            && (1.0 / SAME_GRAIN..SAME_GRAIN).contains(&other.look.grain_beside(&self.look))
            && self.light_keeps_up_to(other)
    }

    /// Beyond a bead, a thread or a card: about as light, the same cast, the same powder. What is about
    /// as large as the coat may lie in a shadow as well.
    fn is_twin_beyond(&self, other: &Other<'_>) -> bool {
        let options = self.ground.options;
        let along = self.runs_along_the_frame(other.area);
        let large = other.is_share(self.size, 2) && !along;
        (large || options.twin_light.contains(&other.lighter))
            && other.cast < options.twin_cast
            && !other.grainless
            && other.is_share(self.size, TWIN_SHARE)
            && !other.bench
            && touches(other.area, self.beyond())
            && (!along || (other.size * 2 < self.size && touches(other.area, self.near())))
    }

    /// Cut by the edge of a shadow a coat is darker, and bluer or redder. Close by that is enough; where it could be
    /// something else, the light must fall from one to the other as it does across the edge of a shadow.
    fn shadow_falls_on(&self, other: &Other<'_>) -> bool {
        let sure = || {
            !other.bench
                && !self.runs_along_the_frame(other.area)
                && other.is_share(self.size, SURE_SHARE)
                && touches(other.area, self.near())
        };
        other.is_share(self.size, SHADED_SHARE)
            && touches(other.area, self.beyond())
            && (sure() || self.light_falls_onto(other))
    }

    /// The same where a shadow takes more than is taken for one unseen: the light must be seen to fall, onto what is not
    /// small, grained as powder is and no bench.
    fn deep_shadow_falls_on(&self, other: &Other<'_>) -> bool {
        !other.grainless
            && !other.bench
            && other.lighter < 0.0
            && -other.lighter < self.ground.options.deep_shadow.ln()
            && other.cast < self.ground.options.shadow_cast
            && other.is_share(self.size, SURE_SHARE)
            && self.light_falls_onto(other)
    }

    fn light_keeps_up_to(&self, other: &Other<'_>) -> bool {
        *other.keeps_light.get_or_init(|| self.light_keeps_between(other.area, other.look))
    }

    fn light_falls_onto(&self, other: &Other<'_>) -> bool {
        *other.one_step.get_or_init(|| self.light_falls_in_one_step(other.area, other.look))
    }

    /// Whether another area close by looks as this one does in every way, or a shadow falls from this one onto it;
    /// `coat` is the size of the surest.
    fn has_twin_beside(&self, (area, look): &Even, coat: usize) -> bool {
        let (lighter, cast) = look.beside(&self.look);
        area.size() * SHADED_SHARE >= coat
            && !self.has_twice_the_grain_of(look)
            && look.has_grain_of(&self.look, self.ground.options.most_grain)
            && ((is_alike(lighter, cast) && touches(area, self.near()))
                || (self.is_as_white_as_paper_tells(look, JUST_AS_WHITE)
                    && touches(area, self.beyond()))
                || (is_near_alike(lighter, cast) && self.light_keeps_between(area, look))
                || (self.may_lie_in_a_shadow(look)
                    && touches(area, self.beyond())
                    && self.light_falls_in_one_step(area, look)))
    }
}

/// What was held for coat at a first look may have this much more grain, whatever its light and cast, and still be told.
/// Chosen: bare metal that came along at that look is coarser.
const HELD_BEFORE: f64 = 1.25;

/// Whether most of an area lies in a mask.
fn lies_in(area: &Area, mask: &Mask) -> bool {
    2 * area.places().filter(|&(x, y)| mask.at(x, y)).count() > area.size()
}

/// Not more areas than these, the largest, are looked at, ...
const MOST_AREAS: usize = 64;
/// ... and beside not more of those found. Chosen: a coat falls into a few parts; many like areas are the tiles of
/// something else, and looking at all pairs of them takes minutes.
const MOST_PARTS: usize = 12;

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
/// The same powder: grain by so much coarser or finer. Chosen: within a coat it varies by that.
const SAME_GRAIN: f64 = 1.3;
/// How much more grain noise may add in a shadow where paper tells that the ground is white. Chosen: painted coat
/// there has up to 1.3 times the grain allowed without.
const MOST_NOISE: f64 = 1.5;

/// Share of the limits for as white as paper, for what is just as white. Chosen: what may be something else is asked for
/// twice as much.
const JUST_AS_WHITE: f64 = 0.5;

fn is_near_alike(lighter: f64, cast: f64) -> bool {
    lighter.abs() < NEAR_ALIKE_LN && cast < NEAR_ALIKE_CAST
}

fn is_alike(lighter: f64, cast: f64) -> bool {
    lighter.abs() < ALIKE_LN && cast < ALIKE_CAST
}

#[cfg(test)]
mod tests {
    use crate::coat::{CoatOptions, propose};
    use crate::photo::{Cells, Grid, Mask, Raster};

    const SIZE: (usize, usize) = (300, 200);

    /// Shares of two kinds of ground that are read, and those that are left out as doubtful; `ground` tells light,
    /// whether the ground is rough, and the kind, at a place in mm.
    fn shares(ground: impl Fn(f32, f32) -> (f32, bool, usize)) -> [[f64; 2]; 2] {
        shares_in_noise(ground, |_, _, _| 0.0)
    }

    /// The same with `noise` upon the second kind of ground, at a place in cells, for red and green.
    fn shares_in_noise(
        ground: impl Fn(f32, f32) -> (f32, bool, usize),
        noise: impl Fn(usize, usize, usize) -> f32,
    ) -> [[f64; 2]; 2] {
        let mut red = Raster::filled(SIZE.0, SIZE.1, 0.0);
        let mut green = red.clone();
        let mut kinds = Vec::new();
        for y in 0..SIZE.1 {
            for x in 0..SIZE.0 {
                let (light, rough, kind) = ground(x as f32 * 0.3, y as f32 * 0.3);
                // Without a direction of its own: a pattern that repeats along the rows has no grain in its quartile.
                let grain = ((x * x * 37 + x * y * 53 + y * 91) % 17) as f32 / 17.0 - 0.5;
                let light = light + grain * if rough { 0.3 } else { 0.02 };
                let own = |channel| if kind == 1 { noise(x, y, channel) } else { 0.0 };
                red.data[y * SIZE.0 + x] = light + own(0);
                green.data[y * SIZE.0 + x] = light + own(1);
                kinds.push(kind);
            }
        }
        let ln = [red, green.clone(), green];
        let lost = Raster::filled(SIZE.0, SIZE.1, 0.0);
        let cells = Cells { grid: Grid { x0: 0, y0: 0, side: 3 }, ln, lost };
        let nothing = Mask::empty(SIZE.0, SIZE.1);
        let found = propose(&cells, &nothing, None, 0.3, &CoatOptions::default()).unwrap();
        [found.coat, found.doubtful]
            .map(|mask| [0, 1].map(|kind| mask.share_of(|i| kinds[i] == kind)))
    }

    /// A coat that fills the frame, half of it in a shadow that takes so much light, ln. The shadow's edge, 2 mm wide,
    /// runs askew; the shadowed half reaches three sides of the frame.
    fn half_shaded(deep: f32) -> impl Fn(f32, f32) -> (f32, bool, usize) {
        move |x, y| {
            let into = ((x + 0.3 * y - 60.0) / 2.0).clamp(0.0, 1.0);
            (-0.2 - deep * into, false, usize::from(into > 0.5))
        }
    }

    #[test]
    fn a_shadow_over_half_a_coat_that_fills_the_frame_is_read_through() {
        // The last takes 4.5 times the light: more than is believed where no step is seen.
        for deep in [0.7, 1.2, 1.5] {
            let [[lit, shaded], _] = shares(half_shaded(deep));
            assert!(lit > 0.95 && shaded > 0.95, "{deep}: {lit} {shaded}");
        }
        // No shadow is known to take seven times.
        let [[lit, shaded], _] = shares(half_shaded(1.95));
        assert!(lit > 0.95 && shaded < 0.05, "{lit} {shaded}");
    }

    #[test]
    fn grain_that_the_colours_do_not_share_is_noise_and_does_not_hide_the_coat() {
        let dice = |x: usize, y: usize, k: usize| {
            let n = (x + y * SIZE.0 + k * SIZE.0 * SIZE.1) as u64;
            let n = n.wrapping_mul(0x9e37_79b9_7f4a_7c15);
            let n = (n ^ n >> 32).wrapping_mul(0xd6e8_feb8_6659_fd93);
            0.05 * ((n >> 32) as f32 / u32::MAX as f32 - 0.5)
        };
        let [[lit, shaded], _] = shares_in_noise(half_shaded(0.9), dice);
        assert!(lit > 0.95 && shaded > 0.9, "{lit} {shaded}");
        // The same in all colours is the surface's own.
        let [[lit, shaded], _] = shares_in_noise(half_shaded(0.9), |x, y, _| dice(x, y, 0));
        assert!(lit > 0.95 && shaded < 0.05, "{lit} {shaded}");
    }

    #[test]
    fn an_even_bench_around_the_rim_of_a_part_is_not_read() {
        for bench in [-0.5, -0.9, -1.3, -1.6] {
            let [[coat, around], [_, doubtful]] = shares(|x, y| {
                let out = (x - 45.0).abs().max((y - 30.0).abs() * 1.5) - 30.0;
                match out {
                    out if out < 0.0 => (-0.2, false, 0),
                    out if out < 3.0 => (-0.7, true, 2),
                    _ => (bench, false, 1),
                }
            });
            // A millimetre and a half along the rough rim is left out: a tenth of so small a coat.
            assert!(coat > 0.85 && around < 0.01, "bench {bench}: {coat} {around}");
            assert!(doubtful < 0.01, "bench {bench}: {doubtful}");
        }
    }

    #[test]
    fn powder_in_a_deep_shadow_behind_bare_ground_is_left_out_and_told() {
        let behind = |deep: f32| {
            shares(|x, y| match (x, y) {
                (x, y) if x < 6.0 || !(6.0..54.0).contains(&y) => (-1.6, true, 2),
                (x, _) if x < 46.0 => (-0.2, false, 0),
                (x, _) if x < 56.0 => (-1.6, true, 2),
                (x, _) if x < 70.0 => (deep, false, 1),
                _ => (-1.6, true, 2),
            })
        };
        // A millimetre and a half along rough rims is left out.
        let [[lit, shaded], [_, doubtful]] = behind(-1.2);
        assert!(lit > 0.8 && shaded < 0.01, "{lit} {shaded}");
        assert!(doubtful > 0.7, "{doubtful}");
        // No shadow is known to be that dark.
        let [[lit, shaded], [_, doubtful]] = behind(-2.2);
        assert!(lit > 0.8 && shaded < 0.01 && doubtful < 0.01, "{lit} {shaded} {doubtful}");
    }

    #[test]
    fn a_shadow_on_another_part_of_the_coat_is_read_through() {
        // Bare ground parts the coat; the shadow lies 27 mm from the larger part, behind the smaller.
        let [[lit, shaded], _] = shares(|x, y| match (x, y) {
            (x, y) if !(6.0..84.0).contains(&x) || !(6.0..54.0).contains(&y) => (-1.6, true, 2),
            (x, _) if x < 42.0 => (-0.2, false, 0),
            (x, _) if x < 47.0 => (-1.6, true, 2),
            (x, _) if x < 69.0 => (-0.2, false, 0),
            _ => (-1.1, false, 1),
        });
        assert!(lit > 0.8 && shaded > 0.8, "{lit} {shaded}");
    }

    #[test]
    fn the_same_powder_beyond_relief_is_read_in_whatever_light_and_beyond_bare_ground_it_is_not() {
        // The other part is 0.8 ln darker, 24 mm away; between them a ripple or bare ground.
        let beyond = |bare: bool| {
            // Grain of another pattern, so that not all of it rests on one.
            let grain = |x: f32, y: f32| 0.01 * (113.7 * x + 71.3 * y + 3.1 * x * y).sin();
            shares(|x, y| match (x, y) {
                (x, y) if !(2.0..88.0).contains(&x) || !(2.0..58.0).contains(&y) => (-2.4, true, 2),
                (x, _) if x < 36.0 => (-0.2 + grain(x, y), false, 0),
                (x, _) if x < 60.0 && bare => (-2.0, true, 2),
                (x, _) if x < 60.0 => (-0.6 + 0.2 * (x * 2.2).sin(), false, 2),
                _ => (-1.0 + grain(x, y), false, 1),
            })
        };
        let [[lit, dim], _] = beyond(false);
        assert!(lit > 0.8 && dim > 0.8, "{lit} {dim}");
        let [[lit, dim], _] = beyond(true);
        assert!(lit > 0.8 && dim < 0.01, "{lit} {dim}");
    }
}
