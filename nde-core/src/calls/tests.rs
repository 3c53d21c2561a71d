//! Calls keep their indication, their reason and their order.

use super::*;
use crate::doubt::Doubt;
use crate::indication::Shape;

fn mm(text: &str) -> Length {
    Length::parse_mm(text).unwrap()
}

fn mark(id: &str, length: &str, width: &str, x: f64, y: f64) -> Indication {
    Indication::typed(id, mm(length), mm(width)).at(Point::from_mm(x, y), 0)
}

fn call(x: f64, y: f64, relevance: Relevance) -> CallEvent {
    CallEvent {
        at: Some(Point::from_mm(x, y)),
        relevance: Some(relevance),
        reason: Some("thread root".into()),
        by: Some("second rigger".into()),
        ..CallEvent::default()
    }
}

fn rules() -> RuleSet {
    RuleSet::builtin("weld-vessel-si").unwrap()
}

fn both(measured: &[Indication], events: &[CallEvent]) -> (Called, BothJudged) {
    judge_called(measured, events, &rules(), &JudgeOptions::default()).unwrap()
}

#[test]
fn without_calls_both_verdicts_are_one() {
    let marks = [mark("1", "4", "1", 0.0, 0.0), mark("2", "2", "2", 20.0, 0.0)];
    let (called, judged) = both(&marks, &[]);
    assert_eq!(called.indications, marks);
    assert_eq!(judged.raw, judged.called);
}

#[test]
fn what_is_called_away_stays_with_its_reason_and_the_raw_verdict_with_it() {
    let marks = [mark("1", "4", "1", 0.0, 0.0), mark("2", "2", "2", 20.0, 0.0)];
    let (_, judged) = both(&marks, &[call(0.1, 0.0, Relevance::NonRelevant)]);
    assert_eq!((judged.raw.verdict, judged.called.verdict), (Verdict::Reject, Verdict::Accept));
    assert_eq!(judged.called.indications.len(), 2);
    let reason = &judged.called.indications[0].reason;
    assert!(reason.contains("thread root") && reason.contains("second rigger"), "{reason}");
    assert!(!judged.raw.indications[0].reason.contains("thread root"));
}

#[test]
fn the_last_event_wins_and_a_call_can_be_taken_back() {
    let marks = [mark("1", "4", "1", 0.0, 0.0)];
    let away = call(0.0, 0.0, Relevance::False);
    let (called, judged) = both(&marks, &[away.clone(), call(0.3, 0.0, Relevance::Relevant)]);
    assert_eq!(called.stands[0].called, Some(1));
    assert_eq!(judged.called.verdict, Verdict::Reject);
    let (called, judged) = both(&marks, &[away, call(0.0, 0.0, Relevance::NotYetCalled)]);
    assert_eq!((called.stands[0].called, judged.called.verdict), (None, Verdict::Reject));
}

/// Measuring again numbers anew and moves middles a little: the call stays with its mark.
#[test]
fn measuring_again_keeps_calls() {
    let before = [mark("1", "4", "1", 0.0, 0.0), mark("2", "3", "0.5", 6.0, 0.0)];
    let mut event = call(6.0, 0.0, Relevance::NonRelevant);
    event.id = Some("2".into());
    let (first, _) = both(&before, &[event.clone()]);
    assert_eq!(first.indications[1].relevance, Relevance::NonRelevant);
    let after = [
        mark("1", "2", "1", -8.0, -3.0),
        mark("2", "4.1", "1", 0.05, 0.02),
        mark("3", "3.1", "0.5", 6.04, -0.03),
    ];
    let (second, _) = both(&after, &[event]);
    let away: Vec<&str> = second
        .indications
        .iter()
        .filter(|it| it.relevance == Relevance::NonRelevant)
        .map(|it| it.id.as_str())
        .collect();
    assert_eq!(away, ["3"]);
}

#[test]
fn the_nearest_mark_is_meant_and_the_reach_ends() {
    let marks = [mark("1", "2", "2", 0.0, 0.0), mark("2", "2", "2", 2.6, 0.0)];
    // 0.2 mm from the edge of the first, 0.4 mm from the second's.
    let (called, _) = both(&marks, &[call(1.2, 0.0, Relevance::False)]);
    assert_eq!(called.indications[0].relevance, Relevance::False);
    assert_eq!(called.indications[1].relevance, Relevance::NotYetCalled);
    // At the reach it is found, a nanometre beyond it is not.
    let at = |x_nm: i64| CallEvent {
        at: Some(Point { x_nm, y_nm: 0 }),
        ..call(0.0, 0.0, Relevance::False)
    };
    let (called, _) = both(&marks[..1], &[at(1_800_000)]);
    assert!(called.lost.is_empty());
    let (called, judged) = both(&marks[..1], &[at(1_800_001)]);
    assert_eq!(called.lost, [0]);
    assert_eq!((judged.raw.verdict, judged.called.verdict), (Verdict::Accept, Verdict::Review));
    assert!(judged.called.findings[0].found.contains("finds no indication"));
    // Told to a tenth of a millimetre; what rounds to zero has no sign.
    let (_, judged) = both(&marks[..1], &[at(-40_000_000), call(-0.04, 30.0, Relevance::False)]);
    let told: Vec<&str> = judged.called.findings.iter().map(|f| f.found.as_str()).collect();
    assert!(told.contains(&"a call at -40.0, 0.0 mm finds no indication"), "{told:?}");
    assert!(told.contains(&"a call at 0.0, 30.0 mm finds no indication"), "{told:?}");
}

