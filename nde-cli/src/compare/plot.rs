//! Lengths then and now, one line an indication, as a plain SVG.

use super::grid::{label, page, plain, rounds, upright};
use super::growth::Change;
use super::pairs::{Comparison, Pair};
use crate::exports::eyes::change;
use std::fmt::Write as _;

const LEFT: f64 = 150.0;
const WIDTH: f64 = 520.0;
const ROW: f64 = 22.0;
const HEAD: f64 = 46.0;

/// The plot. Hollow is old, full is new, the bar is the expanded uncertainty (k = 2) of the growth, drawn
/// around the new length.
#[must_use]
pub(crate) fn plot(all: &[Comparison]) -> String {
    let rows: Vec<(&Comparison, &Pair)> =
        all.iter().flat_map(|it| it.pairs.iter().map(move |pair| (it, pair))).collect();
    let longest = rows
        .iter()
        .flat_map(|(_, p)| p.old.iter().chain(&p.new).map(|m| m.length_mm))
        .chain(rows.iter().filter_map(|(_, p)| Some(p.new.as_ref()?.length_mm + p.growth?.u_mm?)))
        .fold(1.0, f64::max);
    let sizes = rounds(longest);
    let most = sizes.last().copied().unwrap_or(longest);
    let x = |mm: f64| LEFT + WIDTH * mm.clamp(0.0, most) / most;
    let count = f64::from(u32::try_from(rows.len()).unwrap_or(u32::MAX));
    let height = HEAD + ROW * count + 34.0;
    let mut svg = page(
        LEFT + WIDTH + 130.0,
        height,
        "length then (hollow) and now (full), mm; bar: uncertainty of the growth, k = 2",
    );
    for mm in sizes {
        upright(&mut svg, x(mm), [HEAD, height - 28.0], &label(mm));
    }
    let mut y = HEAD + ROW / 2.0;
    for (it, pair) in rows {
        let name = [&pair.old, &pair.new].map(|m| m.as_ref().map_or("-", |m| m.id.as_str()));
        let photo = if all.len() > 1 { format!("{} ", it.new) } else { String::new() };
        // A String takes everything, here and below.
        let _ = writeln!(
            svg,
            "<text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{}{} \u{2192} {}</text>",
            LEFT - 10.0,
            y + 4.0,
            plain(&photo),
            plain(name[0]),
            plain(name[1])
        );
        draw(&mut svg, pair, y, &x);
        y += ROW;
    }
    svg.push_str("</svg>\n");
    svg
}

fn draw(svg: &mut String, pair: &Pair, y: f64, x: &dyn Fn(f64) -> f64) {
    let (colour, words) = match pair.growth {
        Some(g) if g.change == Change::Grown => ("#b00020", format!("{} grown", change(g.mm, 2))),
        Some(g) => ("#222", format!("{} {}", change(g.mm, 2), g.change.words())),
        None => ("#b06000", pair.word().replace('-', " ")),
    };
    let mut end = 0.0_f64;
    if let (Some(old), Some(new)) = (&pair.old, &pair.new) {
        let _ = writeln!(
            svg,
            "<line x1=\"{:.1}\" y1=\"{y:.1}\" x2=\"{:.1}\" y2=\"{y:.1}\" stroke=\"{colour}\" stroke-width=\"2\"/>",
            x(old.length_mm),
            x(new.length_mm)
        );
        if let Some(u) = pair.growth.and_then(|g| g.u_mm) {
            let (low, high) = (x((new.length_mm - u).max(0.0)), x(new.length_mm + u));
            end = end.max(high);
            let _ = writeln!(
                svg,
                "<path d=\"M{low:.1} {0:.1}V{1:.1}M{low:.1} {y:.1}H{high:.1}M{high:.1} {0:.1}V{1:.1}\" stroke=\"#888\" fill=\"none\"/>",
                y - 4.0,
                y + 4.0
            );
        }
    }
    for (mark, fill) in [(&pair.old, "white"), (&pair.new, colour)] {
        if let Some(mark) = mark {
            end = end.max(x(mark.length_mm));
            let _ = writeln!(
                svg,
                "<circle cx=\"{:.1}\" cy=\"{y:.1}\" r=\"4\" fill=\"{fill}\" stroke=\"{colour}\" stroke-width=\"1.5\"/>",
                x(mark.length_mm)
            );
        }
    }
    let _ = writeln!(
        svg,
        "<text x=\"{:.1}\" y=\"{:.1}\" fill=\"{colour}\">{words}</text>",
        end + 8.0,
        y + 4.0
    );
}
