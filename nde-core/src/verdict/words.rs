//! The words of a finding: what was found, and the one action that settles it.

use crate::doubt::{Doubt, Weight};
use crate::indication::{Indication, Shape};
use crate::length::{Length, Measured, Spread};
use crate::rules::Unit;

use super::answer::Answer;
use super::standing::Standing;

/// A size as found: all digits when typed, two decimals and its uncertainty when measured.
pub(super) fn size(measured: &Measured, unit: Option<Unit>) -> String {
    let value = measured.value;
    match measured.spread {
        Spread::Exact => match unit {
            Some(Unit::Inch) => format!("{} ({value})", Unit::Inch.show(value)),
            _ => value.to_string(),
        },
        Spread::Standard { .. } => {
            let u = measured.expanded_mm().unwrap_or(0.0);
            format!("{:.2} mm \u{b1} {u:.2} mm (k = 2)", value.mm())
        }
        Spread::Unclaimed => format!("about {:.1} mm (too faint to size)", value.mm()),
    }
}

pub(super) const fn shape(shape: Shape) -> &'static str {
    match shape {
        Shape::Linear => "linear",
        Shape::Rounded => "rounded",
    }
}

/// A gap as found.
pub(super) fn gap(gap: Length, unit: Option<Unit>, exact: bool) -> String {
    match (exact, unit) {
        (true, Some(Unit::Inch)) => format!("{} ({gap})", Unit::Inch.show(gap)),
        (true, _) => gap.to_string(),
        (false, _) => format!("{:.2} mm", gap.mm()),
    }
}

/// The doubt that weighs most, of the two heavy kinds.
pub(super) fn heavy_doubt(indication: &Indication) -> Option<&Doubt> {
    indication.doubts.iter().filter(|d| d.weight() >= Weight::Longer).max_by_key(|d| d.weight())
}

/// What would settle this indication's relevance or size.
pub(super) fn settle_size(standing: &Standing<'_>) -> String {
    let indication = &standing.indication;
    let id = &indication.id;
    if let Some(doubt) = heavy_doubt(indication) {
        return format!("{}: {}", id, doubt.remedy());
    }
    match indication.length.spread {
        Spread::Standard { edge, scale } if scale > edge => format!(
            "{id}: check the scale (measure the card's two bars with a calliper, lay it level with the part) and photograph again"
        ),
        _ => format!("{id}: measure its length by hand under a magnifier and give that value"),
    }
}

/// What would settle this indication's shape.
pub(super) fn settle_shape(standing: &Standing<'_>) -> String {
    let indication = &standing.indication;
    heavy_doubt(indication).map_or_else(
        || {
            format!(
                "{}: look with a magnifier whether it is a line or a spot, and give its shape",
                indication.id
            )
        },
        |doubt| format!("{}: {}", indication.id, doubt.remedy()),
    )
}

/// What would settle whether this indication belongs to a rule; absent when it surely does.
pub(super) fn settle_membership(standing: &Standing<'_>, wanted: Option<Shape>) -> Option<String> {
    if standing.weight == Weight::Unsized || standing.relevant == Answer::Maybe {
        Some(settle_size(standing))
    } else if wanted.is_some() && standing.settled != wanted {
        Some(settle_shape(standing))
    } else {
        None
    }
}
