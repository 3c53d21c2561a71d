//! What was measured, drawn on the photo.
//!
//! Rings run a little outside the outlines, so that the red itself stays visible. One dark blue
//! for what is counted, dashed slate for what is set aside, teal for the coat and the scale (long dashes: may be coat): none
//! of them red or white, told apart by line style as well as by colour, each with a light halo
//! that keeps it visible on bare metal. Sizes follow the picture's width, so that the labels can
//! still be read when the whole picture fills a telephone's screen.

mod reduced;
mod ink;
mod lettering;
mod labels;
mod patches;

pub use lettering::Lettering;

use crate::{Measurement, Photo, PointPx, SetAsideReason};
use image::imageops;
use image::{Rgb, RgbImage};
use ink::{Dash, Halo, Stroke};
use labels::{Board, Spot, Wish};
use patches::Patch;

/// Counted indications: a dark blue, far from the dye for red-blind and green-blind eyes too.
const COUNTED: Rgb<u8> = Rgb([10, 66, 190]);
/// Set aside.
const ASIDE: Rgb<u8> = Rgb([48, 54, 66]);
/// Coat and scale.
const FRAME: Rgb<u8> = Rgb([0, 118, 118]);
/// Around every line, and behind letters.
const PAPER: Rgb<u8> = Rgb([250, 250, 246]);
/// Width of a ring and of its halo, in thin lines. Chosen by eye.
const RING: f64 = 1.5;
const HALO: f64 = 0.8;
/// Most words beside set-aside marks; more would bury the picture. Chosen by eye.
const MOST_ASIDE_WORDS: usize = 12;

/// Labels that still have full size; more make all smaller. Chosen by eye.
const AT_FULL_SIZE: f64 = 20.0;
/// A place dearer than this is not worth the whole text. Chosen by eye.
const DEAR: f64 = 30.0;

/// How a label is dressed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Emphasis {
    /// Dark letters on paper.
    #[default]
    Plain,
    /// Light letters on the mark's colour: look here first.
    Strong,
}

/// What is written beside one counted indication.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarkLabel {
    /// One short line, such as `3  linear 13.2 mm`.
    pub text: String,
    /// How it is dressed.
    pub emphasis: Emphasis,
}

/// How the marked photo looks.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct MarkOptions {
    /// Greatest width of the marked photo, pixels; default 1800. A smaller photo keeps its size.
    pub most_width_px: u32,
    /// Height of a line of letters as a share of the picture's width; default 1/45, about 9
    /// pixels when the picture is shown 400 pixels wide.
    pub text_share: f64,
}

impl Default for MarkOptions {
    fn default() -> Self {
        Self { most_width_px: 1800, text_share: 1.0 / 45.0 }
    }
}

/// Draws a measurement on its photo, scaled down to [`MarkOptions::most_width_px`].
///
/// `labels` follow the order of [`Measurement::indications`]; where they end, the id alone is
/// written. A strip with a scale bar and the meaning of the lines is added below the photo.
#[must_use]
pub fn draw(
    photo: &Photo,
    measurement: &Measurement,
    labels: &[MarkLabel],
    options: &MarkOptions,
) -> RgbImage {
    let mut picture = at_size(photo.rgb(), options.most_width_px.max(1));
    let shrink = f64::from(picture.width()) / f64::from(photo.rgb().width().max(1));
    let sheet = Sheet::new(&picture, shrink, options);

    sheet.frame(&mut picture, measurement);
    let asides = measurement.set_aside.iter();
    let patches = patches::joined(
        asides.map(|aside| (aside.reason, sheet.scaled(&aside.outline_px))),
        2.0 * sheet.gap,
    );
    for patch in &patches {
        // Around many pieces one wide ring, that runs together.
        let gap = if patch.outlines.len() > 3 { sheet.gap * 2.2 } else { sheet.gap };
        ink::ring_around(&mut picture, &patch.outlines, gap, &sheet.aside());
    }
    let rings: Vec<Vec<PointPx>> =
        measurement.indications.iter().map(|seen| sheet.scaled(&seen.outline_px)).collect();
    for ring in &rings {
        ink::ring(&mut picture, ring, sheet.gap, &sheet.counted());
    }
    sheet.words(&mut picture, measurement, &rings, labels, &patches);
    sheet.with_key(&picture, measurement)
}

