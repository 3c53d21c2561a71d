//! Where in the photo something repeats along a straight line, as the graduations of a rule do.
//!
//! Small blocks whose gradients all point one way are looked at along that way; a block counts when
//! its profile repeats (autocorrelation). Blocks that agree in direction and period and lie in line
//! make a row.

use crate::scale::grey::Grey;

/// Step from block to block, and height of a block, pixels of the grey picture.
const STEP: usize = 24;
/// Length of a block's profile.
const PROFILE: usize = 96;
/// Shortest and longest period looked for, pixels.
const PERIODS: [usize; 2] = [4, 42];
/// Least agreement of a block's profile with itself one period on (autocorrelation, 0 to 1).
/// Chosen: brushed metal and paper stay below 0.35 on the photos looked at.
const LEAST_REPEAT: f64 = 0.45;
/// Least root mean square of the gradient in a block, levels a pixel.
const LEAST_GRADIENT: f64 = 1.5;
/// Least share of the gradient that points one way (0 to 1).
const LEAST_ONE_WAY: f64 = 0.5;
/// Blocks that make a row.
const FEWEST_BLOCKS: usize = 5;

/// A block that repeats.
#[derive(Clone, Copy, Debug)]
struct Block {
    at: [f64; 2],
    /// Direction along which it repeats, radians, in [-pi/2, pi/2).
    angle: f64,
    period: f64,
    repeat: f64,
}

/// A straight row of repeating marks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    /// Its strongest place, pixels of the grey picture.
    pub(super) at: [f64; 2],
    /// Unit vector along the row.
    pub(super) along: [f64; 2],
    /// Unit vector along the marks.
    pub(super) mark: [f64; 2],
    /// Period at the strongest place, pixels.
    pub(super) period: f64,
    /// Extent along the row from `at`, pixels: before (negative) and behind.
    pub(super) extent: [f64; 2],
    pub(super) blocks: usize,
}

/// Rows within an outline (anywhere if it is empty), the one of most blocks first, at most `most`.
pub(super) fn find(grey: &Grey, within: &[[f64; 2]], most: usize) -> Vec<Row> {
    let mut blocks = repeating_blocks(grey);
    blocks.retain(|b| within.is_empty() || encloses(within, b.at));
    blocks.sort_by(|a, b| b.repeat.total_cmp(&a.repeat));
    let mut rows: Vec<Row> = Vec::new();
    let mut left = blocks;
    let mut tries = 0;
    while !left.is_empty() && tries < 60 {
        tries += 1;
        let seed = left[0];
        let (row, members) = row_through(&seed, &left);
        let used = |b: &Block| members.contains(&key(b)) || key(b) == key(&seed);
        left.retain(|b| !used(b));
        if let Some(row) = row {
            rows.push(row);
        }
    }
    rows.sort_by_key(|r| std::cmp::Reverse(r.blocks));
    rows.truncate(most);
    rows
}

