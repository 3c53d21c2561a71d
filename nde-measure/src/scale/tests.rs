mod painted;
mod rules;

use super::*;
use crate::scale::found::encloses;
use painted::{Laid, Painted};

/// Largest error over the card and up to 80 mm around it, in the photo (pixels) and of 10 mm
/// distances (share).
fn errors(painted: &Painted, scale: &Scale) -> (f64, f64) {
    let board = painted.cards[0].design.board();
    let stretch = painted.cards[0].stretch;
    let (mut photo, mut length) = (0.0_f64, 0.0_f64);
    for reach in [0.0, 80.0] {
        for at in board.grown(reach).corners() {
            let there = painted.true_px(at);
            if reach <= 0.0 {
                let found = scale.plane.to_photo([at[0] * stretch[0], at[1] * stretch[1]]);
                photo = photo.max((found[0] - there[0]).hypot(found[1] - there[1]));
            }
            for step in [[10.0, 0.0], [0.0, 10.0]] {
                let beside = painted.true_px([at[0] + step[0], at[1] + step[1]]);
                let (a, b) = (scale.plane.to_part(there), scale.plane.to_part(beside));
                let truth = (step[0] * stretch[0]).hypot(step[1] * stretch[1]);
                length = length.max(((a[0] - b[0]).hypot(a[1] - b[1]) / truth - 1.0).abs());
            }
        }
    }
    (photo, length)
}

/// Also pins the convention: half a pixel off anywhere would be half a pixel here.
#[test]
fn the_card_is_found_at_any_turn_and_tilt() {
    for (i, turn_deg) in [0.0, 37.0, 90.0, 148.0, 225.0, 300.0].into_iter().enumerate() {
        for tilt_deg in [0.0, 30.0, 48.0] {
            let shift_mm = [12.0 * i as f64 - 30.0, 20.0 - 8.0 * i as f64];
            let laid = Laid { tilt_deg, turn_deg, shift_mm, ..Laid::new(CardDesign::standard()) };
            let painted = Painted::with(laid);
            let scale = find(&painted.photo(), &[]).unwrap();
            let card = scale.card.clone().unwrap();
            assert_eq!(card.design.name(), CardName::Standard);
            assert!(card.markers_seen >= 16 && card.corners_kept >= 23, "{card:?}");
            let (photo, length) = errors(&painted, &scale);
            assert!(photo < 0.08, "turn {turn_deg}, tilt {tilt_deg}: corner off by {photo} px");
            assert!(length < 0.002, "turn {turn_deg}, tilt {tilt_deg}: length off by {length}");
            let h = &scale.plane.photo_from_part;
            let pose = Pose::of(h, painted.focal_px, painted.size_px).unwrap();
            let tilt = pose.view(painted.true_px([42.0, 30.0]));
            let sight =
                (shift_mm[0].atan2(300.0).to_degrees(), shift_mm[1].atan2(300.0).to_degrees());
            let allowed = sight.0.abs() + sight.1.abs() + 1.0;
            assert!((tilt.unwrap().tilt_deg - tilt_deg).abs() < allowed, "{tilt:?}");
        }
    }
}

#[test]
fn each_design_is_told_by_its_ids() {
    for (design, distance_mm) in [(CardDesign::small(), 130.0), (CardDesign::large(), 420.0)] {
        let name = design.name();
        let laid = Laid { distance_mm, tilt_deg: 25.0, turn_deg: 200.0, ..Laid::new(design) };
        let painted = Painted::with(laid);
        let scale = find(&painted.photo(), &[ScaleSpec::Card { bars_mm: None }]).unwrap();
        assert_eq!(scale.card.as_ref().unwrap().design.name(), name);
        assert!(errors(&painted, &scale).0 < 0.15);
    }
}

#[test]
fn a_board_of_the_users_own_is_read_with_its_own_sizes() {
    let painted = Painted::with(Laid::new(CardDesign::own(6, 6, 10.0, 7.5).unwrap()));
    let spec: ScaleSpec = "board:6x6,10mm,7.5mm,4x4_50".parse().unwrap();
    let scale = find(&painted.photo(), &[spec]).unwrap();
    let (photo, length) = errors(&painted, &scale);
    assert!(photo < 0.15 && length < 0.003, "{photo} {length}");
    assert!(scale.doubts.is_empty());
}

