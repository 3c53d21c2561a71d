//! Series whose growth is known.

use super::*;
use crate::compare::{Mark, Sight, Taken};
use crate::talk::Dress;
use nde_measure::{ScaleKind, TakenAt};
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
        scale: Some(ScaleKind::Card),
        sight: None,
        ground: None,
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

/// The same beside another scale.
fn beside(scale: ScaleKind, shot: Shot) -> Shot {
    Shot { taken: Taken { scale: Some(scale), ..shot.taken }, ..shot }
}

fn told(series: &Series) -> serde_json::Value {
    let mut record = Vec::new();
    json(series, &mut record).unwrap();
    serde_json::from_slice(&record).unwrap()
}

#[test]
fn a_frame_that_shifts_with_the_picture_is_no_scale_that_moved() {
    for scale in [ScaleKind::Ticks, ScaleKind::Points, ScaleKind::Pitch] {
        for shift in [[0.0, 0.0], [10.0, 0.0]] {
            let early = beside(scale, shot(5.0, seven(0.0, shift, 3.0)));
            let late = beside(scale, shot(9.0, seven(0.0, [0.0; 2], 4.0)));
            let series = series(vec![early, late]).unwrap();
            assert!(series.tracks.iter().all(|t| t.state == Development::Growing), "{scale:?}");
            assert!(warnings(&series).is_empty() && unchecked(&series).is_none());
            let photo = &told(&series)["photos"][0];
            assert!(photo["misfit"].is_null() && photo["laid_over_by"] == "indications");
            assert!(photo["scale_apart_mm"].is_null() && photo["unproven"].is_null());
            let text = table(&series, Dress::Plain);
            assert!(
                text.contains("7 indications: the frame of its scale proves nothing"),
                "{text}"
            );
        }
        // A card beside a rule has two frames.
        let early = shot(5.0, seven(0.0, [10.0, 0.0], 3.0));
        let late = beside(scale, shot(9.0, seven(0.0, [0.0; 2], 4.0)));
        assert!(warnings(&series(vec![early, late]).unwrap()).is_empty());
    }
}

#[test]
fn a_frame_that_shifts_is_not_trusted_where_the_indications_cannot_carry() {
    let pair = |count: usize, shift: [f64; 2]| {
        let of = |minutes, marks: Vec<Mark>| {
            beside(ScaleKind::Ticks, shot(minutes, marks[..count].to_vec()))
        };
        series(vec![of(5.0, seven(-4.0, shift, 3.0)), of(9.0, seven(-4.0, [0.0; 2], 4.0))]).unwrap()
    };
    // Two where they were: followed, and said to be unchecked.
    let two = pair(2, [0.0; 2]);
    assert!(two.tracks.iter().all(|t| t.state == Development::Growing));
    // Three elsewhere: what lies near another then is chance.
    let three = pair(3, [20.0, 1.0]);
    assert!(three.tracks.iter().all(|t| t.state == Development::New) && three.tracks.len() == 3);
    for it in [two, three] {
        assert!(warnings(&it).is_empty());
        let said = unchecked(&it).unwrap();
        assert!(said.starts_with("5.jpg: ") && said.contains("could not be checked"), "{said}");
        assert_eq!(told(&it)["photos"][0]["unproven"], "frame");
        assert!(table(&it, Dress::Plain).contains("could not be checked"));
    }
}

#[test]
fn few_that_are_gone_are_no_other_place() {
    let gone = |count: usize| {
        let early = seven(0.0, [0.0; 2], 3.0)[..count].to_vec();
        series(vec![shot(5.0, early), shot(9.0, vec![mark("1", 80.0, 3.0)])]).unwrap()
    };
    for count in [1, 2] {
        let it = gone(count);
        assert_eq!(warnings(&it), Vec::<String>::new());
        let text = table(&it, Dress::Plain);
        assert!(text.contains("cannot be checked by so few"), "{text}");
        assert_eq!(told(&it)["photos"][0]["unproven"], "too-few");
        assert!(it.tracks.len() == 1 + count && unchecked(&it).is_none());
    }
    assert_eq!(warnings(&gone(3)).len(), 1);
}