/// The photo at the marked photo's size.
fn at_size(rgb: &RgbImage, most_width: u32) -> RgbImage {
    // A tall photo is held to the same number of pixels as a square of that width.
    let share = (f64::from(most_width) / f64::from(rgb.width().max(1)))
        .min(f64::from(most_width) * 1.4 / f64::from(rgb.height().max(1)));
    if share >= 1.0 {
        return rgb.clone();
    }
    let side = |full: u32| pixel(f64::from(full) * share).max(1);
    reduced::reduced(rgb, side(rgb.width()), side(rgb.height()))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to what an image side can be"
)]
fn pixel(value: f64) -> u32 {
    value.round().clamp(0.0, 1.0e6) as u32
}

/// Sizes that follow from the picture's own.
struct Sheet {
    shrink: f64,
    text: f64,
    thin: f64,
    gap: f64,
    letters: Lettering,
}

/// Least and greatest height of a line of letters, pixels. Chosen: legible, and no larger than a small photo.
const LETTERS_PX: [f64; 2] = [8.0, 200.0];

impl Sheet {
    fn new(picture: &RgbImage, shrink: f64, options: &MarkOptions) -> Self {
        let text = f64::from(picture.width()) * options.text_share;
        let text =
            if text.is_nan() { LETTERS_PX[0] } else { text.clamp(LETTERS_PX[0], LETTERS_PX[1]) };
        let thin = (text / 18.0).max(1.0);
        // The ring's halo ends before the red begins.
        let gap = (text / 6.5).max(thin * (RING / 2.0 + HALO) + 1.0);
        Self { shrink, text, thin, gap, letters: Lettering::new() }
    }

    fn scaled(&self, points: &[PointPx]) -> Vec<PointPx> {
        points.iter().map(|p| [p[0] * self.shrink, p[1] * self.shrink]).collect()
    }

    fn stroke(&self, colour: Rgb<u8>, width: f64, dash: Dash) -> Stroke {
        Stroke { colour, width, dash, halo: Halo { colour: PAPER, width: self.thin * HALO } }
    }

    fn counted(&self) -> Stroke {
        self.stroke(COUNTED, self.thin * RING, Dash::Solid)
    }

    fn aside(&self) -> Stroke {
        self.stroke(ASIDE, self.thin * 1.2, Dash::Every(self.text / 5.0))
    }

    fn coat(&self) -> Stroke {
        self.stroke(FRAME, self.thin * 0.8, Dash::Solid)
    }

    fn doubtful(&self) -> Stroke {
        self.stroke(FRAME, self.thin * 0.8, Dash::Every(self.text))
    }

    /// The coat's outline, that of doubtful ground, and the scale's own marks.
    fn frame(&self, picture: &mut RgbImage, measurement: &Measurement) {
        for outline in &measurement.coat.outlines_px {
            ink::ring(picture, &self.scaled(outline), 0.0, &self.coat());
        }
        for outline in &measurement.coat.doubtful_px {
            ink::ring(picture, &self.scaled(outline), 0.0, &self.doubtful());
        }
        let arm = self.text / 6.0;
        for [x, y] in self.scaled(&measurement.scale.features_px) {
            ink::line(picture, &[[x - arm, y], [x + arm, y]], &self.coat());
            ink::line(picture, &[[x, y - arm], [x, y + arm]], &self.coat());
        }
    }

