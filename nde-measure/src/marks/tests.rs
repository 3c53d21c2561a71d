use super::*;
use crate::{Coat, PointMm, Resolution, ScaleSpec, Seen, scale};
use nde_core::{Indication, Length, Measured, Relevance};

const RED: Rgb<u8> = Rgb([200, 30, 60]);
const WHITE: Rgb<u8> = Rgb([236, 236, 234]);

/// A white picture with red bars, measured by hand at 0.1 mm a pixel.
fn scene(width: u32, height: u32, bars: &[[f64; 4]]) -> (Photo, Measurement) {
    let mut rgb = RgbImage::from_pixel(width, height, WHITE);
    for [left, top, right, bottom] in bars {
        ink::block(&mut rgb, [*left, *top], [right - left, bottom - top], RED, 1.0);
    }
    let seen = |(n, bar): (usize, &[f64; 4])| {
        let [left, top, right, bottom] = *bar;
        let middle: PointMm = [(left + right) / 20.0, (top + bottom) / 20.0];
        let size = |px: f64| Measured::exact(Length::from_mm(px / 10.0).unwrap());
        Seen {
            indication: Indication {
                id: (n + 1).to_string(),
                length: size(right - left),
                width: size(bottom - top),
                path: None,
                edge_shift: None,
                place: None,
                given_shape: None,
                relevance: Relevance::NotYetCalled,
                label: None,
                doubts: Vec::new(),
            },
            outline_px: outline(bar),
            centroid_px: [middle[0] * 10.0, middle[1] * 10.0],
            centroid_mm: middle,
            angle_deg: 0.0,
            area_mm2: (right - left) * (bottom - top) / 100.0,
            feret_mm: (right - left) / 10.0,
            path_mm: (right - left) / 10.0,
            visible_mm: (right - left) / 10.0,
            seen_width_mm: 0.52,
            mean_width_mm: (bottom - top) / 10.0,
            contrast: 0.6,
            colour_direction: 0.2,
            tilt_deg: None,
            length_terms: crate::LengthTerms::default(),
        }
    };
    let size = [f64::from(width), f64::from(height)];
    let photo = Photo::from_rgb(rgb);
    let scale =
        scale::find(&photo, &[ScaleSpec::Pitch { mm_per_px: 0.1 }]).expect("a pitch is enough");
    let measurement = Measurement {
        size_px: [width, height],
        scale,
        coat: Coat {
            outlines_px: vec![outline(&[2.0, 2.0, size[0] - 2.0, size[1] - 2.0])],
            area_mm2: size[0] * size[1] / 100.0,
            doubtful_px: Vec::new(),
            doubtful_mm2: 0.0,
        },
        indications: bars.iter().enumerate().map(seen).collect(),
        set_aside: Vec::new(),
        gates: Vec::new(),
        resolution: Resolution {
            pitch_mm: 0.1,
            blur_mm: None,
            least_width_mm: 0.4,
            least_gap_mm: 0.2,
        },
    };
    (photo, measurement)
}

fn outline([left, top, right, bottom]: &[f64; 4]) -> Vec<PointPx> {
    vec![[*left, *top], [*right, *top], [*right, *bottom], [*left, *bottom]]
}

fn count(picture: &RgbImage, colour: Rgb<u8>) -> usize {
    picture.pixels().filter(|p| **p == colour).count()
}

#[test]
fn the_red_stays_visible_inside_its_ring() {
    let (photo, measurement) = scene(600, 400, &[[200.0, 150.0, 300.0, 156.0]]);
    let marked = draw(&photo, &measurement, &[], &MarkOptions::default());
    assert_eq!(count(&marked, RED), 600, "every red pixel is as it was");
    assert!(count(&marked, COUNTED) > 100, "the ring and the id are there");
}

#[test]
fn ground_that_may_be_coat_is_outlined_in_dashes() {
    let (photo, mut measurement) = scene(900, 600, &[]);
    let plain = draw(&photo, &measurement, &[], &MarkOptions::default());
    measurement.coat.doubtful_px = vec![outline(&[200.0, 150.0, 700.0, 450.0])];
    let marked = draw(&photo, &measurement, &[], &MarkOptions::default());
    let is_teal = |p: &Rgb<u8>| i32::from(p.0[1]) > i32::from(p.0[0]) + 20;
    let inked = |picture: &RgbImage, x: u32| (140..160).any(|y| is_teal(picture.get_pixel(x, y)));
    let along = |picture: &RgbImage| (210..690).filter(|x| inked(picture, *x)).count();
    assert_eq!(along(&plain), 0);
    // On and off for as long; rims and halos blur the ends.
    assert!((150..330).contains(&along(&marked)), "{}", along(&marked));
}

