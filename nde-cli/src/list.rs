//! A list of indications typed by hand.
//!
//! Needed: `id`, `length_mm`, `width_mm` (or `length_in`, `width_in`; decimals or fractions).
//! Where rules need places: `x_mm`, `y_mm` (or `x_in`, `y_in`) and `angle_deg`, the direction of
//! the length from x towards y; such an indication stands for a stadium. At will: `kind`,
//! `relevance`, `label`. Typed values are exact, so a tie is a tie. Cells are divided by commas, or as
//! spreadsheets do where the comma is the decimal sign: by semicolons or tabs; then `3,5` is read.

mod fault;

pub(crate) use fault::{CellFault, ListError};

use crate::degrees::Degrees;
use nde_core::{Indication, Length, Measured, Place, Point, Relevance, Shape};
use std::collections::HashMap;

/// Most bytes of a list: far more than anybody types, and still small in memory. Chosen.
pub(crate) const MOST_BYTES: usize = 16 << 20;

/// A list as typed.
#[derive(Debug)]
pub(crate) struct TypedList {
    /// Its indications, in the order typed.
    pub indications: Vec<Indication>,
    /// Headings that mean nothing here; their cells were not read.
    pub ignored: Vec<String>,
}

/// Reads a list.
///
/// # Errors
/// See [`ListError`]; the first fault ends the reading, so that no part of a list is judged.
pub(crate) fn read(bytes: &[u8]) -> Result<TypedList, ListError> {
    if bytes.len() > MOST_BYTES {
        return Err(ListError::TooLarge);
    }
    let text = std::str::from_utf8(bytes).map_err(|_| ListError::NotUtf8)?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (text, said) = separator_line(text);
    let heading_line = text.lines().find(|l| !l.trim().is_empty()).ok_or(ListError::Empty)?;
    let delimiter = said.unwrap_or_else(|| delimiter(heading_line));

    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let headings = reader.headers().map_err(|e| broken(&e))?.clone();
    let (columns, ignored) = Columns::find(&headings)?;
    let lines_before = u64::from(said.is_some());
    // Where the comma divides no cells it can only be a decimal one.
    let comma = if delimiter == b',' { Comma::Divides } else { Comma::Decimal };

    let mut indications: Vec<Indication> = Vec::new();
    let mut line_of_id: HashMap<String, u64> = HashMap::new();
    for record in reader.records() {
        let record = record.map_err(|e| broken(&e))?;
        if record.iter().all(str::is_empty) {
            continue; // a spreadsheet's empty lines
        }
        let row = Row {
            line: record.position().map_or(0, csv::Position::line) + lines_before,
            comma,
            cells: &record,
            columns: &columns,
        };
        if record.len() != headings.len() {
            return Err(ListError::Ragged {
                line: row.line,
                cells: record.len(),
                headings: headings.len(),
            });
        }
        let indication = row.indication()?;
        if let Some(&first) = line_of_id.get(&indication.id) {
            let fault = CellFault::TwiceId { id: indication.id, first };
            return Err(row.fault(&columns.id, fault));
        }
        line_of_id.insert(indication.id.clone(), row.line);
        indications.push(indication);
    }
    Ok(TypedList { indications, ignored })
}

/// A spreadsheet's first line that only names the separator, taken off.
fn separator_line(text: &str) -> (&str, Option<u8>) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    match first.trim_end().as_bytes() {
        [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', separator @ (b',' | b';' | b'\t')] => {
            (rest, Some(*separator))
        }
        _ => (text, None),
    }
}

fn broken(error: &csv::Error) -> ListError {
    ListError::Broken {
        line: error.position().map_or(0, csv::Position::line),
        detail: match error.kind() {
            csv::ErrorKind::UnequalLengths { .. } => "uneven row".to_owned(),
            _ => error.to_string(),
        },
    }
}

/// Comma, or what a spreadsheet writes where the comma is taken: semicolon or tab.
fn delimiter(heading_line: &str) -> u8 {
    [b',', b';', b'\t']
        .into_iter()
        .max_by_key(|d| (heading_line.bytes().filter(|b| b == d).count(), *d == b','))
        .unwrap_or(b',')
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Unit {
    Millimetre,
    Inch,
}

/// What a comma in a cell is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Comma {
    /// Cells are divided by commas, so one inside a number is a slip.
    Divides,
    /// Cells are divided otherwise: the decimal sign of half the world.
    Decimal,
}

