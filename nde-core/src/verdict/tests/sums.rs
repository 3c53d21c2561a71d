//! Counts and sums: in all, in a frame, along a weld; limits that follow the thickness; labels.

use super::*;

fn parse(rules: &str) -> RuleSet {
    RuleSet::parse(&format!("id = \"x\"\ntitle = \"x\"\nunit = \"mm\"\n{rules}")).unwrap()
}

/// Source: boundary vectors D20-D22, derived from B31.1, 136.4.4 (secondary) and VIII-1 App. 8, 8-4.
#[test]
fn ten_in_six_square_inches_reject() {
    let spread = |n: u32| -> Vec<Indication> {
        // 0.1 in round, 0.5 in apart: a 5 x 2 field of 2 in x 0.5 in between middles.
        (0..n)
            .map(|i| {
                let nm = |steps: u32| i64::from(steps) * 12_700_000;
                let at = Point { x_nm: nm(i % 5), y_nm: nm(i / 5) };
                Indication::typed(&i.to_string(), inch("0.10"), inch("0.10")).at(at, 0)
            })
            .collect()
    };
    let piping = set("weld-power-piping-us");
    assert_eq!(verdict(&spread(9), &piping), Verdict::Accept, "D20");
    assert_eq!(verdict(&spread(10), &set("weld-vessel-us")), Verdict::Accept, "D22");
    let judged = judge(&spread(10), &piping, &JudgeOptions::default()).expect("judged");
    assert_eq!(judged.verdict, Verdict::Reject, "D21");
    assert_eq!(
        judged.findings[0].found,
        "10 at the worst place of any 6 in2 with sides up to 6 in"
    );
    assert_eq!(judged.conventions.len(), 2);
}

#[test]
fn ten_spread_just_past_the_frame_pass() {
    // Ten along a line: the longest side is 6 in between the first and the last middle.
    let row = |step_nm: i64| -> Vec<Indication> {
        (0..10)
            .map(|i| {
                Indication::typed(&i.to_string(), inch("0.10"), inch("0.10"))
                    .at(Point { x_nm: i * step_nm, y_nm: 0 }, 0)
            })
            .collect()
    };
    let piping = set("weld-power-piping-us");
    // 152.4 mm / 9 = 16.9333.. mm: one nanometre less and more than a third of the last step.
    assert_eq!(verdict(&row(16_933_333), &piping), Verdict::Reject);
    // 10 x 16.94 mm reach 152.46 mm; a frame of 6 in x 1 in laid slanting still holds them.
    assert_eq!(verdict(&row(16_940_000), &piping), Verdict::Reject);
    // Its diagonal is 6.08 in = 154.5 mm.
    assert_eq!(verdict(&row(17_200_000), &piping), Verdict::Accept);
}

fn called(id: &str, length: &str, label: &str, x_mm: f64) -> Indication {
    let mut mark = Indication::typed(id, mm(length), mm("0.5")).at(Point::from_mm(x_mm, 0.0), 0);
    mark.label = Some(label.into());
    mark
}

fn weld(length: &str) -> JudgeOptions {
    JudgeOptions {
        weld_axis_udeg: Some(0),
        weld_length: Some(mm(length)),
        ..JudgeOptions::default()
    }
}

/// Source: boundary vectors D60-D63, derived from API 1104, 9.4.2 and 9.5.2.
#[test]
fn girth_welds_are_judged_by_what_a_person_calls_each() {
    use Verdict::{Accept, Reject, Review};
    let girth = set("weld-pipeline-girth-si");
    let of = |marks: &[Indication], options: &JudgeOptions| {
        judge(marks, &girth, options).expect("judged").verdict
    };
    let long = weld("1000");
    assert_eq!(of(&[called("1", "4.0", "crater crack", 0.0)], &long), Accept, "D60");
    assert_eq!(of(&[called("1", "4.1", "crater crack", 0.0)], &long), Reject, "D60");
    assert_eq!(of(&[called("1", "2.5", "crack", 0.0)], &long), Reject, "D61");
    let fusion = |first: &str, apart: f64| {
        vec![
            called("1", first, "incomplete fusion", 0.0),
            called("2", "10", "incomplete fusion", apart),
        ]
    };
    assert_eq!(of(&fusion("15", 300.0), &weld("312.5")), Accept, "D62");
    assert_eq!(of(&fusion("15.1", 300.0), &weld("1000")), Reject, "D62");
    assert_eq!(of(&fusion("15.1", 300.000_001), &weld("1000")), Accept);
    assert_eq!(of(&fusion("10.1", 100.0), &weld("250")), Reject, "D63");
    assert_eq!(of(&fusion("10.0", 100.0), &weld("250")), Accept);
    // Nobody said what it is.
    assert_eq!(of(&[Indication::typed("1", mm("3"), mm("0.5"))], &long), Review);
    assert_eq!(of(&[called("1", "3", "scratch", 0.0)], &long), Review);
    assert_eq!(of(&[called("1", "3", " Crack ", 0.0)], &long), Reject);
}

