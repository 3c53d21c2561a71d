//! One hand-made photo record in every form.

use super::*;
use crate::args::{GuardChoice, WeldArgs};
use crate::record::{Case, Failure};
use crate::settings::Criteria;
use crate::talk::Dress;
use nde_core::{
    Doubt, Gate, GateOutcome, Indication, JudgeOptions, Length, Measured, Spread, judge,
};
use nde_measure::{
    Coat, Measurement, Photo, Resolution, ScaleSpec, Seen, SetAside, SetAsideReason, scale,
};

fn measured(mm: f64, edge_mm: f64, scale_mm: f64) -> Measured {
    let length = |mm| Length::from_mm(mm).unwrap();
    Measured {
        value: length(mm),
        spread: Spread::Standard { edge: length(edge_mm), scale: length(scale_mm) },
    }
}

fn measurement() -> Measurement {
    let photo = Photo::from_rgb(image::RgbImage::from_pixel(400, 300, image::Rgb([230; 3])));
    let mut indication = Indication::typed("1", Length::from_um(1), Length::from_um(1));
    indication.length = measured(13.204_249, 0.03, 0.04);
    indication.width = Measured { spread: Spread::Unclaimed, ..measured(0.51, 0.0, 0.0) };
    indication.doubts = vec![Doubt::CutByCoat, Doubt::UnverifiedPrint];
    let square = vec![[10.0, 10.0], [20.0, 10.0], [20.0, 20.0]];
    Measurement {
        size_px: [400, 300],
        scale: scale::find(&photo, &[ScaleSpec::Pitch { mm_per_px: 0.1 }]).unwrap(),
        coat: Coat {
            outlines_px: vec![square.clone()],
            area_mm2: 1234.5,
            doubtful_px: Vec::new(),
            doubtful_mm2: 0.0,
        },
        indications: vec![Seen {
            indication,
            outline_px: square.clone(),
            centroid_px: [15.25, 16.5],
            centroid_mm: [-1.525, 1.65],
            angle_deg: 91.0,
            area_mm2: 6.7,
            feret_mm: 13.204_249,
            path_mm: 13.3,
            visible_mm: 13.9,
            seen_width_mm: 0.52,
            mean_width_mm: 0.5,
            contrast: 0.62,
            colour_direction: 0.21,
            tilt_deg: None,
            length_terms: nde_measure::LengthTerms::default(),
        }],
        set_aside: vec![SetAside {
            reason: SetAsideReason::Faint,
            outline_px: square,
            centroid_px: [30.0, 40.0],
            centroid_mm: [3.0, 4.0],
            length_mm: 1.25,
            width_mm: 0.75,
            contrast: 0.09,
        }],
        gates: vec![Gate {
            name: "blur".into(),
            value: Some(0.15),
            unit: "mm".into(),
            warn: 0.1,
            fail: 0.2,
            outcome: GateOutcome::Warn,
            remedy: "hold the camera still".into(),
        }],
        resolution: Resolution {
            pitch_mm: 0.1,
            blur_mm: Some(0.15),
            least_width_mm: 0.6,
            least_gap_mm: 0.3,
        },
    }
}

fn record_of(measurement: &Measurement, rules: Option<&str>) -> Record {
    let criteria =
        Criteria::resolve(rules, &[], GuardChoice::AcceptSide, &WeldArgs::default()).unwrap();
    let indications = [measurement.indications[0].indication.clone()];
    let judgement = criteria
        .rules
        .as_ref()
        .map(|rules| judge(&indications, rules, &JudgeOptions::default()).unwrap());
    let mut case = Case::of_photo("-part.jpg", &"00".repeat(32), measurement, judgement.as_ref());
    case.marked = Some("marked/-part.jpg".to_owned());
    Record {
        criteria,
        cases: Box::new(vec![case]),
        failures: vec![Failure { name: "bad.jpg".to_owned(), why: "no card; lay one".to_owned() }],
        units: crate::args::Units::Mm,
        part: None,
        command: Vec::new(),
    }
}

fn record(rules: Option<&str>) -> Record {
    record_of(&measurement(), rules)
}

fn text(write: impl Fn(&mut dyn std::io::Write) -> Result<()>) -> String {
    let mut bytes = Vec::new();
    write(&mut bytes).unwrap();
    String::from_utf8(bytes).unwrap()
}

