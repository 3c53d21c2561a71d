//! A whole sheet, and sheets broken in every way.

use super::*;
use crate::clock::tests::moment;
use crate::talk::Dress;
use nde_core::technique::{self, Technique};

/// A sheet in which everything is recorded and every shipped technique is kept.
pub(super) const WHOLE: &str = r#"[part]
name = "Chainplate, port"
number = "CP-P-2"
material = "stainless-steel"
form = "wrought"
looked_for = ["crack", "service-crack"]
surface = "ground"
bare = true
area = "front face"

[procedure]
document = "LP-1 rev. 2"
technique = "tech-us-general"
rules = "weld-vessel-si"
limits = ["linear=3mm"]
scale = "card:99.2,99.4"
retest = "first"

[people]
tested_by = "first rigger"
evaluated_by = "second rigger"
qualification = "PT level 2"

[materials]
one_family = true
halogen = "0.01 %"
sulfur = "0.01 %"
cleaner = { product = "cleaner", batch = "C-1" }
developer = { product = "developer", batch = "D-3" }

[materials.penetrant]
product = "red"
batch = "P-2"
dwell = "10 min"

[conditions]
temperature = "21 C"
light = "1100 lx"

[steps.clean]
start = 2026-05-04T09:40:00+02:00
end = 2026-05-04T09:50:00+02:00   # wiped
margin = "30 mm"

[steps.penetrant]
start = 2026-05-04T10:00:00+02:00
end = 2026-05-04T10:12:00+02:00
dried = false

[steps.remove]
start = 2026-05-04T10:12:00+02:00
end = 2026-05-04T10:15:00+02:00
method = "dry-then-damp-cloth"

[steps.develop]
start = 2026-05-04T10:16:00+02:00
end = 2026-05-04T10:17:00+02:00
dry = 2026-05-04T10:18:00+02:00
form = "non-aqueous"
coat = "thin"

[steps.read]
start = 2026-05-04T10:30:00+02:00
end = 2026-05-04T10:40:00+02:00

[camera]
zone = "+02:00"
fast = "90 s"

[[zone]]
name = "upper eye"
photos = ["a.jpg", "b.jpg"]
height = "8mm"
regions = ["0,0 100,0 100,100"]

[[zone]]
name = "lower eye"
scale = "ticks:1mm"

[[note]]
at = 2026-05-04T10:31:00+02:00
text = "a red line at the eye"
"#;

fn faults(text: &str) -> Vec<SheetFault> {
    read(text, Some(moment("2026-05-05T00:00:00Z"))).expect_err("a fault was expected")
}

#[test]
fn a_whole_sheet_is_read_and_keeps_every_technique() {
    let sheet = read(WHOLE, Some(moment("2026-05-05T00:00:00Z"))).unwrap();
    assert!(sheet.missing().is_empty(), "{:?}", sheet.missing());
    assert_eq!(sheet.zones.len(), 2);
    assert_eq!((sheet.camera.ahead_seconds, sheet.camera.offset_seconds), (90, Some(7200)));
    for technique in technique::builtin_ids().filter_map(Technique::builtin) {
        let checked = technique::check(&sheet.process(), &technique);
        assert!(checked.stands(), "{}: {:?}", technique.id(), checked.findings());
    }
    let process = sheet.process();
    assert_eq!(process.dwell.unwrap().to_string(), "12 min");
    assert_eq!(process.since_dry.unwrap().last.to_string(), "22 min");
    assert_eq!(process.since_applied.unwrap().first.to_string(), "13 min");
}

#[test]
fn what_is_shown_holds_every_fact() {
    let text = shown(&read(WHOLE, None).unwrap(), Dress::Plain);
    for words in [
        "CP-P-2",
        "wrought",
        "crack, service-crack",
        "LP-1 rev. 2",
        "linear=3mm",
        "card:99.2,99.4",
        "batch P-2, dwell at least 10 min",
        "1100 lx",
        "(12:00), kept wet",
        "dry 10:18:00",
        "thin coat",
        "1:30 fast",
        "no photo: not inspected",
        "8mm",
        "a red line at the eye",
    ] {
        assert!(text.contains(words), "`{words}` is missing in\n{text}");
    }
}

