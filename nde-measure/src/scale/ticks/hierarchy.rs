//! Which graduation a row of ticks is, by how long its ticks are.
//!
//! On a millimetre row every tenth tick is longest and the fifth between is longer than the rest; on
//! a half-millimetre row that holds for every twentieth and tenth; on an inch row the inch, its
//! halves, quarters and so on become ever shorter. The pattern tells 1 mm from 0.5 mm and from
//! 1/32 in, which the spacing in the photo alone never can.

use crate::scale::spec::TickPitch;
use crate::scale::ticks::lengths::TickLength;

/// Least part of the lengths' scatter (sum of distances from the median) that the right pattern must explain.
const LEAST_EXPLAINED: f64 = 0.6;
/// What the right pattern leaves unexplained, as a share of what any other leaves, at most.
const CLEARER_THAN_OTHERS: f64 = 0.7;
/// Standard errors by which a longer class of ticks must exceed the next shorter one.
const CLEARLY_LONGER: f64 = 4.0;
/// Least lead of one class over the next, as a share of the greatest lead among the longest classes.
/// Chosen: rules looked at have leads within a factor of two; misread ones leave next to none.
const LEAST_LEAD: f64 = 0.25;
/// Every second one of the longest ticks may differ from the others by this share of their lead over
/// the next shorter class, at most: more, and only every second one is of the longest kind.
const MOST_UNEVEN: f64 = 0.4;
/// Ticks nearer than this, pixels, may be lost to blur: then a row may be one step coarser than
/// stated. Chosen: at 6 px apart even thin ticks keep a third of their contrast under 1.4 px of blur.
const SURELY_SEEN_PX: f64 = 6.0;
/// Two whole inches are enough where they are alike to this share of their lead over the halves, and
/// lead no more than so many times what the halves lead by; else three are asked for. A numeral that
/// runs into a tick makes it longer by more than that, and numerals differ.
const FEW_ALIKE: f64 = 0.3;
const FEW_LEAD: f64 = 1.6;
/// Of inches and halves this share at least must be of their own kind: within this share of the lead.
/// Chosen: a glint that shortens one inch in four makes 1/64 of 1/32 otherwise.
const LEAST_OWN_KIND: f64 = 0.6;
const OWN_KIND: f64 = 0.4;
/// Most kinds of ticks of a pattern.
const MOST_CLASSES: usize = 7;

/// What the lengths of a row's ticks tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Graduated {
    /// Distance of neighbouring ticks.
    pub(super) pitch: TickPitch,
    /// Number of one of the longest ticks.
    pub(super) zero: i64,
}

impl Graduated {
    /// Ticks from one longest tick to the next.
    pub(super) const fn longest_every(pitch: TickPitch) -> i64 {
        Pattern::of(pitch).period()
    }

    /// Kind of a tick so many from one of the longest: 0 for those, more the shorter.
    pub(super) const fn kind(pitch: TickPitch, from_zero: i64) -> usize {
        Pattern::of(pitch).class(from_zero)
    }

    /// Itself if it is the stated graduation, or one step coarser where the finer ticks may be lost at
    /// this spacing in the photo: then the coarser ticks are as good. Else what it is instead.
    pub(super) fn confirms(self, stated: TickPitch, spacing_px: f64) -> Result<Self, String> {
        let coarser = match stated {
            TickPitch::HalfMillimetre => Some(TickPitch::Millimetre),
            TickPitch::InchThirtySecond => Some(TickPitch::InchSixteenth),
            TickPitch::InchSixtyFourth => Some(TickPitch::InchThirtySecond),
            _ => None,
        };
        let lost = spacing_px / 2.0 < SURELY_SEEN_PX;
        if self.pitch == stated || (lost && coarser == Some(self.pitch)) {
            return Ok(self);
        }
        Err(format!(
            "the longest ticks repeat every {}, not every {}: this looks like {}",
            Self::longest_every(self.pitch),
            Self::longest_every(stated),
            kind_of_rule(self.pitch)
        ))
    }
}