impl Unit {
    fn parse(self, text: &str, comma: Comma) -> Result<Length, CellFault> {
        let owned = || text.to_owned();
        let one_comma = text.matches(',').count() == 1 && !text.contains(['.', '/']);
        let point = match comma {
            Comma::Decimal if one_comma => text.replace(',', "."),
            _ if text.contains(',') => return Err(CellFault::DecimalComma { text: owned() }),
            _ => owned(),
        };
        let read = match self {
            Self::Millimetre => Length::parse_mm(&point),
            Self::Inch => Length::parse_inch(&point),
        };
        read.map_err(|error| {
            let lower = text.to_lowercase();
            let digit_first = text.starts_with(|c: char| c.is_ascii_digit());
            if digit_first
                && (lower.ends_with(['m', '"', '\'', '\u{201d}']) || lower.ends_with("in"))
            {
                CellFault::Unit { text: owned() }
            } else if digit_first && text.contains('-') && text.contains('/') {
                CellFault::Dash { text: owned() }
            } else if text.starts_with(['<', '>', '~', '\u{2248}'])
                || (digit_first && text.contains('-'))
            {
                CellFault::About { text: owned() }
            } else {
                error.into()
            }
        })
    }
}

/// A column in use.
#[derive(Clone, Debug)]
struct Column {
    at: usize,
    heading: String,
    unit: Unit,
}

/// Which cell holds what.
#[derive(Debug)]
struct Columns {
    id: Column,
    length: Column,
    width: Column,
    place: Option<[Column; 2]>,
    angle: Option<Column>,
    kind: Option<Column>,
    relevance: Option<Column>,
    label: Option<Column>,
}

impl Columns {
    fn find(headings: &csv::StringRecord) -> Result<(Self, Vec<String>), ListError> {
        let mut used = vec![false; headings.len()];
        let mut take =
            |name: &'static str, variants: &[(&str, Unit)]| -> Result<Option<Column>, ListError> {
                let mut found = None;
                for (at, heading) in headings.iter().enumerate() {
                    let plain = plain(heading);
                    if let Some((_, unit)) = variants.iter().find(|(v, _)| *v == plain) {
                        used[at] = true;
                        let column = Column { at, heading: heading.to_owned(), unit: *unit };
                        if found.replace(column).is_some() {
                            return Err(ListError::TwiceColumn { heading: name });
                        }
                    }
                }
                Ok(found)
            };
        use Unit::{Inch, Millimetre};
        let id = take("id", &[("id", Millimetre)])?;
        let length = take("length", &[("length_mm", Millimetre), ("length_in", Inch)])?;
        let width = take("width", &[("width_mm", Millimetre), ("width_in", Inch)])?;
        let x = take("x", &[("x_mm", Millimetre), ("x_in", Inch)])?;
        let y = take("y", &[("y_mm", Millimetre), ("y_in", Inch)])?;
        let angle = take("angle_deg", &[("angle_deg", Millimetre)])?;
        let kind = take("kind", &[("kind", Millimetre)])?;
        let relevance = take("relevance", &[("relevance", Millimetre)])?;
        let label = take("label", &[("label", Millimetre)])?;

        let found = || headings.iter().collect::<Vec<_>>().join(",");
        let need = |column: Option<Column>, heading| {
            column.ok_or_else(|| {
                near(headings, heading)
                    .unwrap_or_else(|| ListError::NoColumn { heading, found: found() })
            })
        };
        let place = match (x, y) {
            (Some(x), Some(y)) => Some([x, y]),
            (None, None) => None,
            _ => return Err(ListError::HalfPlace),
        };
        let ignored = headings
            .iter()
            .zip(&used)
            .filter(|(heading, used)| !**used && !heading.is_empty())
            .map(|(heading, _)| heading.to_owned())
            .collect();
        let columns = Self {
            id: need(id, "id")?,
            length: need(length, "length_mm")?,
            width: need(width, "width_mm")?,
            place,
            angle,
            kind,
            relevance,
            label,
        };
        Ok((columns, ignored))
    }
}

/// A heading in small letters, `Length (mm)` as `length_mm`.
fn plain(heading: &str) -> String {
    let lower = heading.to_lowercase().replace(['(', ')', '[', ']'], " ");
    lower.split_whitespace().collect::<Vec<_>>().join("_")
}

/// A heading that is nearly the needed one.
fn near(headings: &csv::StringRecord, needed: &'static str) -> Option<ListError> {
    let (words, wanted): (&[&str], _) = match needed {
        "id" => (&["nr", "no", "no.", "number", "name", "mark", "#", "indication"], "id"),
        "length_mm" => (&["length", "l", "len"], "length_mm or length_in"),
        _ => (&["width", "w", "breadth"], "width_mm or width_in"),
    };
    let found = headings.iter().find(|heading| words.contains(&plain(heading).as_str()))?;
    Some(ListError::NearHeading { found: found.to_owned(), wanted })
}

/// One line of the list.
struct Row<'a> {
    line: u64,
    comma: Comma,
    cells: &'a csv::StringRecord,
    columns: &'a Columns,
}

