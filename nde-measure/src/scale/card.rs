//! The printed card in the photo: found on a reduced picture, measured at full resolution.
//!
//! Dark quads on a picture of about 1400 px are read as coded markers; markers that lie together as
//! one board give a first plane; every inner chessboard corner near its predicted place is then
//! refined in the full photo, and the plane is fitted to all of them. Where too few markers are
//! read, finer pictures and other window sizes follow.
//!
//! # Why not a library
//! Measured on one core, 40 painted 3 MP photos (tilt to 50 degrees, blur to 2 px, glare, a covered
//! marker, clutter), cards found and mean time; dependencies in the tree:
//!
//! | reader | whole photo | half size | crates |
//! |---|---|---|---|
//! | this one, corners at full resolution included | | 40 of 40, 12 ms | 0 |
//! | locus-core 0.10.0, `standard` (marker corners only) | 40 of 40, 98 ms | 40 of 40, 27 ms | 56 |
//! | locus-core 0.10.0, `high_accuracy` | 40 of 40, 57 ms | 33 of 40, 14 ms | 56 |
//! | calib-targets 0.16.1 (one design a run, ids from 0 only) | 24 of 24, 126 ms | 22 of 24, 42 ms | 126 |
//!
//! This one over 150 photos of 3 MP, 50 of 12 MP and 16 of 48 MP of that kind: all found, none
//! grossly wrong; error of a 10 mm length on the card 0.02 % median, 0.2 % 95th percentile, 0.5 %
//! worst (small card under glare); 14, 25 and 94 ms.

use crate::scale::consensus::{FEWEST_MARKERS, Layout, layouts};
use crate::scale::design::{CardDesign, Rect};
use crate::scale::error::ScaleError;
use crate::scale::grey::{Grey, green_at};
use crate::scale::markers::{Sighting, read};
use crate::scale::observed::with_lens;
use crate::scale::plane::{Fit, Pair, Plane, fit};
use crate::scale::sizes::markers_as_told;
use crate::scale::{quads, saddle};
use crate::{Photo, PointMm, PointPx};
use std::rc::Rc;

/// Long side of the picture searched first, and of the finer ones searched when that fails. Chosen:
/// at 1400 px a 92 mm card that spans a quarter of the frame has marker cells of 5 px.
const SEARCHED_PX: [u32; 3] = [1400, 2800, 4400];
/// Window for "dark": one part in so many of the picture's long side, to each side of a pixel.
const WINDOW_PARTS: [usize; 2] = [40, 14];
/// Share of a card's markers with which the search stops at once.
const ENOUGH: f64 = 0.4;
/// Half of the chessboard square around an inner corner that is clear of marker ink, as a share of
/// the square: markers start 0.125 of a square off each line, 0.177 off the corner itself.
const CLEAR_SHARE: f64 = 0.14;
/// Least step between the dark and the light squares at a corner, grey levels.
const LEAST_STEP: f64 = 12.0;
/// Most scatter of the corners around their plane, as a share of a square. Chosen: a sheet bowed by
/// 1 mm over the standard card's length shows about this much at 30 degrees tilt.
const MOST_SCATTER: f64 = 0.03;

/// Corner places are never believed better than this, pixels. Chosen: errors common to all corners
/// (lens, colour filter, JPEG) do not show in their scatter.
pub(crate) const LEAST_CORNER_U_PX: f64 = 0.05;
/// Green level from which on light is taken as burnt out. Chosen: the top two of a hundred levels.
pub(crate) const BURNT_OUT: f64 = 250.0;
/// A corner is left out when it disagrees with its mirror picture so many times more than most.
/// Chosen on painted cards with glare and covered parts.
const DISAGREEING: f64 = 2.5;
/// Disagreement that is always accepted (noise and rounding alone).
const LEAST_DISAGREEMENT: f64 = 0.08;

/// A card as found.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) design: CardDesign,
    /// Markers that read as they should at their places.
    pub(crate) markers_seen: usize,
    /// The plane through the kept corners; part places are as printed (bar readings applied).
    pub(crate) fit: Fit,
    /// Kept corners in the photo.
    pub(crate) corners_px: Vec<PointPx>,
    /// Printed size over designed size, across and down.
    pub(crate) stretch: [f64; 2],
}

impl Found {
    /// A designed place as printed.
    pub(crate) fn printed(&self, designed: PointMm) -> PointMm {
        [designed[0] * self.stretch[0], designed[1] * self.stretch[1]]
    }

    /// Where a designed place is in the photo.
    pub(crate) fn to_photo(&self, designed: PointMm) -> PointPx {
        self.fit.plane.to_photo(self.printed(designed))
    }
}

/// A card with the bar readings that are its own.
type Read = (Found, Option<[f64; 2]>);

