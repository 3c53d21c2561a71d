//! The bench clock: walks the steps, logs each moment the instant it happens, and counts to the earliest
//! and latest moment of the next.
//!
//! Nothing is kept in memory that is not on the disk already: leaving, a crash or a closed lid costs
//! nothing, and the elapsed time is always the wall clock against the logged moment.

use super::store::{self, Entry};
use super::{Sheet, Steps};
use crate::clock::{Moment, span};
use crate::talk::{Streams, harmless};
use anyhow::{Result, anyhow};
use nde_core::technique::{ClockStart, Developer, Item, Technique};
use std::path::Path;

/// What the person or the clock did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Event {
    /// A line was typed; empty is a plain Enter.
    Line(String),
    /// Time went on.
    Tick,
    /// Nobody types any more.
    End,
}

/// Where time and words come from.
pub(crate) trait Bench {
    /// The wall clock.
    fn now(&self) -> Moment;
    /// Waits for a line, at most a second or so.
    fn next(&mut self) -> Event;
    /// Whether a person watches: live countdown and bell.
    fn is_live(&self) -> bool;
}

/// How a walk ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Walk {
    /// Every step is logged.
    Done,
    /// Left before the last step.
    Left,
}

/// Seconds before the latest moment at which the bell rings. Chosen: time to put the cloth down.
const LAST_CALL: i64 = 60;

/// One moment to log.
struct Stage {
    /// Tables and keys that get this moment.
    keys: &'static [(&'static str, &'static str)],
    /// What happens.
    words: &'static str,
    /// What is waited for before it.
    waits: Option<Item>,
}

const fn stage(
    keys: &'static [(&'static str, &'static str)],
    words: &'static str,
    waits: Option<Item>,
) -> Stage {
    Stage { keys, words, waits }
}

const STAGES: [Stage; 10] = [
    stage(&[("clean", "start")], "cleaning begins", None),
    stage(&[("clean", "end")], "the last cleaner is wiped off", None),
    stage(&[("penetrant", "start")], "penetrant goes on", Some(Item::CleanerDrying)),
    stage(&[("penetrant", "end"), ("remove", "start")], "its removal begins", Some(Item::Dwell)),
    stage(&[("remove", "end")], "the excess is off", None),
    stage(&[("develop", "start")], "developer goes on", None),
    stage(&[("develop", "end")], "the developer is on", None),
    stage(&[("develop", "dry")], "its coat is dry", None),
    stage(&[("read", "start")], "first look", Some(Item::Developing)),
    stage(&[("read", "end")], "last look", Some(Item::Developing)),
];

fn logged(steps: &Steps, key: (&str, &str)) -> Option<Moment> {
    match key {
        ("clean", "start") => steps.clean.start,
        ("clean", "end") => steps.clean.end,
        ("penetrant", "start") => steps.penetrant.start,
        ("penetrant", "end") => steps.penetrant.end,
        ("remove", "start") => steps.remove.start,
        ("remove", "end") => steps.remove.end,
        ("develop", "start") => steps.develop.start,
        ("develop", "end") => steps.develop.end,
        ("develop", "dry") => steps.dry,
        ("read", "start") => steps.read.start,
        ("read", "end") => steps.read.end,
        _ => None,
    }
}

