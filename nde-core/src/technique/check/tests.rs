//! Every limit of every shipped technique on the limit, just inside and just outside.

use super::*;
use crate::side::Side;
use crate::source::Confidence;
use crate::technique::{
    Developer, DeveloperCoat, Dimension, Drying, Flaw, Form, Kind, Material, Quantity, Reading,
    Removal, Retest, builtin_ids,
};

fn q(text: &str, wanted: Dimension) -> Quantity {
    Quantity::parse(text, wanted).unwrap()
}

fn minutes(text: &str) -> Quantity {
    q(&format!("{text} min"), Dimension::Time)
}

fn reading(first: &str, last: &str) -> Option<Reading> {
    Some(Reading { first: minutes(first), last: minutes(last) })
}

/// A careful test of a stainless weld that keeps every shipped technique.
fn careful() -> Process {
    Process {
        material: Some(Material::StainlessSteel),
        form: Some(Form::Weld),
        flaws: vec![Flaw::Crack],
        surface_temperature: Some(q("20 C", Dimension::Temperature)),
        bare: Some(true),
        cleaned_margin: Some(q("30 mm", Dimension::Length)),
        drying: Some(Drying::Evaporated(minutes("8"))),
        one_family: Some(true),
        halogen: Some(q("0.01 %", Dimension::Share)),
        sulfur: Some(q("0.01 %", Dimension::Share)),
        dwell: Some(minutes("12")),
        maker_dwell: Some(minutes("10")),
        penetrant_dried: Some(false),
        removal: Some(Removal::DryThenDampCloth),
        rinse_pressure: None,
        rinse_temperature: None,
        developer: Some(Developer::NonAqueous),
        coat: Some(DeveloperCoat::Thin),
        since_applied: reading("14", "24"),
        since_dry: reading("12", "22"),
        light: Some(q("1100 lx", Dimension::Light)),
        retest: Some(Retest::First),
    }
}

fn outcome(process: &Process, technique: &str, item: &str) -> Outcome {
    let technique = Technique::builtin(technique).unwrap();
    check(process, &technique)
        .items
        .iter()
        .filter(|it| it.item == item && !it.advice)
        .map(|it| it.outcome)
        .max()
        .unwrap_or_else(|| panic!("{item} is not checked"))
}

/// One fact changed.
type Edit = fn(&mut Process);
/// One fact set to a value.
type Change<'a> = &'a dyn Fn(&mut Process, &str);

fn hold(technique: &str, item: &str, change: Change<'_>, cases: &[(&str, Outcome)]) {
    for (value, wanted) in cases {
        let mut process = careful();
        change(&mut process, value);
        assert_eq!(outcome(&process, technique, item), *wanted, "{technique} {item} {value}");
    }
}

use Outcome::{Met, NotCovered, NotMet, NotRecorded};

#[test]
fn the_careful_test_keeps_every_technique() {
    for technique in builtin_ids().filter_map(Technique::builtin) {
        let checked = check(&careful(), &technique);
        assert!(checked.stands(), "{}: {:?}", technique.id(), checked.findings());
        assert_eq!(checked.held_with(Verdict::Accept), Verdict::Accept);
        assert!(checked.findings().is_empty());
    }
}

#[test]
fn nothing_recorded_is_never_accepted_and_a_reject_stays() {
    for technique in builtin_ids().filter_map(Technique::builtin) {
        let checked = check(&Process::default(), &technique);
        assert!(checked.items.iter().all(|it| it.outcome == NotRecorded), "{}", technique.id());
        assert_eq!(checked.held_with(Verdict::Accept), Verdict::Review);
        assert_eq!(checked.held_with(Verdict::Review), Verdict::Review);
        assert_eq!(checked.held_with(Verdict::Reject), Verdict::Reject);
        assert!(checked.findings().iter().all(|f| f.action.is_some()));
    }
}

