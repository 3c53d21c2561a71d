//! What kind of still it is, in bands that the tables are split by.

use crate::paint::card::Board;
use crate::paint::rule::Graduation;
use crate::paint::still::{Lying, Still};

/// A table's name and the band of it that a still falls into.
pub type Band = (&'static str, String);

/// The bands of a still.
#[must_use]
pub fn of(still: &Still) -> Vec<Band> {
    let mut bands = vec![];
    let turn = match &still.lying {
        Lying::Card(card) => {
            bands.push(("card", card_name(&card.board).to_owned()));
            card.angle
        }
        Lying::Rules(rules) => {
            let rows: Vec<Graduation> =
                rules[0].rows.iter().flatten().map(|r| r.graduation).collect();
            let asked = asked_of(still).unwrap_or(rows[0]);
            bands.push(("row asked for", asked.word().to_owned()));
            let other = rows.iter().find(|g| **g != asked);
            let edge = match (rows.len(), other) {
                (1, _) => "bare",
                (_, None) => "the same row",
                (_, Some(g)) if g.is_inch() == asked.is_inch() => "another row, same unit",
                _ => "another row, other unit",
            };
            bands.push(("other edge", edge.to_owned()));
            bands.push(("rules", if rules.len() > 1 { "two" } else { "one" }.to_owned()));
            rules[0].angle
        }
    };
    let px_per_mm = 1.0 / still.camera.mm_per_px([0.0, 0.0]);
    bands.push(("px/mm", split(px_per_mm, &[6.0, 8.0, 10.0, 14.0, 20.1])));
    bands.push(("tilt deg", split(still.camera.tilt_deg, &[0.0, 10.0, 20.0, 30.0, 40.0, 50.1])));
    bands.push(("blur px", split(still.sensor.blur_px, &[0.4, 0.7, 1.0, 1.5, 2.01])));
    bands.push(("turn deg", split(turn.to_degrees(), &[0.0, 90.0, 180.0, 270.0, 360.1])));
    bands.push(("hidden part", if still.covers.is_empty() { "none" } else { "yes" }.to_owned()));
    bands.push((
        "mirrored lamp",
        if still.light.glare.is_none() { "none" } else { "yes" }.to_owned(),
    ));
    bands.push((
        "focal length",
        if still.told_35mm.is_none() { "untold" } else { "told" }.to_owned(),
    ));
    bands
}

/// The graduation that a still of rules is painted for, by turns of its seed.
#[must_use]
pub fn asked_of(still: &Still) -> Option<Graduation> {
    let Lying::Rules(_) = &still.lying else { return None };
    Some(Graduation::ALL[usize::try_from(still.seed % 5).unwrap_or(0)])
}

/// A graduation that none of the still's rules has.
#[must_use]
pub fn absent_from(still: &Still) -> Option<Graduation> {
    let Lying::Rules(rules) = &still.lying else { return None };
    let there: Vec<Graduation> =
        rules.iter().flat_map(|r| r.rows.iter().flatten()).map(|r| r.graduation).collect();
    let turn = usize::try_from(still.seed / 5 % 5).unwrap_or(0);
    (0..5).map(|i| Graduation::ALL[(i + turn) % 5]).find(|g| !there.contains(g))
}

const fn card_name(board: &Board) -> &'static str {
    match board.first_id {
        0 => "standard",
        17 => "small",
        _ => "large",
    }
}

/// The name of the part between two limits that a value falls into.
fn split(value: f64, limits: &[f64]) -> String {
    let Some(above) = limits.iter().position(|l| value < *l) else {
        return format!(">= {}", limits.last().map_or(0.0, |l| l.floor()));
    };
    if above == 0 {
        return format!("< {}", limits[0]);
    }
    format!("{} to {}", limits[above - 1], (limits[above] * 10.0).floor() / 10.0)
}
