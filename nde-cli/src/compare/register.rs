//! Laying two lists of places over one another: by the frame of the scale, or by the indications
//! themselves (turn and shift, least squares, outliers left out).

use super::marks::Mark;

/// How the two are laid over one another.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Align {
    /// By the indications where enough of them agree, else by the frame of the scale.
    #[default]
    Auto,
    /// By the frame of the scale: it lay in the same place both times.
    Scale,
    /// By the indications.
    Marks,
}

/// Places that agree within this are taken as one when laying over, mm. Chosen: far above what a
/// centroid is measured to, below the gaps of most rows; an end that grows 2 mm moves it by 1.
pub(super) const AGREE_MM: f64 = 1.0;
/// Fewest agreeing indications that prove a turn and shift. Two always have one that fits roughly.
const FEWEST: usize = 3;
/// Largest indications of each list that are tried against one another: keeps the work bounded.
const MOST_TRIED: usize = 40;
/// Most turns and shifts that may be expected to agree as well by chance. Chosen: one part in a hundred.
const BY_CHANCE: f64 = 0.01;
/// Rounds of the least-squares fit.
const ROUNDS: usize = 5;

/// A place in the old frame and one in the new frame.
type FromTo = ([f64; 2], [f64; 2]);

/// A turn and a shift from the old frame to the new one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Move {
    cos: f64,
    sin: f64,
    shift: [f64; 2],
}

impl Move {
    pub(crate) const NONE: Self = Self { cos: 1.0, sin: 0.0, shift: [0.0, 0.0] };

    pub(crate) fn apply(&self, p: [f64; 2]) -> [f64; 2] {
        [
            self.cos * p[0] - self.sin * p[1] + self.shift[0],
            self.sin * p[0] + self.cos * p[1] + self.shift[1],
        ]
    }

    /// Turn in degrees, from x towards y.
    #[must_use]
    pub(crate) fn turn_deg(&self) -> f64 {
        self.sin.atan2(self.cos).to_degrees()
    }

    /// Least squares over pairs; none for fewer than two different places.
    pub(super) fn fitted(pairs: &[FromTo]) -> Option<Self> {
        let n = f64::from(u32::try_from(pairs.len()).ok()?);
        let mean = |pick: fn(&FromTo) -> [f64; 2]| {
            let sum = pairs.iter().map(pick).fold([0.0, 0.0], |s, p| [s[0] + p[0], s[1] + p[1]]);
            [sum[0] / n, sum[1] / n]
        };
        let (from, to) = (mean(|p| p.0), mean(|p| p.1));
        let (mut dot, mut cross) = (0.0, 0.0);
        for (a, b) in pairs {
            let (a, b) = ([a[0] - from[0], a[1] - from[1]], [b[0] - to[0], b[1] - to[1]]);
            dot += a[0] * b[0] + a[1] * b[1];
            cross += a[0] * b[1] - a[1] * b[0];
        }
        let size = dot.hypot(cross);
        if pairs.len() < 2 || size < 1e-9 {
            return None;
        }
        let turned = Self { cos: dot / size, sin: cross / size, shift: [0.0, 0.0] };
        let at = turned.apply(from);
        Some(Self { shift: [to[0] - at[0], to[1] - at[1]], ..turned })
    }
}

/// Two lists laid over one another.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Laid {
    /// From the old frame to the new one.
    pub by: Move,
    /// Whether the indications themselves carried it.
    pub by_marks: bool,
    /// How many agreed.
    pub agreeing: usize,
    /// Root mean square of what is left between those, mm; absent when nothing was fitted.
    pub residual_mm: Option<f64>,
    /// How many turns and shifts would be expected to agree as well if all places were thrown at random.
    pub by_chance: f64,
}

impl Laid {
    /// Whether as many indications would agree by chance: then they prove nothing about the place.
    #[must_use]
    pub(crate) fn may_be_chance(&self) -> bool {
        self.by_marks && self.by_chance >= BY_CHANCE
    }
}

/// Lays `old` over `new`; none when the indications are asked and do not agree.
pub(super) fn register(old: &[Mark], new: &[Mark], align: Align) -> Option<Laid> {
    match align {
        Align::Scale => Some(by_scale(old, new)),
        Align::Marks => by_marks(old, new),
        Align::Auto => Some(by_marks(old, new).unwrap_or_else(|| by_scale(old, new))),
    }
}

