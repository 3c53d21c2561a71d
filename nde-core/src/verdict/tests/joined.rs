//! Indications read as one.

use super::*;

/// Stadiums along x from the left, given their sizes and the gaps between them, in millimetres.
fn chain(sizes: &[(&str, &str)], gaps: &[&str]) -> Vec<Indication> {
    let nm = |text: &str| i64::try_from(mm(text).nm()).expect("small");
    let mut x = 0;
    let mut marks = Vec::new();
    for (i, (length, width)) in sizes.iter().enumerate() {
        if i > 0 {
            x += nm(gaps[i - 1]);
        }
        let centre = Point { x_nm: x + nm(length) / 2, y_nm: 0 };
        marks.push(Indication::typed(&(i + 1).to_string(), mm(length), mm(width)).at(centre, 0));
        x += nm(length);
    }
    marks
}

/// Source: boundary vectors D27-D44, derived from ISO 23277:2015, Table 1 (non-linear row from memory).
#[test]
fn levels_decide_every_size_boundary() {
    use Shape::{Linear, Rounded};
    use Verdict::{Accept, Reject};
    let cases = [
        ("D27", "1", "2.0", "0.4", Linear, Accept),
        ("D28", "1", "2.1", "0.4", Linear, Reject),
        ("D29", "2", "4.0", "0.5", Linear, Accept),
        ("D30", "2", "4.1", "0.5", Linear, Reject),
        ("D31", "3", "8.0", "0.5", Linear, Accept),
        ("D32", "3", "8.1", "0.5", Linear, Reject),
        ("D33", "1", "4.0", "3.0", Rounded, Accept),
        ("D34", "1", "4.1", "3.0", Rounded, Reject),
        ("D35", "2", "6.0", "4.0", Rounded, Accept),
        ("D36", "2", "6.1", "4.0", Rounded, Reject),
        ("D37", "3", "8.0", "6.0", Rounded, Accept),
        ("D38", "3", "8.1", "6.0", Rounded, Reject),
        ("D39", "2x", "2.0", "0.4", Linear, Accept),
        ("D40", "2x", "2.1", "0.4", Linear, Reject),
        ("D41", "2x", "6.0", "4.0", Rounded, Accept),
        ("D42", "2x", "6.1", "4.0", Rounded, Reject),
        ("D43", "3x", "8.0", "4.0", Rounded, Accept),
        ("D44", "3x", "2.1", "0.5", Linear, Reject),
        ("D51", "2", "6.0", "2.0", Rounded, Accept),
        ("D52", "2", "6.0", "1.99", Linear, Reject),
    ];
    for (vector, level, length, width, shape, expected) in cases {
        let (verdict, judged) = one(&format!("weld-level-{level}"), length, width);
        assert_eq!((verdict, judged.shape), (expected, shape), "{vector}");
    }
}

/// Source: boundary vectors D45-D50, grouping of ISO 23277:2015 (from memory).
#[test]
fn levels_join_what_lies_nearer_than_the_smaller() {
    use Verdict::{Accept, Reject};
    let two = [("3.0", "0.5"), ("2.0", "0.5")];
    let dots = [("1.5", "1.5"); 3];
    let cases = [
        ("D45", "2", chain(&two, &["1.9"]), Reject),
        ("D46", "2", chain(&two, &["2.0"]), Accept),
        ("D47", "2", chain(&two, &["2.1"]), Accept),
        ("D48", "3", chain(&two, &["1.9"]), Accept),
        ("D49", "2", chain(&dots[..2], &["1.4"]), Accept),
        ("D50", "2", chain(&dots, &["1.4", "1.4"]), Reject),
    ];
    for (vector, level, marks, expected) in cases {
        assert_eq!(verdict(&marks, &set(&format!("weld-level-{level}"))), expected, "{vector}");
    }
}

#[test]
fn a_joined_one_is_named_and_the_unjoined_verdict_is_told() {
    let marks = chain(&[("3.0", "0.5"), ("2.0", "0.5")], &["1.9"]);
    let judged = judge(&marks, &set("weld-level-2"), &JudgeOptions::default()).expect("judged");
    assert_eq!(judged.findings[0].indications, ["1", "2"]);
    assert_eq!(judged.findings[0].found, "linear, 6.9 mm long");
    assert_eq!(judged.unjoined, Some(Verdict::Accept));
    assert!(
        judged.notes.iter().any(|n| n.contains("without joining, the verdict would be accept"))
    );
    assert_eq!(judged.indications.iter().map(|i| i.group).collect::<Vec<_>>(), [Some(1), Some(1)]);
    assert_eq!(judged.conventions.len(), 2);
}

fn steel(rules: &str) -> RuleSet {
    RuleSet::parse(&format!(
        "id = \"x\"\ntitle = \"x\"\nunit = \"mm\"\n[linear]\nlength_over_width = \">= 3\"\n[joining]\nof = \"rounded\"\ngap = \"< 2 mm\"\nfewest = \"3\"\narranged = \"in line\"\nbecomes = \"rounded\"\n{rules}"
    ))
    .unwrap()
}