#[test]
fn csv_rounds_at_the_border_and_leaves_the_unclaimed_empty() {
    let csv = text(|w| csv::indications(&record(None), w));
    let row = csv.lines().nth(1).unwrap();
    assert_eq!(
        row,
        "'-part.jpg,1,linear,13.2042,0.100,0.5100,,25.891,15.25,16.50,-1.5250,1.6500,91.00,6.7000,13.3000,0.6200,,not-yet-called,,,cut-by-coat unverified-print,13.9000,0.5000,0.060,0.080,,,,,,,,,"
    );
    let aside = text(|w| csv::set_aside(&record(None), w));
    assert_eq!(
        aside.lines().nth(1).unwrap(),
        "'-part.jpg,faint,30.00,40.00,3.0000,4.0000,1.2500,0.7500,0.0900"
    );
}

/// A curved mark is judged by its path; the list shows it end to end, with the path beside it.
#[test]
fn the_list_shows_a_curved_mark_end_to_end() {
    let mut measurement = measurement();
    measurement.indications[0].indication.length = measured(15.5, 0.03, 0.04);
    measurement.indications[0].path_mm = 15.5;
    let record = record_of(&measurement, None);
    let csv = text(|w| csv::indications(&record, w));
    let cells: Vec<&str> = csv.lines().nth(1).unwrap().split(',').collect();
    assert_eq!((cells[3], cells[14]), ("13.2042", "15.5000"));
}

#[test]
fn json_keeps_everything_unrounded() {
    let json: serde_json::Value =
        serde_json::from_str(&text(|w| json::write(&record(Some("weld-vessel-si")), w))).unwrap();
    let case = &json["cases"][0];
    let mark = &case["indications"][0];
    assert_eq!(mark["length"]["mm"], 13.204_249);
    assert_eq!(mark["width"]["u_mm"], serde_json::Value::Null);
    assert_eq!(mark["outline_px"][1], serde_json::json!([20.0, 10.0]));
    assert_eq!(mark["doubts"][0]["word"], "cut-by-coat");
    assert_eq!(case["set_aside"][0]["reason"], "faint");
    assert_eq!(case["picture"]["gates"][0]["outcome"], "warn");
    // Without a claimed width the shape is not sure.
    assert_eq!(case["judgement"]["verdict"], "review");
    assert_eq!(json["guard"], "accept-side");
    assert_eq!(json["could_not_be_done"][0]["photo"], "bad.jpg");
}

#[test]
fn the_table_tells_the_whole_story() {
    let table = text(|w| table::write(&record(Some("weld-vessel-si")), Dress::Plain, w));
    for part in [
        "13.20 ±0.10",
        "0.51 ±?",
        "doubt (1): runs out of the developer coat",
        "seen, not counted: 1 faint",
        "picture warning: blur 0.150 mm (warns above 0.1 mm, not fit above 0.2 mm); hold the camera still",
        "verdict: review",
        "VIII-1 App. 8, 8-4(a)",
        "bad.jpg\n  could not be done: no card; lay one",
        "1 photo read: 0 accept, 1 review, 0 reject; 1 indication in it; 1 photo could not be done",
        "qualified person",
    ] {
        assert!(table.contains(part), "`{part}` is missing in\n{table}");
    }
    let unjudged = text(|w| table::write(&record(None), Dress::Plain, w));
    assert!(unjudged.contains("nothing was judged") && !unjudged.contains("verdict"));
}

#[test]
fn the_same_record_gives_the_same_bytes() {
    let once = || text(|w| json::write(&record(Some("weld-vessel-si")), w));
    assert_eq!(once(), once());
}

#[test]
fn what_is_read_back_is_what_was_written() {
    record(Some("weld-vessel-si"))
        .each(|case| {
            let text = serde_json::to_string(case)?;
            assert_eq!(&serde_json::from_str::<Case>(&text)?, case);
            Ok(())
        })
        .unwrap();
}

#[test]
fn one_line_a_photo_names_its_rules() {
    let lines = text(|w| json::lines(&record(Some("weld-vessel-si")), w));
    let lines: Vec<serde_json::Value> =
        lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines.len(), 2);
    assert_eq!(lines[0]["rules"]["id"], "weld-vessel-si");
    assert_eq!(lines[0]["indications"][0]["length"]["mm"], 13.204_249);
    assert_eq!(lines[1]["why"], "no card; lay one");
}
