//! The full record as JSON. Sizes are unrounded; outlines stand to a thousandth of a pixel.
//!
//! The cases stand as in [`crate::record`]; here is what surrounds them. `null` is absent.

use crate::cautions::CAUTIONS;
use crate::digest::sha256;
use crate::record::{Failure, Record};
use anyhow::{Result, anyhow};
use nde_core::{Confidence, Guard, RuleSet};
use serde::ser::{Error as _, SerializeSeq as _};
use serde::{Serialize, Serializer};
use serde_json::ser::Formatter;
use std::io::Write;

/// Version of the file's shape; a change that a reader would notice raises it.
pub(crate) const FORM: &str = "nde-record/1";
/// Version of the shape of one line of JSON Lines.
pub(crate) const LINE_FORM: &str = "nde-line/1";

/// Writes the record.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn write(record: &Record, target: &mut dyn Write) -> Result<()> {
    let mut writer = serde_json::Serializer::with_formatter(&mut *target, Lines::default());
    RecordView::of(record).serialize(&mut writer)?;
    Ok(target.write_all(b"\n")?)
}

/// Writes one line for each case and for each failure.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn lines(record: &Record, target: &mut dyn Write) -> Result<()> {
    let rules = record.criteria.rules.as_ref();
    let head = LineHead {
        form: LINE_FORM,
        tool: TOOL,
        rules: rules.map(SetView::of),
        guard: rules.map(|_| guard_word(record.criteria.guard)),
    };
    record.each(|case| {
        serde_json::to_writer(&mut *target, &LineView { head: &head, of: case })?;
        Ok(target.write_all(b"\n")?)
    })?;
    for failure in &record.failures {
        let of = FailureView::of(failure);
        serde_json::to_writer(&mut *target, &LineView { head: &head, of })?;
        target.write_all(b"\n")?;
    }
    Ok(())
}

/// One key a line, but lists of numbers side by side: outlines are long.
#[derive(Default)]
struct Lines {
    depth: usize,
}

impl Lines {
    fn line<W: ?Sized + Write>(&self, writer: &mut W) -> std::io::Result<()> {
        writer.write_all(b"\n")?;
        (0..self.depth).try_for_each(|_| writer.write_all(b"  "))
    }
}

impl Formatter for Lines {
    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> std::io::Result<()> {
        self.depth += 1;
        writer.write_all(b"{")
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> std::io::Result<()> {
        self.depth -= 1;
        self.line(writer)?;
        writer.write_all(b"}")
    }

    fn begin_object_key<W: ?Sized + Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> std::io::Result<()> {
        if !first {
            writer.write_all(b",")?;
        }
        self.line(writer)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> std::io::Result<()> {
        writer.write_all(b": ")
    }
}

const TOOL: ToolView = ToolView { name: "nde", version: env!("CARGO_PKG_VERSION") };

#[derive(Serialize)]
struct RecordView<'a> {
    form: &'static str,
    tool: ToolView,
    rules: Option<RulesView<'a>>,
    /// What uncertainty does near a limit; absent when nothing was judged.
    guard: Option<&'static str>,
    cases: CasesView<'a>,
    could_not_be_done: Vec<FailureView<'a>>,
    cautions: [&'static str; CAUTIONS.len()],
}

/// Written one by one, so that no more than one is in memory.
struct CasesView<'a>(&'a Record);

impl Serialize for CasesView<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut all = to.serialize_seq(None)?;
        let mut unwritable = None;
        let shown = self.0.each(|case| {
            all.serialize_element(case).map_err(|error| {
                unwritable = Some(error);
                anyhow!("not written")
            })
        });
        match (unwritable, shown) {
            (Some(error), _) => Err(error),
            (None, Err(error)) => Err(S::Error::custom(format_args!("{error:#}"))),
            (None, Ok(())) => all.end(),
        }
    }
}

#[derive(Serialize)]
struct LineHead<'a> {
    form: &'static str,
    tool: ToolView,
    rules: Option<SetView<'a>>,
    guard: Option<&'static str>,
}

#[derive(Serialize)]
struct LineView<'a, Of: Serialize> {
    #[serde(flatten)]
    head: &'a LineHead<'a>,
    #[serde(flatten)]
    of: Of,
}

/// Which rule set, by its name and the hash of its text.
#[derive(Serialize)]
struct SetView<'a> {
    id: &'a str,
    sha256: String,
}

impl<'a> SetView<'a> {
    fn of(set: &'a RuleSet) -> Self {
        Self { id: set.id(), sha256: sha256(set.text().as_bytes()) }
    }
}

#[derive(Clone, Copy, Serialize)]
struct ToolView {
    name: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
struct FailureView<'a> {
    photo: &'a str,
    why: &'a str,
}

impl<'a> FailureView<'a> {
    fn of(failure: &'a Failure) -> Self {
        Self { photo: &failure.name, why: &failure.why }
    }
}

#[derive(Serialize)]
struct RulesView<'a> {
    id: &'a str,
    title: &'a str,
    edition: Option<&'a str>,
    sha256: String,
    lines: Vec<RuleLineView>,
    cautions: &'a [String],
}

#[derive(Serialize)]
struct RuleLineView {
    name: String,
    sentence: String,
    limit: String,
    source: String,
    confidence: &'static str,
}

impl<'a> RecordView<'a> {
    fn of(record: &'a Record) -> Self {
        let rules = record.criteria.rules.as_ref();
        Self {
            form: FORM,
            tool: TOOL,
            rules: rules.map(RulesView::of),
            guard: rules.map(|_| guard_word(record.criteria.guard)),
            cases: CasesView(record),
            could_not_be_done: record.failures.iter().map(FailureView::of).collect(),
            cautions: CAUTIONS,
        }
    }
}

/// The word of the command line.
pub(crate) const fn guard_word(guard: Guard) -> &'static str {
    match guard {
        Guard::AcceptSide => "accept-side",
        Guard::AsMeasured => "as-measured",
    }
}

impl<'a> RulesView<'a> {
    fn of(set: &'a RuleSet) -> Self {
        Self {
            id: set.id(),
            title: set.title(),
            edition: set.edition(),
            sha256: sha256(set.text().as_bytes()),
            lines: set
                .rules()
                .map(|line| RuleLineView {
                    name: line.name,
                    sentence: line.sentence,
                    limit: line.limit,
                    confidence: Confidence::word(line.source.confidence),
                    source: line.source.text,
                })
                .collect(),
            cautions: set.cautions(),
        }
    }
}
