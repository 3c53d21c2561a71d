//! Frames at their worst place, without the argument that says which directions may count: the range of
//! directions is halved until no piece can hold more than what was found.
//!
//! In a piece that reaches `e` radians to each side of its middle, points that fit some direction of it
//! fit the middle one in a frame larger by `e` times the frame's diagonal. So each piece has a lower
//! bound (what fits the middle) and an upper one (what fits the larger frame). Floating point is enough:
//! the lower bound uses a frame smaller by a millionth of a millimetre, the upper one a larger one.

use nde_checks::paint::dice::Dice;
use nde_checks::slow::window::{self, Size, Weighted};
use nde_core::{Indication, JudgeOptions, Length, Point, RuleSet, judge};

/// What fits, in millimetres.
#[derive(Clone, Copy, Debug)]
enum Frame {
    Area { area: f64, longest: f64 },
    Sides(f64, f64),
}

impl Frame {
    fn diagonal(self) -> f64 {
        match self {
            Self::Area { area, longest } => longest.hypot(area / longest),
            Self::Sides(a, b) => a.hypot(b),
        }
    }

    /// Whether reaches of `a` and `b` fit once each is made smaller by `loose`.
    fn fits(self, a: f64, b: f64, loose: f64) -> bool {
        let (a, b) = ((a - loose).max(0.0), (b - loose).max(0.0));
        match self {
            Self::Area { area, longest } => a <= longest && b <= longest && a * b <= area,
            Self::Sides(p, q) => a <= p && b <= q || a <= q && b <= p,
        }
    }
}

/// The most points in one frame of this direction, each reach made smaller by `loose`.
fn held(points: &[[f64; 2]], angle: f64, frame: Frame, loose: f64) -> usize {
    let (sin, cos) = angle.sin_cos();
    let turned: Vec<[f64; 2]> =
        points.iter().map(|[x, y]| [x * cos + y * sin, y * cos - x * sin]).collect();
    let mut most = 0;
    for low in &turned {
        for high in turned.iter().filter(|p| p[1] >= low[1]) {
            for left in &turned {
                let inside = turned.iter().filter(|p| {
                    (low[1]..=high[1]).contains(&p[1])
                        && p[0] >= left[0]
                        && frame.fits(p[0] - left[0], high[1] - low[1], loose)
                });
                most = most.max(inside.count());
            }
        }
    }
    most
}

/// A lower and an upper bound of what the worst place holds.
fn bounds(points: &[[f64; 2]], frame: Frame) -> (usize, usize) {
    const NARROWEST: f64 = 1.0e-6;
    // A quarter turn makes a rectangle of the other.
    let quarter = std::f64::consts::FRAC_PI_2;
    let mut pieces = vec![(quarter / 2.0, quarter / 2.0)];
    let (mut least, mut most) = (1, 1);
    while let Some((middle, half)) = pieces.pop() {
        least = least.max(held(points, middle, frame, -1.0e-6));
        let upper = held(points, middle, frame, half * frame.diagonal() + 1.0e-6);
        if upper <= least {
            continue;
        }
        if half < NARROWEST {
            most = most.max(upper);
            continue;
        }
        pieces.push((middle - half / 2.0, half / 2.0));
        pieces.push((middle + half / 2.0, half / 2.0));
    }
    (least, most.max(least))
}

/// The engine's answer: a rule that every list breaks names who stands at the worst place.
fn engine(places: &[[i64; 2]], within: &str) -> usize {
    let set = RuleSet::parse(&format!(
        "id = \"f\"\ntitle = \"f\"\nunit = \"mm\"\n[[reject]]\nname = \"f\"\nkind = \"count\"\ncount = \">= 1\"\nwithin = {within}\n"
    ))
    .expect("a set");
    let size = Length::from_um(100);
    let marks: Vec<Indication> = places
        .iter()
        .enumerate()
        .map(|(i, [x, y])| {
            Indication::typed(&format!("{i}"), size, size).at(Point { x_nm: *x, y_nm: *y }, 0)
        })
        .collect();
    let judged = judge(&marks, &set, &JudgeOptions::default()).expect("it can be judged");
    judged.findings[0].indications.len()
}

#[test]
fn no_direction_holds_more_than_the_worst_place() {
    // In the engine's words, in millimetres, and in half-nanometres.
    let frames = [
        (
            "{ area = \"6 mm2\", longest_side = \"4 mm\" }",
            Frame::Area { area: 6.0, longest: 4.0 },
            Size::Area(24_000_000_000_000, 8_000_000),
        ),
        (
            "{ area = \"9 mm2\", longest_side = \"3 mm\" }",
            Frame::Area { area: 9.0, longest: 3.0 },
            Size::Area(36_000_000_000_000, 6_000_000),
        ),
        (
            "{ area = \"2 mm2\", longest_side = \"7 mm\" }",
            Frame::Area { area: 2.0, longest: 7.0 },
            Size::Area(8_000_000_000_000, 14_000_000),
        ),
        (
            "{ sides = [\"4 mm\", \"1.5 mm\"] }",
            Frame::Sides(4.0, 1.5),
            Size::Sides(8_000_000, 3_000_000),
        ),
        (
            "{ sides = [\"3 mm\", \"3 mm\"] }",
            Frame::Sides(3.0, 3.0),
            Size::Sides(6_000_000, 6_000_000),
        ),
    ];
    let mut dice = Dice::new(77);
    let (mut settled, mut trials) = (0, 0);
    for round in 0..40 {
        // Micrometres, so that a tie between many places is rare and the bounds meet.
        let reach = [5_000, 8_000][round % 2];
        let places: Vec<[i64; 2]> = (0..9)
            .map(|_| [0, 1].map(|_| i64::try_from(dice.below(reach)).expect("small") * 1_000))
            .collect();
        let points: Vec<[f64; 2]> = places.iter().map(|p| p.map(|nm| nm as f64 / 1.0e6)).collect();
        for (within, frame, size) in &frames {
            let (least, most) = bounds(&points, *frame);
            let weighted: Vec<Weighted> =
                places.iter().map(|p| ([2 * p[0], 2 * p[1]], 1)).collect();
            let slow = window::most(&weighted, size, true);
            let fast = engine(&places, within);
            assert_eq!(i128::try_from(fast).expect("few"), slow, "{within} {places:?}");
            assert!(
                (least..=most).contains(&fast),
                "{fast}, not {least} to {most}: {within} {places:?}"
            );
            trials += 1;
            settled += usize::from(least == most);
        }
    }
    assert!(settled * 100 >= trials * 95, "only {settled} of {trials} were settled");
}
