//! Whether a photo of a series shows the place that the last one shows, and whether the scale lay still
//! between them. Dye does not vanish while the developer draws: what an early photo counts is there in a later
//! one, larger, run together or as a piece of more.

use crate::compare::{Align, Comparison, Mark, Move, Scales, Sight, Taken, compare};
use anyhow::Result;
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

/// An earlier photo laid over the last one.
#[derive(Clone, Debug)]
pub(crate) struct Standing {
    /// How it was laid over the last one.
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
    /// Indications that the last photo does not count as their own, each with the one that holds them there.
    pub held: Vec<(String, String)>,
}

/// Places that agree within this are one, mm. Chosen, as between two photos.
pub(super) const SAME_PLACE_MM: f64 = 1.0;
/// Share of an indication's outline that must lie at dye of the last photo. Chosen: one that grew covers its
/// old outline; one that broke up still half of it.
const COVERED: f64 = 0.5;
/// Share of the indications due that must be shown. Chosen: half of them may hide under glare or a hand.
const SHOWN: f64 = 0.5;
/// Least distance that is called a move, mm. Chosen: more than the indications of painted series lay apart by
/// growth, tilt and lens (0.23 mm the greatest of 60 photos).
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

/// Lays an earlier photo over the last one.
///
/// # Errors
/// Never: without enough indications it is laid over by the scale.
pub(super) fn standing(shot: &Taken, last: &Taken) -> Result<Standing> {
    let ground = Ground::of(last);
    let still = compare(shot, last, Align::Scale, Scales::Still)?;
    let [due, shown] = ground.shown(&shot.marks, &Move::NONE);
    let few = |[due, shown]: [usize; 2]| (shown as f64) < SHOWN * due as f64;
    let by_marks =
        compare(shot, last, Align::Marks, Scales::Same).ok().filter(|it| !it.laid.may_be_chance());
    let apart = by_marks.as_ref().map(apart);
    let apart_mm = apart.map(|(mm, _)| mm);
    if let (Some(laid), Some((mm, open))) = (by_marks, apart)
        && mm > MOVED_MM.max(BEYOND * open)
    {
        let [due, shown] = ground.shown(&shot.marks, &laid.laid.by);
        if !few([due, shown]) {
            let (misfit, held) = (Some(Misfit::ScaleMoved), held(&laid, last));
            return Ok(Standing { laid, due, shown, apart_mm, misfit, held });
        }
    }
    let misfit = few([due, shown]).then_some(Misfit::AnotherPlace);
    let held = held(&still, last);
    Ok(Standing { laid: still, due, shown, apart_mm, misfit, held })
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

    /// How many sound indications should be seen, having their middle in sight, and how many of these lie at
    /// dye.
    fn shown(&self, marks: &[Mark], by: &Move) -> [usize; 2] {
        let in_sight = |at: [f64; 2]| {
            // What lies where the scale lies in the last photo is due too: an unmoved scale hid it before.
            self.sight.is_none_or(|sight| contains(&sight.border_mm, at))
        };
        let sound = || marks.iter().filter(|mark| mark.u_mm.is_some());
        let mut due: Vec<&Mark> = sound().filter(|m| in_sight(by.apply(m.at_mm))).collect();
        if due.is_empty() {
            // Photos of one place show something of it in common.
            due.extend(sound());
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
