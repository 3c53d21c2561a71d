//! The bench clock under a clock of its own.

use super::*;
use crate::clock::tests::moment;
use crate::sheet::tests::WHOLE;
use std::collections::VecDeque;
use std::path::PathBuf;

/// A clock that goes on by so many seconds before each event.
struct Fake {
    now: Moment,
    script: VecDeque<(i64, Event)>,
    live: bool,
}

impl Fake {
    fn new(script: &[(i64, &str)]) -> Self {
        let event = |word: &str| match word {
            "tick" => Event::Tick,
            line => Event::Line(line.to_owned()),
        };
        Self {
            now: moment("2026-05-04T10:00:00+02:00"),
            script: script.iter().map(|(s, word)| (*s, event(word))).collect(),
            live: false,
        }
    }
}

impl Bench for Fake {
    fn now(&self) -> Moment {
        self.now
    }

    fn next(&mut self) -> Event {
        match self.script.pop_front() {
            Some((seconds, event)) => {
                self.now = self.now.later(seconds);
                event
            }
            None => Event::End,
        }
    }

    fn is_live(&self) -> bool {
        self.live
    }
}

struct Ran {
    ended: Walk,
    log: String,
    talk: String,
    sheet: Sheet,
    text: String,
}

struct Place {
    _dir: tempfile::TempDir,
    path: PathBuf,
}

/// The whole sheet without the times from `step` on.
fn place(from: &str) -> Place {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("sheet.toml");
    let mut gone = false;
    let kept = |line: &&str| {
        gone |= line.trim() == format!("[steps.{from}]");
        !(gone && ["start =", "end =", "dry ="].iter().any(|k| line.starts_with(k)))
    };
    std::fs::write(&path, WHOLE.lines().filter(kept).collect::<Vec<_>>().join("\n")).unwrap();
    Place { _dir: dir, path }
}

fn run(place: &Place, bench: &mut Fake) -> Ran {
    let (mut out, mut talk) = (Vec::new(), Vec::new());
    let (sheet, _) = store::load(&place.path, None).unwrap();
    let technique = Technique::builtin("tech-us-general").unwrap();
    let mut streams = Streams::plain(&mut out, &mut talk);
    let ended = walk(&place.path, sheet, Some(&technique), bench, &mut streams).unwrap();
    let (sheet, text) = store::load(&place.path, None).unwrap();
    Ran {
        ended,
        log: String::from_utf8(out).unwrap(),
        talk: String::from_utf8(talk).unwrap(),
        sheet,
        text,
    }
}

#[test]
fn a_whole_test_is_logged_as_it_happens() {
    let place = place("clean");
    let ran = run(
        &place,
        &mut Fake::new(&[
            (0, ""),   // cleaning begins
            (120, ""), // last cleaner off
            (400, ""), // penetrant on
            (300, "tick"),
            (480, ""), // removal after 13 min
            (90, ""),  // excess off
            (30, ""),  // developer goes on
            (20, "note sprayed twice"),
            (10, ""),  // developer is on
            (60, ""),  // dry
            (660, ""), // first look
            (240, ""), // last look
        ]),
    );
    assert_eq!(ran.ended, Walk::Done);
    assert_eq!(ran.log.lines().count(), 11, "{}", ran.log);
    assert!(ran.log.starts_with("2026-05-04T10:00:00+02:00  cleaning begins\n"), "{}", ran.log);
    let process = ran.sheet.process();
    assert_eq!(process.dwell.unwrap().to_string(), "13 min");
    assert_eq!(process.since_dry.unwrap().first.to_string(), "11 min");
    assert_eq!(ran.sheet.steps.remove.start, ran.sheet.steps.penetrant.end);
    assert_eq!(ran.sheet.notes.last().unwrap().text, "sprayed twice");
    // Comments and everything else of the sheet stay.
    assert!(
        ran.text.contains("method = \"dry-then-damp-cloth\"")
            && ran.text.contains("fast = \"90 s\"")
    );
    assert!(ran.talk.contains("not before 10:18:40"), "{}", ran.talk);
    let again = run(&place, &mut Fake::new(&[]));
    assert_eq!((again.ended, again.text), (Walk::Done, ran.text));
}

