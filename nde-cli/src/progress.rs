//! How far a batch has come, its rate, and the time left: for a person at a terminal.

use crate::talk::Streams;
use std::time::{Duration, Instant};

/// Counts what is done.
#[derive(Debug)]
pub(crate) struct Progress {
    all: usize,
    done: usize,
    /// Of those done, the ones that took work; the others were done before.
    worked: usize,
    could_not: usize,
    begun: Instant,
    show: Show,
}

/// Whether anything is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Show {
    /// A line that changes.
    Yes,
    /// Nothing.
    No,
}

/// What one piece of work was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Step {
    /// Done now.
    Worked,
    /// Done in an earlier run.
    Before,
    /// Could not be done.
    CouldNot,
}

impl Progress {
    /// Of so many pieces.
    #[must_use]
    pub(crate) fn of(all: usize, show: Show) -> Self {
        let show = if all < 2 { Show::No } else { show };
        Self { all, done: 0, worked: 0, could_not: 0, begun: Instant::now(), show }
    }

    /// One more is done.
    pub(crate) fn step(&mut self, step: Step, streams: &mut Streams<'_>) {
        self.done += 1;
        self.worked += usize::from(step != Step::Before);
        self.could_not += usize::from(step == Step::CouldNot);
        if self.show == Show::Yes {
            streams.progress(self.line(self.begun.elapsed()));
        }
    }

    /// Wipes the line.
    pub(crate) fn end(&self, streams: &mut Streams<'_>) {
        if self.show == Show::Yes {
            streams.progress("");
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "counts of photos")]
    fn line(&self, elapsed: Duration) -> String {
        let mut line = format!("{} of {}", self.done, self.all);
        let seconds = elapsed.as_secs_f64();
        if self.worked > 0 && seconds > 0.0 {
            let rate = self.worked as f64 / seconds;
            line.push_str(&match rate {
                r if r >= 1.0 => format!("   {r:.1} a second"),
                r => format!("   {:.1} a minute", r * 60.0),
            });
            let left = (self.all - self.done) as f64 / rate;
            line.push_str(&format!("   {} left", span(left)));
        }
        if self.could_not > 0 {
            line.push_str(&format!("   {} could not be done", self.could_not));
        }
        line
    }
}

/// Such as `40 s`, `3 min`, `2 h 10 min`.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a time, never below zero"
)]
fn span(seconds: f64) -> String {
    let seconds = seconds.round() as u64;
    match seconds {
        0..90 => format!("{seconds} s"),
        90..5400 => format!("{} min", seconds.div_ceil(60)),
        _ => format!("{} h {} min", seconds / 3600, seconds % 3600 / 60),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rate_counts_only_what_took_work() {
        let mut progress = Progress::of(100, Show::No);
        let (mut out, mut talk) = (Vec::new(), Vec::new());
        let mut streams = Streams::plain(&mut out, &mut talk);
        for n in 0..40 {
            progress.step(if n < 30 { Step::Before } else { Step::Worked }, &mut streams);
        }
        progress.step(Step::CouldNot, &mut streams);
        assert_eq!(
            progress.line(Duration::from_secs(22)),
            "41 of 100   30.0 a minute   2 min left   1 could not be done"
        );
        assert!(talk.is_empty());
    }

    #[test]
    fn times_are_told_in_the_unit_that_fits() {
        assert_eq!([span(40.4), span(170.0), span(7800.0)], ["40 s", "3 min", "2 h 10 min"]);
    }
}
