//! What must not change a verdict, on random lists whose sizes and gaps stand on and around the limits.

use proptest::prelude::*;

use super::*;

/// Sizes in micrometres on and around the limits of the shipped millimetre sets.
fn size() -> impl Strategy<Value = u64> {
    prop_oneof![
        (1_498_u64..=1_502),
        (1_998_u64..=2_002),
        (3_998_u64..=4_002),
        (4_998_u64..=5_002),
        (300_u64..=9_000)
    ]
}

/// A mark: length, width as a part of it, place on a grid of half-millimetres, direction along an axis.
fn mark() -> impl Strategy<Value = (u64, u64, i64, i64, bool)> {
    (size(), 0_u64..5, 0_i64..40, 0_i64..40, any::<bool>())
}

fn list(marks: &[(u64, u64, i64, i64, bool)]) -> Vec<Indication> {
    marks
        .iter()
        .enumerate()
        .map(|(i, (length, part, x, y, upright))| {
            let length = Length::from_um(*length);
            let width = Length::from_nm(
                [1, 2, 3, 4, 6].map(|n| length.nm() / n)[usize::try_from(*part).unwrap()],
            );
            let at = Point { x_nm: x * 500_000, y_nm: y * 500_000 };
            Indication::typed(&format!("m{i}"), length, width)
                .at(at, if *upright { 90_000_000 } else { 0 })
        })
        .collect()
}

fn moved(
    list: &[Indication],
    by: impl Fn(Point) -> Point,
    turn_udeg: i64,
    sign: i64,
) -> Vec<Indication> {
    let mut list = list.to_vec();
    for mark in &mut list {
        let Some(Place::Stadium { centre, angle_udeg, .. }) = &mut mark.place else { continue };
        *centre = by(*centre);
        *angle_udeg = sign * *angle_udeg + turn_udeg;
    }
    list
}

/// Verdict, and each indication's verdict by name.
fn outcome(list: &[Indication], rules: &RuleSet) -> (Verdict, Vec<(String, Verdict)>) {
    let judged = judge(list, rules, &JudgeOptions::default()).expect("can be judged");
    let mut each: Vec<_> = judged.indications.into_iter().map(|i| (i.id, i.verdict)).collect();
    each.sort();
    (judged.verdict, each)
}

fn sets() -> Vec<RuleSet> {
    let crowd = RuleSet::parse(
        "id = \"x\"\ntitle = \"x\"\nunit = \"mm\"\n\
         [[reject]]\nname = \"crowd\"\nkind = \"count\"\ncount = \">= 5\"\nwithin = { area = \"20 mm2\", longest_side = \"10 mm\" }\n\
         [[reject]]\nname = \"sum\"\nkind = \"total-length\"\ntotal = \"> 12 mm\"\nwithin = { sides = [\"8 mm\", \"3 mm\"] }\n\
         [[reject]]\nname = \"circle\"\nkind = \"count\"\ncount = \"> 3\"\nwithin = { circle = \"4 mm\" }\n\
         [[reject]]\nname = \"near\"\nkind = \"spacing\"\ngap = \"< 0.2 mm\"\n",
    )
    .expect("a set");
    vec![set("weld-vessel-si"), set("weld-level-2"), set("weld-power-piping-si2000"), crowd]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn order_moving_turning_and_mirroring_change_nothing(
        marks in prop::collection::vec(mark(), 0..14),
        dx in -1_000_000_007_i64..1_000_000_007,
        dy in -1_000_000_007_i64..1_000_000_007,
    ) {
        let marks = list(&marks);
        let mut reversed = marks.clone();
        reversed.reverse();
        let shifted = moved(&marks, |p| Point { x_nm: p.x_nm + dx, y_nm: p.y_nm + dy }, 0, 1);
        let turned = moved(&marks, |p| Point { x_nm: -p.y_nm, y_nm: p.x_nm }, 90_000_000, 1);
        let mirrored = moved(&marks, |p| Point { x_nm: -p.x_nm, y_nm: p.y_nm }, 0, -1);
        for rules in sets() {
            let expected = outcome(&marks, &rules);
            for (how, other) in
                [("order", &reversed), ("moved", &shifted), ("turned", &turned), ("mirrored", &mirrored)]
            {
                let found = outcome(other, &rules);
                // Where several worst places are equal, another one may be named.
                prop_assert_eq!(found.0, expected.0, "{} {}", how, rules.id());
                if rules.id() == "weld-level-2" {
                    prop_assert_eq!(&found.1, &expected.1, "{} {}", how, rules.id());
                }
            }
        }
    }

    /// Sets that join are left out: what joins may become one allowed mark of another shape.
    #[test]
    fn one_more_mark_never_turns_reject_into_accept(
        marks in prop::collection::vec(mark(), 1..14),
        more in mark(),
    ) {
        let mut all = marks;
        for rules in sets().into_iter().filter(|r| r.id() != "weld-level-2") {
            let before = outcome(&list(&all), &rules).0;
            all.push(more);
            prop_assert!(outcome(&list(&all), &rules).0 >= before);
            all.pop();
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in ".{0,300}") {
        let _ = RuleSet::parse(&text);
        let _ = text.parse::<crate::rules::Limit>();
    }

    /// Pieces of a real set in any order: deeper into the reader than plain noise.
    #[test]
    fn shuffled_sets_are_read_or_refused(
        order in prop::collection::vec((0_usize..200, 0_usize..40), 1..60),
    ) {
        let text = include_str!("../../../rule-sets/weld-power-piping-us.toml");
        let lines: Vec<&str> = text.lines().collect();
        let mut shuffled = String::new();
        for (line, cut) in order {
            let line = lines[line % lines.len()];
            let end = line.char_indices().map(|(i, _)| i).nth(cut).unwrap_or(line.len());
            shuffled.push_str(if cut % 3 == 0 { &line[..end] } else { line });
            shuffled.push('\n');
        }
        if let Err(error) = RuleSet::parse(&shuffled) {
            prop_assert!(error.line() >= 1 && error.column() >= 1);
        }
    }
}
