pub(crate) mod painted;

use super::*;
use crate::scale::plane::area_ratio;
use nalgebra::Vector3;
use painted::{Graduation, Painted};

const MILLIMETRES: Asked<'static> = Asked {
    stated: TickPitch::Millimetre,
    within_px: &[],
    focal_px: 800.0,
    focal_known: FocalKnown::Told,
    told_at_mm: [20.0, 80.0],
};

fn read(painted: &Painted, stated: TickPitch) -> Result<Ruled, ScaleError> {
    let asked = Asked { stated, focal_px: painted.focal_px, ..MILLIMETRES };
    find(&Photo::from_rgb(painted.photo()), &asked)
}

/// Worst error of a 10 mm distance along and across, near the middle of the rule and so far off it.
fn worst_error(painted: &Painted, ruled: &Ruled, off_mm: f64) -> f64 {
    let photo = |x: f64, y: f64| painted.to_photo([x, y]);
    let (x, y) = (painted.length_mm / 2.0, painted.width_mm / 2.0);
    let mut worst = 0.0_f64;
    for y in [y - off_mm, y + off_mm] {
        for d in [[5.0, 0.0], [0.0, 5.0]] {
            let [a, b] =
                [-1.0, 1.0].map(|s| ruled.plane.to_part(photo(x + s * d[0], y + s * d[1])));
            worst = worst.max(((a[0] - b[0]).hypot(a[1] - b[1]) / 10.0 - 1.0).abs());
        }
    }
    worst
}

#[test]
fn a_rule_is_read_at_any_turn_and_tilt() {
    for (turn_deg, tilt_deg, tilt_towards_deg) in
        [(3.0, 0.0, 0.0), (95.0, 20.0, 40.0), (186.0, 28.0, 100.0), (312.0, 15.0, 310.0)]
    {
        let painted = Painted { turn_deg, tilt_deg, tilt_towards_deg, ..Painted::default() };
        let painted = if turn_deg > 90.0 && turn_deg < 100.0 {
            Painted { size_px: [700, 1100], ..painted }
        } else {
            painted
        };
        for stated in [TickPitch::Millimetre, TickPitch::HalfMillimetre] {
            let ruled = read(&painted, stated).unwrap();
            let here = worst_error(&painted, &ruled, 0.0);
            // The focal length told is exact here, but is taken as good to 4 %, and what the ticks tell
            // of it counts as well: one per cent of it is 0.3 % across the rule at 28 degrees.
            let focal_off = (ruled.focal_px / painted.focal_px - 1.0).abs();
            let across = focal_off * f64::to_radians(tilt_deg).tan().powi(2);
            assert!(focal_off < 0.04, "{stated:?}, turn {turn_deg}, tilt {tilt_deg}: {focal_off}");
            assert!(here < 0.001 + across, "{stated:?}, turn {turn_deg}, tilt {tilt_deg}: {here}");
            let away = worst_error(&painted, &ruled, 60.0);
            assert!(away < 0.006, "{stated:?}, turn {turn_deg}, tilt {tilt_deg}: {away} at 60 mm");
        }
    }
}

/// A plane alone would be off by a per cent and more beside this rule: the lens draws its ends 3 px outwards.
#[test]
fn what_a_lens_bends_is_read_with_the_rule() {
    for k1 in [-0.03, 0.03] {
        let painted = Painted {
            k1,
            turn_deg: 20.0,
            tilt_deg: 12.0,
            tilt_towards_deg: 60.0,
            ..Painted::default()
        };
        let ruled = read(&painted, TickPitch::Millimetre).unwrap();
        let read = ruled.plane.bend.unwrap().per_px2 * painted.focal_px.powi(2);
        assert!((read - k1).abs() < 0.005, "{read} for {k1}");
        for off_mm in [0.0, 30.0] {
            let off = worst_error(&painted, &ruled, off_mm);
            assert!(off < 0.002, "{off} with {k1}, {off_mm} mm from the middle");
        }
        assert!(ruled.fit_u[0] < 0.005, "{:?}", ruled.fit_u);
    }
}

