//! A rule in the photo, found by itself and read.
//!
//! ```text
//! focal -> rows -> comb -> along -> lengths -> hierarchy -> layers -> numbered -> joined -> ruled
//!      -> beside -> opposite -> here
//! ```
//! Rows of ticks are found ([`rows`]), numbered ([`comb`]) and told apart by the pattern of longer
//! ticks ([`hierarchy`]); a stated graduation that the pattern does not confirm is refused. Places
//! on many ticks at several depths then give the projective map from the photo to millimetres along
//! the rule ([`along`]), with another row in its plane where there is one ([`joined`]). That map fixes
//! the plane as well, up to the focal length: its denominator is the plane's horizon, and the
//! direction across follows as the one square to the rule ([`ruled`]).
//!
//! # Does not
//! Read numerals: the origin is some longest tick.

mod focal;
mod rows;
mod comb;
mod along;
mod lengths;
mod hierarchy;
mod layers;
mod numbered;
mod joined;
mod ruled;
mod beside;
mod opposite;

pub(crate) use focal::FocalKnown;
pub(crate) use ruled::Ruled;

use crate::scale::error::{RuleRemedy, ScaleError};
use crate::scale::grey::Grey;
use crate::scale::spec::TickPitch;
use crate::{Photo, PointPx};
use hierarchy::Graduated;
use joined::{agree, vouches, with_the_other_edge};
use numbered::Numbered;
use ruled::{Lens, ruled};

/// Long side of the picture searched. Chosen: at 8 px/mm half-millimetre ticks are 4 px apart, so
/// nothing may be lost; larger photos than this have pixels to spare.
const SEARCHED_PX: u32 = 4400;
/// Rows of ticks looked at.
const MOST_ROWS: usize = 8;
/// Most that a row may run off square to its ticks. On painted rules right readings stay below
/// 0.004; the wrong ones (a line that wanders from one row into another) lay above 0.02.
const MOST_SKEW: f64 = 0.01;
/// Most that the focal length which makes ticks and row square may lie off the told one, in standard
/// uncertainties of that: beyond it the row's direction is misread. Common practice: three.
const MOST_PULL: f64 = 3.0;
/// Longest ticks that inch rules have, mm: longer ones betray a graduation misread by a factor (no
/// pattern of tens can be). The second limit holds where a coarser row stands for the one stated.
/// Common practice, no source: 5 to 9 mm.
const LONGEST_TICK_MM: [f64; 2] = [11.0, 9.0];

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asked<'a> {
    /// The graduation as the user states it.
    pub(crate) stated: TickPitch,
    /// Outline within which the rule lies, photo; empty: anywhere.
    pub(crate) within_px: &'a [PointPx],
    /// Focal length, photo pixels.
    pub(crate) focal_px: f64,
    /// How it is known.
    pub(crate) focal_known: FocalKnown,
    /// Distances from the row at which the uncertainty is told, mm.
    pub(crate) told_at_mm: [f64; 2],
}

/// Finds and reads the rule.
pub(crate) fn find(photo: &Photo, asked: &Asked<'_>) -> Result<Ruled, ScaleError> {
    let size_px = [photo.rgb().width(), photo.rgb().height()];
    let block = size_px[0].max(size_px[1]).div_ceil(SEARCHED_PX).max(1);
    let first = find_in(&Grey::reduced(photo, block as usize), size_px, asked);
    let Err(why) = first else { return first.map_err(ScaleError::from) };
    // Ticks far apart in pixels, or blurred, are seen at half the size.
    match find_in(&Grey::reduced(photo, 2 * block as usize), size_px, asked) {
        Err(again) if again.rests_on <= why.rests_on => Err(why.into()),
        other => other.map_err(ScaleError::from),
    }
}

/// A row of ticks as seen, whatever it is.
#[derive(Clone, Debug)]
pub(crate) struct RowSeen {
    /// Its two ends, photo.
    pub(crate) ends_px: [PointPx; 2],
    /// Places of its ticks, photo; none if they could not be followed.
    pub(crate) ticks_px: Vec<PointPx>,
    /// What the lengths of its ticks tell.
    pub(crate) pitch: Option<TickPitch>,
}