/// Each fact in turn is left out: exactly that is asked for, and the test is no longer accepted.
#[test]
fn each_fact_left_out_is_asked_for() {
    let clear: [(&str, &str, Edit); 16] = [
        ("tech-iso", "surface-temperature", |p| p.surface_temperature = None),
        ("tech-shop-practice", "bare-surface", |p| p.bare = None),
        ("tech-us-pressure", "cleaned-margin", |p| p.cleaned_margin = None),
        ("tech-shop-practice", "cleaner-drying", |p| p.drying = None),
        ("tech-iso", "one-family", |p| p.one_family = None),
        ("tech-us-pressure", "halogen", |p| p.halogen = None),
        ("tech-us-general", "dwell", |p| p.dwell = None),
        ("tech-iso", "maker-dwell", |p| p.maker_dwell = None),
        ("tech-iso", "kept-wet", |p| p.penetrant_dried = None),
        ("tech-iso", "excess-removal", |p| p.removal = None),
        ("tech-iso", "developer-form", |p| p.developer = None),
        ("tech-shop-practice", "developer-coat", |p| p.coat = None),
        ("tech-iso", "developing", |p| p.since_dry = None),
        ("tech-shop-practice", "developing", |p| p.since_applied = None),
        ("tech-iso", "light", |p| p.light = None),
        ("tech-iso", "retest", |p| p.retest = None),
    ];
    for (technique, item, clear) in clear {
        let mut process = careful();
        clear(&mut process);
        assert_eq!(outcome(&process, technique, item), NotRecorded, "{technique} {item}");
        let checked = check(&process, &Technique::builtin(technique).unwrap());
        assert_eq!(checked.held_with(Verdict::Accept), Verdict::Review);
        assert!(checked.items.iter().all(|it| it.remedy.is_some() == (it.outcome != Met)));
    }
}

#[test]
fn temperatures_at_the_limit_are_kept() {
    let set: Change<'_> = &|p, v| p.surface_temperature = Some(q(v, Dimension::Temperature));
    let item = "surface-temperature";
    hold(
        "tech-iso",
        item,
        set,
        &[("10.0 C", Met), ("9.9 C", NotMet), ("50.0 C", Met), ("50.1 C", NotMet), ("50 F", Met)],
    );
    hold(
        "tech-us-pressure",
        item,
        set,
        &[("5 C", Met), ("4.9 C", NotMet), ("52 C", Met), ("52.1 C", NotMet)],
    );
    hold(
        "tech-us-general",
        item,
        set,
        &[
            ("40 F", Met),
            ("39.9 F", NotMet),
            ("125 F", Met),
            ("125.1 F", NotMet),
            ("4.4 C", NotMet),
        ],
    );
}

#[test]
fn dwell_times_at_the_limit_are_kept() {
    let set: Change<'_> = &|p, v| p.dwell = Some(minutes(v));
    hold(
        "tech-iso",
        "dwell",
        set,
        &[("4.9", NotMet), ("5.0", Met), ("60.0", Met), ("60.1", NotMet)],
    );
    hold(
        "tech-us-general",
        "dwell",
        set,
        &[("4.9", NotMet), ("5", Met), ("120", Met), ("120.1", NotMet)],
    );
    hold("tech-us-pressure", "dwell", set, &[("4.9", NotMet), ("5", Met)]);
    hold(
        "tech-shop-practice",
        "dwell",
        set,
        &[("1", NotMet), ("9.9", NotMet), ("10", Met), ("20", Met)],
    );
    hold("tech-iso", "maker-dwell", set, &[("9.9", NotMet), ("10", Met)]);
}

