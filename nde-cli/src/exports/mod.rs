//! A record in its forms: one row type, one file a form.
//!
//! Rounding happens here and nowhere before. Absent is empty, never 0.

pub(crate) mod columns;
pub(crate) mod csv;
pub(crate) mod json;
pub(crate) mod table;

use crate::args::Format;
use crate::record::Record;
use crate::talk::Streams;
use anyhow::Result;

/// Writes the record as results. Where nothing could be read there is no table and no list: an
/// empty one could be taken for a clean part.
///
/// # Errors
/// The results cannot be written.
pub(crate) fn print(record: &Record, format: Format, streams: &mut Streams<'_>) -> Result<()> {
    match format {
        Format::Table | Format::Csv if record.cases.is_empty() => Ok(()),
        Format::Table => table::write(record, streams.out_dress, &mut *streams.out),
        Format::Csv => csv::indications(record, &mut *streams.out),
        Format::Json => json::write(record, &mut *streams.out),
    }
}

/// The word every export uses for why something seen is not counted.
const fn aside_word(reason: nde_measure::SetAsideReason) -> &'static str {
    use nde_measure::SetAsideReason as Reason;
    match reason {
        Reason::Faint => "faint",
        Reason::Brownish => "brownish",
        Reason::Dark => "dark",
        Reason::PinkArea => "pink-area",
        Reason::OutsideCoat => "outside-coat",
        _ => "other",
    }
}

/// The word every export uses for how the scale was found.
const fn scale_word(kind: nde_measure::ScaleKind) -> &'static str {
    use nde_measure::ScaleKind as Kind;
    match kind {
        Kind::Card => "card",
        Kind::Points => "points",
        Kind::Pitch => "pitch",
        _ => "other",
    }
}

#[cfg(test)]
mod tests;
