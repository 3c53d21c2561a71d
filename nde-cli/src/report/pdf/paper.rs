//! Pages that fill from the top: lines of text, tables, pictures. Measures are points.

use super::face::Face;
use crate::talk::harmless;
use anyhow::{Result, anyhow};
use pdf_writer::{Content, Filter, Finish as _, Name, Pdf, Rect, Ref, Str, TextStr};
use std::io::Cursor;

/// A4; what stands on it fits Letter too.
const PAPER: [f32; 2] = [595.28, 841.89];
/// Left, right, upper, lower margin. The lower one keeps clear what Letter lacks in height.
const LEFT: f32 = 48.0;
const TOP: f32 = 46.0;
const LOW: f32 = 86.0;
/// Width of what is written.
pub(super) const WIDE: f32 = 492.0;
/// Lines stand so many times their size apart.
const LEADING: f32 = 1.34;
/// Most lines of a table's cell: the least page holds them below the heading.
const MOST_LINES: usize = 50;

/// Which letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Weight {
    Plain,
    Bold,
}

/// A cell's or a text's way of standing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Style {
    pub(super) size: f32,
    pub(super) weight: Weight,
    /// 0 black, 1 white.
    pub(super) grey: f32,
}

pub(super) const BODY: Style = Style { size: 9.0, weight: Weight::Plain, grey: 0.1 };
pub(super) const SOFT: Style = Style { size: 8.0, weight: Weight::Plain, grey: 0.32 };
pub(super) const HEAD: Style = Style { size: 8.0, weight: Weight::Bold, grey: 0.1 };
pub(super) const CELL: Style = Style { size: 8.0, weight: Weight::Plain, grey: 0.1 };

/// A picture ready to stand on pages.
#[derive(Clone, Copy, Debug)]
pub(super) struct Image {
    n: usize,
    /// Pixels.
    pub(super) size_px: [u32; 2],
}

/// The pages so far.
pub(super) struct Paper {
    pages: Vec<Content>,
    /// From the lower edge up.
    y: f32,
    plain: Face,
    bold: Face,
    images: Vec<(Vec<u8>, [u32; 2])>,
    title: String,
}

impl Paper {
    pub(super) fn new(title: &str) -> Self {
        let mut paper = Self {
            pages: Vec::new(),
            y: 0.0,
            plain: Face::new(b"DejaVuSansCondensed", dejavu::sans_condensed::regular()),
            bold: Face::new(b"DejaVuSansCondensed-Bold", dejavu::sans_condensed::bold()),
            images: Vec::new(),
            title: title.to_owned(),
        };
        paper.turn();
        paper
    }

    /// Begins a page.
    pub(super) fn turn(&mut self) {
        self.pages.push(Content::new());
        self.y = PAPER[1] - TOP;
    }

    /// Begins a page unless so much room is left.
    pub(super) fn need(&mut self, height: f32) {
        if self.y - height < LOW && self.y < PAPER[1] - TOP {
            self.turn();
        }
    }

    pub(super) fn gap(&mut self, height: f32) {
        self.y -= height;
    }

    fn here(&mut self) -> &mut Content {
        self.pages.last_mut().expect("there is always a page")
    }

    fn face(&mut self, weight: Weight) -> &mut Face {
        match weight {
            Weight::Plain => &mut self.plain,
            Weight::Bold => &mut self.bold,
        }
    }

    fn put(&mut self, text: &str, x: f32, y: f32, style: Style) {
        let shown = self.face(style.weight).shown(&harmless(text));
        let font = if style.weight == Weight::Bold { Name(b"B") } else { Name(b"R") };
        let content = self.here();
        content.set_fill_gray(style.grey);
        content.begin_text().set_font(font, style.size).next_line(x, y);
        content.show(Str(&shown)).end_text();
    }

    /// Lines of a text in a column. A word wider than the column is broken.
    fn lines(&mut self, text: &str, width: f32, style: Style) -> Vec<String> {
        let face = self.face(style.weight);
        let wide = |text: &str| style.size * face.width(text);
        let mut lines = vec![String::new()];
        for word in harmless(text).split_whitespace() {
            let line = lines.last_mut().expect("there is always a line");
            let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if wide(&joined) <= width {
                *line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(String::new());
            }
            for c in word.chars() {
                let line = lines.last_mut().expect("there is always a line");
                line.push(c);
                if wide(line) > width && line.chars().count() > 1 {
                    line.pop();
                    lines.push(c.to_string());
                }
            }
        }
        lines
    }

