//! `calls.csv`: what a person called indications, one event a line, only ever added to.
//!
//! Columns in any order: `photo`, `id`, `relevance`, `label`, `reason`, `by`, `when`, `own_length_mm`,
//! `own_width_mm` (or `_in`), and the place the call is found by: `x_px,y_px` in the upright photo or
//! `x_mm,y_mm` on the part. A line without `id`, with both own sizes and a place, adds an indication.

use crate::talk::steers;
use anyhow::{Result, anyhow, bail};
use nde_core::calls::CallEvent;
use nde_core::{Length, Point, Relevance};
use std::collections::HashMap;
use std::path::Path;

/// Most bytes of a calls file: above a hundred thousand events.
const MOST_BYTES: usize = 20_000_000;
/// Furthest place that is no slip, in mm or px.
const FURTHEST: f64 = 100_000.0;

/// All calls of one file.
#[derive(Clone, Debug, Default)]
pub(crate) struct Calls {
    rows: Vec<Row>,
    /// SHA-256 of the file.
    pub sha256: String,
}

#[derive(Clone, Debug)]
struct Row {
    line: u64,
    photo: Option<String>,
    at_px: Option<[f64; 2]>,
    event: CallEvent,
}

const COLUMNS: [&str; 16] = [
    "photo",
    "id",
    "relevance",
    "label",
    "reason",
    "by",
    "when",
    "own_length_mm",
    "own_width_mm",
    "own_length_in",
    "own_width_in",
    "x_mm",
    "y_mm",
    "x_px",
    "y_px",
    "angle_deg",
];

impl Calls {
    /// Reads a file of calls.
    ///
    /// # Errors
    /// The first fault, as `file:line: column: fact; remedy`.
    pub(crate) fn load(path: &Path) -> Result<Self> {
        let shown = path.display();
        let file = crate::inputs::ListFile::Path(path.to_owned());
        let bytes = file.bytes(MOST_BYTES)?;
        if bytes.len() > MOST_BYTES {
            bail!("{shown}: is larger than 20 MB; check that this is a list of calls");
        }
        let mut calls = read(&bytes).map_err(|e| anyhow!("{shown}:{e}"))?;
        calls.sha256 = crate::digest::sha256(&bytes);
        Ok(calls)
    }

    /// The events about one photo, in their order; `to_part` leads from its pixels to the part.
    #[must_use]
    pub(crate) fn about(
        &self,
        photo: &str,
        to_part: impl Fn([f64; 2]) -> Option<[f64; 2]>,
    ) -> Vec<CallEvent> {
        self.rows
            .iter()
            .filter(|row| row.photo.as_deref().is_none_or(|named| same_photo(named, photo)))
            .map(|row| {
                let mut event = row.event.clone();
                // The photo's own pixels stay where they are when its scale is read anew.
                if let Some(mm) = row.at_px.and_then(&to_part) {
                    event.at = Some(Point::from_mm(mm[0], mm[1]));
                }
                event
            })
            .collect()
    }

    /// Lines that name none of these photos, or name none while there are several: nobody's calls.
    #[must_use]
    pub(crate) fn astray(&self, photos: &[&str]) -> Vec<(u64, String)> {
        self.rows
            .iter()
            .filter_map(|row| match &row.photo {
                None if photos.len() == 1 => None,
                None => Some((row.line, "names no photo, and there are several".to_owned())),
                Some(named) if photos.iter().any(|photo| same_photo(named, photo)) => None,
                Some(named) => Some((row.line, format!("names `{named}`, which is not read here"))),
            })
            .collect()
    }
}

/// The same name, or the same file name where one of them is given without its folder.
fn same_photo(a: &str, b: &str) -> bool {
    // Neither a page nor a list holds every character that steers as it is.
    let told = |name: &str| -> String {
        let open = |c: char| if steers(c) || c == '\u{fffd}' { ' ' } else { c };
        name.trim().chars().map(open).collect()
    };
    let (a, b) = (&*told(a), &*told(b));
    let last = |name: &str| name.rsplit(['/', '\\']).next().map(str::to_owned);
    a == b
        || (last(a) == last(b) && (last(a).as_deref() == Some(a) || last(b).as_deref() == Some(b)))
}

