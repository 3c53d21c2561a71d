//! Which graduation a row of ticks is, by how long its ticks are.
//!
//! On a millimetre row every tenth tick is longest and the fifth between is longer than the rest; on
//! a half-millimetre row that holds for every twentieth and tenth. The pattern tells 1 mm from
//! 0.5 mm, which the spacing in the photo alone never can.

use crate::scale::spec::TickPitch;

/// Least part of the lengths' scatter (sum of distances from the median) that the right pattern must explain.
const LEAST_EXPLAINED: f64 = 0.6;
/// What the right pattern leaves unexplained, as a share of what any other leaves, at most.
const CLEARER_THAN_OTHERS: f64 = 0.7;
/// Standard errors by which a longer class of ticks must exceed the next shorter one.
const CLEARLY_LONGER: f64 = 4.0;

/// Length of one tick beyond the shortest, any unit, by its number along the row.
#[derive(Clone, Copy, Debug)]
pub(super) struct TickLength {
    pub(super) number: i64,
    pub(super) length: f64,
}

/// Patterns: for each period of ticks, longest first; the rest are short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pattern {
    Decimal,
    HalfDecimal,
    /// Halves, quarters, eighths and so on of 32.
    Binary,
    /// Every second longer, nothing else: no graduation at all.
    Alternating,
}

impl Pattern {
    const ALL: [Self; 4] = [Self::Decimal, Self::HalfDecimal, Self::Binary, Self::Alternating];

    const fn period(self) -> i64 {
        match self {
            Self::Decimal => 10,
            Self::HalfDecimal => 20,
            Self::Binary => 32,
            Self::Alternating => 2,
        }
    }

