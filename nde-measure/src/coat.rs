//! Where the developer is fit to read.
//!
//! Developer powder is bright, nearly neutral and even: its red light changes slowly from place
//! to place (dye absorbs hardly any red, so indications do not break it up), while brushed or
//! rough metal, feathered coat edges, printed cards and rules change fast, and the bench is
//! darker or coloured. So the coat is the largest even, bright area; what it encloses
//! (indications, rust, relief) belongs to it. White is told by paper in the frame, or else by the whitest
//! ground of the photo. This is a proposal: a region drawn by the user
//! stands above it.

mod paper;
mod look;
mod shade;
mod frame;
mod ground;
mod piece;
mod kin;
mod evens;
mod relief;
mod gaps;
mod burnt;
mod drawn;

use crate::photo::{Cells, Mask};
use crate::regions::{Area, areas};
pub(crate) use burnt::{burnt_out, burnt_out_in};
pub(crate) use drawn::{cells_inside, corner_outside, drawn};
use evens::Evens;
pub(crate) use gaps::BROWN;
use gaps::{MOST_MARK_MM2, fill_holes, marks_on};
use ground::Ground;
pub(crate) use ground::RED_SHARE_OF_DYE;
pub(crate) use paper::Paper;
use relief::Blocks;
pub use relief::ReliefOptions;

/// How the coat is proposed. Lengths are millimetres on the part.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct CoatOptions {
    /// Largest standard deviation of ln(red light) within 1.6 mm that still counts as even.
    /// Chosen on rendered photos: developed coats 0.01 to 0.05 (rough castings up to 0.08),
    /// feathered edges and bare brushed metal above 0.12.
    pub evenness: f64,
    /// Least brightness against known white, in a shadow against the paper beside; without any against the
    /// brightest even area. A share of linear light.
    pub least_brightness: f64,
    /// Largest colour cast: |ln R/G| or |ln B/G| against the reference white, which is the paper's, or where none is
    /// known the whitest ground's; there no place may lack more blue than that.
    pub most_cast: f64,
    /// Even areas joined by less than this width are separate areas.
    pub neck_mm: f64,
    /// A part of the coat may lie in a shadow that takes this factor of light, or as much as paper tells...
    pub shadow: f64,
    /// ...or this where the light is seen to fall in one step onto ground of the same grain that is no bench: a single
    /// lamp leaves so little beside it. Chosen...
    pub deep_shadow: f64,
    /// ...and changes its cast by this...
    pub shadow_cast: f64,
    /// ...with an edge this wide, mm; up to `twin_mm` where the light is seen to fall in one step.
    pub shadow_edge_mm: f64,
    /// What is lighter than the coat by so much (ln), has no other cast than `twin_cast` and the grain of
    /// the coat is the same coat up to `twin_mm` beyond a bead, a thread or a card. Chosen: slopes of light
    /// and light shadows; a pen or a bench beside the part reads -0.5 and less.
    pub twin_light: std::ops::Range<f64>,
    /// See `twin_light`. Chosen: light and its colour slope by so much over a part.
    pub twin_cast: f64,
    /// See `twin_light`, mm. Chosen: a cap weld is about that wide.
    pub twin_mm: f64,
    /// Ground up to this wide whose light keeps between that of two areas about as light parts no coat, mm.
    /// Chosen: threaded lengths and rippled welds are narrower; the rim of a part shows in the light.
    pub through_mm: f64,
    /// Grain of another area against the coat's, at most; in a shadow noise is a larger share of the
    /// light. Chosen on painted scenes: coat reads 0.6 to 1.2 (in shadow to 1.7), bare metal 1.6 to 5.
    pub most_grain: f64,
    /// Gaps in the coat up to this width are bridged (lines of indications, bead edges).
    pub bridge_mm: f64,
    /// Holes up to this area belong to the coat; larger ones are not inspected.
    pub hole_mm2: f64,
    /// Least area of a coat.
    pub least_area_mm2: f64,
    /// How coat on relief is told.
    pub relief: ReliefOptions,
}

