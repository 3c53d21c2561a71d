//! The ticks of one row, numbered and placed to a part of a pixel.
//!
//! The row is unrolled into a strip (along the row, across it along the ticks). From the strongest
//! tick the next ones are followed outwards with the spacing of the last few; a law through them
//! then predicts every tick of the strip, also beyond a gap, and only ticks at their predicted places
//! count.

use crate::scale::grey::Grey;
use crate::scale::ticks::rows::Row;
use nalgebra::{Matrix4, Vector4};

/// Half the height of a strip, periods and at most pixels: the longest ticks must fit in (of 64ths of
/// an inch they are over 20 periods long).
const HALF_HEIGHT: f64 = 22.0;
const HALF_HEIGHT_PX: f64 = 220.0;
/// Most ticks missed in a row (glare, dirt) while following.
const MOST_MISSED: usize = 6;
/// Least depth of a tick, in units of the profile's usual swing.
const LEAST_DEPTH: f64 = 0.45;
/// Least darkness of a tick, as a share of the row's usual one.
const LEAST_INK: f64 = 0.25;
/// A tick counts when this share of the places up to so many ticks away holds ticks as well. Chosen: on
/// wood and brushed metal beyond a rule's end one place in four seemed to hold one.
const LEAST_DENSE: f64 = 0.5;
const DENSE_TICKS: i64 = 8;
/// Rounds of prediction and law. Chosen: a row that perspective closes up is complete after six.
const MOST_ROUNDS: usize = 8;
/// Fewest ticks of a row.
pub(super) const FEWEST_TICKS: usize = 20;

/// How far along its line a row is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reach {
    /// As far as it was seen to repeat, and little more.
    Blocks,
    /// As far as the photo goes: ticks may go on behind a glint or a finger, or ever closer together.
    Photo,
}

/// A row of the photo laid out straight: columns along the row, rows along the ticks.
pub(super) struct Strip<'a> {
    grey: &'a Grey,
    pub(super) origin: [f64; 2],
    pub(super) along: [f64; 2],
    pub(super) mark: [f64; 2],
    /// Column range, pixels from the origin.
    pub(super) from: i64,
    pub(super) to: i64,
    /// Half height, pixels.
    pub(super) reach: i64,
}

impl<'a> Strip<'a> {
    pub(super) fn of(grey: &'a Grey, row: &Row, reach: Reach) -> Self {
        let inside = |t: &i64| {
            let at = [0, 1].map(|k| row.at[k] + *t as f64 * row.along[k]);
            let in_side = |v: f64, n: usize| v > 0.0 && v < n as f64;
            in_side(at[0], grey.width) && in_side(at[1], grey.height)
        };
        let longest = i64::try_from(grey.width + grey.height).unwrap_or(i64::MAX);
        let from = -(1..longest).take_while(|t| inside(&-t)).count().try_into().unwrap_or(0_i64);
        let to = (1..longest).take_while(inside).count().try_into().unwrap_or(0_i64);
        let (from, to) = match reach {
            Reach::Photo => (from, to),
            Reach::Blocks => (
                from.max(whole(row.extent[0] - 6.0 * row.period)),
                to.min(whole(row.extent[1] + 6.0 * row.period)),
            ),
        };
        Self {
            grey,
            origin: row.at,
            along: row.along,
            mark: row.mark,
            from,
            to,
            reach: whole((HALF_HEIGHT * row.period).min(HALF_HEIGHT_PX)),
        }
    }

    pub(super) fn place(&self, t: f64, v: f64) -> [f64; 2] {
        [0, 1].map(|k| self.origin[k] + t * self.along[k] + v * self.mark[k])
    }

    pub(super) fn level(&self, t: f64, v: f64) -> Option<f64> {
        self.grey.at(self.place(t, v))
    }

    /// Mean level of each column over rows of the strip; outside the photo the last level goes on.
    fn profile(&self, low: i64, high: i64) -> Vec<f64> {
        let mut last = 0.0;
        (self.from..=self.to)
            .map(|t| {
                let levels = (low..=high).filter_map(|v| self.level(t as f64, v as f64));
                let (n, sum) = levels.fold((0.0, 0.0), |(n, sum), l| (n + 1.0, sum + l));
                if n > 0.0 {
                    last = sum / n;
                }
                last
            })
            .collect()
    }
}

#[expect(clippy::cast_possible_truncation, reason = "places within a photo are far below 2^53")]
pub(super) fn whole(value: f64) -> i64 {
    value.round() as i64
}

