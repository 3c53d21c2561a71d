//! The even areas of a photo, and which of them is surest the coat.
//!
//! Mostly one look at a set evenness tells. Out of focus, or where the camera has flattened the light, the edge of
//! a coat is as even as the coat itself, and coat and bench are one area: then closer looks tell them apart. Where
//! nothing known to be white lies in the frame, what the camera made white counts unless something else is clearly
//! whiter for the light it may lie in: then that tells the colour of the light.

use super::frame::sides_of_frame;
use super::ground::Ground;
use super::kin::kin;
use super::look::Look;
use super::piece::Even;
use crate::photo::Mask;
use crate::regions::{Area, areas};

/// The even areas of a photo that look white.
pub(super) struct Evens {
    /// What counted as even, and where the ground is.
    pub(super) evenness: f64,
    even: Mask,
    /// Its areas, shaved on all sides.
    areas: Vec<Even>,
    /// Those that do not look white.
    not_white: Vec<Area>,
    /// The surest coat among them, and how sure that is.
    main: usize,
    weight: f64,
}

/// What white is told by.
#[derive(Clone, Copy, Debug)]
pub(super) enum White {
    /// Known white in the frame, or the whitest of a photo without: ln of red, green, blue, of which only the
    /// differences count.
    Told([f64; 3]),
    /// Nothing: whatever may be white in some light counts.
    InSomeLight,
}

impl White {
    /// Light of white, ln of red, green, blue.
    fn ln(self) -> [f64; 3] {
        match self {
            Self::Told(ln) => ln,
            Self::InSomeLight => [0.0; 3],
        }
    }

    fn is(self, look: &Look, most_cast: f64) -> bool {
        match self {
            Self::Told(_) => look.cast() <= most_cast,
            Self::InSomeLight => {
                let [red, blue] = look.colour;
                RED_OF_LIGHT.contains(&red)
                    && BLUE_OF_LIGHT.contains(&blue)
                    && OFF_GREEN.contains(&(0.5 * (red + blue)))
            }
        }
    }
}

/// Colours that a camera leaves of light it has not corrected, ln R/G and ln B/G. Light of 2900 K is (0.5, -1.1) off
/// daylight's (black body through the sRGB primaries, worked out). Chosen: two thirds of that may be left, and as much of
/// a blue sky the other way; ...
const RED_OF_LIGHT: std::ops::RangeInclusive<f64> = -0.55..=0.5;
const BLUE_OF_LIGHT: std::ops::RangeInclusive<f64> = -0.8..=0.5;
/// ... across the line from lamp to sky, towards green or magenta, tubes and what a camera makes of them leave less: the
/// mean of both. Chosen.
const OFF_GREEN: std::ops::RangeInclusive<f64> = -0.45..=0.3;
/// A coat no farther off the camera's white than this asks for no closer look. Chosen: half of what may pass for white.
const NEUTRAL_CAST: f64 = 0.18;

/// Shares of the evenness at which closer looks are taken. Chosen: steps of 1.4.
const CLOSER_LOOKS: [f64; 4] = [0.7, 0.5, 0.35, 0.25];

impl Evens {
    /// The first look, with what tells white from then on.
    pub(super) fn at_first_look(ground: &Ground<'_>) -> Option<(Self, White)> {
        let most = ground.options.evenness;
        let closer = |white: White| {
            let looks = CLOSER_LOOKS.iter().map(|share| share * most);
            looks
                .filter_map(|evenness| Self::of(ground, evenness, white))
                .max_by(|a, b| a.weight.total_cmp(&b.weight))
        };
        if let Some(paper) = ground.paper {
            let white = White::Told(paper.white_ln);
            let at_once = Self::of(ground, most, white);
            let found = match at_once {
                Some(found) if !found.leaves_white(ground, white) => found,
                found => heavier(found, closer(white))?,
            };
            return Some((found, white));
        }
        let camera = White::Told([0.0; 3]);
        let neutral = Self::of(ground, most, camera);
        let found = heavier(neutral, Self::of(ground, most, White::InSomeLight));
        let found = match found {
            Some(found) if found.is_plain() && !found.leaves_white(ground, camera) => {
                return Some((found, camera));
            }
            found => heavier(found, closer(White::InSomeLight))?,
        };
        let [red, blue] = found.areas[found.main].1.colour;
        let light = White::Told([red, 0.0, blue]);
        Some((Self::of(ground, found.evenness, light)?, light))
    }

