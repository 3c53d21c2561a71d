//! Vectors on every side of every limit of a set, made from the set itself: on the limit, one nanometre
//! below and one above.

use super::judge::{Facts, Map, Outcome};
use super::mark::{Body, Mark};
use super::number::{Bound, Sign};
use super::set::{Against, Frame, Kind, Limit, Rule, Set, Shape};

/// One list.
#[derive(Clone, Debug)]
pub struct Case {
    /// The list.
    pub marks: Vec<Mark>,
    /// What is known beside it.
    pub facts: Facts,
}

/// The three lists around one limit.
#[derive(Clone, Debug)]
pub struct Edge {
    /// Which limit, of which rule.
    pub limit: String,
    /// Its side.
    pub sign: Sign,
    /// Below, on and above it.
    pub cases: [Case; 3],
}

/// A list for each of three values around a limit; the limit in nanometres, rounded down where it is none.
fn edge(limit: impl Into<String>, bound: &Bound, make: &dyn Fn(i64) -> Case) -> Edge {
    let on = bound.limit.nm();
    assert!(bound.limit.is_whole(), "limits of the shipped sets are whole nanometres");
    Edge { limit: limit.into(), sign: bound.sign, cases: [on - 1, on, on + 1].map(make) }
}

const PLAIN: Facts =
    Facts { thickness: Some(50_000_000), upright: Some(false), weld: Some(9_000_000_000) };

/// A weld long enough that no share of it is reached, a part thick enough that its limits are not.
fn plain(marks: Vec<Mark>) -> Case {
    Case { marks, facts: PLAIN }
}

/// A list of one.
fn alone(mark: Mark) -> Case {
    plain(vec![mark])
}

/// Every limit of a set.
#[must_use]
pub fn edges(set: &Set) -> Vec<Edge> {
    let mut all = Vec::new();
    // Wide enough to be relevant at the ratio.
    let width = 600_000;
    let ratio = Bound {
        limit: &set.linear.limit * &super::number::Exact::whole(width),
        ..set.linear.clone()
    };
    let word = set.labels.as_ref().map(|(_, words)| words[0].clone());
    let labelled = |mut mark: Mark| {
        mark.label.clone_from(&word);
        mark
    };
    let spot = |length: i64, width: i64| labelled(Mark::new("a", length, width, stadium(0, 0)));
    all.push(edge("linear", &ratio, &|length| alone(spot(length, width))));
    if let Some(relevant) = &set.relevant {
        all.push(edge("relevant", relevant, &|length| alone(spot(length, length / 2))));
    }
    if let Some(joining) = &set.joining {
        // Two lines, one longer, with the gap between them at the limit.
        let (long, short) = (1_500_000, 900_000);
        let limit = match &joining.against {
            Against::Fixed(gap) => gap.clone(),
            Against::Smaller => super::number::Exact::whole(short),
            Against::Larger => super::number::Exact::whole(long),
        };
        let gap = Bound { sign: joining.sign, limit };
        all.push(edge("joining", &gap, &|gap| {
            let at = (long + short) / 2 + gap;
            let marks = [(long, 0), (short, at)]
                .map(|(l, x)| Mark::new(format!("{x}"), l, 300_000, stadium(x, 0)));
            plain(marks.into())
        }));
    }
    for rule in &set.rules {
        all.extend(of_rule(set, rule));
    }
    all
}

