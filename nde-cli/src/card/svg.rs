//! The card as SVG, one user unit a millimetre.

use super::Page;
use nde_measure::scale::design::Direction;
use std::fmt::Write as _;

/// The page as SVG text.
#[must_use]
pub(crate) fn svg(page: &Page) -> String {
    let (width, height) = (page.paper.width_mm, page.paper.height_mm);
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\">\n\
         <title>Scale card, print at 100 %</title>\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n<g fill=\"#000\">\n"
    );
    for r in &page.ink {
        // Writing to a String cannot fail.
        let _ = writeln!(
            text,
            "<rect x=\"{:.4}\" y=\"{:.4}\" width=\"{:.4}\" height=\"{:.4}\"/>",
            r.x_mm, r.y_mm, r.width_mm, r.height_mm
        );
    }
    for words in &page.words {
        let [x, y] = words.at_mm;
        let turn = match words.direction {
            Direction::Across => String::new(),
            Direction::Down => format!(" transform=\"rotate(90 {x:.4} {y:.4})\""),
        };
        let _ = writeln!(
            text,
            "<text x=\"{x:.4}\" y=\"{y:.4}\" font-family=\"Helvetica, Arial, sans-serif\" font-size=\"{:.3}\" textLength=\"{:.3}\" lengthAdjust=\"spacingAndGlyphs\"{turn}>{}</text>",
            words.em_mm, words.long_mm, words.text
        );
    }
    let cut = &page.cut;
    let _ = write!(
        text,
        "</g>\n<rect x=\"{:.4}\" y=\"{:.4}\" width=\"{:.4}\" height=\"{:.4}\" fill=\"none\" stroke=\"#999\" stroke-width=\"0.15\" stroke-dasharray=\"2 2\"/>\n</svg>\n",
        cut.x_mm, cut.y_mm, cut.width_mm, cut.height_mm
    );
    text
}
