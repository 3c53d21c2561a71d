//! A rule in the photo, found by itself and read.
//!
//! Rows of ticks are found ([`rows`]), numbered ([`comb`]) and confirmed by the pattern of longer
//! ticks ([`hierarchy`]); a stated graduation that the pattern does not confirm is refused. Places
//! on many ticks at several depths then give the projective map from the photo to millimetres along
//! the rule. That map fixes the plane as well, up to the focal length: its denominator is the
//! plane's horizon, and the direction across follows as the one square to the rule.

//!
//! # Measured
//! 120 painted rules (millimetre, half-millimetre and inch rows in all mixtures, any turn, tilt to 30
//! degrees, 6 to 18 px/mm, blur 0.5 to 1.3 px, glare on a third), each asked for 1 mm and for 0.5 mm: no
//! wrong graduation accepted; error of a 10 mm length on the rule 0.002 % median, 0.09 % 95th
//! percentile, 0.5 % worst; 80 mm across 0.015 %, 0.55 %, 1.5 %. What is lost is half-millimetre rows
//! below about 8 px/mm, which are refused. A 6.75 MP photo takes 0.1 to 0.3 s.
//!
//! # Does not
//! Read numerals (the origin is some longest tick) or inch graduations.

mod comb;
mod hierarchy;
mod rows;

use crate::scale::design::Rect;
use crate::scale::error::ScaleError;
use crate::scale::grey::Grey;
use crate::scale::plane::{Plane, area_ratio, project};
use crate::scale::spec::TickPitch;
use crate::{Photo, PointMm, PointPx};
use comb::{Comb, Law, Strip, whole};
use hierarchy::{TickLength, confirm};
use nalgebra::{Matrix3, SMatrix, SVector, Vector3};
use rows::Row;

/// Long side of the picture searched. Chosen: at 8 px/mm half-millimetre ticks are 4 px apart, so
/// nothing may be lost; larger photos than this have pixels to spare.
const SEARCHED_PX: u32 = 4400;
/// Rows of ticks looked at.
const MOST_ROWS: usize = 8;
/// Most scatter of tick places along the rule, mm, standard deviation. Source: simulated rules read
/// to 0.01 mm; three times that is a misreading.
const MOST_SCATTER_MM: f64 = 0.03;
/// Most that a row may run off square to its ticks. On painted rules right readings stay below
/// 0.004; the wrong ones (a line that wanders from one row into another) lay above 0.02.
const MOST_SKEW: f64 = 0.01;
/// Most that two confirmed rows may differ half-way between them. Chosen: each is carried on by some
/// 10 mm across; a wrong graduation would be off by a quarter at least.
const MOST_ROW_DIFFERENCE: f64 = 0.03;

/// What a rule covers beyond its ticks, mm: its ends, and numerals where only one edge is read.
const COVER_MORE_MM: f64 = 4.0;
/// Depths at which each tick is read.
const LEVELS: u32 = 6;

/// A rule as read.
#[derive(Clone, Debug)]
pub(crate) struct Ruled {
    pub(crate) plane: Plane,
    /// Standard deviation of the places along the rule, pixels.
    pub(crate) residual_px: f64,
    /// Relative standard uncertainty from the fit, 20 mm across from the row.
    pub(crate) fit_u: f64,
    /// Ends of the row read, on the part.
    pub(crate) ends_mm: [PointMm; 2],
    /// What of the part the rule covers as far as its rows tell, corners in order.
    pub(crate) covers_mm: [PointMm; 4],
    /// Place on some ticks, photo.
    pub(crate) features_px: Vec<PointPx>,
}

impl Ruled {
    /// How far the row runs off the direction square to its ticks, on the part.
    fn skew(&self) -> f64 {
        let [a, b] = self.ends_mm;
        ((b[1] - a[1]) / (b[0] - a[0])).abs()
    }
}

