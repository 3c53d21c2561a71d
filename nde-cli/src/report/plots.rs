//! Plots as inline drawings: length against width, places on the part, many photos at a glance.

use super::html::Text;
use crate::record::{Case, Picture, Row};
use nde_core::{RuleSet, Shape, Verdict};
use std::fmt::Write as _;

/// A limit on one length, as a line across the plot.
struct Line {
    mm: f64,
    name: String,
}

/// The limits of a rule set that can be drawn against length and width.
#[derive(Default)]
struct Limits {
    ratio: Option<f64>,
    lines: Vec<Line>,
}

/// Millimetres in an inch, exactly.
const INCH_MM: f64 = 25.4;
/// Plot size in its own units; one is a pixel on a screen.
const SIDE: [f64; 2] = [380.0, 260.0];
/// Room for the axes.
const LEFT: f64 = 44.0;
const LOW: f64 = 38.0;

impl Limits {
    fn of(rules: Option<&RuleSet>) -> Self {
        let mut limits = Self::default();
        for (n, line) in rules.into_iter().flat_map(RuleSet::rules).enumerate() {
            let words: Vec<&str> = line.limit.split_whitespace().collect();
            match words[..] {
                // The first line of every set is its ratio.
                [_, ratio] if n == 0 => limits.ratio = number(ratio),
                [">" | ">=", value, unit] => {
                    let factor = if unit == "in" { INCH_MM } else { 1.0 };
                    let mm = number(value).map(|v| v * factor);
                    limits.lines.extend(mm.map(|mm| Line { mm, name: line.name.clone() }));
                }
                _ => {}
            }
        }
        limits
    }
}

/// A decimal or a fraction.
fn number(text: &str) -> Option<f64> {
    let value = match text.split_once('/') {
        Some((over, under)) => over.parse::<f64>().ok()? / under.parse::<f64>().ok()?,
        None => text.parse::<f64>().ok()?,
    };
    (value.is_finite() && value > 0.0).then_some(value)
}

/// How a verdict is drawn: told apart without colour.
fn dot(verdict: Option<Verdict>, x: f64, y: f64, title: &str) -> String {
    let shape = match verdict {
        Some(Verdict::Reject) => format!(
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"7\" height=\"7\" fill=\"#1b1d21\"/>",
            x - 3.5,
            y - 3.5
        ),
        Some(Verdict::Review) => format!(
            "<path d=\"M{x:.1} {:.1}l4.6 4.6l-4.6 4.6l-4.6 -4.6z\" fill=\"#b9bec7\" stroke=\"#1b1d21\"/>",
            y - 4.6
        ),
        Some(Verdict::Accept) => {
            format!(
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.4\" fill=\"#fff\" stroke=\"#1b1d21\"/>"
            )
        }
        None => format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2.4\" fill=\"#4c525c\"/>"),
    };
    format!("<g><title>{}</title>{shape}</g>", Text(title))
}

/// What the dots mean.
pub(super) const KEY: &str =
    "black square: reject; grey diamond: review; open circle: accept; dot: not judged";

/// A step of 1, 2 or 5 that gives at most so many ticks.
fn step(most: f64, ticks: f64) -> f64 {
    let wanted = (most / ticks).max(1.0e-6);
    let decade = 10.0_f64.powf(wanted.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * decade).find(|s| *s >= wanted).unwrap_or(wanted)
}

fn open(label: &str, [width, height]: [f64; 2]) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-label=\"{}\" viewBox=\"0 0 {width:.0} {height:.0}\" style=\"width:100%;height:auto\" font-size=\"12.5\">",
        Text(label)
    )
}

// Every `let _ = write!` below goes into a String, which takes everything.