#[test]
fn a_large_photo_becomes_small_and_a_strip_is_added() {
    let (photo, measurement) = scene(3600, 1800, &[]);
    let marked = draw(&photo, &measurement, &[], &MarkOptions::default());
    assert_eq!(marked.width(), 1800);
    assert!(marked.height() > 900 && marked.height() < 1000, "{}", marked.height());
}

#[test]
fn the_scale_bar_is_a_round_length_and_true() {
    let (photo, measurement) = scene(600, 400, &[]);
    let sheet = Sheet::new(photo.rgb(), 1.0, &MarkOptions::default());
    // 600 px at 0.1 mm: a sixth is 10 mm.
    let (mm, px) = sheet.bar(&measurement, 600.0).unwrap();
    assert!((mm - 10.0).abs() < 1e-12 && (px - 100.0).abs() < 1e-9, "{mm} {px}");
}

#[test]
fn labels_keep_off_marks_and_off_each_other() {
    let bars: Vec<[f64; 4]> = (0..12)
        .map(|n| {
            let (column, row) = (f64::from(n % 4), f64::from(n / 4));
            let (x, y) = (200.0 + column * 260.0, 200.0 + row * 120.0);
            [x, y, x + 80.0, y + 8.0]
        })
        .collect();
    let (photo, measurement) = scene(1400, 700, &bars);
    let plain: Vec<MarkLabel> = (1..=12)
        .map(|n| MarkLabel { text: format!("{n}  linear 8.0 mm"), emphasis: Emphasis::Strong })
        .collect();
    let marked = draw(&photo, &measurement, &plain, &MarkOptions::default());
    assert_eq!(count(&marked, RED), 12 * 640, "no label covers red");

    let mut board = Board::new(1400, 700, 31.0);
    let mut taken: Vec<[f64; 4]> = Vec::new();
    for bar in &bars {
        board.keep_clear(&outline(bar), 10.0, 12);
    }
    for bar in &bars {
        let target = outline(bar);
        let wish = Wish { target: &target, size: [230.0, 36.0], clear: 8.0 };
        let spot = board.find(&wish).unwrap();
        board.take(&spot, wish.size);
        let [x, y] = spot.left_top;
        let apart = |o: &[f64; 4]| x >= o[2] || x + 230.0 <= o[0] || y >= o[3] || y + 36.0 <= o[1];
        assert!(taken.iter().all(apart), "label at {x} {y}");
        taken.push([x, y, x + 230.0, y + 36.0]);
    }
}

#[test]
fn hostile_outlines_do_not_harm() {
    let (photo, mut measurement) = scene(64, 48, &[[10.0, 10.0, 20.0, 14.0]]);
    for outline in [
        vec![],
        vec![[5.0, 5.0]],
        vec![[f64::NAN, 1.0], [f64::INFINITY, 2.0]],
        vec![[-1.0e9, -1.0e9], [1.0e9, 1.0e9], [1.0e9, -1.0e9]],
    ] {
        measurement.coat.doubtful_px = vec![outline.clone()];
        measurement.indications[0].outline_px = outline;
        measurement.resolution.pitch_mm = f64::NAN;
        let marked = draw(&photo, &measurement, &[], &MarkOptions::default());
        assert_eq!(marked.width(), 64);
    }
}

#[test]
fn letters_take_the_room_they_say() {
    let letters = Lettering::new();
    let mut picture = RgbImage::from_pixel(300, 60, PAPER);
    letters.write(&mut picture, "12.5 mm", [10.0, 10.0], 40.0, COUNTED);
    let inked = |x: u32| (0..60).any(|y| *picture.get_pixel(x, y) != PAPER);
    let last = (0..300).rev().find(|x| inked(*x)).unwrap();
    let said = 10.0 + letters.width("12.5 mm", 40.0);
    assert!((f64::from(last) - said).abs() < 6.0, "{last} against {said}");
    assert!(!inked(5));
}