fn of_rule(set: &Set, rule: &Rule) -> Vec<Edge> {
    let name = |what: &str| format!("{}: {what}", rule.name);
    let relevant = set.relevant.as_ref().map_or(500_000, |b| b.limit.nm());
    // A little more than relevant, and even, so that spots meet at whole nanometres.
    let small = (relevant / 2 + 100_000) * 2;
    let shaped = |id: String, length: i64, body: Body| {
        let width = if rule.of == Some(Shape::Linear) { length / 5 } else { length / 2 };
        let mut mark = Mark::new(id, length, width, body);
        mark.label = rule.labels.first().cloned();
        mark
    };
    let one = |length: i64| shaped("a".into(), length, stadium(0, 0));
    let spots = |places: &[[i64; 2]]| -> Case {
        let spot = |(i, at): (usize, &[i64; 2])| {
            let mut mark = shaped(format!("{i}"), small, stadium(at[0], at[1]));
            mark.width = small;
            mark
        };
        plain(places.iter().enumerate().map(spot).collect())
    };
    match &rule.kind {
        Kind::Any => set
            .relevant
            .iter()
            .map(|bound| edge(name("any that is relevant"), bound, &|l| alone(one(l))))
            .collect(),
        Kind::Length(Limit::Fixed(bound)) => {
            let mut all = vec![edge(name("length"), bound, &|length| alone(one(length)))];
            if let Some(joining) = &set.joining {
                all.push(edge(name("length of what is joined"), bound, &|length| {
                    joined(joining.against.clone(), rule, length)
                }));
            }
            all
        }
        Kind::Length(Limit::OfThickness(bound)) => {
            let thickness = 10_000_000;
            let of = &bound.limit * &super::number::Exact::whole(thickness);
            vec![edge(
                name("share of the thickness"),
                &Bound { limit: of, ..bound.clone() },
                &|l| Case {
                    marks: vec![one(l)],
                    facts: Facts { thickness: Some(thickness), ..PLAIN },
                },
            )]
        }
        Kind::Row(count, gap, _) => {
            let fewest =
                (2..).find(|n| count.catches(&super::number::Exact::whole(*n))).unwrap_or(2);
            let row = |members: i64, gap: i64, odd: i64| {
                // The gap in the middle is the one at the limit.
                let at = |i: i64| {
                    if i < members / 2 { i * (small + odd) } else { i * (small + odd) + gap - odd }
                };
                spots(&(0..members).map(|i| [at(i), 0]).collect::<Vec<_>>())
            };
            let whole = gap.limit.nm();
            let narrow = whole / 2;
            let counts = [fewest - 1, fewest, fewest + 1];
            vec![
                edge(name("gap"), gap, &|gap| row(fewest, gap, narrow)),
                Edge {
                    limit: name("count"),
                    sign: Sign::AtLeast,
                    cases: counts.map(|members| row(members, narrow, narrow)),
                },
                edge(
                    name("relevance of a member"),
                    set.relevant.as_ref().unwrap_or(count),
                    &|length| {
                        let mut case = row(fewest, narrow, narrow);
                        (case.marks[0].length, case.marks[0].width) = (length, length);
                        case
                    },
                ),
            ]
        }
        Kind::Count(count, Some(frame)) => in_frame(rule, count, frame, &spots),
        Kind::Total(bound, Some(Frame::Weld(length))) => {
            let total = bound.limit.nm();
            let line = |second: i64, apart: i64| {
                let first = shaped("a".into(), total - total / 2, stadium(0, 0));
                plain(vec![first, shaped("b".into(), second, stadium(apart, 0))])
            };
            let apart = Bound { sign: Sign::AtMost, limit: length.clone() };
            vec![
                edge(name("sum of lengths"), bound, &|sum| {
                    line(total / 2 + sum - total, length.nm() / 2)
                }),
                edge(name("length of weld"), &apart, &|apart| line(total / 2 + 1, apart)),
            ]
        }
        Kind::Share(bound) => {
            let weld = 250_000_000;
            let of = &bound.limit * &super::number::Exact::whole(weld);
            vec![edge(name("share of the weld"), &Bound { limit: of, ..bound.clone() }, &|l| {
                Case { marks: vec![one(l)], facts: Facts { weld: Some(weld), ..PLAIN } }
            })]
        }
        other => panic!("no vectors are made for {other:?}"),
    }
}

