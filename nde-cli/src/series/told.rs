//! A series as table, CSV and JSON. Numbers in files stand unrounded; absent is empty or null.

use super::place::{Misfit, Standing, Unproven};
use super::track::{Development, Series, Track};
use crate::compare::Mark;
use crate::exports::columns::{Align, Cell, Columns};
use crate::exports::eyes::{change, number};
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
            (format!("still growing: {} mm in the last {over}", change(growth.mm, 2)), Paint::Bad)
        }
        (Development::NoGrowthShown, Some(growth)) => {
            let within = growth.u_mm.map_or(String::new(), |u| format!(" beyond {u:.2} mm"));
            (format!("no growth shown{within} in the last {over}"), Paint::Plain)
        }
        (Development::Shorter, Some(growth)) => (
            format!("{} mm in the last {over}: look at both photos", change(growth.mm, 2)),
            Paint::Ask,
        ),
        (Development::New, _) => ("only in the last photo".to_owned(), Paint::Bad),
        (Development::RunTogether, _) => {
            let parts = match (&track.joined[..], track.parts) {
                ([one], 1) => one.clone(),
                (_, parts) => parts.to_string(),
            };
            (format!("run together of {parts} in the last {over}"), Paint::Bad)
        }
        (Development::NotInLast, _) => (
            track.joined.first().map_or(
                "not counted in the last photo: look at both photos".to_owned(),
                |holder| format!("run together with {holder}"),
            ),
            Paint::Ask,
        ),
        _ => ("not known: too faint to size".to_owned(), Paint::Ask),
    }
}

/// How a photo was laid over the last one, and by what that can be checked.
fn laid(it: &Standing) -> String {
    let Standing { due, shown, .. } = it;
    match (it.misfit, due) {
        (Some(Misfit::ScaleMoved), _) => {
            format!("the scale moved: laid over by {} indications", it.laid.laid.agreeing)
        }
        (Some(Misfit::AnotherPlace), _) => {
            format!("another place? only {shown} of {due} indications are in the last photo")
        }
        (None, _) if it.unproven == Some(Unproven::Frame) => format!(
            "by the frame of its scale {shown} of {due} indications are in the last photo; that frame proves nothing, and the place could not be checked"
        ),
        (None, _) if !it.printed => format!(
            "laid over by {} indications: the frame of its scale proves nothing",
            it.laid.laid.agreeing
        ),
        (None, _) if it.unproven == Some(Unproven::TooFew) => format!(
            "laid over by the scale; {shown} of {due} indications are in the last photo: the place cannot be checked by so few"
        ),
        (None, 0) => "laid over by the scale; no indication to check that by".to_owned(),
        (None, _) => {
            format!("laid over by the scale; {shown} of {due} indications are in the last photo")
        }
    }
}

/// Photos that do not show the last one's place, or beside which the scale has moved: each with the remedy.
#[must_use]
pub(crate) fn warnings(series: &Series) -> Vec<String> {
    let Some((last, before)) = series.shots.split_last() else { return Vec::new() };
    let last = &last.taken.photo;
    let photos = before.iter().map(|shot| &shot.taken.photo).zip(&series.standings);
    let told = |(photo, it): (&String, &Standing)| {
        let Standing { due, shown, .. } = it;
        match it.misfit? {
            Misfit::AnotherPlace if series.last_is_strange() => None,
            Misfit::AnotherPlace => Some(format!(
                "{photo}: {last} shows dye at {shown} of its {due} indications only, and dye does not vanish while the developer draws: is it the same place, and did the scale lie still? Its indications are not followed. Leave out what shows another place, or photograph it again"
            )),
            Misfit::ScaleMoved => Some(format!(
                "{photo}: the scale lay {:.1} mm from where it lies in {last} (turned {} degrees), or the part lies higher or lower than the scale and the camera stood elsewhere; laid over by {} indications instead. Lengths hold; leave scale and part as they are between the photos, and where they differ in height photograph from the same stand or give --height",
                it.apart_mm.unwrap_or(0.0),
                number(it.laid.laid.by.turn_deg(), 1),
                it.laid.laid.agreeing
            )),
        }
    };
    let mut warnings: Vec<String> = photos.filter_map(told).collect();
    if series.last_is_strange() {
        warnings.push(format!(
            "{last}: shows few of the indications of the {} photos before it, and dye does not vanish while the developer draws: is it the same place, and did the scale lie still? Leave it out, or photograph the place again",
            before.len()
        ));
    }
    warnings
}

