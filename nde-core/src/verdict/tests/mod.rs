mod joined;
mod properties;
mod sums;

use super::*;
use crate::doubt::{Doubt, Gate};
use crate::length::{Length, Measured, Spread};
use crate::place::{Place, Point};

fn set(id: &str) -> RuleSet {
    RuleSet::builtin(id).expect("it ships")
}

fn limits(texts: &[&str]) -> RuleSet {
    let limits: Vec<_> = texts.iter().map(|t| t.parse().expect("a limit")).collect();
    RuleSet::from_limits(&limits).expect("a set")
}

fn mm(text: &str) -> Length {
    Length::parse_mm(text).expect("a length")
}

fn inch(text: &str) -> Length {
    Length::parse_inch(text).expect("a length")
}

fn verdict(marks: &[Indication], rules: &RuleSet) -> Verdict {
    judge(marks, rules, &JudgeOptions::default()).expect("can be judged").verdict
}

/// One mark, sizes in the set's own unit.
fn one(id: &str, length: &str, width: &str) -> (Verdict, Judged) {
    let parse = if id.ends_with("-us") { inch } else { mm };
    let mark = Indication::typed("1", parse(length), parse(width));
    let judgement = judge(&[mark], &set(id), &JudgeOptions::default()).expect("can be judged");
    (judgement.verdict, judgement.indications[0].clone())
}

/// Round marks on a line along x, given their diameters and the gaps between them, in millimetres.
fn line(diameters: &[&str], gaps: &[&str]) -> Vec<Indication> {
    let mut x = 0;
    let mut marks = Vec::new();
    for (i, diameter) in diameters.iter().enumerate() {
        let nm = i64::try_from(mm(diameter).nm()).expect("small");
        if i > 0 {
            x += i64::try_from(mm(gaps[i - 1]).nm()).expect("small") + nm / 2;
        }
        let mark = Indication::typed(&format!("{}", i + 1), mm(diameter), mm(diameter));
        marks.push(mark.at(Point { x_nm: x, y_nm: 0 }, 0));
        x += nm / 2;
    }
    marks
}

fn measured(id: &str, length: f64, width: f64, u: f64) -> Indication {
    let of = |value: f64| Measured {
        value: Length::from_mm(value).expect("a length"),
        spread: Spread::Standard {
            edge: Length::from_mm(u).expect("a length"),
            scale: Length::ZERO,
        },
    };
    Indication {
        length: of(length),
        width: of(width),
        ..Indication::typed(id, Length::ZERO, Length::ZERO)
    }
}

/// Source: boundary vectors D01-D13 and D23-D26, derived from VIII-1 App. 8, 8-3 and 8-4 with exact
/// rationals.
#[test]
fn vessel_sets_decide_every_single_size_boundary() {
    use Shape::{Linear, Rounded};
    use Verdict::{Accept, Reject};
    const SI: &str = "weld-vessel-si";
    const US: &str = "weld-vessel-us";
    let cases = [
        ("D01", SI, "1.50", "0.40", None, Accept),
        ("D02", SI, "1.51", "0.40", Some(Linear), Reject),
        ("D03", SI, "1.49", "0.10", None, Accept),
        ("D04", US, "0.0625", "0.010", None, Accept),
        ("D05", US, "0.0626", "0.010", Some(Linear), Reject),
        ("D06", SI, "3.00", "1.00", Some(Rounded), Accept),
        ("D07", SI, "3.01", "1.00", Some(Linear), Reject),
        ("D08", SI, "2.99", "1.00", Some(Rounded), Accept),
        ("D09", SI, "5.00", "3.00", Some(Rounded), Accept),
        ("D10", SI, "5.01", "3.00", Some(Rounded), Reject),
        ("D11", SI, "4.99", "3.00", Some(Rounded), Accept),
        ("D12", US, "3/16", "1/8", Some(Rounded), Accept),
        ("D13", US, "0.188", "0.125", Some(Rounded), Reject),
        ("D23", SI, "1.55", "0.30", Some(Linear), Reject),
        ("D25", SI, "4.90", "4.00", Some(Rounded), Accept),
    ];
    for (vector, id, length, width, shape, expected) in cases {
        let (verdict, judged) = one(id, length, width);
        assert_eq!(verdict, expected, "{vector}");
        assert_eq!(judged.relevant, shape.is_some(), "{vector}");
        if let Some(shape) = shape {
            assert_eq!(judged.shape, shape, "{vector}");
        }
    }
    // The same sizes under the inch set: the unit system matters (D24, D26).
    let us = set(US);
    let thin = Indication::typed("1", mm("1.55"), mm("0.30"));
    assert_eq!(verdict(&[thin], &us), Accept, "D24");
    let round = Indication::typed("1", mm("4.90"), mm("4.00"));
    assert_eq!(verdict(&[round], &us), Reject, "D26");
}