/// A row's own edge may be read a little off; the edge on the other side of the rule knows better.
#[test]
fn every_edge_of_a_rule_tells_its_focal_length() {
    let painted = Painted { tilt_deg: 30.0, tilt_towards_deg: 45.0, ..Painted::default() };
    let photo = Photo::from_rgb(painted.photo());
    let grey = Grey::reduced(&photo, 1);
    let focal_px = 1.3 * painted.focal_px;
    let asked = Asked { focal_px, focal_known: FocalKnown::Unknown, ..MILLIMETRES };
    let lens = Lens::of(&asked, 1.0, painted.size_px);
    let mut numbered: Vec<Numbered<'_>> = rows::find(&grey, &[], MOST_ROWS)
        .iter()
        .filter_map(|row| Numbered::read(&grey, row, lens.optics()).ok())
        .collect();
    let read = |row: &Numbered<'_>| confirm(row, &lens, TickPitch::Millimetre).ok();
    let (best, graduated) =
        numbered.iter().enumerate().find_map(|(i, row)| Some((i, read(row)?))).unwrap();
    let (map, on_the_rule, _) = with_the_other_edge(&numbered, best, graduated);
    let edges = on_the_rule.iter().filter(|i| numbered[**i].edge.is_some()).count();
    assert!(on_the_rule[0] == best && edges >= 2, "{on_the_rule:?}");
    let off = |numbered: &[Numbered<'_>], rows: &[usize]| {
        let rows: Vec<&Numbered<'_>> = rows.iter().map(|i| &numbered[*i]).collect();
        let ruled = ruled(&map, &rows, &lens, graduated).unwrap();
        (ruled.focal_px / painted.focal_px).ln().abs()
    };
    assert!(off(&numbered, &on_the_rule) < 0.05);
    let edge = numbered[best].edge.as_mut().unwrap();
    (edge.slope, edge.slope_u) = (edge.slope + 0.04, 0.02);
    assert!(off(&numbered, &[best]) > 0.1, "{}", off(&numbered, &[best]));
    let all = off(&numbered, &on_the_rule);
    assert!(all < 0.05, "{all}");
}

#[test]
fn the_frame_lies_on_the_rule_and_is_seen_as_in_the_photo() {
    let painted = Painted { turn_deg: 184.0, ..Painted::default() };
    let ruled = read(&painted, TickPitch::Millimetre).unwrap();
    let [a, b] = ruled.ends_mm;
    assert!(a[1].abs() < 0.5 && b[1].abs() < 0.5, "{a:?} {b:?}");
    assert!((b[0] - a[0]).abs() > 72.0, "{a:?} {b:?}");
    assert!(area_ratio(&ruled.plane.part_from_photo, [550.0, 350.0]) > 0.0);
    // What it covers holds the rule's ticks to both edges and not much more.
    let back = painted.photo_from_part().try_inverse().unwrap();
    for corner in ruled.covers_mm {
        let [x, y] = ruled.plane.to_photo(corner);
        let v = back * Vector3::new(x, y, 1.0);
        let (x, y) = (v[0] / v[2], v[1] / v[2]);
        assert!(x.min(painted.length_mm - x) < 0.5 && x.min(painted.length_mm - x) > -6.0, "{x}");
        assert!(y.min(painted.width_mm - y) < 0.5 && y.min(painted.width_mm - y) > -6.0, "{y}");
    }
    // A longest tick is the origin.
    let [x, y] = ruled.plane.to_photo([0.0, 0.0]);
    let v = back * Vector3::new(x, y, 1.0);
    let from_zero = v[0] / v[2] - 2.0;
    assert!((from_zero / 10.0 - (from_zero / 10.0).round()).abs() < 0.01, "{from_zero}");
}

#[test]
fn a_graduation_that_is_not_there_is_refused() {
    use Graduation::{Millimetre, SixtyFourth, ThirtySecond};
    let (mm, half) = (TickPitch::Millimetre, TickPitch::HalfMillimetre);
    let fine = TickPitch::InchThirtySecond;
    for (rows, stated, fact) in [
        ([ThirtySecond, ThirtySecond], mm, "a rule of 32nds of an inch); say ticks:1/32in"),
        ([ThirtySecond, SixtyFourth], half, "of an inch); say ticks:1/"),
        ([Millimetre, Millimetre], half, "a millimetre rule); say ticks:1mm"),
        ([Millimetre, Millimetre], fine, "repeat every 10, not every 32"),
    ] {
        // 14 px/mm: nothing is lost to blur.
        let painted = Painted { rows, distance_mm: 93.0, ..Painted::default() };
        let said = read(&painted, stated).unwrap_err().to_string();
        assert!(said.contains("ticks in a row are seen, but"), "{rows:?} as {stated:?}: {said}");
        assert!(said.contains(fact), "{rows:?} as {stated:?}: {said}");
    }
}

/// Lengths along the rule would be right in such a photo, those across it not.
#[test]
fn a_rule_that_no_camera_sees_so_is_refused_with_what_to_do() {
    let rows = [Graduation::Millimetre, Graduation::HalfMillimetre];
    let straight = Painted { rows, ..Painted::default() }.photo();
    let (width, height) = straight.dimensions();
    let leaning = image::RgbImage::from_fn(width, height, |x, y| {
        let from = f64::from(x) - 0.06 * (f64::from(y) - f64::from(height) / 2.0);
        let from = from.clamp(0.0, f64::from(width) - 2.0);
        let [a, b] = [0, 1].map(|k| straight.get_pixel(from as u32 + k, y).0);
        let share = from.fract();
        image::Rgb(
            [0, 1, 2]
                .map(|k| (f64::from(a[k]) * (1.0 - share) + f64::from(b[k]) * share).round() as u8),
        )
    });
    let asked = Asked { focal_px: Painted::default().focal_px, ..MILLIMETRES };
    let said = find(&Photo::from_rgb(leaning), &asked).unwrap_err().to_string();
    // Of the row that was asked for, though the other edge has twice as many ticks.
    assert!(said.contains("they do not stand square to their row"), "{said}");
    assert!(said.contains("neither cropped nor straightened") && !said.contains("say "), "{said}");
}