    /// Whether the camera itself made the surest coat white, and it does not run along the frame as a bench does, or a
    /// coat that is one with its bench.
    fn is_plain(&self) -> bool {
        let (area, look) = &self.areas[self.main];
        look.cast() <= NEUTRAL_CAST && sides_of_frame(area, self.even.width, self.even.height) < 3
    }

    /// Whether much ground as light and as white as the coat, half as much as that, lies in areas that are not white as
    /// a whole.
    fn leaves_white(&self, ground: &Ground<'_>, white: White) -> bool {
        let (main, look) = &self.areas[self.main];
        let (ln, white) = (&ground.cells.ln, white.ln());
        let is_like = |i: usize| {
            let off = |k: usize| {
                f64::from(ln[k].data[i] - ln[1].data[i])
                    - (white[k] - white[1])
                    - look.colour[k / 2]
            };
            f64::from(ln[0].data[i]) > look.ln_red - LIKE_LN
                && off(0).abs().max(off(2).abs()) < LIKE_CAST
        };
        let like = self.not_white.iter().filter(|area| 2 * area.size() > main.size());
        let like = like.flat_map(Area::places);
        let like = like.filter(|&(x, y)| is_like(y * ground.cells.width() + x)).count();
        2 * like > main.size()
    }

    /// The areas of ground that is evener than told and looks white; `None` without any that is bright enough.
    pub(super) fn of(ground: &Ground<'_>, evenness: f64, white: White) -> Option<Self> {
        let (options, cell_mm) = (ground.options, ground.cell_mm);
        let (width, height) = (ground.bright().width, ground.bright().height);
        // Paper tells the colour of each area as it is; without, colour parts a coat from wood behind a soft rim.
        let is_blue_enough = |i: usize| match white {
            White::Told(ln) if ground.paper.is_none() => ground.is_blue_enough(i, ln),
            _ => true,
        };
        let mut even = Mask::empty(width, height);
        for (i, yes) in even.data.iter_mut().enumerate() {
            *yes = ground.is_usable(i)
                && f64::from(ground.unevenness.data[i]) < evenness
                && is_blue_enough(i);
        }
        let cores = even.shrunk(neck(ground));
        let least_cells = (options.least_area_mm2 / (cell_mm * cell_mm)).ceil() as usize;
        let large = areas(&cores).into_iter().filter(|area| area.size() >= least_cells);
        let looked = large.map(|area| {
            let look = ground.look(&area, white.ln());
            (area, look)
        });
        let (areas, others): (Vec<Even>, Vec<Even>) =
            looked.partition(|(_, look)| white.is(look, options.most_cast));
        let not_white = others.into_iter().map(|(area, _)| area).collect();
        // Known white in the frame says how bright a coat is; without it, the brightest even area does.
        let brightest = areas.iter().map(|(_, l)| l.ln_red).fold(f64::NEG_INFINITY, f64::max);
        let light_of_white = ground.paper.map_or(brightest, |paper| paper.white_ln[0]);
        let floor = light_of_white + options.least_brightness.ln();
        // The paper beside says how bright it would be in the light that falls on most of the paper; burnt-out paper
        // does not, and where the edge of a shadow lies between the two it says too little.
        let in_light = |light: f64, look: &Look| match look.against {
            Some(against) if ground.paper.is_some_and(|paper| !paper.is_burnt_out()) => {
                let told = light_of_white + against.light.min(0.0);
                if against.light > WHITE_BESIDE_LN { told } else { light.max(told) }
            }
            _ => light,
        };
        // A bench is often larger than the part but darker: brightness weighs twice as much as area.
        // What lies along three sides of the frame is likelier the bench around the part.
        let bench =
            |area: &Area| if sides_of_frame(area, width, height) >= 3 { BENCH_WEIGHT } else { 0.0 };
        // White takes the colour of the light, which is never far from what the camera holds for white; and it reflects
        // blue light, which wood, board and brass do not.
        let strange = |look: &Look| match ground.paper {
            Some(_) => 0.0,
            None => CAST_WEIGHT * look.cast() - look.colour[1].min(0.0),
        };
        let weight = |area: &Area, look: &Look| {
            (area.size() as f64).ln() + 2.0 * in_light(look.ln_red, look)
                - bench(area)
                - strange(look)
        };
        let (main, weight) = areas
            .iter()
            .enumerate()
            .filter(|(_, (_, look))| in_light(look.lit, look) >= floor)
            .map(|(i, (area, look))| (i, weight(area, look)))
            .max_by(|(_, a), (_, b)| a.total_cmp(b))?;
        Some(Self { evenness, even, areas, not_white, main, weight })
    }

