//! A spreadsheet: the list with units in its headings, numbers as numbers, marked photos linked.
//!
//! Every text is stored as a text, so that none can become a formula.

use super::spoken::uncalled;
use crate::cautions::CAUTIONS;
use crate::record::{Case, Picture, Record, Row, aside_words};
use anyhow::{Result, bail};
use nde_core::Verdict;
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Url, Workbook, Worksheet,
};
use std::io::Write;

/// Most rows of a sheet, the heading included, and most links on one. Source: the published limits of
/// the file form's own program (from memory).
const MOST_ROWS: u32 = 1_048_576;
const MOST_LINKS: usize = 65_000;

const INDICATIONS: [(&str, f64); 26] = [
    ("photo", 28.0),
    ("id", 6.0),
    ("kind", 9.0),
    ("length, mm", 10.0),
    ("± length, mm (k = 2)", 12.0),
    ("width, mm", 10.0),
    ("± width, mm (k = 2)", 12.0),
    ("length : width", 9.0),
    ("x, mm", 9.0),
    ("y, mm", 9.0),
    ("x, pixels", 9.0),
    ("y, pixels", 9.0),
    ("angle, degrees", 9.0),
    ("area, mm²", 9.0),
    ("along the curve, mm", 11.0),
    ("loss of green, share", 9.0),
    ("called", 14.0),
    ("what it is", 14.0),
    ("reason for the call", 30.0),
    ("called by", 12.0),
    ("called when", 20.0),
    ("length by hand, mm", 10.0),
    ("width by hand, mm", 10.0),
    ("verdict", 9.0),
    ("why", 60.0),
    ("doubts", 40.0),
];
const PHOTOS: [(&str, f64); 12] = [
    ("photo", 28.0),
    ("verdict", 10.0),
    ("verdict without any call", 10.0),
    ("indications", 11.0),
    ("seen, not counted", 11.0),
    ("area read, mm²", 11.0),
    ("mm a pixel", 10.0),
    ("marked photo", 34.0),
    ("SHA-256", 70.0),
    ("checks not fit", 9.0),
    ("checks with a warning", 9.0),
    ("checks of the picture", 50.0),
];
const ASIDE: [(&str, f64); 8] = [
    ("photo", 28.0),
    ("why not counted", 16.0),
    ("length, mm", 10.0),
    ("width, mm", 10.0),
    ("x, mm", 9.0),
    ("y, mm", 9.0),
    ("x, pixels", 9.0),
    ("y, pixels", 9.0),
];

/// Writes the record as a workbook.
///
/// # Errors
/// It has more rows than a sheet can hold, or the target cannot be written.
pub(crate) fn write(record: &Record, target: &mut dyn Write) -> Result<()> {
    let mut book = Workbook::new();
    // The same record gives the same bytes: no clock.
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&made));
    let mut list = Page::new("indications", &INDICATIONS)?;
    let mut photos = Page::new("photos", &PHOTOS)?;
    let mut aside = Page::new("seen, not counted", &ASIDE)?;
    record.each(|case| {
        for row in &case.indications {
            list.indication(case, row)?;
        }
        photos.photo(case)?;
        for one in &case.set_aside {
            aside.row(|page| {
                page.text(&case.photo)?;
                page.text(aside_words(&one.reason))?;
                let [x_px, y_px] = one.at_px;
                let [x_mm, y_mm] = one.at_mm;
                let all = [one.length_mm, one.width_mm, x_mm, y_mm, x_px, y_px];
                all.iter().try_for_each(|value| page.number(Some(*value), 4))
            })?;
        }
        Ok(())
    })?;
    for failure in &record.failures {
        photos.row(|page| {
            page.text(&failure.name)?;
            page.text("not done")?;
            (0..6).try_for_each(|_| page.text(""))?;
            page.text(&failure.why)
        })?;
    }
    for page in [list, photos, aside] {
        book.push_worksheet(page.done()?);
    }
    book.push_worksheet(about(record)?);
    Ok(target.write_all(&book.save_to_buffer()?)?)
}

/// A sheet that grows row by row, cell by cell.
struct Page {
    sheet: Worksheet,
    row: u32,
    column: u16,
    columns: u16,
    links: usize,
}