#[test]
fn sizes_of_a_board_that_contradict_each_other_are_refused_with_what_the_markers_measure() {
    let painted = Painted::with(Laid {
        tilt_deg: 20.0,
        distance_mm: 150.0,
        ..Laid::new(CardDesign::own(6, 6, 10.0, 7.5).unwrap())
    });
    // The same board with squares, or markers, typed a millimetre off. Quads are read a pixel small, of 60.
    for (told, measured) in
        [("11mm,7.5mm", 8.25), ("9mm,7.5mm", 6.75), ("10mm,6.5mm", 7.5), ("10mm,8.5mm", 7.5)]
    {
        let spec: ScaleSpec = format!("board:6x6,{told},4x4_50").parse().unwrap();
        match find(&painted.photo(), &[spec]) {
            Err(ScaleError::NotAsTold { measured_mm, .. }) => {
                assert!((measured_mm / measured - 1.0).abs() < 0.03, "{told}: {measured_mm}");
            }
            other => panic!("{told}: {:?}", other.map(|scale| scale.kind)),
        }
    }
}

#[test]
fn a_partly_covered_card_is_still_measured() {
    let mut painted =
        Painted::with(Laid { tilt_deg: 20.0, turn_deg: 15.0, ..Laid::new(CardDesign::standard()) });
    let [x, y] = painted.true_px([24.0, 18.0]);
    painted.covers = vec![[x - 90.0, y - 80.0, x + 70.0, y + 60.0]];
    let scale = find(&painted.photo(), &[]).unwrap();
    let card = scale.card.clone().unwrap();
    assert!(card.markers_seen < 17 && card.corners_kept < 24, "{card:?}");
    let (photo, length) = errors(&painted, &scale);
    assert!(photo < 0.3 && length < 0.006, "{photo} {length}");
}

#[test]
fn blur_is_measured_from_the_edges_and_no_sharpening_is_imagined() {
    for blur_px in [0.6, 1.2, 2.0] {
        let mut painted =
            Painted::with(Laid { turn_deg: 8.0, ..Laid::new(CardDesign::standard()) });
        painted.blur_px = blur_px;
        let scale = find(&painted.photo(), &[]).unwrap();
        // A pixel is a box of one: it adds a twelfth to the variance.
        let expected = (blur_px * blur_px + 1.0 / 12.0).sqrt();
        let sigma = scale.edge_sigma_px.unwrap();
        assert!((sigma / expected - 1.0).abs() < 0.05, "{sigma} for {expected}");
        assert!(scale.edge_overshoot.unwrap() < 0.05, "{:?}", scale.edge_overshoot);
    }
}

#[test]
fn bar_readings_stretch_the_card_and_settle_the_doubt() {
    let stretch = [0.982, 0.991];
    let painted =
        Painted::with(Laid { stretch, turn_deg: 12.0, ..Laid::new(CardDesign::standard()) });
    let photo = painted.photo();
    let read = find(&photo, &["card:98.2,99.1".parse().unwrap()]).unwrap();
    let (off, length) = errors(&painted, &read);
    assert!(off < 0.15 && length < 0.003, "{off} {length}");
    assert!(read.doubts.is_empty() && read.relative_u < 0.003);
    let unread = find(&photo, &[]).unwrap();
    assert_eq!(unread.doubts, [Doubt::UnverifiedPrint]);
    assert!((unread.own_u - 0.03 / 3.0_f64.sqrt()).abs() < 1e-12);
    assert!(unread.relative_u >= unread.own_u);
    let nonsense = find(&photo, &["card:50,50".parse().unwrap()]).unwrap_err();
    assert!(matches!(nonsense, ScaleError::BarsUnlikely { .. }), "{nonsense}");
}

#[test]
fn white_samples_lie_on_paper_and_the_cover_holds_the_card() {
    let painted =
        Painted::with(Laid { tilt_deg: 30.0, turn_deg: 70.0, ..Laid::new(CardDesign::standard()) });
    let scale = find(&painted.photo(), &[]).unwrap();
    assert!(scale.white_samples_px.len() > 40, "{}", scale.white_samples_px.len());
    let card = CardDesign::standard();
    for sample in &scale.white_samples_px {
        let at = scale.plane.to_part(*sample);
        assert!(card.cut().grown(-1.0).holds(at) && !card.board().grown(1.0).holds(at), "{at:?}");
    }
    for corner in card.cut().corners() {
        assert!(encloses(&scale.covers_px[0], painted.true_px(corner)));
    }
    assert_eq!(scale.distance_mm([42.0, 30.0]), Some(0.0));
    let away = scale.distance_mm([42.0, 144.0]).unwrap();
    assert!((away - 80.0).abs() < 1e-9);
    let grown = scale.relative_u_at([42.0, 144.0]);
    let expected = (scale.own_u.powi(2) + LENS_U_AT_80MM.powi(2)).sqrt();
    assert!((grown / expected - 1.0).abs() < 0.01, "{grown} {expected}");
}

