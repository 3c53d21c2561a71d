//! One row of ticks: numbered, mapped, its graduation told.

use crate::scale::found::TickSeen;
use crate::scale::grey::Grey;
use crate::scale::spec::TickPitch;
use crate::scale::ticks::along::{Along, Optics};
use crate::scale::ticks::comb::{self, Comb, Reach, Strip};
use crate::scale::ticks::hierarchy::{Graduated, recognise};
use crate::scale::ticks::layers::Layers;
use crate::scale::ticks::lengths::{Side, TickLength, tick_lengths};
use crate::scale::ticks::rows::Row;

/// Most scatter of tick places along the rule, mm, standard deviation. Source: simulated rules read
/// to 0.01 mm; three times that is a misreading.
const MOST_SCATTER_MM: f64 = 0.03;

/// More is let pass, up to the second limit, where neighbouring ticks err apart from each other, as noise
/// makes them: what they have in common stays below the first. Chosen: half of what is let pass unasked;
/// a row counted wrong is off by a good part of a tick over many neighbours.
const MOST_IN_COMMON_MM: f64 = 0.015;
const MOST_NOISY_MM: f64 = 0.08;

/// Scatter of the numbers that no row is blamed for, ticks. On painted rules sharp rows scatter by 0.002 to 0.02.
const SOUND_SCATTER: f64 = 0.01;

/// How often a row that does not tell its graduation is halved: from sixteenths to 64ths.
const DEEPEST: u32 = 2;
/// Rows whose ticks are closer than this are not halved, pixels: the halves would be lost.
const FINEST_PX: f64 = 5.6;
/// Share of a tick's length that is read: its end is blurred.
const WHOLE_SHARE: f64 = 0.9;
/// Whole ticks may scatter so many times as much as the band that all cross.
const MORE_SCATTER: f64 = 1.3;
/// A row seen may reach so many periods beyond the ticks that were read of it: blocks are wide.
const BEYOND: f64 = 14.0;
/// How often a row is read again along its own edge, and the slope at which that is enough: half a
/// pixel in a thousand.
const MOST_STRAIGHTENED: usize = 3;
const LEVEL_SLOPE: f64 = 0.0005;
/// Slope up to which a row counts as laid out along its edge. Chosen: five pixels in a thousand, a third
/// of the shortest ticks.
const LAID_OUT_SLOPE: f64 = 0.005;

/// A row of ticks, numbered, with its map.
pub(super) struct Numbered<'a> {
    pub(super) strip: Strip<'a>,
    pub(super) comb: Comb,
    pub(super) map: Along,
    /// What the lengths of its ticks tell, if they tell it clearly.
    pub(super) graduated: Option<Graduated>,
    sides: [Side; 2],
    /// Laid out along a plane known from another row, not along what itself showed.
    by_plane: bool,
    /// The rule's edge along it, where the ticks end evenly.
    pub(super) edge: Option<EdgeLine>,
}

impl<'a> Numbered<'a> {
    /// Numbers the ticks of a row; how many there are if there are too few.
    pub(super) fn read(grey: &'a Grey, row: &Row, optics: Optics) -> Result<Self, usize> {
        Self::read_anyhow(grey, row, optics).map(|read| read.told(grey, row, optics, DEEPEST))
    }

    fn read_anyhow(grey: &'a Grey, row: &Row, optics: Optics) -> Result<Self, usize> {
        let near = Self::read_within(grey, row, optics, Reach::Blocks);
        let far = Self::read_within(grey, row, optics, Reach::Photo);
        match (near, far) {
            (Ok(near), Ok(far)) => {
                // Farther on more ticks may be seen, or a bench that looks like some.
                let better = (far.graduated.is_some(), far.comb.ticks.len())
                    > (near.graduated.is_some(), near.comb.ticks.len());
                let sound = far.map.scatter <= 1.5 * near.map.scatter.max(SOUND_SCATTER);
                Ok(if better && sound { far } else { near })
            }
            (near, far) => far.or(near),
        }
    }

    fn read_within(grey: &'a Grey, row: &Row, optics: Optics, reach: Reach) -> Result<Self, usize> {
        let mut read = Self::read_once(Strip::of(grey, row, reach), row.period, None, optics)?;
        // Again along the edge that the ticks themselves show, until it lies level.
        for _ in 0..MOST_STRAIGHTENED {
            let askew = |edge: &EdgeLine| edge.slope.abs() > LEVEL_SLOPE;
            let Some(row) = read.edge.filter(askew).and_then(|e| read.straightened(row, e)) else {
                break;
            };
            let strip = Strip::of(grey, &row, reach);
            match Self::read_once(strip, row.period, None, optics) {
                Ok(again) if again.comb.ticks.len() * 10 >= read.comb.ticks.len() * 9 => {
                    read = again;
                }
                _ => break,
            }
        }
        Ok(read)
    }