/// What is replaced, by what, words of the fact, words of the remedy.
const BROKEN: [(&str, &str, &str, &str); 44] = [
    ("[part]", "[part", "not TOML", "check quotes"),
    (
        "material = \"stainless-steel\"",
        "material = \"stainless steel\"",
        "is not known for `material`",
        "stainless-steel",
    ),
    ("form = \"wrought\"", "form = \"rolled\"", "is not known for `form`", "wrought"),
    ("\"service-crack\"]", "\"fatigue\"]", "`fatigue` is not known", "service-crack"),
    (
        "bare = true",
        "bare = \"yes\"",
        "neither true nor false",
        "write bare = true or bare = false",
    ),
    ("bare = true", "baer = true", "`baer` is not known in [part]", "did you mean `bare`?"),
    ("name = \"Chainplate, port\"", "name = 7", "`name` is not a text", "name = \"...\""),
    ("number = \"CP-P-2\"", "colour = \"red\"", "`colour` is not known", "the keys here are"),
    ("[people]", "[peopel]", "`peopel` is not known in the sheet", "did you mean `people`?"),
    ("limits = [\"linear=3mm\"]", "limits = [\"linear=3\"]", "3", ""),
    ("limits = [\"linear=3mm\"]", "limits = [3]", "not a list of texts", "limits = [\"...\"]"),
    ("scale = \"card:99.2,99.4\"", "scale = \"ruler\"", "ruler", ""),
    ("retest = \"first\"", "retest = \"no\"", "is not known for `retest`", "full-process"),
    ("dwell = \"10 min\"", "dwell = \"10\"", "is not a time", "with its unit"),
    ("dwell = \"10 min\"", "dwell = \"10 mim\"", "is not a time", "10 min"),
    ("halogen = \"0.01 %\"", "halogen = \"traces\"", "is not a share", "0.1 %"),
    ("temperature = \"21 C\"", "temperature = \"21\"", "is not a temperature", "70 F"),
    ("temperature = \"21 C\"", "temperature = 21", "is not a text", "\"...\""),
    ("light = \"1100 lx\"", "light = \"bright\"", "is not an illuminance", "100 fc"),
    (
        "cleaner = { product = \"cleaner\", batch = \"C-1\" }",
        "cleaner = \"C-1\"",
        "`cleaner` is not a table",
        "[materials.cleaner]",
    ),
    ("batch = \"D-3\"", "lot = \"D-3\"", "`lot` is not known in [materials.developer]", "batch"),
    (
        "start = 2026-05-04T09:40:00+02:00",
        "start = 2026-05-04T09:40:00",
        "no zone offset",
        "+02:00",
    ),
    (
        "start = 2026-05-04T09:40:00+02:00",
        "start = 2026-05-04",
        "only half of a moment",
        "date, time and zone",
    ),
    (
        "start = 2026-05-04T09:40:00+02:00",
        "start = 09:40:00",
        "only half of a moment",
        "date, time and zone",
    ),
    (
        "start = 2026-05-04T09:40:00+02:00",
        "start = \"9:40\"",
        "`start` is not a time",
        "without quotes",
    ),
    (
        "start = 2026-05-04T09:40:00+02:00",
        "start = 2026-05-44T09:40:00+02:00",
        "not TOML",
        "the way times are written",
    ),
    (
        "end = 2026-05-04T09:50:00+02:00",
        "end = 2026-05-04T09:30:00+02:00",
        "the end of clean lies 10:00 before the start of clean",
        "correct",
    ),
    (
        "end = 2026-05-04T09:50:00+02:00",
        "end = 2026-05-04T10:05:00+02:00",
        "the start of penetrant lies 5:00 before the end of clean",
        "correct",
    ),
    (
        "start = 2026-05-04T10:12:00+02:00",
        "start = 2026-05-04T10:11:00+02:00",
        "the start of remove lies 1:00 before the end of penetrant",
        "correct",
    ),
    (
        "start = 2026-05-04T10:16:00+02:00",
        "start = 2026-05-04T10:14:00+02:00",
        "the start of develop lies 1:00 before the end of remove",
        "correct",
    ),
    (
        "dry = 2026-05-04T10:18:00+02:00",
        "dry = 2026-05-04T10:15:30+02:00",
        "dry before it is put on",
        "correct",
    ),
    (
        "start = 2026-05-04T10:30:00+02:00",
        "start = 2026-05-04T10:16:30+02:00",
        "the start of read lies 0:30 before the end of develop",
        "correct",
    ),
    (
        "end = 2026-05-04T10:40:00+02:00",
        "end = 2026-05-04T10:29:00+02:00",
        "the end of read lies 1:00 before the start of read",
        "correct",
    ),
    (
        "end = 2026-05-04T10:40:00+02:00",
        "end = 2026-06-04T10:40:00+02:00",
        "still to come",
        "clock",
    ),
    (
        "start = 2026-05-04T10:00:00+02:00",
        "start = 2025-05-04T10:00:00+02:00",
        "more than a day",
        "date",
    ),
    ("dried = false", "dried = \"no\"", "neither true nor false", "dried = true"),
    (
        "method = \"dry-then-damp-cloth\"",
        "method = \"spray\"",
        "`spray` is not known",
        "cleaner-sprayed",
    ),
    ("coat = \"thin\"", "coat = \"even\"", "`even` is not known", "thin, thick, running"),
    ("[steps.read]", "[steps.look]", "`look` is not known in [steps]", "read"),
    ("zone = \"+02:00\"", "zone = \"CEST\"", "not a zone offset", "+02:00"),
    ("name = \"upper eye\"", "label = \"upper eye\"", "`label` is not known in [[zone]]", "name"),
    ("name = \"lower eye\"", "name = \"Upper eye\"", "two zones are called", "a name of its own"),
    (
        "photos = [\"a.jpg\", \"b.jpg\"]",
        "photos = [\"../a.jpg\"]",
        "lies elsewhere",
        "beside the sheet",
    ),
    ("height = \"8mm\"", "height = \"8\"", "is not a height", "8mm"),
];

