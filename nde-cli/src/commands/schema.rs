//! `nde schema`: the published shapes of files.

use crate::args::{SchemaArgs, SchemaOf};
use crate::exports::json;
use crate::outcome::Outcome;
use crate::talk::Streams;
use anyhow::Result;

/// Prints one schema.
pub(super) fn run(args: &SchemaArgs, streams: &mut Streams<'_>) -> Result<Outcome> {
    let text = match args.of {
        SchemaOf::Record => serde_json::to_string_pretty(&json::record_schema())?,
        SchemaOf::Line => serde_json::to_string_pretty(&json::line_schema())?,
        SchemaOf::Rules => nde_core::rules::form_schema().trim_end().to_owned(),
    };
    super::forgive_closed(writeln!(streams.out, "{text}").map_err(Into::into))?;
    Ok(Outcome::Accepted)
}