/// Source: boundary vectors D14-D19, derived from VIII-1 App. 8, 8-4(c).
#[test]
fn vessel_set_decides_every_row_boundary() {
    use Verdict::{Accept, Reject};
    let si = set("weld-vessel-si");
    let five = ["2.0"; 5];
    let cases = [
        ("D14", line(&five[..4], &["1.5", "1.5", "1.5"]), Reject),
        ("D15", line(&five[..4], &["1.5", "1.51", "1.5"]), Accept),
        ("D16", line(&five[..3], &["0.2", "0.2"]), Accept),
        ("D17", line(&["2.0", "2.0", "2.0", "1.5"], &["0.5", "0.5", "0.5"]), Accept),
        ("D18", line(&five, &["1.5", "1.6", "1.5", "1.5"]), Accept),
        ("D19", line(&five, &["1.6", "1.5", "1.5", "1.5"]), Reject),
    ];
    for (vector, marks, expected) in cases {
        assert_eq!(verdict(&marks, &si), expected, "{vector}");
    }
}

#[test]
fn a_row_names_its_members_and_its_convention() {
    let marks = line(&["2.0"; 5], &["1.6", "1.5", "1.5", "1.5"]);
    let judged = judge(&marks, &set("weld-vessel-si"), &JudgeOptions::default()).expect("judged");
    assert_eq!(judged.findings.len(), 1);
    assert_eq!(judged.findings[0].indications, ["2", "3", "4", "5"]);
    assert_eq!(judged.findings[0].found, "4 in line, edge to edge 1.5 mm");
    assert_eq!(judged.indications[0].verdict, Verdict::Accept);
    assert_eq!(judged.indications[1].group, Some(1));
    assert_eq!(judged.conventions.len(), 1);
}

#[test]
fn a_block_of_four_is_not_a_row_and_a_zigzag_is_up_to_one_width() {
    let si = set("weld-vessel-si");
    let at = |places: &[(f64, f64)]| -> Vec<Indication> {
        places
            .iter()
            .enumerate()
            .map(|(i, (x, y))| {
                Indication::typed(&i.to_string(), mm("2"), mm("2")).at(Point::from_mm(*x, *y), 0)
            })
            .collect()
    };
    assert_eq!(verdict(&at(&[(0., 0.), (3., 0.), (0., 3.), (3., 3.)]), &si), Verdict::Accept);
    // One line touches all while the side step is no more than the diameter, exactly.
    let zigzag = |step| at(&[(0., 0.), (2.5, step), (5., 0.), (7.5, step)]);
    assert_eq!(verdict(&zigzag(2.0), &si), Verdict::Reject);
    assert_eq!(verdict(&zigzag(2.000_001), &si), Verdict::Accept);
    assert_eq!(verdict(&zigzag(1.999_999), &si), Verdict::Reject);
}

/// Source: D64 and D65.
#[test]
fn an_empty_list_accepts_and_says_what_that_is_not() {
    let judged = judge(&[], &set("weld-vessel-si"), &JudgeOptions::default()).expect("judged");
    assert_eq!(judged.verdict, Verdict::Accept);
    assert!(judged.notes[0].contains("does not mean that there are no cracks"));
}

