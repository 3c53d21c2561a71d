//! A series as table, CSV and JSON. Numbers in files stand unrounded; absent is empty or null.

use super::track::{Development, Series, Track};
use crate::compare::Mark;
use crate::exports::columns::{Align, Cell, Columns};
use crate::talk::{Dress, Paint, harmless};
use anyhow::Result;
use serde::Serialize;
use std::fmt::Write as _;
use std::io::Write;

/// What the numbers cannot say.
pub(crate) const CAUTION: &str = "Lengths and widths are those of the bleed-out at each moment. How fast and how far it grows says nothing sure about depth. The written procedure says when to read; a qualified person decides.";

/// Coverage factor of stated uncertainties.
const COVERAGE: f64 = 2.0;

/// Expanded uncertainty of a mark's length.
pub(super) fn expanded(mark: &Mark) -> Option<f64> {
    mark.u_mm.map(|[edge, scale]| COVERAGE * edge.hypot(scale))
}

/// A moment for eyes: whole minutes without a point.
pub(super) fn moment(minutes: f64) -> String {
    let tenths = (minutes * 10.0).round() / 10.0;
    format!("{tenths} min")
}

fn sized(mm: f64, u_mm: Option<f64>) -> String {
    u_mm.map_or_else(|| format!("{mm:.2}"), |u| format!("{mm:.2} \u{b1}{u:.2}"))
}

/// What is said of a track, for eyes.
fn words(track: &Track) -> (String, Paint) {
    let over = moment(track.latest_minutes);
    match (track.state, track.latest) {
        (Development::Growing, Some(growth)) => {
            (format!("still growing: {:+.2} mm in the last {over}", growth.mm), Paint::Bad)
        }
        (Development::NoGrowthShown, Some(growth)) => {
            let within = growth.u_mm.map_or(String::new(), |u| format!(" beyond {u:.2} mm"));
            (format!("no growth shown{within} in the last {over}"), Paint::Plain)
        }
        (Development::Shorter, Some(growth)) => {
            (format!("{:+.2} mm in the last {over}: look at both photos", growth.mm), Paint::Ask)
        }
        (Development::New, _) => ("only in the last photo".to_owned(), Paint::Bad),
        (Development::NotInLast, _) => (
            "not counted in the last photo: gone, or run together with another".to_owned(),
            Paint::Ask,
        ),
        _ => ("not known: too faint to size".to_owned(), Paint::Ask),
    }
}

/// For people.
#[must_use]
pub(crate) fn table(series: &Series, dress: Dress) -> String {
    let mut text = String::new();
    for (n, shot) in series.shots.iter().enumerate() {
        let laid = match series.laid.get(n).map(|it| &it.laid) {
            None => "the others are laid over it".to_owned(),
            Some(laid) if laid.by_marks => format!("laid over by {} indications", laid.agreeing),
            Some(_) => "laid over by the scale, which must not have moved".to_owned(),
        };
        // A String takes everything.
        let _ = writeln!(
            text,
            "{:>9}  {}  ({laid})",
            moment(shot.minutes),
            harmless(&shot.taken.photo)
        );
    }
    let moments: Vec<String> = series.shots.iter().map(|s| moment(s.minutes)).collect();
    let mut headings = vec![("id", Align::Left), ("mm", Align::Left)];
    headings.extend(moments.iter().map(|m| (m.as_str(), Align::Right)));
    headings.push(("says", Align::Left));
    let mut table = Columns::new(&headings);
    for track in &series.tracks {
        let of = |size: &dyn Fn(&Mark) -> Option<String>| -> Vec<Cell> {
            let one = |mark: &Option<Mark>| mark.as_ref().and_then(size).unwrap_or("-".to_owned());
            track.marks.iter().map(|mark| Cell::painted(&one(mark), Paint::Plain)).collect()
        };
        let plain = |text: &str| Cell::painted(text, Paint::Plain);
        let (says, paint) = words(track);
        let mut row = vec![plain(track.id.as_deref().unwrap_or("-")), plain("length")];
        row.extend(of(&|mark| Some(sized(mark.length_mm, expanded(mark)))));
        row.push(Cell::painted(&says, paint));
        table.push(row);
        let mut row = vec![plain(""), plain("width")];
        row.extend(of(&|mark| mark.width_mm.map(|(mm, u)| sized(mm, u))));
        row.push(plain(""));
        table.push(row);
    }
    if series.tracks.is_empty() {
        let _ = writeln!(text, "no indication is counted in any of the photos");
    } else {
        text.push_str(&table.lines(2, dress));
    }
    let growing = series.tracks.iter().filter(|t| t.state == Development::Growing).count();
    if growing > 0 {
        let _ = writeln!(
            text,
            "{growing} still growing: take another photo before you judge, inside the reading time of your procedure"
        );
    }
    let _ = writeln!(text, "{}", dress.paint(Paint::Faint, CAUTION));
    text
}

