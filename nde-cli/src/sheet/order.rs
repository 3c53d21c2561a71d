//! Times that cannot be: an end before its start, a step before the one that must come first, a moment
//! still to come.

use super::reader::{At, Faults};
use crate::clock::{Moment, span};

/// A clock may be this far behind the one that wrote the sheet, seconds. Chosen: two machines' clocks.
const CLOCKS_APART: i64 = 120;
/// No test takes longer from penetrant to the last look, seconds. Chosen: far above any dwell and window.
const LONGEST_TEST: i64 = 24 * 3600;

/// Two moments of a step, start and end.
pub(super) type StartEnd = [Option<At<Moment>>; 2];

pub(super) fn check(
    times: &[(&'static str, StartEnd); 6],
    dry: Option<&At<Moment>>,
    now: Option<Moment>,
    faults: &Faults<'_>,
) {
    let mut before: Option<(String, &At<Moment>)> = None;
    for (name, moments) in times {
        for (word, moment) in ["start", "end"].iter().zip(moments) {
            let Some(moment) = moment else { continue };
            let this = format!("{word} of {name}");
            if let Some((last, at)) = &before
                && moment.it < at.it
            {
                let gap = span(at.it.seconds_since(moment.it));
                faults.add(
                    &moment.at,
                    format!("the {this} lies {gap} before the {last}"),
                    "correct the one that is wrong",
                );
                continue; // The next is held against the one that was in order.
            }
            before = Some((this, moment));
        }
    }
    let develop = &times[3].1;
    if let (Some(dry), Some(start)) = (dry, &develop[0])
        && dry.it < start.it
    {
        faults.add(
            &dry.at,
            "the developer is dry before it is put on",
            "correct the one that is wrong",
        );
    }
    if let (Some(first), Some(last)) = (&times[1].1[0], &times[4].1[1])
        && last.it.seconds_since(first.it) > LONGEST_TEST
    {
        faults.add(
            &last.at,
            "there is more than a day between the penetrant and the last look",
            "correct the date that is wrong",
        );
    }
    let every = times.iter().flat_map(|(_, moments)| moments).flatten().chain(dry);
    for moment in every {
        if now.is_some_and(|now| moment.it.seconds_since(now) > CLOCKS_APART) {
            faults.add(
                &moment.at,
                format!("{} is still to come", moment.it),
                "correct it, or set this machine's clock",
            );
        }
    }
}