impl Page {
    fn new(name: &str, columns: &[(&str, f64)]) -> Result<Self> {
        let mut sheet = Worksheet::new();
        sheet.set_name(name)?;
        let heading = Format::new()
            .set_bold()
            .set_text_wrap()
            .set_align(FormatAlign::Top)
            .set_border_bottom(FormatBorder::Thin);
        for (n, (text, width)) in (0u16..).zip(columns) {
            sheet.write_string_with_format(0, n, *text, &heading)?;
            sheet.set_column_width(n, *width)?;
        }
        sheet.set_freeze_panes(1, 1)?;
        sheet.set_landscape().set_paper_size(9).set_print_fit_to_pages(1, 0);
        sheet.set_repeat_rows(0, 0)?;
        let columns = u16::try_from(columns.len())?;
        Ok(Self { sheet, row: 0, column: 0, columns, links: 0 })
    }

    fn row(&mut self, fill: impl FnOnce(&mut Self) -> Result<()>) -> Result<()> {
        self.row += 1;
        self.column = 0;
        if self.row >= MOST_ROWS {
            bail!("a spreadsheet holds {MOST_ROWS} rows and there are more; use indications.csv");
        }
        fill(self)
    }

    fn next(&mut self) -> u16 {
        self.column += 1;
        self.column - 1
    }

    fn text(&mut self, text: &str) -> Result<()> {
        let column = self.next();
        // More than a cell holds is cut; the record has it whole.
        let text: String = text.chars().take(32_000).collect();
        if !text.is_empty() {
            self.sheet.write_string(self.row, column, text)?;
        }
        Ok(())
    }

    fn number(&mut self, value: Option<f64>, decimals: i32) -> Result<()> {
        let column = self.next();
        if let Some(value) = value.filter(|value| value.is_finite()) {
            let tens = 10.0_f64.powi(decimals);
            // Zero has no sign: -0 + 0 is 0.
            let rounded = (value * tens).round() / tens + 0.0;
            self.sheet.write_number(self.row, column, rounded)?;
        }
        Ok(())
    }

    fn link(&mut self, place: &str, text: &str) -> Result<()> {
        self.links += 1;
        // Beside the workbook; `#` and `%` mean something else in an address.
        let address = format!("file:///{}", place.replace('%', "%25").replace('#', "%23"));
        // What cannot be a link stays a text.
        if self.links > MOST_LINKS || address.len() > 2000 {
            return self.text(text);
        }
        let column = self.next();
        let text: String = text.chars().take(250).collect();
        self.sheet.write_url(self.row, column, Url::new(address).set_text(text))?;
        Ok(())
    }

    fn indication(&mut self, case: &Case, row: &Row) -> Result<()> {
        self.row(|page| {
            match &case.marked {
                Some(marked) => page.link(marked, &case.photo)?,
                None => page.text(&case.photo)?,
            }
            page.text(&row.id)?;
            page.text(row.kind.word())?;
            page.number(Some(row.length.mm), 6)?;
            page.number(row.length.u_mm, 3)?;
            page.number(Some(row.width.mm), 6)?;
            page.number(row.width.u_mm, 3)?;
            page.number(row.ratio, 3)?;
            for (value, digits) in [(row.at_mm, 4), (row.at_px, 2)] {
                page.number(value.map(|v| v[0]), digits)?;
                page.number(value.map(|v| v[1]), digits)?;
            }
            page.number(row.angle_deg, 2)?;
            page.number(row.area_mm2, 4)?;
            page.number(row.path_mm, 4)?;
            page.number(row.contrast, 4)?;
            page.text(row.relevance.word())?;
            page.text(row.label.as_deref().unwrap_or_default())?;
            let said = row.said.as_ref();
            for text in [
                said.and_then(|said| said.reason.as_deref()),
                said.and_then(|said| said.by.as_deref()),
                said.and_then(|said| said.when.as_deref()),
            ] {
                page.text(text.unwrap_or_default())?;
            }
            page.number(said.and_then(|said| said.own_length_mm), 4)?;
            page.number(said.and_then(|said| said.own_width_mm), 4)?;
            page.text(row.verdict.map_or("", Verdict::word))?;
            page.text(row.reason.as_deref().unwrap_or_default())?;
            let doubts: Vec<&str> = row.doubts.iter().map(|d| d.sentence.as_str()).collect();
            page.text(&doubts.join("; "))
        })
    }

