//! Vectors of definitions that castings use, and of girth welds of pipelines.
//!
//! Sources of the numbers: ISO 4987:2020, 6.1.2 (read in an excerpt: non-linear below three times the
//! width, aligned when at least three lie less than 2 mm apart); ASTM A903/A903M-99, 3.1 (read); API 1104,
//! 9.4.2 and 9.5.2 (read in an excerpt and a summary). Ids D53 to D63 are the project's own, worked out by
//! hand. Where no table was seen only class, relevance and alignment are asked.

use Shape::{Linear, Rounded};
use Verdict::{Accept, Reject};
use nde_core::rules::template;
use nde_core::{
    Indication, JudgeOptions, Judgement, Length, Point, RuleSet, Shape, Verdict, judge,
};

fn mm(text: &str) -> Length {
    Length::parse_mm(text).unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn spot(id: &str, long: &str, wide: &str, x_mm: f64) -> Indication {
    Indication::typed(id, mm(long), mm(wide)).at(Point::from_mm(x_mm, 0.0), 0)
}

/// The definitions of ISO 4987, with a limit that nothing here reaches.
fn casting() -> RuleSet {
    RuleSet::parse(
        r#"
id = "casting-definitions"
title = "Definitions only"
unit = "mm"
[linear]
length_over_width = ">= 3"
source = "ISO 4987:2020, 6.1.2"
confidence = "read"
[joining]
of = "rounded"
gap = "< 2 mm"
fewest = "3"
arranged = "in line"
becomes = "rounded"
source = "ISO 4987:2020, 6.1.2"
confidence = "read"
[[reject]]
name = "far beyond"
kind = "length"
length = "> 900 mm"
"#,
    )
    .expect("a set")
}

fn judged(marks: &[Indication], set: &RuleSet) -> Judgement {
    judge(marks, set, &JudgeOptions::default()).expect("it can be judged")
}

#[test]
fn three_times_the_width_is_linear_in_castings() {
    for (id, long, shape) in [("D53", "3.0", Linear), ("D54", "2.99", Rounded)] {
        let mark = Indication::typed("a", mm(long), mm("1.0"));
        assert_eq!(judged(&[mark], &casting()).indications[0].shape, shape, "{id}");
    }
    let steel = template("casting-steel-level").expect("it ships").replace('?', "900");
    let steel = RuleSet::parse(&steel).expect("filled in");
    // D59: A903 calls it linear too. D58: what exceeds 1.6 mm is relevant.
    let at = |long: &str| {
        let judgement = judged(&[Indication::typed("a", mm(long), mm("1.0"))], &steel);
        (judgement.indications[0].shape, judgement.indications[0].relevant)
    };
    assert_eq!(at("3.0"), (Linear, true), "D59");
    assert_eq!((at("1.6").1, at("1.61").1), (false, true), "D58");
}

#[test]
fn three_rounded_ones_less_than_two_apart_in_line_are_aligned() {
    // Spots of 1 mm, so that the gaps are the steps less 1 mm.
    let aligned = |steps: &[f64]| {
        let mut x = 0.0;
        let mut marks = vec![spot("0", "1", "1", 0.0)];
        for (i, step) in steps.iter().enumerate() {
            x += step;
            marks.push(spot(&format!("{}", i + 1), "1", "1", x));
        }
        let judgement = judged(&marks, &casting());
        judgement.indications.iter().filter(|i| i.group.is_some()).count()
    };
    assert_eq!(aligned(&[2.9, 2.9]), 3, "D55");
    assert_eq!(aligned(&[3.0, 3.0]), 0, "D56");
    assert_eq!(aligned(&[2.0]), 0, "D57");
    assert_eq!(aligned(&[2.9, 3.0, 2.9]), 0, "two and two are no alignment");
    let three =
        ["0", "1", "2"].map(|i| spot(i, "1", "1", 2.9 * i.parse::<f64>().expect("a number")));
    let reason = judged(&three, &casting()).indications[0].reason.clone();
    assert!(reason.contains("rounded, 6.8 mm long"), "overall length: {reason}");
}

fn called(id: &str, long: &str, label: &str, x_mm: f64) -> Indication {
    let mut mark = spot(id, long, "0.5", x_mm);
    mark.label = Some(label.to_owned());
    mark
}

fn weld(marks: &[Indication], length: &str) -> Verdict {
    let rules = RuleSet::builtin("weld-pipeline-girth-si").expect("it ships");
    let mut options = JudgeOptions::default();
    options.weld_axis_udeg = Some(0);
    options.weld_length = Some(mm(length));
    options.thickness = Some(mm("20"));
    judge(marks, &rules, &options).expect("it can be judged").verdict
}

#[test]
fn girth_welds_are_judged_by_what_a_person_calls_the_indication() {
    assert_eq!(weld(&[called("1", "4.0", "crater crack", 0.0)], "1000"), Accept, "D60");
    assert_eq!(weld(&[called("1", "4.1", "crater crack", 0.0)], "1000"), Reject, "D60");
    assert_eq!(weld(&[called("1", "2.5", "crack", 0.0)], "1000"), Reject, "D61");
    let fusion = |first: &str, second: &str| {
        [
            called("1", first, "incomplete fusion", 0.0),
            called("2", second, "incomplete fusion", 200.0),
        ]
    };
    assert_eq!(weld(&fusion("15", "10"), "312.5"), Accept, "D62: 25 mm are 8 % of 312.5 mm");
    assert_eq!(weld(&fusion("15", "10.1"), "2000"), Reject, "D62");
    assert_eq!(weld(&fusion("15", "10"), "312.49"), Reject, "just more than 8 %");
    assert_eq!(weld(&fusion("10", "10.1"), "250"), Reject, "D63");
    assert_eq!(weld(&fusion("10", "10"), "250"), Accept, "D63 at its limit");
}