/// Finds and reads the rule.
pub(crate) fn find(photo: &Photo, stated: TickPitch, focal_px: f64) -> Result<Ruled, ScaleError> {
    let long_side = photo.rgb().width().max(photo.rgb().height());
    let grey = Grey::reduced(photo, long_side.div_ceil(SEARCHED_PX).max(1) as usize);
    let mut why: Option<(usize, String)> = None;
    let mut numbered: Vec<Numbered<'_>> = Vec::new();
    for row in rows::find(&grey, MOST_ROWS) {
        match Numbered::read(&grey, &row) {
            Ok(row) => numbered.push(row),
            Err(seen) => note(&mut why, seen, format!("a row of only {seen} ticks is seen")),
        }
    }
    let size_px = [photo.rgb().width(), photo.rgb().height()];
    let lens = Lens { block: grey.block as f64, focal_px, size_px };
    let mut confirmed: Vec<(usize, i64)> = Vec::new();
    for (i, row) in numbered.iter().enumerate() {
        let square = |zero: &i64| {
            let alone = ruled(&row.map, &[row], &lens, stated.mm(), *zero);
            alone.is_some_and(|r| r.skew() <= MOST_SKEW)
        };
        let slanted = || "they do not stand square to their row".to_owned();
        match row.confirm(stated).and_then(|zero| Some(zero).filter(square).ok_or_else(slanted)) {
            Ok(zero) => confirmed.push((i, zero)),
            Err(reason) => {
                let seen = row.comb.ticks.len();
                note(&mut why, seen, format!("{seen} ticks in a row are seen, but {reason}"));
            }
        }
    }
    // The origin is the first longest tick of the row.
    for (i, zero) in &mut confirmed {
        let first = numbered[*i].comb.ticks[0].0;
        *zero = first + (*zero - first).rem_euclid(longest_every(stated));
    }
    confirmed.sort_by_key(|(i, _)| std::cmp::Reverse(numbered[*i].comb.ticks.len()));
    let Some((best, zero)) = confirmed.first().copied() else {
        let detail = why.map_or_else(|| "no row of ticks is seen".to_owned(), |(_, text)| text);
        return Err(ScaleError::NoRule { detail });
    };
    for (other, _) in &confirmed[1..] {
        agree(&numbered[best], &numbered[*other], stated.mm())?;
    }
    let (map, on_the_rule) = with_the_other_edge(&numbered, best);
    let rows: Vec<&Numbered<'_>> = on_the_rule.iter().map(|i| &numbered[*i]).collect();
    ruled(&map, &rows, &lens, stated.mm(), zero)
        .ok_or_else(|| ScaleError::NoRule { detail: "its ticks give no plane".to_owned() })
}

/// Ticks from one longest tick to the next.
const fn longest_every(stated: TickPitch) -> i64 {
    match stated {
        TickPitch::HalfMillimetre => 20,
        _ => 10,
    }
}

/// Two rows that are both confirmed must agree where they are nearest.
fn agree(a: &Numbered<'_>, b: &Numbered<'_>, pitch_mm: f64) -> Result<(), ScaleError> {
    let middle =
        |row: &Numbered<'_>| row.strip.place(row.comb.ticks[row.comb.ticks.len() / 2].1, 0.0);
    let (here, there) = (middle(a), middle(b));
    let between = [(here[0] + there[0]) / 2.0, (here[1] + there[1]) / 2.0];
    let [first, second] = [a, b].map(|row| row.map.steepness(between) * pitch_mm);
    if (first / second - 1.0).abs() > MOST_ROW_DIFFERENCE {
        return Err(ScaleError::NoRule {
            detail: format!(
                "two rows of ticks disagree, {first:.5} and {second:.5} mm a pixel between them"
            ),
        });
    }
    Ok(())
}

