//! Random lists whose sizes and places stand on and around the limits of one set.

use super::judge::Facts;
use super::layout::{self, below, beside, one_of};
use super::mark::{Body, Mark};
use super::number::Exact;
use super::set::{Frame, Kind, Limit, Set, Shape};
use crate::paint::dice::Dice;

/// Most marks of a list.
const MOST: i64 = 12;

/// Sets of the project's own that ask what no shipped set asks: limits on the other side, frames along
/// the axes and round ones, growing joins, joins in line, bands of thickness, strips, widths.
pub const FURTHER: [(&str, &str); 5] = [
    ("sides", include_str!("sets/sides.toml")),
    ("frames", include_str!("sets/frames.toml")),
    ("growing", include_str!("sets/growing.toml")),
    ("aligned", include_str!("sets/aligned.toml")),
    ("bands", include_str!("sets/bands.toml")),
];

/// A random list, and what is known beside it.
#[must_use]
pub fn map(set: &Set, dice: &mut Dice) -> (Vec<Mark>, Facts) {
    let frames = frames(set);
    let words = words(set);
    let upright = dice.chance(0.5);
    let plan = dice.below(10);
    let mood = if dice.chance(0.6) { Mood::Mild } else { Mood::Any };
    let weld = frames.iter().find_map(|f| if let Frame::Weld(l) = f { Some(l.nm()) } else { None });
    let plane: Vec<&Frame> = frames.iter().filter(|f| !matches!(f, Frame::Weld(_))).collect();
    let mut marks: Vec<Mark>;
    match (plan, weld) {
        (0..4, Some(length)) => {
            marks = several(set, mood, dice, 2, 6);
            sum_to_limit(set, dice, &mut marks, &words);
            layout::weld(dice, &mut marks, length, upright);
        }
        (0..4, None) if !plane.is_empty() => {
            marks = several(set, mood, dice, 8, MOST);
            for mark in &mut marks {
                if dice.chance(0.8) {
                    // Small and round, so that the crowd is what decides.
                    let least = set.relevant.as_ref().map_or(500_000, |b| b.limit.nm());
                    mark.length = beside(dice, least + 200_000, 2);
                    mark.width = mark.length;
                }
            }
            let frame = plane[dice.below(plane.len())];
            layout::crowd(dice, &mut marks, frame);
        }
        (0..2, _) if set.joining.is_some() => {
            marks = several(set, mood, dice, 2, 2);
            let lengths = lengths(set);
            let total = one_of(dice, &lengths);
            for mark in &mut marks {
                mark.length = total / 100 * (28 + below(dice, 18));
                mark.width = width(set, dice, mark.length);
            }
            layout::extent(dice, &mut marks, total);
        }
        (4, _) => {
            let least = set.relevant.as_ref().map_or(500_000, |b| b.limit.nm());
            marks = several(set, mood, dice, 4, 6);
            layout::zigzag(dice, &mut marks, least + 200_000);
        }
        (5..8, _) => {
            marks = several(set, mood, dice, 2, 8);
            layout::chain(set, dice, &mut marks);
        }
        (8, _) => {
            marks = several(set, mood, dice, 2, 5);
            layout::chain(set, dice, &mut marks);
            let mut more = several(set, mood, dice, 1, 4);
            layout::chain(set, dice, &mut more);
            marks.extend(more);
        }
        _ => {
            marks = several(set, mood, dice, 0, 9);
            layout::scatter(dice, &mut marks);
        }
    }
    for (i, mark) in marks.iter_mut().enumerate() {
        mark.id = format!("m{i}");
        call(set, dice, mark, &words);
    }
    let facts = facts(set, dice, &marks, upright);
    (marks, facts)
}

/// Which sizes a list holds.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Mood {
    /// Any.
    Any,
    /// Mostly relevant rounded ones that no rule rejects alone, so that what they do together decides.
    Mild,
}

fn several(set: &Set, mood: Mood, dice: &mut Dice, least: i64, most: i64) -> Vec<Mark> {
    let count = least + below(dice, most - least + 1);
    (0..count)
        .map(|_| {
            let (length, width) = if mood == Mood::Mild && !dice.chance(0.05) {
                mild(set, dice)
            } else {
                let length = length(set, dice);
                (length, width(set, dice, length))
            };
            let mut mark = Mark::new("", length, width, Body::Nowhere);
            called(set, dice, &mut mark);
            mark
        })
        .collect()
}

/// Every length that the set compares a size with.
#[must_use]
pub fn lengths(set: &Set) -> Vec<i64> {
    let mut all: Vec<i64> = set.relevant.iter().map(|b| b.limit.nm()).collect();
    for rule in &set.rules {
        match &rule.kind {
            Kind::Length(limit) | Kind::Width(limit) => all.extend(of_limit(limit)),
            Kind::Total(bound, _) => all.push(bound.limit.nm()),
            _ => {}
        }
    }
    if all.is_empty() {
        all.push(2_000_000);
    }
    all
}

fn of_limit(limit: &Limit) -> Vec<i64> {
    match limit {
        Limit::Fixed(bound) => vec![bound.limit.nm()],
        Limit::OfThickness(_) => vec![],
        Limit::Bands(bands) => bands.iter().flat_map(|(_, limit)| of_limit(limit)).collect(),
    }
}