    /// Labels of the counted ones first, then a word beside the greatest set-aside ones. Where the
    /// ground is crowded, labels become smaller and at last shrink to the id.
    fn words(
        &self,
        picture: &mut RgbImage,
        measurement: &Measurement,
        rings: &[Vec<PointPx>],
        labels: &[MarkLabel],
        patches: &[Patch],
    ) {
        let mut board = Board::new(picture.width(), picture.height(), self.text);
        for ring in rings {
            board.keep_clear(ring, self.gap * 2.0, 12);
        }
        for outline in patches.iter().flat_map(|patch| &patch.outlines) {
            board.keep_clear(outline, self.gap * 2.0, 4);
        }
        board.keep_clear(&self.scaled(&measurement.scale.features_px), self.text / 6.0, 2);

        let mut placed = Vec::new();
        #[expect(clippy::cast_precision_loss, reason = "a count of marks")]
        let crowd = (AT_FULL_SIZE / rings.len().max(1) as f64).sqrt().clamp(0.55, 1.0);
        let mut order: Vec<usize> = (0..rings.len()).collect();
        // What needs attention gets the best places.
        order.sort_by_key(|n| labels.get(*n).is_none_or(|l| l.emphasis == Emphasis::Plain));
        for n in order {
            let id = measurement.indications[n].indication.id.as_str();
            let label = labels.get(n);
            let tag = Tag {
                text: label.map_or(id, |l| l.text.as_str()),
                short: id,
                emphasis: label.map_or(Emphasis::Plain, |l| l.emphasis),
                height: self.text * crowd,
                colour: COUNTED,
            };
            placed.extend(self.place(&mut board, &rings[n], tag));
        }
        let asides: Vec<(Vec<PointPx>, &Patch)> =
            patches.iter().take(MOST_ASIDE_WORDS).map(|p| (p.outlines.concat(), p)).collect();
        for (outline, patch) in &asides {
            let text = word(patch.reason);
            let height = self.text * 0.72 * crowd;
            let tag = Tag { text, short: "", emphasis: Emphasis::Plain, height, colour: ASIDE };
            placed.extend(self.place(&mut board, outline, tag));
        }
        // Leaders first: none runs over letters.
        for Placed { tag, spot, .. } in &placed {
            if let Some(leader) = spot.leader {
                ink::line(picture, &leader, &self.stroke(tag.colour, self.thin, Dash::Solid));
            }
        }
        for one in &placed {
            self.write(picture, one);
        }
    }