impl Default for CoatOptions {
    fn default() -> Self {
        Self {
            evenness: 0.10,
            least_brightness: 0.35,
            most_cast: 0.35,
            shadow: 3.5,
            deep_shadow: 6.0,
            shadow_cast: 0.25,
            shadow_edge_mm: 6.0,
            twin_light: -0.5..0.8,
            twin_cast: 0.12,
            twin_mm: 20.0,
            through_mm: 40.0,
            most_grain: 1.3,
            neck_mm: 2.5,
            bridge_mm: 5.0,
            hole_mm2: 600.0,
            least_area_mm2: 50.0,
            relief: ReliefOptions::default(),
        }
    }
}

/// How often ground on relief is looked for beside what was found before. Chosen: more would creep.
const RELIEF_ROUNDS: usize = 3;

/// What is proposed, on the cells.
#[derive(Clone, Debug)]
pub(crate) struct Proposed {
    /// Where is read.
    pub(crate) coat: Mask,
    /// Ground beside it that may be coat and is not sure enough.
    pub(crate) doubtful: Mask,
    /// Whether only a closer look told it from what lies around: its rim is as even as itself.
    pub(crate) soft_rim: bool,
}

/// Doubtful ground in smaller patches than this is not told, mm2. Chosen: a centimetre a side.
const LEAST_DOUBTFUL_MM2: f64 = 100.0;

/// Proposes the coat on the cells, or `None` where nothing looks like one.
///
/// `covered` is not coat (card, rule); `paper` is known white in the frame,
/// `cell_mm` the side of a cell on the part.
pub(crate) fn propose(
    cells: &Cells,
    covered: &Mask,
    paper: Option<&Paper>,
    cell_mm: f64,
    options: &CoatOptions,
) -> Option<Proposed> {
    let ground = Ground::of(cells, covered, paper, cell_mm, options);
    let (evens, white) = Evens::at_first_look(&ground)?;
    let (first, _) = evens.with_its_like(&ground, None);
    // Powder on ground steel is much evenner than on a rough casting: a second look asks for the
    // evenness this coat has itself, so that bare metal beside it drops out. Its evener quarter tells:
    // metal that came along is never the evenest.
    let mut own: Vec<f32> = first
        .data
        .iter()
        .zip(&ground.unevenness.data)
        .filter(|(c, _)| **c)
        .map(|(_, u)| *u)
        .collect();
    let quarter = own.len() / 4;
    let own = f64::from(*own.select_nth_unstable_by(quarter, f32::total_cmp).1);
    let evenness = (3.5 * own).clamp(0.28 * options.evenness, options.evenness).min(evens.evenness);
    let (mut coat, mut doubtful) =
        Evens::of(&ground, evenness, white)?.with_its_like(&ground, Some(&first));
    // The evenness window has shaved off half its width everywhere; holes and bays close first.
    let bridge = bridge(cell_mm, options);
    coat = coat.bridged(bridge);
    // Beyond a bead or a thread the coat may go on: what was found is the coat beside the next.
    let blocks =
        Blocks::of(cells, &ground.without_dye, &ground.grain, covered, cell_mm, &options.relief);
    for _ in 0..RELIEF_ROUNDS {
        let before = coat.count();
        for beside in by_light(&coat, &ground) {
            let found = blocks.on_relief(covered, &beside, &options.relief);
            doubtful.add(&found.doubtful);
            coat.add(&found.coat);
        }
        if coat.count() == before {
            break;
        }
    }
    coat = coat.bridged(bridge);
    let marks = marks_on(&coat, cells, covered, cell_mm);
    if marks.count() > 0 {
        coat.add(&marks);
        coat = coat.bridged(bridge);
    }
    fill_holes(&mut coat, (options.hole_mm2 / (cell_mm * cell_mm)) as usize);
    coat.take_out(covered);
    let doubtful = told_of(doubtful, &coat, covered, cell_mm);
    Some(Proposed { coat, doubtful, soft_rim: evens.evenness < options.evenness })
}

