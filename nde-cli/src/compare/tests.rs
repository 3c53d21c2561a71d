//! Lists with known moves and known growth.

use super::marks::{Mark, SHARED};
use super::*;
use nde_measure::scale::{Height, ScaleOptions};
use nde_measure::{MeasureOptions, Photo, PhotoLimits, ScaleSpec, measure};
use proptest::prelude::*;
use std::collections::BTreeSet;

fn mark(id: &str, x: f64, y: f64, length_mm: f64) -> Mark {
    Mark { id: id.into(), at_mm: [x, y], length_mm, u_mm: Some([0.03, 0.01]), ..Mark::default() }
}

fn taken(marks: Vec<Mark>) -> Taken {
    Taken { photo: "a.jpg".into(), sha256: "0".into(), own_u: 0.002, marks, ..Taken::default() }
}

fn five() -> Vec<Mark> {
    vec![
        mark("1", 0.0, 0.0, 3.0),
        mark("2", 20.0, 1.0, 5.0),
        mark("3", 11.0, 14.0, 2.0),
        mark("4", -9.0, 22.0, 8.0),
        mark("5", 30.0, 30.0, 1.0),
    ]
}

fn turned(marks: &[Mark], degrees: f64, shift: [f64; 2]) -> Vec<Mark> {
    let (sin, cos) = degrees.to_radians().sin_cos();
    marks
        .iter()
        .map(|m| Mark {
            at_mm: [
                cos * m.at_mm[0] - sin * m.at_mm[1] + shift[0],
                sin * m.at_mm[0] + cos * m.at_mm[1] + shift[1],
            ],
            ..m.clone()
        })
        .collect()
}

fn ids(it: &Comparison) -> Vec<(String, String, String)> {
    let id = |m: &Option<Mark>| m.as_ref().map_or(String::new(), |m| m.id.clone());
    it.pairs.iter().map(|p| (p.word().to_owned(), id(&p.old), id(&p.new))).collect()
}

#[test]
fn a_card_that_lay_elsewhere_is_seen_through() {
    let mut later = turned(&five(), 37.0, [50.0, -20.0]);
    later.reverse();
    later[0].id = "x".into();
    later[0].length_mm += 1.0;
    let it = compare(&taken(five()), &taken(later), Align::Auto, Scales::Apart).unwrap();
    assert!(it.laid.by_marks && it.laid.agreeing == 5);
    assert!((it.laid.by.turn_deg() - 37.0).abs() < 1e-6 && it.laid.residual_mm.unwrap() < 1e-6);
    assert!(it.pairs.iter().all(|p| p.word() == "matched"));
    let grown: Vec<&str> = it
        .pairs
        .iter()
        .filter(|p| p.growth.unwrap().change == Change::Grown)
        .map(|p| p.old.as_ref().unwrap().id.as_str())
        .collect();
    assert_eq!(grown, ["5"]);
}

#[test]
fn new_and_gone_are_told_and_do_not_turn_the_rest() {
    let mut later = turned(&five(), -12.0, [3.0, 4.0]);
    later.remove(1);
    later.push(mark("new", 70.0, 5.0, 9.0));
    let it = compare(&taken(five()), &taken(later), Align::Auto, Scales::Apart).unwrap();
    let words = ids(&it);
    assert!(words.contains(&("gone".into(), "2".into(), String::new())), "{words:?}");
    assert!(words.contains(&("new".into(), String::new(), "new".into())), "{words:?}");
    assert_eq!(words.iter().filter(|w| w.0 == "matched").count(), 4);
}

#[test]
fn few_or_disagreeing_marks_fall_back_to_the_scale_or_are_refused() {
    let two = || taken(five()[..2].to_vec());
    let it = compare(&two(), &two(), Align::Auto, Scales::Apart).unwrap();
    assert!(!it.laid.by_marks);
    assert_eq!(ids(&it).iter().filter(|w| w.0 == "matched").count(), 2);
    let error = compare(&two(), &two(), Align::Marks, Scales::Apart).unwrap_err();
    assert!(error.to_string().contains("--by card"), "{error}");
    let other =
        taken(vec![mark("a", 0.0, 0.0, 1.0), mark("b", 3.0, 7.0, 1.0), mark("c", 44.0, 9.0, 1.0)]);
    assert!(compare(&taken(five()), &other, Align::Marks, Scales::Apart).is_err());
    let empty = compare(&taken(Vec::new()), &other, Align::Auto, Scales::Apart).unwrap();
    assert_eq!(ids(&empty).iter().filter(|w| w.0 == "new").count(), 3);
}

