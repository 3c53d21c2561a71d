//! Length and width against time, two panels, as a plain SVG.

use super::told::{expanded, moment};
use super::track::{Development, Series, Track};
use crate::compare::{Mark, across, label, page, plain, rounds, upright};
use std::fmt::Write as _;

const LEFT: f64 = 60.0;
const WIDTH: f64 = 560.0;
const TALL: f64 = 260.0;
const HEAD: f64 = 44.0;
const GAP: f64 = 70.0;
/// Most indications that are drawn, the longest: more lines cannot be told apart. Chosen.
const MOST_DRAWN: usize = 12;

/// A size and its expanded uncertainty.
type Sized = (f64, Option<f64>);

/// The plot: a line an indication, bars the expanded uncertainty (k = 2), full lines where it still grows.
#[must_use]
pub(crate) fn plot(series: &Series) -> String {
    let mut drawn: Vec<&Track> = series.tracks.iter().collect();
    let longest = |t: &Track| t.marks.iter().flatten().map(|m| m.length_mm).fold(0.0, f64::max);
    drawn.sort_by(|a, b| longest(b).total_cmp(&longest(a)));
    drawn.truncate(MOST_DRAWN);
    let height = HEAD + 2.0 * TALL + GAP + 60.0;
    let heading = if drawn.len() < series.tracks.len() {
        format!("the {MOST_DRAWN} longest indications while the developer draws; bars: k = 2")
    } else {
        "indications while the developer draws; bars: k = 2".to_owned()
    };
    let mut svg = page(LEFT + WIDTH + 130.0, height, &heading);
    let length = |m: &Mark| Some((m.length_mm, expanded(m)));
    let width = |m: &Mark| m.width_mm;
    panel(&mut svg, series, &drawn, "length, mm", HEAD, &length);
    panel(&mut svg, series, &drawn, "width, mm", HEAD + TALL + GAP, &width);
    svg.push_str("</svg>\n");
    svg
}

fn panel(
    svg: &mut String,
    series: &Series,
    drawn: &[&Track],
    name: &str,
    top: f64,
    size: &dyn Fn(&Mark) -> Option<Sized>,
) {
    let first = series.shots.first().map_or(0.0, |s| s.minutes);
    let span = series.shots.last().map_or(0.0, |s| s.minutes) - first;
    let greatest = drawn
        .iter()
        .flat_map(|t| t.marks.iter().flatten().filter_map(size))
        .map(|(mm, u)| mm + u.unwrap_or(0.0))
        .fold(0.1, f64::max);
    let sizes = rounds(greatest);
    let most = sizes.last().copied().unwrap_or(greatest);
    let x = |minutes: f64| LEFT + WIDTH * if span > 0.0 { (minutes - first) / span } else { 0.5 };
    let y = |mm: f64| top + TALL * (1.0 - mm.clamp(0.0, most) / most);
    // A String takes everything, here and below.
    let _ = writeln!(svg, "<text x=\"{LEFT}\" y=\"{:.1}\">{name}</text>", top - 8.0);
    for mm in sizes {
        across(svg, y(mm), [LEFT, LEFT + WIDTH], &label(mm));
    }
    for shot in &series.shots {
        upright(svg, x(shot.minutes), [top, top + TALL], &moment(shot.minutes));
    }
    let mut order: Vec<&&Track> = drawn.iter().collect();
    let end = |t: &Track| t.marks.iter().flatten().filter_map(size).last().map_or(0.0, |s| s.0);
    order.sort_by(|a, b| end(b).total_cmp(&end(a)));
    let mut names = vec![Vec::new(); series.shots.len()];
    for track in order {
        let places: Vec<(f64, Sized)> = series
            .shots
            .iter()
            .zip(&track.marks)
            .filter_map(|(shot, mark)| Some((shot.minutes, size(mark.as_ref()?)?)))
            .collect();
        let Some((minutes, (mm, _))) = places.last().copied() else { continue };
        let (colour, dash) = match track.state {
            Development::Growing | Development::New => ("#b00020", ""),
            Development::NoGrowthShown => ("#222", " stroke-dasharray=\"6 3\""),
            _ => ("#b06000", " stroke-dasharray=\"2 3\""),
        };
        let line: Vec<String> =
            places.iter().map(|(m, (mm, _))| format!("{:.1},{:.1}", x(*m), y(*mm))).collect();
        let _ = writeln!(
            svg,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.6\"{dash}/>",
            line.join(" ")
        );
        for (minutes, (mm, u_mm)) in &places {
            let _ = writeln!(
                svg,
                "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"3\" fill=\"{colour}\"/>",
                x(*minutes),
                y(*mm)
            );
            if let Some(u_mm) = u_mm {
                let _ = writeln!(
                    svg,
                    "<line x1=\"{0:.1}\" y1=\"{1:.1}\" x2=\"{0:.1}\" y2=\"{2:.1}\" stroke=\"{colour}\"/>",
                    x(*minutes),
                    y(mm - u_mm),
                    y(mm + u_mm)
                );
            }
        }
        let shot = series.shots.iter().rposition(|s| s.minutes <= minutes).unwrap_or(0);
        names[shot].push((y(mm) + 4.0, track, colour));
    }
    for (shot, mut names) in series.shots.iter().zip(names) {
        apart(&mut names, top + TALL);
        for (at, track, colour) in names {
            let _ = writeln!(
                svg,
                "<text x=\"{:.1}\" y=\"{at:.1}\" fill=\"{colour}\">{}</text>",
                x(shot.minutes) + 8.0,
                plain(track.id.as_deref().unwrap_or("not in the last"))
            );
        }
    }
}

/// Height of a line of text.
const LINE: f64 = 13.0;

/// Moves names of lines that end at one height apart, highest first, none below `bottom`.
fn apart<T>(names: &mut [(f64, T, &str)], bottom: f64) {
    let mut least = f64::NEG_INFINITY;
    for (at, ..) in names.iter_mut() {
        *at = at.max(least);
        least = *at + LINE;
    }
    let mut most = bottom;
    for (at, ..) in names.iter_mut().rev() {
        *at = at.min(most);
        most = *at - LINE;
    }
}
