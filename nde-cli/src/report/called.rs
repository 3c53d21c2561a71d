//! What a person called, beside the verdict without it.

use super::html::{Text, verdict};
use crate::args::Units;
use crate::exports::spoken::{Spoken, uncalled};
use crate::record::Case;
use anyhow::Result;
use std::io::Write;

/// Nothing where nobody called anything.
pub(super) fn write(case: &Case, units: Units, to: &mut dyn Write) -> Result<()> {
    let said = Spoken::all(case, units);
    if said.is_empty() {
        return Ok(());
    }
    writeln!(to, "<h3>Called by a person</h3>")?;
    if let Some(raw) = uncalled(case) {
        writeln!(
            to,
            "<p>Measured, without any call: {}; as called: {}. The measured sizes stay as they are.</p>",
            verdict(Some(raw)),
            verdict(case.verdict())
        )?;
    }
    writeln!(
        to,
        "<div class=\"scroll\"><table><thead><tr><th scope=\"col\">id</th><th scope=\"col\">called</th><th scope=\"col\">what it is</th><th scope=\"col\">reason</th><th scope=\"col\">by</th><th scope=\"col\">size by hand</th></tr></thead><tbody>"
    )?;
    for one in said {
        writeln!(
            to,
            "<tr><th scope=\"row\">{}</th><td class=\"w\">{}</td><td>{}</td><td class=\"name\">{}</td><td>{}</td><td>{}</td></tr>",
            Text(&one.id),
            Text(&one.called),
            Text(&one.label),
            Text(&one.reason),
            Text(&one.by),
            Text(&one.own)
        )?;
    }
    Ok(writeln!(to, "</tbody></table></div>")?)
}
