//! Each indication through the photos of a series.

use super::place::{FEWEST_DUE, Misfit, SAME_PLACE_MM, Standing, standing};
use super::times::Shot;
use crate::compare::{Change, Growth, Mark};
use anyhow::{Result, bail};
use serde::Serialize;

/// Photos in order of time, and every indication of the last one through all of them.
#[derive(Clone, Debug)]
pub(crate) struct Series {
    /// The photos.
    pub shots: Vec<Shot>,
    /// How each photo but the last stands to the last.
    pub standings: Vec<Standing>,
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
    /// From the last photo but one that holds it to the last one; absent where it ran together since.
    pub latest: Option<Growth>,
    /// From the first photo that holds it, and after which nothing ran together with it, to the last one.
    pub whole: Option<Growth>,
    /// Minutes from the photo that `state` is said against to the last one.
    pub latest_minutes: f64,
    /// Minutes between the photos of `whole`.
    pub whole_minutes: f64,
    /// What is said of it.
    pub state: Development,
    /// Those of the photo before that are part of it in the last one; of an indication that is not counted
    /// there, the one that holds it.
    pub joined: Vec<String>,
    /// How many of the photo before it is made of.
    pub parts: usize,
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
    /// It holds several of the photo before: they ran together, and its length is not the growth of one.
    RunTogether,
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
        bail!(
            "a series needs at least two photos that can be measured; give those of one place in the order they were taken"
        );
    };
    let standings: Vec<Standing> =
        before.iter().map(|shot| standing(&shot.taken, &last.taken)).collect();
    let minutes: Vec<f64> = before.iter().map(|shot| last.minutes - shot.minutes).collect();
    let mut tracks: Vec<Track> =
        last.taken.marks.iter().map(|mark| track(mark, &standings, &minutes)).collect();
    for (n, it) in standings.iter().enumerate() {
        for pair in it.laid.pairs.iter().filter(|pair| pair.new.is_none()) {
            let Some(old) = &pair.old else { continue };
            let holder = it.held.iter().find(|(id, _)| *id == old.id).map(|(_, holder)| holder);
            let at = tracks_without_last(&mut tracks, old, pair.at_mm, n, shots.len());
            tracks[at].joined = holder.into_iter().cloned().collect();
        }
    }
    Ok(Series { shots, standings, tracks })
}

impl Series {
    /// Whether no earlier photo that can tell shows the place of the last one: then it is the last that is
    /// another's.
    #[must_use]
    pub(super) fn last_is_strange(&self) -> bool {
        let telling = || self.standings.iter().filter(|it| it.due >= FEWEST_DUE);
        telling().count() > 1 && telling().all(|it| it.misfit == Some(Misfit::AnotherPlace))
    }
}

/// An indication of the last photo through the earlier ones; `minutes` from each of these to the last.
fn track(mark: &Mark, standings: &[Standing], minutes: &[f64]) -> Track {
    let of = |it: &Standing| {
        let pair = it.laid.pairs.iter().find(|p| p.new.as_ref().is_some_and(|m| m.id == mark.id));
        pair.and_then(|pair| Some((pair.old.clone()?, pair.growth?)))
    };
    let earlier: Vec<Option<(Mark, Growth)>> = standings.iter().map(of).collect();
    let within = |it: &Standing| -> Vec<String> {
        let held = it.held.iter().filter(|(_, holder)| *holder == mark.id);
        held.map(|(old, _)| old.clone()).collect()
    };
    // Of what ran together no earlier length is its own.
    let ran_together = standings.iter().rposition(|it| !within(it).is_empty());
    let own = ran_together.map_or(0, |n| n + 1);
    let whole = (own..earlier.len()).find(|n| earlier[*n].is_some());
    let latest = (own..earlier.len()).rfind(|n| earlier[*n].is_some());
    let growth = |n: Option<usize>| n.and_then(|n| earlier[n].as_ref()).map(|(_, g)| *g);
    let since = latest.or(ran_together);
    let joined = match latest {
        None => ran_together.map_or(Vec::new(), |n| within(&standings[n])),
        Some(_) => Vec::new(),
    };
    let paired = since.is_some_and(|n| earlier[n].is_some());
    let state = match growth(latest).map(|g| g.change) {
        None if !joined.is_empty() => Development::RunTogether,
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
        whole: growth(whole),
        latest_minutes: since.map_or(0.0, |n| minutes[n]),
        whole_minutes: whole.map_or(0.0, |n| minutes[n]),
        parts: joined.len() + usize::from(paired),
        marks: earlier
            .into_iter()
            .map(|it| it.map(|it| it.0))
            .chain([Some(mark.clone())])
            .collect(),
        state,
        joined,
    }
}

/// Puts an indication that the last photo lacks where an earlier photo had it, or opens a track for it; which.
fn tracks_without_last(
    tracks: &mut Vec<Track>,
    mark: &Mark,
    at_mm: [f64; 2],
    photo: usize,
    photos: usize,
) -> usize {
    let known = tracks.iter().position(|track| {
        let apart = (track.at_mm[0] - at_mm[0]).hypot(track.at_mm[1] - at_mm[1]);
        track.id.is_none() && apart <= SAME_PLACE_MM && track.marks[photo].is_none()
    });
    let number = known.unwrap_or(tracks.len());
    if known.is_none() {
        tracks.push(Track {
            id: None,
            at_mm,
            marks: vec![None; photos],
            latest: None,
            whole: None,
            latest_minutes: 0.0,
            whole_minutes: 0.0,
            state: Development::NotInLast,
            joined: Vec::new(),
            parts: 0,
        });
    }
    tracks[number].marks[photo] = Some(mark.clone());
    number
}