const fn kind_of_rule(pitch: TickPitch) -> &'static str {
    match pitch {
        TickPitch::Millimetre => "a millimetre rule",
        TickPitch::HalfMillimetre => "a half-millimetre rule",
        TickPitch::InchSixteenth => "a rule of sixteenths of an inch",
        TickPitch::InchThirtySecond => "a rule of 32nds of an inch",
        TickPitch::InchSixtyFourth => "a rule of 64ths of an inch",
    }
}

/// Patterns: for each period of ticks, longest first; the rest are short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pattern {
    /// A graduation that is read.
    Of(TickPitch),
    /// Every second longer, nothing else: no graduation at all.
    Alternating,
}

impl Pattern {
    const ALL: [Self; 6] = [
        Self::Of(TickPitch::Millimetre),
        Self::Of(TickPitch::HalfMillimetre),
        Self::Of(TickPitch::InchSixteenth),
        Self::Of(TickPitch::InchThirtySecond),
        Self::Of(TickPitch::InchSixtyFourth),
        Self::Alternating,
    ];

    const fn of(pitch: TickPitch) -> Self {
        Self::Of(pitch)
    }

    const fn period(self) -> i64 {
        match self {
            Self::Of(TickPitch::Millimetre) => 10,
            Self::Of(TickPitch::HalfMillimetre) => 20,
            Self::Of(TickPitch::InchSixteenth) => 16,
            Self::Of(TickPitch::InchThirtySecond) => 32,
            Self::Of(TickPitch::InchSixtyFourth) => 64,
            Self::Alternating => 2,
        }
    }

    /// Class of a tick, 0 for the longest.
    const fn class(self, number: i64) -> usize {
        let n = number.rem_euclid(self.period());
        match self {
            Self::Of(TickPitch::Millimetre) => match n {
                0 => 0,
                5 => 1,
                _ => 2,
            },
            Self::Of(TickPitch::HalfMillimetre) => match n {
                0 => 0,
                10 => 1,
                n if n % 2 == 0 => 2,
                _ => 3,
            },
            _ if n == 0 => 0,
            // The inch, its halves, quarters and so on; the same for every second.
            _ => (self.period().trailing_zeros() - n.trailing_zeros()) as usize,
        }
    }

    /// Whether both halve the inch: then they differ only in their longest ticks.
    fn is_sibling(self, other: Self) -> bool {
        let halves = |p: Self| p.period() % 16 == 0;
        halves(self) && halves(other)
    }

    /// Pairs of neighbouring classes, longest first, that must differ for certain.
    const fn sure_pairs(self) -> usize {
        match self {
            Self::Of(TickPitch::Millimetre) => 2,
            Self::Alternating => 1,
            Self::Of(_) => 3,
        }
    }
}

/// Lengths of one class. Medians and absolute distances: a tick that runs into a numeral or a glint
/// must not decide.
#[derive(Clone, Debug, Default)]
struct Class {
    lengths: Vec<f64>,
}

impl Class {
    fn count(&self) -> f64 {
        self.lengths.len() as f64
    }

    fn median(&self) -> f64 {
        let mut sorted = self.lengths.clone();
        sorted.sort_by(f64::total_cmp);
        let n = sorted.len();
        if n == 0 { 0.0 } else { (sorted[(n - 1) / 2] + sorted[n / 2]) / 2.0 }
    }

    fn unexplained(&self) -> f64 {
        let median = self.median();
        self.lengths.iter().map(|l| (l - median).abs()).sum()
    }
}

/// How well a pattern explains the lengths with its best start.
#[derive(Clone, Debug)]
struct Explained {
    start: i64,
    unexplained: f64,
    classes: [Class; MOST_CLASSES],
}

/// Whether only starts count that make the classes ever shorter in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Order {
    Kept,
    Any,
}