    /// A paragraph.
    pub(super) fn text(&mut self, text: &str, style: Style) {
        for line in self.lines(text, WIDE, style) {
            self.need(style.size * LEADING);
            self.y -= style.size * LEADING;
            self.put(&line, LEFT, self.y, style);
        }
        self.gap(3.0);
    }

    /// A heading under a line across.
    pub(super) fn heading(&mut self, text: &str) {
        self.need(60.0);
        self.gap(12.0);
        self.line(self.y, 0.7, 0.0);
        self.gap(4.0);
        self.text(text, Style { size: 12.5, weight: Weight::Plain, grey: 0.0 });
    }

    /// A smaller heading.
    pub(super) fn subheading(&mut self, text: &str) {
        self.need(48.0);
        self.gap(6.0);
        self.text(text, Style { size: 9.0, weight: Weight::Bold, grey: 0.0 });
    }

    fn line(&mut self, y: f32, width: f32, grey: f32) {
        let content = self.here();
        content.set_stroke_gray(grey).set_line_width(width);
        content.move_to(LEFT, y).line_to(LEFT + WIDE, y).stroke();
    }

    /// A table: shares of the width, then rows; the first is the heading and comes again on each page.
    pub(super) fn table(&mut self, shares: &[f32], rows: &[Vec<String>]) {
        let Some((head, rest)) = rows.split_first() else { return };
        // A heading does not stand alone at the foot of a page.
        let first = rest.first().map_or(0.0, |row| self.row_height(shares, row, CELL));
        let tall = self.row_height(shares, head, HEAD) + first;
        self.need(tall);
        self.table_row(shares, head, HEAD);
        for row in rest {
            let tall = self.row_height(shares, row, CELL);
            if self.y - tall < LOW {
                self.turn();
                self.table_row(shares, head, HEAD);
            }
            self.table_row(shares, row, CELL);
        }
        self.gap(5.0);
    }

    /// Lines of a cell: at most what fits on a page beside a heading.
    fn cell(&mut self, text: &str, share: f32, style: Style) -> Vec<String> {
        let mut lines = self.lines(text, share * WIDE - 6.0, style);
        if lines.len() > MOST_LINES {
            lines.truncate(MOST_LINES - 1);
            lines.push("... (whole in indications.json)".to_owned());
        }
        lines
    }

    fn row_height(&mut self, shares: &[f32], row: &[String], style: Style) -> f32 {
        let cells = shares.iter().zip(row);
        let most = cells.map(|(share, cell)| self.cell(cell, *share, style).len()).max();
        #[expect(clippy::cast_precision_loss, reason = "a few lines")]
        let lines = most.unwrap_or(1) as f32;
        lines * style.size * LEADING + 4.0
    }

    fn table_row(&mut self, shares: &[f32], row: &[String], style: Style) {
        let tall = self.row_height(shares, row, style);
        self.need(tall);
        let mut x = LEFT;
        for (share, cell) in shares.iter().zip(row) {
            let mut y = self.y - style.size - 0.5;
            for line in self.cell(cell, *share, style) {
                self.put(&line, x, y, style);
                y -= style.size * LEADING;
            }
            x += share * WIDE;
        }
        self.y -= tall;
        let (width, grey) = if style.weight == Weight::Bold { (0.8, 0.0) } else { (0.3, 0.6) };
        self.line(self.y, width, grey);
    }

    /// Takes in a JPEG file.
    ///
    /// # Errors
    /// Its size cannot be read.
    pub(super) fn image(&mut self, jpeg: Vec<u8>) -> Result<Image> {
        let format = image::ImageFormat::Jpeg;
        let (width, height) = image::ImageReader::with_format(Cursor::new(&jpeg), format)
            .into_dimensions()
            .map_err(|e| anyhow!("a picture of the report cannot be read ({e})"))?;
        self.images.push((jpeg, [width, height]));
        Ok(Image { n: self.images.len() - 1, size_px: [width, height] })
    }