fn encloses(ring: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    let edges = ring.iter().zip(ring.iter().cycle().skip(1));
    let crossed = edges.filter(|(a, b)| {
        (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    });
    crossed.count() % 2 == 1
}

fn key(block: &Block) -> [u64; 2] {
    block.at.map(f64::to_bits)
}

fn repeating_blocks(grey: &Grey) -> Vec<Block> {
    let mut blocks = Vec::new();
    let (width, height) = (grey.width, grey.height);
    let row = |y: usize| &grey.levels[y * width..(y + 1) * width];
    let mut y = 1;
    while y + STEP + 1 < height {
        let mut x = 1;
        while x + STEP + 1 < width {
            // Of 24 by 24 differences of bytes the sums stay below 2^26.
            let (mut xx, mut xy, mut yy) = (0_i32, 0_i32, 0_i32);
            for j in y..y + STEP {
                let across = &row(j)[x - 1..x + STEP + 1];
                let (above, below) = (&row(j - 1)[x..x + STEP], &row(j + 1)[x..x + STEP]);
                let along = across.iter().zip(&across[2..]);
                for ((left, right), (up, down)) in along.zip(above.iter().zip(below)) {
                    let gx = i16::from(*right) - i16::from(*left);
                    let gy = i16::from(*down) - i16::from(*up);
                    xx += i32::from(gx) * i32::from(gx);
                    xy += i32::from(gx) * i32::from(gy);
                    yy += i32::from(gy) * i32::from(gy);
                }
            }
            let [xx, xy, yy] = [xx, xy, yy].map(f64::from);
            let trace = xx + yy;
            let one_way = (xx - yy).hypot(2.0 * xy) / trace.max(1.0);
            let gradient = (trace / (STEP * STEP) as f64).sqrt() / 2.0;
            if gradient >= LEAST_GRADIENT && one_way >= LEAST_ONE_WAY {
                let angle = (2.0 * xy).atan2(xx - yy) / 2.0;
                let at = [(x + STEP / 2) as f64, (y + STEP / 2) as f64];
                if let Some((period, repeat)) = repeats(grey, at, angle) {
                    blocks.push(Block { at, angle, period, repeat });
                }
            }
            x += STEP;
        }
        y += STEP;
    }
    blocks
}

/// Period and agreement of the profile through a block; none if it does not repeat.
fn repeats(grey: &Grey, at: [f64; 2], angle: f64) -> Option<(f64, f64)> {
    let (sin, cos) = angle.sin_cos();
    let mut profile = [0.0; PROFILE];
    for (i, value) in profile.iter_mut().enumerate() {
        let t = i as f64 - PROFILE as f64 / 2.0;
        for v in -7..=7 {
            let v = f64::from(v);
            *value += grey.at([at[0] + t * cos - v * sin, at[1] + t * sin + v * cos])?;
        }
    }
    // Slow changes of light are no repetition: take off a straight line piece by piece.
    let smooth: Vec<f64> = (0..PROFILE)
        .map(|i| {
            let (low, high) =
                (i.saturating_sub(PERIODS[1] / 2), (i + PERIODS[1] / 2 + 1).min(PROFILE));
            profile[low..high].iter().sum::<f64>() / (high - low) as f64
        })
        .collect();
    for (value, mean) in profile.iter_mut().zip(&smooth) {
        *value -= mean;
    }
    let agreement = |lag: usize| {
        let (a, b) = (&profile[..PROFILE - lag], &profile[lag..]);
        let product: f64 = a.iter().zip(b).map(|(x, y)| x * y).sum();
        let power = |s: &[f64]| s.iter().map(|x| x * x).sum::<f64>();
        product / (power(a) * power(b)).sqrt().max(1e-9)
    };
    let all: Vec<f64> = (0..=PERIODS[1] + 1).map(agreement).collect();
    let peaks: Vec<usize> = (PERIODS[0]..=PERIODS[1])
        .filter(|l| all[*l] >= all[l - 1] && all[*l] > all[l + 1])
        .collect();
    let most = peaks.iter().map(|l| all[*l]).fold(0.0, f64::max);
    if most < LEAST_REPEAT {
        return None;
    }
    let lag = *peaks.iter().find(|l| all[**l] > 0.75 * most)?;
    // Vertex of the parabola through three.
    let (a, b, c) = (all[lag - 1], all[lag], all[lag + 1]);
    let shift = (a - c) / (2.0 * (a - 2.0 * b + c)).min(-1e-9);
    Some((lag as f64 + shift.clamp(-0.5, 0.5), b))
}

/// The row through a block, and the keys of the blocks on it.
fn row_through(seed: &Block, blocks: &[Block]) -> (Option<Row>, Vec<[u64; 2]>) {
    let alike = |b: &Block| {
        let turned = (b.angle - seed.angle).sin().abs();
        let ratio = b.period / seed.period;
        turned < 0.1 && ratio > 0.72 && ratio < 1.4
    };
    let mut along = [seed.angle.cos(), seed.angle.sin()];
    let mut through = seed.at;
    let mut members: Vec<Block> = Vec::new();
    // A wide fan first, then a band of one block to each side of the line fitted so far.
    for round in 0..4 {
        members = blocks
            .iter()
            .filter(|b| alike(b))
            .filter(|b| {
                let d = [b.at[0] - through[0], b.at[1] - through[1]];
                let t = d[0] * along[0] + d[1] * along[1];
                let off = (d[1] * along[0] - d[0] * along[1]).abs();
                let fan = if round == 0 { (0.06 * t.abs()).min(60.0) } else { 0.0 };
                off <= STEP as f64 * 0.75 + fan
            })
            .copied()
            .collect();
        if members.len() < FEWEST_BLOCKS {
            break;
        }
        let n = members.len() as f64;
        let mean = [0, 1].map(|k| members.iter().map(|b| b.at[k]).sum::<f64>() / n);
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for b in &members {
            let d = [b.at[0] - mean[0], b.at[1] - mean[1]];
            xx += d[0] * d[0];
            xy += d[0] * d[1];
            yy += d[1] * d[1];
        }
        let angle = (2.0 * xy).atan2(xx - yy) / 2.0;
        // A row along its marks is none; it must run across them.
        if (angle - seed.angle).cos().abs() < 0.96 {
            break;
        }
        along = [angle.cos(), angle.sin()];
        through = mean;
    }
    let keys = members.iter().map(key).collect();
    if members.len() < FEWEST_BLOCKS {
        return (None, keys);
    }
    let to_line = |p: [f64; 2]| {
        let d = [p[0] - through[0], p[1] - through[1]];
        d[0] * along[0] + d[1] * along[1]
    };
    let at_t = to_line(seed.at);
    let at = [through[0] + at_t * along[0], through[1] + at_t * along[1]];
    let low = members.iter().map(|b| to_line(b.at) - at_t).fold(0.0, f64::min);
    let high = members.iter().map(|b| to_line(b.at) - at_t).fold(0.0, f64::max);
    // Marks stand square to the mean direction in which the blocks repeat.
    let (mut c, mut s) = (0.0, 0.0);
    for b in &members {
        c += (2.0 * b.angle).cos();
        s += (2.0 * b.angle).sin();
    }
    let across = s.atan2(c) / 2.0;
    let mark = [-across.sin(), across.cos()];
    let row = Row {
        at,
        along,
        mark,
        period: seed.period,
        extent: [low - PROFILE as f64 / 2.0, high + PROFILE as f64 / 2.0],
        blocks: members.len(),
    };
    (Some(row), keys)
}