    /// The surest coat with its like, and what may be that; `before` is what was held for coat at a first look.
    pub(super) fn with_its_like(&self, ground: &Ground<'_>, before: Option<&Mask>) -> (Mask, Mask) {
        let shadow_ln = ground.paper.map_or(0.0, |paper| paper.shadow_ln());
        let kin = kin(&self.areas, self.main, ground, shadow_ln, before);
        let grown = |cores: Vec<&Area>| {
            let mut mask = Mask::empty(self.even.width, self.even.height);
            cores.into_iter().for_each(|area| area.draw(&mut mask));
            let mut mask = mask.grown(neck(ground) + 1.0);
            for (yes, &is_even) in mask.data.iter_mut().zip(&self.even.data) {
                *yes &= is_even;
            }
            mask
        };
        let [coat, doubtful] = [kin.coat, kin.doubtful].map(grown);
        (coat, doubtful)
    }
}

/// The other where it is surer by a clear margin. Chosen: the rims that a closer look leaves out make a coat a little
/// lighter.
fn heavier(held: Option<Evens>, other: Option<Evens>) -> Option<Evens> {
    match (held, other) {
        (Some(held), Some(other)) if other.weight > held.weight + SURER => Some(other),
        (held, other) => held.or(other),
    }
}

/// See [`heavier`], ln of area.
const SURER: f64 = 0.5;

/// Ground is as light and as white as the coat where it is no darker and of no other colour than this, ln. Chosen: a
/// coat varies by that.
const LIKE_LN: f64 = 0.4;
const LIKE_CAST: f64 = 0.15;

/// How much a cast weighs where nothing tells white, ln of area; what is lacking of blue weighs once more. Chosen: a cast
/// of a third takes as much as 2.7 times less area, a yellow one as 3.8 times.
const CAST_WEIGHT: f64 = 3.0;

/// Thin bridges over a feathered edge would lead out onto bare metal: half their width, cells.
fn neck(ground: &Ground<'_>) -> f64 {
    0.5 * ground.options.neck_mm / ground.cell_mm
}

/// Ground that is no darker than this against the paper beside lies in the same light as that, ln. Chosen: a coat reads
/// -0.1 to 0.2.
const WHITE_BESIDE_LN: f64 = -0.2;

/// How much heavier a coat must weigh than what looks like a bench, ln of area. Chosen: e^1.5 is 4.5.
const BENCH_WEIGHT: f64 = 1.5;

#[cfg(test)]
mod tests {
    use crate::coat::{CoatOptions, propose};
    use crate::photo::{Cells, Grid, Mask, Raster};

    const SIZE: (usize, usize) = (300, 200);