#[test]
fn the_dwell_follows_material_form_and_temperature() {
    let cases = [
        // technique, material, form, temperature, kept at, not kept at
        ("tech-us-general", Material::Aluminium, Form::Casting, "20 C", "5", "4.9"),
        ("tech-us-general", Material::Steel, Form::Wrought, "20 C", "10", "9.9"),
        ("tech-us-general", Material::Steel, Form::Wrought, "45 F", "20", "19.9"),
        ("tech-us-general", Material::Bronze, Form::Casting, "40 F", "20", "19.9"),
        ("tech-us-general", Material::Bronze, Form::Casting, "49.9 F", "20", "19.9"),
        ("tech-us-general", Material::Bronze, Form::Casting, "50 F", "5", "4.9"),
        ("tech-us-pressure", Material::Steel, Form::Weld, "50 F", "5", "4.9"),
        ("tech-us-pressure", Material::Steel, Form::Weld, "45 F", "10", "9.9"),
        ("tech-us-pressure", Material::Titanium, Form::Wrought, "20 C", "10", "9.9"),
        ("tech-us-pressure", Material::Titanium, Form::Wrought, "5 C", "20", "19.9"),
        ("tech-us-pressure", Material::Glass, Form::Casting, "9.9 C", "10", "9.9"),
        ("tech-us-general", Material::Carbide, Form::Weld, "20 C", "5", "4.9"),
    ];
    for (technique, material, form, temperature, kept, short) in cases {
        for (dwell, wanted) in [(kept, Met), (short, NotMet)] {
            let process = Process {
                material: Some(material),
                form: Some(form),
                surface_temperature: Some(q(temperature, Dimension::Temperature)),
                dwell: Some(minutes(dwell)),
                ..careful()
            };
            let found = outcome(&process, technique, "dwell");
            assert_eq!(found, wanted, "{technique} {material:?} {form:?} {temperature} {dwell}");
        }
    }
}

#[test]
fn an_unknown_material_is_asked_for_and_another_one_is_not_covered() {
    let unknown = Process { material: None, ..careful() };
    // Twelve minutes keep every line of the table, whatever the part is made of.
    assert_eq!(outcome(&unknown, "tech-us-general", "dwell"), Met);
    let short = Process { dwell: Some(minutes("6")), form: None, ..careful() };
    assert_eq!(outcome(&short, "tech-us-general", "dwell"), NotRecorded);
    let other = Process { material: Some(Material::Other), ..careful() };
    assert_eq!(outcome(&other, "tech-us-general", "dwell"), NotCovered);
    let checked = check(&other, &Technique::builtin("tech-us-general").unwrap());
    assert_eq!(checked.held_with(Verdict::Accept), Verdict::Review);
    // Techniques whose dwell asks for no material cover it.
    assert_eq!(outcome(&other, "tech-iso", "dwell"), Met);
}

#[test]
fn the_developing_window_has_its_own_clock() {
    let dry: Change<'_> = &|p, v| p.since_dry = reading(v, v);
    hold(
        "tech-us-pressure",
        "developing",
        dry,
        &[("9.9", NotMet), ("10.0", Met), ("60.0", Met), ("60.1", NotMet)],
    );
    hold(
        "tech-iso",
        "developing",
        dry,
        &[("9.9", NotMet), ("10", Met), ("30", Met), ("30.1", NotMet)],
    );
    hold(
        "tech-us-general",
        "developing",
        dry,
        &[("9.9", NotMet), ("10", Met), ("60", Met), ("60.1", NotMet)],
    );
    let applied: Change<'_> = &|p, v| p.since_applied = reading(v, v);
    hold(
        "tech-shop-practice",
        "developing",
        applied,
        &[("9.9", NotMet), ("10", Met), ("300", Met)],
    );
    // A wet coat's clock starts when it is dry, a powder's when it is on.
    let mut early = careful();
    early.since_applied = reading("11", "20");
    early.since_dry = reading("9", "18");
    assert_eq!(outcome(&early, "tech-iso", "developing"), NotMet);
    early.developer = Some(Developer::DryPowder);
    assert_eq!(outcome(&early, "tech-iso", "developing"), Met);
    // The last look counts too.
    let late = Process { since_dry: reading("12", "60.1"), ..careful() };
    assert_eq!(outcome(&late, "tech-us-pressure", "developing"), NotMet);
    let aqueous = Process {
        developer: Some(Developer::WaterSuspended),
        since_dry: reading("12", "120"),
        ..careful()
    };
    assert_eq!(outcome(&aqueous, "tech-us-general", "developing"), Met);
    let aqueous = Process { since_dry: reading("12", "120.1"), ..aqueous };
    assert_eq!(outcome(&aqueous, "tech-us-general", "developing"), NotMet);
}