/// Every row that repeats, with what is seen of it.
pub(crate) fn rows_seen(photo: &Photo, asked: &Asked<'_>) -> Vec<RowSeen> {
    let size_px = [photo.rgb().width(), photo.rgb().height()];
    let block = size_px[0].max(size_px[1]).div_ceil(SEARCHED_PX).max(1);
    let grey = Grey::reduced(photo, block as usize);
    let block = f64::from(block);
    let within: Vec<[f64; 2]> = asked.within_px.iter().map(|p| p.map(|v| v / block)).collect();
    let optics = Lens::of(asked, grey.block as f64, size_px).optics();
    let seen = rows::find(&grey, &within, MOST_ROWS).into_iter().map(|row| {
        let ends_px = row.extent.map(|t| [0, 1].map(|k| (row.at[k] + t * row.along[k]) * block));
        let read = Numbered::read(&grey, &row, optics).ok();
        let place = |read: &Numbered<'_>, t: f64| read.strip.place(t, 0.0).map(|v| v * block);
        let ticks_px = read
            .as_ref()
            .map(|read| read.comb.ticks.iter().map(|(_, t)| place(read, *t)).collect());
        let pitch = read.and_then(|read| read.graduated).map(|graduated| graduated.pitch);
        RowSeen { ends_px, ticks_px: ticks_px.unwrap_or_default(), pitch }
    });
    seen.collect()
}

impl Ruled {
    /// Whether its edge stands square to its ticks, with a focal length not far from the told one.
    fn is_square(&self) -> bool {
        self.skew <= MOST_SKEW && self.focal_pull <= MOST_PULL
    }
}

impl Lens {
    fn of(asked: &Asked<'_>, block: f64, size_px: [u32; 2]) -> Self {
        Self {
            block,
            focal_px: asked.focal_px,
            focal_known: asked.focal_known,
            size_px,
            told_at_mm: asked.told_at_mm,
        }
    }
}

/// Why no rule was read.
struct Unread {
    /// Whether the row it is said of tells the stated graduation, and how many ticks of it are seen: the
    /// other edge may well have more ticks, but was not asked for.
    rests_on: (bool, usize),
    detail: String,
    remedy: RuleRemedy,
}

impl Unread {
    fn new(seen: usize, detail: String) -> Self {
        Self { rests_on: (false, seen), detail, remedy: RuleRemedy::Flat }
    }
}

impl From<Unread> for ScaleError {
    fn from(Unread { detail, remedy, .. }: Unread) -> Self {
        Self::NoRule { detail, remedy }
    }
}

fn find_in(grey: &Grey, size_px: [u32; 2], asked: &Asked<'_>) -> Result<Ruled, Unread> {
    let stated = asked.stated;
    let lens = Lens::of(asked, grey.block as f64, size_px);
    let within: Vec<[f64; 2]> = asked.within_px.iter().map(|p| p.map(|v| v / lens.block)).collect();
    let mut why = Unread::new(0, "no row of ticks is seen".to_owned());
    let mut note = |other: Unread| {
        if other.rests_on > why.rests_on {
            why = other;
        }
    };
    let mut numbered: Vec<Numbered<'_>> = Vec::new();
    for row in rows::find(grey, &within, MOST_ROWS) {
        if numbered.iter().any(|read| read.holds(&row)) {
            continue;
        }
        match Numbered::read(grey, &row, lens.optics()) {
            Ok(row) => numbered.push(row),
            Err(seen) => note(Unread::new(seen, format!("a row of only {seen} ticks is seen"))),
        }
    }
    let mut confirmed: Vec<(usize, Graduated)> = Vec::new();
    for (i, row) in numbered.iter().enumerate() {
        match confirm(row, &lens, stated) {
            Ok(graduated) => confirmed.push((i, graduated)),
            Err(unread) => note(unread),
        }
    }
    if confirmed.is_empty() {
        confirmed.extend(another_row(grey, &numbered, &lens, stated));
    }
    // Without its edge a row's direction is weak; else the more ticks the better.
    confirmed.sort_by_key(|(i, _)| {
        std::cmp::Reverse((numbered[*i].edge.is_some(), numbered[*i].comb.ticks.len()))
    });
    let Some((best, graduated)) = confirmed.first().copied() else { return Err(why) };
    let others = || {
        numbered.iter().enumerate().filter(|(i, _)| *i != best).filter_map(|(_, other)| {
            let there = other.graduated?;
            other.confirm(there.pitch, lens.block).is_ok().then_some((other, there))
        })
    };
    let chosen = (&numbered[best], graduated);
    if !others().any(|other| vouches(chosen, other)) {
        for other in others() {
            let seen = other.0.comb.ticks.len();
            agree(chosen, other)
                .map_err(|detail| Unread { rests_on: (true, seen), ..Unread::new(seen, detail) })?;
        }
    }
    let (mut map, mut on_the_rule, across_mm) = with_the_other_edge(&numbered, best, graduated);
    if across_mm < opposite::NEAREST_MM {
        let alone = ruled(&numbered[best].map, &[&numbered[best]], &lens, graduated);
        let other = alone.and_then(|a| opposite::find(grey, &a, graduated, lens.optics()));
        if let Some(other) = other {
            numbered.push(other);
            (map, on_the_rule, _) = with_the_other_edge(&numbered, best, graduated);
        }
    }
    let rows: Vec<&Numbered<'_>> = on_the_rule.iter().map(|i| &numbered[*i]).collect();
    ruled(&map, &rows, &lens, graduated)
        .filter(Ruled::is_square)
        .or_else(|| ruled(&numbered[best].map, &rows[..1], &lens, graduated))
        .ok_or_else(|| Unread::new(0, "its ticks give no plane".to_owned()))
}