/// Ten in a frame, or however many are caught: its count, its area and its longest side.
fn in_frame(
    rule: &Rule,
    count: &Bound,
    frame: &Frame,
    spots: &dyn Fn(&[[i64; 2]]) -> Case,
) -> Vec<Edge> {
    let Frame::Area(area, longest, _) = frame else { panic!("no vectors are made for {frame:?}") };
    let name = |what: &str| format!("{}: {what}", rule.name);
    let fewest = (2..).find(|n| count.catches(&super::number::Exact::whole(*n))).unwrap_or(2);
    let area = i128::try_from(area.floor()).expect("areas fit");
    let longest = longest.nm();
    // Sides whose product is the area, in whole nanometres, and in multiples of five for the turned one.
    let wide = (longest / 20_000..)
        .map(|n| n * 10_000)
        .find(|w| area % i128::from(*w) == 0 && area / i128::from(*w) % 5 == 0)
        .expect("some side divides the area");
    let high = i64::try_from(area / i128::from(wide)).expect("sides fit");
    let box_of = |members: i64, wide: i64, high: i64, turned: bool| {
        let places: Vec<[i64; 2]> = (0..members)
            .map(|i| match i {
                0 => [0, 0],
                1 => [wide, high],
                2 => [wide, 0],
                3 => [0, high],
                _ => [wide / members * i / 5 * 5, high / members * (members - i) / 5 * 5],
            })
            .map(|[u, v]| if turned { [(3 * u - 4 * v) / 5, (4 * u + 3 * v) / 5] } else { [u, v] })
            .collect();
        spots(&places)
    };
    // A little lower than the area allows, and with all four corners: one line of spots would lie along
    // the diagonal.
    let low = i64::try_from(area / i128::from(longest)).expect("sides fit") / 10 * 9;
    let at_most =
        |limit: i64| Bound { sign: Sign::AtMost, limit: super::number::Exact::whole(limit) };
    vec![
        Edge {
            limit: name("count"),
            sign: Sign::AtLeast,
            cases: [fewest - 1, fewest, fewest + 1]
                .map(|members| box_of(members, wide, high, false)),
        },
        edge(name("area"), &at_most(wide), &|wide| box_of(fewest, wide, high, false)),
        Edge {
            limit: name("area, turned"),
            sign: Sign::AtMost,
            cases: [wide - 5, wide, wide + 5].map(|wide| box_of(fewest, wide, high, true)),
        },
        edge(name("longest side"), &at_most(longest), &|wide| box_of(fewest, wide, low, false)),
    ]
}

/// Two marks with a gap that joins, as long together as asked, linear or rounded as the rule asks.
fn joined(against: Against, rule: &Rule, length: i64) -> Case {
    assert!(matches!(against, Against::Smaller), "no vectors are made for {against:?}");
    let part = length / 5 * 2;
    let wide = if rule.of == Some(Shape::Linear) { length / 8 } else { part };
    let marks = [0, length - part].map(|x| {
        let mut mark = Mark::new(format!("{x}"), part, wide, stadium(x, 0));
        mark.label = rule.labels.first().cloned();
        mark
    });
    plain(marks.into())
}

const fn stadium(x: i64, y: i64) -> Body {
    Body::Stadium { at: [x, y], upright: false }
}

/// What a vector's outcome is told by: the rules that caught, and of lists of one size also what was
/// joined, relevant and linear.
fn told(outcome: &Outcome, one_size: bool) -> String {
    let joined: Vec<usize> = outcome.joined.iter().map(std::collections::BTreeSet::len).collect();
    let rules: Vec<&String> = outcome.caught.keys().collect();
    if !one_size {
        return format!("{rules:?}");
    }
    let shapes: Vec<Shape> = outcome.shapes.values().copied().collect();
    format!("{rules:?} {} {joined:?} {shapes:?}", outcome.relevant.len())
}

impl Edge {
    /// The slow outcomes of the three lists.
    ///
    /// # Panics
    /// When a list is left open.
    #[must_use]
    pub fn outcomes(&self, set: &Set) -> [Outcome; 3] {
        self.cases.each_ref().map(|case| {
            Map::new(case.marks.clone()).judge(set, &case.facts).expect("nothing is left open")
        })
    }

    /// Whether the limit divides the three as its side says: on it like above it, or like below it.
    #[must_use]
    pub fn divides(&self, outcomes: &[Outcome; 3]) -> bool {
        let sizes = self.cases.each_ref().map(|case| case.marks.len());
        let one_size = sizes.iter().all(|size| *size == sizes[0]);
        let [below, on, above] = outcomes.each_ref().map(|outcome| told(outcome, one_size));
        let like_above = matches!(self.sign, Sign::AtLeast | Sign::Under);
        below != above && on == if like_above { above } else { below }
    }
}
