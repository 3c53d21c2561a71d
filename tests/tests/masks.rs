//! The same masks, measured by the whole chain and by other libraries.
//!
//! Source of the values: `tests/scripts/masks.py` (scikit-image regionprops, OpenCV minimum rectangle,
//! scipy distance transform; versions there). Sixty-four ellipses, cracks, arcs, blots and forks as hard
//! masks of 12 to 170 pixels become red marks on a white coat and are measured like any photo.
//!
//! What must differ, and by how much at most:
//! - a rectangle around pixel centres is the shortest length a mask can have, scikit-image's greatest
//!   distance between pixel corners the longest; the outline at half contrast runs between the two;
//! - the distance transform reads to the centre of the nearest outside pixel, half a pixel too far on
//!   either side, and only from pixel centres, up to 0.7 pixel short of the best place between them;
//! - the area is that of the pixels but for the outline's own place at their corners.

use image::{Rgb, RgbImage};
use nde_measure::{MeasureOptions, Photo, ScaleSpec, measure};

/// Millimetres a pixel that the sheet is taken to have.
const PITCH_MM: f64 = 0.05;

struct Row {
    kind: String,
    at_px: [f64; 2],
    feret_px: f64,
    box_long_px: f64,
    inscribed_px: f64,
    area_px: f64,
}

fn rows() -> Vec<Row> {
    let text = include_str!("../../fixtures/outside/masks.csv");
    text.lines()
        .filter(|line| !line.starts_with('#') && !line.starts_with("kind"))
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let number = |n: usize| cells[n].parse::<f64>().expect("a number");
            Row {
                kind: cells[0].to_owned(),
                at_px: [number(1), number(2)],
                feret_px: number(3),
                box_long_px: number(4),
                inscribed_px: number(6),
                area_px: number(7),
            }
        })
        .collect()
}

#[test]
fn the_whole_chain_measures_masks_as_other_libraries_do() {
    let sheet = image::load_from_memory(include_bytes!("../../fixtures/outside/masks.png"))
        .expect("the sheet is a picture")
        .to_luma8();
    let picture = RgbImage::from_fn(sheet.width(), sheet.height(), |x, y| {
        if sheet.get_pixel(x, y).0[0] > 127 { Rgb([190, 40, 60]) } else { Rgb([225, 225, 222]) }
    });
    let scale: ScaleSpec = format!("pitch:{PITCH_MM}mm").parse().expect("a scale");
    let found = measure(&Photo::from_rgb(picture), &[scale], &MeasureOptions::default())
        .expect("the sheet can be measured");
    let rows = rows();
    assert_eq!((rows.len(), found.indications.len()), (64, 64), "every mask once, nothing else");
    println!("kind     length - greatest distance   width - inscribed   area - pixels");
    for row in &rows {
        let away = |at: [f64; 2]| (at[0] - row.at_px[0]).hypot(at[1] - row.at_px[1]);
        let seen = found
            .indications
            .iter()
            .min_by(|a, b| away(a.centroid_px).total_cmp(&away(b.centroid_px)))
            .expect("there are some");
        let (length, width) = (seen.feret_mm / PITCH_MM, seen.seen_width_mm / PITCH_MM);
        let area = seen.area_mm2 / (PITCH_MM * PITCH_MM);
        let (long, wide) = (length - row.feret_px, width - row.inscribed_px);
        println!("{:8} {long:+.2} px {wide:+.2} px {:+.2} px2", row.kind, area - row.area_px);
        assert!(away(seen.centroid_px) < 0.1, "{} at {:?}", row.kind, row.at_px);
        assert!(length >= row.box_long_px && long <= 0.0, "{} {:?}: {long}", row.kind, row.at_px);
        assert!((-1.0..=0.4).contains(&wide), "{} {:?}: {wide}", row.kind, row.at_px);
        assert!((area - row.area_px).abs() < 2.0, "{} {:?}: {area}", row.kind, row.at_px);
    }
}