/// The best row's map, with the ticks of the rule's other edge added where they fit in: across the
/// rule they tell the perspective much better than the short ticks of one row. Also which rows lie
/// on the rule, the best one first.
fn with_the_other_edge(numbered: &[Numbered<'_>], best: usize) -> (Along, Vec<usize>) {
    let row = &numbered[best];
    let mut map = row.map.clone();
    let mut on_the_rule = vec![best];
    for (i, other) in numbered.iter().enumerate() {
        if i == best {
            continue;
        }
        let ticks: Vec<(f64, f64)> = other
            .comb
            .ticks
            .iter()
            .map(|(n, t)| (*n as f64, map.number(other.strip.place(*t, 0.0))))
            .collect();
        let (first, last) = (ticks[0], ticks[ticks.len() - 1]);
        let step = (last.1 - first.1) / (last.0 - first.0);
        // The other edge has the same ticks, twice as many or half as many, in either direction.
        let Some(true_step) =
            [0.5, 1.0, 2.0].into_iter().find(|r| (step.abs() / r - 1.0).abs() < 0.05)
        else {
            continue;
        };
        let true_step = true_step * step.signum();
        let mut starts: Vec<f64> = ticks.iter().map(|(n, x)| x - n * true_step).collect();
        starts.sort_by(f64::total_cmp);
        let start = starts[starts.len() / 2];
        let unit = true_step.abs().min(1.0);
        let true_start = (start / unit).round() * unit;
        if (start - true_start).abs() > 0.2 * unit {
            continue;
        }
        let mut points = map.points.clone();
        points.extend(other.map.points.iter().map(|(n, at)| (n * true_step + true_start, *at)));
        let joined = Along::solve(&points, map.centre, map.spread);
        if let Some(joined) = joined.filter(|j| j.scatter < 2.0 * map.scatter.max(0.005)) {
            map = joined;
            on_the_rule.push(i);
        }
    }
    (map, on_the_rule)
}

fn note(why: &mut Option<(usize, String)>, seen: usize, text: String) {
    if why.as_ref().is_none_or(|(most, _)| seen > *most) {
        *why = Some((seen, text));
    }
}

/// A row of ticks, numbered, with its map.
struct Numbered<'a> {
    strip: Strip<'a>,
    comb: Comb,
    map: Along,
    /// Lengths of the ticks beyond the band that all cross, to its two sides.
    lengths: [Vec<TickLength>; 2],
}

impl<'a> Numbered<'a> {
    /// Numbers the ticks of a row; how many there are if there are too few.
    fn read(grey: &'a Grey, row: &Row) -> Result<Self, usize> {
        let first = Self::read_once(grey, row)?;
        // Once more along the edge that the ticks themselves show.
        let again = first.straightened(row).and_then(|row| Self::read_once(grey, &row).ok());
        Ok(match again {
            Some(again) if again.comb.ticks.len() * 10 >= first.comb.ticks.len() * 9 => again,
            _ => first,
        })
    }

    fn read_once(grey: &'a Grey, row: &Row) -> Result<Self, usize> {
        let strip = Strip::of(grey, row);
        let comb = comb::read(&strip, row.period)?;
        let map = Along::fit(&strip, &comb).ok_or(comb.ticks.len())?;
        let lengths = tick_lengths(&strip, &comb, &map);
        Ok(Self { strip, comb, map, lengths })
    }

    /// The row turned so that the ticks' even ends (at the rule's edge) lie level.
    fn straightened(&self, row: &Row) -> Option<Row> {
        let [low, high] = self.comb.band;
        let line = |side: usize| {
            let sign = [1.0, -1.0][side];
            let from = [high, low][side] as f64;
            let ends: Vec<(f64, f64)> = self.lengths[side]
                .iter()
                .map(|l| (self.comb.law.place(l.number as f64), from + sign * l.length))
                .collect();
            median_line(&ends)
        };
        let (high_side, low_side) = (line(0)?, line(1)?);
        let edge = if high_side.scatter < low_side.scatter { high_side } else { low_side };
        if edge.slope.abs() > 0.1 {
            return None;
        }
        let along = [0, 1].map(|k| row.along[k] + edge.slope * row.mark[k]);
        let length = along[0].hypot(along[1]);
        // The middle of the band at the row's own place goes to row 0.
        let shift = (low + high) as f64 / 2.0;
        Some(Row {
            at: [0, 1].map(|k| row.at[k] + shift * row.mark[k]),
            along: along.map(|v| v / length),
            ..*row
        })
    }

    /// Corners of the strip that the ticks fill, grey picture.
    fn outline(&self) -> [[f64; 2]; 4] {
        let [low, high] = self.comb.band;
        let longest = |side: usize| {
            let mut all: Vec<f64> = self.lengths[side].iter().map(|l| l.length).collect();
            all.sort_by(f64::total_cmp);
            // The longest kind is a tenth or a twentieth of the ticks.
            all.get(all.len() * 96 / 100).copied().unwrap_or(0.0)
        };
        let (top, bottom) = (low as f64 - longest(1), high as f64 + longest(0));
        let ticks = &self.comb.ticks;
        let (first, last) = (ticks[0].1, ticks[ticks.len() - 1].1);
        [(first, top), (last, top), (last, bottom), (first, bottom)]
            .map(|(t, v)| self.strip.place(t, v))
    }

