//! Moments: a time with its zone offset, to the second.

use std::fmt;

use jiff::civil;
use jiff::tz::{Offset, TimeZone};
use jiff::{SignedDuration, Timestamp, ZonedDateTime};
use nde_measure::TakenAt;
use toml::value as written;

/// A point in time and the zone offset it was written in.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moment {
    at: Timestamp,
    offset: Offset,
}

impl PartialEq for Moment {
    /// The same point in time, in whatever zone it was written.
    fn eq(&self, other: &Self) -> bool {
        self.at == other.at
    }
}

impl PartialOrd for Moment {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.at.cmp(&other.at))
    }
}

impl Moment {
    /// Now, in this machine's zone, cut to the second.
    #[must_use]
    pub(crate) fn now() -> Self {
        let now = ZonedDateTime::now();
        let whole = Timestamp::from_second(now.timestamp().as_second());
        Self { at: whole.unwrap_or_else(|_| now.timestamp()), offset: now.offset() }
    }

    /// From a TOML date-time with its offset; absent without one, or beyond what calendars hold.
    #[must_use]
    pub(crate) fn from_toml(written: &written::Datetime) -> Option<Self> {
        let (date, time, zone) = (written.date?, written.time?, written.offset?);
        let minutes = match zone {
            written::Offset::Z => 0,
            written::Offset::Custom { minutes } => i32::from(minutes),
        };
        let signed = |n: u8| i8::try_from(n).ok();
        let local = civil::DateTime::new(
            i16::try_from(date.year).ok()?,
            signed(date.month)?,
            signed(date.day)?,
            signed(time.hour)?,
            signed(time.minute)?,
            signed(time.second.unwrap_or(0).min(59))?,
            0,
        )
        .ok()?;
        Self::local(local, Offset::from_seconds(minutes.checked_mul(60)?).ok()?)
    }

    /// A local time in a zone offset.
    #[must_use]
    pub(crate) fn local(local: civil::DateTime, offset: Offset) -> Option<Self> {
        let at = TimeZone::fixed(offset).to_timestamp(local).ok()?;
        Some(Self { at, offset })
    }

    /// From a camera's stamp: its own zone offset, else `otherwise` in seconds; absent where neither is
    /// known or the calendar has no such day.
    #[must_use]
    pub(crate) fn of_stamp(taken: &TakenAt, otherwise: Option<i32>) -> Option<Self> {
        let signed = |n: u8| i8::try_from(n).ok();
        let local = civil::DateTime::new(
            i16::try_from(taken.year).ok()?,
            signed(taken.month)?,
            signed(taken.day)?,
            signed(taken.hour)?,
            signed(taken.minute)?,
            signed(taken.second.min(59))?,
            0,
        )
        .ok()?;
        let seconds = taken.offset_minutes.map(|m| i32::from(m) * 60).or(otherwise)?;
        Self::local(local, Offset::from_seconds(seconds).ok()?)
    }

    /// Its zone offset in seconds.
    #[must_use]
    pub(crate) const fn offset_seconds(self) -> i32 {
        self.offset.seconds()
    }

    /// Whole seconds from `earlier` to this; negative when this comes first.
    #[must_use]
    pub(crate) fn seconds_since(self, earlier: Self) -> i64 {
        self.at.as_second() - earlier.at.as_second()
    }

    /// So many seconds later; unchanged where the calendar ends.
    #[must_use]
    pub(crate) fn later(self, seconds: i64) -> Self {
        let at = self.at.checked_add(SignedDuration::from_secs(seconds)).unwrap_or(self.at);
        Self { at, ..self }
    }

    /// The time of day alone, such as `10:05:00`.
    #[must_use]
    pub(crate) fn time_of_day(self) -> String {
        self.offset.to_datetime(self.at).strftime("%H:%M:%S").to_string()
    }
}

impl fmt::Display for Moment {
    /// As TOML and RFC 3339 write it, such as `2026-05-04T10:05:00+02:00`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let local = self.offset.to_datetime(self.at);
        let minutes = self.offset.seconds() / 60;
        let sign = if minutes < 0 { '-' } else { '+' };
        let minutes = minutes.abs();
        write!(
            f,
            "{}{sign}{:02}:{:02}",
            local.strftime("%Y-%m-%dT%H:%M:%S"),
            minutes / 60,
            minutes % 60
        )
    }
}

/// A span for eyes, such as `12:05` or `1:02:05`; a sign when negative.
#[must_use]
pub(crate) fn span(seconds: i64) -> String {
    let (sign, s) = (if seconds < 0 { "-" } else { "" }, seconds.unsigned_abs());
    match s / 3600 {
        0 => format!("{sign}{}:{:02}", s / 60, s % 60),
        hours => format!("{sign}{hours}:{:02}:{:02}", s / 60 % 60, s % 60),
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// From its text.
    pub(crate) fn moment(text: &str) -> Moment {
        Moment::from_toml(&text.parse().unwrap()).unwrap()
    }

    #[test]
    fn a_moment_is_written_as_it_was_read_and_compared_across_zones() {
        let text = "2026-05-04T10:05:00+02:00";
        assert_eq!(moment(text).to_string(), text);
        assert_eq!(moment(text), moment("2026-05-04T08:05:00Z"));
        assert_eq!(
            moment("2026-05-04T08:05:00Z").seconds_since(moment("2026-05-04T08:04:10Z")),
            50
        );
        let newfoundland = "2026-05-04T10:05:00-02:30";
        assert_eq!(moment(newfoundland).to_string(), newfoundland);
        assert_eq!(moment(newfoundland).later(65).time_of_day(), "10:06:05");
        assert!(Moment::from_toml(&"2026-05-04T10:05:00".parse().unwrap()).is_none());
        let now = Moment::now();
        assert_eq!(moment(&now.to_string()), now);
    }

    #[test]
    fn spans_read_like_a_clock() {
        assert_eq!(
            [span(5), span(725), span(3725), span(-61)],
            ["0:05", "12:05", "1:02:05", "-1:01"]
        );
    }
}