    /// Puts a picture with its upper left corner so far right of the margin and below the present
    /// place; `over` then draws on it, in points from its lower left corner.
    pub(super) fn picture(
        &mut self,
        image: Image,
        [x, down]: [f32; 2],
        [width, height]: [f32; 2],
        over: impl FnOnce(&mut Content),
    ) {
        let (x, y) = (LEFT + x, self.y - down - height);
        let name = format!("I{}", image.n);
        let content = self.here();
        content.save_state();
        content.transform([1.0, 0.0, 0.0, 1.0, x, y]);
        content.save_state();
        content.transform([width, 0.0, 0.0, height, 0.0, 0.0]);
        content.x_object(Name(name.as_bytes()));
        content.restore_state();
        content.rect(0.0, 0.0, width, height).clip_nonzero().end_path();
        over(content);
        content.restore_state();
    }

    /// A text at a place given like that of a picture; its upper edge there.
    pub(super) fn label(&mut self, text: &str, [x, down]: [f32; 2], style: Style) {
        self.put(text, LEFT + x, self.y - down - style.size, style);
    }

    /// A short line to sign on, with what is signed below it.
    pub(super) fn sign(&mut self, texts: [&str; 2]) {
        self.need(46.0);
        self.gap(34.0);
        for (x, text) in [0.0, WIDE / 2.0 + 10.0].into_iter().zip(texts) {
            let (from, y) = (LEFT + x, self.y);
            let content = self.here();
            content.set_stroke_gray(0.0).set_line_width(0.6);
            content.move_to(from, y).line_to(from + WIDE / 2.0 - 10.0, y).stroke();
            self.put(text, from, y - 10.0, SOFT);
        }
        self.gap(12.0);
    }

    /// The file.
    pub(super) fn finish(mut self) -> Vec<u8> {
        let count = self.pages.len();
        let title = self.title.clone();
        for n in 0..count {
            let foot =
                format!("{title}   {} of {count}   nde {}", n + 1, env!("CARGO_PKG_VERSION"));
            let shown = self.plain.shown(&foot);
            let content = &mut self.pages[n];
            content.set_fill_gray(SOFT.grey);
            content.begin_text().set_font(Name(b"R"), 7.0).next_line(LEFT, LOW - 22.0);
            content.show(Str(&shown)).end_text();
        }
        let mut next = 0;
        let mut fresh = || {
            next += 1;
            Ref::new(next)
        };
        let mut pdf = Pdf::new();
        let (catalog, tree, info) = (fresh(), fresh(), fresh());
        let fonts: [[Ref; 5]; 2] = std::array::from_fn(|_| std::array::from_fn(|_| fresh()));
        let images: Vec<Ref> = self.images.iter().map(|_| fresh()).collect();
        let pages: Vec<[Ref; 2]> = self.pages.iter().map(|_| [fresh(), fresh()]).collect();
        pdf.document_info(info).title(TextStr(&title)).creator(TextStr("nde"));
        let mut root = pdf.catalog(catalog);
        root.pages(tree).lang(TextStr("en"));
        root.viewer_preferences().display_doc_title(true);
        root.finish();
        let kids = pages.iter().map(|[page, _]| *page);
        pdf.pages(tree).kids(kids).count(i32::try_from(count).unwrap_or(i32::MAX));
        for ([page, stream], content) in pages.iter().zip(self.pages) {
            let mut sheet = pdf.page(*page);
            sheet.media_box(Rect::new(0.0, 0.0, PAPER[0], PAPER[1])).parent(tree).contents(*stream);
            let mut resources = sheet.resources();
            resources.fonts().pair(Name(b"R"), fonts[0][0]).pair(Name(b"B"), fonts[1][0]);
            let mut objects = resources.x_objects();
            for (n, id) in images.iter().enumerate() {
                objects.pair(Name(format!("I{n}").as_bytes()), *id);
            }
            objects.finish();
            resources.finish();
            sheet.finish();
            pdf.stream(*stream, &content.finish());
        }
        for (id, (jpeg, [width, height])) in images.iter().zip(&self.images) {
            let mut object = pdf.image_xobject(*id, jpeg);
            let side = |px: u32| i32::try_from(px).unwrap_or(i32::MAX);
            object.filter(Filter::DctDecode);
            object.width(side(*width)).height(side(*height));
            object.color_space().device_rgb();
            object.bits_per_component(8);
        }
        self.plain.embed(&mut pdf, fonts[0]);
        self.bold.embed(&mut pdf, fonts[1]);
        pdf.finish()
    }
}