/// A count of pixels; none of what is negative.
fn pixels(value: f64) -> usize {
    usize::try_from(whole(value)).unwrap_or(0)
}

/// Numbered ticks of a strip: the law along its middle row.
#[derive(Clone, Debug)]
pub(super) struct Comb {
    /// Rows of the strip crossed by all ticks.
    pub(super) band: [i64; 2],
    /// Ticks seen: number and place along the strip.
    pub(super) ticks: Vec<(i64, f64)>,
    pub(super) law: Law,
}

/// `number = first + (a + b s) / (1 + c s) + e s^3`, `s = (t - from) / span`: an evenly divided edge in
/// perspective, and what a lens bends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Law {
    first: f64,
    from: f64,
    span: f64,
    a: f64,
    b: f64,
    c: f64,
    e: f64,
}

/// Fewest ticks that tell what the lens bends.
const FEWEST_FOR_BEND: usize = 40;

impl Law {
    pub(super) fn number(&self, t: f64) -> f64 {
        let s = (t - self.from) / self.span;
        self.first + (self.a + self.b * s) / (1.0 + self.c * s) + self.e * s.powi(3)
    }

    pub(super) fn place(&self, number: f64) -> f64 {
        let n = number - self.first;
        let mut s = 0.0_f64;
        for _ in 0..4 {
            let straight = n - self.e * s.powi(3);
            s = ((straight - self.a) / (self.b - straight * self.c)).clamp(-4.0, 4.0);
        }
        self.from + s * self.span
    }

    /// Pixels a tick.
    pub(super) fn spacing(&self, t: f64) -> f64 {
        let s = (t - self.from) / self.span;
        let w = 1.0 + self.c * s;
        self.span / ((self.b - self.a * self.c) / (w * w) + 3.0 * self.e * s * s)
    }

    fn through(ticks: &[(i64, f64)]) -> Option<Self> {
        let (low, high) = (*ticks.first()?, *ticks.last()?);
        let from = f64::midpoint(low.1, high.1);
        let span = ((high.1 - low.1).abs() / 2.0).max(1.0);
        let first = low.0 as f64;
        let mut law = Self { first, from, span, a: 0.0, b: 1.0, c: 0.0, e: 0.0 };
        for _ in 0..3 {
            let mut normal = Matrix4::zeros();
            let mut right = Vector4::zeros();
            for (number, t) in ticks {
                let (n, s) = (*number as f64 - first, (t - from) / span);
                let row = Vector4::new(1.0, s, -n * s, s.powi(3) * (1.0 + law.c * s));
                normal += row * row.transpose();
                right += row * n;
            }
            if ticks.len() < FEWEST_FOR_BEND {
                normal[(3, 3)] += 1e9;
            }
            let s = normal.try_inverse()? * right;
            law = Self { a: s[0], b: s[1], c: s[2], e: s[3], ..law };
        }
        [law.a, law.b, law.c, law.e].iter().all(|v| v.is_finite()).then_some(law)
    }

    /// The law through most ticks: far ones are taken out, worst first.
    fn robust(ticks: &mut Vec<(i64, f64)>, most_off: f64) -> Option<Self> {
        loop {
            let law = Self::through(ticks)?;
            let off = |t: &(i64, f64)| (law.number(t.1) - t.0 as f64).abs();
            let worst =
                (0..ticks.len()).max_by(|a, b| off(&ticks[*a]).total_cmp(&off(&ticks[*b])))?;
            if off(&ticks[worst]) <= most_off {
                return Some(law);
            }
            ticks.remove(worst);
            if ticks.len() < 6 {
                return None;
            }
        }
    }
}

