//! Where the marks of a random list lie: chains, crowds, welds and plain scatter.
//!
//! Gaps and reaches stand on a limit, or a nanometre or a micrometre to one side of it.

use super::mark::{Body, Mark};
use super::set::{Against, Frame, Kind, Set};
use crate::paint::dice::Dice;

/// Right-angled triangles of whole sides, for turns that keep whole nanometres.
const TURNS: [[i64; 3]; 4] = [[1, 0, 1], [3, 4, 5], [5, 12, 13], [8, 15, 17]];

/// A whole number below `n`.
pub fn below(dice: &mut Dice, n: i64) -> i64 {
    i64::try_from(dice.below(usize::try_from(n.max(1)).expect("small"))).expect("small")
}

/// One of a list.
pub fn one_of<T: Copy>(dice: &mut Dice, list: &[T]) -> T {
    list[dice.below(list.len())]
}

/// A value, or a little to one side of it, never below `least`.
pub fn beside(dice: &mut Dice, value: i64, least: i64) -> i64 {
    let little = match dice.below(8) {
        0..4 => 0,
        4 => 1,
        5 => -1,
        6 => one_of(dice, &[1_000, -1_000]),
        _ => below(dice, 6_001) - 3_000,
    };
    (value + little).max(least)
}

/// Gaps that the set decides by, between two marks.
fn gaps(set: &Set, a: &Mark, b: &Mark) -> Vec<i64> {
    let mut all = vec![0];
    if let Some(joining) = &set.joining {
        all.push(match &joining.against {
            Against::Fixed(gap) => gap.nm(),
            Against::Smaller => a.length.min(b.length),
            Against::Larger => a.length.max(b.length),
        });
    }
    for rule in &set.rules {
        if let Kind::Row(_, gap, _) | Kind::Spacing(gap) = &rule.kind {
            all.push(gap.limit.nm());
        }
    }
    all
}

/// How far a mark reaches from its middle along an axis, half-nanometres.
fn reach(mark: &Mark, axis: usize) -> i64 {
    let core = mark.core().expect("it has a place");
    let middle = mark.middle().expect("it has a place");
    core.corners.iter().map(|c| c[axis] - middle[axis]).max().unwrap_or(0) + core.radius
}

/// Marks one after the other along an axis, edge to edge on and around the gaps of the set; now and
/// then a little aside, up to where a straight line just touches.
pub fn chain(set: &Set, dice: &mut Dice, marks: &mut [Mark]) {
    let axis = dice.below(2);
    let upright_all = dice.chance(0.5);
    let mixed = dice.chance(0.3);
    let mut at = [below(dice, 50_000) * 1_000, below(dice, 50_000) * 1_000];
    for i in 0..marks.len() {
        let (before, rest) = marks.split_at_mut(i);
        let mark = &mut rest[0];
        let upright = if mixed { dice.chance(0.5) } else { upright_all };
        mark.body = body(dice, mark, at, upright);
        if let Some(last) = before.last() {
            let known = gaps(set, last, mark);
            let gap = if dice.chance(0.8) {
                let known = one_of(dice, &known);
                beside(dice, known, 0)
            } else {
                below(dice, 3_000) * 1_000
            };
            let step = (reach(last, axis) + reach(mark, axis)) / 2 + gap;
            at[axis] += step;
            let aside = match dice.below(12) {
                0 => (last.width + mark.width) / 2,
                1 => beside(dice, i64::midpoint(last.width, mark.width), 0),
                2 => below(dice, mark.width / 1_000 + 1) * 1_000,
                _ => 0,
            };
            at[1 - axis] += aside * one_of(dice, &[1, -1]);
            mark.body = body(dice, mark, at, upright);
        }
    }
}

/// Spots of one width in a zigzag that one straight line just touches, or just does not: across the line
/// they stand a width apart.
pub fn zigzag(dice: &mut Dice, marks: &mut [Mark], width: i64) {
    let [c, s, h] = one_of(dice, &TURNS);
    // Whole nanometres in every turn.
    let width = width / (2 * h) * (2 * h);
    let off = beside(dice, 0, -1) * h;
    let odd = dice.below(marks.len());
    for (i, mark) in marks.iter_mut().enumerate() {
        (mark.length, mark.width) = (width, width);
        let along = i64::try_from(i).expect("few") * width;
        let across = if dice.chance(0.5) { width } else { 0 } + if i == odd { off } else { 0 };
        let at = [(along * c - across * s) / h, (along * s + across * c) / h];
        mark.body = Body::Stadium { at, upright: false };
    }
}