/// Source: D65.
#[test]
fn lists_that_make_no_sense_are_refused() {
    let rules = limits(&["linear=3mm"]);
    let refuse = |marks: &[Indication]| judge(marks, &rules, &JudgeOptions::default()).unwrap_err();
    let of = |id: &str, l: &str, w: &str| Indication::typed(id, mm(l), mm(w));
    assert!(matches!(refuse(&[of("1", "2", "0")]), JudgeError::NoWidth { .. }));
    assert!(matches!(refuse(&[of("1", "0", "0")]), JudgeError::NoLength { .. }));
    assert!(matches!(refuse(&[of("1", "1", "1.001")]), JudgeError::LengthBelowWidth { .. }));
    assert!(matches!(
        refuse(&[of("1", "2", "1"), of("1", "2", "1")]),
        JudgeError::DuplicateId { .. }
    ));
    assert!(matches!(refuse(&[of(" ", "2", "1")]), JudgeError::NoId { number: 1 }));
    let far = of("1", "2", "1").at(Point::from_mm(1.0e6, 0.0), 0);
    assert!(matches!(refuse(&[far]), JudgeError::NoSuchPlace { .. }));
}

#[test]
fn places_are_asked_for_only_when_they_can_matter() {
    let si = set("weld-vessel-si");
    let without = |n: usize| -> Vec<Indication> {
        (0..n).map(|i| Indication::typed(&i.to_string(), mm("2"), mm("2"))).collect()
    };
    assert_eq!(verdict(&without(3), &si), Verdict::Accept);
    let error = judge(&without(4), &si, &JudgeOptions::default()).unwrap_err();
    assert!(error.to_string().contains("rounded in a row"), "{error}");
    assert!(error.to_string().contains("x_mm,y_mm,angle_deg"), "{error}");
}

#[test]
fn own_limits_pass_at_the_limit() {
    use Verdict::{Accept, Reject};
    let of = |l: &str, w: &str| vec![Indication::typed("1", mm(l), mm(w))];
    assert_eq!(verdict(&of("3", "0.5"), &limits(&["linear=3mm"])), Accept);
    assert_eq!(verdict(&of("3.000001", "0.5"), &limits(&["linear=3mm"])), Reject);
    assert_eq!(verdict(&of("5", "5"), &limits(&["rounded=5mm", "linear=3mm"])), Accept);
    assert_eq!(verdict(&of("5.000001", "5"), &limits(&["rounded=5mm"])), Reject);
    assert_eq!(verdict(&of("1.5", "0.1"), &limits(&["relevant=1.5mm", "linear=0mm"])), Accept);
    assert_eq!(verdict(&of("1.6", "0.1"), &limits(&["relevant=1.5mm", "linear=0mm"])), Reject);
    let inches = vec![Indication::typed("1", inch("1/8"), inch("1/64"))];
    assert_eq!(verdict(&inches, &limits(&["linear=1/8in"])), Accept);

    let spaced = |gap: &str| line(&["2", "2"], &[gap]);
    assert_eq!(verdict(&spaced("10"), &limits(&["spacing=10mm"])), Accept);
    assert_eq!(verdict(&spaced("9.999999"), &limits(&["spacing=10mm"])), Reject);

    let many = |n: usize| line(&vec!["1"; n], &vec!["5"; n]);
    assert_eq!(verdict(&many(10), &limits(&["count=10"])), Accept);
    assert_eq!(verdict(&many(11), &limits(&["count=10"])), Reject);

    let row = |gap: &str| line(&["1", "1", "1", "1"], &["1", gap, "1"]);
    assert_eq!(verdict(&row("1.5"), &limits(&["row=4@1.5mm"])), Reject);
    assert_eq!(verdict(&row("1.500001"), &limits(&["row=4@1.5mm"])), Accept);
}