    /// Itself if it tells its graduation; else the finer row whose longer ticks it is, or itself at the
    /// depths where nothing stands between, if one of them does.
    fn told(self, grey: &'a Grey, row: &Row, optics: Optics, deeper: u32) -> Self {
        if self.graduated.is_some() || deeper == 0 {
            return self;
        }
        let layers = Layers::of(&self.strip, &self.comb, &self.map);
        let period = self.comb.law.spacing(0.0).abs();
        let read = |period: f64, band: [i64; 2]| {
            let (strip, mark) = (&self.strip, self.strip.mark);
            let shift = (band[0] + band[1]) as f64 / 2.0;
            let moved = Row {
                at: [0, 1].map(|k| strip.origin[k] + shift * mark[k]),
                along: strip.along,
                mark,
                period,
                ..*row
            };
            let half = (band[1] - band[0]) / 2;
            let strip = Strip::of(grey, &moved, Reach::Blocks);
            Self::read_once(strip, period, Some([-half, half]), optics).ok()
        };
        let finer = layers.finer.filter(|_| period >= FINEST_PX).and_then(|band| {
            let finer = read(period / 2.0, band)?;
            let more = finer.comb.ticks.len() * 2 >= self.comb.ticks.len() * 3;
            more.then(|| finer.told(grey, row, optics, deeper - 1))
        });
        let own = || layers.own.and_then(|band| read(period, band));
        let tells = |read: &Self| read.graduated.is_some();
        finer.filter(tells).or_else(|| own().filter(tells)).unwrap_or(self)
    }

    /// A row at a known place and depth of a rule whose other row tells its graduation.
    pub(super) fn laid_out(
        grey: &'a Grey,
        row: &Row,
        band: [i64; 2],
        optics: Optics,
        graduated: Graduated,
    ) -> Option<Self> {
        let strip = Strip::of(grey, row, Reach::Blocks);
        let read = Self::read_once(strip, row.period, Some(band), optics).ok()?;
        Some(Self { graduated: Some(graduated), by_plane: true, ..read })
    }

    fn read_once(
        strip: Strip<'a>,
        period: f64,
        band: Option<[i64; 2]>,
        optics: Optics,
    ) -> Result<Self, usize> {
        let comb = comb::read(&strip, period, band)?;
        let map = Along::fit(&strip, &comb, optics).ok_or(comb.ticks.len())?;
        let sides = tick_lengths(&strip, &comb, &map);
        let whole = crossed(&comb, &sides).and_then(|c| map.along_whole_ticks(&strip, &comb, &c));
        let map = whole.filter(|w| w.scatter <= MORE_SCATTER * map.scatter).unwrap_or(map);
        let graduated = sides.iter().find_map(|side| recognise(&side.lengths));
        // Long ticks make a side uneven; the rule's edge is the other.
        let edge = sides
            .iter()
            .filter_map(|side| EdgeLine::through(&side.ends, side.lengths.len()))
            .min_by(|a, b| a.uneven.total_cmp(&b.uneven));
        Ok(Self { strip, comb, map, graduated, sides, by_plane: false, edge })
    }

    /// The row turned so that the rule's edge lies level.
    fn straightened(&self, row: &Row, edge: EdgeLine) -> Option<Row> {
        if edge.slope.abs() > 0.1 {
            return None;
        }
        let [low, high] = self.comb.band;
        let (from, mark) = (&self.strip, self.strip.mark);
        let along = [0, 1].map(|k| from.along[k] + edge.slope * mark[k]);
        let length = along[0].hypot(along[1]);
        // The middle of the band at the row's own place goes to row 0.
        let shift = (low + high) as f64 / 2.0;
        Some(Row {
            at: [0, 1].map(|k| from.origin[k] + shift * mark[k]),
            along: along.map(|v| v / length),
            ..*row
        })
    }

    /// Whether the row is laid out along the rule's edge, so that each depth of it is one of the rule.
    pub(super) fn is_level(&self) -> bool {
        self.by_plane || self.edge.is_some_and(|edge| edge.slope.abs() < LAID_OUT_SLOPE)
    }

