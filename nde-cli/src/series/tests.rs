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
        ..Mark::default()
    }
}

fn shot(minutes: f64, marks: Vec<Mark>) -> Shot {
    let taken = Taken {
        photo: format!("{minutes}.jpg"),
        sha256: "0".into(),
        own_u: 0.002,
        marks,
        sight: None,
    };
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

/// Seven indications, moved together.
fn seven(degrees: f64, shift: [f64; 2], length_mm: f64) -> Vec<Mark> {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let places = [[0.0, 0.0], [20.0, 1.0], [11.0, 14.0], [-9.0, 22.0], [30.0, 30.0], [5.0, 33.0]];
    let moved = |[x, y]: [f64; 2]| [cos * x - sin * y + shift[0], sin * x + cos * y + shift[1]];
    let all = places.iter().chain(&[[-14.0, 9.0]]).enumerate();
    all.map(|(n, p)| Mark { at_mm: moved(*p), ..mark(&n.to_string(), 0.0, length_mm) }).collect()
}

#[test]
fn a_photo_of_another_place_is_named_with_the_remedy() {
    let other = || {
        let places = [[3.0, 27.0], [24.0, 9.0], [-6.0, 5.0], [13.0, 22.0], [18.0, -7.0]];
        let all = places.iter().enumerate();
        all.map(|(n, p)| Mark { at_mm: *p, ..mark(&n.to_string(), 0.0, 3.0) }).collect()
    };
    let own = || seven(0.0, [0.0; 2], 3.0);
    let misfits = |shots: Vec<Shot>| {
        let series = series(shots).unwrap();
        let said = warnings(&series);
        let mut rows = Vec::new();
        json(&series, &mut rows).unwrap();
        let told: serde_json::Value = serde_json::from_slice(&rows).unwrap();
        let photos = told["photos"].as_array().unwrap().iter();
        let odd: Vec<String> = photos
            .filter(|p| p["misfit"] == "another-place")
            .map(|p| p["photo"].as_str().unwrap().to_owned())
            .collect();
        (odd, said)
    };
    assert_eq!(misfits(vec![shot(5.0, own()), shot(9.0, own())]), (vec![], vec![]));
    let (odd, said) = misfits(vec![shot(5.0, own()), shot(9.0, other()), shot(20.0, own())]);
    assert_eq!(odd, ["9.jpg"]);
    assert!(
        said.len() == 1 && said[0].starts_with("9.jpg: 20.jpg shows dye at 0 of its 5"),
        "{said:?}"
    );
    assert!(said[0].contains("same place") && said[0].contains("photograph it again"), "{said:?}");
    let (odd, said) = misfits(vec![shot(5.0, own()), shot(9.0, own()), shot(20.0, other())]);
    assert_eq!(odd, ["20.jpg"]);
    assert!(said.len() == 1 && said[0].starts_with("20.jpg: shows few of the"), "{said:?}");
    // What comes later is no misfit.
    let few = own()[..2].to_vec();
    assert_eq!(misfits(vec![shot(5.0, few), shot(9.0, own())]), (vec![], vec![]));
    assert_eq!(misfits(vec![shot(5.0, vec![]), shot(9.0, own())]), (vec![], vec![]));
}

#[test]
fn a_scale_that_moved_is_said_and_seen_through() {
    for (degrees, shift) in [(0.0, [0.6, 0.0]), (1.0, [0.0, -0.5]), (-4.0, [5.0, 3.0])] {
        let shots =
            vec![shot(5.0, seven(degrees, shift, 3.0)), shot(9.0, seven(0.0, [0.0; 2], 4.0))];
        let series = series(shots).unwrap();
        assert!(series.tracks.iter().all(|t| t.state == Development::Growing), "{degrees}");
        let said = warnings(&series);
        assert!(said.len() == 1 && said[0].contains("laid over by 7 indications"), "{said:?}");
        assert!(table(&series, Dress::Plain).contains("the scale moved"));
    }
    // Three that agree after a search prove nothing.
    let three = |it: Vec<Mark>| it[..3].to_vec();
    let shots = vec![
        shot(5.0, three(seven(-4.0, [5.0, 3.0], 3.0))),
        shot(9.0, three(seven(0.0, [0.0; 2], 3.0))),
    ];
    let said = warnings(&series(shots).unwrap());
    assert!(said.len() == 1 && said[0].contains("did the scale lie still"), "{said:?}");
}

#[test]
fn a_scatter_is_no_move() {
    let mut early = seven(0.0, [0.0; 2], 3.0);
    for (n, mark) in early.iter_mut().enumerate() {
        mark.at_mm[n % 2] += if n % 3 == 0 { 0.7 } else { -0.4 };
    }
    let series = series(vec![shot(5.0, early), shot(9.0, seven(0.0, [0.0; 2], 3.0))]).unwrap();
    assert_eq!(warnings(&series), Vec::<String>::new());
}

/// A mark with the outline of a box.
fn boxed(id: &str, x: f64, length_mm: f64) -> Mark {
    let (a, b) = (x - length_mm / 2.0, x + length_mm / 2.0);
    Mark { outline_mm: vec![[a, -0.5], [b, -0.5], [b, 0.5], [a, 0.5]], ..mark(id, x, length_mm) }
}

#[test]
fn what_ran_together_is_not_the_growth_of_one() {
    let early = vec![boxed("a", 0.0, 2.0), boxed("b", 3.0, 2.0), boxed("c", 20.0, 2.0)];
    let late = vec![boxed("1", 1.3, 5.8), boxed("2", 20.0, 2.0)];
    let series = series(vec![shot(5.0, early), shot(9.0, late)]).unwrap();
    assert_eq!(
        states(&series),
        [
            (Some("1"), Development::RunTogether),
            (Some("2"), Development::NoGrowthShown),
            (None, Development::NotInLast),
        ]
    );
    let text = table(&series, Dress::Plain);
    assert!(text.contains("run together of 2") && text.contains("run together with 1"), "{text}");
    assert!(warnings(&series).is_empty());
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