/// Half of the widest gap that is bridged, cells.
fn bridge(cell_mm: f64, options: &CoatOptions) -> f64 {
    0.5 * options.bridge_mm / cell_mm
}

/// Burnt-out ground with what it encloses: marks are not burnt out, for dye takes light.
pub(crate) fn with_marks(burnt_out: Mask, cell_mm: f64, options: &CoatOptions) -> Mask {
    if burnt_out.count() == 0 {
        return burnt_out;
    }
    let mut ground = burnt_out.bridged(bridge(cell_mm, options));
    fill_holes(&mut ground, (MOST_MARK_MM2 / (cell_mm * cell_mm)) as usize);
    ground
}

/// Where marks are looked for: the coat, and burnt-out ground beside it with the slope of light between.
pub(crate) fn searched(
    coat: &Mask,
    burnt_out: &Mask,
    covered: &Mask,
    cell_mm: f64,
    options: &CoatOptions,
) -> Mask {
    let mut searched = coat.clone();
    if burnt_out.count() == 0 {
        return searched;
    }
    let mut beside = coat.clone();
    beside.add(burnt_out);
    let mut beside = beside.bridged(bridge(cell_mm, options));
    beside.take_out(coat);
    beside.take_out(covered);
    // What only closes a bay of the coat is none of it.
    let is_burnt = |area: &Area| area.places().any(|(x, y)| burnt_out.at(x, y));
    areas(&beside).iter().filter(|area| is_burnt(area)).for_each(|area| area.draw(&mut searched));
    searched
}

/// The coat, and where a shadow lies over part of it first its lit and its dim part each for itself: relief is held
/// against the light beside it, not against the mean of two.
fn by_light(coat: &Mask, ground: &Ground<'_>) -> Vec<Mask> {
    let light = &ground.without_dye;
    let mut all: Vec<f32> =
        coat.data.iter().zip(&light.data).filter(|(c, _)| **c).map(|(_, v)| *v).collect();
    let Some(at) = (all.len() - all.len() / 10).checked_sub(1) else { return Vec::new() };
    let shaded = *all.select_nth_unstable_by(at, f32::total_cmp).1 - SHADED_LN;
    let mut dim = coat.clone();
    dim.data.iter_mut().zip(&light.data).for_each(|(yes, v)| *yes &= *v < shaded);
    let least = (SHADED_SHARE * all.len() as f64) as usize;
    if dim.count() > least {
        let narrow = 0.5 * SHADED_MM / ground.cell_mm;
        dim = dim.shrunk(narrow).grown(narrow);
    }
    if dim.count() <= least {
        return vec![coat.clone()];
    }
    let mut lit = coat.clone();
    lit.take_out(&dim);
    vec![lit, dim, coat.clone()]
}

/// Darker than the lit part of the coat, whose light its brightest tenth tells, by so much, ln, lies in a shadow, ...
/// Chosen: light slopes by less over most coats.
const SHADED_LN: f32 = 0.5;
/// ... and so much of the coat is worth a look of its own. Chosen: less hardly moves the mean light beside relief.
const SHADED_SHARE: f64 = 0.03;
/// Narrower dim ground is a trough of relief, or the rim. Chosen: a turn of a coarse thread, twice.
const SHADED_MM: f64 = 4.0;

/// Doubtful ground that is worth telling: outside the coat and whatever covers it, in patches large enough.
fn told_of(mut doubtful: Mask, coat: &Mask, covered: &Mask, cell_mm: f64) -> Mask {
    doubtful.take_out(coat);
    doubtful.take_out(covered);
    let least = LEAST_DOUBTFUL_MM2 / (cell_mm * cell_mm);
    let mut told = Mask::empty(doubtful.width, doubtful.height);
    areas(&doubtful).iter().filter(|a| a.size() as f64 >= least).for_each(|a| a.draw(&mut told));
    told
}