    /// Whether a row seen in the photo is this one, read already.
    pub(super) fn holds(&self, row: &Row) -> bool {
        let d = [0, 1].map(|k| row.at[k] - self.strip.origin[k]);
        let (along, mark) = (self.strip.along, self.strip.mark);
        // Row and marks need not be square to each other in the photo.
        let area = along[0] * mark[1] - along[1] * mark[0];
        let t = (d[0] * mark[1] - d[1] * mark[0]) / area;
        let v = (along[0] * d[1] - along[1] * d[0]) / area;
        let [low, high] = self.comb.band;
        let (top, bottom) = (low as f64 - self.longest(1), high as f64 + self.longest(0));
        let (ticks, turn) = (&self.comb.ticks, along[0] * row.along[1] - along[1] * row.along[0]);
        let (first, last) = (ticks[0].1, ticks[ticks.len() - 1].1);
        let ratio = row.period / self.comb.law.spacing(t).abs();
        let told = self.graduated.is_some() && self.map.scatter < SOUND_SCATTER;
        // What goes on beyond the ticks read is read again.
        let more = BEYOND * row.period;
        let reach = [t + row.extent[0] + more, t + row.extent[1] - more];
        let read = first.min(last)..=last.max(first);
        let inside = (top..=bottom).contains(&v) && reach.iter().all(|t| read.contains(t));
        told && inside && turn.abs() < 0.15 && (ratio - 1.0).abs() < 0.15
    }

    /// Length beyond the band of the longest kind of tick, to one side, pixels.
    fn longest(&self, side: usize) -> f64 {
        let mut all: Vec<f64> = self.sides[side].lengths.iter().map(|l| l.length).collect();
        all.sort_by(f64::total_cmp);
        // The longest kind is a tenth to a sixty-fourth of the ticks.
        all.get(all.len() * 98 / 100).copied().unwrap_or(0.0)
    }

    /// Corners of the strip that the ticks fill, grey picture.
    pub(super) fn outline(&self) -> [[f64; 2]; 4] {
        let [low, high] = self.comb.band;
        let (top, bottom) = (low as f64 - self.longest(1), high as f64 + self.longest(0));
        let ticks = &self.comb.ticks;
        let (first, last) = (ticks[0].1, ticks[ticks.len() - 1].1);
        [(first, top), (last, top), (last, bottom), (first, bottom)]
            .map(|(t, v)| self.strip.place(t, v))
    }

    /// The two ends of a usual longest tick near the middle of the row, grey picture: the median, for
    /// some run into a numeral.
    pub(super) fn longest_tick(&self, graduated: Graduated) -> [[f64; 2]; 2] {
        let every = Graduated::longest_every(graduated.pitch);
        let usual = |side: usize| {
            let longest = |l: &&TickLength| (l.number - graduated.zero).rem_euclid(every) == 0;
            let mut all: Vec<f64> =
                self.sides[side].lengths.iter().filter(longest).map(|l| l.length).collect();
            all.sort_by(f64::total_cmp);
            all.get(all.len() / 2).copied().unwrap_or(0.0)
        };
        let [low, high] = self.comb.band;
        let t = self.middle();
        [low as f64 - usual(1), high as f64 + usual(0)].map(|v| self.strip.place(t, v))
    }

    /// Its ticks from end to end, in a photo that shows so many pixels for one of the grey picture.
    pub(super) fn ticks_seen(&self, graduated: Graduated, block: f64) -> Vec<TickSeen> {
        let [below, above] = &self.sides;
        let ends = above.ends.iter().zip(&below.ends);
        let seen = above.lengths.iter().zip(ends).map(|(tick, (top, bottom))| {
            let number = tick.number - graduated.zero;
            let ends_px = [top, bottom].map(|(t, v)| self.strip.place(*t, *v).map(|v| v * block));
            TickSeen { number, kind: Graduated::kind(graduated.pitch, number), ends_px }
        });
        seen.collect()
    }

    /// Place of the middle tick along the strip.
    pub(super) fn middle(&self) -> f64 {
        self.comb.ticks[self.comb.ticks.len() / 2].1
    }

    /// Photo pixels from tick to tick in its middle.
    fn spacing_px(&self, block: f64) -> f64 {
        self.comb.law.spacing(self.middle()).abs() * block
    }

    /// Whether its lengths tell the stated graduation, however well it is read otherwise.
    pub(super) fn tells(&self, stated: TickPitch, block: f64) -> bool {
        let spacing_px = self.spacing_px(block);
        self.graduated.is_some_and(|found| found.confirms(stated, spacing_px).is_ok())
    }