#[test]
fn an_early_enter_is_asked_back_and_then_logged_as_it_was() {
    let place = place("penetrant");
    let ran = run(&place, &mut Fake::new(&[(0, ""), (240, ""), (1, "")]));
    assert!(ran.talk.contains("6:00 too early"), "{}", ran.talk);
    assert_eq!(ran.sheet.process().dwell.unwrap().to_string(), "4.016 min");
    assert_eq!(ran.ended, Walk::Left);
}

#[test]
fn earliest_and_latest_are_rung_once() {
    let place = place("penetrant");
    let mut bench = Fake::new(&[
        (0, ""),
        (599, "tick"),
        (1, "tick"),
        (1, "tick"),
        (6540, "tick"), // 59 s left of two hours
        (1, "tick"),
        (59, "tick"),
        (5, "tick"),
        (5, "quit"),
    ]);
    bench.live = true;
    let ran = run(&place, &mut bench);
    assert_eq!(ran.talk.matches("the least time is over").count(), 1, "{}", ran.talk);
    assert_eq!(ran.talk.matches("0:59 left").count(), 1, "{}", ran.talk);
    assert_eq!(ran.talk.matches("the latest moment is past").count(), 1);
    assert_eq!(ran.talk.matches('\u{7}').count(), 3);
    assert!(ran.talk.contains("earliest in 0:01") && ran.talk.contains("latest in 1:50:01"));
    assert!(ran.talk.contains("too late by 0:01"), "{}", ran.talk);
    assert_eq!(ran.ended, Walk::Left);
}

#[test]
fn a_plain_pipe_gets_no_bell_and_no_countdown() {
    let ran = run(&place("penetrant"), &mut Fake::new(&[(0, ""), (601, "tick"), (0, "quit")]));
    assert!(ran.talk.contains("the least time is over"));
    assert!(!ran.talk.contains('\u{7}') && !ran.talk.contains('\r'));
}

#[test]
fn a_closed_lid_costs_nothing() {
    let place = place("penetrant");
    let first = run(&place, &mut Fake::new(&[(0, "")]));
    assert_eq!(first.ended, Walk::Left);
    // The machine slept for eleven minutes; the next run counts from the disk.
    let mut later = Fake::new(&[(0, "tick"), (0, "")]);
    later.now = later.now.later(11 * 60);
    let ran = run(&place, &mut later);
    assert!(ran.talk.contains("penetrant goes on at 10:00:00, 11:00 ago"), "{}", ran.talk);
    assert_eq!(ran.sheet.process().dwell.unwrap().to_string(), "11 min");
}

#[test]
fn a_clock_set_back_is_refused_and_the_sheet_stays_good() {
    let place = place("penetrant");
    let mut bench = Fake::new(&[(0, ""), (-3600, ""), (0, "nonsense"), (4300, "")]);
    let ran = run(&place, &mut bench);
    assert!(ran.talk.contains("set the clock, then press Enter"), "{}", ran.talk);
    assert_eq!(ran.sheet.process().dwell.unwrap().milliseconds(), Some(700_000));
}

#[test]
fn edits_made_meanwhile_stay_and_a_dry_powder_does_not_dry() {
    let place = place("develop");
    let text = std::fs::read_to_string(&place.path).unwrap();
    let powder = text.replace("form = \"non-aqueous\"", "form = \"dry-powder\"");
    std::fs::write(&place.path, &powder).unwrap();
    let (mut out, mut talk) = (Vec::new(), Vec::new());
    let (sheet, _) = store::load(&place.path, None).unwrap();
    // Someone writes a light reading after the walk has read the sheet.
    std::fs::write(&place.path, powder.replace("1100 lx", "1300 lx")).unwrap();
    let mut bench = Fake::new(&[(1200, ""), (60, "")]);
    walk(&place.path, sheet, None, &mut bench, &mut Streams::plain(&mut out, &mut talk)).unwrap();
    let text = std::fs::read_to_string(&place.path).unwrap();
    assert!(text.contains("1300 lx") && text.contains("start = 2026-05-04T10:20:00+02:00"));
    assert!(String::from_utf8(talk).unwrap().contains("9/10  first look"));
}