fn explain(lengths: &[TickLength], pattern: Pattern, order: Order) -> Option<Explained> {
    (0..pattern.period())
        .map(|start| {
            let mut classes: [Class; MOST_CLASSES] = std::array::from_fn(|_| Class::default());
            for tick in lengths {
                classes[pattern.class(tick.number - start)].lengths.push(tick.length);
            }
            let unexplained = classes.iter().map(Class::unexplained).sum();
            Explained { start, unexplained, classes }
        })
        .filter(|explained| {
            let seen = explained.classes.iter().filter(|c| c.count() > 0.0).map(Class::median);
            let seen: Vec<f64> = seen.collect();
            order == Order::Any || seen.windows(2).all(|w| w[0] >= w[1] || w[1] < 0.1 * seen[0])
        })
        .min_by(|a, b| a.unexplained.total_cmp(&b.unexplained))
}

/// How much of overlong ticks is cut off before they are compared.
#[derive(Clone, Copy, Debug)]
enum Cut {
    /// Only what no row has.
    Little,
    /// Whatever sticks out: for rows whose longest ticks often run into numerals.
    Much,
}

/// Lengths above the short ticks nearby, dirt and numerals cut off.
///
/// Seen at a slant the short ticks themselves drift, so each is taken against the lower quarter of
/// its neighbours; a tick that runs into a numeral counts no longer than the longest that are common.
fn levelled(lengths: &[TickLength], cut: Cut) -> Vec<TickLength> {
    let quantile = |values: &[f64], share: f64| {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        let last = sorted.len().saturating_sub(1) as f64;
        // Nearest rank.
        let rank = (0..sorted.len()).find(|i| *i as f64 >= share * last).unwrap_or(0);
        sorted.get(rank).copied().unwrap_or(0.0)
    };
    let all: Vec<f64> = lengths.iter().map(|t| t.length).collect();
    let above: Vec<f64> = (0..all.len())
        .map(|i| {
            let near = &all[i.saturating_sub(10)..(i + 11).min(all.len())];
            all[i] - quantile(near, 0.25)
        })
        .collect();
    // Whole inches are a sixty-fourth of the ticks, and up to half as long again as the halves.
    let most = match cut {
        Cut::Little => 1.5 * quantile(&above, 0.97),
        Cut::Much => 2.2 * quantile(&above, 0.9),
    };
    let most = most.max(0.0);
    lengths
        .iter()
        .zip(above)
        .map(|(t, length)| TickLength { number: t.number, length: length.clamp(-0.2 * most, most) })
        .collect()
}

/// The graduation that the lengths show beyond doubt; none if there is none or more than one.
pub(super) fn recognise(lengths: &[TickLength]) -> Option<Graduated> {
    [Cut::Little, Cut::Much].into_iter().find_map(|cut| recognise_cut(&levelled(lengths, cut)))
}

fn recognise_cut(lengths: &[TickLength]) -> Option<Graduated> {
    let total = Class { lengths: lengths.iter().map(|t| t.length).collect() }.unexplained();
    if total <= 0.0 {
        return None;
    }
    let mut found = None;
    let left: Vec<(Pattern, f64)> = Pattern::ALL
        .into_iter()
        .filter_map(|p| explain(lengths, p, Order::Any).map(|e| (p, e.unexplained)))
        .collect();
    for pattern in Pattern::ALL {
        let Pattern::Of(pitch) = pattern else { continue };
        let Some(best) = explain(lengths, pattern, Order::Kept) else { continue };
        let clearer = left
            .iter()
            .filter(|(p, _)| *p != pattern && !pattern.is_sibling(*p))
            .all(|(_, other)| best.unexplained <= CLEARER_THAN_OTHERS * other);
        let explained = best.unexplained <= (1.0 - LEAST_EXPLAINED) * total;
        if explained && clearer && best.stands(pattern, lengths) {
            if found.is_some() {
                return None;
            }
            found = Some(Graduated { pitch, zero: best.start });
        }
    }
    found
}

