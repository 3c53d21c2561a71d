//! What plots of sizes have in common: the page, round lines over a range, text that cannot be markup. SVG,
//! places in its own units, y down.

use std::fmt::Write as _;

/// An opened page with its heading.
#[must_use]
pub(crate) fn page(width: f64, height: f64, heading: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" font-family=\"sans-serif\" font-size=\"12\">\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n<text x=\"10\" y=\"20\" font-size=\"14\">{heading}</text>\n"
    )
}

/// Round sizes from 0 to the first that reaches `greatest`: about six, 1, 2 or 5 times a power of ten apart.
#[must_use]
pub(crate) fn rounds(greatest: f64) -> Vec<f64> {
    let rough = greatest / 6.0;
    let power = 10_f64.powf(rough.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power);
    let step = steps.clone().find(|s| *s >= rough).unwrap_or(power * 10.0);
    let lines = (0..).map(f64::from).map(|n| n * step);
    let mut sizes: Vec<f64> = lines.take_while(|mm| *mm < greatest - 1e-9).take(20).collect();
    sizes.push(sizes.last().map_or(0.0, |mm| mm + step));
    sizes
}

/// A size as it stands at its line.
#[must_use]
pub(crate) fn label(mm: f64) -> String {
    ((mm * 100.0).round() / 100.0).to_string()
}

/// A line across with its label on the left.
pub(crate) fn across(svg: &mut String, y: f64, [left, right]: [f64; 2], label: &str) {
    // A String takes everything, here and below.
    let _ = writeln!(
        svg,
        "<line x1=\"{left}\" y1=\"{y:.1}\" x2=\"{right}\" y2=\"{y:.1}\" stroke=\"#ddd\"/><text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\" fill=\"#555\">{label}</text>",
        left - 6.0,
        y + 4.0
    );
}

/// A line upright with its label below.
pub(crate) fn upright(svg: &mut String, x: f64, [top, bottom]: [f64; 2], label: &str) {
    let _ = writeln!(
        svg,
        "<line x1=\"{x:.1}\" y1=\"{top}\" x2=\"{x:.1}\" y2=\"{bottom}\" stroke=\"#ddd\"/><text x=\"{x:.1}\" y=\"{}\" text-anchor=\"middle\" fill=\"#555\">{label}</text>",
        bottom + 17.0
    );
}

/// Text that cannot be markup.
#[must_use]
pub(crate) fn plain(text: &str) -> String {
    crate::talk::harmless(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_round_and_reach_over_what_is_drawn() {
        assert_eq!(rounds(5.3), [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
        assert_eq!(rounds(10.0), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(rounds(0.1).len(), 6);
        assert_eq!(label(rounds(0.1)[3]), "0.06");
    }
}