/// Finds the ticks of a strip, at known depths or wherever they are clearest; says how many when there
/// are too few.
pub(super) fn read(strip: &Strip<'_>, period: f64, known: Option<[i64; 2]>) -> Result<Comb, usize> {
    let first_band = known.unwrap_or_else(|| band(strip, period));
    let levels = strip.profile(first_band[0], first_band[1]);
    let mut ticks = follow(strip, &levels, period);
    if ticks.len() < 8 {
        return Err(ticks.len());
    }
    let mut law = Law::robust(&mut ticks, 0.2).ok_or(ticks.len())?;
    for round in 0..MOST_ROUNDS {
        let before = ticks.len();
        ticks = predicted(strip, &levels, &law);
        if ticks.len() < FEWEST_TICKS {
            return Err(ticks.len());
        }
        law = Law::robust(&mut ticks, 0.2).ok_or(ticks.len())?;
        // Real ticks lie close to the law, what chance puts on a bench lies anywhere.
        let off = |t: &(i64, f64)| (law.number(t.1) - t.0 as f64).abs();
        let mut all: Vec<f64> = ticks.iter().map(off).collect();
        all.sort_by(f64::total_cmp);
        let limit = (5.0 * all[all.len() / 2]).max(0.04);
        ticks.retain(|t| off(t) <= limit);
        ticks = dense(&ticks);
        if ticks.len() < FEWEST_TICKS {
            return Err(ticks.len());
        }
        law = Law::robust(&mut ticks, 0.2).ok_or(ticks.len())?;
        // A law carried on far is off; while it finds more ticks it becomes better.
        if round > 0 && ticks.len() * 32 <= before * 33 {
            break;
        }
    }
    Ok(Comb { band: first_band, ticks, law })
}

/// Rows around the middle in which the profile repeats as well as anywhere.
fn band(strip: &Strip<'_>, period: f64) -> [i64; 2] {
    let step = 2;
    let lag = pixels(period).max(2);
    let score = |v: i64| {
        let p = sharpened(&strip.profile(v, v + 1), period);
        // Over windows of eight periods, for the period drifts along the row.
        let window = 8 * lag;
        let mut sum = 0.0;
        let mut count = 0.0;
        for piece in p.chunks(window).filter(|c| c.len() == window) {
            let best = ((lag - lag / 5).max(2) - 1..=lag + lag / 5 + 1)
                .map(|l| piece.iter().zip(&piece[l..]).map(|(a, b)| a * b).sum::<f64>())
                .fold(0.0, f64::max);
            sum += best / piece.len() as f64;
            count += 1.0;
        }
        if count > 0.0 { sum / count } else { 0.0 }
    };
    let half = (strip.reach / 2).min(whole(4.5 * period).max(16));
    let scores: Vec<(i64, f64)> = (-half..=half).step_by(step).map(|v| (v, score(v))).collect();
    let most = scores.iter().map(|s| s.1).fold(0.0, f64::max);
    let near = |s: &&(i64, f64)| s.0.abs() <= 14 && s.1 >= 0.5 * most;
    let Some(seed) = scores.iter().position(|s| near(&s)) else { return [-4, 4] };
    let (mut low, mut high) = (seed, seed);
    while low > 0 && scores[low - 1].1 >= 0.5 * most {
        low -= 1;
    }
    while high + 1 < scores.len() && scores[high + 1].1 >= 0.5 * most {
        high += 1;
    }
    let (low, high) = (scores[low].0, scores[high].0 + 1);
    let trim = (high - low) / 6;
    [low + trim, high - trim]
}

/// The profile without slow changes, in units of its usual swing nearby; ticks are negative.
fn sharpened(profile: &[f64], period: f64) -> Vec<f64> {
    let wide = pixels(period);
    let flat: Vec<f64> = profile.iter().zip(means(profile, wide)).map(|(p, m)| p - m).collect();
    let squares: Vec<f64> = flat.iter().map(|f| f * f).collect();
    let swing = means(&squares, 5 * wide);
    // Levels below one are rounding, not swing.
    flat.iter().zip(swing).map(|(f, s)| f / s.sqrt().max(1.0)).collect()
}

/// Means over a window of `half` to each side.
fn means(values: &[f64], half: usize) -> Vec<f64> {
    let mut sums = vec![0.0; values.len() + 1];
    for (i, v) in values.iter().enumerate() {
        sums[i + 1] = sums[i] + v;
    }
    (0..values.len())
        .map(|i| {
            let (low, high) = (i.saturating_sub(half), (i + half + 1).min(values.len()));
            (sums[high] - sums[low]) / (high - low) as f64
        })
        .collect()
}

/// A tick near a predicted place of a sharpened profile: its place, if it is deep enough.
fn tick_near(profile: &[f64], predicted: f64, spacing: f64) -> Option<f64> {
    let reach = whole(0.3 * spacing).max(1);
    let middle = whole(predicted);
    let at = |i: i64| usize::try_from(i).ok().and_then(|i| profile.get(i)).copied();
    let deepest = (middle - reach..=middle + reach)
        .filter_map(|i| at(i).map(|v| (i, v)))
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let (i, depth) = deepest;
    let (before, after) = (at(i - 1)?, at(i + 1)?);
    // A minimum on the rim of the search is a slope, not a tick.
    if before < depth || after < depth {
        return None;
    }
    let half = whole(spacing / 2.0).max(1);
    let beside = (at(i - half)?.max(at(i - half + 1)?)).min(at(i + half)?.max(at(i + half - 1)?));
    if beside - depth < LEAST_DEPTH {
        return None;
    }
    let shift = (before - after) / (2.0 * (before - 2.0 * depth + after)).max(1e-9);
    Some(i as f64 + shift.clamp(-0.5, 0.5))
}