/// Source: vectors D53-D59, derived from ISO 4987:2020, 6.1.2 and A903/A903M-99, 3.1.
#[test]
fn casting_definitions_put_the_tie_on_the_other_side() {
    let aligned = steel("[[reject]]\nname = \"aligned\"\nkind = \"any\"\njoined = \"yes\"\n");
    for (vector, width, shape) in [("D53", "3.0", Shape::Linear), ("D54", "2.99", Shape::Rounded)] {
        let mark = Indication::typed("1", mm(width), mm("1.0"));
        let judged = judge(&[mark], &aligned, &JudgeOptions::default()).expect("judged");
        assert_eq!(judged.indications[0].shape, shape, "{vector}");
    }
    let dots = [("2.0", "2.0"); 3];
    assert_eq!(verdict(&chain(&dots, &["1.9", "1.9"]), &aligned), Verdict::Reject, "D55");
    assert_eq!(verdict(&chain(&dots, &["2.0", "2.0"]), &aligned), Verdict::Accept, "D56");
    assert_eq!(verdict(&chain(&dots[..2], &["1.0"]), &aligned), Verdict::Accept, "D57");
    let a903 = crate::rules::template("casting-steel-level").unwrap().replace("> ? mm", "> 5 mm");
    let a903 = RuleSet::parse(&a903).unwrap();
    for (vector, length, relevant) in [("D58", "1.6", false), ("D58", "1.61", true)] {
        let mark = Indication::typed("1", mm(length), mm("1.0"));
        let judged = judge(&[mark], &a903, &JudgeOptions::default()).expect("judged");
        assert_eq!(judged.indications[0].relevant, relevant, "{vector}");
    }
    let mark = Indication::typed("1", mm("3.0"), mm("1.0"));
    let judged = judge(&[mark], &a903, &JudgeOptions::default()).expect("judged");
    assert_eq!(judged.indications[0].shape, Shape::Linear, "D59");
}

#[test]
fn aligned_ones_are_as_long_as_they_reach() {
    let rules = steel(
        "[[reject]]\nname = \"aligned\"\nkind = \"length\"\njoined = \"yes\"\nlength = \"> 9.8 mm\"\n",
    );
    let dots = [("2.0", "2.0"); 3];
    assert_eq!(verdict(&chain(&dots, &["1.9", "1.9"]), &rules), Verdict::Accept);
    let longer = steel(
        "[[reject]]\nname = \"aligned\"\nkind = \"length\"\njoined = \"yes\"\nlength = \">= 9.8 mm\"\n",
    );
    assert_eq!(verdict(&chain(&dots, &["1.9", "1.9"]), &longer), Verdict::Reject);
    // Out of line: an L of three.
    let mut bent = chain(&dots, &["1.9", "1.9"]);
    let centre = Point::from_mm(4.9, 3.9);
    bent[2].place = Some(Place::Stadium { centre, angle_udeg: 0, length: mm("2"), width: mm("2") });
    assert_eq!(verdict(&bent, &longer), Verdict::Accept);
}

#[test]
fn own_and_growing_lengths_differ() {
    let of = |lengths: &str| {
        RuleSet::parse(&format!(
            "id = \"x\"\ntitle = \"x\"\nunit = \"mm\"\n[joining]\ngap = \"< smaller\"\nlengths = \"{lengths}\"\n[[reject]]\nname = \"long\"\nkind = \"length\"\nlength = \"> 9 mm\"\n"
        ))
        .unwrap()
    };
    // Two of 2 mm join to 5.5 mm; 3 mm away stands one of 4 mm: near only to what has grown.
    let marks = chain(&[("2", "0.5"), ("2", "0.5"), ("4", "0.5")], &["1.5", "3"]);
    assert_eq!(verdict(&marks, &of("own")), Verdict::Accept);
    assert_eq!(verdict(&marks, &of("growing")), Verdict::Reject);
}

#[test]
fn gaps_near_the_joining_limit_are_for_a_person() {
    let marks = |gap: f64| -> Vec<Indication> {
        [(0.0, 3.0), (3.0 + gap, 2.0)]
            .iter()
            .enumerate()
            .map(|(i, (left, length))| {
                let mut mark = measured(&i.to_string(), *length, 0.5, 0.04);
                mark.edge_shift = Some(Length::from_um(20));
                let long = Length::from_mm(*length).expect("a length");
                let centre = Point::from_mm(left + length / 2.0, 0.0);
                mark.place =
                    Some(Place::Stadium { centre, angle_udeg: 0, length: long, width: mm("0.5") });
                mark
            })
            .collect()
    };
    let level = set("weld-level-2");
    assert_eq!(verdict(&marks(1.5), &level), Verdict::Reject);
    let near = judge(&marks(1.95), &level, &JudgeOptions::default()).expect("judged");
    assert_eq!(near.verdict, Verdict::Review);
    assert!(near.findings[0].action.as_ref().unwrap().contains("gaps"), "{near:?}");
    assert_eq!(near.as_measured, Verdict::Reject);
    assert_eq!(verdict(&marks(2.5), &level), Verdict::Accept);
}

