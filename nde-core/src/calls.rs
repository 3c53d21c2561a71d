//! What a person called indications: events over measurements that never change.
//!
//! Events are only ever added; of each kind of saying the last one of an indication stands. An event finds
//! its indication by place, so that measuring again, which numbers anew, keeps it. What a person called
//! away stays in the list with its reason; what a person adds is marked as added.

use crate::ground::Ground;
use crate::indication::{Indication, Relevance};
use crate::length::{Length, Measured};
use crate::place::{Place, Point};
use crate::rules::RuleSet;
use crate::source::{Confidence, Source};
use crate::verdict::{Finding, JudgeError, JudgeOptions, Judgement, Verdict, judge};

/// How far from an indication's edge a call may lie and still be about it. Chosen: half the gap at which
/// most rule sets count marks as a row (1.5 mm), rounded up; measuring the same photo again moves a middle by
/// hundredths of a millimetre.
const REACH: Length = Length::from_um(800);

/// One thing a person said.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct CallEvent {
    /// Name of the indication when it was said; stands in where there is no place.
    pub id: Option<String>,
    /// Where it is about, in the frame of the measurement.
    pub at: Option<Point>,
    /// What it is called; absent when only a size is given.
    pub relevance: Option<Relevance>,
    /// Whether a re-test is asked for: what was measured cannot be called yet.
    pub asks_retest: bool,
    /// What it is, such as `crack`.
    pub label: Option<String>,
    /// Why; needed to call something away.
    pub reason: Option<String>,
    /// Who said it.
    pub by: Option<String>,
    /// When, as written.
    pub when: Option<String>,
    /// Length measured by hand.
    pub own_length: Option<Length>,
    /// Width measured by hand.
    pub own_width: Option<Length>,
    /// Direction of an added indication's length, millionths of a degree from x towards y; absent: along x.
    pub angle_udeg: Option<i64>,
    /// Whether it adds an indication that the measurement does not hold.
    pub adds: bool,
}

/// What stands for one indication after all events.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Stands {
    /// The event that called it, by its number in the list; absent: nobody did.
    pub called: Option<usize>,
    /// The event that gave its size; absent: the measured size stands.
    pub sized: Option<usize>,
    /// Whether a person added it.
    pub added: bool,
    /// Whether a person asked for a re-test of it, last.
    pub retest: bool,
}

/// The list after all events.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Called {
    /// The measured indications as called, then the added ones.
    pub indications: Vec<Indication>,
    /// What stands for each of them.
    pub stands: Vec<Stands>,
    /// Events about nothing that is in the list, by number.
    pub lost: Vec<usize>,
}

/// Both verdicts: what the measurement alone says, and what it says as called.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct BothJudged {
    /// Without any call.
    pub raw: Judgement,
    /// As called.
    pub called: Judgement,
}

impl Called {
    /// Applies `events`, in their order, to what was measured.
    ///
    /// ```
    /// use nde_core::calls::{CallEvent, Called};
    /// use nde_core::{Indication, Length, Point, Relevance};
    /// let mm = |text| Length::parse_mm(text);
    /// let mark = Indication::typed("1", mm("4")?, mm("1")?).at(Point::from_mm(10.0, 5.0), 0);
    /// let mut scratch = CallEvent::default();
    /// scratch.at = Some(Point::from_mm(10.1, 5.0));
    /// scratch.relevance = Some(Relevance::NonRelevant);
    /// scratch.reason = Some("scratch, seen with a magnifier".into());
    /// let called = Called::of(&[mark], &[scratch]);
    /// assert_eq!(called.indications[0].relevance, Relevance::NonRelevant);
    /// # Ok::<(), nde_core::LengthError>(())
    /// ```
    #[must_use]
    pub fn of(measured: &[Indication], events: &[CallEvent]) -> Self {
        let mut called = Self {
            indications: measured.to_vec(),
            stands: vec![Stands::default(); measured.len()],
            lost: Vec::new(),
        };
        let mut grounds: Vec<Option<Ground>> =
            measured.iter().map(|it| it.place.as_ref().and_then(Ground::new)).collect();
        for (n, event) in events.iter().enumerate() {
            let found = called.find(event, &grounds);
            match found {
                Some(at) => called.say(at, n, event),
                None if event.adds => {
                    if let Some(added) = added(event, called.added_so_far() + 1) {
                        grounds.push(added.place.as_ref().and_then(Ground::new));
                        called.indications.push(added);
                        called.stands.push(Stands {
                            called: event.relevance.map(|_| n),
                            sized: Some(n),
                            added: true,
                            retest: event.asks_retest,
                        });
                    } else {
                        called.lost.push(n);
                    }
                }
                None => called.lost.push(n),
            }
        }
        called
    }

    fn added_so_far(&self) -> usize {
        self.stands.iter().filter(|s| s.added).count()
    }

    /// The indication an event is about: the nearest within reach, or by name where no place is given.
    /// An event that adds finds only what was added before: what lies beside it is another mark.
    fn find(&self, event: &CallEvent, grounds: &[Option<Ground>]) -> Option<usize> {
        let Some(at) = event.at else {
            let id = event.id.as_deref()?;
            return self.indications.iter().position(|it| it.id == id);
        };
        let spot = Ground::new(&Place::Stadium {
            centre: at,
            angle_udeg: 0,
            length: Length::ZERO,
            width: Length::ZERO,
        })?;
        let near = |n: usize| {
            let ground = grounds[n].as_ref()?;
            let gap = ground.gap(&spot);
            (gap <= REACH).then(|| (gap, from_middle(ground, at)))
        };
        (0..self.indications.len())
            .filter(|n| !event.adds || self.stands[*n].added)
            .filter_map(|n| near(n).map(|distance| (distance, n)))
            .min()
            .map(|(_, n)| n)
    }