/// Finds the cards of these designs, the one that shows most first.
///
/// Bar readings belong to the cards whose bars may read so; of several cards one with bar readings
/// comes before the others. A further card that cannot be measured is left out.
pub(crate) fn find(
    photo: &Photo,
    designs: &[CardDesign],
    bars_mm: Option<[f64; 2]>,
) -> Result<Vec<Read>, ScaleError> {
    let mut found = Vec::new();
    let mut refused = None;
    for candidate in search(photo, designs)? {
        let own_bars = bars_mm.filter(|bars| stretch(&candidate.design, *bars).is_ok());
        match measured(photo, &candidate, own_bars) {
            Ok(card) => found.push((card, own_bars)),
            Err(why) => {
                refused.get_or_insert(why);
            }
        }
    }
    if let (Some(bars), Some((first, _))) = (bars_mm, found.first())
        && found.iter().all(|(_, own)| own.is_none())
    {
        stretch(&first.design, bars)?;
    }
    found.sort_by_key(|(_, own)| bars_mm.is_some() && own.is_none());
    match refused {
        Some(why) if found.is_empty() => Err(why),
        _ => Ok(found),
    }
}

/// A card measured at full resolution.
fn measured(
    photo: &Photo,
    candidate: &Candidate,
    bars_mm: Option<[f64; 2]>,
) -> Result<Found, ScaleError> {
    let Candidate { design, layout, grey } = candidate;
    let stretch = match bars_mm {
        None => [1.0, 1.0],
        Some(bars) => stretch(design, bars)?,
    };
    let markers_seen = markers_at_their_places(grey, design, &layout.plane);
    let mut plane = layout.plane.clone();
    let mut result = None;
    // The second round starts from a plane that is right to a part of a pixel, and finds corners
    // that the first missed.
    for _ in 0..2 {
        let pairs = corners(photo, design, &plane);
        let enough = pairs.len() >= fewest_corners(design);
        let fitted = if enough { fit(&pairs, 0.15) } else { None };
        let Some(fitted) = fitted else { break };
        plane = fitted.plane.clone();
        result = Some((pairs, fitted));
    }
    let markers_seen = markers_seen.max(layout.seen.len());
    let few = |kept: usize| ScaleError::NoCard {
        detail: format!(
            "the {} card is there, {markers_seen} of {} markers seen{}, but only {kept} of its {} corners are sharp and uncovered",
            design.name(),
            design.marker_count(),
            why_unread(photo, grey, design, &layout.plane),
            design.inner_corners().len()
        ),
    };
    let Some((pairs, first_fit)) = result else { return Err(few(0)) };
    let kept: Vec<Pair> = first_fit
        .kept
        .iter()
        .map(|i| Pair {
            part: [pairs[*i].part[0] * stretch[0], pairs[*i].part[1] * stretch[1]],
            ..pairs[*i]
        })
        .collect();
    if kept.len() < fewest_corners(design) {
        return Err(few(kept.len()));
    }
    let flat = fit(&kept, f64::INFINITY).ok_or_else(|| few(kept.len()))?;
    let fit = with_lens(&kept, &flat, photo.size_px(), LEAST_CORNER_U_PX).unwrap_or(flat);
    let centre = [design.board().width_mm / 2.0, design.board().height_mm / 2.0];
    let allowed_px =
        (MOST_SCATTER * clear_px(design, &first_fit.plane, centre) / CLEAR_SHARE).max(0.6);
    if fit.rms_px > allowed_px {
        return Err(ScaleError::NotFlat { rms_px: fit.rms_px, allowed_px });
    }
    markers_as_told(design, layout, &fit.plane, grey.block)?;
    let corners_px = kept.iter().map(|p| p.photo).collect();
    Ok(Found { design: design.clone(), markers_seen, fit, corners_px, stretch })
}

/// A third of the inner corners; a plane needs four.
fn fewest_corners(design: &CardDesign) -> usize {
    design.inner_corners().len().div_ceil(3).max(4)
}

fn stretch(design: &CardDesign, [across_mm, down_mm]: [f64; 2]) -> Result<[f64; 2], ScaleError> {
    let designed_mm = design.bar_mm();
    let ratios = [across_mm / designed_mm, down_mm / designed_mm];
    // Printers have been seen from 94 % (fitted to the page) to 103 % (common practice, no source); what is
    // twice as far off is a mistake. Chosen.
    if ratios.iter().all(|r| (0.9..=1.06).contains(r)) {
        Ok(ratios)
    } else {
        let name = design.name();
        Err(ScaleError::BarsUnlikely { name, across_mm, down_mm, designed_mm })
    }
}

/// A card's place by its markers alone, and the picture it was read on.
struct Candidate {
    design: CardDesign,
    layout: Layout,
    grey: Rc<Grey>,
}

impl Candidate {
    fn share_seen(&self) -> f64 {
        self.layout.seen.len() as f64 / self.design.marker_count() as f64
    }

