//! The real bench: the machine's clock and standard input.

use super::run::{Bench, Event};
use crate::clock::Moment;
use std::io::{BufRead as _, IsTerminal as _};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::time::Duration;

/// How often the clock is looked at.
const TICK: Duration = Duration::from_secs(1);
/// Longest line that is listened to, bytes; more of it is let go.
const LONGEST_LINE: usize = 10_000;

/// The machine's clock and standard input.
#[derive(Debug)]
pub(crate) struct RealBench {
    lines: Receiver<String>,
    live: bool,
}

impl RealBench {
    /// Starts listening. The listening thread ends with the program: a read that waits for a person
    /// cannot be called back.
    #[must_use]
    pub(crate) fn listen() -> Self {
        let live = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
        let (send, lines) = sync_channel(16);
        std::thread::spawn(move || {
            let mut input = std::io::stdin().lock();
            loop {
                let mut line = Vec::new();
                match input.read_until(b'\n', &mut line) {
                    Ok(0) | Err(_) => return,
                    Ok(_) => {
                        line.truncate(LONGEST_LINE);
                        let text = String::from_utf8_lossy(&line).trim_end().to_owned();
                        if send.send(text).is_err() {
                            return;
                        }
                    }
                }
            }
        });
        Self { lines, live }
    }
}

impl Bench for RealBench {
    fn now(&self) -> Moment {
        Moment::now()
    }

    fn next(&mut self) -> Event {
        match self.lines.recv_timeout(TICK) {
            Ok(line) => Event::Line(line),
            Err(RecvTimeoutError::Timeout) => Event::Tick,
            Err(RecvTimeoutError::Disconnected) => Event::End,
        }
    }

    fn is_live(&self) -> bool {
        self.live
    }
}