    /// Class of a tick, 0 for the longest.
    const fn class(self, number: i64) -> usize {
        let n = number.rem_euclid(self.period());
        match self {
            Self::Decimal => match n {
                0 => 0,
                5 => 1,
                _ => 2,
            },
            Self::HalfDecimal => match n {
                0 => 0,
                10 => 1,
                n if n % 2 == 0 => 2,
                _ => 3,
            },
            Self::Binary => {
                if n == 0 {
                    0
                } else {
                    5 - n.trailing_zeros() as usize
                }
            }
            Self::Alternating => (n != 0) as usize,
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
    classes: [Class; 6],
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
            let mut classes: [Class; 6] = std::array::from_fn(|_| Class::default());
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

/// Lengths above the short ticks nearby, dirt and numerals cut off.
///
/// Seen at a slant the short ticks themselves drift, so each is taken against the lower quarter of
/// its neighbours; a tick that runs into a numeral counts no longer than the longest that are common.
fn levelled(lengths: &[TickLength]) -> Vec<TickLength> {
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
    let most = quantile(&above, 0.97).max(0.0);
    lengths
        .iter()
        .zip(above)
        .map(|(t, length)| TickLength { number: t.number, length: length.clamp(-0.2 * most, most) })
        .collect()
}

/// Confirms the stated graduation; the number of a longest tick if it is right, else why not.
pub(super) fn confirm(lengths: &[TickLength], stated: TickPitch) -> Result<i64, String> {
    let (right, longest_every) = match stated {
        TickPitch::Millimetre => (Pattern::Decimal, "10th"),
        TickPitch::HalfMillimetre => (Pattern::HalfDecimal, "20th"),
        _ => return Err("inch graduations are not read".to_owned()),
    };
    let lengths = &levelled(lengths)[..];
    let n = lengths.len() as f64;
    let all = Class { lengths: lengths.iter().map(|t| t.length).collect() };
    let total = all.unexplained();
    let best = explain(lengths, right, Order::Kept);
    let unclear = format!(
        "no pattern of longer ticks every {longest_every} confirms {}",
        stated_word(stated)
    );
    let Some(best) = best else { return Err(unclear) };
    if total <= 0.0 || best.unexplained > (1.0 - LEAST_EXPLAINED) * total {
        return Err(unclear);
    }
    for other in Pattern::ALL.into_iter().filter(|p| *p != right) {
        let beaten = explain(lengths, other, Order::Any)
            .is_some_and(|o| best.unexplained <= CLEARER_THAN_OTHERS * o.unexplained);
        if !beaten {
            return Err(format!("{unclear}; the ticks look like another graduation"));
        }
    }
    // The three longest kinds must each be there at least twice and differ for certain.
    for pair in best.classes[..3].windows(2) {
        let [longer, shorter] = pair else { continue };
        if longer.count() < 2.0 || shorter.count() < 2.0 {
            return Err(format!("too few long ticks are seen to confirm {}", stated_word(stated)));
        }
        // Of a normal scatter the mean distance is 0.80 standard deviations, and a median scatters
        // 1.25 times as much as a mean.
        let spread = best.unexplained / (n - 3.0).max(1.0) / 0.80;
        let error = 1.25 * spread * (1.0 / longer.count() + 1.0 / shorter.count()).sqrt();
        if longer.median() - shorter.median() < CLEARLY_LONGER * error {
            return Err(unclear);
        }
    }
    Ok(best.start)
}

const fn stated_word(stated: TickPitch) -> &'static str {
    match stated {
        TickPitch::HalfMillimetre => "0.5 mm",
        TickPitch::Millimetre => "1 mm",
        _ => "inches",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A row of ticks by a plain table of lengths (mm) with uneven reading.
    fn row(from: i64, to: i64, length: impl Fn(i64) -> f64) -> Vec<TickLength> {
        (from..to)
            .map(|number| {
                let uneven = (number * 7919 % 13 - 6) as f64 * 0.03;
                TickLength { number: number + 40, length: length(number) + uneven }
            })
            .collect()
    }

    fn millimetres(n: i64) -> f64 {
        if n % 10 == 0 {
            3.0
        } else if n % 5 == 0 {
            1.6
        } else {
            0.0
        }
    }

    fn halves(n: i64) -> f64 {
        match n {
            n if n % 20 == 0 => 3.0,
            n if n % 10 == 0 => 2.0,
            n if n % 2 == 0 => 0.8,
            _ => 0.0,
        }
    }

    fn sixty_fourths(n: i64) -> f64 {
        if n % 64 == 0 { 5.0 } else { 0.8 * f64::from(n.trailing_zeros().min(6)) }
    }

    #[test]
    fn the_right_graduation_is_confirmed_with_its_zero() {
        let start = confirm(&row(3, 97, millimetres), TickPitch::Millimetre).unwrap();
        assert_eq!((start - 40).rem_euclid(10), 0);
        let start = confirm(&row(3, 97, halves), TickPitch::HalfMillimetre).unwrap();
        assert_eq!((start - 40).rem_euclid(20), 0);
    }

    #[test]
    fn a_wrong_graduation_is_never_confirmed() {
        for shift in 0..20 {
            let (low, high) = (shift, shift + 80);
            assert!(confirm(&row(low, high, halves), TickPitch::Millimetre).is_err());
            assert!(confirm(&row(low, high, millimetres), TickPitch::HalfMillimetre).is_err());
            for stated in [TickPitch::Millimetre, TickPitch::HalfMillimetre] {
                assert!(confirm(&row(low, high, sixty_fourths), stated).is_err(), "{shift}");
                // Every second millimetre tick only, and every second half-millimetre gap filled.
                assert!(confirm(&row(low, high, |n| millimetres(2 * n)), stated).is_err());
                assert!(
                    confirm(
                        &row(low, high, |n| if n % 2 == 0 { millimetres(n / 2) } else { 0.0 }),
                        TickPitch::Millimetre
                    )
                    .is_err()
                );
                assert!(confirm(&row(low, high, |_| 0.0), stated).is_err());
                assert!(confirm(&row(low, high, |n| (n % 2) as f64), stated).is_err());
            }
        }
        assert!(confirm(&[], TickPitch::Millimetre).is_err());
        assert!(confirm(&row(1, 9, millimetres), TickPitch::Millimetre).is_err());
    }
}