    /// How much of the card shows: its area in the photo times the markers read.
    fn shows(&self) -> f64 {
        ink_px(&self.design, &self.layout.plane) * self.layout.seen.len() as f64
    }

    fn middle_px(&self) -> PointPx {
        let board = self.design.board();
        self.layout.plane.to_photo([board.width_mm / 2.0, board.height_mm / 2.0])
    }

    /// Whether both are sightings of one card: its middle lies on the other's board.
    fn same_card(&self, other: &Self) -> bool {
        let on = |a: &Self, b: &Self| a.design.board().holds(a.layout.plane.to_part(b.middle_px()));
        self.design.name() == other.design.name() && (on(self, other) || on(other, self))
    }
}

/// The cards in the photo, the one that shows most first.
///
/// Ever finer pictures are searched until one card is read well, and then one picture more, in which
/// a smaller card beside it may be read.
fn search(photo: &Photo, designs: &[CardDesign]) -> Result<Vec<Candidate>, ScaleError> {
    let size = [photo.rgb().width(), photo.rgb().height()];
    let long_side = size[0].max(size[1]);
    let mut held: Vec<Candidate> = Vec::new();
    let mut most_read = (0, None);
    let mut blocks: Vec<usize> = Vec::new();
    for searched in SEARCHED_PX {
        let block = long_side.div_ceil(searched).max(1) as usize;
        if !blocks.contains(&block) {
            blocks.push(block);
        }
    }
    let enough = |held: &[Candidate]| held.iter().any(|c| c.share_seen() >= ENOUGH);
    for block in blocks {
        let last = enough(&held);
        let grey = Rc::new(Grey::reduced(photo, block));
        for parts in WINDOW_PARTS {
            let window = grey.width.max(grey.height) / parts;
            let sightings: Vec<Sighting> =
                quads::find(&grey, window).iter().filter_map(|quad| read(&grey, quad)).collect();
            for design in designs {
                let found = layouts(design, &sightings);
                if found.is_empty() {
                    let [low, high] = design.ids();
                    let read = sightings.iter().filter(|s| (low..=high).contains(&s.id)).count();
                    if read > most_read.0 {
                        most_read = (read, Some(design.name()));
                    }
                }
                for layout in found {
                    let grey = Rc::clone(&grey);
                    let seen = Candidate { design: design.clone(), layout, grey };
                    match held.iter_mut().find(|c| c.same_card(&seen)) {
                        Some(known) if known.layout.seen.len() >= seen.layout.seen.len() => {}
                        Some(known) => *known = seen,
                        None => held.push(seen),
                    }
                }
            }
            if last || enough(&held) {
                break;
            }
        }
        if last {
            break;
        }
    }
    held.sort_by(|a, b| b.shows().total_cmp(&a.shows()));
    // Stray markers of clutter make no second card.
    let well_read = enough(&held);
    held.retain(|c| !well_read || c.share_seen() >= ENOUGH);
    if held.is_empty() { Err(none_found(size, most_read)) } else { Ok(held) }
}

fn none_found(
    [width, height]: [u32; 2],
    (read, name): (usize, Option<crate::scale::CardName>),
) -> ScaleError {
    let detail = match name {
        _ if width.max(height) < 400 => {
            format!("the photo of {width} x {height} pixels is too small to read one")
        }
        Some(name) if read >= 2 => format!(
            "{read} patches read like markers of the {name} card, {FEWEST_MARKERS} that lie together are needed"
        ),
        _ => "no marker could be read".to_owned(),
    };
    ScaleError::NoCard { detail }
}

/// Area of the board in the photo.
fn ink_px(design: &CardDesign, plane: &Plane) -> f64 {
    let c = design.board().corners().map(|p| plane.to_photo(p));
    let cross = |a: PointPx, b: PointPx| a[0] * b[1] - a[1] * b[0];
    (0..4).map(|i| cross(c[i], c[(i + 1) % 4])).sum::<f64>().abs() / 2.0
}

/// What hides the markers that do not read, such as ` (2 run out of the photo, 1 is under glare)`.
fn why_unread(photo: &Photo, grey: &Grey, design: &CardDesign, plane: &Plane) -> String {
    let (mut outside, mut glare, mut other) = (0, 0, 0);
    for marker in design.markers() {
        if reads(grey, marker.id, &marker.outside, plane) {
            continue;
        }
        let r = marker.outside;
        let places = (0..6).flat_map(|i| (0..6).map(move |j| (f64::from(i), f64::from(j))));
        let levels: Vec<Option<f64>> = places
            .map(|(i, j)| [r.x_mm + r.width_mm * i / 5.0, r.y_mm + r.height_mm * j / 5.0])
            .map(|at| green_at(photo, plane.to_photo(at)))
            .collect();
        // A marker is mostly black: a third of it burnt out is glare.
        let burnt = levels.iter().flatten().filter(|level| **level >= BURNT_OUT).count();
        if levels.iter().any(Option::is_none) {
            outside += 1;
        } else if 3 * burnt >= levels.len() {
            glare += 1;
        } else {
            other += 1;
        }
    }
    let told: Vec<String> = [
        (outside, "out of the photo"),
        (glare, "under glare"),
        (other, "covered, blurred or too small"),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(count, what)| format!("{count} {what}"))
    .collect();
    if told.is_empty() { String::new() } else { format!(" ({})", told.join(", ")) }
}

