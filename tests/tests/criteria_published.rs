//! Published questions whose answer a list can show: ids P01 to P05, P18 and P22 are the project's own
//! numbers for them.
//!
//! Sources: a level II quiz of 2022 on ASME V Article 6 and VIII-1 App. 8, questions 6 to 9 and 11 (P01 to
//! P05); a welding forum's thread of 2007 on a 1/8 in stain over a 1/32 in spot (P18; it came to no agreed
//! verdict, what follows from VIII-1 is worked out here); a level III paper whose key was not shown (P22).
//! The other published questions are about the process and are asked of the techniques.

use nde_core::{Indication, JudgeOptions, Length, Point, RuleSet, Shape, Verdict, judge};

fn mm(text: &str) -> Length {
    Length::parse_mm(text).expect("a length")
}

fn vessel(marks: &[Indication]) -> nde_core::Judgement {
    let rules = RuleSet::builtin("weld-vessel-si").expect("it ships");
    judge(marks, &rules, &JudgeOptions::default()).expect("it can be judged")
}

#[test]
fn the_quiz_is_answered_as_its_key_says() {
    let one = |long: &str, wide: &str| {
        let judged = &vessel(&[Indication::typed("a", mm(long), mm(wide))]).indications[0];
        (judged.shape, judged.relevant)
    };
    assert_eq!(one("3.001", "1").0, Shape::Linear, "P01: length over three times the width");
    assert_eq!(one("3", "1").0, Shape::Rounded, "P03 and P22: three times the width or less");
    assert!(one("1.501", "1").1, "P02: relevant over 1.5 mm");
    assert!(!one("1.5", "1").1, "P04: 1.5 mm or less is not relevant");
}

#[test]
fn four_in_line_reject() {
    // P05: spots of 2 mm with 1.5 mm between their edges.
    let row = |count: i64| -> Vec<Indication> {
        (0..count)
            .map(|i| {
                let at = Point { x_nm: i * 3_500_000, y_nm: 0 };
                Indication::typed(&format!("{i}"), mm("2"), mm("2")).at(at, 0)
            })
            .collect()
    };
    let verdicts = [3, 4, 5].map(|count| vessel(&row(count)).verdict);
    assert_eq!(verdicts, [Verdict::Accept, Verdict::Reject, Verdict::Reject]);
}

#[test]
fn a_stain_larger_than_its_spot_is_sized_as_a_stain_or_not_at_all() {
    let inch = |text: &str| Length::parse_inch(text).expect("a length");
    let stain = [Indication::typed("stain", inch("1/8"), inch("1/8"))];
    let by = |id: &str| {
        let rules = RuleSet::builtin(id).expect("it ships");
        judge(&stain, &rules, &JudgeOptions::default()).expect("it can be judged").verdict
    };
    // P18: relevant, rounded, not over 3/16 in.
    assert_eq!(by("weld-vessel-us"), Verdict::Accept);
    // The structural code looks at the spot under it: no verdict by the stain.
    assert_eq!(by("weld-structural-visual"), Verdict::Review);
}
