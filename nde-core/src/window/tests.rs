use super::*;
use crate::length::Length;

fn mm(text: &str) -> Length {
    Length::parse_mm(text).unwrap()
}

fn points(places: &[(i64, i64)]) -> Vec<Weighted> {
    // Micrometres to half-nanometres.
    places.iter().map(|(x, y)| Weighted { at: [x * 2000, y * 2000], weight: 1 }).collect()
}

fn count(places: &[(i64, i64)], frame: &Frame) -> u128 {
    let worst = worst(&points(places), frame, 0);
    assert!(worst.complete);
    assert_eq!(worst.members.len() as u128, worst.weight);
    worst.weight
}

const ANY: Placed = Placed::AnyDirection;
const AXES: Placed = Placed::AlongAxes;

fn area(nm2: u128, longest: &str, placed: Placed) -> Frame {
    Frame::Area { nm2, longest: mm(longest), placed }
}

#[test]
fn a_point_on_the_border_is_inside() {
    // 4 mm x 3 mm: area 12 mm2 exactly, then one micrometre too far.
    let corners = [(0, 0), (4000, 0), (4000, 3000), (0, 3000)];
    for placed in [ANY, AXES] {
        assert_eq!(count(&corners, &area(12_000_000_000_000, "4", placed)), 4);
        assert_eq!(count(&corners, &area(11_999_999_999_999, "4", placed)), 3 - 1);
        assert_eq!(count(&corners, &area(12_000_000_000_000, "3.999999", placed)), 2);
        let sides = |a: &str, b: &str| Frame::Sides { sides: [mm(a), mm(b)], placed };
        assert_eq!(count(&corners, &sides("3", "4")), 4);
        assert_eq!(count(&corners, &sides("3", "3.999999")), 2);
    }
    // The circle around them has a diameter of 5 mm exactly.
    assert_eq!(count(&corners, &Frame::Circle { diameter: mm("5") }), 4);
    assert_eq!(count(&corners, &Frame::Circle { diameter: mm("4.999999") }), 2);
}

#[test]
fn a_turned_frame_finds_a_slanting_line() {
    // A 3-4-5 line of 10 mm: in a frame of 10 x 1 only when turned.
    let line: Vec<(i64, i64)> = (0..=10).map(|k| (600 * k, 800 * k)).collect();
    let sides = |placed| Frame::Sides { sides: [mm("10"), mm("1")], placed };
    assert_eq!(count(&line, &sides(ANY)), 11);
    assert_eq!(count(&line, &sides(AXES)), 2);
    assert_eq!(count(&line, &area(10_000_000_000_000, "10", ANY)), 11);
    // A thin frame too short for its ends, even from corner to corner.
    assert_eq!(count(&line, &area(1_000_000_000_000, "9.9", ANY)), 10);
}

#[test]
fn points_of_one_place_count_together() {
    let same = [(5, 5); 7];
    assert_eq!(count(&same, &Frame::Circle { diameter: mm("1") }), 7);
    assert_eq!(count(&same, &area(1, "1", ANY)), 7);
    assert_eq!(worst(&[], &Frame::Circle { diameter: mm("1") }, 0).weight, 0);
}

#[test]
fn what_is_allowed_is_not_told_apart() {
    let three = points(&[(0, 0), (1, 0), (2, 0)]);
    let frame = Frame::Circle { diameter: mm("1") };
    assert_eq!(worst(&three, &frame, 2).members, [0, 1, 2]);
    let found = worst(&three, &frame, 3);
    assert_eq!((found.weight, found.members.len(), found.complete), (0, 0, true));
}

#[test]
fn weights_are_summed() {
    let weighted = [
        Weighted { at: [0, 0], weight: 9 },
        Weighted { at: [40_000_000, 0], weight: 5 },
        Weighted { at: [42_000_000, 0], weight: 6 },
    ];
    let found = worst(&weighted, &Frame::Circle { diameter: mm("2") }, 0);
    assert_eq!((found.weight, found.members), (11, vec![1, 2]));
    let along = worst_along(&[(0, 9), (40_000_000, 5), (42_000_000, 6)], mm("1"));
    assert_eq!((along.weight, along.members), (11, vec![1, 2]));
    assert_eq!(worst_along(&[(0, 9), (40_000_000, 5), (42_000_001, 6)], mm("1")).weight, 9);
}