/// Length against width with the ratio and the limits of the rule set; none without indications.
pub(super) fn sizes(case: &Case, rules: Option<&RuleSet>) -> Option<String> {
    let rows = &case.indications;
    let most = |of: fn(&Row) -> f64| rows.iter().map(of).fold(0.0_f64, f64::max);
    let (longest, widest) = (most(|r| r.length.mm), most(|r| r.width.mm));
    if rows.is_empty() || longest <= 0.0 {
        return None;
    }
    let limits = Limits::of(rules);
    let reach = limits.lines.iter().map(|l| l.mm).filter(|mm| *mm < 3.0 * longest);
    let top = 1.12 * reach.fold(longest, f64::max);
    let right = (1.25 * widest).max(0.5);
    let [wide, high] = [SIDE[0] - LEFT - 8.0, SIDE[1] - LOW - 10.0];
    let at = |w: f64, l: f64| [LEFT + w / right * wide, 10.0 + high - l / top * high];
    let mut svg = open("Length against width of each indication", SIDE);
    axes(&mut svg, [right, top], at);
    if let Some(ratio) = limits.ratio {
        let end = if ratio * right > top { [top / ratio, top] } else { [right, ratio * right] };
        let ([x0, y0], [x1, y1]) = (at(0.0, 0.0), at(end[0], end[1]));
        let _ = write!(
            svg,
            "<path d=\"M{x0:.1} {y0:.1}L{x1:.1} {y1:.1}\" stroke=\"#1b1d21\" stroke-dasharray=\"7 3\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\" class=\"halo\">{ratio} : 1</text>",
            x1 - 5.0,
            if ratio * right > top { y1 + 12.0 } else { y1 - 6.0 }
        );
    }
    let mut lines: Vec<&Line> = limits.lines.iter().filter(|line| line.mm <= top).collect();
    lines.sort_by(|a, b| a.mm.total_cmp(&b.mm));
    let mut free = f64::MAX;
    for line in lines {
        let ([x0, y], [x1, _]) = (at(0.0, line.mm), at(right, line.mm));
        // Names of lines close together stand one above the other.
        let name_at = (y - 3.0).min(free);
        free = name_at - 13.0;
        let _ = write!(
            svg,
            "<path d=\"M{x0:.1} {y:.1}H{x1:.1}\" stroke=\"#4c525c\" stroke-dasharray=\"2 3\"/><text x=\"{x1:.1}\" y=\"{:.1}\" text-anchor=\"end\" fill=\"#4c525c\" class=\"halo\">{} {:.2} mm</text>",
            name_at,
            Text(&line.name),
            line.mm
        );
    }
    for row in rows {
        let [x, y] = at(row.width.mm, row.length.mm);
        let title = format!("{}: {:.2} x {:.2} mm", row.id, row.length.mm, row.width.mm);
        svg.push_str(&dot(row.verdict, x, y, &title));
        if rows.len() <= 25 {
            let _ = write!(
                svg,
                "<text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
                x + 6.0,
                y + 4.0,
                Text(&row.id)
            );
        }
    }
    svg.push_str("</svg>");
    Some(svg)
}

fn axes(svg: &mut String, [right, top]: [f64; 2], at: impl Fn(f64, f64) -> [f64; 2]) {
    let ([x0, y0], [x1, y1]) = (at(0.0, 0.0), at(right, top));
    let _ = write!(
        svg,
        "<path d=\"M{x0:.1} {y1:.1}V{y0:.1}H{x1:.1}\" fill=\"none\" stroke=\"#1b1d21\"/>"
    );
    let mut tick = 0.0;
    while tick <= right {
        let [x, _] = at(tick, 0.0);
        let _ = write!(
            svg,
            "<path d=\"M{x:.1} {y0:.1}v4\" stroke=\"#1b1d21\"/><text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
            y0 + 15.0,
            tidy(tick)
        );
        tick += step(right, 6.0);
    }
    let mut tick = 0.0;
    while tick <= top {
        let [_, y] = at(0.0, tick);
        let _ = write!(
            svg,
            "<path d=\"M{x0:.1} {y:.1}h-4\" stroke=\"#1b1d21\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            x0 - 6.0,
            y + 4.0,
            tidy(tick)
        );
        tick += step(top, 6.0);
    }
    let _ = write!(
        svg,
        "<text x=\"{x1:.1}\" y=\"{:.1}\" text-anchor=\"end\">width, mm</text><text transform=\"translate(11 {y1:.1}) rotate(-90)\" text-anchor=\"end\">length, mm</text>",
        y0 + 30.0
    );
}