#[test]
fn what_lies_off_the_last_photos_coat_is_not_due() {
    let square = |[a, b]: [f64; 2]| vec![[a, a], [b, a], [b, b], [a, b]];
    let due = |coat: [f64; 2], covers: Vec<Vec<[f64; 2]>>| {
        let mut last = shot(9.0, seven(0.0, [0.0; 2], 3.0)[..3].to_vec());
        last.taken.sight = Some(Sight {
            border_mm: square([-40.0, 60.0]),
            read_mm: vec![square(coat)],
            covers_mm: covers,
            asides_mm: Vec::new(),
        });
        let it = series(vec![shot(5.0, seven(0.0, [0.0; 2], 3.0)), last]).unwrap();
        (it.standings[0].due, warnings(&it).len())
    };
    assert_eq!(due([-40.0, 60.0], vec![]), (7, 1));
    assert_eq!(due([-5.0, 32.0], vec![]), (4, 0));
    // A scale that lay still cannot have hidden what was seen before.
    assert_eq!(due([-5.0, 32.0], vec![square([4.0, 34.0])]), (5, 0));
    // A coat that lies elsewhere is not that of this place.
    assert_eq!(due([-5.0, 12.0], vec![]), (7, 1));
    assert_eq!(due([50.0, 60.0], vec![]), (7, 1));
}

#[test]
fn a_photo_of_another_place_feeds_no_growth() {
    // One of five lies by chance where the last photo has one, and is shorter.
    let mut other = seven(0.0, [0.0; 2], 1.0);
    other[0].at_mm = [0.2, 0.1];
    for (n, mark) in other.iter_mut().enumerate().skip(1) {
        mark.at_mm = [100.0 + 7.0 * (n * n) as f64, 0.0];
    }
    let early = seven(0.0, [0.0; 2], 3.0);
    let shots = vec![shot(5.0, early.clone()), shot(9.0, other), shot(20.0, early)];
    let series = series(shots).unwrap();
    assert_eq!(warnings(&series).len(), 1);
    assert!(series.tracks.len() == 7);
    for track in &series.tracks {
        assert_eq!(track.state, Development::NoGrowthShown);
        assert!(track.marks[1].is_none() && (track.latest_minutes - 15.0).abs() < 1e-9);
    }
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
    let it = &told(&series)["indications"][0];
    assert!(it["latest_growth_mm"].is_null() && it["whole_growth_mm"].is_null(), "{it}");
}

#[test]
fn growth_is_counted_from_when_a_mark_last_ran_together() {
    let apart = || vec![boxed("a", 0.0, 2.0), boxed("b", 3.0, 2.0)];
    let one = |length_mm| vec![boxed("1", 1.3, length_mm)];
    let of = |early: Vec<Vec<Mark>>| {
        let last = early.len() as f64 * 5.0;
        let early = early.into_iter().enumerate().map(|(n, marks)| shot(n as f64 * 5.0, marks));
        series(early.chain([shot(last, one(6.4))]).collect()).unwrap()
    };
    let it = &told(&of(vec![apart(), one(5.6), one(6.0)]))["indications"][0];
    let near = |name: &str, value: f64| (it[name].as_f64().unwrap() - value).abs() < 1e-9;
    assert!(it["says"] == "growing" && it["run_together"].as_array().unwrap().is_empty(), "{it}");
    assert!(near("latest_growth_mm", 0.4) && near("whole_growth_mm", 0.8), "{it}");
    assert!(near("latest_minutes", 5.0) && near("whole_minutes", 10.0), "{it}");
    // Where nothing was counted between, it ran together since the photo that shows the parts.
    let series = of(vec![apart(), vec![]]);
    assert_eq!(states(&series)[0], (Some("1"), Development::RunTogether));
    let text = table(&series, Dress::Plain);
    assert!(text.contains("run together of 2 in the last 10 min"), "{text}");
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
    assert!(refused(&[1.0], &[None, None]).contains("--minutes gives 1 for 2 photos"));
    assert!(refused(&[1.0, f64::NAN], &[None, None]).contains("give minutes"));
    assert!(refused(&[], &[at(1), None]).contains("b.jpg: does not tell when"));
    let year = at(5).map(|t| TakenAt { year: 2027, ..t });
    assert!(refused(&[], &[at(1), year]).contains("hours after the first"));
}