#[test]
fn a_mark_inside_another_is_told_by_its_middle() {
    let marks = [mark("1", "10", "10", 0.0, 0.0), mark("2", "1", "1", 3.0, 0.0)];
    let (called, _) = both(&marks, &[call(3.1, 0.0, Relevance::False)]);
    assert_eq!(called.indications[1].relevance, Relevance::False);
    assert_eq!(called.indications[0].relevance, Relevance::NotYetCalled);
}

#[test]
fn a_name_stands_in_where_there_is_no_place() {
    let marks =
        [Indication::typed("a", mm("4"), mm("1")), Indication::typed("b", mm("4"), mm("1"))];
    let event = CallEvent { id: Some("b".into()), at: None, ..call(0.0, 0.0, Relevance::False) };
    let (called, judged) = both(&marks, std::slice::from_ref(&event));
    assert_eq!(called.indications[1].relevance, Relevance::False);
    assert_eq!(judged.called.verdict, Verdict::Reject);
    let unknown = CallEvent { id: Some("z".into()), ..event };
    assert_eq!(both(&marks, &[unknown]).0.lost, [0]);
}

/// A mark near a limit is settled by the size measured by hand, and the measurement stays as it was.
#[test]
fn a_size_measured_by_hand_decides_as_called_and_changes_nothing_measured() {
    let mut unsure = mark("1", "5.05", "2", 0.0, 0.0);
    unsure.length.spread = crate::length::Spread::Standard { edge: mm("0.1"), scale: mm("0.01") };
    unsure.doubts = vec![Doubt::CutByPhoto];
    let event = CallEvent {
        at: Some(Point::from_mm(0.0, 0.0)),
        own_length: Some(mm("4.8")),
        own_width: Some(mm("2")),
        ..CallEvent::default()
    };
    let marks = [unsure];
    let (called, judged) = both(&marks, std::slice::from_ref(&event));
    assert_eq!((judged.raw.verdict, judged.called.verdict), (Verdict::Review, Verdict::Accept));
    assert_eq!((called.stands[0].sized, called.stands[0].called), (Some(0), None));
    assert!(judged.called.indications[0].reason.contains("size measured by a person"));
    assert_eq!(marks[0].length.value, mm("5.05"));
    // A length alone leaves the doubts about the rest.
    let length_only = CallEvent { own_width: None, ..event };
    assert!(!both(&marks, &[length_only]).0.indications[0].doubts.is_empty());
}

#[test]
fn an_added_indication_is_marked_judged_and_can_be_called_in_turn() {
    let marks = [mark("1", "2", "2", 0.0, 0.0)];
    let add = CallEvent {
        own_length: Some(mm("6")),
        own_width: Some(mm("1")),
        adds: true,
        ..call(1.5, 0.0, Relevance::Relevant)
    };
    let (called, judged) = both(&marks, std::slice::from_ref(&add));
    assert_eq!(called.indications.len(), 2);
    assert_eq!((called.indications[1].id.as_str(), called.stands[1].added), ("added-1", true));
    assert_eq!((judged.raw.verdict, judged.called.verdict), (Verdict::Accept, Verdict::Reject));
    assert!(judged.called.indications[1].reason.contains("added by a person"));
    assert_eq!(judged.called.indications[1].shape, Shape::Linear);
    // Called away later, and the same place added twice is one indication.
    let away = call(1.5, 0.0, Relevance::False);
    let (called, judged) = both(&marks[..0], &[add.clone(), add.clone(), away]);
    assert_eq!((called.indications.len(), judged.called.verdict), (1, Verdict::Accept));
    let sizeless = CallEvent { own_width: None, ..add };
    assert_eq!(both(&marks, &[sizeless]).0.lost, [0]);
}

#[test]
fn a_retest_asked_for_is_a_review_until_it_is_called() {
    let marks = [mark("1", "2", "2", 0.0, 0.0)];
    let ask = CallEvent { relevance: None, asks_retest: true, ..call(0.0, 0.0, Relevance::False) };
    let (called, judged) = both(&marks, std::slice::from_ref(&ask));
    assert!(called.stands[0].retest);
    assert_eq!((judged.raw.verdict, judged.called.verdict), (Verdict::Accept, Verdict::Review));
    assert_eq!(judged.called.indications[0].verdict, Verdict::Review);
    let (_, judged) = both(&marks, &[ask, call(0.0, 0.0, Relevance::Relevant)]);
    assert_eq!(judged.called.verdict, Verdict::Accept);
}
