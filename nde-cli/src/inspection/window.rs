//! The moment a photo was taken, by its own stamp, against the developing window.

use crate::clock::{Moment, span};
use crate::sheet::Sheet;
use nde_core::technique::{ClockStart, Developer, Item, Technique};
use nde_core::{Confidence, Finding, Source, Verdict};
use nde_measure::TakenAt;

/// From here on a stamp is not late but of another day: the camera's clock. Chosen: far beyond the
/// longest developing time of any technique (4 h).
const OTHER_DAY: i64 = 12 * 3600;

/// Nothing where the photo lies in the window, or where the sheet or the technique do not say enough:
/// that is told by the process check already.
pub(super) fn findings(
    sheet: &Sheet,
    technique: Option<&Technique>,
    taken: &TakenAt,
) -> Vec<Finding> {
    let Some(technique) = technique else { return Vec::new() };
    let steps = &sheet.steps;
    let start = match technique.clock_start(steps.developer.unwrap_or(Developer::NonAqueous)) {
        ClockStart::Applied => steps.develop.end.or(steps.develop.start),
        ClockStart::Dry => steps.dry,
    };
    let Some(start) = start else { return Vec::new() };
    // Where neither the photo nor the sheet tells the camera's zone, it is the bench's.
    let zone = sheet.camera.offset_seconds.unwrap_or_else(|| start.offset_seconds());
    let Some(moment) = Moment::of_stamp(taken, Some(zone)) else { return Vec::new() };
    let moment = moment.later(-sheet.camera.ahead_seconds);
    let since = moment.seconds_since(start);
    if !(0..=OTHER_DAY).contains(&since) {
        let (by, side) = if since < 0 { (-since, "before") } else { (since, "after") };
        return vec![Finding {
            rule: "camera clock".into(),
            found: format!(
                "by its stamp the photo was taken {} {side} the developer was ready",
                span(by)
            ),
            limit: "a photo is taken after the developer is ready, the same day".into(),
            action: Some(
                "compare the camera's clock with the bench clock and write zone, fast or slow in [camera]"
                    .into(),
            ),
            ..review(chosen())
        }];
    }
    let [least, most] = technique.window(Item::Developing, &sheet.process());
    let seconds = |q: Option<nde_core::technique::Quantity>| q?.milliseconds().map(|ms| ms / 1000);
    let early = seconds(least).is_some_and(|s| since < s);
    let late = seconds(most).is_some_and(|s| since > s);
    let limit = match (early, late) {
        (true, _) => least.map(|q| format!(">= {q}")),
        (_, true) => most.map(|q| format!("<= {q}")),
        _ => return Vec::new(),
    };
    let source = technique
        .lines()
        .find(|line| line.item == Item::Developing.word() && Some(&line.limit) == limit.as_ref())
        .map_or_else(chosen, |line| line.source);
    vec![Finding {
        rule: "process: photo in the developing window".into(),
        found: format!("photographed {} after the developer was ready", span(since)),
        limit: limit.unwrap_or_default(),
        action: Some(
            "clean, test again and photograph inside the window; or, if the camera's clock is wrong, write it in [camera]"
                .into(),
        ),
        ..review(source)
    }]
}

fn review(source: Source) -> Finding {
    Finding {
        verdict: Verdict::Review,
        rule: String::new(),
        indications: Vec::new(),
        found: String::new(),
        limit: String::new(),
        source,
        action: None,
    }
}

fn chosen() -> Source {
    Source {
        text: "this tool: a photo is evidence of one moment of the process".into(),
        confidence: Confidence::Chosen,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(more: &str) -> Sheet {
        let text = format!(
            "[steps.develop]\nend = 2026-05-04T10:16:00+02:00\ndry = 2026-05-04T10:18:00+02:00\nform = \"non-aqueous\"\n{more}"
        );
        crate::sheet::read(&text, None).unwrap()
    }

    fn at(hour: u8, minute: u8, second: u8) -> TakenAt {
        TakenAt { year: 2026, month: 5, day: 4, hour, minute, second, offset_minutes: None }
    }

    fn rules(more: &str, technique: &str, taken: TakenAt) -> Vec<String> {
        let technique = Technique::builtin(technique).unwrap();
        findings(&sheet(more), Some(&technique), &taken).into_iter().map(|f| f.rule).collect()
    }

    const LATE: &str = "process: photo in the developing window";

    #[test]
    fn the_window_counts_from_the_dry_coat_and_its_ends_are_inside() {
        let iso = |h, m, s| rules("", "tech-iso", at(h, m, s));
        assert_eq!(iso(10, 27, 59), [LATE]);
        assert!(iso(10, 28, 0).is_empty() && iso(10, 48, 0).is_empty());
        assert_eq!(iso(10, 48, 1), [LATE]);
        // Common practice counts from the spray and knows no end.
        assert!(rules("", "tech-shop-practice", at(10, 26, 0)).is_empty());
        assert_eq!(rules("", "tech-shop-practice", at(10, 25, 59)), [LATE]);
    }

    #[test]
    fn zone_and_error_of_the_camera_clock_are_taken_off() {
        let fast = "[camera]\nfast = \"5 min\"\n";
        assert_eq!(rules(fast, "tech-iso", at(10, 30, 0)), [LATE]);
        assert!(rules(fast, "tech-iso", at(10, 33, 0)).is_empty());
        let utc = "[camera]\nzone = \"Z\"\n";
        assert!(rules(utc, "tech-iso", at(8, 33, 0)).is_empty());
        // The photo's own offset wins over the sheet's.
        let own = TakenAt { offset_minutes: Some(120), ..at(10, 33, 0) };
        assert!(rules(utc, "tech-iso", own).is_empty());
    }

    #[test]
    fn a_wrong_camera_clock_is_told_as_such() {
        assert_eq!(rules("", "tech-iso", at(10, 17, 0)), ["camera clock"]);
        let year = TakenAt { year: 2020, ..at(10, 33, 0) };
        assert_eq!(rules("", "tech-iso", year), ["camera clock"]);
        let next = TakenAt { day: 5, ..at(10, 33, 0) };
        assert_eq!(rules("", "tech-iso", next), ["camera clock"]);
        // A day that no calendar has tells nothing.
        assert!(rules("", "tech-iso", TakenAt { month: 13, ..at(10, 33, 0) }).is_empty());
    }

    #[test]
    fn each_finding_names_its_limit_its_source_and_the_way_out() {
        let technique = Technique::builtin("tech-us-pressure").unwrap();
        let found = findings(&sheet(""), Some(&technique), &at(11, 18, 1));
        assert_eq!(
            (found[0].found.as_str(), found[0].limit.as_str()),
            ("photographed 1:00:01 after the developer was ready", "<= 60 min")
        );
        assert!(found[0].source.text.contains("T-676.1"));
        assert!(found[0].action.as_ref().unwrap().contains("[camera]"));
        assert!(findings(&sheet(""), None, &at(11, 0, 0)).is_empty());
    }
}
