//! What is written with the feature `serde` reads back as the same value.
#![cfg(feature = "serde")]
#![allow(clippy::unwrap_used, reason = "a test may stop")]

use nde_core::{
    Doubt, Gate, GateOutcome, Indication, JudgeOptions, Judgement, Length, Measured, Place, Point,
    Relevance, RuleSet, Shape, Spread, judge,
};
use serde::{Serialize, de::DeserializeOwned};

fn same<T: Serialize + DeserializeOwned + PartialEq + std::fmt::Debug>(value: &T) {
    let text = serde_json::to_string(value).unwrap();
    assert_eq!(&serde_json::from_str::<T>(&text).unwrap(), value, "{text}");
}

fn every_doubt() -> Vec<Doubt> {
    vec![
        Doubt::CutByPhoto,
        Doubt::CutByCoat,
        Doubt::TouchesGlare,
        Doubt::WidthIsUpperBound { width_mm: 0.125, least_mm: 0.25 },
        Doubt::TooSmallToClassify,
        Doubt::TooFaintToSize { contrast: 0.1875 },
        Doubt::FadingEnds { half_mm: 3.0, visible_mm: 4.5 },
        Doubt::SignalsDisagree { green_mm: 3.0, ratio_mm: 4.5 },
        Doubt::Branched { branch_points: 3 },
        Doubt::Curved { feret_mm: 3.0, path_mm: 4.5 },
        Doubt::WideSpotOnLine,
        Doubt::TouchingSpots { spots: 4 },
        Doubt::ShadeTakenOut,
        Doubt::InPinkBackground,
        Doubt::FarFromScale { distance_mm: 120.5 },
        Doubt::UnverifiedPrint,
        Doubt::ScalesDisagree { used_mm: 3.0, other_mm: 4.5 },
        Doubt::FocalAssumed { focal_35mm: 26.0 },
        Doubt::PhotoChanged { stamped_px: Some([4000, 3000]), size_px: [2000, 1500] },
    ]
}

/// A list with every kind of uncertainty, place and call.
fn list() -> Vec<Indication> {
    let um = Length::from_um;
    let typed = Indication::typed("1", um(3010), um(1000)).at(Point::from_mm(4.5, -2.25), 30_000);
    let measured = |edge, scale| Spread::Standard { edge: um(edge), scale: um(scale) };
    let corners = [[0.0, 0.0], [7.0, 0.0], [7.0, 0.5], [0.0, 0.5]];
    let seen = Indication {
        id: "2".into(),
        length: Measured { value: um(7000), spread: measured(60, 90) },
        width: Measured { value: um(500), spread: measured(50, 6) },
        path: Some(um(7100)),
        edge_shift: Some(um(20)),
        place: Some(Place::Outline(corners.map(|[x, y]| Point::from_mm(x, y)).to_vec())),
        given_shape: Some(Shape::Linear),
        relevance: Relevance::Relevant,
        label: Some("crack".into()),
        doubts: every_doubt(),
    };
    let faint = Indication {
        id: "3".into(),
        length: Measured { value: um(2000), spread: Spread::Unclaimed },
        relevance: Relevance::NonRelevant,
        ..seen.clone()
    };
    vec![typed, seen, faint]
}

#[test]
fn a_list_and_its_judgement_read_back() {
    let list = list();
    same(&list);
    for id in nde_core::rules::builtin_ids() {
        let rules = RuleSet::builtin(id).unwrap();
        let how = JudgeOptions::default().with_thickness(Length::from_um(12_000));
        let judged: Judgement = judge(&list, &rules, &how).unwrap();
        same(&judged);
        same(&rules.rules().collect::<Vec<_>>());
    }
}

#[test]
fn a_doubt_is_written_by_its_word() {
    for doubt in every_doubt() {
        let text = serde_json::to_string(&doubt).unwrap();
        assert!(text.contains(&format!("\"{}\"", doubt.word())), "{text}");
    }
}

/// Whoever reads back knows every doubt there is: the list above lacks none and has none twice.
#[test]
fn every_doubt_is_every_doubt() {
    let said = serde_json::from_str::<Doubt>("\"no-such-doubt\"").unwrap_err().to_string();
    // unknown variant `no-such-doubt`, expected one of `cut-by-photo`, `cut-by-coat`, ...
    let known: Vec<&str> = said.split('`').skip(1).step_by(2).skip(1).collect();
    let listed: Vec<&str> = every_doubt().iter().map(Doubt::word).collect();
    assert_eq!(listed, known, "{said}");
}

#[test]
fn checks_of_a_picture_read_back_and_judge_alike() {
    let outcomes = [GateOutcome::Pass, GateOutcome::Warn, GateOutcome::Fail, GateOutcome::Unknown];
    let mut gates = outcomes.map(|outcome| Gate {
        name: outcome.word().into(),
        value: (outcome != GateOutcome::Unknown).then_some(0.15),
        unit: "mm".into(),
        warn: 0.1,
        fail: 0.2,
        outcome,
        remedy: "come closer".into(),
    });
    // Some checks only warn.
    gates[1].fail = f64::INFINITY;
    same(&gates.to_vec());
    let text = serde_json::to_string(&gates).unwrap();
    for word in ["pass", "warn", "fail", "unknown"] {
        assert!(text.contains(&format!(r#""outcome":"{word}""#)), "{text}");
    }
    let back: Vec<Gate> = serde_json::from_str(&text).unwrap();
    let rules = RuleSet::builtin("weld-vessel-si").unwrap();
    let of = |gates: &[Gate]| judge(&[], &rules, &JudgeOptions::default().with_gates(gates));
    assert_eq!(of(&gates).unwrap(), of(&back).unwrap());
    assert_eq!(of(&back).unwrap().verdict, nde_core::Verdict::Review);
}

#[test]
fn a_length_is_whole_nanometres_and_never_beyond_the_longest() {
    assert_eq!(serde_json::to_string(&Length::from_um(3010)).unwrap(), "3010000");
    let longest = Length::MAX.nm();
    assert_eq!(serde_json::from_str::<Length>(&longest.to_string()).unwrap(), Length::MAX);
    for text in [(longest + 1).to_string(), "-1".into(), "1.5".into(), "\"3 mm\"".into()] {
        assert!(serde_json::from_str::<Length>(&text).is_err(), "{text}");
    }
}
