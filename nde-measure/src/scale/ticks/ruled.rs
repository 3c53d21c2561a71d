//! The plane that a rule fixes.
//!
//! A row's map gives x and, by its denominator, the plane's horizon; with the focal length the
//! direction square to the rule follows, and so the whole plane.

use crate::scale::design::Rect;
use crate::scale::found::RuleSeen;
use crate::scale::plane::{Plane, area_ratio, project};
use crate::scale::ticks::along::{Along, Optics};
use crate::scale::ticks::focal::FocalKnown;
use crate::scale::ticks::hierarchy::Graduated;
use crate::scale::ticks::numbered::Numbered;
use crate::{PointMm, PointPx};
use nalgebra::{Matrix3, Vector3};

/// What a rule covers beyond its ticks, mm: its ends, and numerals where only one edge is read.
const COVER_MORE_MM: f64 = 4.0;

/// How far from square to its edge the ticks of a row may be taken to stand, radians, standard
/// deviation: engraving and the reading of the edge together. Chosen: readings of painted rules lie
/// within twice that.
const SQUARE_U: f64 = 0.002;
/// The same where the edge itself is not seen: a row is laid out level to that (chosen).
const UNSEEN_EDGE_U: f64 = 0.02;
/// Focal lengths tried, in units of the one told, and steps between them (geometric).
const FOCAL_TRIED: [f64; 2] = [0.4, 2.5];
const FOCAL_STEPS: u32 = 160;

/// A rule as read.
#[derive(Clone, Debug)]
pub(crate) struct Ruled {
    /// Focal length that makes the ticks stand square to their row, as far as that tells it, photo pixels.
    pub(crate) focal_px: f64,
    pub(crate) plane: Plane,
    /// Standard deviation of the places along the rule, pixels.
    pub(crate) residual_px: f64,
    /// Relative standard uncertainty from the fit and the focal length, at the asked distances
    /// across from the row.
    pub(crate) fit_u: [f64; 2],
    /// Whether next to it more of that comes from the focal length, seen at a slant, than from the ticks.
    pub(crate) slanted: bool,
    /// Ends of the row read, on the part.
    pub(crate) ends_mm: [PointMm; 2],
    /// What of the part the rule covers as far as its rows tell, corners in order.
    pub(crate) covers_mm: [PointMm; 4],
    /// The row it was read by.
    pub(crate) rule: RuleSeen,
    /// Place on the longest ticks, photo.
    pub(crate) features_px: Vec<PointPx>,
    /// Length of the longest ticks, mm.
    pub(super) longest_mm: f64,
    /// How far the rule's edge runs off the direction square to its ticks, on the part.
    pub(super) skew: f64,
    /// How far the focal length lies off the told one, in standard uncertainties of that.
    pub(super) focal_pull: f64,
}

/// How the grey picture was taken.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lens {
    /// Photo pixels a grey pixel.
    pub(crate) block: f64,
    /// Focal length, photo pixels.
    pub(crate) focal_px: f64,
    /// How it is known.
    pub(crate) focal_known: FocalKnown,
    /// Size of the photo.
    pub(crate) size_px: [u32; 2],
    /// Distances from the row at which the uncertainty is told, mm.
    pub(crate) told_at_mm: [f64; 2],
}

/// The plane whose x is the map, for a lens of this focal length that bends what the map tells.
fn plane(map: &Along, row: &Numbered<'_>, lens: &Lens, graduated: Graduated) -> Option<Plane> {
    let (strip, block) = (&row.strip, lens.block);
    let [width, height] = lens.size_px.map(f64::from);
    // Photo places -> normalised places of the fit.
    let scale = 1.0 / (block * map.spread);
    let shift = map.centre.map(|c| -c / map.spread);
    let normal_from_photo = Matrix3::new(scale, 0.0, shift[0], 0.0, scale, shift[1], 0.0, 0.0, 1.0);
    let from_zero = map.numerator - map.denominator * graduated.zero as f64;
    let x_row = normal_from_photo.transpose() * from_zero * graduated.pitch.mm();
    let w_row = normal_from_photo.transpose() * map.denominator;
    // The same rows over lines of sight: K^T row.
    let f = lens.focal_px;
    let camera = Matrix3::new(f, 0.0, width / 2.0, 0.0, f, height / 2.0, 0.0, 0.0, 1.0);
    let sight_from_photo = camera.try_inverse()?;
    let (x_sight, w_sight) = (camera.transpose() * x_row, camera.transpose() * w_row);
    let length = w_sight.norm();
    let (x_sight, normal) = (x_sight / length, w_sight / length);
    // Part of x along the normal only shifts it; the rest is the rule's direction.
    let along = x_sight - normal * x_sight.dot(&normal);
    let y_sight = normal.cross(&along);
    let rows = |y: Vector3<f64>| {
        Matrix3::from_rows(&[x_sight.transpose(), y.transpose(), normal.transpose()])
            * sight_from_photo
    };
    // Seen the same way round as in the photo: a positive area ratio.
    let bend = map.lens(block);
    let here = bend.straight(strip.place(row.middle(), 0.0).map(|v| v * block));
    let y_sight = if area_ratio(&rows(y_sight), here) < 0.0 { -y_sight } else { y_sight };
    // y = 0 on the middle of the row read.
    let y_here = project(&rows(y_sight), here)[1];
    let photo_from_part = rows(y_sight - normal * y_here).try_inverse()?;
    Some(Plane::from_photo_from_part(photo_from_part)?.behind(Some(bend)))
}

