//! The full record as JSON. Sizes are unrounded; outlines stand to a thousandth of a pixel.
//!
//! The cases stand as in [`crate::record`]; here is what surrounds them. `null` is absent.

use crate::cautions::CAUTIONS;
use crate::digest::sha256;
use crate::record::{Case, Failure, Part, Record};
use anyhow::{Result, anyhow};
use nde_core::{Confidence, Guard, RuleSet};
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};
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

/// The JSON schema of the record.
pub(crate) fn record_schema() -> Schema {
    schema::<RecordView<'_>>("nde record", FORM)
}

/// The JSON schema of one line of JSON Lines.
pub(crate) fn line_schema() -> Schema {
    schema::<LineShape<'_>>("nde line", LINE_FORM)
}

fn schema<T: JsonSchema>(title: &str, form: &str) -> Schema {
    // What is written down is the shape of what is written, not of what could be read.
    let mut schema =
        SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<T>();
    schema.insert("title".to_owned(), title.into());
    if let Some(properties) =
        schema.get_mut("properties").and_then(serde_json::Value::as_object_mut)
    {
        properties.insert("form".to_owned(), serde_json::json!({ "const": form }));
    }
    schema
}

/// One line as it is published: a photo that was read, or one that could not be.
#[derive(JsonSchema)]
#[expect(dead_code, reason = "only its schema is used")]
struct LineShape<'a> {
    #[schemars(flatten)]
    head: LineHead<'a>,
    #[schemars(flatten)]
    of: LineOf<'a>,
}

#[derive(JsonSchema)]
#[schemars(untagged)]
#[expect(dead_code, reason = "only its schema is used")]
enum LineOf<'a> {
    Read(Box<Case>),
    CouldNot(FailureView<'a>),
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

#[derive(Serialize, JsonSchema)]
struct RecordView<'a> {
    form: &'static str,
    tool: ToolView,
    rules: Option<RulesView<'a>>,
    /// What uncertainty does near a limit; absent when nothing was judged.
    guard: Option<&'static str>,
    /// Words of the command line that results depend on.
    command: &'a [String],
    /// The part, its sheet and the calls; absent without any.
    part: Option<&'a Part>,
    #[schemars(with = "Vec<Case>")]
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

#[derive(Serialize, JsonSchema)]
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
#[derive(Serialize, JsonSchema)]
struct SetView<'a> {
    id: &'a str,
    sha256: String,
}

impl<'a> SetView<'a> {
    fn of(set: &'a RuleSet) -> Self {
        Self { id: set.id(), sha256: sha256(set.text().as_bytes()) }
    }
}

#[derive(Clone, Copy, Serialize, JsonSchema)]
struct ToolView {
    name: &'static str,
    version: &'static str,
}

#[derive(Serialize, JsonSchema)]
struct FailureView<'a> {
    photo: &'a str,
    why: &'a str,
}

impl<'a> FailureView<'a> {
    fn of(failure: &'a Failure) -> Self {
        Self { photo: &failure.name, why: &failure.why }
    }
}

#[derive(Serialize, JsonSchema)]
struct RulesView<'a> {
    id: &'a str,
    title: &'a str,
    edition: Option<&'a str>,
    sha256: String,
    lines: Vec<RuleLineView>,
    cautions: &'a [String],
}

#[derive(Serialize, JsonSchema)]
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
            command: &record.command,
            part: record.part.as_ref(),
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