impl Row<'_> {
    fn cell(&self, column: &Column) -> &str {
        self.cells.get(column.at).unwrap_or_default()
    }

    fn optional(&self, column: Option<&Column>) -> Option<&str> {
        column.map(|c| self.cell(c)).filter(|text| !text.is_empty())
    }

    fn fault(&self, column: &Column, fault: CellFault) -> ListError {
        ListError::Cell { line: self.line, column: column.heading.clone(), fault }
    }

    fn indication(&self) -> Result<Indication, ListError> {
        let id = self.cell(&self.columns.id);
        if id.is_empty() {
            return Err(self.fault(&self.columns.id, CellFault::Missing));
        }
        let length = self.size(&self.columns.length)?;
        let width = self.size(&self.columns.width)?;
        if width > length {
            let fault = CellFault::WiderThanLong { width, length };
            return Err(self.fault(&self.columns.width, fault));
        }
        Ok(Indication {
            id: id.to_owned(),
            length: Measured::exact(length),
            width: Measured::exact(width),
            path: None,
            edge_shift: None,
            place: self.place(length, width)?,
            given_shape: self.word(self.columns.kind.as_ref(), "linear or rounded", |word| {
                match word {
                    "linear" => Some(Shape::Linear),
                    "rounded" | "non-linear" | "nonlinear" => Some(Shape::Rounded),
                    _ => None,
                }
            })?,
            relevance: self
                .word(self.columns.relevance.as_ref(), "relevant, non-relevant or false", |word| {
                    match word {
                        "relevant" => Some(Relevance::Relevant),
                        "non-relevant" | "nonrelevant" => Some(Relevance::NonRelevant),
                        "false" => Some(Relevance::False),
                        "not-yet-called" => Some(Relevance::NotYetCalled),
                        _ => None,
                    }
                })?
                .unwrap_or_default(),
            label: self.optional(self.columns.label.as_ref()).map(str::to_lowercase),
            doubts: Vec::new(),
        })
    }

    fn size(&self, column: &Column) -> Result<Length, ListError> {
        let text = self.cell(column);
        let fault = |fault| self.fault(column, fault);
        if text.is_empty() {
            return Err(fault(CellFault::Missing));
        }
        match column.unit.parse(text, self.comma).map_err(fault)? {
            Length::ZERO => Err(fault(CellFault::Zero)),
            length => Ok(length),
        }
    }

    /// A line may have a place or none; a place without its direction is only enough for a circle.
    fn place(&self, length: Length, width: Length) -> Result<Option<Place>, ListError> {
        let Some([x, y]) = &self.columns.place else { return Ok(None) };
        let (x_text, y_text) = (self.cell(x), self.cell(y));
        if x_text.is_empty() && y_text.is_empty() {
            return Ok(None);
        }
        for (empty, column, other) in [(x_text, x, y), (y_text, y, x)] {
            if empty.is_empty() {
                return Err(
                    self.fault(column, CellFault::HalfPlace { other: other.heading.clone() })
                );
            }
        }
        let coordinate = |column: &Column, text: &str| {
            signed(text, column.unit, self.comma).map_err(|fault| self.fault(column, fault))
        };
        let centre = Point { x_nm: coordinate(x, x_text)?, y_nm: coordinate(y, y_text)? };
        let angle_udeg = match &self.columns.angle {
            Some(column) if !self.cell(column).is_empty() => {
                angle_udeg(self.cell(column), self.comma)
                    .map_err(|fault| self.fault(column, fault))?
            }
            _ if length == width => 0,
            Some(column) => return Err(self.fault(column, CellFault::Missing)),
            None => return Err(ListError::NoAngle { line: self.line }),
        };
        Ok(Some(Place::Stadium { centre, angle_udeg, length, width }))
    }

    fn word<T>(
        &self,
        column: Option<&Column>,
        known: &'static str,
        meaning: impl Fn(&str) -> Option<T>,
    ) -> Result<Option<T>, ListError> {
        let (Some(column), Some(text)) = (column, self.optional(column)) else { return Ok(None) };
        meaning(&text.to_lowercase())
            .map(Some)
            .ok_or_else(|| self.fault(column, CellFault::Word { text: text.to_owned(), known }))
    }
}

/// A coordinate: a length with a sign.
fn signed(text: &str, unit: Unit, comma: Comma) -> Result<i64, CellFault> {
    if text.is_empty() {
        return Err(CellFault::Missing);
    }
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, text.strip_prefix('+').unwrap_or(text)),
    };
    let nm = unit.parse(digits, comma)?.nm();
    Ok(sign * i64::try_from(nm).expect("a length is at most 1e12 nm"))
}

/// Degrees as whole millionths.
fn angle_udeg(text: &str, comma: Comma) -> Result<i64, CellFault> {
    let point = if comma == Comma::Decimal { text.replacen(',', ".", 1) } else { text.to_owned() };
    Ok(point.parse::<Degrees>()?.udeg())
}

#[cfg(test)]
mod tests;
