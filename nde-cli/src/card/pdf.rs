//! The card as PDF: filled rectangles and text, nothing rasterised.

use super::{MM_PER_INCH, Page};
use nde_measure::scale::design::Direction;
use pdf_writer::{Content, Finish as _, Name, Pdf, Ref, Str, TextStr};

const FONT: Name<'_> = Name(b"F1");

/// The page as PDF bytes. Viewers that follow the document's wish print it at 100 %.
#[must_use]
pub(crate) fn pdf(page: &Page) -> Vec<u8> {
    let [catalog, pages, only_page, font, content, info] = [1, 2, 3, 4, 5, 6].map(Ref::new);
    let mut pdf = Pdf::new();
    pdf.document_info(info).title(TextStr("Scale card, print at 100 %"));
    let mut root = pdf.catalog(catalog);
    root.pages(pages);
    root.viewer_preferences().display_doc_title(true).pair(Name(b"PrintScaling"), Name(b"None"));
    root.finish();
    pdf.pages(pages).kids([only_page]).count(1);

    let mut sheet = pdf.page(only_page);
    let size = [point(page.paper.width_mm), point(page.paper.height_mm)];
    sheet.media_box(pdf_writer::Rect::new(0.0, 0.0, size[0], size[1]));
    sheet.parent(pages).contents(content);
    sheet.resources().fonts().pair(FONT, font);
    sheet.finish();
    // One of the fonts that every reader has: the words are no measure.
    pdf.type1_font(font).base_font(Name(b"Helvetica"));
    pdf.stream(content, drawing(page).as_slice());
    pdf.finish()
}

fn drawing(page: &Page) -> pdf_writer::Buf {
    let up = |y_mm: f64| point(page.paper.height_mm - y_mm);
    let mut content = Content::new();
    content.set_fill_gray(0.0);
    for r in &page.ink {
        content.rect(
            point(r.x_mm),
            up(r.y_mm + r.height_mm),
            point(r.width_mm),
            point(r.height_mm),
        );
    }
    content.fill_nonzero();

    let cut = &page.cut;
    content.set_stroke_gray(0.6).set_line_width(point(0.15));
    content.set_dash_pattern([point(2.0), point(2.0)], 0.0);
    content
        .rect(
            point(cut.x_mm),
            up(cut.y_mm + cut.height_mm),
            point(cut.width_mm),
            point(cut.height_mm),
        )
        .stroke();

    for words in &page.words {
        let (x, y) = (point(words.at_mm[0]), up(words.at_mm[1]));
        let matrix = match words.direction {
            Direction::Across => [1.0, 0.0, 0.0, 1.0, x, y],
            Direction::Down => [0.0, -1.0, 1.0, 0.0, x, y],
        };
        content.begin_text().set_font(FONT, point(words.em_mm)).set_text_matrix(matrix);
        content.show(Str(words.text.as_bytes())).end_text();
    }
    content.finish()
}

/// Millimetres as the PDF's points (1/72 inch).
#[expect(clippy::cast_possible_truncation, reason = "a page's sizes; f32 keeps 0.00002 mm there")]
fn point(mm: f64) -> f32 {
    (mm * 72.0 / MM_PER_INCH) as f32
}