/// Follows the ticks outwards from the middle of the row's strongest block.
fn follow(strip: &Strip<'_>, levels: &[f64], period: f64) -> Vec<(i64, f64)> {
    let profile = sharpened(levels, period);
    let start = -strip.from as f64;
    let Some(first) = (-6..=6)
        .filter_map(|k| tick_near(&profile, start + f64::from(k) * period / 4.0, period))
        .next()
    else {
        return Vec::new();
    };
    let mut ticks = vec![(0_i64, first)];
    for direction in [1_i64, -1] {
        let mut recent = vec![(0_i64, first)];
        let mut spacing = period;
        let mut number = 0;
        let mut missed = 0;
        while missed <= MOST_MISSED {
            number += direction;
            let Some(last) = recent.last().copied() else { break };
            let predicted = last.1 + (number - last.0) as f64 * spacing;
            if predicted < 1.0 || predicted > profile.len() as f64 - 2.0 {
                break;
            }
            let Some(at) = tick_near(&profile, predicted, spacing) else {
                missed += 1;
                continue;
            };
            // Ticks that do not lead on are none.
            if (at - last.1) * (direction as f64) < 0.4 * period {
                break;
            }
            missed = 0;
            recent.push((number, at));
            ticks.push((number, at));
            let back = recent[recent.len().saturating_sub(9)];
            if (number - back.0).abs() >= 3 {
                spacing = (at - back.1) / (number - back.0) as f64;
            }
        }
    }
    ticks.sort_by_key(|t| t.0);
    ticks.into_iter().map(|(number, at)| (number, at + strip.from as f64)).collect()
}

/// Ticks where the law puts them.
fn predicted(strip: &Strip<'_>, levels: &[f64], law: &Law) -> Vec<(i64, f64)> {
    let (from, to) = (strip.from as f64, strip.to as f64);
    let period = law.spacing(0.0).abs();
    let profile = sharpened(levels, period);
    let ends = [law.number(from), law.number(to)];
    let (low, high) =
        (whole(ends[0].min(ends[1]).max(-4000.0)), whole(ends[0].max(ends[1]).min(4000.0)));
    let level = |place: f64| levels.get(pixels(place)).copied().unwrap_or(0.0);
    let ticks: Vec<(i64, f64, f64)> = (low..=high)
        .filter_map(|number| {
            let t = law.place(number as f64);
            let spacing = law.spacing(t).abs();
            let at = tick_near(&profile, t - from, spacing)?;
            let beside = level(at - spacing / 2.0).min(level(at + spacing / 2.0));
            Some((number, at + from, beside - level(at)))
        })
        .collect();
    let mut depths: Vec<f64> = ticks.iter().map(|t| t.2).collect();
    depths.sort_by(f64::total_cmp);
    let usual = depths.get(depths.len() / 2).copied().unwrap_or(0.0);
    // Beyond the rule's end the profile swings a little as well, but much less than the ink.
    let inked: Vec<(i64, f64)> =
        ticks.into_iter().filter(|t| t.2 > LEAST_INK * usual).map(|(n, at, _)| (n, at)).collect();
    dense(&inked)
}

/// Ticks among others, without what chance puts beyond the rule's ends.
fn dense(ticks: &[(i64, f64)]) -> Vec<(i64, f64)> {
    let (Some(first), Some(last)) = (ticks.first(), ticks.last()) else { return Vec::new() };
    let among = |number: i64| {
        // To one side is enough: the row may end here.
        let share = |low: i64, high: i64| {
            let (low, high) = (low.max(first.0), high.min(last.0));
            let seen = ticks.iter().filter(|t| (low..=high).contains(&t.0)).count();
            seen as f64 / (DENSE_TICKS + 1) as f64
        };
        share(number - DENSE_TICKS, number) > LEAST_DENSE
            || share(number, number + DENSE_TICKS) > LEAST_DENSE
    };
    ticks.iter().filter(|t| among(t.0)).copied().collect()
}