#[test]
fn a_growth_is_real_only_beyond_its_uncertainty() {
    let one = |length: f64| taken(vec![mark("1", 0.0, 0.0, length)]);
    let change = |old: f64, new: f64, scales| {
        compare(&one(old), &one(new), Align::Scale, scales).unwrap().pairs[0].growth.unwrap()
    };
    // U = 2 sqrt(2 * (0.03^2 + 0.01^2)) = 0.0894 mm
    let at = change(5.0, 5.0894, Scales::Apart);
    assert!((at.u_mm.unwrap() - 0.089_443).abs() < 1e-6);
    assert_eq!(at.change, Change::WithinUncertainty);
    assert_eq!(change(5.0, 5.0895, Scales::Apart).change, Change::Grown);
    assert_eq!(change(5.0895, 5.0, Scales::Apart).change, Change::Shorter);
    // With the same card all of 0.01 mm (0.2 % of 5 mm) is common to both and falls out:
    // U = 2 sqrt(2 * 0.03^2 + (0.002 * d)^2)
    let same = change(5.0, 5.0, Scales::Same);
    assert!((same.u_mm.unwrap() - 0.084_853).abs() < 1e-6, "{same:?}");
    // What an unmoved scale shares falls out by what it brings to both: U = 2 sqrt(2 * (0.03^2 - 0.02^2)),
    // and comes back as a difference.
    let shared = |length: f64, u: f64| {
        let mark = Mark { shared_u_mm: vec![("height", u)], ..mark("1", 0.0, 0.0, length) };
        taken(vec![mark])
    };
    let still = |old: &Taken, new: &Taken| {
        compare(old, new, Align::Scale, Scales::Still).unwrap().pairs[0]
            .growth
            .unwrap()
            .u_mm
            .unwrap()
    };
    let (old, new) = (shared(5.0, 0.02), shared(5.0, 0.02));
    assert!((still(&old, &new) - 0.063_246).abs() < 1e-6, "{}", still(&old, &new));
    let u = still(&old, &shared(5.0, 0.01));
    assert!((u - 2.0 * (0.000_5 + 0.000_8 + 0.000_1_f64).sqrt()).abs() < 1e-6, "{u}");
    let mut faint = mark("1", 0.0, 0.0, 9.0);
    faint.u_mm = None;
    let it = compare(&one(5.0), &taken(vec![faint]), Align::Scale, Scales::Apart).unwrap();
    assert_eq!(it.pairs[0].growth.unwrap().change, Change::NotKnown);
}

#[test]
fn every_form_holds_every_indication() {
    let mut later = five();
    later.remove(0);
    let all = [compare(&taken(five()), &taken(later), Align::Auto, Scales::Apart).unwrap()];
    let text = table(&all, crate::talk::Dress::Plain);
    assert_eq!(text.matches("no change shown").count(), 4, "{text}");
    assert!(text.contains("is not counted now") && text.contains("Bleed-out also differs"));
    let mut rows = Vec::new();
    csv(&all, &mut rows).unwrap();
    assert_eq!(String::from_utf8(rows).unwrap().lines().count(), 6);
    let mut record = Vec::new();
    json(&all, &mut record).unwrap();
    let value: serde_json::Value = serde_json::from_slice(&record).unwrap();
    assert_eq!(value["photos"][0]["indications"].as_array().unwrap().len(), 5);
    assert!(value["photos"][0]["indications"][4]["growth_mm"].is_null());
    let svg = plot(&all);
    assert_eq!(svg.matches("<circle").count(), 9, "{svg}");
    let hostile = [
        Comparison { old: "<b>&".into(), new: "<script>".into(), ..all[0].clone() },
        all[0].clone(),
    ];
    assert!(!plot(&hostile).contains("<script>"));
    let formula = Comparison { old: "=1+1.jpg".into(), ..all[0].clone() };
    let mut rows = Vec::new();
    csv(&[formula], &mut rows).unwrap();
    assert!(String::from_utf8(rows).unwrap().contains("\n'=1+1.jpg,"));
}