/// What the rows tell of the lens.
struct Squared {
    lens: Lens,
    /// Relative standard uncertainty of its focal length.
    focal_u: f64,
    skew: f64,
    pull: f64,
}

/// The lens with what the rows tell of its focal length: ticks that run slanted to their edge in the
/// photo stand square to it on the rule only for one focal length. Seen along or across the tilt they
/// tell nothing, and the told focal length stays. None if no sound plane is among those tried.
fn squared(
    map: &Along,
    rows: &[&Numbered<'_>],
    lens: &Lens,
    graduated: Graduated,
) -> Option<Squared> {
    let row = rows.first()?;
    let along = |row: &Numbered<'_>, slope: f64, offset: f64| {
        let ends = [row.comb.ticks.first()?, row.comb.ticks.last()?];
        Some(ends.map(|(_, t)| row.strip.place(*t, offset + slope * t).map(|v| v * lens.block)))
    };
    // All edges of one rule run alike: each tells the same by its own part. What makes one run off (the
    // engraving, the lens, a row seen twice) may make all: together they count no surer than the surest.
    let mut edges: Vec<([PointPx; 2], f64)> = rows
        .iter()
        .filter_map(|row| row.edge.map(|edge| (row, edge)))
        .filter_map(|(row, e)| Some((along(row, e.slope, e.offset)?, e.slope_u.powi(-2))))
        .collect();
    if edges.is_empty() {
        edges.push((along(row, 0.0, 0.0)?, UNSEEN_EDGE_U.powi(-2)));
    }
    let weights: f64 = edges.iter().map(|edge| edge.1).sum();
    let slope_u = edges.iter().map(|edge| edge.1).fold(0.0, f64::max).powf(-0.5);
    let with = |off: f64| Lens { focal_px: lens.focal_px * off.exp(), ..*lens };
    let skew = |off: f64| {
        let plane = plane(map, row, &with(off), graduated)?;
        let slope = |ends: &[PointPx; 2]| {
            let [a, b] = ends.map(|p| plane.to_part(p));
            (b[1] - a[1]) / (b[0] - a[0])
        };
        Some(edges.iter().map(|(ends, weight)| slope(ends) * weight / weights).sum::<f64>())
    };
    let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
    let span = FOCAL_TRIED.map(f64::ln);
    for step in 0..=FOCAL_STEPS {
        let off = span[0] + (span[1] - span[0]) * f64::from(step) / f64::from(FOCAL_STEPS);
        let Some(skew) = skew(off) else { continue };
        let chi = (skew / SQUARE_U.hypot(slope_u)).powi(2);
        let weight = (-0.5 * chi).exp() * lens.focal_known.weight(off);
        sum += weight;
        first += weight * off;
        second += weight * off * off;
    }
    let mean = first / sum;
    let variance = (second / sum - mean * mean).max(0.0);
    mean.is_finite().then_some(Squared {
        lens: with(mean),
        focal_u: variance.sqrt(),
        skew: skew(mean)?.abs(),
        pull: mean.abs() / lens.focal_known.u(),
    })
}

/// How much a focal length off by so much (a share, either way) changes a length across the rule, so far from it.
fn by_focal(
    map: &Along,
    row: &Numbered<'_>,
    lens: &Lens,
    graduated: Graduated,
    focal_off: f64,
    away_mm: f64,
) -> Option<f64> {
    let told = plane(map, row, lens, graduated)?;
    let x = told.to_part(row.strip.place(row.middle(), 0.0).map(|v| v * lens.block))[0];
    let mut most = 0.0_f64;
    for factor in [(-focal_off).exp(), focal_off.exp()] {
        let other = Lens { focal_px: lens.focal_px * factor, ..*lens };
        let other = plane(map, row, &other, graduated)?;
        for side in [-1.0, 1.0] {
            let ends = [away_mm - 5.0, away_mm + 5.0].map(|y| told.to_photo([x, side * y]));
            let [a, b] = ends.map(|p| other.to_part(p));
            let change = (a[0] - b[0]).hypot(a[1] - b[1]) / 10.0 - 1.0;
            most = most.max(change.abs());
        }
    }
    Some(most)
}