#[test]
fn what_a_rule_needs_beside_the_list_is_asked_for() {
    let girth = set("weld-pipeline-girth-si");
    let marks = [
        called("1", "20", "incomplete fusion", 0.0),
        called("2", "20", "incomplete fusion", 100.0),
    ];
    let ask = |marks: &[Indication], options: &JudgeOptions| -> Vec<String> {
        let judged = judge(marks, &girth, options).expect("judged");
        assert!(
            judged.findings.iter().all(|f| f.action.is_some() == (f.verdict == Verdict::Review))
        );
        judged.findings.into_iter().filter_map(|f| f.action).collect()
    };
    let none = JudgeOptions::default();
    let said = ask(&marks, &none);
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].contains("--weld-axis 0") && said[1].contains("--weld-length 400mm"));
    let axis = JudgeOptions { weld_axis_udeg: Some(0), ..JudgeOptions::default() };
    // 40 mm in 300 mm are too much whatever the weld's length is.
    assert_eq!(judge(&marks, &girth, &axis).expect("judged").verdict, Verdict::Reject);
    assert!(ask(&marks, &axis)[0].contains("--weld-length 400mm"));
    let pore = [called("1", "2.5", "pore", 0.0)];
    assert!(ask(&pore, &none)[0].contains("--thickness 12mm"));
    assert_eq!(judge(&pore, &girth, &none).expect("judged").verdict, Verdict::Review);
    // A crack asks for no thickness.
    assert!(ask(&[called("1", "2.5", "crack", 0.0)], &none).is_empty());
    let wall = |t: &str| JudgeOptions { thickness: Some(mm(t)), ..JudgeOptions::default() };
    assert_eq!(judge(&pore, &girth, &wall("10")).expect("judged").verdict, Verdict::Accept);
    assert_eq!(judge(&pore, &girth, &wall("9.99")).expect("judged").verdict, Verdict::Reject);
}

#[test]
fn limits_by_thickness_take_the_first_band() {
    let rules = parse(
        "[[reject]]\nname = \"long\"\nkind = \"length\"\n\
         [[reject.by_thickness]]\nthickness = \"< 16 mm\"\nlength = \"> 3 mm\"\n\
         [[reject.by_thickness]]\nthickness = \"< 50 mm\"\nlength = \"> 5 mm\"\n",
    );
    let at = |t: &str, l: &str| {
        let options = JudgeOptions { thickness: Some(mm(t)), ..JudgeOptions::default() };
        judge(&[Indication::typed("1", mm(l), mm("1"))], &rules, &options).expect("judged").verdict
    };
    assert_eq!(at("15.999", "3.1"), Verdict::Reject);
    assert_eq!(at("16", "3.1"), Verdict::Accept);
    assert_eq!(at("16", "5.1"), Verdict::Reject);
    assert_eq!(at("50", "99"), Verdict::Accept);
}

#[test]
fn sums_in_a_frame_are_of_the_worst_place() {
    let rules = parse(
        "[[reject]]\nname = \"sum\"\nkind = \"total-length\"\nof = \"linear\"\ntotal = \"> 8 mm\"\nwithin = { sides = [\"20 mm\", \"10 mm\"], placed = \"along axes\" }\n",
    );
    let at = |places: &[(f64, f64)]| {
        let marks: Vec<Indication> = places
            .iter()
            .enumerate()
            .map(|(i, (x, y))| {
                Indication::typed(&i.to_string(), mm("4"), mm("1")).at(Point::from_mm(*x, *y), 0)
            })
            .collect();
        verdict(&marks, &rules)
    };
    assert_eq!(at(&[(0., 0.), (20., 10.)]), Verdict::Accept);
    assert_eq!(at(&[(0., 0.), (20., 10.), (7., 5.)]), Verdict::Reject);
    assert_eq!(at(&[(0., 0.), (20.000_001, 10.), (7., 5.)]), Verdict::Accept);
    assert_eq!(at(&[(0., 0.), (10., 20.), (7., 5.)]), Verdict::Reject);
    let area = parse("[[reject]]\nname = \"area\"\nkind = \"total-area\"\ntotal = \"> 7 mm2\"\n");
    let dots = |n: usize| -> Vec<Indication> {
        (0..n).map(|i| Indication::typed(&i.to_string(), mm("2"), mm("2"))).collect()
    };
    // pi mm2 each.
    assert_eq!(verdict(&dots(2), &area), Verdict::Accept);
    assert_eq!(verdict(&dots(3), &area), Verdict::Reject);
}

#[test]
fn sums_of_measured_lengths_carry_their_doubt() {
    let rules = parse("[[reject]]\nname = \"sum\"\nkind = \"total-length\"\ntotal = \"> 9 mm\"\n");
    let three = |length: f64| -> Verdict {
        let marks: Vec<Indication> =
            (0..3).map(|i| measured(&i.to_string(), length, 0.5, 0.1)).collect();
        verdict(&marks, &rules)
    };
    assert_eq!(three(2.8), Verdict::Accept);
    assert_eq!(three(2.9), Verdict::Review);
    assert_eq!(three(3.1), Verdict::Review);
    assert_eq!(three(3.2), Verdict::Reject);
}

#[test]
fn a_set_that_only_measures_gives_no_verdict() {
    let rules = set("weld-structural-visual");
    let mark = Indication::typed("1", mm("3"), mm("3"));
    let judged = judge(&[mark], &rules, &JudgeOptions::default()).expect("judged");
    assert_eq!((judged.verdict, judged.findings.len()), (Verdict::Review, 1));
    assert!(judged.findings[0].action.is_some());
    assert_eq!(verdict(&[], &rules), Verdict::Accept);
}

#[test]
fn weak_numbers_say_so_in_every_verdict() {
    let judged = judge(&[], &set("weld-nuclear-class"), &JudgeOptions::default()).expect("judged");
    assert!(judged.notes.iter().any(|n| n.contains("from memory, unverified")));
    let read = judge(&[], &set("weld-vessel-si"), &JudgeOptions::default()).expect("judged");
    assert!(!read.notes.iter().any(|n| n.contains("no surer")));
}