fn read(bytes: &[u8]) -> Result<Calls, String> {
    let text = std::str::from_utf8(bytes)
        .map_err(|_| "1: is not UTF-8 text; save it as CSV UTF-8".to_owned())?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let heading = text.lines().next().unwrap_or("");
    let delimiter = [b',', b';', b'\t']
        .into_iter()
        .max_by_key(|d| (heading.bytes().filter(|b| b == d).count(), *d == b','))
        .unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let headings =
        reader.headers().map_err(|e| format!("1: cannot be read ({e}); check quotes"))?;
    let mut at: HashMap<String, usize> = HashMap::new();
    for (n, heading) in headings.iter().enumerate() {
        let word = heading.to_lowercase();
        if word.is_empty() {
            continue;
        }
        if !COLUMNS.contains(&word.as_str()) {
            return Err(format!(
                "1: the column `{heading}` is not known; the columns are {}",
                COLUMNS.join(", ")
            ));
        }
        if at.insert(word, n).is_some() {
            return Err(format!("1: the column `{heading}` stands twice; keep one"));
        }
    }
    if !at.contains_key("relevance") && !at.keys().any(|k| k.starts_with("own_")) {
        return Err("1: there is no column `relevance`; the first line names the columns".into());
    }
    let columns = headings.len();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| {
            let line = e.position().map_or(0, csv::Position::line);
            format!("{line}: cannot be read; check the quotes")
        })?;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = record.position().map_or(0, csv::Position::line);
        if record.len() > columns {
            return Err(format!(
                "{line}: has {} cells under {columns} columns; put texts with commas in quotes",
                record.len()
            ));
        }
        let cells = Cells { at: &at, record: &record };
        rows.push(row(line, &cells).map_err(|e| format!("{line}: {e}"))?);
    }
    Ok(Calls { rows, sha256: String::new() })
}

struct Cells<'a> {
    at: &'a HashMap<String, usize>,
    record: &'a csv::StringRecord,
}

impl Cells<'_> {
    fn text(&self, column: &str) -> Option<&str> {
        let text = self.record.get(*self.at.get(column)?)?;
        // The apostrophe that keeps a spreadsheet from taking a text for a formula.
        let bare = text.strip_prefix('\'').filter(|t| t.starts_with(['=', '+', '-', '@']));
        Some(bare.unwrap_or(text)).filter(|text| !text.is_empty())
    }

    fn owned(&self, column: &str) -> Option<String> {
        self.text(column).map(str::to_owned)
    }

    fn length(&self, name: &str) -> Result<Option<Length>, String> {
        let (mm, inch) = (format!("{name}_mm"), format!("{name}_in"));
        let read = match (self.text(&mm), self.text(&inch)) {
            (None, None) => return Ok(None),
            (Some(_), Some(_)) => return Err(format!("{mm} and {inch} are both given; keep one")),
            (Some(text), None) => Length::parse_mm(text).map_err(|e| format!("{mm}: {e}")),
            (None, Some(text)) => Length::parse_inch(text).map_err(|e| format!("{inch}: {e}")),
        }?;
        if read == Length::ZERO {
            return Err(format!("{name} is 0; leave it empty where nothing was measured"));
        }
        Ok(Some(read))
    }

    fn number(&self, column: &str) -> Result<Option<f64>, String> {
        let Some(text) = self.text(column) else { return Ok(None) };
        text.parse::<f64>().ok().filter(|v| v.abs() <= FURTHEST).map(Some).ok_or_else(|| {
            format!("{column}: `{text}` is not a number; write it with a point, such as 12.5")
        })
    }

    fn place(&self, x: &str, y: &str) -> Result<Option<[f64; 2]>, String> {
        match (self.number(x)?, self.number(y)?) {
            (Some(x), Some(y)) => Ok(Some([x, y])),
            (None, None) => Ok(None),
            _ => Err(format!("{x} and {y} go together; give both or none")),
        }
    }
}