#[test]
fn a_height_is_corrected_and_enters_the_uncertainty() {
    let painted =
        Painted::with(Laid { tilt_deg: 20.0, turn_deg: 30.0, ..Laid::new(CardDesign::standard()) });
    let photo = painted.photo();
    let [w, h] = painted.size_px.map(f64::from);
    let focal_35mm = Some(painted.focal_px * 43.27 / w.hypot(h));
    let spec: ScaleSpec = "card:100,100".parse().unwrap();
    let known = ScaleOptions::default().with_focal_35mm(focal_35mm);
    let at = |height: &str| known.with_height(Some(height.parse().unwrap()));
    let level = find_with(&photo, std::slice::from_ref(&spec), &known).unwrap();
    let raised = find_with(&photo, std::slice::from_ref(&spec), &at("8mm±0.5mm")).unwrap();
    let lowered = find_with(&photo, std::slice::from_ref(&spec), &at("-8mm±0.5mm")).unwrap();
    // The painted card's middle is 300 mm away, tilted by 20 degrees.
    let camera_mm = 300.0 * 20.0_f64.to_radians().cos();
    let ends = [painted.true_px([0.0, 0.0]), painted.true_px([84.0, 60.0])];
    let length = |scale: &Scale| {
        let [a, b] = ends.map(|e| scale.plane.to_part(e));
        (a[0] - b[0]).hypot(a[1] - b[1])
    };
    let (higher, lower) = (length(&raised) / length(&level), length(&lowered) / length(&level));
    assert!((higher - (camera_mm - 8.0) / camera_mm).abs() < 2e-4, "{higher}");
    assert!((lower - (camera_mm + 8.0) / camera_mm).abs() < 2e-4, "{lower}");
    let own: f64 = 0.5 / 3.0_f64.sqrt() / (camera_mm - 8.0);
    // What a focal length that is 4 % longer really does to the length.
    let off = at("8mm±0.5mm").with_focal_35mm(focal_35mm.map(|f| 1.04 * f));
    let off = find_with(&photo, std::slice::from_ref(&spec), &off).unwrap();
    let focal = (length(&off) / length(&raised) - 1.0).abs();
    let term = |name: &str| {
        let found = raised.terms.iter().find(|t| t.name == name);
        found.unwrap_or_else(|| panic!("{:?}", raised.terms)).contribution()
    };
    assert!((term("height of the surface") / own - 1.0).abs() < 0.01);
    assert!((term("focal length") / focal - 1.0).abs() < 0.1, "{} {focal}", term("focal length"));
    assert!(raised.doubts.is_empty() && raised.height.is_some());

    let said = find_with(&photo, &[spec], &at("250mm")).unwrap_err().to_string();
    assert!(said.contains("check the height and its sign"), "{said}");
}

#[test]
fn without_lens_data_a_height_is_a_doubt_and_costs_more() {
    let photo = Painted::with(Laid::new(CardDesign::standard())).photo();
    let spec: ScaleSpec = "card:100,100".parse().unwrap();
    let options = ScaleOptions::default().with_height(Some("8mm".parse().unwrap()));
    let unsure = find_with(&photo, std::slice::from_ref(&spec), &options).unwrap();
    let sure = find_with(&photo, &[spec], &options.with_focal_35mm(Some(26.0))).unwrap();
    assert_eq!(unsure.doubts, [Doubt::FocalAssumed { focal_35mm: 26.0 }]);
    assert!(unsure.relative_u > 1.5 * sure.relative_u, "{} {}", unsure.relative_u, sure.relative_u);
}

#[test]
fn a_photo_that_was_cut_or_shrunk_says_nothing_of_its_lens() {
    let mut stamp = crate::photo::Stamp::default();
    (stamp.focal_35mm, stamp.size_px) = (Some(52.0), Some([4000, 3000]));
    let photo = Painted::with(Laid::new(CardDesign::standard())).photo().with_stamp(stamp);
    let changed = find(&photo, &["card:100,100".parse().unwrap()]).unwrap();
    let said = Doubt::PhotoChanged { stamped_px: Some([4000, 3000]), size_px: [1600, 1200] };
    assert_eq!(changed.doubts, [said]);
    assert_eq!(changed.focal, Some(Focal::Typical(TYPICAL_FOCAL_35MM)));
    stamp.size_px = Some([1200, 1600]);
    let whole = find(&photo.with_stamp(stamp), &["card:100,100".parse().unwrap()]).unwrap();
    assert_eq!(whole.focal, Some(Focal::Stated(52.0)));
    assert!(whole.doubts.is_empty());
}

fn two(first: CardDesign, second: CardDesign) -> Painted {
    let at = |design, x: f64, turn_deg| Laid { turn_deg, shift_mm: [x, 0.0], ..Laid::new(design) };
    let mut painted = Painted::with(at(first, -70.0, 10.0));
    painted.cards.push(at(second, 80.0, 200.0));
    painted
}

/// The true place of a card's own place, in the frame of the first card; both lie in one plane.
fn in_first(painted: &Painted, card: usize, at: PointMm) -> PointMm {
    let [first, other] =
        [0, card].map(|i| painted.cards[i].photo_from_design(painted.focal_px, painted.size_px));
    painted::moved(&(first.try_inverse().unwrap() * other), at)
}

