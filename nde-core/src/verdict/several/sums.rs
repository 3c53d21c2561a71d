//! Rules about how many and how much: in all, in a frame at its worst place, along a weld.
//!
//! Places are taken as measured: a mark on a frame's border has no doubt of its own.

use super::{Asking, Several, World};
use crate::dot::as_f64;
use crate::length::Length;
use crate::rules::{Rule, Test, Within};
use crate::side::Side;
use crate::verdict::JudgeError;
use crate::verdict::lacking::Lack;
use crate::verdict::standing::Standing;
use crate::verdict::words;
use crate::verdict::{Finding, Verdict};
use crate::window::{Weighted, Worst, worst, worst_along};

impl Asking<'_> {
    /// Asks a rule that counts or sums.
    pub(super) fn sum(&self, rule: &Rule) -> Result<Several, JudgeError> {
        let mut several = Several::default();
        for world in [World::Sure, World::Possible] {
            let members = self.members(rule, world);
            let weights: Vec<u128> =
                members.iter().map(|m| weight(&self.standings[*m], rule, world)).collect();
            let total = weights.iter().fold(0_u128, |sum, w| sum.saturating_add(*w));
            if members.is_empty()
                || (!matches!(rule.test, Test::WeldShare(_)) && !catches(rule, total))
            {
                // What is not too much in all is not too much in any part.
                continue;
            }
            several.looked = true;
            let found = match rule.test.within() {
                None => self.in_all(rule, &members, total),
                Some(within) => self.in_frame(rule, within, &members, &weights)?,
            };
            let found = match found {
                Ok(found) => found,
                Err(lack) => {
                    let ids = members.iter().flat_map(|m| self.standings[*m].ids.clone());
                    several.findings.push(lack.finding(rule, ids.collect()));
                    break;
                }
            };
            if found.caught {
                let members: Vec<usize> = found.worst.members.iter().map(|m| members[*m]).collect();
                let words = self.words(rule, &members, &found.worst, total);
                several.findings.push(self.finding(rule, world, &members, words));
                several.groups.push(members);
                break;
            }
            if !found.worst.complete {
                several.findings.push(Finding {
                    verdict: Verdict::Review,
                    action: Some("lay the frame over the thickest places and count by hand".into()),
                    ..self.finding(
                        rule,
                        World::Sure,
                        &members,
                        "the marks stand too thick to try every place".into(),
                    )
                });
                break;
            }
        }
        Ok(several)
    }

    fn in_all(&self, rule: &Rule, members: &[usize], total: u128) -> Result<Found, Lack> {
        let caught = match &rule.test {
            Test::WeldShare(share) => {
                let weld = self.context.weld_length.ok_or(Lack::WeldLength)?;
                share.catches(as_length(total), weld)
            }
            _ => catches(rule, total),
        };
        let worst = Worst { weight: total, members: (0..members.len()).collect(), complete: true };
        Ok(Found { worst, caught })
    }

    fn in_frame(
        &self,
        rule: &Rule,
        within: &Within,
        members: &[usize],
        weights: &[u128],
    ) -> Result<Result<Found, Lack>, JudgeError> {
        let grounds = self.grounds(rule, members)?;
        let middles = grounds.iter().map(|g| g.middle());
        let worst = match (within.frame(), within.weld_length()) {
            (Some(frame), _) => {
                let points: Vec<Weighted> = middles
                    .zip(weights)
                    .map(|(at, weight)| Weighted { at, weight: *weight })
                    .collect();
                worst(&points, &frame, allowed(rule))
            }
            (None, length) => {
                let Some(axis) = self.context.weld_axis_udeg else {
                    return Ok(Err(Lack::WeldAxis));
                };
                let points: Vec<(i64, u128)> =
                    middles.zip(weights).map(|(at, weight)| (along(at, axis), *weight)).collect();
                worst_along(&points, length.unwrap_or(Length::ZERO))
            }
        };
        let caught = catches(rule, worst.weight);
        Ok(Ok(Found { worst, caught }))
    }

    fn words(&self, rule: &Rule, members: &[usize], worst: &Worst, total: u128) -> String {
        let least = if worst.complete { "" } else { "at least " };
        let place = rule.test.within().map_or_else(
            || "in all".to_owned(),
            |within| format!("at the worst place of {within}"),
        );
        let exact = members
            .iter()
            .all(|m| self.standings[*m].indication.length.spread == crate::length::Spread::Exact);
        match rule.test {
            Test::TotalArea { .. } => {
                // For eyes: square nanometres to square millimetres.
                let mm2 = crate::root::as_float(i128::try_from(worst.weight).unwrap_or(i128::MAX))
                    / 1.0e12;
                format!("{least}{mm2:.2} mm2 {place}")
            }
            Test::TotalLength { .. } => {
                format!(
                    "{least}{} {place}",
                    words::gap(as_length(worst.weight), self.context.unit, exact)
                )
            }
            Test::WeldShare(_) => {
                let weld = self.context.weld_length.unwrap_or(Length::ZERO);
                format!(
                    "{} of {} of weld",
                    words::gap(as_length(total), self.context.unit, exact),
                    weld
                )
            }
            _ => format!("{least}{} {place}", members.len()),
        }
    }
}