/// Two marks in line whose overall extent stands on and around a length.
pub fn extent(dice: &mut Dice, marks: &mut [Mark], length: i64) {
    let [a, b] = marks else { return };
    let total = beside(dice, length, 1_000);
    let gap = total - a.length - b.length;
    let upright = dice.chance(0.5);
    let at = |along: i64| if upright { [0, along] } else { [along, 0] };
    a.body = Body::Stadium { at: at(0), upright };
    b.body = Body::Stadium { at: at((a.length + b.length) / 2 + gap.max(0)), upright };
}

/// Marks whose middles stand on and around the border of a frame.
pub fn crowd(dice: &mut Dice, marks: &mut [Mark], frame: &Frame) {
    let [c, s, h] = one_of(dice, &TURNS);
    let whole = |nm: i64| nm / h * h;
    let (wide, high) = match frame {
        Frame::Area(area, longest, _) => {
            let area = i128::try_from(area.floor()).expect("areas fit");
            let longest = i128::from(longest.nm());
            let step = one_of(dice, &[500_000, 12_700]);
            let (least, most) = (area / longest / step + 1, longest / step);
            let mut pick = || {
                step * (least + i128::from(below(dice, i64::try_from(most - least).expect("fits"))))
            };
            // Sides whose product is the area, where some are found soon.
            let h = i128::from(h);
            let exact = |w: &i128| area % w == 0 && area / w % h == 0 && w % h == 0;
            let wide = (0..300).map(|_| pick()).find(exact).unwrap_or_else(&mut pick);
            let high = area / wide;
            (i64::try_from(wide).expect("fits"), i64::try_from(high).expect("fits"))
        }
        Frame::Sides(a, b, _) => (a.nm(), b.nm()),
        Frame::Circle(d) => (d.nm() * 3 / 5, d.nm() * 4 / 5),
        Frame::Weld(length) => (length.nm(), length.nm()),
    };
    let (wide, high) = (beside(dice, whole(wide), 0), beside(dice, whole(high), 0));
    let nudge = dice.chance(0.3);
    let grid = below(dice, 4) + 2;
    for (i, mark) in marks.iter_mut().enumerate() {
        let [u, v] = match i {
            0 => [0, 0],
            1 => [wide, high],
            2 => [wide, 0],
            3 => [0, high],
            _ if nudge => {
                [below(dice, wide / 1_000 + 1) * 1_000, below(dice, high / 1_000 + 1) * 1_000]
            }
            _ => [wide / grid * below(dice, grid + 1), high / grid * below(dice, grid + 1)],
        };
        let at = [(u * c - v * s) / h, (u * s + v * c) / h];
        let upright = dice.chance(0.5);
        mark.body = body(dice, mark, at, upright);
    }
}

/// Marks along one axis whose first and last middle stand a length apart, or nearly.
pub fn weld(dice: &mut Dice, marks: &mut [Mark], length: i64, upright: bool) {
    let length = beside(dice, length, 0);
    let count = i64::try_from(marks.len()).expect("few");
    for (i, mark) in marks.iter_mut().enumerate() {
        let i = i64::try_from(i).expect("few");
        let along = match i {
            0 => 0,
            _ if i == count - 1 => length,
            _ if dice.chance(0.2) => length + below(dice, 20_000) * 1_000,
            _ => length / count * i,
        };
        let aside = below(dice, 20) * 1_000_000;
        let at = if upright { [aside, along] } else { [along, aside] };
        mark.body = body(dice, mark, at, upright);
    }
}

/// Marks anywhere in a square.
pub fn scatter(dice: &mut Dice, marks: &mut [Mark]) {
    let side = one_of(dice, &[4_000, 12_000, 40_000]);
    for mark in marks {
        let at = [below(dice, side) * 1_000, below(dice, side) * 1_000];
        let upright = dice.chance(0.5);
        mark.body = body(dice, mark, at, upright);
    }
}

/// Mostly a stadium; now and then the outline of a diamond or an eight-cornered spot.
fn body(dice: &mut Dice, mark: &Mark, at: [i64; 2], upright: bool) -> Body {
    if !matches!(mark.body, Body::Outline(_)) && !dice.chance(0.05) {
        return Body::Stadium { at, upright };
    }
    let (mut a, mut b) = (mark.length / 2, mark.width / 2);
    if upright {
        (a, b) = (b, a);
    }
    let [x, y] = at;
    if mark.length % 2 == 0 {
        return Body::Outline(vec![[x + a, y], [x, y + b], [x - a, y], [x, y - b]]);
    }
    let (c, d) = (a / 2, b / 2);
    Body::Outline(
        [[a, d], [c, b], [-c, b], [-a, d], [-a, -d], [-c, -b], [c, -b], [a, -d]]
            .map(|[u, v]| [x + u, y + v])
            .into(),
    )
}