    /// Shares of two kinds of ground that are read in a photo without paper; `ground` tells the light of red, green and
    /// blue, ln, and the kind, at a place in mm.
    fn shares(ground: impl Fn(f32, f32) -> ([f32; 3], usize)) -> Option<[f64; 2]> {
        let mut ln = [(); 3].map(|()| Raster::filled(SIZE.0, SIZE.1, 0.0));
        let mut kinds = Vec::new();
        for y in 0..SIZE.1 {
            for x in 0..SIZE.0 {
                let (light, kind) = ground(x as f32 * 0.3, y as f32 * 0.3);
                let grain = 0.02 * (((x * x * 37 + x * y * 53 + y * 91) % 17) as f32 / 17.0 - 0.5);
                for (field, light) in ln.iter_mut().zip(light) {
                    field.data[y * SIZE.0 + x] = light + grain;
                }
                kinds.push(kind);
            }
        }
        let lost = Raster::filled(SIZE.0, SIZE.1, 0.0);
        let cells = Cells { grid: Grid { x0: 0, y0: 0, side: 3 }, ln, lost };
        let nothing = Mask::empty(SIZE.0, SIZE.1);
        let coat = propose(&cells, &nothing, None, 0.3, &CoatOptions::default())?.coat;
        Some([0, 1].map(|kind| coat.share_of(|i| kinds[i] == kind)))
    }

    const WHITE: f32 = -0.3;
    const WOOD: [f32; 3] = [-0.8, -1.2, -1.9];
    /// Nothing but its grain, how it lies in the frame and the step at its rim tells grey paint from a coat in the shade.
    const GREY: [f32; 3] = [-2.0, -2.0, -2.0];

    /// A part of 60 mm by 40 mm on a bench that is all around it, with a rim `soft_mm` wide, in light of a colour.
    fn on(bench: [f32; 3], soft_mm: f32, light: [f32; 2]) -> Option<[f64; 2]> {
        shares(|x, y| {
            let out = ((x - 45.0).abs() - 30.0).max((y - 30.0).abs() - 20.0);
            let share = (0.5 + out / soft_mm).clamp(0.0, 1.0);
            let share = share * share * (3.0 - 2.0 * share);
            let ground = bench.map(|bench| WHITE + share * (bench - WHITE));
            let kind = if out.abs() < 0.5 * soft_mm + 1.0 { 2 } else { usize::from(out > 0.0) };
            ([ground[0] + light[0], ground[1], ground[2] + light[1]], kind)
        })
    }

    #[test]
    fn a_coat_whose_rim_is_as_even_as_itself_is_told_from_the_bench() {
        for soft_mm in [0.5, 1.0, 2.0, 3.0] {
            let [coat, bench] = on(WOOD, soft_mm, [0.0, 0.0]).expect("a coat");
            assert!(coat > 0.95 && bench < 0.05, "rim of {soft_mm} mm: {coat} {bench}");
        }
    }

    #[test]
    fn a_coat_on_a_grey_bench_is_read_alone() {
        for light in [[0.0, 0.0], [0.3, -0.5]] {
            for soft_mm in [0.5, 1.0, 2.0] {
                let [coat, bench] = on(GREY, soft_mm, light).expect("a coat");
                // A millimetre along the steep rim is left out.
                assert!(coat > 0.9 && bench < 0.05, "{light:?}, {soft_mm} mm: {coat} {bench}");
            }
        }
    }

    #[test]
    fn the_whitest_ground_tells_the_colour_of_the_light() {
        for light in [[0.3, -0.5], [-0.3, 0.3], [-0.4, -0.2]] {
            let [coat, bench] = on(WOOD, 0.5, light).expect("a coat");
            assert!(coat > 0.95 && bench < 0.05, "{light:?}: {coat} {bench}");
        }
        // No light makes white look so.
        assert!(on(WOOD, 0.5, [-0.9, 0.9]).is_none_or(|[coat, _]| coat < 0.05));
    }

    #[test]
    fn ground_of_one_strange_colour_is_no_coat() {
        assert!(shares(|_, _| ([-0.5, -1.1, -1.9], 0)).is_none(), "a red board");
        assert!(shares(|_, _| ([-2.5, -0.5, -1.5], 0)).is_none(), "green light");
        assert!(shares(|_, _| ([-0.3, -0.35, -0.5], 0)).is_some_and(|[coat, _]| coat > 0.95));
    }
}