/// How many markers read as they should where the plane puts them.
fn markers_at_their_places(grey: &Grey, design: &CardDesign, plane: &Plane) -> usize {
    design.markers().iter().filter(|m| reads(grey, m.id, &m.outside, plane)).count()
}

/// Whether a marker reads as it should where the plane puts it.
fn reads(grey: &Grey, id: usize, outside: &Rect, plane: &Plane) -> bool {
    let block = grey.block as f64;
    let quad = outside.corners().map(|c| plane.to_photo(c).map(|v| v / block));
    // Read without any turn: the first corner seen is the first corner printed.
    read(grey, &quad).is_some_and(|seen| {
        let off = seen.corners_px[0][0] - quad[0][0] * block;
        seen.id == id && off.abs() < 1e-6
    })
}

/// Radius around a place that is free of marker ink, in the photo.
fn clear_px(design: &CardDesign, plane: &Plane, at_mm: PointMm) -> f64 {
    let step = design.square_mm() / 4.0;
    let o = plane.to_photo(at_mm);
    let [a, b] = [[step, 0.0], [0.0, step]].map(|d| {
        let p = plane.to_photo([at_mm[0] + d[0], at_mm[1] + d[1]]);
        [(p[0] - o[0]) / step, (p[1] - o[1]) / step]
    });
    // The smaller singular value of the local map: how short the tilt makes a millimetre.
    let sum = a[0].powi(2) + a[1].powi(2) + b[0].powi(2) + b[1].powi(2);
    let det = a[0] * b[1] - a[1] * b[0];
    let least = ((sum - (sum * sum - 4.0 * det * det).max(0.0).sqrt()) / 2.0).max(0.0).sqrt();
    CLEAR_SHARE * design.square_mm() * least
}

/// Inner corners that are seen near their predicted places, refined; those that agree with their
/// own mirror picture much worse than most (partly covered, glare) are left out.
fn corners(photo: &Photo, design: &CardDesign, plane: &Plane) -> Vec<Pair> {
    let mut seen = Vec::new();
    for corner in design.inner_corners() {
        let clear = clear_px(design, plane, corner.at_mm);
        let refined = saddle::refine(photo, plane.to_photo(corner.at_mm), clear);
        if let Some(meeting) =
            refined.filter(|m| squares_meet(photo, design, plane, corner.at_mm, m.at))
        {
            seen.push((meeting.disagreement, Pair { part: corner.at_mm, photo: meeting.at }));
        }
    }
    let mut all: Vec<f64> = seen.iter().map(|s| s.0).collect();
    all.sort_by(f64::total_cmp);
    let usual = all.get(all.len() / 2).copied().unwrap_or(0.0);
    let limit = (DISAGREEING * usual).max(LEAST_DISAGREEMENT);
    seen.into_iter().filter(|(off, _)| *off <= limit).map(|(_, pair)| pair).collect()
}

/// Whether the four squares around a corner are dark and light as printed.
fn squares_meet(
    photo: &Photo,
    design: &CardDesign,
    plane: &Plane,
    corner_mm: PointMm,
    at_px: PointPx,
) -> bool {
    let predicted = plane.to_photo(corner_mm);
    let shift = [at_px[0] - predicted[0], at_px[1] - predicted[1]];
    let off = 0.08 * design.square_mm();
    let level = |x: f64, y: f64| {
        let p = plane.to_photo([corner_mm[0] + x * off, corner_mm[1] + y * off]);
        green_at(photo, [p[0] + shift[0], p[1] + shift[1]])
    };
    let squares = [level(-1.0, -1.0), level(1.0, 1.0), level(1.0, -1.0), level(-1.0, 1.0)];
    let [Some(a), Some(b), Some(c), Some(d)] = squares else { return false };
    let steps = corner_mm.map(|v| (v / design.square_mm()).round());
    // Up left of the corner lies the square (column - 1, row - 1); it is black where their sum is even.
    let up_left_black = (steps[0] + steps[1]).rem_euclid(2.0) < 0.5;
    let (dark, light) = if up_left_black { ([a, b], [c, d]) } else { ([c, d], [a, b]) };
    light[0].min(light[1]) - dark[0].max(dark[1]) >= LEAST_STEP
}