    fn confirm(&self, stated: TickPitch) -> Result<i64, String> {
        let scatter_mm = self.map.scatter * stated.mm();
        if scatter_mm > MOST_SCATTER_MM {
            return Err(format!("they scatter by {scatter_mm:.3} mm along it"));
        }
        let [one, other] = &self.lengths;
        confirm(one, stated).or_else(|_| confirm(other, stated))
    }
}

/// A straight line by medians: through the medians of the first and last third.
struct MedianLine {
    slope: f64,
    /// Median distance from the line.
    scatter: f64,
}

fn median_line(points: &[(f64, f64)]) -> Option<MedianLine> {
    let third = points.len() / 3;
    if third < 3 {
        return None;
    }
    let median = |values: &mut Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    };
    let middle = |part: &[(f64, f64)]| {
        let x = median(&mut part.iter().map(|p| p.0).collect());
        (x, median(&mut part.iter().map(|p| p.1).collect()))
    };
    let (a, b) = (middle(&points[..third]), middle(&points[points.len() - third..]));
    let slope = (b.1 - a.1) / (b.0 - a.0);
    // Mean distance: long ticks among the ends make a side uneven, so the mean, not the median.
    let off = points.iter().map(|p| (p.1 - a.1 - slope * (p.0 - a.0)).abs().min(12.0)).sum::<f64>();
    slope.is_finite().then(|| MedianLine { slope, scatter: off / points.len() as f64 })
}

/// The map from the grey picture to tick numbers: `number = (p . h) / (p . g)`, `p = (x, y, 1)`.
#[derive(Clone, Debug)]
struct Along {
    /// Numerator and denominator over normalised places.
    numerator: Vector3<f64>,
    denominator: Vector3<f64>,
    /// Places are `(p - centre) / spread` before they are mapped.
    centre: [f64; 2],
    spread: f64,
    /// Standard deviation of the numbers.
    scatter: f64,
    /// Number and place of every reading used.
    points: Vec<(f64, [f64; 2])>,
    cofactor: SMatrix<f64, 5, 5>,
}

impl Along {
    /// From tick centres at several depths of the band all ticks cross.
    fn fit(strip: &Strip<'_>, comb: &Comb) -> Option<Self> {
        let [low, high] = comb.band;

        let mut points: Vec<(f64, [f64; 2])> = Vec::new();
        for level in 0..LEVELS {
            let v = low as f64 + (high - low) as f64 * f64::from(level) / f64::from(LEVELS - 1);
            for (number, t) in &comb.ticks {
                if let Some(t) = centre_of_tick(strip, &comb.law, *t, v) {
                    points.push((*number as f64, strip.place(t, v)));
                }
            }
        }
        let n = points.len() as f64;
        let centre = [0, 1].map(|k| points.iter().map(|p| p.1[k]).sum::<f64>() / n);
        let spread = points
            .iter()
            .map(|p| (p.1[0] - centre[0]).hypot(p.1[1] - centre[1]))
            .fold(1.0, f64::max);
        let mut kept = points;
        for _ in 0..6 {
            if kept.len() < 2 * comb::FEWEST_TICKS {
                return None;
            }
            let map = Self::solve(&kept, centre, spread)?;
            let off = |p: &(f64, [f64; 2])| (map.number(p.1) - p.0).abs();
            let mut all: Vec<f64> = kept.iter().map(off).collect();
            all.sort_by(f64::total_cmp);
            // Three and a half standard deviations by the median.
            let limit = (3.5 * 1.4826 * all[all.len() / 2]).max(1e-6);
            let before = kept.len();
            let fine: Vec<_> = kept.iter().filter(|p| off(p) <= limit).copied().collect();
            if fine.len() == before {
                return Some(map);
            }
            kept = fine;
        }
        Self::solve(&kept, centre, spread)
    }

