//! Series whose growth is known.

use super::*;
use crate::compare::{Mark, Taken};
use crate::talk::Dress;
use nde_measure::TakenAt;
use track::{Development, Series};

fn mark(id: &str, x: f64, length_mm: f64) -> Mark {
    Mark {
        id: id.into(),
        at_mm: [x, 0.0],
        length_mm,
        u_mm: Some([0.03, 0.01]),
        width_mm: Some((0.5 + 0.01 * length_mm, Some(0.08))),
    }
}

fn shot(minutes: f64, marks: Vec<Mark>) -> Shot {
    let taken = Taken { photo: format!("{minutes}.jpg"), sha256: "0".into(), own_u: 0.002, marks };
    Shot { minutes, taken }
}

/// One that grows and stops, one that still grows, one that comes late, one that vanishes.
fn four() -> Vec<Shot> {
    vec![
        shot(20.0, vec![mark("1", 0.0, 5.02), mark("2", 20.0, 8.0), mark("3", 40.0, 1.0)]),
        shot(5.0, vec![mark("a", 0.1, 4.0), mark("b", 20.2, 6.0), mark("c", 60.0, 0.8)]),
        shot(10.0, vec![mark("x", 0.0, 5.0), mark("y", 20.1, 7.0), mark("z", 60.2, 0.8)]),
    ]
}

fn states(series: &Series) -> Vec<(Option<&str>, Development)> {
    series.tracks.iter().map(|t| (t.id.as_deref(), t.state)).collect()
}

#[test]
fn growth_is_followed_in_order_of_time() {
    let series = series(four()).unwrap();
    assert_eq!(series.shots.iter().map(|s| s.minutes).collect::<Vec<_>>(), [5.0, 10.0, 20.0]);
    assert_eq!(
        states(&series),
        [
            (Some("1"), Development::NoGrowthShown),
            (Some("2"), Development::Growing),
            (Some("3"), Development::New),
            (None, Development::NotInLast),
        ]
    );
    let second = &series.tracks[1];
    assert!((second.latest.unwrap().mm - 1.0).abs() < 1e-9);
    assert!((second.whole.unwrap().mm - 2.0).abs() < 1e-9);
    assert!((second.latest_minutes - 10.0).abs() < 1e-9);
    assert_eq!(series.tracks[3].marks.iter().flatten().count(), 2, "both early photos hold it");
}

#[test]
fn every_form_tells_every_size() {
    let series = series(four()).unwrap();
    let text = table(&series, Dress::Plain);
    assert!(text.contains("still growing: +1.00 mm in the last 10 min"), "{text}");
    assert!(text.contains("1 still growing") && text.contains("depth"), "{text}");
    let mut rows = Vec::new();
    csv(&series, &mut rows).unwrap();
    assert_eq!(String::from_utf8(rows).unwrap().lines().count(), 1 + 3 + 3 + 1 + 2);
    let mut record = Vec::new();
    json(&series, &mut record).unwrap();
    let value: serde_json::Value = serde_json::from_slice(&record).unwrap();
    assert_eq!(value["indications"][1]["says"], "growing");
    assert_eq!(value["indications"][1]["sizes"][0]["minutes"], 5.0);
    assert!(value["indications"][3]["id"].is_null());
    let svg = plot(&series);
    assert_eq!(svg.matches("<polyline").count(), 8);
    assert_eq!(svg.matches("<circle").count(), 2 * 9);
}

#[test]
fn one_photo_is_no_series() {
    let error = series(vec![shot(0.0, vec![])]).unwrap_err().to_string();
    assert!(error.contains("at least two"), "{error}");
}

#[test]
fn times_come_from_the_user_or_the_stamps() {
    let names: Vec<String> = ["a.jpg", "b.jpg"].map(String::from).to_vec();
    let at = |minute: u8| {
        Some(TakenAt {
            year: 2026,
            month: 5,
            day: 4,
            hour: 9,
            minute,
            second: 30,
            offset_minutes: None,
        })
    };
    assert_eq!(minutes(&[5.0, 12.5], &names, &[None, None]).unwrap(), [5.0, 12.5]);
    assert_eq!(minutes(&[], &names, &[at(20), at(5)]).unwrap(), [15.0, 0.0]);
    let refused = |told: &[f64], stamps: &[Option<TakenAt>]| {
        minutes(told, &names, stamps).unwrap_err().to_string()
    };
    assert!(refused(&[1.0], &[None, None]).contains("1 times are given for 2 photos"));
    assert!(refused(&[1.0, f64::NAN], &[None, None]).contains("give minutes"));
    assert!(refused(&[], &[at(1), None]).contains("b.jpg: does not tell when"));
    let year = at(5).map(|t| TakenAt { year: 2027, ..t });
    assert!(refused(&[], &[at(1), year]).contains("hours after the first"));
}