    /// What confirms or contradicts the stated graduation.
    /// One grey pixel stands for so many of the photo (`block`).
    pub(super) fn confirm(&self, stated: TickPitch, block: f64) -> Result<Graduated, String> {
        let Some(found) = self.graduated else {
            return Err(format!(
                "no pattern of longer ticks every {}th confirms {}",
                Graduated::longest_every(stated),
                stated.word()
            ));
        };
        let graduated = found.confirms(stated, self.spacing_px(block))?;
        let scatter_mm = self.map.scatter * graduated.pitch.mm();
        let noise_alone = self.map.in_common() * graduated.pitch.mm() <= MOST_IN_COMMON_MM
            && scatter_mm <= MOST_NOISY_MM;
        if scatter_mm > MOST_SCATTER_MM && !noise_alone {
            return Err(format!("they scatter by {scatter_mm:.3} mm along it"));
        }
        Ok(graduated)
    }
}

/// First and last row of the strip that each tick crosses for certain; none if it is not known of all.
///
/// A tick that may run into a numeral counts no longer than those that have none.
fn crossed(comb: &Comb, sides: &[Side; 2]) -> Option<Vec<[f64; 2]>> {
    let [low, high] = comb.band.map(|v| v as f64);
    if sides.iter().any(|side| side.ends.len() != comb.ticks.len()) {
        return None;
    }
    let common = |side: &Side, from: f64| {
        let mut all: Vec<f64> = side.ends.iter().map(|(_, v)| (v - from).abs()).collect();
        all.sort_by(f64::total_cmp);
        // Below the tens and the whole inches, which numerals stand beside.
        all[all.len() * 88 / 100]
    };
    let most = [common(&sides[0], high), common(&sides[1], low)];
    let cut = |length: f64, most: f64| WHOLE_SHARE * length.min(most);
    let ends = sides[0].ends.iter().zip(&sides[1].ends);
    let ranges = ends.map(|((_, bottom), (_, top))| {
        [low - cut(low - top, most[1]), high + cut(bottom - high, most[0])]
    });
    Some(ranges.collect())
}

/// A rule's edge along a strip: the line through the even ends of its ticks.
#[derive(Clone, Copy, Debug)]
pub(super) struct EdgeLine {
    /// Rows a column.
    pub(super) slope: f64,
    /// Row at column 0.
    pub(super) offset: f64,
    /// Standard uncertainty of the slope.
    pub(super) slope_u: f64,
    /// Mean distance of the ends from the line, pixels, far ones cut off: an edge's ends are even.
    uneven: f64,
}

/// Ends farther off than this do not tell where the edge runs, pixels.
const FAR_OFF_PX: f64 = 2.5;
/// Standard uncertainty of an end common to all, pixels. Chosen: a tenth is left of what whole pixels
/// would round after the end is placed between two.
const ROUNDED_PX: f64 = 0.1;

impl EdgeLine {
    /// None unless most of so many ticks tell it.
    fn through(ends: &[(f64, f64)], ticks: usize) -> Option<Self> {
        let third = ends.len() / 3;
        if third < 3 {
            return None;
        }
        let median = |mut values: Vec<f64>| {
            values.sort_by(f64::total_cmp);
            values[values.len() / 2]
        };
        let middle = |part: &[(f64, f64)]| {
            let x = median(part.iter().map(|p| p.0).collect());
            (x, median(part.iter().map(|p| p.1).collect()))
        };
        // By medians of the first and last third, then by least squares over what lies close.
        let (a, b) = (middle(&ends[..third]), middle(&ends[ends.len() - third..]));
        let slope = (b.1 - a.1) / (b.0 - a.0);
        let mut line = Self { slope, offset: a.1 - slope * a.0, slope_u: 1.0, uneven: 0.0 };
        for _ in 0..3 {
            let near: Vec<(f64, f64)> =
                ends.iter().filter(|p| line.off(**p).abs() <= FAR_OFF_PX).copied().collect();
            let n = near.len() as f64;
            if near.len() * 2 < ticks {
                return None;
            }
            let mean = |k: &dyn Fn(&(f64, f64)) -> f64| near.iter().map(k).sum::<f64>() / n;
            let (x, y) = (mean(&|p| p.0), mean(&|p| p.1));
            let spread = mean(&|p| (p.0 - x).powi(2));
            let slope = mean(&|p| (p.0 - x) * (p.1 - y)) / spread;
            let left = mean(&|p| (p.1 - y - slope * (p.0 - x)).powi(2));
            // Pixels round all ends of a level edge alike.
            let slope_u = ((left / n + ROUNDED_PX * ROUNDED_PX) / spread).sqrt();
            line = Self { slope, offset: y - slope * x, slope_u, ..line };
        }
        line.uneven =
            ends.iter().map(|p| line.off(*p).abs().min(12.0)).sum::<f64>() / ends.len() as f64;
        (line.slope.is_finite() && line.slope_u.is_finite()).then_some(line)
    }

    fn off(&self, (t, v): (f64, f64)) -> f64 {
        v - self.offset - self.slope * t
    }
}