    fn solve(points: &[(f64, [f64; 2])], centre: [f64; 2], spread: f64) -> Option<Self> {
        let mut denominators = vec![1.0; points.len()];
        let mut result = None;
        // Each equation is divided by its denominator of the round before, so that numbers count alike.
        for _ in 0..4 {
            let mut normal = SMatrix::<f64, 5, 5>::zeros();
            let mut right = SVector::<f64, 5>::zeros();
            for ((number, at), w) in points.iter().zip(&denominators) {
                let (x, y) = ((at[0] - centre[0]) / spread, (at[1] - centre[1]) / spread);
                let row = SVector::<f64, 5>::from([x, y, 1.0, -number * x, -number * y]) / *w;
                normal += row * row.transpose();
                right += row * (*number / *w);
            }
            let cofactor = normal.try_inverse()?;
            let s = cofactor * right;
            let map = Self {
                numerator: Vector3::new(s[0], s[1], s[2]),
                denominator: Vector3::new(s[3], s[4], 1.0),
                centre,
                spread,
                scatter: 0.0,
                points: points.to_vec(),
                cofactor,
            };
            for ((_, at), w) in points.iter().zip(&mut denominators) {
                *w = map.denominator.dot(&map.normal_place(*at));
                if w.abs() < 1e-3 {
                    return None;
                }
            }
            let square: f64 = points.iter().map(|p| (map.number(p.1) - p.0).powi(2)).sum();
            let scatter = (square / (points.len() as f64 - 5.0).max(1.0)).sqrt();
            result = Some(Self { scatter, ..map });
        }
        result
    }

    fn normal_place(&self, at: [f64; 2]) -> Vector3<f64> {
        Vector3::new(
            (at[0] - self.centre[0]) / self.spread,
            (at[1] - self.centre[1]) / self.spread,
            1.0,
        )
    }

    fn number(&self, at: [f64; 2]) -> f64 {
        let p = self.normal_place(at);
        self.numerator.dot(&p) / self.denominator.dot(&p)
    }

    /// Numbers a pixel at a place, in the steepest direction.
    fn steepness(&self, at: [f64; 2]) -> f64 {
        let here = self.number(at);
        let step = |d: [f64; 2]| self.number([at[0] + d[0], at[1] + d[1]]) - here;
        step([1.0, 0.0]).hypot(step([0.0, 1.0]))
    }

    /// Where along the strip tick `number` crosses row `v`.
    fn place(&self, strip: &Strip<'_>, number: f64, v: f64) -> f64 {
        let start = self.normal_place(strip.place(0.0, v));
        let step = self.normal_place(strip.place(1.0, v)) - start;
        let miss = self.numerator - self.denominator * number;
        -miss.dot(&start) / miss.dot(&step)
    }
}

/// Centre of the dark around a tick in one row of the strip; none if there is no clear dark.
fn centre_of_tick(strip: &Strip<'_>, law: &Law, t: f64, v: f64) -> Option<f64> {
    let half = 0.42 * law.spacing(t).abs();
    // Two rounds: the window is centred on the tick before the final reading.
    let mut at = t;
    for _ in 0..2 {
        let light = strip.level(at - half, v)?.min(strip.level(at + half, v)?);
        let (mut weight, mut sum) = (0.0, 0.0);
        let steps = 2 * whole(2.0 * half).max(3);
        for i in 0..=steps {
            let d = -half + 2.0 * half * i as f64 / steps as f64;
            let dark = (light - strip.level(at + d, v)?).max(0.0);
            weight += dark;
            sum += dark * d;
        }
        if weight < 2.0 * steps as f64 / 4.0 {
            return None;
        }
        at += sum / weight;
    }
    ((at - t).abs() < half).then_some(at)
}

