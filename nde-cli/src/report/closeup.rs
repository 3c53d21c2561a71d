//! One indication close up, with its outline and a scale bar.

use super::html::Text;
use crate::record::{Closeup, Row};
use anyhow::Result;
use std::fmt::Write as _;
use std::io::Write;

/// Millimetres on paper for one on the part. Chosen: three of the least windows stand side by side.
pub(crate) const MAGNIFICATION: f64 = 4.0;
/// Widest picture on paper, mm: what A4 and Letter both hold.
const MOST_WIDE_MM: f64 = 170.0;
/// Tallest picture on paper, mm.
const MOST_TALL_MM: f64 = 200.0;

/// How much larger than the part a close-up is shown: the same for all that fit on the page.
#[must_use]
pub(crate) fn magnification([width, height]: [f64; 2]) -> f64 {
    let fits = (MOST_WIDE_MM / width).min(MOST_TALL_MM / height);
    if fits >= MAGNIFICATION {
        return MAGNIFICATION;
    }
    [3.0, 2.0, 1.5, 1.0].into_iter().find(|m| *m <= fits).unwrap_or(fits)
}

/// A round length for the bar in a picture so wide.
#[must_use]
pub(crate) fn bar_mm(width_mm: f64) -> f64 {
    [50.0, 20.0, 10.0, 5.0].into_iter().find(|bar| *bar <= width_mm / 2.4).unwrap_or(2.0)
}

pub(super) fn write(closeup: &Closeup, row: &Row, to: &mut dyn Write) -> Result<()> {
    let [width, height] = closeup.size_mm;
    let grown = magnification(closeup.size_mm);
    let mut path = String::new();
    for (n, [x, y]) in closeup.outline_mm.iter().enumerate() {
        // A String takes everything.
        let _ = write!(path, "{}{x:.3} {y:.3}", if n == 0 { "M" } else { "L" });
    }
    path.push('Z');
    let thin = 0.5 / grown;
    let bar = bar_mm(width);
    let (left, low) = (3.0 / grown, height - 4.0 / grown);
    let kind = row.kind.word();
    let title = format!(
        "Indication {} close up: {kind}, {:.2} mm long, {:.2} mm wide",
        row.id, row.length.mm, row.width.mm
    );
    write!(
        to,
        "<figure><svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-label=\"{}\" viewBox=\"0 0 {width:.3} {height:.3}\" style=\"width:{:.2}mm\">",
        Text(&title),
        width * grown
    )?;
    write!(
        to,
        "<image href=\"data:image/jpeg;base64,{}\" x=\"0\" y=\"0\" width=\"{width:.3}\" height=\"{height:.3}\" preserveAspectRatio=\"none\"/>",
        closeup.jpeg
    )?;
    write!(
        to,
        "<path d=\"{path}\" fill=\"none\" stroke=\"#fff\" stroke-width=\"{:.3}\" stroke-opacity=\"0.7\"/><path d=\"{path}\" fill=\"none\" stroke=\"#0a42be\" stroke-width=\"{thin:.3}\"/>",
        thin * 2.4
    )?;
    write!(
        to,
        "<rect x=\"{:.3}\" y=\"{:.3}\" width=\"{:.3}\" height=\"{:.3}\" fill=\"#fff\" fill-opacity=\"0.85\"/><path d=\"M{left:.3} {low:.3}h{bar}m0 {:.3}v{:.3}m-{bar} 0v{:.3}\" fill=\"none\" stroke=\"#000\" stroke-width=\"{:.3}\"/><text x=\"{:.3}\" y=\"{:.3}\" font-size=\"{:.3}\">{bar} mm</text>",
        left - 1.2 / grown,
        low - 2.4 / grown,
        bar + 15.0 / grown,
        4.6 / grown,
        1.2 / grown,
        -2.4 / grown,
        2.4 / grown,
        0.7 / grown,
        left + bar + 1.2 / grown,
        low + 1.1 / grown,
        3.2 / grown
    )?;
    let u = row.length.u_mm.map_or_else(|| "±?".to_owned(), |u| format!("±{u:.2}"));
    let other = match grown < MAGNIFICATION {
        true => format!(", shown {grown} times as large"),
        false => String::new(),
    };
    Ok(writeln!(
        to,
        "</svg><figcaption><strong>{}</strong> {kind}, {:.2} {u} mm{other}</figcaption></figure>",
        Text(&row.id),
        row.length.mm
    )?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_fits_has_one_magnification_and_a_long_one_still_fits() {
        assert_eq!(magnification([12.0, 9.0]).to_string(), "4");
        assert_eq!(magnification([42.5, 9.0]).to_string(), "4");
        for width in [43.0, 60.0, 90.0, 160.0] {
            let grown = magnification([width, 9.0]);
            assert!(grown < 4.0 && width * grown <= 170.0, "{width}: {grown}");
        }
    }
}
