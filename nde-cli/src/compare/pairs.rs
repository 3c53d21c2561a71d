//! Which indication of the new photo is which of the old one.

use super::growth::{Growth, Scales, growth};
use super::marks::{Mark, Taken};
use super::register::{AGREE_MM, Align, Laid, by_scale, distance, register};
use anyhow::{Result, bail};

/// Two photos of the same part, compared.
#[derive(Clone, Debug)]
pub(crate) struct Comparison {
    /// The old photo's name.
    pub old: String,
    /// The new photo's name.
    pub new: String,
    /// SHA-256 of both.
    pub sha256: [String; 2],
    /// How they were laid over one another.
    pub laid: Laid,
    /// Every indication of both, once.
    pub pairs: Vec<Pair>,
    /// Area read then and now, mm2; absent where a typed list does not tell.
    pub read_mm2: [Option<f64>; 2],
    /// Area read both times, mm2; absent where that is not known.
    pub both_mm2: Option<f64>,
}

/// One indication, at both times or at one.
#[derive(Clone, Debug)]
pub(crate) struct Pair {
    /// In the old photo; absent: new.
    pub old: Option<Mark>,
    /// In the new photo; absent: gone.
    pub new: Option<Mark>,
    /// Its place in the new photo's frame.
    pub at_mm: [f64; 2],
    /// Growth, where it is in both.
    pub growth: Option<Growth>,
    /// Whether its place was not read in the photo that does not hold it: then that photo says nothing of it.
    pub unread: bool,
}

/// Compares two photos of the same part.
///
/// # Errors
/// The indications were to carry the laying over and do not agree.
pub(crate) fn compare(
    old: &Taken,
    new: &Taken,
    align: Align,
    scales: Scales,
) -> Result<Comparison> {
    let Some(laid) = register(&old.marks, &new.marks, align) else {
        bail!(
            "the indications of {} and {} do not agree in at least three places; lay the card where it lay before and give --by card",
            old.photo,
            new.photo
        );
    };
    Ok(paired(old, new, laid, scales))
}

/// Compares two photos of the same part by the frames of their scales.
#[must_use]
pub(crate) fn compare_by_scale(old: &Taken, new: &Taken, scales: Scales) -> Comparison {
    paired(old, new, by_scale(&old.marks, &new.marks), scales)
}

fn paired(old: &Taken, new: &Taken, laid: Laid, scales: Scales) -> Comparison {
    let moved: Vec<[f64; 2]> = old.marks.iter().map(|m| laid.by.apply(m.at_mm)).collect();
    let mut near: Vec<(f64, usize, usize)> = Vec::new();
    for (i, a) in old.marks.iter().enumerate() {
        for (j, b) in new.marks.iter().enumerate() {
            let apart = distance(moved[i], b.at_mm);
            // What grows at one end moves its middle by half of it.
            if apart <= AGREE_MM + 0.5 * (b.length_mm - a.length_mm).abs() {
                near.push((apart, i, j));
            }
        }
    }
    near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut partner: Vec<Option<usize>> = vec![None; new.marks.len()];
    let mut taken = vec![false; old.marks.len()];
    for (_, i, j) in near {
        if !taken[i] && partner[j].is_none() {
            taken[i] = true;
            partner[j] = Some(i);
        }
    }
    let own_u = [old.own_u, new.own_u];
    // The old ground in the new frame.
    let old_ground = old.ground.as_ref().map(|ground| ground.moved(|p| laid.by.apply(p)));
    let mut pairs: Vec<Pair> = new
        .marks
        .iter()
        .zip(&partner)
        .map(|(mark, partner)| {
            let before = partner.map(|i| &old.marks[i]);
            Pair {
                old: before.cloned(),
                new: Some(mark.clone()),
                at_mm: mark.at_mm,
                growth: before.map(|before| growth(before, mark, own_u, scales)),
                unread: before.is_none()
                    && old_ground.as_ref().is_some_and(|ground| !ground.holds(mark.at_mm)),
            }
        })
        .collect();
    for (i, mark) in old.marks.iter().enumerate().filter(|(i, _)| !taken[*i]) {
        let unread = new.ground.as_ref().is_some_and(|ground| !ground.holds(moved[i]));
        pairs.push(Pair {
            old: Some(mark.clone()),
            new: None,
            at_mm: moved[i],
            growth: None,
            unread,
        });
    }
    Comparison {
        old: old.photo.clone(),
        new: new.photo.clone(),
        sha256: [old.sha256.clone(), new.sha256.clone()],
        read_mm2: [old, new].map(|it| it.ground.as_ref().map(|ground| ground.area_mm2)),
        both_mm2: old_ground.as_ref().zip(new.ground.as_ref()).and_then(|(a, b)| a.common_mm2(b)),
        laid,
        pairs,
    }
}

impl Pair {
    /// `matched`, `new` or `gone`; `not-read-then` or `not-read-now` where the other photo cannot tell.
    #[must_use]
    pub(crate) const fn word(&self) -> &'static str {
        match (&self.old, &self.new) {
            (Some(_), Some(_)) => "matched",
            (None, _) if self.unread => "not-read-then",
            (None, _) => "new",
            (_, None) if self.unread => "not-read-now",
            (_, None) => "gone",
        }
    }
}
