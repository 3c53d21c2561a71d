//! Whether a photo of a series shows the place that the last one shows, and whether the scale lay still
//! between them. Dye does not vanish while the developer draws: what an early photo counts is there in a later
//! one, larger, run together or as a piece of more.

use crate::compare::{
    Align, Comparison, Mark, Move, Scales, Sight, Taken, compare, compare_by_scale,
};
use nde_measure::size::contains;
use serde::Serialize;

/// What is wrong between an earlier photo and the last one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Misfit {
    /// Few of its indications are where they should still be.
    AnotherPlace,
    /// All of its indications lie elsewhere together.
    ScaleMoved,
}

impl Misfit {
    /// As it stands in files.
    #[must_use]
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::AnotherPlace => "another-place",
            Self::ScaleMoved => "scale-moved",
        }
    }
}

/// Why nothing proves that an earlier photo shows the place of the last one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Unproven {
    /// Half of its indications are not where they should be, and those are too few to tell by.
    TooFew,
    /// The frames of these scales prove nothing, and too few indications agree to do without.
    Frame,
}

/// An earlier photo laid over the last one.
#[derive(Clone, Debug)]
pub(crate) struct Standing {
    /// How it was laid over the last one. Pairs of it are left out where it seems not to show that place: they
    /// would be those of chance.
    pub laid: Comparison,
    /// Indications of it whose place the last photo shows, ...
    pub due: usize,
    /// ... and those of them where the last photo shows dye.
    pub shown: usize,
    /// How far the scale lay from where it lies in the last photo by the indications, mm on the mean square over
    /// these; absent where too few agree.
    pub apart_mm: Option<f64>,
    /// What is wrong; absent where nothing is.
    pub misfit: Option<Misfit>,
    /// What keeps the place from being checked; absent where it was.
    pub unproven: Option<Unproven>,
    /// Whether both frames are printed on a scale, so that by them a scale that moved is told.
    pub printed: bool,
    /// Indications that the last photo does not count as their own, each with the one that holds them there.
    pub held: Vec<(String, String)>,
}

/// Places that agree within this are one, mm. Chosen, as between two photos.
pub(super) const SAME_PLACE_MM: f64 = 1.0;
/// Share of an indication's outline that must lie at dye of the last photo. Chosen: one that grew covers its
/// old outline; one that broke up still half of it.
const COVERED: f64 = 0.5;
/// Fewest indications due by which a photo is called another place's. Chosen: of three at least two must be
/// gone; a lint or a speck is blown off alone.
pub(super) const FEWEST_DUE: usize = 3;
/// Share of the indications due that must be shown, and of those in view that must lie on the coat for the others
/// to be left out. Chosen: half of them may hide under glare or a hand.
const SHOWN: f64 = 0.5;
/// Least distance that is called a move, mm. Chosen: more than the indications of painted series lay apart by
/// growth, tilt and lens (0.23 mm the greatest of 60 photos). A part that lies `h` higher than the card under a
/// camera `H` away is shifted by `h / (H - h)` of the camera's own move: more than this with 3 mm, 200 mm and a
/// hand's 25 mm, and then it is said.
const MOVED_MM: f64 = 0.3;
/// So many times what the scatter of the indications leaves open. Chosen: common practice, 3 sigma.
const BEYOND: f64 = 3.0;
/// Dye so many times as long as an indication does not count as that indication. Chosen: what it grows to or runs
/// together to is less; a red bench or a drip is more. What is counted counts however long.
const FAR_LONGER: f64 = 3.0;
/// Least length that this is reckoned from, mm. Chosen: a dot grows to several times its first size.
const LEAST_LONG_MM: f64 = 2.0;
/// Longest indications, and places along the outline of each, that are looked up: keeps the work bounded.
const MOST_DUE: usize = 40;
const MOST_PLACES: usize = 48;

/// Lays an earlier photo over the last one; without enough indications by the scale.
pub(super) fn standing(shot: &Taken, last: &Taken) -> Standing {
    let ground = Ground::of(last);
    let printed = shot.frame_is_printed() && last.frame_is_printed();
    let few = |[due, shown]: [usize; 2]| (shown as f64) < SHOWN * due as f64;
    let by_marks =
        compare(shot, last, Align::Marks, Scales::Same).ok().filter(|it| !it.laid.may_be_chance());
    let apart = by_marks.as_ref().map(apart);
    let apart_mm = apart.map(|(mm, _)| mm).filter(|_| printed);
    let moved = apart.is_some_and(|(mm, open)| mm > MOVED_MM.max(BEYOND * open));
    if let Some(laid) = by_marks.filter(|_| moved || !printed) {
        let [due, shown] = ground.shown(&shot.marks, &laid.laid.by);
        if !few([due, shown]) {
            let (misfit, held) = (printed.then_some(Misfit::ScaleMoved), held(&laid, last));
            return Standing { laid, due, shown, apart_mm, misfit, unproven: None, printed, held };
        }
    }
    let scales = if printed { Scales::Still } else { Scales::Same };
    let mut laid = compare_by_scale(shot, last, scales);
    let [due, shown] = ground.shown(&shot.marks, &Move::NONE);
    let strange = few([due, shown]) && due >= FEWEST_DUE;
    let misfit = (strange && printed).then_some(Misfit::AnotherPlace);
    let unproven = match (printed, few([due, shown])) {
        (false, _) => Some(Unproven::Frame),
        (true, true) if !strange => Some(Unproven::TooFew),
        _ => None,
    };
    if strange {
        laid.pairs.clear();
    }
    let held = held(&laid, last);
    Standing { laid, due, shown, apart_mm, misfit, unproven, printed, held }
}