/// A tick without the dust of binary arithmetic.
fn tidy(value: f64) -> f64 {
    (value * 1.0e4).round() / 1.0e4
}

/// Where everything lies on the part, with the groups that a rule speaks of.
pub(super) fn places(case: &Case) -> Option<String> {
    let picture = case.picture.as_ref()?;
    let coat: Vec<Vec<[f64; 2]>> =
        picture.coat.outlines_px.iter().map(|line| on_part(picture, line)).collect();
    let marks: Vec<Vec<[f64; 2]>> = case
        .indications
        .iter()
        .map(|row| on_part(picture, row.outline_px.as_deref().unwrap_or_default()))
        .collect();
    let all = || coat.iter().chain(&marks).flatten();
    let bound = |axis: usize| {
        let of = all().map(|p| p[axis]);
        of.fold([f64::MAX, f64::MIN], |[l, h], v| [l.min(v), h.max(v)])
    };
    let ([left, right], [top, bottom]) = (bound(0), bound(1));
    if right <= left || bottom <= top {
        return None;
    }
    let shown = SIDE[0] - 16.0;
    let grown = (shown / (right - left)).min(320.0 / (bottom - top));
    let at = |[x, y]: [f64; 2]| [8.0 + (x - left) * grown, 8.0 + (y - top) * grown];
    let size = [SIDE[0], 8.0 + (bottom - top) * grown + 30.0];
    let mut svg = open("Places of the indications on the part", size);
    let ring = |points: &[[f64; 2]]| {
        let mut path = String::new();
        for (n, p) in points.iter().enumerate() {
            let [x, y] = at(*p);
            let _ = write!(path, "{}{x:.1} {y:.1}", if n == 0 { "M" } else { "L" });
        }
        path + "Z"
    };
    for outline in &coat {
        let _ = write!(svg, "<path d=\"{}\" fill=\"#f3f2ed\" stroke=\"#9aa1ac\"/>", ring(outline));
    }
    for (row, outline) in case.indications.iter().zip(&marks) {
        let _ = write!(svg, "<path d=\"{}\" fill=\"#1b1d21\"/>", ring(outline));
        if let (Some(place), true) = (row.at_mm, case.indications.len() <= 40) {
            let [x, y] = at(place);
            let _ = write!(
                svg,
                "<text x=\"{:.1}\" y=\"{:.1}\" class=\"halo\">{}</text>",
                x + 6.0,
                y - 4.0,
                Text(&row.id)
            );
        }
    }
    let groups = case.judgement.iter().flat_map(|j| &j.findings);
    for finding in groups.filter(|finding| finding.indications.len() > 1) {
        let members = case.indications.iter().zip(&marks);
        let inside: Vec<[f64; 2]> = members
            .filter(|(row, _)| finding.indications.contains(&row.id))
            .flat_map(|(_, outline)| outline.iter().map(|p| at(*p)))
            .collect();
        let edge = |axis: usize, of: fn(f64, f64) -> f64, start| {
            inside.iter().map(|p| p[axis]).fold(start, of)
        };
        let (x0, y0) = (edge(0, f64::min, f64::MAX) - 5.0, edge(1, f64::min, f64::MAX) - 5.0);
        let (x1, y1) = (edge(0, f64::max, f64::MIN) + 5.0, edge(1, f64::max, f64::MIN) + 5.0);
        if x1 > x0 && y1 > y0 {
            let _ = write!(
                svg,
                "<g><title>{}</title><rect x=\"{x0:.1}\" y=\"{y0:.1}\" width=\"{:.1}\" height=\"{:.1}\" rx=\"4\" fill=\"none\" stroke=\"#0a42be\" stroke-width=\"1.4\" stroke-dasharray=\"5 3\"/></g>",
                Text(&finding.rule),
                x1 - x0,
                y1 - y0
            );
        }
    }
    let bar = super::closeup::bar_mm((right - left).min(shown / grown));
    let y = size[1] - 10.0;
    let _ = write!(
        svg,
        "<path d=\"M8 {y:.1}h{:.1}m0 -4v8m-{:.1} 0v-8\" fill=\"none\" stroke=\"#1b1d21\"/><text x=\"{:.1}\" y=\"{:.1}\">{bar} mm</text></svg>",
        bar * grown,
        bar * grown,
        14.0 + bar * grown,
        y + 4.0
    );
    Some(svg)
}

