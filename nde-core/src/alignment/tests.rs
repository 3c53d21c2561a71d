use super::*;
use crate::place::{Place, Point};

fn dot(x_um: i64, y_um: i64, diameter_um: u64) -> Ground {
    let centre = Point { x_nm: x_um * 1000, y_nm: y_um * 1000 };
    let size = Length::from_um(diameter_um);
    Ground::new(&Place::Stadium { centre, angle_udeg: 0, length: size, width: size }).unwrap()
}

fn rows(grounds: &[Ground], count: usize, gap_um: u64, strip_um: u64) -> Rows {
    let refs: Vec<&Ground> = grounds.iter().collect();
    let gap = Length::from_um(gap_um);
    let near = |a: usize, b: usize| refs[a].compare_gap(refs[b], gap).is_le();
    let row = Row { count, strip: Length::from_um(strip_um), effort: 300_000 };
    find_rows(&refs, row, gap, &near)
}

#[test]
fn a_line_that_only_just_touches_is_a_row() {
    // Three of 2 mm: the middle one stands aside by two radii and two, exactly tangent.
    let at = |aside: i64| [dot(0, 0, 2000), dot(2500, aside, 2000), dot(5000, 0, 2000)];
    assert_eq!(rows(&at(2000), 3, 1500, 0).rows, [[0, 1, 2]]);
    assert!(rows(&at(2001), 3, 1500, 0).rows.is_empty());
    // A strip 1 mm wide lets it stand aside by as much more.
    assert_eq!(rows(&at(3000), 3, 2000, 1000).rows, [[0, 1, 2]]);
    assert!(rows(&at(3001), 3, 2000, 1000).rows.is_empty());
}

#[test]
fn tangents_of_unequal_dots_at_an_angle_are_exact_too() {
    // Along the direction (3, 4)/5, aside along (-4, 3)/5: radii 1 mm and 0.5 mm, the middle one aside
    // by 1 + 0.5 from the line of the outer ones' outer edges: centres 1.5 mm apart across.
    let along =
        |k: i64, aside: i64, d: u64| dot((3 * k - 4 * aside) / 5, (4 * k + 3 * aside) / 5, d);
    let at = |aside: i64| [along(0, 0, 2000), along(2000, aside, 1000), along(4000, 0, 2000)];
    assert_eq!(rows(&at(1500), 3, 1000, 0).rows, [[0, 1, 2]]);
    assert!(rows(&at(1505), 3, 1000, 0).rows.is_empty());
}

#[test]
fn outlines_are_touched_at_their_corners() {
    let square = |x: f64, y: f64| {
        let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)];
        let points = corners.iter().map(|(a, b)| Point::from_mm(x + a, y + b)).collect();
        Ground::new(&Place::Outline(points)).unwrap()
    };
    assert_eq!(rows(&[square(0., 0.), square(1.5, 1.0), square(3., 0.)], 3, 1000, 0).rows.len(), 1);
    let past = [square(0., 0.), square(1.5, 1.000_001), square(3., 0.)];
    assert!(rows(&past, 3, 1000, 0).rows.is_empty());
}

#[test]
fn a_longer_row_is_told_in_full_and_a_break_ends_it() {
    let line: Vec<Ground> =
        (0..9).map(|k| dot(k * 3000 + i64::from(k > 5) * 1000, 0, 2000)).collect();
    let found = rows(&line, 4, 1500, 0);
    assert!(found.complete);
    assert_eq!(found.rows, [[0, 1, 2, 3, 4, 5]]);
}

/// A small generator, so that the trials are the same everywhere.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: u64) -> i64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from((self.0 >> 33) % below).unwrap()
    }
}

/// Members of rows, by laying a strip in many directions and at many offsets.
fn by_many_lines(dots: &[(i64, i64, i64)], count: usize, gap: f64, strip: f64) -> Vec<bool> {
    let mut in_row = vec![false; dots.len()];
    #[expect(clippy::cast_precision_loss, reason = "small coordinates")]
    let dots: Vec<(f64, f64, f64)> =
        dots.iter().map(|(x, y, d)| (*x as f64, *y as f64, *d as f64 / 2.0)).collect();
    for step in 0..720 {
        let (sin, cos) = (f64::from(step) * 0.25).to_radians().sin_cos();
        let across: Vec<f64> = dots.iter().map(|(x, y, _)| y * cos - x * sin).collect();
        let edges = across.iter().zip(&dots).flat_map(|(a, d)| [a - d.2, a + d.2]);
        for line in edges.collect::<Vec<_>>() {
            let touched: Vec<usize> = (0..dots.len())
                .filter(|i| (across[*i] - line).abs() <= dots[*i].2 + strip / 2.0)
                .collect();
            let mut left = touched.clone();
            while let Some(start) = left.pop() {
                let mut linked = vec![start];
                let mut at = 0;
                while at < linked.len() {
                    let p = dots[linked[at]];
                    left.retain(|i| {
                        let q = dots[*i];
                        let near = (p.0 - q.0).hypot(p.1 - q.1) - p.2 - q.2 <= gap;
                        if near {
                            linked.push(*i);
                        }
                        !near
                    });
                    at += 1;
                }
                if linked.len() >= count {
                    linked.iter().for_each(|i| in_row[*i] = true);
                }
            }
        }
    }
    in_row
}

#[test]
fn no_line_laid_by_hand_finds_another_row() {
    let mut dice = Dice(3);
    let (mut some, mut none) = (0, 0);
    for _ in 0..60 {
        let dots: Vec<(i64, i64, i64)> = (0..10)
            .map(|_| (dice.roll(120) * 100, dice.roll(120) * 100, 1000 + dice.roll(15) * 100))
            .collect();
        let grounds: Vec<Ground> =
            dots.iter().map(|(x, y, d)| dot(*x, *y, d.unsigned_abs())).collect();
        let found = rows(&grounds, 4, 1500, 0);
        let mut exact = vec![false; dots.len()];
        found.rows.iter().flatten().for_each(|i| exact[*i] = true);
        // Lines laid by hand miss a few; a strip a little wide misses none.
        let fewer = by_many_lines(&dots, 4, 1500.0, -20.0);
        let more = by_many_lines(&dots, 4, 1500.0, 40.0);
        for i in 0..dots.len() {
            assert!(!fewer[i] || exact[i], "{dots:?}");
            assert!(!exact[i] || more[i], "{dots:?}");
        }
        if found.rows.is_empty() { none += 1 } else { some += 1 }
    }
    assert!(some > 5 && none > 5, "{some} {none}");
}

#[test]
fn thick_fields_end_in_bounded_time() {
    // Hundreds of one place are one row; of a wide field in which everything is near everything, no row
    // of forty can be excluded, and that is said.
    let heap: Vec<Ground> = (0..300).map(|_| dot(0, 0, 2000)).collect();
    assert_eq!(rows(&heap, 4, 1500, 0).rows, [(0..300).collect::<Vec<_>>()]);
    let mut dice = Dice(9);
    let field: Vec<Ground> =
        (0..400).map(|_| dot(dice.roll(1_000_000), dice.roll(1_000_000), 10)).collect();
    let found = rows(&field, 40, 10_000_000, 0);
    assert!(found.rows.is_empty() && !found.complete);
}