/// A small generator, so that the trials are the same everywhere.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: i64) -> i64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from(self.0 >> 33).unwrap() % below
    }
}

/// Most points in one frame, by laying it in many directions against every left and lower point.
fn by_many_directions(places: &[(i64, i64)], fits: &dyn Fn(f64, f64) -> bool) -> usize {
    let mut most = 0;
    for step in 0..180 {
        let (sin, cos) = (f64::from(step)).to_radians().sin_cos();
        #[expect(clippy::cast_precision_loss, reason = "small coordinates")]
        let turned: Vec<(f64, f64)> = places
            .iter()
            .map(|(x, y)| (*x as f64, *y as f64))
            .map(|(x, y)| (x * cos + y * sin, y * cos - x * sin))
            .collect();
        for left in &turned {
            for low in &turned {
                for top in &turned {
                    let mut along: Vec<f64> = turned
                        .iter()
                        .filter(|p| p.0 >= left.0 && (low.1..=top.1).contains(&p.1))
                        .map(|p| p.0 - left.0)
                        .collect();
                    along.sort_by(f64::total_cmp);
                    let height = top.1 - low.1;
                    most = most.max(
                        along.iter().take_while(|a| height >= 0.0 && fits(**a, height)).count(),
                    );
                }
            }
        }
    }
    most
}

#[test]
fn no_direction_tried_by_hand_holds_more() {
    let mut dice = Dice(11);
    let mut more_when_turned = 0;
    for _ in 0..12 {
        let places: Vec<(i64, i64)> =
            (0..9).map(|_| (dice.roll(60) * 100, dice.roll(60) * 100)).collect();
        let exact = count(&places, &area(6_000_000_000_000, "4", ANY));
        let tried = by_many_directions(&places, &|a, b| a * b <= 6.0e6 && a <= 4.0e3 && b <= 4.0e3);
        let slightly_larger =
            by_many_directions(&places, &|a, b| a * b <= 6.3e6 && a <= 4.1e3 && b <= 4.1e3);
        assert!(tried as u128 <= exact && exact <= slightly_larger as u128, "{places:?}");
        let sides = Frame::Sides { sides: [mm("4"), mm("1.5")], placed: ANY };
        let exact = count(&places, &sides);
        let tried = by_many_directions(&places, &|a, b| a <= 4.0e3 && b <= 1.5e3);
        let slightly_larger = by_many_directions(&places, &|a, b| a <= 4.1e3 && b <= 1.6e3);
        assert!(tried as u128 <= exact && exact <= slightly_larger as u128, "{places:?}");
        let straight = count(&places, &Frame::Sides { sides: [mm("4"), mm("1.5")], placed: AXES });
        more_when_turned += u32::from(straight < exact);
    }
    // The trials must be able to tell the two placings apart.
    assert!(more_when_turned > 2, "{more_when_turned}");
}

#[test]
fn no_circle_tried_by_hand_holds_more() {
    let mut dice = Dice(5);
    for _ in 0..60 {
        let places: Vec<(i64, i64)> =
            (0..12).map(|_| (dice.roll(50) * 100, dice.roll(50) * 100)).collect();
        let exact = count(&places, &Frame::Circle { diameter: mm("2") });
        let tried = |radius: f64| {
            let mut most = 0;
            for x in 0..100 {
                for y in 0..100 {
                    #[expect(clippy::cast_precision_loss, reason = "small coordinates")]
                    let inside = places
                        .iter()
                        .filter(|p| {
                            (p.0 as f64 - f64::from(x) * 50.0)
                                .hypot(p.1 as f64 - f64::from(y) * 50.0)
                                <= radius
                        })
                        .count();
                    most = most.max(inside);
                }
            }
            most as u128
        };
        assert!(tried(1000.0) <= exact && exact <= tried(1040.0), "{places:?}");
    }
}