/// Lengths of the ticks beyond the band, to its two sides, pixels.
fn tick_lengths(strip: &Strip<'_>, comb: &Comb, map: &Along) -> [Vec<TickLength>; 2] {
    let contrast = |number: i64, v: f64| {
        let n = number as f64;
        let level = |n: f64| {
            let t = map.place(strip, n, v);
            // A mean over a sixth of a tick to each side.
            let s = comb.law.spacing(t).abs() / 6.0;
            Some((strip.level(t - s, v)? + strip.level(t, v)? + strip.level(t + s, v)?) / 3.0)
        };
        Some((level(n - 0.5)? + level(n + 0.5)?) / 2.0 - level(n)?)
    };
    let [low, high] = comb.band;
    let mut sides = [Vec::new(), Vec::new()];
    for (number, _) in &comb.ticks {
        let in_band: Vec<f64> = (low..=high).filter_map(|v| contrast(*number, v as f64)).collect();
        let usual = in_band.iter().sum::<f64>() / in_band.len().max(1) as f64;
        if usual < 1.0 {
            continue;
        }
        for (side, (from, direction)) in [(high, 1), (low, -1)].into_iter().enumerate() {
            let mut length = 0.0;
            let mut weak = 0;
            let mut v = from;
            while v.abs() < strip.reach && weak < 4 {
                v += direction;
                let Some(c) = contrast(*number, v as f64) else { break };
                if c < 0.4 * usual {
                    weak += 1;
                } else {
                    length = (v - from).abs() as f64;
                    weak = 0;
                }
            }
            sides[side].push(TickLength { number: *number, length });
        }
    }
    sides
}

/// How the grey picture was taken.
struct Lens {
    /// Photo pixels a grey pixel.
    block: f64,
    focal_px: f64,
    size_px: [u32; 2],
}

/// The plane whose x is the map, for a lens of this focal length.
fn ruled(
    map: &Along,
    on_the_rule: &[&Numbered<'_>],
    lens: &Lens,
    pitch_mm: f64,
    zero: i64,
) -> Option<Ruled> {
    let row = on_the_rule.first()?;
    let (strip, comb, block) = (&row.strip, &row.comb, lens.block);
    let [width, height] = lens.size_px.map(f64::from);
    // Photo places -> normalised places of the fit.
    let scale = 1.0 / (block * map.spread);
    let shift = map.centre.map(|c| -c / map.spread);
    let normal_from_photo = Matrix3::new(scale, 0.0, shift[0], 0.0, scale, shift[1], 0.0, 0.0, 1.0);
    let x_row =
        normal_from_photo.transpose() * (map.numerator - map.denominator * zero as f64) * pitch_mm;
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
    let place = |t: f64| strip.place(t, 0.0).map(|v| v * block);
    let here = place(comb.ticks[comb.ticks.len() / 2].1);
    let y_sight = if area_ratio(&rows(y_sight), here) < 0.0 { -y_sight } else { y_sight };
    // y = 0 on the middle of the row read.
    let y_here = project(&rows(y_sight), here)[1];
    let photo_from_part = rows(y_sight - normal * y_here).try_inverse()?;
    let plane = Plane::from_photo_from_part(photo_from_part)?;
    let (first, last) = (comb.ticks.first()?, comb.ticks.last()?);
    let longest = comb.ticks.iter().filter(|(n, _)| (n - zero).rem_euclid(10) == 0);
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
    Some(Ruled {
        covers_mm: covers.grown(COVER_MORE_MM).corners(),
        residual_px: map.scatter / map.steepness(strip.place(0.0, 0.0)) * block,
        fit_u: map.across_u(strip, 20.0 / pitch_mm),
        ends_mm: [plane.to_part(place(first.1)), plane.to_part(place(last.1))],
        features_px: longest.map(|(_, t)| place(*t)).collect(),
        plane,
    })
}

impl Along {
    /// Relative standard uncertainty, from the scatter, of a length so many numbers across from the row.
    fn across_u(&self, strip: &Strip<'_>, numbers: f64) -> f64 {
        let away = numbers / self.steepness(strip.place(0.0, 0.0)) / self.spread;
        let [mx, my] = strip.mark;
        let c = &self.cofactor;
        let variance = mx * mx * c[(3, 3)] + 2.0 * mx * my * c[(3, 4)] + my * my * c[(4, 4)];
        // Readings of one tick at several depths err together. A length across the rule changes
        // twice as fast with the horizon as one along it.
        2.0 * self.scatter * (f64::from(LEVELS) * variance.max(0.0)).sqrt() * away
    }
}

#[cfg(test)]
mod tests;