#[test]
fn each_broken_sheet_is_told_where_what_and_the_remedy() {
    for (good, bad, fact, remedy) in BROKEN {
        assert_eq!(WHOLE.matches(good).count().min(1), 1, "{good}");
        let text = WHOLE.replacen(good, bad, 1);
        let line = text.lines().zip(WHOLE.lines()).position(|(a, b)| a != b).unwrap() + 1;
        let found = faults(&text);
        let fault = found
            .iter()
            .find(|f| f.fact.contains(fact))
            .unwrap_or_else(|| panic!("`{fact}` is missing in {found:?} for {bad}"));
        assert!(fault.remedy.contains(remedy), "{bad}: {fault}");
        assert!(!fault.remedy.is_empty() && fault.column > 0, "{fault}");
        // A broken heading is noticed where the line ends; an order of times at the later one.
        assert!(
            fault.line.abs_diff(line) <= 1 || fact.contains("lies") || fact.contains("day"),
            "{bad}: {fault} (line {line})"
        );
    }
}

#[test]
fn a_photo_stands_in_one_zone_and_a_note_has_words() {
    let twice = WHOLE.replace("name = \"lower eye\"", "name = \"lower eye\"\nphotos = \"b.jpg\"");
    assert!(faults(&twice)[0].fact.contains("stands already in the zone `upper eye`"));
    let mute = WHOLE.replace("text = \"a red line at the eye\"", "");
    assert!(faults(&mute)[0].fact.contains("a note has no text"));
    let nameless = WHOLE.replace("name = \"lower eye\"", "");
    assert!(faults(&nameless)[0].fact.contains("zone 2 has no name"));
    let single = WHOLE.replace("[[note]]", "[note]");
    assert!(faults(&single)[0].remedy.contains("[[note]]"));
}

#[test]
fn all_faults_are_told_at_once_in_the_order_of_the_file() {
    let text = WHOLE
        .replace("bare = true", "baer = true")
        .replace("light = \"1100 lx\"", "light = \"1100\"")
        .replace("coat = \"thin\"", "coat = \"fat\"");
    let found = faults(&text);
    assert_eq!(found.len(), 3, "{found:?}");
    assert!(found.is_sorted_by_key(|f| f.line));
}

#[test]
fn a_blank_sheet_is_good_and_asks_for_everything() {
    let text = blank(&Blank::default());
    let sheet = read(&text, None).unwrap();
    assert_eq!(sheet.missing().len(), 12);
    let technique = Technique::builtin("tech-iso").unwrap();
    assert!(!technique::check(&sheet.process(), &technique).stands());
    let known = Blank {
        part: Some("a \"quoted\" part \\ with\nlines".into()),
        material: Some("bronze".into()),
        zones: vec![("eye".into(), vec!["a b.jpg".into()])],
        ..Blank::default()
    };
    let sheet = read(&blank(&known), None).unwrap();
    assert_eq!(sheet.part.name, known.part);
    assert_eq!(sheet.zones[0].photos, ["a b.jpg"]);
    let wrong = Blank { material: Some("wood".into()), ..Blank::default() };
    assert!(read(&blank(&wrong), None).is_err());
}

#[test]
fn hostile_sheets_end_in_faults() {
    for text in
        ["\u{0}", "a = [[[[[[[[[[", "[steps]\nclean = []", "zone = 3", "part = \"x\"", "[[part]]"]
    {
        assert!(!faults(text).is_empty(), "{text}");
    }
    let deep = format!("a = {}{}", "[".repeat(5000), "]".repeat(5000));
    assert!(!faults(&deep).is_empty());
}