    #[expect(clippy::cast_precision_loss, reason = "counts of indications and checks")]
    fn photo(&mut self, case: &Case) -> Result<()> {
        self.row(|page| {
            page.text(&case.photo)?;
            page.text(case.verdict().map_or("not judged", Verdict::word))?;
            page.text(uncalled(case).map_or("", Verdict::word))?;
            page.number(Some(case.indications.len() as f64), 0)?;
            page.number(Some(case.set_aside.len() as f64), 0)?;
            page.number(case.picture.as_ref().map(|p| p.coat.area_mm2), 1)?;
            page.number(case.picture.as_ref().map(|p| p.resolution.pitch_mm), 5)?;
            match &case.marked {
                Some(marked) => page.link(marked, marked)?,
                None => page.text("")?,
            }
            page.text(&case.sha256)?;
            let checks = case.picture.as_ref().map(Picture::checks);
            page.number(checks.as_ref().map(|c| c.failed.len() as f64), 0)?;
            page.number(checks.as_ref().map(|c| c.warned.len() as f64), 0)?;
            page.text(&checks.map_or(String::new(), |c| c.told()))
        })
    }

    fn done(mut self) -> Result<Worksheet> {
        self.sheet.autofilter(0, 0, self.row, self.columns - 1)?;
        Ok(self.sheet)
    }
}

/// What the numbers rest on.
fn about(record: &Record) -> Result<Worksheet> {
    let mut sheet = Worksheet::new();
    sheet.set_name("about")?;
    sheet.set_column_width(0, 110.0)?;
    let wrapped = Format::new().set_text_wrap();
    let mut lines = vec![format!("made by nde {}", env!("CARGO_PKG_VERSION"))];
    match &record.criteria.rules {
        Some(set) => {
            let verdict = record.verdict(&record.tally()?).map_or("not judged", Verdict::word);
            lines.push(format!("verdict of the whole: {verdict}"));
            lines.push(format!("judged by {}: {}", set.id(), set.title()));
            lines.extend(set.rules().map(|l| format!("{} [{}]", l.sentence, l.source.text)));
            lines.extend(set.cautions().iter().cloned());
        }
        None => lines.push("measured only: nothing was judged".to_owned()),
    }
    lines.extend(CAUTIONS.map(str::to_owned));
    for (n, line) in (0..).zip(lines) {
        sheet.write_string_with_format(n, 0, line, &wrapped)?;
    }
    Ok(sheet)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::GuardChoice;
    use crate::record::Failure;
    use crate::settings::Criteria;
    use calamine::{Data, Reader as _, Xlsx};
    use nde_core::{Indication, Length};

    #[test]
    fn another_reader_finds_numbers_texts_and_headings() {
        let mut long = Indication::typed("=1+1", Length::from_um(9_250), Length::from_um(500));
        long.label = Some("@crack".to_owned());
        let mut case = Case::of_list("=cmd|x.jpg", &"ab".repeat(32), &[long], None);
        case.marked = Some("marked/=cmd_x.jpg".to_owned());
        let failures = vec![Failure { name: "-b.jpg".to_owned(), why: "+no card".to_owned() }];
        let criteria = Criteria::resolve(
            None,
            &[],
            GuardChoice::AcceptSide,
            &crate::args::WeldArgs::default(),
        )
        .unwrap();
        let record = Record {
            criteria,
            cases: Box::new(vec![case]),
            failures,
            units: crate::args::Units::Mm,
            part: None,
            command: Vec::new(),
        };
        let once = || {
            let mut bytes = Vec::new();
            write(&record, &mut bytes).unwrap();
            bytes
        };
        assert!(once() == once(), "the same bytes");
        let mut book: Xlsx<_> =
            calamine::open_workbook_from_rs(std::io::Cursor::new(once())).unwrap();
        assert_eq!(book.sheet_names(), ["indications", "photos", "seen, not counted", "about"]);
        let list = book.worksheet_range("indications").unwrap();
        assert_eq!(list.get((0, 3)), Some(&Data::String("length, mm".into())));
        assert_eq!(list.get((1, 0)), Some(&Data::String("=cmd|x.jpg".into())));
        assert_eq!(list.get((1, 1)), Some(&Data::String("=1+1".into())));
        assert_eq!(list.get((1, 3)), Some(&Data::Float(9.25)));
        assert!(matches!(list.get((1, 4)), None | Some(Data::Empty)), "absent is empty");
        assert_eq!(list.get((1, 17)), Some(&Data::String("@crack".into())));
        let formulas = book.worksheet_formula("indications").unwrap();
        assert!(formulas.used_cells().all(|(_, _, text)| text.is_empty()), "no formula");
        let photos = book.worksheet_range("photos").unwrap();
        assert_eq!(photos.get((2, 1)), Some(&Data::String("not done".into())));
        assert_eq!(photos.get((2, 8)), Some(&Data::String("+no card".into())));
    }
}