/// Lays `old` over `new` by the frames as they stand.
pub(super) fn by_scale(old: &[Mark], new: &[Mark]) -> Laid {
    let agreeing = agreeing(old, new, &Move::NONE).len();
    Laid { by: Move::NONE, by_marks: false, agreeing, residual_mm: None, by_chance: 0.0 }
}

fn by_marks(old: &[Mark], new: &[Mark]) -> Option<Laid> {
    let (old, new) = (largest(old), largest(new));
    let fewer = old.len().min(new.len());
    if fewer < FEWEST {
        return None;
    }
    // Where the scale lay still, nothing needs to be searched.
    let mut best = Move::NONE;
    let mut most = agreeing(&old, &new, &best).len();
    let (mut tried_moves, mut searched) = (0_u32, false);
    for (i, a) in old.iter().enumerate() {
        for b in &old[i + 1..] {
            let apart = distance(a.at_mm, b.at_mm);
            if apart < 2.0 * AGREE_MM {
                continue; // Too near to tell a direction.
            }
            for c in &new {
                for d in &new {
                    if (distance(c.at_mm, d.at_mm) - apart).abs() > AGREE_MM {
                        continue;
                    }
                    let pair = [(a.at_mm, c.at_mm), (b.at_mm, d.at_mm)];
                    let Some(tried) = Move::fitted(&pair) else { continue };
                    tried_moves = tried_moves.saturating_add(1);
                    let found = agreeing(&old, &new, &tried).len();
                    if found > most {
                        (best, most, searched) = (tried, found, true);
                    }
                }
            }
            if most == fewer {
                break;
            }
        }
    }
    // Half of the shorter list: a few of many agree by chance.
    if most < FEWEST.max(fewer.div_ceil(2)) {
        return None;
    }
    // Two of the agreeing places made the move; where nothing was moved, none did.
    let (moves, free) = if searched { (f64::from(tried_moves), 2) } else { (1.0, 0) };
    let by_chance = moves * chances(old.len() - free, most - free, share_hit(&new));
    let mut pairs = agreeing(&old, &new, &best);
    for _ in 0..ROUNDS {
        best = Move::fitted(&pairs)?;
        pairs = agreeing(&old, &new, &best);
    }
    let n = f64::from(u32::try_from(pairs.len()).ok()?);
    let squares: f64 = pairs.iter().map(|(a, b)| distance(best.apply(*a), *b).powi(2)).sum();
    Some(Laid {
        by: best,
        by_marks: true,
        agreeing: pairs.len(),
        residual_mm: Some((squares / n.max(1.0)).sqrt()),
        by_chance,
    })
}

/// Share of the ground within reach of one of these places.
fn share_hit(marks: &[Mark]) -> f64 {
    let side = |k: usize| {
        let all = || marks.iter().map(|m| m.at_mm[k]);
        all().fold(f64::MIN, f64::max) - all().fold(f64::MAX, f64::min) + 2.0 * AGREE_MM
    };
    let one = std::f64::consts::PI * AGREE_MM * AGREE_MM;
    (one * marks.len() as f64 / (side(0) * side(1))).min(1.0)
}

/// Expected number of ways in which `hits` of `places` lie on ground of this share.
fn chances(places: usize, hits: usize, share: f64) -> f64 {
    (0..hits).map(|n| share * (places.saturating_sub(n)) as f64 / (n + 1) as f64).product()
}

fn largest(marks: &[Mark]) -> Vec<Mark> {
    let mut marks = marks.to_vec();
    marks.sort_by(|a, b| b.length_mm.total_cmp(&a.length_mm).then_with(|| a.id.cmp(&b.id)));
    marks.truncate(MOST_TRIED);
    marks
}

/// Places that are each other's nearest and agree.
fn agreeing(old: &[Mark], new: &[Mark], by: &Move) -> Vec<FromTo> {
    let moved: Vec<[f64; 2]> = old.iter().map(|m| by.apply(m.at_mm)).collect();
    let nearest = |p: [f64; 2], list: &mut dyn Iterator<Item = [f64; 2]>| {
        list.map(|q| distance(p, q)).enumerate().min_by(|a, b| a.1.total_cmp(&b.1))
    };
    let mut pairs = Vec::new();
    for (i, p) in moved.iter().enumerate() {
        let Some((j, apart)) = nearest(*p, &mut new.iter().map(|m| m.at_mm)) else { break };
        if apart > AGREE_MM {
            continue;
        }
        let back = nearest(new[j].at_mm, &mut moved.iter().copied());
        if back.is_some_and(|(k, _)| k == i) {
            pairs.push((old[i].at_mm, new[j].at_mm));
        }
    }
    pairs
}

pub(super) fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}