/// Source: limit 4 mm, u = 0.10 mm: guard 0.1645 mm, acceptance limit 3.8355 mm (computed after
/// ISO 14253-1:2017).
#[test]
fn the_guard_stands_on_both_sides_of_a_limit() {
    let rules = limits(&["linear=4mm"]);
    for (length, expected, as_measured) in [
        (3.83, Verdict::Accept, Verdict::Accept),
        (3.84, Verdict::Review, Verdict::Accept),
        (4.00, Verdict::Review, Verdict::Accept),
        (4.16, Verdict::Review, Verdict::Reject),
        (4.17, Verdict::Reject, Verdict::Reject),
    ] {
        let mark = measured("1", length, 0.5, 0.1);
        let judged =
            judge(std::slice::from_ref(&mark), &rules, &JudgeOptions::default()).expect("judged");
        assert_eq!((judged.verdict, judged.as_measured), (expected, as_measured), "{length}");
        for finding in &judged.findings {
            assert_eq!(finding.action.is_some(), finding.verdict == Verdict::Review);
        }
        let plain = JudgeOptions { guard: Guard::AsMeasured, ..JudgeOptions::default() };
        let plain = judge(&[mark], &rules, &plain).expect("judged");
        assert_eq!((plain.verdict, plain.as_measured), (as_measured, as_measured), "{length}");
    }
}

#[test]
fn a_doubtful_shape_is_judged_both_ways() {
    // Ratio 3 +- 0.3: linear or rounded. Both limits passed, none passed, one passed.
    let mark = measured("1", 3.0, 1.0, 0.1);
    assert_eq!(
        verdict(std::slice::from_ref(&mark), &limits(&["linear=2mm", "rounded=2.5mm"])),
        Verdict::Reject
    );
    assert_eq!(
        verdict(std::slice::from_ref(&mark), &limits(&["linear=4mm", "rounded=5mm"])),
        Verdict::Accept
    );
    let judged = judge(&[mark], &limits(&["linear=2mm", "rounded=5mm"]), &JudgeOptions::default())
        .expect("judged");
    assert_eq!(judged.verdict, Verdict::Review);
    assert!(judged.findings[0].action.as_ref().unwrap().contains("give its shape"));
    assert_eq!(judged.indications[0].p_linear, Some(0.5));
}

#[test]
fn a_row_with_one_doubtful_shape_rejects_when_linear_would_too() {
    let mut marks = line(&["2"; 4], &["1.5", "1.5", "1.5"]);
    marks[1].doubts.push(Doubt::TooSmallToClassify);
    // As rounded it completes the row, as linear it is rejected itself.
    assert_eq!(verdict(&marks, &set("weld-vessel-si")), Verdict::Reject);
    // Here linear is allowed, so its shape decides.
    let own = RuleSet::parse(
        "id = \"x\"\ntitle = \"x\"\nunit = \"mm\"\n[[reject]]\nname = \"row\"\nkind = \"row\"\nof = \"rounded\"\ncount = \">= 4\"\ngap = \"<= 1.5 mm\"\n",
    )
    .unwrap();
    let judged = judge(&marks, &own, &JudgeOptions::default()).expect("judged");
    assert_eq!(judged.verdict, Verdict::Review);
    assert!(judged.findings[0].action.as_ref().unwrap().starts_with("2: "));
}

#[test]
fn doubts_never_end_in_accept() {
    let rules = limits(&["linear=3mm", "rounded=5mm"]);
    let with = |length: f64, doubt: Doubt| {
        let mut mark = measured("1", length, 0.5, 0.01);
        mark.doubts.push(doubt);
        verdict(&[mark], &rules)
    };
    // A lower bound may reject, never accept; an unknown size decides nothing.
    assert_eq!(with(2.0, Doubt::CutByPhoto), Verdict::Review);
    assert_eq!(with(3.5, Doubt::CutByPhoto), Verdict::Reject);
    assert_eq!(with(2.0, Doubt::TooFaintToSize { contrast: 0.1 }), Verdict::Review);
    assert_eq!(with(9.0, Doubt::TooFaintToSize { contrast: 0.1 }), Verdict::Review);
    assert_eq!(with(2.0, Doubt::UnverifiedPrint), Verdict::Accept);
    let mut unclaimed = measured("1", 2.0, 0.5, 0.01);
    unclaimed.length.spread = Spread::Unclaimed;
    assert_eq!(verdict(&[unclaimed], &rules), Verdict::Review);
}