#[derive(Serialize)]
struct TrackView<'a> {
    id: Option<&'a str>,
    at_mm: [f64; 2],
    says: Development,
    latest_growth_mm: Option<f64>,
    /// Expanded, k = 2.
    latest_growth_u_mm: Option<f64>,
    latest_minutes: Option<f64>,
    whole_growth_mm: Option<f64>,
    whole_growth_u_mm: Option<f64>,
    sizes: Vec<SizeView<'a>>,
}

#[derive(Serialize)]
struct SizeView<'a> {
    photo: &'a str,
    minutes: f64,
    /// Its name in that photo.
    id: &'a str,
    /// Its place in that photo's own frame.
    at_mm: [f64; 2],
    length_mm: f64,
    length_u_mm: Option<f64>,
    width_mm: Option<f64>,
    width_u_mm: Option<f64>,
}

impl<'a> TrackView<'a> {
    fn of(track: &'a Track, series: &'a Series) -> Self {
        let sizes = series.shots.iter().zip(&track.marks).filter_map(|(shot, mark)| {
            let mark = mark.as_ref()?;
            Some(SizeView {
                photo: &shot.taken.photo,
                minutes: shot.minutes,
                id: &mark.id,
                at_mm: mark.at_mm,
                length_mm: mark.length_mm,
                length_u_mm: expanded(mark),
                width_mm: mark.width_mm.map(|w| w.0),
                width_u_mm: mark.width_mm.and_then(|w| w.1),
            })
        });
        Self {
            id: track.id.as_deref(),
            at_mm: track.at_mm,
            says: track.state,
            latest_growth_mm: track.latest.map(|g| g.mm),
            latest_growth_u_mm: track.latest.and_then(|g| g.u_mm),
            latest_minutes: track.latest.map(|_| track.latest_minutes),
            whole_growth_mm: track.whole.map(|g| g.mm),
            whole_growth_u_mm: track.whole.and_then(|g| g.u_mm),
            sizes: sizes.collect(),
        }
    }
}

/// One row an indication and photo.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn csv(series: &Series, target: &mut dyn Write) -> Result<()> {
    let mut writer = csv::Writer::from_writer(target);
    writer.write_record([
        "track",
        "photo",
        "minutes",
        "id",
        "length_mm",
        "length_u_mm",
        "width_mm",
        "width_u_mm",
        "says",
    ])?;
    for (n, track) in series.tracks.iter().enumerate() {
        let view = TrackView::of(track, series);
        let says = serde_json::to_value(view.says)?;
        for size in &view.sizes {
            let mm = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
            writer.write_record([
                &(n + 1).to_string(),
                &crate::exports::csv::inert(size.photo),
                &size.minutes.to_string(),
                size.id,
                &size.length_mm.to_string(),
                &mm(size.length_u_mm),
                &mm(size.width_mm),
                &mm(size.width_u_mm),
                says.as_str().unwrap_or_default(),
            ])?;
        }
    }
    Ok(writer.flush()?)
}

/// The full series.
///
/// # Errors
/// The target cannot be written.
pub(crate) fn json(series: &Series, target: &mut dyn Write) -> Result<()> {
    let photos: Vec<_> = series
        .shots
        .iter()
        .map(|shot| {
            serde_json::json!({
                "photo": shot.taken.photo, "sha256": shot.taken.sha256, "minutes": shot.minutes,
            })
        })
        .collect();
    let whole = serde_json::json!({
        "form": "nde-series/1",
        "tool": { "name": "nde", "version": env!("CARGO_PKG_VERSION") },
        "photos": photos,
        "indications": series.tracks.iter().map(|t| TrackView::of(t, series)).collect::<Vec<_>>(),
        "caution": CAUTION,
    });
    serde_json::to_writer_pretty(&mut *target, &whole)?;
    Ok(target.write_all(b"\n")?)
}
