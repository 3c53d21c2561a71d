//! The letters of a PDF: one font, embedded, the same on every machine and for every script it has.

use ab_glyph::{Font as _, FontRef, GlyphId};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish as _, Name, Pdf, Rect, Ref, Str};
use std::collections::BTreeMap;
use std::io::Write as _;

const IDENTITY: SystemInfo<'_> =
    SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
/// Units of the widths in a PDF.
const EM: f32 = 1000.0;

/// One font and the letters of it that were used.
pub(super) struct Face {
    name: &'static [u8],
    bytes: &'static [u8],
    font: FontRef<'static>,
    used: BTreeMap<u16, char>,
}

impl Face {
    pub(super) fn new(name: &'static [u8], bytes: &'static [u8]) -> Self {
        let font = FontRef::try_from_slice(bytes).expect("the font that is built in can be read");
        Self { name, bytes, font, used: BTreeMap::new() }
    }

    fn units(&self) -> f32 {
        self.font.units_per_em().unwrap_or(2048.0)
    }

    fn advance(&self, id: GlyphId) -> f32 {
        self.font.h_advance_unscaled(id) / self.units()
    }

    /// Width of a text set at 1.
    pub(super) fn width(&self, text: &str) -> f32 {
        text.chars().map(|c| self.advance(self.font.glyph_id(c))).sum()
    }

    /// The text as the PDF shows it; letters the font lacks become its empty box.
    pub(super) fn shown(&mut self, text: &str) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(2 * text.len());
        for c in text.chars() {
            let id = self.font.glyph_id(c).0;
            self.used.entry(id).or_insert(c);
            bytes.extend(id.to_be_bytes());
        }
        bytes
    }

    /// Puts the font into the file under five numbers that nothing else has.
    pub(super) fn embed(&self, pdf: &mut Pdf, [font, inner, about, map, file]: [Ref; 5]) {
        let name = Name(self.name);
        pdf.type0_font(font)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(inner)
            .to_unicode(map);
        let mut cid = pdf.cid_font(inner);
        cid.subtype(CidFontType::Type2).base_font(name).system_info(IDENTITY);
        cid.font_descriptor(about).default_width(0.0);
        cid.cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = cid.widths();
        for id in self.used.keys() {
            widths.same(*id, *id, EM * self.advance(GlyphId(*id)));
        }
        widths.finish();
        cid.finish();
        let part = |units: f32| EM * units / self.units();
        pdf.font_descriptor(about)
            .name(name)
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(Rect::new(-EM, -EM / 2.0, 2.0 * EM, 1.2 * EM))
            .italic_angle(0.0)
            .ascent(part(self.font.ascent_unscaled()))
            .descent(part(self.font.descent_unscaled()))
            .cap_height(0.73 * EM)
            .stem_v(80.0)
            .font_file2(file);
        let mut letters = UnicodeCmap::<u16>::new(Name(b"Letters"), IDENTITY);
        for (id, c) in &self.used {
            letters.pair(*id, *c);
        }
        pdf.cmap(map, &letters.finish());
        let mut packed = ZlibEncoder::new(Vec::new(), Compression::default());
        // Writing into memory cannot fail.
        let packed = packed
            .write_all(self.bytes)
            .and_then(|()| packed.finish())
            .expect("memory takes everything");
        let mut stream = pdf.stream(file, &packed);
        stream.filter(Filter::FlateDecode);
        stream.pair(Name(b"Length1"), i32::try_from(self.bytes.len()).unwrap_or(i32::MAX));
    }
}