fn row(line: u64, cells: &Cells<'_>) -> Result<Row, String> {
    let relevance = match cells.text("relevance").map(str::to_lowercase).as_deref() {
        None | Some("re-test" | "retest") => None,
        Some("relevant") => Some(Relevance::Relevant),
        Some("non-relevant" | "nonrelevant") => Some(Relevance::NonRelevant),
        Some("false") => Some(Relevance::False),
        Some("not-yet-called") => Some(Relevance::NotYetCalled),
        Some(other) => {
            return Err(format!(
                "relevance: `{other}` is not known; write relevant, non-relevant, false, re-test, or not-yet-called to take a call back"
            ));
        }
    };
    let mut event = CallEvent::default();
    event.asks_retest = cells
        .text("relevance")
        .is_some_and(|word| matches!(word.to_lowercase().as_str(), "re-test" | "retest"));
    event.id = cells.owned("id");
    event.at = cells.place("x_mm", "y_mm")?.map(|p| Point::from_mm(p[0], p[1]));
    event.relevance = relevance;
    event.label = cells.text("label").map(str::to_lowercase);
    event.reason = cells.owned("reason");
    event.by = cells.owned("by");
    event.when = cells.owned("when");
    event.own_length = cells.length("own_length")?;
    event.own_width = cells.length("own_width")?;
    let at_px = cells.place("x_px", "y_px")?;
    #[expect(clippy::cast_possible_truncation, reason = "within a full turn, in millionths")]
    let udeg = |degrees: f64| ((degrees % 360.0) * 1.0e6).round() as i64;
    event.angle_udeg = cells.number("angle_deg")?.map(udeg);
    let has_place = event.at.is_some() || at_px.is_some();
    let away = matches!(relevance, Some(Relevance::False | Relevance::NonRelevant));
    if away && event.reason.is_none() {
        return Err("reason: is empty; what is called away needs a reason".into());
    }
    if relevance.is_none()
        && event.label.is_none()
        && event.own_length.is_none()
        && event.own_width.is_none()
    {
        return Err("says nothing; give a relevance, a label or a size of your own".into());
    }
    if let (Some(length), Some(width)) = (event.own_length, event.own_width)
        && width > length
    {
        return Err("own_width is more than own_length; the length is the longer one".into());
    }
    if event.id.is_none() {
        let sizes = event.own_length.zip(event.own_width);
        if !has_place {
            return Err("has neither an id nor a place; give x_px,y_px or x_mm,y_mm".into());
        }
        match sizes {
            Some((length, width)) if length > width && event.angle_udeg.is_none() => {
                return Err(
                    "adds an indication without its direction; give angle_deg, from x towards y"
                        .into(),
                );
            }
            Some(_) => event.adds = true,
            // A call by place alone, such as one typed from the marked photo.
            None => {}
        }
    }
    Ok(Row { line, photo: cells.owned("photo"), at_px, event })
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "photo,id,relevance,label,reason,by,when,own_length_mm,own_width_mm,x_mm,y_mm,x_px,y_px,angle_deg\n";

    fn one(line: &str) -> Result<Calls, String> {
        read(format!("{HEAD}{line}\n").as_bytes())
    }

    #[test]
    fn a_call_is_found_by_place_in_either_frame() {
        let calls = read(
            format!("{HEAD}a.jpg,3,false,,lint,me,2026,,,,,100,50,\nb.jpg,1,relevant,crack,,,,,,10.5,-2,,,\n").as_bytes(),
        )
        .unwrap();
        let doubled = |px: [f64; 2]| Some([px[0] / 10.0, px[1] / 10.0]);
        let events = calls.about("photos/a.jpg", doubled);
        assert_eq!(events.len(), 1);
        assert_eq!(events[0].at, Some(Point::from_mm(10.0, 5.0)));
        assert_eq!(events[0].relevance, Some(Relevance::False));
        let events = calls.about("b.jpg", doubled);
        assert_eq!(events[0].at, Some(Point::from_mm(10.5, -2.0)));
        assert_eq!(events[0].label.as_deref(), Some("crack"));
        assert!(calls.astray(&["a.jpg", "b.jpg"]).is_empty());
        assert_eq!(calls.astray(&["x/a.jpg"])[0].0, 3);
    }

    #[test]
    fn photos_of_one_name_in_two_folders_are_told_apart() {
        assert!(same_photo("a.jpg", "port/a.jpg") && same_photo("port/a.jpg", "a.jpg"));
        assert!(same_photo("a\u{fffd}b.jpg", "a\u{1b}b.jpg") && same_photo("a b.jpg", "a\nb.jpg"));
        assert!(!same_photo("port/a.jpg", "starboard/a.jpg") && !same_photo("a.jpg", "b.jpg"));
    }

    #[test]
    fn a_line_without_an_id_adds_when_it_has_sizes_and_a_direction() {
        let added = one(",,relevant,,,,,3,1,5,5,,,90").unwrap().about("a", |_| None);
        assert!(added[0].adds);
        assert_eq!(added[0].angle_udeg, Some(90_000_000));
        assert!(!one(",,relevant,,,,,,,5,5,,,").unwrap().about("a", |_| None)[0].adds);
        assert!(one(",,relevant,,,,,3,1,5,5,,,").unwrap_err().contains("direction"));
        assert!(one(",,relevant,,,,,2,2,5,5,,,").is_ok());
    }

    #[test]
    fn every_fault_has_a_line_and_a_remedy() {
        for (line, words) in [
            (",1,false,,,,,,,,,,,", "needs a reason"),
            (",1,non-relevant,,,,,,,,,,,", "needs a reason"),
            (",1,maybe,,,,,,,,,,,", "is not known; write relevant"),
            (",1,,,because,,,,,,,,,", "says nothing"),
            (",1,relevant,,,,,0,,,,,,", "leave it empty"),
            (",1,relevant,,,,,x,,,,,,", "is not a length"),
            (",1,relevant,,,,,1,2,,,,,", "the longer one"),
            (",1,relevant,,,,,,,5,,,,", "go together"),
            (",1,relevant,,,,,,,nan,5,,,", "is not a number"),
            (",1,relevant,,,,,,,1e9,5,,,", "is not a number"),
            (",,relevant,,,,,,,,,,,", "neither an id nor a place"),
            (",1,relevant,,a, b,c,,,,,,,,,x", "cells under"),
        ] {
            let error = one(line).unwrap_err();
            assert!(error.starts_with("2: ") && error.contains(words), "{line}: {error}");
            assert!(error.contains("; "), "{error}");
        }
        assert!(read(b"photo,id,colour\n").unwrap_err().contains("`colour` is not known"));
        assert!(read(b"photo,id\n").unwrap_err().contains("no column `relevance`"));
        assert!(read(b"id,id,relevance\n").unwrap_err().contains("stands twice"));
        assert!(read(&[0xff, 0xfe]).unwrap_err().contains("UTF-8"));
        assert!(read(b"id;relevance;reason\n1;false;a, b\n").is_ok());
    }
}