/// Which indications of the earlier photo lie within one of the last photo that is another's.
fn held(it: &Comparison, last: &Taken) -> Vec<(String, String)> {
    let gone = it.pairs.iter().filter(|p| p.new.is_none()).filter_map(|p| p.old.as_ref());
    gone.filter_map(|old| {
        let places = tried(old, &it.laid.by);
        let within = |mark: &&Mark| {
            let inside = places.iter().filter(|at| contains(&mark.outline_mm, **at)).count();
            inside as f64 >= COVERED * places.len() as f64
        };
        last.marks.iter().find(within).map(|mark| (old.id.clone(), mark.id.clone()))
    })
    .collect()
}

/// How far the indications that are in both photos are moved on the mean square, mm, and the standard
/// uncertainty that their scatter leaves of it: three numbers are fitted to two of each indication.
fn apart(it: &Comparison) -> (f64, f64) {
    let olds = it.pairs.iter().filter(|p| p.new.is_some()).filter_map(|p| p.old.as_ref());
    let squares: Vec<f64> = olds
        .map(|old| {
            let to = it.laid.by.apply(old.at_mm);
            (to[0] - old.at_mm[0]).powi(2) + (to[1] - old.at_mm[1]).powi(2)
        })
        .collect();
    let mean = squares.iter().sum::<f64>() / squares.len().max(1) as f64;
    let left = it.laid.residual_mm.unwrap_or(0.0).powi(2);
    let open = 3.0 * left / (2.0 * it.laid.agreeing as f64 - 3.0).max(1.0);
    (mean.sqrt(), open.sqrt())
}

/// Red ground of the last photo.
struct Red<'a> {
    outline: &'a [[f64; 2]],
    bounds: [[f64; 2]; 2],
    counted: bool,
}

/// Where the last photo shows dye.
struct Ground<'a> {
    sight: Option<&'a Sight>,
    dye: Vec<Red<'a>>,
}

impl<'a> Ground<'a> {
    fn of(last: &'a Taken) -> Self {
        let red = |outline: &'a [[f64; 2]], counted| {
            let [mut low, mut high] = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
            for p in outline {
                low = [0, 1].map(|k| low[k].min(p[k]));
                high = [0, 1].map(|k| high[k].max(p[k]));
            }
            Red { outline, bounds: [low, high], counted }
        };
        let asides = last.sight.iter().flat_map(|sight| &sight.asides_mm);
        let counted = last.marks.iter().map(|mark| red(outline(mark), true));
        let dye = counted.chain(asides.map(|outline| red(outline, false))).collect();
        Self { sight: last.sight.as_ref(), dye }
    }

    /// How many sound indications should be seen, having their middle in view and where the last photo was read,
    /// and how many of these lie at dye.
    fn shown(&self, marks: &[Mark], by: &Move) -> [usize; 2] {
        let seen = |mark: &Mark, inside: fn(&Sight, [f64; 2]) -> bool| {
            self.sight.is_none_or(|sight| inside(sight, by.apply(mark.at_mm)))
        };
        let sound = || marks.iter().filter(|mark| mark.u_mm.is_some());
        let mut due: Vec<&Mark> = sound().filter(|mark| seen(mark, views)).collect();
        if due.is_empty() {
            // Photos of one place show something of it in common.
            due.extend(sound());
        }
        let on_coat = due.iter().filter(|mark| seen(mark, reads)).count();
        // A coat does not vanish either: one that lies elsewhere excuses nothing.
        if on_coat as f64 >= SHOWN * due.len() as f64 {
            due.retain(|mark| seen(mark, reads));
        }
        due.sort_by(|a, b| b.length_mm.total_cmp(&a.length_mm).then_with(|| a.id.cmp(&b.id)));
        due.truncate(MOST_DUE);
        [due.len(), due.iter().filter(|mark| self.has(mark, by)).count()]
    }

    fn has(&self, mark: &Mark, by: &Move) -> bool {
        let tried = tried(mark, by);
        let most_mm = FAR_LONGER * mark.length_mm.max(LEAST_LONG_MM);
        let found = tried.iter().filter(|place| self.dye_at(**place, most_mm)).count();
        found as f64 >= COVERED * tried.len() as f64
    }

    fn dye_at(&self, at: [f64; 2], most_mm: f64) -> bool {
        self.dye.iter().any(|red| {
            let [low, high] = red.bounds;
            let near =
                (0..2).all(|k| at[k] >= low[k] - SAME_PLACE_MM && at[k] <= high[k] + SAME_PLACE_MM);
            let fits = || red.counted || (high[0] - low[0]).max(high[1] - low[1]) <= most_mm;
            near && fits()
                && (contains(red.outline, at)
                    || red
                        .outline
                        .iter()
                        .any(|p| (p[0] - at[0]).hypot(p[1] - at[1]) <= SAME_PLACE_MM))
        })
    }
}

/// Whether a place lies in a photo.
fn views(sight: &Sight, at: [f64; 2]) -> bool {
    contains(&sight.border_mm, at)
}

/// Whether a photo would count dye at a place: on its coat. What lies under its scale is due too: an unmoved scale
/// hid it before.
fn reads(sight: &Sight, at: [f64; 2]) -> bool {
    sight.read_mm.iter().chain(&sight.covers_mm).any(|outline| contains(outline, at))
}

/// Places along an indication's outline, in the last photo's frame.
fn tried(mark: &Mark, by: &Move) -> Vec<[f64; 2]> {
    let places = outline(mark);
    let every = places.len().div_ceil(MOST_PLACES).max(1);
    places.iter().step_by(every).map(|place| by.apply(*place)).collect()
}

/// An indication's outline; its place where none is known.
fn outline(mark: &Mark) -> &[[f64; 2]] {
    if mark.outline_mm.is_empty() { std::slice::from_ref(&mark.at_mm) } else { &mark.outline_mm }
}