#[test]
fn two_cards_are_both_found_in_one_frame_and_the_nearer_one_is_used() {
    for second in [CardDesign::small(), CardDesign::standard()] {
        let painted = two(CardDesign::standard(), second.clone());
        let scale = find(&painted.photo(), &[]).unwrap();
        let [other] = &scale.others[..] else { panic!("{} further cards", scale.others.len()) };
        assert_eq!(scale.covers_px.len(), 2);
        // Of two alike the one that shows more comes first: look it up by its place.
        let centre = [second.board().width_mm / 2.0, second.board().height_mm / 2.0];
        let h = painted.cards[1].photo_from_design(painted.focal_px, painted.size_px);
        let there = painted::moved(&h, centre);
        let near = scale.nearest(there);
        assert_eq!(near.card.as_ref().unwrap().design.name(), second.name());
        assert!(near.distance_mm(near.plane.to_part(there)) == Some(0.0));
        if std::ptr::eq(near, other) {
            let off = |scale: &Scale| {
                let (found, truth) = (scale.plane.to_part(there), in_first(&painted, 1, centre));
                (found[0] - truth[0]).hypot(found[1] - truth[1])
            };
            assert!(off(&scale) < 0.15 && off(other) < 0.15, "{} {}", off(&scale), off(other));
        }
    }
}

#[test]
fn bar_readings_go_to_the_card_whose_bars_they_are() {
    let painted = two(CardDesign::standard(), CardDesign::small());
    let scale = find(&painted.photo(), &["card:50,50".parse().unwrap()]).unwrap();
    assert_eq!(scale.card.as_ref().unwrap().design.name(), CardName::Small);
    assert!(scale.doubts.is_empty());
    assert_eq!(scale.others[0].doubts, [Doubt::UnverifiedPrint]);
}

#[test]
fn refusals_say_what_was_seen() {
    let mut painted = Painted::with(Laid::new(CardDesign::standard()));
    let [x, y] = painted.true_px([84.0, 60.0]);
    // All but the left column of squares and a half.
    let [left, _] = painted.true_px([20.0, 0.0]);
    painted.covers = vec![[left, 0.0, x + 200.0, y + 400.0]];
    let said = find(&painted.photo(), &[]).unwrap_err().to_string();
    assert!(said.contains("markers"), "{said}");
    for way in [" ticks:1mm", " points:X1,Y1,X2,Y2=50mm", " pitch:0.083mm"] {
        assert!(said.contains(way), "{said}");
    }

    // Enough markers to know the card, and everything else of it burnt out.
    let painted = Painted::with(Laid::new(CardDesign::standard()));
    let mut picture = painted.photo().rgb().clone();
    let [split, _] = painted.true_px([25.0, 0.0]);
    for (x, _, pixel) in picture.enumerate_pixels_mut() {
        if f64::from(x) > split {
            pixel.0 = [255; 3];
        }
    }
    let said = find(&Photo::from_rgb(picture), &[]).unwrap_err().to_string();
    assert!(said.contains("of 17 markers seen (") && said.contains("under glare"), "{said}");

    let plain = Photo::from_rgb(image::RgbImage::from_pixel(900, 700, image::Rgb([180; 3])));
    let said = find(&plain, &[]).unwrap_err().to_string();
    assert!(said.contains("no marker could be read"), "{said}");
    for (width, height) in [(1, 1), (3, 200), (300, 200)] {
        let tiny =
            Photo::from_rgb(image::RgbImage::from_pixel(width, height, image::Rgb([180; 3])));
        let said = find(&tiny, &[]).unwrap_err().to_string();
        assert!(said.contains("too small"), "{said}");
    }
}

#[test]
fn unclear_wishes_are_refused() {
    let plain = Photo::from_rgb(image::RgbImage::from_pixel(900, 700, image::Rgb([180; 3])));
    let wish = |texts: &[&str]| {
        let specs: Vec<ScaleSpec> = texts.iter().map(|t| t.parse().unwrap()).collect();
        find(&plain, &specs)
    };
    assert!(matches!(wish(&["card", "pitch:0.1mm"]), Err(ScaleError::SeveralKinds { .. })));
    assert!(matches!(wish(&["pitch:0.1mm", "pitch:0.2mm"]), Err(ScaleError::Repeated { .. })));
    let both = ["points:100,100,600,100=50mm", "points:100,102,600,99=50mm"];
    assert_eq!(wish(&both).unwrap().kind, ScaleKind::Points);
    let pitch = wish(&["pitch:0.1mm"]).unwrap();
    assert_eq!(pitch.distance_mm([3.0, 4.0]), None);
    assert!((pitch.relative_u_at([3.0, 4.0]) - pitch.relative_u).abs() < 1e-15);
}