#[test]
fn a_failed_gate_never_ends_in_accept() {
    let gate = |outcome| Gate {
        name: "blur".into(),
        value: Some(0.3),
        unit: "mm".into(),
        warn: 0.1,
        fail: 0.2,
        outcome,
        remedy: "focus and photograph again".into(),
    };
    let rules = limits(&["linear=3mm"]);
    let with = |length: &str, outcome| {
        let options = JudgeOptions { gates: vec![gate(outcome)], ..JudgeOptions::default() };
        judge(&[Indication::typed("1", mm(length), mm("0.5"))], &rules, &options).expect("judged")
    };
    assert_eq!(with("2", GateOutcome::Pass).verdict, Verdict::Accept);
    assert_eq!(with("2", GateOutcome::Warn).verdict, Verdict::Accept);
    let failed = with("2", GateOutcome::Fail);
    assert_eq!((failed.verdict, failed.as_measured), (Verdict::Review, Verdict::Review));
    assert_eq!(failed.indications[0].verdict, Verdict::Review);
    assert_eq!(with("4", GateOutcome::Fail).verdict, Verdict::Reject);
}

#[test]
fn what_a_person_called_away_is_listed_and_not_judged() {
    let rules = limits(&["linear=3mm"]);
    for (call, expected) in [
        (Relevance::NonRelevant, Verdict::Accept),
        (Relevance::False, Verdict::Accept),
        (Relevance::Relevant, Verdict::Reject),
        (Relevance::NotYetCalled, Verdict::Reject),
    ] {
        let mut mark = Indication::typed("1", mm("9"), mm("1"));
        mark.relevance = call;
        let judged = judge(&[mark], &rules, &JudgeOptions::default()).expect("judged");
        assert_eq!(judged.verdict, expected, "{call:?}");
        assert_eq!(judged.indications.len(), 1);
        assert_eq!(judged.indications[0].relevant, expected == Verdict::Reject);
    }
}

#[test]
fn near_gaps_of_measured_marks_are_for_a_person() {
    let marks = |gap: f64| -> Vec<Indication> {
        (0..4)
            .map(|i| {
                let mut mark = measured(&i.to_string(), 2.0, 2.0, 0.04);
                mark.edge_shift = Some(Length::from_um(20));
                let centre = Point::from_mm(f64::from(i) * (2.0 + gap), 0.0);
                mark.place =
                    Some(Place::Stadium { centre, angle_udeg: 0, length: mm("2"), width: mm("2") });
                mark
            })
            .collect()
    };
    let si = set("weld-vessel-si");
    // Two edges of 0.02 mm each: guard 0.0658 mm.
    assert_eq!(verdict(&marks(1.43), &si), Verdict::Reject);
    assert_eq!(verdict(&marks(1.45), &si), Verdict::Review);
    assert_eq!(verdict(&marks(1.56), &si), Verdict::Review);
    assert_eq!(verdict(&marks(1.57), &si), Verdict::Accept);
}

#[test]
fn order_of_the_list_changes_nothing() {
    let mut marks = line(&["2"; 6], &["1.5", "1.5", "1.6", "1.5", "1.5"]);
    marks.extend(line(&["2"; 4], &["1", "1", "1"]).into_iter().enumerate().map(|(i, mut mark)| {
        mark.id = format!("b{i}");
        let Some(Place::Stadium { centre, .. }) = &mut mark.place else { unreachable!() };
        centre.y_nm = 40_000_000;
        mark
    }));
    let si = set("weld-vessel-si");
    let names = |marks: &[Indication]| {
        let judged = judge(marks, &si, &JudgeOptions::default()).expect("judged");
        let mut names: Vec<Vec<String>> = judged
            .findings
            .into_iter()
            .map(|mut f| {
                f.indications.sort();
                f.indications
            })
            .collect();
        names.sort();
        names
    };
    let forward = names(&marks);
    assert_eq!(forward, [["b0", "b1", "b2", "b3"]]);
    marks.reverse();
    assert_eq!(names(&marks), forward);
}