impl Explained {
    /// Whether each longer kind is there at least twice, longer for certain, and of one kind itself.
    fn stands(&self, pattern: Pattern, lengths: &[TickLength]) -> bool {
        let n = lengths.len() as f64;
        // Of a normal scatter the mean distance is 0.80 standard deviations, and a median scatters
        // 1.25 times as much as a mean.
        let spread = self.unexplained / (n - 3.0).max(1.0) / 0.80;
        let medians = || self.classes[..=pattern.sure_pairs()].iter().map(Class::median);
        let leads = medians().zip(medians().skip(1)).map(|(longer, shorter)| longer - shorter);
        let least_lead = LEAST_LEAD * leads.fold(0.0, f64::max);
        let sure = self.classes[..=pattern.sure_pairs()].windows(2).all(|pair| {
            let [longer, shorter] = pair else { return false };
            let counts = 1.0 / longer.count() + 1.0 / shorter.count();
            let error = 1.25 * spread * counts.sqrt();
            longer.count() >= 2.0
                && shorter.count() >= 2.0
                && longer.median() - shorter.median() >= least_lead.max(CLEARLY_LONGER * error)
        });
        sure && self.longest_are_a_kind(pattern) && self.longest_are_even(pattern, lengths)
    }

    /// Whether every second one of the longest ticks is as long as the others; a few that a glint cut
    /// short do not count.
    fn longest_are_even(&self, pattern: Pattern, lengths: &[TickLength]) -> bool {
        let next = self.classes[1].median();
        let lead = self.classes[0].median() - next;
        let every = |parity: i64| -> Vec<f64> {
            let of_class = lengths.iter().filter(|tick| {
                let from_start = tick.number - self.start;
                let turns = from_start.div_euclid(pattern.period());
                pattern.class(from_start) == 0 && turns.rem_euclid(2) == parity
            });
            of_class.map(|tick| tick.length).collect()
        };
        let of_kind = |all: &[f64]| {
            let kept = all.iter().filter(|l| **l - next >= (1.0 - OWN_KIND) * lead);
            Class { lengths: kept.copied().collect() }
        };
        let (even, odd) = (every(0), every(1));
        let both = !even.is_empty() && !odd.is_empty();
        let [first, second] = [&even, &odd].map(|all| of_kind(all));
        let enough =
            2.0 * first.count() >= even.len() as f64 && 2.0 * second.count() >= odd.len() as f64;
        enough && (!both || (first.median() - second.median()).abs() <= MOST_UNEVEN * lead)
    }
}

impl Explained {
    /// Whether inches and halves are what they are taken for; tens show it by their many fives.
    fn longest_are_a_kind(&self, pattern: Pattern) -> bool {
        if !pattern.is_sibling(pattern) {
            return true;
        }
        let [inches, halves, quarters] = [0, 1, 2].map(|k| &self.classes[k]);
        let (lead, next) = (inches.median() - halves.median(), halves.median() - quarters.median());
        let share = |class: &Class, own: &dyn Fn(f64) -> bool| {
            class.lengths.iter().filter(|l| own(**l)).count() as f64 / class.count().max(1.0)
        };
        // Numerals make inches longer; what makes them shorter makes halves of them.
        let inch = |l: f64| l - halves.median() >= (1.0 - OWN_KIND) * lead;
        let half = |l: f64| (l - halves.median()).abs() <= OWN_KIND * lead;
        let pure = share(inches, &inch) >= LEAST_OWN_KIND && share(halves, &half) >= LEAST_OWN_KIND;
        let alike = |l: f64| (l - inches.median()).abs() <= FEW_ALIKE / 2.0 * lead;
        let few_but_sure = share(inches, &alike) >= 1.0 && lead <= FEW_LEAD * next;
        pure && (inches.count() >= 3.0 || few_but_sure)
    }
}

#[cfg(test)]
mod tests;
