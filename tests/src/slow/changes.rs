//! What changes a list and not its verdict.

use super::judge::Facts;
use super::mark::{Body, Mark};
use crate::paint::dice::Dice;

/// A list seen otherwise: its name, the list, and what is known beside it.
pub type Seen = (&'static str, Vec<Mark>, Facts);

/// The list in another order, moved, turned by a quarter and mirrored.
#[must_use]
pub fn all(marks: &[Mark], facts: &Facts, dice: &mut Dice) -> Vec<Seen> {
    let mut shuffled = marks.to_vec();
    for i in (1..shuffled.len()).rev() {
        shuffled.swap(i, dice.below(i + 1));
    }
    let by =
        [0, 1].map(|_| i64::try_from(dice.below(2_000_000_000)).expect("small") - 1_000_000_007);
    let quarter = Facts { upright: facts.upright.map(|upright| !upright), ..*facts };
    vec![
        ("order", shuffled, *facts),
        ("place", moved(marks, &|[x, y]| [x + by[0], y + by[1]], false), *facts),
        ("quarter turn", moved(marks, &|[x, y]| [-y, x], true), quarter),
        ("mirror", moved(marks, &|[x, y]| [-x, y], false), *facts),
    ]
}

fn moved(marks: &[Mark], to: &dyn Fn([i64; 2]) -> [i64; 2], turned: bool) -> Vec<Mark> {
    marks
        .iter()
        .map(|mark| {
            let body = match &mark.body {
                Body::Nowhere => Body::Nowhere,
                Body::Stadium { at, upright } => {
                    Body::Stadium { at: to(*at), upright: upright ^ turned }
                }
                Body::Outline(points) => Body::Outline(points.iter().map(|p| to(*p)).collect()),
            };
            Mark { body, ..mark.clone() }
        })
        .collect()
}
