//! Boundary vectors of the level sets: class, joining and verdict exactly at, just over, just under.
//!
//! Source of the numbers: ISO 23277:2015, Table 1; the linear row from a secondary source, the non-linear
//! row and the grouping from memory. Source of the vectors: worked out by hand from those numbers; ids D27
//! to D52 are the project's own. A vector is as sure as its numbers.

use Shape::{Linear, Rounded};
use Verdict::{Accept, Reject};
use nde_core::{
    Indication, JudgeOptions, Judgement, Length, Point, RuleSet, Shape, Verdict, judge,
};

fn mm(text: &str) -> Length {
    Length::parse_mm(text).unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn judged(marks: &[Indication], set: &str) -> Judgement {
    let rules = RuleSet::builtin(set).unwrap_or_else(|| panic!("{set} ships"));
    judge(marks, &rules, &JudgeOptions::default()).unwrap_or_else(|e| panic!("{set}: {e}"))
}

/// One indication: id, set, length, width, class, verdict.
const SINGLES: [(&str, &str, &str, &str, Shape, Verdict); 20] = [
    ("D27", "weld-level-1", "2.0", "0.4", Linear, Accept),
    ("D28", "weld-level-1", "2.1", "0.4", Linear, Reject),
    ("D29", "weld-level-2", "4.0", "0.5", Linear, Accept),
    ("D30", "weld-level-2", "4.1", "0.5", Linear, Reject),
    ("D31", "weld-level-3", "8.0", "0.5", Linear, Accept),
    ("D32", "weld-level-3", "8.1", "0.5", Linear, Reject),
    ("D33", "weld-level-1", "4.0", "3.0", Rounded, Accept),
    ("D34", "weld-level-1", "4.1", "3.0", Rounded, Reject),
    ("D35", "weld-level-2", "6.0", "4.0", Rounded, Accept),
    ("D36", "weld-level-2", "6.1", "4.0", Rounded, Reject),
    ("D37", "weld-level-3", "8.0", "6.0", Rounded, Accept),
    ("D38", "weld-level-3", "8.1", "6.0", Rounded, Reject),
    // X: all linear ones to level 1, the others stay.
    ("D39", "weld-level-2x", "2.0", "0.4", Linear, Accept),
    ("D40", "weld-level-2x", "2.1", "0.4", Linear, Reject),
    ("D41", "weld-level-2x", "6.0", "4.0", Rounded, Accept),
    ("D42", "weld-level-2x", "6.1", "4.0", Rounded, Reject),
    ("D43", "weld-level-3x", "8.0", "4.0", Rounded, Accept),
    ("D44", "weld-level-3x", "2.1", "0.5", Linear, Reject),
    // The class decides which limit holds.
    ("D51", "weld-level-2", "6.0", "2.0", Rounded, Accept),
    ("D52", "weld-level-2", "6.0", "1.99", Linear, Reject),
];

#[test]
fn single_indications_fall_on_the_side_the_table_says() {
    for (id, set, long, wide, shape, verdict) in SINGLES {
        let judgement = judged(&[Indication::typed("a", mm(long), mm(wide))], set);
        assert_eq!((judgement.indications[0].shape, judgement.verdict), (shape, verdict), "{id}");
    }
}

/// Marks along x, each `length` by `width`, with edge-to-edge gaps.
fn chain(sizes: &[(&str, &str)], gaps: &[&str]) -> Vec<Indication> {
    let nm = |text: &str| i64::try_from(mm(text).nm()).expect("fits");
    let mut x = 0;
    let mut marks = Vec::new();
    for (i, (long, wide)) in sizes.iter().enumerate() {
        let centre = Point { x_nm: x + nm(long) / 2, y_nm: 0 };
        marks.push(Indication::typed(&format!("{i}"), mm(long), mm(wide)).at(centre, 0));
        x += nm(long) + gaps.get(i).map_or(0, |gap| nm(gap));
    }
    marks
}

/// Several: id, set, sizes, gaps, how many are read as one, verdict, what the rejecting rule found.
#[test]
fn a_gap_below_the_smaller_length_joins_and_the_joined_one_is_classed_again() {
    type Sizes = &'static [(&'static str, &'static str)];
    let lines: Sizes = &[("3.0", "0.5"), ("2.0", "0.5")];
    let spots: Sizes = &[("1.5", "1.5"), ("1.5", "1.5")];
    let three: Sizes = &[("1.5", "1.5"), ("1.5", "1.5"), ("1.5", "1.5")];
    type Case<'a> = (&'a str, &'a str, Sizes, &'a [&'a str], usize, Verdict, &'a str);
    let cases: [Case<'_>; 6] = [
        ("D45", "weld-level-2", lines, &["1.9"], 2, Reject, "linear, 6.9 mm long"),
        ("D46", "weld-level-2", lines, &["2.0"], 0, Accept, ""),
        ("D47", "weld-level-2", lines, &["2.1"], 0, Accept, ""),
        ("D48", "weld-level-3", lines, &["1.9"], 2, Accept, ""),
        ("D49", "weld-level-2", spots, &["1.4"], 2, Accept, ""),
        ("D50", "weld-level-2", three, &["1.4", "1.4"], 3, Reject, "linear, 7.3 mm long"),
    ];
    for (id, set, sizes, gaps, together, verdict, found) in cases {
        let judgement = judged(&chain(sizes, gaps), set);
        let grouped = judgement.indications.iter().filter(|i| i.group.is_some()).count();
        assert_eq!((grouped, judgement.verdict), (together, verdict), "{id}");
        let words: Vec<&str> = judgement.findings.iter().map(|f| f.found.as_str()).collect();
        assert_eq!(words.join("; "), found, "{id}");
        // Nothing here is rejected one by one; both verdicts are kept.
        assert_eq!(judgement.unjoined, Some(Accept), "{id}");
    }
    // D49: the joined one is 4.4 mm by 1.5 mm, still rounded.
    let reason = &judged(&chain(spots, &["1.4"]), "weld-level-2").indications[0].reason;
    assert!(reason.contains("rounded, 4.4 mm long"), "{reason}");
}
