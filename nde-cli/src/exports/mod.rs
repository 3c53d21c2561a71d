//! A record in its forms: one row type, one file a form.
//!
//! Rounding happens here and nowhere before. Absent is empty, never 0.

pub(crate) mod columns;
pub(crate) mod eyes;
mod part;
pub(crate) mod csv;
pub(crate) mod budget;
pub(crate) mod spoken;
pub(crate) mod json;
pub(crate) mod table;
pub(crate) mod xlsx;

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
        Format::Table | Format::Csv if record.cases.count() == 0 => Ok(()),
        Format::Table => table::write(record, streams.out_dress, &mut *streams.out),
        Format::Csv => csv::indications(record, &mut *streams.out),
        Format::Json => json::write(record, &mut *streams.out),
        Format::Jsonl => json::lines(record, &mut *streams.out),
    }
}

/// Writes where the uncertainties come from; the full record holds them anyway.
///
/// # Errors
/// The results cannot be written.
pub(crate) fn print_budget(
    record: &Record,
    format: Format,
    streams: &mut Streams<'_>,
) -> Result<()> {
    match format {
        Format::Table | Format::Csv if record.cases.count() == 0 => Ok(()),
        Format::Table => budget::write(record, streams.out_dress, &mut *streams.out),
        Format::Csv => budget::list(record, &mut *streams.out),
        Format::Json => json::write(record, &mut *streams.out),
        Format::Jsonl => json::lines(record, &mut *streams.out),
    }
}

#[cfg(test)]
mod tests;
