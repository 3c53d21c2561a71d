//! When each photo was taken, in minutes.

use crate::clock::Moment;
use crate::compare::Taken;
use anyhow::{Result, bail};
use nde_measure::TakenAt;

/// One photo of a series.
#[derive(Clone, Debug)]
pub(crate) struct Shot {
    /// Minutes after the series' first moment, or after the moment the user counts from.
    pub minutes: f64,
    /// What was measured.
    pub taken: Taken,
}

/// Longest time between two photos of a series, minutes; beyond it a typing error or another job's photo is
/// likelier. Chosen: far above the longest developing time of the common standards.
const MOST_MINUTES: f64 = 24.0 * 60.0;

/// Whether told minutes can be those of so many photos; none need be told.
///
/// # Errors
/// Another number of times than photos, a time no clock shows.
pub(crate) fn check_told(told: &[f64], photos: usize) -> Result<()> {
    if !told.is_empty() && told.len() != photos {
        bail!(
            "--minutes gives {} for {photos} photos; give one for each photo, in their order: --minutes 5,10,20",
            told.len()
        );
    }
    if let Some(wrong) = told.iter().find(|m| !(0.0..=MOST_MINUTES).contains(*m)) {
        bail!("--minutes {wrong}: give minutes from 0 to {MOST_MINUTES}");
    }
    Ok(())
}

/// The minutes of photos: as told, else from the cameras' stamps, the first photo at 0.
///
/// # Errors
/// Another number of times than photos, a time no clock shows, a photo without a stamp, stamps too far apart.
pub(crate) fn minutes(
    told: &[f64],
    names: &[String],
    stamps: &[Option<TakenAt>],
) -> Result<Vec<f64>> {
    if !told.is_empty() {
        check_told(told, names.len())?;
        return Ok(told.to_vec());
    }
    let mut moments = Vec::new();
    for (name, stamp) in names.iter().zip(stamps) {
        // Cameras that tell no zone are all in the same one.
        let Some(moment) = stamp.as_ref().and_then(|taken| Moment::of_stamp(taken, Some(0))) else {
            bail!(
                "{name}: does not tell when it was taken; give the minutes yourself, in the order of the photos: --minutes 5,10,20"
            );
        };
        moments.push(moment);
    }
    let Some(first) = moments.iter().copied().reduce(|a, b| if b < a { b } else { a }) else {
        return Ok(Vec::new());
    };
    let minutes: Vec<f64> =
        moments.iter().map(|moment| moment.seconds_since(first) as f64 / 60.0).collect();
    if let Some((name, m)) = names.iter().zip(&minutes).find(|(_, m)| **m > MOST_MINUTES) {
        bail!(
            "{name}: was taken {:.0} hours after the first photo by its stamp; leave it out, or give --minutes if a camera's clock is wrong",
            m / 60.0
        );
    }
    Ok(minutes)
}