/// Relative standard uncertainty, from the scatter of the ticks, of a length of 10 mm so far from the row
/// at most: beside its ends and its middle, and beyond its ends.
fn ticks_u(
    map: &Along,
    row: &Numbered<'_>,
    lens: &Lens,
    graduated: Graduated,
    away_mm: f64,
) -> Option<f64> {
    let told = plane(map, row, lens, graduated)?;
    let ticks = &row.comb.ticks;
    let at = |t: f64| told.to_part(row.strip.place(t, 0.0).map(|v| v * lens.block))[0];
    let ends = [at(ticks.first()?.1), at(ticks.last()?.1)];
    let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
    let middle = f64::midpoint(low, high);
    let beside = [low, middle, high].into_iter().flat_map(|x| [[x, away_mm], [x, -away_mm]]);
    let beyond = [[low - away_mm, 0.0], [high + away_mm, 0.0]];
    let lengths: Vec<[PointPx; 2]> = beside
        .chain(beyond)
        .flat_map(|p| [[5.0, 0.0], [0.0, 5.0]].map(|d| (p, d)))
        .map(|([x, y], [dx, dy])| [[x - dx, y - dy], [x + dx, y + dy]].map(|p| told.to_photo(p)))
        .collect();
    let u = map.u_of(|map| {
        let plane = plane(map, row, lens, graduated)?;
        let length = |ends: &[PointPx; 2]| {
            let [a, b] = ends.map(|p| plane.to_part(p));
            (a[0] - b[0]).hypot(a[1] - b[1]) / 10.0
        };
        Some(lengths.iter().map(length).collect())
    })?;
    Some(u.into_iter().fold(0.0, f64::max))
}

impl Lens {
    /// The same for the grey picture.
    pub(super) fn optics(&self) -> Optics {
        Optics {
            middle: self.size_px.map(|n| f64::from(n) / 2.0 / self.block),
            focal: self.focal_px / self.block,
        }
    }
}

/// The rule by its best row (the first) and the rows that lie on the same rule.
pub(super) fn ruled(
    map: &Along,
    on_the_rule: &[&Numbered<'_>],
    lens: &Lens,
    graduated: Graduated,
) -> Option<Ruled> {
    let row = on_the_rule.first()?;
    let Squared { lens, focal_u, skew, pull } = squared(map, on_the_rule, lens, graduated)?;
    let lens = &lens;
    let (strip, comb, block) = (&row.strip, &row.comb, lens.block);
    let plane = plane(map, row, lens, graduated)?;
    let place = |t: f64| strip.place(t, 0.0).map(|v| v * block);
    let (first, last) = (comb.ticks.first()?, comb.ticks.last()?);
    let every = Graduated::longest_every(graduated.pitch);
    let longest = comb.ticks.iter().filter(|(n, _)| (n - graduated.zero).rem_euclid(every) == 0);
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for row in on_the_rule {
        for at in row.outline() {
            let at = plane.to_part(at.map(|v| v * block));
            for k in 0..2 {
                low[k] = low[k].min(at[k]);
                high[k] = high[k].max(at[k]);
            }
        }
    }
    let covers = Rect {
        x_mm: low[0],
        y_mm: low[1],
        width_mm: high[0] - low[0],
        height_mm: high[1] - low[1],
    };
    let [tip, foot] = row.longest_tick(graduated).map(|p| plane.to_part(p.map(|v| v * block)));
    let ends_mm = [plane.to_part(place(first.1)), plane.to_part(place(last.1))];
    let parts = lens.told_at_mm.map(|away_mm| {
        let of_focal = by_focal(map, row, lens, graduated, focal_u, away_mm).unwrap_or(1.0);
        let of_ticks = ticks_u(map, row, lens, graduated, away_mm).unwrap_or(1.0);
        [of_focal, of_ticks]
    });
    Some(Ruled {
        focal_px: lens.focal_px,
        skew,
        focal_pull: pull,
        covers_mm: covers.grown(COVER_MORE_MM).corners(),
        residual_px: map.scatter / map.steepness(strip.place(0.0, 0.0)) * block,
        fit_u: parts.map(|[of_focal, of_ticks]| of_ticks.hypot(of_focal)),
        slanted: parts[0][0] > parts[0][1],
        ends_mm,
        features_px: longest.map(|(_, t)| place(*t)).collect(),
        rule: RuleSeen {
            pitch: graduated.pitch,
            ticks: row.ticks_seen(graduated, block),
            kinds: (0..every).map(|n| Graduated::kind(graduated.pitch, n)).collect(),
        },
        longest_mm: (tip[1] - foot[1]).abs(),
        plane,
    })
}
