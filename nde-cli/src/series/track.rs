//! Each indication through the photos of a series.

use super::times::Shot;
use crate::compare::{Align, Change, Comparison, Growth, Mark, Scales, compare};
use anyhow::{Result, bail};
use serde::Serialize;

/// Photos in order of time, and every indication of the last one through all of them.
#[derive(Clone, Debug)]
pub(crate) struct Series {
    /// The photos.
    pub shots: Vec<Shot>,
    /// How each photo but the last was laid over the last.
    pub laid: Vec<Comparison>,
    /// The indications: those of the last photo in its order, then those that are not in it.
    pub tracks: Vec<Track>,
}

/// One indication through the series.
#[derive(Clone, Debug)]
pub(crate) struct Track {
    /// Its name in the last photo; absent when it is not counted there.
    pub id: Option<String>,
    /// Its place in the last photo's frame.
    pub at_mm: [f64; 2],
    /// What it was in each photo; absent where it is not counted.
    pub marks: Vec<Option<Mark>>,
    /// From the last photo but one that holds it to the last one.
    pub latest: Option<Growth>,
    /// From the first photo that holds it to the last one.
    pub whole: Option<Growth>,
    /// Minutes between the photos of `latest`.
    pub latest_minutes: f64,
    /// What is said of it.
    pub state: Development,
}

/// Whether an indication still grows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Development {
    /// Longer than in the photo before by more than the uncertainty of the difference.
    Growing,
    /// Not longer and not shorter than in the photo before by more than that.
    NoGrowthShown,
    /// Shorter by more than that: another light, another developer, or a mark that broke up.
    Shorter,
    /// Counted in the last photo only.
    New,
    /// Not counted in the last photo: gone, or run together with a neighbour.
    NotInLast,
    /// One of the two lengths has no claimed uncertainty.
    NotKnown,
}

/// Follows the indications of photos of one place through time.
///
/// Photos are laid over the last one; their scale is the same, so the error of its size is common to all.
///
/// # Errors
/// Fewer than two photos.
pub(crate) fn series(mut shots: Vec<Shot>) -> Result<Series> {
    shots.sort_by(|a, b| a.minutes.total_cmp(&b.minutes));
    let Some((last, before)) = shots.split_last().filter(|(_, before)| !before.is_empty()) else {
        bail!("a series needs at least two photos that can be measured");
    };
    let laid: Vec<Comparison> = before
        .iter()
        .map(|shot| compare(&shot.taken, &last.taken, Align::Auto, Scales::Same))
        .collect::<Result<_>>()?;
    let mut tracks: Vec<Track> = last
        .taken
        .marks
        .iter()
        .map(|mark| {
            let of = |it: &Comparison| {
                let pair =
                    it.pairs.iter().find(|p| p.new.as_ref().is_some_and(|m| m.id == mark.id));
                pair.and_then(|pair| Some((pair.old.clone()?, pair.growth?)))
            };
            let earlier: Vec<Option<(Mark, Growth)>> = laid.iter().map(of).collect();
            let latest = earlier.iter().rposition(Option::is_some);
            let growth = |n: Option<usize>| n.and_then(|n| earlier[n].as_ref()).map(|(_, g)| *g);
            let state = match growth(latest).map(|g| g.change) {
                None => Development::New,
                Some(Change::Grown) => Development::Growing,
                Some(Change::Shorter) => Development::Shorter,
                Some(Change::WithinUncertainty) => Development::NoGrowthShown,
                Some(Change::NotKnown) => Development::NotKnown,
            };
            Track {
                id: Some(mark.id.clone()),
                at_mm: mark.at_mm,
                latest: growth(latest),
                whole: growth(earlier.iter().position(Option::is_some)),
                latest_minutes: latest.map_or(0.0, |n| last.minutes - before[n].minutes),
                marks: earlier
                    .into_iter()
                    .map(|it| it.map(|(mark, _)| mark))
                    .chain([Some(mark.clone())])
                    .collect(),
                state,
            }
        })
        .collect();
    for (n, it) in laid.iter().enumerate() {
        for pair in it.pairs.iter().filter(|pair| pair.new.is_none()) {
            tracks_without_last(&mut tracks, pair.old.as_ref(), pair.at_mm, n, shots.len());
        }
    }
    Ok(Series { shots, laid, tracks })
}

/// Places that agree within this in two early photos are one indication, mm. Chosen, as between two photos.
const SAME_PLACE_MM: f64 = 1.0;

/// Puts an indication that the last photo lacks where an earlier photo had it, or opens a track for it.
fn tracks_without_last(
    tracks: &mut Vec<Track>,
    mark: Option<&Mark>,
    at_mm: [f64; 2],
    photo: usize,
    photos: usize,
) {
    let Some(mark) = mark else { return };
    let known = tracks.iter_mut().find(|track| {
        let apart = (track.at_mm[0] - at_mm[0]).hypot(track.at_mm[1] - at_mm[1]);
        track.id.is_none() && apart <= SAME_PLACE_MM && track.marks[photo].is_none()
    });
    if let Some(track) = known {
        track.marks[photo] = Some(mark.clone());
        return;
    }
    let mut marks = vec![None; photos];
    marks[photo] = Some(mark.clone());
    tracks.push(Track {
        id: None,
        at_mm,
        marks,
        latest: None,
        whole: None,
        latest_minutes: 0.0,
        state: Development::NotInLast,
    });
}