/// A row of another graduation beside which the stated one stands: it tells the same plane.
fn another_row(
    grey: &Grey,
    numbered: &[Numbered<'_>],
    lens: &Lens,
    stated: TickPitch,
) -> Option<(usize, Graduated)> {
    let mut rows: Vec<(usize, &Numbered<'_>)> = numbered.iter().enumerate().collect();
    rows.sort_by_key(|(_, row)| std::cmp::Reverse(row.comb.ticks.len()));
    rows.into_iter().find_map(|(i, row)| {
        let graduated = confirm(row, lens, row.graduated?.pitch).ok()?;
        let alone = ruled(&row.map, &[row], lens, graduated)?;
        beside::stands(grey, &alone.plane, alone.ends_mm, stated).then_some((i, graduated))
    })
}

/// The row's graduation as stated, its zero on the first of its longest ticks; else why not.
fn confirm(row: &Numbered<'_>, lens: &Lens, stated: TickPitch) -> Result<Graduated, Unread> {
    let seen = row.comb.ticks.len();
    let told = row.tells(stated, lens.block);
    let unread = |reason: String, remedy: RuleRemedy| {
        let detail = format!("{seen} ticks in a row are seen, but {reason}");
        Unread { rests_on: (told, seen), detail, remedy }
    };
    let found = row.confirm(stated, lens.block).map_err(|reason| {
        // What it looks like is good advice only where that is read.
        let other = row.graduated.map(|g| g.pitch).filter(|_| !told);
        let advice = other.filter(|other| confirm(row, lens, *other).is_ok());
        let remedy = advice.map_or(RuleRemedy::Flat, |a| RuleRemedy::Graduation(a.word()));
        unread(reason, remedy)
    })?;
    let first = row.comb.ticks[0].0;
    let every = Graduated::longest_every(found.pitch);
    let graduated = Graduated { zero: first + (found.zero - first).rem_euclid(every), ..found };
    let alone = ruled(&row.map, &[row], lens, graduated)
        .ok_or_else(|| unread("they give no plane".to_owned(), RuleRemedy::WholePhoto))?;
    if !alone.is_square() {
        let reason =
            "they do not stand square to their row, however a camera of this focal length is held"
                .to_owned();
        return Err(unread(reason, RuleRemedy::WholePhoto));
    }
    let most = LONGEST_TICK_MM[usize::from(found.pitch != stated)];
    let halves = !matches!(found.pitch, TickPitch::Millimetre | TickPitch::HalfMillimetre);
    if halves && alone.longest_mm > most {
        let reason = format!(
            "its longest ticks would be {:.0} mm long, at most {most:.0} are usual: it is no row of {}",
            alone.longest_mm,
            found.pitch.word()
        );
        return Err(unread(reason, RuleRemedy::Flat));
    }
    Ok(graduated)
}

#[cfg(test)]
pub(super) mod tests;
