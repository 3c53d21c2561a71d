//! The even areas of a photo, and which of them is surest the coat.
//!
//! Mostly one look at a set evenness tells. Out of focus, or where the camera has flattened the light, the edge of
//! a coat is as even as the coat itself, and coat and bench are one area: then closer looks tell them apart. Where
//! nothing known to be white lies in the frame and nothing looks white, the light may be warm or cold: then what is
//! whitest of all tells its colour.

use super::Proposed;
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
    /// Known white in the frame, or the camera: ln of red, green, blue, of which only the differences count.
    Told([f64; 3]),
    /// Nothing: whatever may be white in some light counts.
    InSomeLight,
}

impl White {
    /// Paper tells, or else the camera, which makes white look neutral.
    pub(super) fn told(ground: &Ground<'_>) -> Self {
        Self::Told(ground.paper.map_or([0.0; 3], |paper| paper.white_ln))
    }

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
                RED_OF_LIGHT.contains(&look.colour[0]) && BLUE_OF_LIGHT.contains(&look.colour[1])
            }
        }
    }
}

/// Colours that a camera leaves of light it has not corrected, ln R/G and ln B/G: from a lamp's glow that it took
/// half away to a blue sky. Chosen: light of 2900 K is (0.5, -1.1) off daylight's (black body through the sRGB
/// primaries, worked out), and cameras take away half of it and more (from memory).
const RED_OF_LIGHT: std::ops::RangeInclusive<f64> = -0.35..=0.45;
const BLUE_OF_LIGHT: std::ops::RangeInclusive<f64> = -0.75..=0.35;

/// Shares of the evenness at which closer looks are taken. Chosen: a step of light one and a half times as sharp each.
const CLOSER_LOOKS: [f64; 4] = [0.7, 0.5, 0.35, 0.25];

impl Evens {
    /// The first look, with what told it white.
    pub(super) fn at_first_look(ground: &Ground<'_>) -> Option<(Self, White)> {
        let (most, told) = (ground.options.evenness, White::told(ground));
        let closer = |white: White| {
            let looks = CLOSER_LOOKS.iter().map(|share| share * most);
            looks
                .filter_map(|evenness| Self::of(ground, evenness, white))
                .max_by(|a, b| a.weight.total_cmp(&b.weight))
        };
        let at_once = Self::of(ground, most, told);
        let by_told = match at_once {
            Some(found) if !found.leaves_white(ground, told) => Some(found),
            found => {
                found.into_iter().chain(closer(told)).max_by(|a, b| a.weight.total_cmp(&b.weight))
            }
        };
        if let Some(found) = by_told {
            return Some((found, told));
        }
        // Paper would have told.
        if ground.paper.is_some() {
            return None;
        }
        let whitest = closer(White::InSomeLight)?;
        let [red, blue] = whitest.areas[whitest.main].1.colour;
        let light = White::Told([red, 0.0, blue]);
        Some((Self::of(ground, whitest.evenness, light)?, light))
    }

    /// Whether much ground as light and as white as the coat lies in areas that are not white as a whole.
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
        let mut even = Mask::empty(width, height);
        for (i, yes) in even.data.iter_mut().enumerate() {
            *yes = ground.is_usable(i) && f64::from(ground.unevenness.data[i]) < evenness;
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
        // White reflects blue light as well, which wood, board and brass do not.
        let blue = |look: &Look| match white {
            White::Told(_) => 0.0,
            White::InSomeLight => look.colour[1].min(0.0),
        };
        let weight = |area: &Area, look: &Look| {
            (area.size() as f64).ln() + 2.0 * (in_light(look.ln_red, look) + blue(look))
                - bench(area)
        };
        let (main, weight) = areas
            .iter()
            .enumerate()
            .filter(|(_, (_, look))| in_light(look.lit, look) >= floor)
            .map(|(i, (area, look))| (i, weight(area, look)))
            .max_by(|(_, a), (_, b)| a.total_cmp(b))?;
        Some(Self { evenness, even, areas, not_white, main, weight })
    }

    /// The surest coat with its like; `before` is what was held for coat at a first look.
    pub(super) fn with_its_like(&self, ground: &Ground<'_>, before: Option<&Mask>) -> Proposed {
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
        Proposed { coat: grown(kin.coat), doubtful: grown(kin.doubtful) }
    }
}

/// Ground is as light and as white as the coat where it is no darker and of no other colour than this, ln. Chosen: a
/// coat varies by that.
const LIKE_LN: f64 = 0.4;
const LIKE_CAST: f64 = 0.15;

/// Thin bridges over a feathered edge would lead out onto bare metal: half their width, cells.
fn neck(ground: &Ground<'_>) -> f64 {
    0.5 * ground.options.neck_mm / ground.cell_mm
}

/// Ground that is no darker than this against the paper beside lies in the same light as that, ln. Chosen: a coat reads
/// -0.1 to 0.2.
const WHITE_BESIDE_LN: f64 = -0.2;

/// How much heavier a coat must weigh than what looks like a bench, ln of area. Chosen: e^1.5 is 4.5.
const BENCH_WEIGHT: f64 = 1.5;