/// Photos whose place could not be checked because the frame of their scale proves nothing, with the remedy: no
/// misfit, so nothing is to be judged anew.
#[must_use]
pub(crate) fn unchecked(series: &Series) -> Option<String> {
    let photos = series.shots.iter().zip(&series.standings);
    let names: Vec<&str> = photos
        .filter(|(_, it)| it.unproven == Some(Unproven::Frame))
        .map(|(shot, _)| shot.taken.photo.as_str())
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "{}: the frame of a rule, of two points or of a pitch shifts with the picture and proves nothing, and too few indications agree to lay the photos over by; whether it is the same place could not be checked. Compare the marks by eye, or lay a printed card beside the part and leave it there",
            names.join(", ")
        )
    })
}

/// For people.
#[must_use]
pub(crate) fn table(series: &Series, dress: Dress) -> String {
    let mut text = String::new();
    for (n, shot) in series.shots.iter().enumerate() {
        let laid = series.standings.get(n).map_or("the others are laid over it".to_owned(), laid);
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
    /// Those of the photo before that are part of it now, but for the one that it is followed from; where it has
    /// no id, the one that holds it.
    run_together: &'a [String],
    latest_growth_mm: Option<f64>,
    /// Expanded, k = 2.
    latest_growth_u_mm: Option<f64>,
    latest_minutes: Option<f64>,
    whole_growth_mm: Option<f64>,
    whole_growth_u_mm: Option<f64>,
    whole_minutes: Option<f64>,
    sizes: Vec<SizeView<'a>>,
}

#[derive(Serialize)]
struct SizeView<'a> {
    photo: &'a str,
    /// Its number in the series, from 0.
    #[serde(skip)]
    shot: usize,
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
        let sizes = series.shots.iter().zip(&track.marks).enumerate();
        let sizes = sizes.filter_map(|(n, (shot, mark))| {
            let mark = mark.as_ref()?;
            Some(SizeView {
                photo: &shot.taken.photo,
                shot: n,
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
            run_together: &track.joined,
            latest_growth_mm: track.latest.map(|g| g.mm),
            latest_growth_u_mm: track.latest.and_then(|g| g.u_mm),
            latest_minutes: track.latest.map(|_| track.latest_minutes),
            whole_growth_mm: track.whole.map(|g| g.mm),
            whole_growth_u_mm: track.whole.and_then(|g| g.u_mm),
            whole_minutes: track.whole.map(|_| track.whole_minutes),
            sizes: sizes.collect(),
        }
    }
}

/// What is wrong with a photo of a series.
fn misfit(series: &Series, photo: usize) -> Option<Misfit> {
    match series.standings.get(photo) {
        None => series.last_is_strange().then_some(Misfit::AnotherPlace),
        Some(it) => it.misfit.filter(|m| *m == Misfit::ScaleMoved || !series.last_is_strange()),
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
        "misfit",
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
                &misfit(series, size.shot).map_or(String::new(), |m| m.word().to_owned()),
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
        .enumerate()
        .map(|(n, shot)| {
            let it = series.standings.get(n);
            let by = |it: &Standing| if it.laid.laid.by_marks { "indications" } else { "scale" };
            serde_json::json!({
                "photo": shot.taken.photo,
                "sha256": shot.taken.sha256,
                "minutes": shot.minutes,
                "laid_over_by": it.map(by),
                "due_in_last": it.map(|it| it.due),
                "shown_in_last": it.map(|it| it.shown),
                "scale_apart_mm": it.and_then(|it| it.apart_mm),
                "misfit": misfit(series, n),
                "unproven": it.and_then(|it| it.unproven),
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