    /// Finds a place for the whole text, or where that would be dear for the short one.
    fn place<'a>(&self, board: &mut Board, target: &[PointPx], tag: Tag<'a>) -> Option<Placed<'a>> {
        let wish = |text: &str| Wish {
            target,
            size: [self.letters.width(text, tag.height) + 2.0 * tag.pad(), tag.height * 1.18],
            clear: self.gap + 2.0 * self.thin,
        };
        let whole = wish(tag.text);
        let mut found = (whole.size, board.find(&whole)?);
        let mut tag = tag;
        if found.1.price > DEAR {
            if tag.short.is_empty() {
                return None;
            }
            let short = wish(tag.short);
            let spot = board.find(&short)?;
            if spot.price < found.1.price {
                found = (short.size, spot);
                tag.text = tag.short;
            }
        }
        board.take(&found.1, found.0);
        Some(Placed { tag, size: found.0, spot: found.1 })
    }

    fn write(&self, picture: &mut RgbImage, one: &Placed<'_>) {
        let Placed { tag, size, spot } = one;
        let (paper, letters) = match tag.emphasis {
            Emphasis::Plain => (PAPER, tag.colour),
            Emphasis::Strong => (tag.colour, PAPER),
        };
        let [left, top] = spot.left_top;
        ink::block(picture, [left, top], *size, tag.colour, 1.0);
        let rim = (self.thin * 0.7).max(1.0);
        let inner = [size[0] - 2.0 * rim, size[1] - 2.0 * rim];
        ink::block(picture, [left + rim, top + rim], inner, paper, 1.0);
        let at = [left + tag.pad(), top + tag.height * 0.09];
        self.letters.write(picture, tag.text, at, tag.height, letters);
    }

    /// The picture with a strip below: a scale bar and what the lines mean.
    fn with_key(&self, picture: &RgbImage, measurement: &Measurement) -> RgbImage {
        let (width, height) = picture.dimensions();
        let mut sheet = RgbImage::from_pixel(width, height + pixel(self.text * 1.9), PAPER);
        imageops::replace(&mut sheet, picture, 0, 0);
        let middle = f64::from(height) + self.text * 0.95;
        let mut x = self.text * 0.6;

        if let Some((bar_mm, bar_px)) = self.bar(measurement, f64::from(width)) {
            let stroke = self.stroke(ASIDE, self.thin * 1.4, Dash::Solid);
            let tick = self.text * 0.3;
            for at in [x, x + bar_px] {
                ink::line(&mut sheet, &[[at, middle - tick], [at, middle + tick]], &stroke);
            }
            ink::line(&mut sheet, &[[x, middle], [x + bar_px, middle]], &stroke);
            x += bar_px + self.text * 0.4;
            x = self.key_word(&mut sheet, &format!("{bar_mm} mm"), [x, middle]);
        }
        let mut entries = vec![(self.counted(), "counted")];
        if !measurement.set_aside.is_empty() {
            entries.push((self.aside(), "seen, not counted"));
        }
        // Before what needs no words: a narrow strip drops the last ones.
        if !measurement.coat.doubtful_px.is_empty() {
            entries.push((self.doubtful(), "developer? not read"));
        }
        if !measurement.coat.outlines_px.is_empty() {
            entries.push((self.coat(), "area read"));
        }
        for (stroke, text) in entries {
            let swatch = self.text * 1.5;
            let needed = swatch + self.text * 0.4 + self.letters.width(text, self.text * 0.8);
            if x + needed > f64::from(width) {
                break;
            }
            ink::line(&mut sheet, &[[x, middle], [x + swatch, middle]], &stroke);
            x = self.key_word(&mut sheet, text, [x + swatch + self.text * 0.4, middle]);
        }
        sheet
    }

    /// Writes a word of the strip and returns where the next one starts.
    fn key_word(&self, sheet: &mut RgbImage, text: &str, [x, middle]: PointPx) -> f64 {
        let height = self.text * 0.8;
        self.letters.write(sheet, text, [x, middle - height / 2.0], height, ASIDE);
        x + self.letters.width(text, height) + self.text * 1.2
    }

    /// A round length of about a sixth of the picture, true at the middle of what was read.
    fn bar(&self, measurement: &Measurement, width: f64) -> Option<(f64, f64)> {
        let mm_per_px = measurement.resolution.pitch_mm / self.shrink;
        if !mm_per_px.is_finite() || mm_per_px <= 0.0 {
            return None;
        }
        let wanted = mm_per_px * width / 6.0;
        let decade = 10.0_f64.powf(wanted.log10().floor());
        let bar_mm = [5.0, 2.0, 1.0].iter().map(|m| m * decade).find(|mm| *mm <= wanted)?;
        Some((bar_mm, bar_mm / mm_per_px))
    }
}

/// A label on its way to a place.
#[derive(Clone, Copy)]
struct Tag<'a> {
    text: &'a str,
    /// Stands instead of the text where that finds no good place; empty: nothing does.
    short: &'a str,
    emphasis: Emphasis,
    height: f64,
    colour: Rgb<u8>,
}

impl Tag<'_> {
    /// Paper left and right of the letters.
    fn pad(&self) -> f64 {
        self.height * 0.22
    }
}

/// A label at its place.
struct Placed<'a> {
    tag: Tag<'a>,
    size: [f64; 2],
    spot: Spot,
}

/// A few words for why something is set aside, those of the lists.
const fn word(reason: SetAsideReason) -> &'static str {
    match reason {
        SetAsideReason::Faint => "faint",
        SetAsideReason::Brownish => "brownish",
        SetAsideReason::Dark => "dark",
        SetAsideReason::PinkArea => "pink area",
        SetAsideReason::OutsideCoat => "outside the area read",
    }
}

#[cfg(test)]
mod tests;