struct Found {
    worst: Worst,
    caught: bool,
}

/// What one indication adds: one, its length in nanometres, its area in square nanometres. Without an
/// upper end, more than any limit.
fn weight(standing: &Standing<'_>, rule: &Rule, world: World) -> u128 {
    /// More than any limit, and small enough to sum.
    const BOUNDLESS: u128 = u128::MAX >> 32;
    let reach = standing.length;
    let length = match world {
        World::Sure => Some(reach.least),
        World::Possible => reach.most,
    };
    match rule.test {
        Test::Count { .. } => 1,
        Test::TotalArea { .. } => {
            let width = match world {
                World::Sure => Some(standing.width.least),
                World::Possible => standing.width.most,
            };
            let (Some(length), Some(width)) = (length, width) else { return BOUNDLESS };
            area(standing, length, width)
        }
        _ => length.map_or(BOUNDLESS, |length| u128::from(length.nm())),
    }
}

/// Its area, scaled from its best length and width to these.
fn area(standing: &Standing<'_>, length: Length, width: Length) -> u128 {
    let (l, w) = (standing.indication.length.value, standing.indication.width.value);
    let best = standing.ground.as_ref().map_or_else(
        || {
            // A stadium: a rectangle and a circle.
            let (l, w) = (as_f64(nm(l)), as_f64(nm(w)));
            (l - w).max(0.0) * w + std::f64::consts::FRAC_PI_4 * w * w
        },
        |ground| crate::root::as_float(i128::try_from(ground.area_nm2()).unwrap_or(i128::MAX)),
    );
    if length == l && width == w {
        return rounded(best);
    }
    rounded(best * (length.mm() / l.mm()) * (width.mm() / w.mm()))
}

fn nm(length: Length) -> i64 {
    i64::try_from(length.nm()).unwrap_or(i64::MAX)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "areas are positive, and a float cast saturates"
)]
fn rounded(area: f64) -> u128 {
    area.round() as u128
}

fn catches(rule: &Rule, weight: u128) -> bool {
    match &rule.test {
        Test::Count { count, .. } => count.catches(usize::try_from(weight).unwrap_or(usize::MAX)),
        Test::TotalLength { total, .. } => total.catches(as_length(weight)),
        Test::TotalArea { total, .. } => total.catches(weight),
        _ => false,
    }
}

/// The largest weight that a rule does not catch.
fn allowed(rule: &Rule) -> u128 {
    let below =
        |side: Side, limit: u128| if side == Side::Over { limit } else { limit.saturating_sub(1) };
    match &rule.test {
        Test::Count { count, .. } => below(count.side, u128::from(count.limit)),
        Test::TotalLength { total, .. } => below(total.side, u128::from(total.limit.length().nm())),
        Test::TotalArea { total, .. } => below(total.side, total.limit.nm2()),
        _ => 0,
    }
}

/// A sum of lengths; more than the longest length is cut to it, far past any limit.
fn as_length(nm: u128) -> Length {
    Length::from_nm(u64::try_from(nm).unwrap_or(u64::MAX))
}

/// Where a middle lies along the weld, half-nanometres: exact along x and y, else rounded once.
fn along(at: [i64; 2], axis_udeg: i64) -> i64 {
    match axis_udeg.rem_euclid(180_000_000) {
        0 => at[0],
        90_000_000 => at[1],
        turned => {
            let (sin, cos) = (as_f64(turned) / 1.0e6).to_radians().sin_cos();
            #[expect(clippy::cast_possible_truncation, reason = "coordinates stay below 1e12")]
            let place = (as_f64(at[0]) * cos + as_f64(at[1]) * sin).round() as i64;
            place
        }
    }
}