/// The ticks of a coarser graduation are there on a finer rule and may be read; but never as what they are not.
#[test]
fn whatever_is_asked_of_whatever_rule_no_wrong_pitch_is_read() {
    use Graduation::{HalfMillimetre, Millimetre, SixtyFourth, ThirtySecond};
    let mut read_right = 0;
    for row in [Millimetre, HalfMillimetre, ThirtySecond, SixtyFourth] {
        let painted = Painted { rows: [row, row], turn_deg: 183.0, ..Painted::default() };
        for stated in [
            TickPitch::Millimetre,
            TickPitch::HalfMillimetre,
            TickPitch::InchSixteenth,
            TickPitch::InchThirtySecond,
            TickPitch::InchSixtyFourth,
        ] {
            if let Ok(ruled) = read(&painted, stated) {
                let here = worst_error(&painted, &ruled, 0.0);
                assert!(here < 0.002, "{row:?} as {stated:?}: {here}");
                read_right += usize::from((row.pitch_mm() - stated.mm()).abs() < 1e-9);
            }
        }
    }
    assert_eq!(read_right, 4);
}

#[test]
fn the_row_that_matches_is_read() {
    use Graduation::{Millimetre, SixtyFourth, ThirtySecond};
    for (rows, stated) in [
        ([Millimetre, ThirtySecond], TickPitch::InchThirtySecond),
        ([ThirtySecond, Millimetre], TickPitch::Millimetre),
        ([Millimetre, SixtyFourth], TickPitch::InchSixtyFourth),
    ] {
        let painted =
            Painted { rows, tilt_deg: 15.0, tilt_towards_deg: 70.0, ..Painted::default() };
        let ruled = read(&painted, stated).unwrap();
        let here = worst_error(&painted, &ruled, 0.0);
        assert!(here < 0.001, "{rows:?} as {stated:?}: {here}");
    }
}

#[test]
fn only_within_the_outline_is_looked() {
    let painted = Painted::default();
    let photo = Photo::from_rgb(painted.photo());
    let asked = Asked { focal_px: painted.focal_px, ..MILLIMETRES };
    let corner = [[0.0, 0.0], [150.0, 0.0], [150.0, 90.0], [0.0, 90.0]];
    let said = find(&photo, &Asked { within_px: &corner, ..asked }).unwrap_err().to_string();
    assert!(said.contains("no row of ticks is seen"), "{said}");
    let round = [[0.0, 100.0], [1100.0, 100.0], [1100.0, 690.0], [0.0, 690.0]];
    assert!(find(&photo, &Asked { within_px: &round, ..asked }).is_ok());
}

#[test]
fn glare_over_part_of_the_rule_leaves_the_rest_readable() {
    let painted = Painted { glare: [600.0, 350.0, 110.0], ..Painted::default() };
    let ruled = read(&painted, TickPitch::Millimetre).unwrap();
    let here = worst_error(&painted, &ruled, 0.0);
    assert!(here < 0.002, "{here}");
}

#[test]
fn the_other_edge_is_found_by_the_row_that_was_read() {
    let painted = Painted { tilt_deg: 12.0, ..Painted::default() };
    // Rows are looked for in the upper half of the photo only: there is one.
    let upper = [[0.0, 0.0], [1100.0, 0.0], [1100.0, 350.0], [0.0, 350.0]];
    let asked = Asked { within_px: &upper, focal_px: painted.focal_px, ..MILLIMETRES };
    let ruled = find(&Photo::from_rgb(painted.photo()), &asked).unwrap();
    let all = ruled.covers_mm.map(|[_, y]| y);
    let across =
        all.iter().fold(f64::MIN, |a, b| a.max(*b)) - all.iter().fold(f64::MAX, |a, b| a.min(*b));
    // One row alone: its longest ticks, 6 mm, and 4 mm more to each side.
    assert!(across > painted.width_mm && across > 15.0, "{across}");
    let beside = worst_error(&painted, &ruled, 20.0);
    assert!(beside < 0.005, "{beside}");
}

#[test]
fn without_a_rule_nothing_is_read() {
    let plain = Photo::from_rgb(image::RgbImage::from_pixel(900, 700, image::Rgb([180; 3])));
    let said = find(&plain, &MILLIMETRES).unwrap_err().to_string();
    assert!(said.contains("no row of ticks is seen"), "{said}");
    // Stripes of one length repeat, and are no graduation.
    let stripes = Photo::from_rgb(image::RgbImage::from_fn(900, 700, |x, y| {
        let dark = x % 9 < 2 && (300..340).contains(&y);
        image::Rgb([if dark { 40 } else { 190 }; 3])
    }));
    let said = find(&stripes, &MILLIMETRES).unwrap_err().to_string();
    assert!(said.contains("no pattern of longer ticks"), "{said}");
    for size in [(0, 0), (1, 1), (30, 3000)] {
        let tiny = Photo::from_rgb(image::RgbImage::new(size.0, size.1));
        assert!(find(&tiny, &MILLIMETRES).is_err());
    }
}
