use super::*;

fn stadium(x: &str, y_mm: f64, angle: i64, length: &str, width: &str) -> Ground {
    let x = Length::parse_mm(x).unwrap();
    let centre =
        Point { x_nm: i64::try_from(x.nm()).unwrap(), y_nm: Point::from_mm(0.0, y_mm).y_nm };
    let (length, width) = (Length::parse_mm(length).unwrap(), Length::parse_mm(width).unwrap());
    Ground::new(&Place::Stadium { centre, angle_udeg: angle * 1_000_000, length, width }).unwrap()
}

fn outline(points: &[(f64, f64)]) -> Ground {
    Ground::new(&Place::Outline(points.iter().map(|(x, y)| Point::from_mm(*x, *y)).collect()))
        .unwrap()
}

#[test]
fn stadium_gaps_are_exact_to_the_nanometre() {
    let a = stadium("0", 0.0, 0, "2", "2");
    for (x, order) in
        [("3.5", Ordering::Equal), ("3.500001", Ordering::Greater), ("3.499999", Ordering::Less)]
    {
        let b = stadium(x, 0.0, 0, "2", "2");
        assert_eq!(a.compare_gap(&b, Length::from_um(1500)), order, "{x}");
    }
    // 3-4-5: centres 5 mm apart across the axes, radii 1 mm: the gap is 3 mm exactly.
    let c = stadium("3", 4.0, 0, "2", "2");
    assert_eq!(a.compare_gap(&c, Length::from_um(3000)), Ordering::Equal);
    assert_eq!(a.compare_gap(&c, Length::from_nm(2_999_999)), Ordering::Greater);
    assert_eq!(a.gap(&c), Length::from_um(3000));
}

#[test]
fn long_stadiums_end_at_their_length() {
    // 6 x 1 along x and along y: tip to side.
    let flat = stadium("0", 0.0, 0, "6", "1");
    let tall = stadium("5", 0.0, 90, "6", "1");
    assert_eq!(flat.compare_gap(&tall, Length::from_um(1500)), Ordering::Equal);
    assert_eq!(flat.extent(), Length::from_um(6000));
    // At an angle each end is rounded to the half-nanometre.
    assert!(stadium("0", 0.0, 45, "6", "1").extent().nm().abs_diff(6_000_000) <= 1);
}

#[test]
fn overlap_is_a_gap_of_zero() {
    let a = stadium("0", 0.0, 0, "2", "2");
    let b = stadium("1", 0.0, 0, "2", "2");
    assert_eq!(a.gap(&b), Length::ZERO);
    assert_eq!(a.compare_gap(&b, Length::ZERO), Ordering::Equal);
    let square = outline(&[(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)]);
    assert_eq!(square.gap(&a), Length::ZERO);
    assert_eq!(square.compare_gap(&a, Length::from_um(1)), Ordering::Less);
}

#[test]
fn outlines_measure_edge_to_edge_not_hull_to_hull() {
    // A U-shape around a small square: 1 mm to its walls although its hull covers the square.
    let u = outline(&[
        (0.0, 0.0),
        (10.0, 0.0),
        (10.0, 10.0),
        (8.0, 10.0),
        (8.0, 2.0),
        (2.0, 2.0),
        (2.0, 10.0),
        (0.0, 10.0),
    ]);
    let square = outline(&[(3.0, 5.0), (6.0, 5.0), (6.0, 8.0), (3.0, 8.0)]);
    assert_eq!(u.gap(&square), Length::from_um(1000));
    assert_eq!(u.compare_gap(&square, Length::from_um(1000)), Ordering::Equal);
    assert_eq!(u.hull().len(), 4);
}

#[test]
fn places_too_far_away_are_refused() {
    let far = Place::Outline(vec![Point { x_nm: 200_000_000_000, y_nm: 0 }]);
    assert!(Ground::new(&far).is_none());
    assert!(Ground::new(&Place::Outline(vec![])).is_none());
}

#[test]
fn a_union_spans_its_parts() {
    let (a, b) = (stadium("0", 0.0, 0, "3", "0.5"), stadium("4.4", 0.0, 0, "2", "0.5"));
    assert_eq!(Ground::union([&a, &b]).extent(), Length::from_um(6900));
    assert_eq!(Ground::union([&a, &b]).middle(), [4_400_000, 0]);
}

#[test]
fn middles_and_areas_are_those_of_the_shape() {
    let square = outline(&[(1.0, 1.0), (3.0, 1.0), (3.0, 3.0), (1.0, 3.0)]);
    assert_eq!(square.middle(), [4_000_000, 4_000_000]);
    assert_eq!(square.area_nm2(), 4_000_000_000_000);
    // 2 x 1 rectangle and a circle of diameter 1: 2 + pi / 4 = 2.785398 mm2.
    let stadium = stadium("5", 2.0, 30, "3", "1");
    // Its ends are rounded to the half-nanometre.
    assert!(stadium.area_nm2().abs_diff(2_785_398_163_397) < 2_000_000);
    assert_eq!(stadium.middle(), [10_000_000, 4_000_000]);
}
