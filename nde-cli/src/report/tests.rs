//! The page as bytes: harmless, complete, readable without a script.

use super::html::Text;
use super::*;
use crate::args::{GuardChoice, WeldArgs};
use crate::record::{Case, Failure, Part, Record, Tally};
use crate::settings::Criteria;
use nde_core::{Indication, JudgeOptions, Length, Verdict, judge};

const HOSTILE: &str = "../<script>alert('x')</script>\n\"=cmd|'.jpg";

/// A typed list stands for any case: what it says is the same text.
fn case(name: &str, rules: Option<&Criteria>) -> Case {
    let long = Indication::typed("<i>1", Length::from_um(9000), Length::from_um(1000));
    let judged = rules
        .and_then(|c| c.rules.as_ref())
        .map(|set| judge(std::slice::from_ref(&long), set, &JudgeOptions::default()).unwrap());
    Case::of_list(name, &"ab".repeat(32), &[long], judged.as_ref())
}

fn record(count: usize) -> Record {
    let criteria = Criteria::resolve(
        Some("weld-vessel-si"),
        &[],
        GuardChoice::AcceptSide,
        &WeldArgs::default(),
    )
    .unwrap();
    let cases: Vec<Case> = (0..count).map(|_| case(HOSTILE, Some(&criteria))).collect();
    let failures = vec![Failure { name: HOSTILE.to_owned(), why: "no <card>".to_owned() }];
    Record {
        criteria,
        cases: Box::new(cases),
        failures,
        units: crate::args::Units::Mm,
        part: None,
        command: Vec::new(),
    }
}

fn written(record: &Record, dir: &Path) -> String {
    let mut staged = Staged::default();
    write(dir, record, None, &mut staged).unwrap();
    staged.place().unwrap();
    std::fs::read_to_string(dir.join("report.html")).unwrap()
}

fn report(count: usize) -> (tempfile::TempDir, String) {
    let dir = tempfile::tempdir().unwrap();
    let text = written(&record(count), dir.path());
    (dir, text)
}

#[test]
fn hostile_names_are_text_and_nothing_else() {
    let (_dir, html) = report(1);
    assert!(html.contains(&Text(HOSTILE).to_string()));
    assert!(!html.contains("<script>alert") && !html.contains("<i>1") && !html.contains("<card>"));
    assert_eq!(html.matches("<script>").count(), 1, "the page's own");
}

#[test]
fn nothing_is_fetched_and_everything_promised_is_there() {
    let (_dir, html) = report(2);
    for outside in ["http://", "https://", "src=\"//", "url(", "@import", "<link", "<iframe"] {
        let left = html.replace("http://www.w3.org/2000/svg", "");
        assert!(!left.contains(outside), "{outside}");
    }
    for part in [
        "<html lang=\"en\"",
        "What was tested, and how",
        "What was judged by",
        "VIII-1 App. 8, 8-4(a)",
        "Could not be done",
        "How sure the sizes are",
        "qualified person",
        "SHA-256",
        "Date, signature",
        "limit none allowed",
        "<th scope=\"row\">",
        "aria-label=\"Length against width",
    ] {
        assert!(html.contains(part), "`{part}` is missing");
    }
}

/// A zone that nobody looked at, or a photo that cannot be read, is never an accepted part.
#[test]
fn the_headline_is_never_better_than_what_was_seen() {
    let of = |part: Option<Verdict>, could_not: usize, accepted: usize| {
        let mut record = record(0);
        record.failures.truncate(could_not);
        record.part = part.map(|verdict| Part { verdict: Some(verdict), ..Part::default() });
        record.verdict(&Tally { accept: accepted, could_not, ..Tally::default() })
    };
    assert_eq!(of(None, 0, 2), Some(Verdict::Accept));
    assert_eq!(of(None, 1, 2), Some(Verdict::Review));
    assert_eq!(of(Some(Verdict::Review), 0, 2), Some(Verdict::Review));
    assert_eq!(of(Some(Verdict::Reject), 1, 2), Some(Verdict::Reject));
    assert_eq!(of(None, 1, 0), None, "nothing was judged");
    let mut record = record(0);
    record.failures.clear();
    record.part = Some(Part { verdict: Some(Verdict::Review), ..Part::default() });
    let dir = tempfile::tempdir().unwrap();
    let html = written(&record, dir.path());
    let lead = html.split("<p class=\"lead\">").nth(1).unwrap();
    assert!(lead.starts_with("<span class=\"v v-review\">review"), "{}", &lead[..80]);
}

#[test]
fn a_sheet_fills_what_was_tested() {
    let mut bytes = Vec::new();
    let checks = vec![tested::Checked {
        name: "dwell".to_owned(),
        found: "12 min".to_owned(),
        limit: ">= 10 min".to_owned(),
        source: "own procedure".to_owned(),
        outcome: "met".to_owned(),
    }];
    let facts = vec![["part".to_owned(), "chainplate <port>".to_owned()]];
    tested::write(Some(&Tested { facts, checks }), &mut bytes).unwrap();
    let html = String::from_utf8(bytes).unwrap();
    assert!(html.contains("chainplate &lt;port&gt;") && html.contains("&gt;= 10 min"), "{html}");
    assert!(!html.contains("by hand"));
}

#[test]
fn many_photos_have_pages_of_their_own() {
    let (dir, html) = report(MOST_IN_ONE + 1);
    assert!(html.len() < 60_000, "the overview stays small: {}", html.len());
    assert!(html.contains("href=\"reports/photo.html\""));
    assert!(dir.path().join("reports/photo.html").exists());
}