#[test]
fn broken_records_are_refused_with_a_remedy() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("indications.json");
    let whole = r#"{"form":"nde-record/1","cases":[{"photo":"a","sha256":"0","picture":{"scale":{"own_u":0.002}},"indications":[{"id":"1","kind":"linear","length":{"mm":3.0,"edge_u_mm":0.06,"scale_u_mm":0.02},"at_mm":[1.0,2.0]}]}]}"#;
    std::fs::write(&path, whole).unwrap();
    let read = Taken::all_of(&path).unwrap();
    assert_eq!(read[0].marks[0].u_mm, Some([0.03, 0.01]));
    for (good, bad, words) in [
        ("nde-record/1", "other/1", "is a `other/1`"),
        ("\"mm\":3.0", "\"mm\":-3.0", "no part has"),
        ("[1.0,2.0]", "null", "has no place"),
        ("[1.0,2.0]", "[1e300,2.0]", "no part has"),
        ("}]}]}", "", "give the indications.json"),
    ] {
        std::fs::write(&path, whole.replace(good, bad)).unwrap();
        let error = format!("{:#}", Taken::all_of(&path).unwrap_err());
        assert!(error.contains(words), "{error}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever the turn, the shift and the order: the same part is the same part.
    #[test]
    fn turning_and_shifting_change_nothing(
        degrees in -180.0..180.0_f64,
        x in -100.0..100.0_f64,
        y in -100.0..100.0_f64,
        first in 0_usize..5,
    ) {
        let mut later = turned(&five(), degrees, [x, y]);
        later.rotate_left(first);
        let it = compare(&taken(five()), &taken(later), Align::Auto, Scales::Apart).unwrap();
        for pair in &it.pairs {
            prop_assert_eq!(&pair.old.as_ref().unwrap().id, &pair.new.as_ref().unwrap().id);
            prop_assert!(pair.growth.unwrap().mm.abs() < 1e-9);
        }
    }
}

#[test]
fn marks_that_agree_by_chance_prove_no_place() {
    // Five that agree all over are no chance; three of six that fit somehow are.
    let sure = compare(
        &taken(five()),
        &taken(turned(&five(), 12.0, [4.0, 9.0])),
        Align::Auto,
        Scales::Apart,
    );
    assert!(!sure.unwrap().laid.may_be_chance());
    let mut other = turned(&five(), 80.0, [5.0, 5.0]);
    let strewn = [[41.0, 7.0], [-13.0, 2.0]];
    for (mark, at_mm) in other.iter_mut().skip(3).zip(strewn) {
        mark.at_mm = at_mm;
    }
    let mut old = five();
    old.push(mark("6", 17.0, 33.0, 4.0));
    other.push(mark("6", 28.0, 19.0, 4.0));
    let it = compare(&taken(old), &taken(other), Align::Marks, Scales::Apart).unwrap();
    assert!(it.laid.agreeing == 3 && it.laid.may_be_chance(), "{:?}", it.laid);
}

#[test]
fn what_photos_share_is_among_the_measured_sources() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/photos/chainplate-starboard.jpg");
    let photo = Photo::decode(&std::fs::read(path).unwrap(), &PhotoLimits::default()).unwrap();
    let card: ScaleSpec = "card".parse().unwrap();
    let named = |height: Option<Height>| -> BTreeSet<&'static str> {
        let mut options = MeasureOptions::default();
        options.scale = ScaleOptions::default().with_height(height);
        let measurement = measure(&photo, std::slice::from_ref(&card), &options).unwrap();
        let taken = Taken::measured("a.jpg", "0", &measurement);
        assert!(taken.frame_is_printed());
        // An unsized mark has no edge.
        let sized = taken.marks.into_iter().find(|mark| mark.u_mm.is_some()).unwrap();
        sized.shared_u_mm.into_iter().map(|(name, _)| name).collect()
    };
    let (level, higher) = (named(None), named(Some(Height { mm: 2.0, within_mm: 0.5 })));
    // Either how level the surface is or how high, and all of the rest.
    assert!(level.len() == 3 && higher.len() == 3, "{level:?} {higher:?}");
    assert_eq!(&level | &higher, BTreeSet::from(SHARED));
}

#[test]
fn what_rounds_to_nothing_has_no_sign() {
    let mut later = turned(&five(), -0.01, [0.0, 0.0]);
    later[0].length_mm -= 0.004;
    later[1].length_mm += 0.004;
    let it = compare(&taken(five()), &taken(later), Align::Auto, Scales::Apart).unwrap();
    assert!(it.laid.by_marks && it.laid.by.turn_deg() < 0.0, "{}", it.laid.by.turn_deg());
    for text in [table(std::slice::from_ref(&it), crate::talk::Dress::Plain), plot(&[it])] {
        assert!(!text.contains("-0.0") && !text.contains("+0.0"), "{text}");
        assert!(text.contains("0.00"), "{text}");
    }
}