    fn say(&mut self, at: usize, n: usize, event: &CallEvent) {
        let (indication, stands) = (&mut self.indications[at], &mut self.stands[at]);
        if event.asks_retest {
            indication.relevance = Relevance::NotYetCalled;
            (stands.called, stands.retest) = (Some(n), true);
        } else if let Some(relevance) = event.relevance {
            indication.relevance = relevance;
            indication.label.clone_from(&event.label);
            stands.called = (relevance != Relevance::NotYetCalled).then_some(n);
            stands.retest = false;
        } else if event.label.is_some() {
            indication.label.clone_from(&event.label);
        }
        if event.own_length.is_none() && event.own_width.is_none() {
            return;
        }
        stands.sized = Some(n);
        if let Some(length) = event.own_length {
            indication.length = Measured::exact(length);
            indication.path = None;
        }
        if let Some(width) = event.own_width {
            indication.width = Measured::exact(width);
        }
        if event.own_length.is_some() && event.own_width.is_some() {
            // The measurement's doubts are about sizes that no longer decide.
            indication.edge_shift = None;
            indication.doubts.clear();
        } else if indication.width.value > indication.length.value {
            indication.width = Measured::exact(indication.length.value);
        }
    }
}

/// Squared distance of a point from a ground's middle, for telling apart what both lie inside.
fn from_middle(ground: &Ground, at: Point) -> u128 {
    let middle = ground.middle();
    let along = |half: i64, nm: i64| u128::from((half - nm.saturating_mul(2)).unsigned_abs());
    let (x, y) = (along(middle[0], at.x_nm), along(middle[1], at.y_nm));
    x * x + y * y
}

/// The added indication; absent without both sizes and a place.
fn added(event: &CallEvent, number: usize) -> Option<Indication> {
    let (length, width, at) = (event.own_length?, event.own_width?, event.at?);
    let mut indication = Indication::typed(&format!("added-{number}"), length, width)
        .at(at, event.angle_udeg.unwrap_or(0));
    indication.relevance = event.relevance.unwrap_or_default();
    indication.label.clone_from(&event.label);
    Some(indication)
}

/// Judges the measurement alone and as called: a pure function of measurements, calls and rules.
///
/// A call that finds nothing any more asks for a review: either the mark is gone, or the photo is
/// another one.
///
/// # Errors
/// See [`judge`].
pub fn judge_called(
    measured: &[Indication],
    events: &[CallEvent],
    rules: &RuleSet,
    options: &JudgeOptions,
) -> Result<(Called, BothJudged), JudgeError> {
    let raw = judge(measured, rules, options)?;
    let called = Called::of(measured, events);
    let mut judgement = judge(&called.indications, rules, options)?;
    for (judged, stands) in judgement.indications.iter_mut().zip(&called.stands) {
        let mut said = Vec::new();
        if let Some(event) = stands.called.and_then(|n| events.get(n)) {
            said.extend(event.reason.as_ref().map(|reason| format!("\"{reason}\"")));
            said.extend(event.by.as_ref().map(|by| format!("called by {by}")));
        }
        if stands.added {
            said.push("added by a person".into());
        } else if stands.sized.is_some() {
            said.push("size measured by a person".into());
        }
        if !said.is_empty() {
            judged.reason = format!("{}; {}", judged.reason, said.join(", "));
        }
    }
    let lost = called.lost.iter().filter_map(|n| events.get(*n)).map(lost);
    let retests = called.stands.iter().zip(&called.indications).filter(|(s, _)| s.retest);
    let asked: Vec<Finding> = lost.chain(retests.map(|(_, it)| retest(it))).collect();
    for finding in asked {
        for id in &finding.indications {
            for judged in judgement.indications.iter_mut().filter(|j| j.id == *id) {
                judged.verdict = judged.verdict.max(Verdict::Review);
            }
        }
        judgement.findings.push(finding);
        judgement.verdict = judgement.verdict.max(Verdict::Review);
        judgement.as_measured = judgement.as_measured.max(Verdict::Review);
    }
    judgement.findings.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    Ok((called, BothJudged { raw, called: judgement }))
}

fn lost(event: &CallEvent) -> Finding {
    let name = event.id.as_deref().map_or_else(String::new, |id| format!(" of `{id}`"));
    // -0 + 0 is 0: a place just left of the origin is told without a sign.
    let tenth = |mm: f64| (10.0 * mm).round() / 10.0 + 0.0;
    let place = event.at.map_or_else(String::new, |at| {
        format!(" at {:.1}, {:.1} mm", tenth(at.x_mm()), tenth(at.y_mm()))
    });
    Finding {
        verdict: Verdict::Review,
        rule: "calls".into(),
        indications: Vec::new(),
        found: format!("a call{name}{place} finds no indication"),
        limit: "every call belongs to an indication".into(),
        source: Source {
            text: "this tool: a call is never dropped in silence".into(),
            confidence: Confidence::Chosen,
        },
        action: Some("look there again; correct the place, or call it anew".into()),
    }
}

fn retest(indication: &Indication) -> Finding {
    Finding {
        verdict: Verdict::Review,
        rule: "calls".into(),
        indications: vec![indication.id.clone()],
        found: "a person asks for a re-test".into(),
        limit: "what is in doubt is tested again before it is called".into(),
        source: Source {
            text: "VIII-1 App. 8, 8-3(c): doubtful indications are re-examined".into(),
            confidence: Confidence::Read,
        },
        action: Some("clean, run the whole process again, and photograph it".into()),
    }
}

#[cfg(test)]
mod tests;