fn on_part(picture: &Picture, line: &[[f64; 2]]) -> Vec<[f64; 2]> {
    line.iter()
        .map(|p| picture.on_part(*p))
        .filter(|p| p[0].is_finite() && p[1].is_finite())
        .collect()
}

/// Lengths of all indications of many photos, by class of length.
#[derive(Debug, Default)]
pub(super) struct Many {
    /// For each class: linear, rounded.
    classes: [[usize; 2]; CLASSES.len() + 1],
}

/// Upper ends of the classes, mm. Chosen: near the lengths at which documents decide.
const CLASSES: [f64; 8] = [0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0, 20.0];

impl Many {
    pub(super) fn add(&mut self, case: &Case) {
        for row in &case.indications {
            let class = CLASSES.iter().position(|end| row.length.mm <= *end);
            let class = class.unwrap_or(CLASSES.len());
            self.classes[class][usize::from(row.kind == Shape::Rounded)] += 1;
        }
    }

    /// Bars, linear below in black, rounded above in white.
    #[expect(clippy::cast_precision_loss, reason = "counts of indications")]
    pub(super) fn drawn(&self) -> Option<String> {
        let most = self.classes.iter().map(|[l, r]| l + r).max().filter(|most| *most > 0)?;
        let size = [560.0, 210.0];
        let mut svg = open("Number of indications by length", size);
        let (wide, high) = (520.0 / self.classes.len() as f64, 140.0);
        for (n, [linear, rounded]) in self.classes.iter().enumerate() {
            let x = 20.0 + wide * n as f64;
            let tall = |count: usize| high * count as f64 / most as f64;
            let (lower, upper) = (tall(*linear), tall(*rounded));
            let name = match (n.checked_sub(1).map(|k| CLASSES[k]), CLASSES.get(n)) {
                (None, Some(end)) => format!("to {end}"),
                (Some(_), Some(end)) => format!("{end}"),
                (Some(start), None) => format!("over {start}"),
                (None, None) => String::new(),
            };
            let _ = write!(
                svg,
                "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{lower:.1}\" fill=\"#1b1d21\"/><rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{upper:.1}\" fill=\"#fff\" stroke=\"#1b1d21\"/><text x=\"{:.1}\" y=\"178\" text-anchor=\"middle\">{name}</text><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
                x + 6.0,
                163.0 - lower,
                wide - 12.0,
                x + 6.0,
                163.0 - lower - upper,
                wide - 12.0,
                x + wide / 2.0,
                x + wide / 2.0,
                158.0 - lower - upper,
                linear + rounded
            );
        }
        svg.push_str("<path d=\"M20 163.5H540\" stroke=\"#1b1d21\"/><text x=\"540\" y=\"198\" text-anchor=\"end\">length up to, mm</text></svg>");
        Some(svg)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_that_can_be_drawn_are_found() {
        let limits = Limits::of(RuleSet::builtin("weld-vessel-us").as_ref());
        assert_eq!(limits.ratio, Some(3.0));
        let found: Vec<String> =
            limits.lines.iter().map(|l| format!("{} {:.4}", l.name, l.mm)).collect();
        assert_eq!(found, ["relevant 1.5875", "rounded too large 4.7625"]);
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(
            [31.0, 0.9, 5.0].map(|m| tidy(step(m, 6.0))).map(|s| s.to_string()),
            ["10", "0.2", "1"]
        );
    }
}