/// The latest moment that is logged, and what it was.
fn latest(steps: &Steps) -> Option<(Moment, &'static str)> {
    let mut last: Option<(Moment, &'static str)> = None;
    for stage in &STAGES {
        if let Some(at) = logged(steps, stage.keys[0])
            && last.is_none_or(|(before, _)| at >= before)
        {
            last = Some((at, stage.words));
        }
    }
    last
}

/// The stage to log next: the first after the last one logged.
fn next_stage(steps: &Steps) -> usize {
    let mut at =
        STAGES.iter().rposition(|s| logged(steps, s.keys[0]).is_some()).map_or(0, |n| n + 1);
    // A dry powder does not dry.
    if STAGES.get(at).is_some_and(|s| s.keys[0] == ("develop", "dry"))
        && steps.developer.is_some_and(|d| !d.is_wet())
    {
        at += 1;
    }
    at
}

/// Earliest and latest moment of a stage, with what they count from.
struct Window {
    from: Moment,
    earliest: Option<Moment>,
    latest: Option<Moment>,
}

fn window(stage: &Stage, sheet: &Sheet, technique: Option<&Technique>) -> Option<Window> {
    let (item, technique) = (stage.waits?, technique?);
    let steps = &sheet.steps;
    let from = match item {
        Item::CleanerDrying if steps.blown_dry == Some(true) => return None,
        Item::CleanerDrying => steps.clean.end,
        Item::Dwell => steps.penetrant.start,
        _ => match technique.clock_start(steps.developer.unwrap_or(Developer::NonAqueous)) {
            ClockStart::Applied => steps.develop.end.or(steps.develop.start),
            ClockStart::Dry => steps.dry,
        },
    }?;
    let after = |quantity: Option<nde_core::technique::Quantity>| {
        quantity.and_then(|q| q.milliseconds()).map(|ms| from.later((ms + 999) / 1000))
    };
    let [least, most] = technique.window(item, &sheet.process());
    let latest = most.and_then(|q| q.milliseconds()).map(|ms| from.later(ms / 1000));
    Some(Window { from, earliest: after(least), latest })
}

/// Walks the steps of the sheet at `path` from where it stands.
///
/// # Errors
/// The sheet cannot be read or written.
pub(crate) fn walk(
    path: &Path,
    mut sheet: Sheet,
    technique: Option<&Technique>,
    bench: &mut dyn Bench,
    streams: &mut Streams<'_>,
) -> Result<Walk> {
    if let Some((at, what)) = latest(&sheet.steps) {
        streams.tell(format_args!(
            "goes on after: {what} at {}, {} ago",
            at.time_of_day(),
            span(bench.now().seconds_since(at))
        ));
    }
    streams.tell("Enter logs the step, `note ...` writes a note, `quit` leaves; every time is on the disk at once");
    loop {
        let at = next_stage(&sheet.steps);
        let Some(stage) = STAGES.get(at) else {
            streams.tell("all steps are logged");
            return Ok(Walk::Done);
        };
        let window = window(stage, &sheet, technique);
        streams.tell(prompt(at, stage, window.as_ref()));
        match wait(path, stage, window.as_ref(), &sheet, bench, streams)? {
            Some(next) => sheet = next,
            None => {
                let line = "left; `nde sheet run` goes on from here with the true elapsed time";
                streams.tell(line);
                return Ok(Walk::Left);
            }
        }
    }
}

fn prompt(at: usize, stage: &Stage, window: Option<&Window>) -> String {
    let mut text = format!("{}/{}  {}: Enter", at + 1, STAGES.len(), stage.words);
    if let Some(window) = window {
        if let Some(earliest) = window.earliest {
            text += &format!(", not before {}", earliest.time_of_day());
        }
        if let Some(latest) = window.latest {
            text += &format!(", not after {}", latest.time_of_day());
        }
    }
    text
}

/// Waits for the stage and logs it; absent when the person left.
fn wait(
    path: &Path,
    stage: &Stage,
    window: Option<&Window>,
    sheet: &Sheet,
    bench: &mut dyn Bench,
    streams: &mut Streams<'_>,
) -> Result<Option<Sheet>> {
    let mut bells = Bells::default();
    let mut early_asked = false;
    loop {
        let event = bench.next();
        let now = bench.now();
        bells.ring(window, now, bench.is_live(), streams);
        if let (true, Some(window), Event::Tick) = (bench.is_live(), window, &event) {
            countdown(window, now, streams);
        }
        let line = match event {
            Event::Tick => continue,
            Event::End => return Ok(None),
            Event::Line(line) => line.trim().to_owned(),
        };
        if line == "quit" || line == "q" {
            return Ok(None);
        }
        if let Some(text) = line.strip_prefix("note ") {
            store::enter(path, &[Entry::Note { at: now, text: text.trim().to_owned() }])?;
            logged_line(now, &format!("note: {}", text.trim()), streams)?;
            continue;
        }
        if !line.is_empty() {
            streams.tell("Enter logs the step, `note ...` writes a note, `quit` leaves");
            continue;
        }
        if let Some((last, what)) = latest(&sheet.steps)
            && now < last
        {
            streams.warn(format_args!(
                "this machine's clock says {}, before \"{what}\" at {}; set the clock, then press Enter",
                now.time_of_day(),
                last.time_of_day()
            ));
            continue;
        }
        if let Some(short) = window.and_then(|w| w.earliest).map(|e| e.seconds_since(now))
            && short > 0
            && !early_asked
        {
            early_asked = true;
            streams.warn(format_args!(
                "{} too early; wait, or press Enter again to log it all the same",
                span(short)
            ));
            continue;
        }
        let entries: Vec<Entry> =
            stage.keys.iter().map(|&(step, key)| Entry::Moment { step, key, at: now }).collect();
        let next = store::enter(path, &entries)?;
        logged_line(now, stage.words, streams)?;
        return Ok(Some(next));
    }
}

/// One line of the log, on the results' stream.
fn logged_line(at: Moment, words: &str, streams: &mut Streams<'_>) -> Result<()> {
    writeln!(streams.out, "{at}  {}", harmless(words)).and_then(|()| streams.out.flush()).or_else(
        |e| match e.kind() {
            // The time is on the disk; a reader who went away is no loss.
            std::io::ErrorKind::BrokenPipe => Ok(()),
            _ => Err(anyhow!("the log line could not be written ({e})")),
        },
    )
}

/// What was announced already.
#[derive(Default)]
struct Bells {
    earliest: bool,
    last_call: bool,
    latest: bool,
}

impl Bells {
    fn ring(
        &mut self,
        window: Option<&Window>,
        now: Moment,
        live: bool,
        streams: &mut Streams<'_>,
    ) {
        let Some(window) = window else { return };
        let mut say = |words: String| {
            if live {
                let _ = write!(streams.talk, "\r\u{1b}[K\u{7}");
            }
            streams.tell(words);
        };
        if let Some(earliest) = window.earliest
            && now >= earliest
            && !std::mem::replace(&mut self.earliest, true)
        {
            say(format!("{}  the least time is over", earliest.time_of_day()));
        }
        if let Some(latest) = window.latest {
            let left = latest.seconds_since(now);
            if left < 0 && !std::mem::replace(&mut self.latest, true) {
                self.last_call = true;
                say(format!("{}  the latest moment is past", latest.time_of_day()));
            } else if (0..=LAST_CALL).contains(&left)
                && !std::mem::replace(&mut self.last_call, true)
            {
                say(format!("{} left", span(left)));
            }
        }
    }
}

/// The line that a person watches.
fn countdown(window: &Window, now: Moment, streams: &mut Streams<'_>) {
    let mut line = format!("   {}", span(now.seconds_since(window.from)));
    if let Some(earliest) = window.earliest {
        let left = earliest.seconds_since(now);
        if left > 0 {
            line += &format!("   earliest in {}", span(left));
        } else {
            line += "   may be done now";
        }
    }
    if let Some(latest) = window.latest {
        let left = latest.seconds_since(now);
        line += &if left >= 0 {
            format!("   latest in {}", span(left))
        } else {
            format!("   too late by {}", span(-left))
        };
    }
    let _ = write!(streams.talk, "\r\u{1b}[K{line}");
    let _ = streams.talk.flush();
}

#[cfg(test)]
mod tests;