fn mild(set: &Set, dice: &mut Dice) -> (i64, i64) {
    let least = set.relevant.as_ref().map_or(500_000, |b| b.limit.nm());
    let single = set.rules.iter().filter_map(|rule| match &rule.kind {
        Kind::Length(limit) | Kind::Width(limit)
            if rule.of != Some(Shape::Linear) && rule.labels.is_empty() =>
        {
            of_limit(limit).into_iter().min()
        }
        _ => None,
    });
    let most = single.min().unwrap_or(5_000_000).max(least + 2_000);
    let length = match dice.below(4) {
        0 => beside(dice, one_of(&mut dice.clone(), &[least, most]), 2),
        _ => least + 1_000 * (1 + below(dice, (most - least) / 1_000)),
    };
    (length, length - below(dice, length / 2))
}

fn length(set: &Set, dice: &mut Dice) -> i64 {
    if dice.chance(0.6) {
        let known = one_of(dice, &lengths(set));
        beside(dice, known, 2)
    } else {
        (300 + below(dice, 8_700)) * 1_000
    }
}

fn width(set: &Set, dice: &mut Dice, length: i64) -> i64 {
    let wide = match dice.below(6) {
        0 | 1 => length,
        2 | 3 => {
            // On the ratio where nanometres allow it, else just beside it.
            let near = tie(set, length).unwrap_or(length / 3);
            beside(dice, near, 1)
        }
        4 => length / (2 + below(dice, 8)),
        _ => 1 + below(dice, length),
    };
    wide.clamp(1, length)
}

/// The width at which a length stands exactly at the ratio, if it is a whole number of nanometres.
fn tie(set: &Set, length: i64) -> Option<i64> {
    let mut low = 1;
    let mut high = length;
    while low < high {
        let middle = i64::midpoint(low, high);
        if &set.linear.limit * &Exact::whole(middle) < Exact::whole(length) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    (&set.linear.limit * &Exact::whole(low) == Exact::whole(length)).then_some(low)
}

/// Lengths that together stand on and around a limit on sums.
fn sum_to_limit(set: &Set, dice: &mut Dice, marks: &mut [Mark], words: &[String]) {
    let totals: Vec<(i64, Option<String>)> = set
        .rules
        .iter()
        .filter_map(|rule| match &rule.kind {
            Kind::Total(bound, _) => Some((bound.limit.nm(), rule.labels.first().cloned())),
            _ => None,
        })
        .collect();
    let Some((total, label)) = totals.get(dice.below(totals.len().max(1))) else { return };
    let count = i64::try_from(marks.len()).expect("few");
    let each = total / count;
    for mark in marks.iter_mut() {
        mark.length = each.max(2);
        mark.width = (each / 5).max(1);
        mark.label = label.clone().or_else(|| words.first().cloned());
    }
    marks[0].length = beside(dice, total - each * (count - 1), 2);
}

fn words(set: &Set) -> Vec<String> {
    let mut words: Vec<String> = set.labels.iter().flat_map(|(_, words)| words.clone()).collect();
    words.extend(set.rules.iter().flat_map(|rule| rule.labels.clone()));
    words.sort();
    words.dedup();
    words
}

/// In a set that asks for labels: now and then what a rule with a length says, at that length.
fn called(set: &Set, dice: &mut Dice, mark: &mut Mark) {
    let known: Vec<(&String, &Limit)> = set
        .rules
        .iter()
        .filter_map(|rule| match &rule.kind {
            Kind::Length(limit @ Limit::Fixed(_)) => Some((rule.labels.first()?, limit)),
            _ => None,
        })
        .collect();
    if set.labels.is_none() || known.is_empty() || dice.chance(0.6) {
        return;
    }
    let (label, limit) = known[dice.below(known.len())];
    mark.label = Some(label.clone());
    mark.length = beside(dice, of_limit(limit)[0], 2);
    mark.width = mark.length / 2;
}

/// What a person says of it.
fn call(set: &Set, dice: &mut Dice, mark: &mut Mark, words: &[String]) {
    let said = if set.labels.is_some() { 0.97 } else { 0.04 };
    if mark.label.is_none() && !words.is_empty() && dice.chance(said) {
        mark.label = Some(words[dice.below(words.len())].clone());
    }
    mark.away = dice.chance(0.05);
    if dice.chance(0.04) {
        mark.given = Some(one_of(dice, &[Shape::Linear, Shape::Rounded]));
    }
}

fn facts(set: &Set, dice: &mut Dice, marks: &[Mark], upright: bool) -> Facts {
    let mut facts = Facts { thickness: None, upright: None, weld: None };
    if dice.chance(0.97) {
        let length = marks.first().map_or(3_000_000, |m| m.length);
        let share = one_of(dice, &[4 * length, 16_000_000, 10_000_000, 30_000_000]);
        facts.thickness = Some(beside(dice, share, 1));
    }
    facts.upright = dice.chance(0.97).then_some(upright);
    let share = set.rules.iter().find_map(|rule| match &rule.kind {
        Kind::Share(bound) => Some((bound.limit.clone(), &rule.labels)),
        _ => None,
    });
    if dice.chance(0.97) {
        let total: i64 = match &share {
            Some((_, labels)) => marks
                .iter()
                .filter(|m| m.label.as_ref().is_some_and(|l| labels.contains(l)))
                .map(|m| m.length)
                .sum(),
            None => 0,
        };
        // Eight in a hundred of 25 times half the total is the total.
        let at_share = total / 2 * 25;
        let weld = one_of(dice, &[at_share, 250_000_000, 312_500_000, 2_000_000_000]);
        facts.weld = Some(beside(dice, weld, 1));
    }
    facts
}

fn frames(set: &Set) -> Vec<Frame> {
    set.rules
        .iter()
        .filter_map(|rule| match &rule.kind {
            Kind::Count(_, frame) | Kind::Total(_, frame) => frame.clone(),
            _ => None,
        })
        .collect()
}