#[test]
fn light_rinse_margin_and_purity_at_the_limit() {
    let light: Change<'_> = &|p, v| p.light = Some(q(v, Dimension::Light));
    hold("tech-iso", "light", light, &[("499 lx", NotMet), ("500 lx", Met)]);
    for technique in ["tech-us-general", "tech-us-pressure"] {
        hold(
            technique,
            "light",
            light,
            &[("1075 lx", NotMet), ("1076 lx", Met), ("100 fc", Met), ("99 fc", NotMet)],
        );
    }
    let rinse: Change<'_> = &|p, v| {
        p.removal = Some(Removal::WaterRinse);
        p.rinse_temperature = Some(q("20 C", Dimension::Temperature));
        p.rinse_pressure = Some(q(v, Dimension::Pressure));
    };
    hold(
        "tech-us-pressure",
        "rinse-pressure",
        rinse,
        &[("350 kPa", Met), ("351 kPa", NotMet), ("50 psi", Met)],
    );
    hold("tech-us-general", "rinse-pressure", rinse, &[("40 psi", Met), ("40.1 psi", NotMet)]);
    let warm: Change<'_> = &|p, v| {
        p.removal = Some(Removal::WaterRinse);
        p.rinse_temperature = Some(q(v, Dimension::Temperature));
    };
    hold("tech-us-pressure", "rinse-temperature", warm, &[("110 F", Met), ("110.1 F", NotMet)]);
    hold("tech-us-general", "rinse-temperature", warm, &[("100 F", Met), ("100.1 F", NotMet)]);
    let margin: Change<'_> = &|p, v| p.cleaned_margin = Some(q(v, Dimension::Length));
    hold(
        "tech-us-pressure",
        "cleaned-margin",
        margin,
        &[("25 mm", Met), ("24.9 mm", NotMet), ("1 in", Met)],
    );
    let halogen: Change<'_> = &|p, v| p.halogen = Some(q(v, Dimension::Share));
    hold("tech-us-pressure", "halogen", halogen, &[("0.1 %", Met), ("0.101 %", NotMet)]);
    let sulfur: Change<'_> = &|p, v| {
        p.material = Some(Material::NickelAlloy);
        p.sulfur = Some(q(v, Dimension::Share));
    };
    hold("tech-us-pressure", "sulfur", sulfur, &[("0.1 %", Met), ("0.101 %", NotMet)]);
    let drying: Change<'_> = &|p, v| p.drying = Some(Drying::Evaporated(minutes(v)));
    hold("tech-shop-practice", "cleaner-drying", drying, &[("4.9", NotMet), ("5", Met)]);
    let blown = Process { drying: Some(Drying::Blown), ..careful() };
    assert_eq!(outcome(&blown, "tech-shop-practice", "cleaner-drying"), Met);
}

#[test]
fn words_and_answers_that_break_a_technique() {
    let broken: [(&[&str], &str, Edit); 8] = [
        (
            &["tech-iso", "tech-us-general", "tech-us-pressure", "tech-shop-practice"],
            "excess-removal",
            |p| {
                p.removal = Some(Removal::CleanerSprayed);
            },
        ),
        (
            &["tech-iso", "tech-us-general", "tech-us-pressure", "tech-shop-practice"],
            "kept-wet",
            |p| {
                p.penetrant_dried = Some(true);
            },
        ),
        (
            &["tech-iso", "tech-us-general", "tech-us-pressure", "tech-shop-practice"],
            "developer-form",
            |p| {
                p.developer = Some(Developer::DryPowder);
            },
        ),
        (&["tech-iso", "tech-us-general", "tech-us-pressure"], "one-family", |p| {
            p.one_family = Some(false);
        }),
        (&["tech-iso", "tech-us-general", "tech-us-pressure"], "retest", |p| {
            p.retest = Some(Retest::Partly);
        }),
        (&["tech-shop-practice"], "bare-surface", |p| p.bare = Some(false)),
        (&["tech-shop-practice"], "developer-coat", |p| p.coat = Some(DeveloperCoat::Running)),
        (&["tech-shop-practice"], "developer-coat", |p| p.coat = Some(DeveloperCoat::Thick)),
    ];
    for (techniques, item, change) in broken {
        for technique in techniques {
            let mut process = careful();
            change(&mut process);
            assert_eq!(outcome(&process, technique, item), NotMet, "{technique} {item}");
        }
    }
    let twice = Process { retest: Some(Retest::FullProcess), ..careful() };
    assert_eq!(outcome(&twice, "tech-iso", "retest"), Met);
}