#[test]
fn joining_in_part_may_be_worse_than_all_and_nothing() {
    // A line of 0.8 mm, one of 0.7 mm and a spot of 2 mm with 0.7 mm between each: by level 2X the two
    // lines joined are 2.2 mm linear and too long, while all three joined are 4.9 mm rounded, and each
    // alone passes too. Whether the gaps join is in doubt.
    let sizes = [(0.8, 0.1, 0.0), (0.7, 0.1, 1.45), (2.0, 2.0, 3.5)];
    let marks = |last_gap: f64| -> Vec<Indication> {
        sizes
            .iter()
            .enumerate()
            .map(|(i, (length, width, x))| {
                let mut mark = measured(&i.to_string(), *length, *width, 0.01);
                mark.edge_shift = Some(Length::from_um(5));
                let x = if i == 2 { x + last_gap } else { *x };
                let size = |mm: f64| Length::from_mm(mm).expect("a size");
                mark.place = Some(Place::Stadium {
                    centre: Point::from_mm(x, 0.0),
                    angle_udeg: 0,
                    length: size(*length),
                    width: size(*width),
                });
                mark
            })
            .collect()
    };
    let judged = |marks: &[Indication]| {
        judge(marks, &set("weld-level-2x"), &JudgeOptions::default()).expect("judged")
    };
    let doubtful = judged(&marks(0.0));
    assert_eq!(doubtful.verdict, Verdict::Review, "{:?}", doubtful.findings);
    assert_eq!(doubtful.unjoined, Some(Verdict::Accept));
    let [finding] = &doubtful.findings[..] else { panic!("{:?}", doubtful.findings) };
    assert_eq!(finding.indications, ["0", "1"]);
    assert!(finding.found.contains("linear, 2.20 mm") && finding.found.contains("if only these"));
    assert_eq!(finding.action.as_deref(), Some("measure the gaps around 0, 1, 2 by hand"));
    // With the spot surely away there is no third piece: joined or not, the two readings differ.
    let two = judged(&marks(1.0));
    assert_eq!(two.verdict, Verdict::Review, "{:?}", two.findings);
    // Surely near: read as one and rounded.
    let mut near = marks(0.0);
    for (mark, x) in near.iter_mut().zip([0.0, 1.2, 3.0]) {
        let Some(Place::Stadium { centre, .. }) = &mut mark.place else { unreachable!() };
        *centre = Point::from_mm(x, 0.0);
    }
    assert_eq!(judged(&near).verdict, Verdict::Accept);
}

#[test]
fn a_reject_that_only_one_reading_gives_is_for_a_person() {
    // Two pairs far apart, each with its gap in doubt. Joined, the first pair is too long, else not; the
    // second holds a line too long alone, and joined it is linear and too long as well.
    let at = |id: &str, length: f64, width: f64, x: f64, y: f64| {
        let mut mark = measured(id, length, width, 0.01);
        mark.edge_shift = Some(Length::from_um(5));
        let size = |mm: f64| Length::from_mm(mm).expect("a size");
        mark.place = Some(Place::Stadium {
            centre: Point::from_mm(x, y),
            angle_udeg: 0,
            length: size(length),
            width: size(width),
        });
        mark
    };
    let first = [at("a", 0.8, 0.1, 0.0, 0.0), at("b", 0.7, 0.1, 1.45, 0.0)];
    let second = [at("c", 2.2, 0.3, 0.0, 50.0), at("d", 1.6, 1.6, 3.5, 50.0)];
    let judged = |marks: &[Indication]| {
        judge(marks, &set("weld-level-2x"), &JudgeOptions::default()).expect("judged")
    };
    // Gap of c and d: 3.5 - 1.1 - 0.8 = 1.6 mm, the smaller length. Joined: 5.4 mm by 1.6 mm.
    assert_eq!(judged(&first).verdict, Verdict::Review);
    assert_eq!(judged(&second).verdict, Verdict::Reject);
    let both: Vec<Indication> = first.iter().chain(&second).cloned().collect();
    let judged = judged(&both);
    assert_eq!(judged.verdict, Verdict::Reject);
    // The first pair is rejected by one reading only, whatever happens elsewhere.
    let of = |id: &str| judged.indications.iter().find(|i| i.id == id).expect("listed").verdict;
    assert_eq!([of("a"), of("b"), of("c")], [Verdict::Review, Verdict::Review, Verdict::Reject]);
}