#[test]
fn advice_is_listed_and_decides_nothing() {
    let long = Process { dwell: Some(minutes("15.1")), ..careful() };
    let checked = check(&long, &Technique::builtin("tech-shop-practice").unwrap());
    let advice: Vec<&Checked> = checked.items.iter().filter(|it| it.advice).collect();
    assert_eq!(advice.len(), 1);
    assert_eq!((advice[0].outcome, checked.stands()), (NotMet, true));
    let at = Process { dwell: Some(minutes("15")), ..careful() };
    let checked = check(&at, &Technique::builtin("tech-shop-practice").unwrap());
    assert!(checked.items.iter().all(|it| it.outcome == Met));
}

/// No number of a shipped technique goes without a boundary: each limit in turn is met on its own
/// number and broken one thousandth of its unit beyond it.
#[test]
fn every_number_decides_at_its_own_side() {
    let mut seen = 0;
    for technique in builtin_ids().filter_map(Technique::builtin) {
        for limit in &technique.limits {
            let Some((side, bound)) = limit.number() else { continue };
            assert!(matches!(side, Side::AtLeast | Side::AtMost), "a limit itself is kept");
            assert!(keeps(side, bound, bound));
            let text = bound.to_string();
            let (number, unit) = text.split_once(' ').unwrap();
            let step = if side == Side::AtLeast { -0.001 } else { 0.001 };
            let beyond = format!("{:.3} {unit}", number.parse::<f64>().unwrap() + step);
            assert!(!keeps(side, q(&beyond, bound.dimension()), bound), "{beyond}");
            seen += 1;
        }
        for limit in &technique.limits {
            assert_eq!(limit.number().is_some(), matches!(limit.item.kind(), Kind::Number(_)));
        }
    }
    assert!(seen > 40, "{seen} numbers were looked at");
}

#[test]
fn findings_carry_found_limit_source_and_remedy() {
    let hot =
        Process { surface_temperature: Some(q("50.1 C", Dimension::Temperature)), ..careful() };
    let findings = check(&hot, &Technique::builtin("tech-iso").unwrap()).findings();
    let [finding] = &findings[..] else { panic!("{findings:?}") };
    assert_eq!((finding.found.as_str(), finding.limit.as_str()), ("50.1 C", "<= 50 C"));
    assert_eq!(finding.source.confidence, Confidence::Secondary);
    assert!(finding.action.as_ref().unwrap().contains("test again"));
}

#[test]
fn the_bench_clock_gets_its_window() {
    let window = |technique: &str, item, process: &Process| {
        Technique::builtin(technique)
            .unwrap()
            .window(item, process)
            .map(|it| it.map(|it| it.to_string()))
    };
    let min = |text: &str| Some(text.to_owned());
    assert_eq!(window("tech-iso", Item::Dwell, &careful()), [min("10 min"), min("60 min")]);
    let no_maker = Process { maker_dwell: None, ..careful() };
    assert_eq!(window("tech-iso", Item::Dwell, &no_maker), [min("5 min"), min("60 min")]);
    assert_eq!(
        window("tech-us-general", Item::Developing, &careful()),
        [min("10 min"), min("1 h")]
    );
    assert_eq!(window("tech-shop-practice", Item::Dwell, &careful()), [min("10 min"), None]);
    // An unknown part: the longest of the table.
    assert_eq!(window("tech-us-pressure", Item::Dwell, &Process::default()), [min("20 min"), None]);
}
