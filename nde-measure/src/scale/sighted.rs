//! What of a scale is seen in a photo in which none could be read: for a person who wonders why.

use crate::scale::camera::{TYPICAL_FOCAL_35MM, focal_px};
use crate::scale::grey::Grey;
use crate::scale::markers::read;
use crate::scale::quads;
use crate::scale::spec::{ScaleSpec, TickPitch};
use crate::scale::terms::FIT_TOLD_AT_MM;
use crate::scale::ticks::{Asked, FocalKnown, rows_seen};
use crate::{Photo, PointPx};

/// Long side of the picture on which dark patches are looked for, and their window as a part of it: as
/// the finer search for a card has them.
const SEARCHED_PX: u32 = 2800;
const WINDOW_PARTS: usize = 40;

/// What may belong to a scale.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Sighted {
    /// Markers read, of whatever card.
    pub markers: Vec<MarkerSighted>,
    /// Dark four-sided patches that read as no marker: corners in order, pixels.
    pub patches_px: Vec<[PointPx; 4]>,
    /// Rows that repeat as ticks do.
    pub rows: Vec<RowSighted>,
}

/// A marker of a card.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MarkerSighted {
    /// Its number in the dictionary.
    pub id: usize,
    /// Its corners in order, pixels.
    pub corners_px: [PointPx; 4],
}

/// A row that repeats as ticks do.
#[derive(Clone, Debug, PartialEq)]
pub struct RowSighted {
    /// Its ends, pixels.
    pub ends_px: [PointPx; 2],
    /// Places of its ticks, pixels; empty where they could not be followed.
    pub ticks_px: Vec<PointPx>,
    /// What the pattern of longer ticks shows it to be; absent where it shows nothing for certain.
    pub pitch: Option<TickPitch>,
}

/// What is seen in the photo that may belong to a scale of the kind asked for; nothing for scales that lie
/// in no photo.
#[must_use]
pub fn sighted(photo: &Photo, specs: &[ScaleSpec]) -> Sighted {
    match specs {
        [] | [ScaleSpec::Card { .. } | ScaleSpec::Board { .. }] => of_cards(photo),
        [ScaleSpec::Ticks { pitch, within_px }] => of_rules(photo, *pitch, within_px),
        _ => Sighted::default(),
    }
}

fn of_cards(photo: &Photo) -> Sighted {
    let [width, height] = photo.size_px();
    let block = width.max(height).div_ceil(SEARCHED_PX).max(1);
    let grey = Grey::reduced(photo, block as usize);
    let mut seen = Sighted::default();
    for quad in quads::find(&grey, grey.width.max(grey.height) / WINDOW_PARTS) {
        match read(&grey, &quad) {
            Some(marker) => {
                seen.markers.push(MarkerSighted { id: marker.id, corners_px: marker.corners_px })
            }
            None => seen.patches_px.push(quad.map(|p| p.map(|v| v * f64::from(block)))),
        }
    }
    seen
}

fn of_rules(photo: &Photo, stated: TickPitch, within_px: &[PointPx]) -> Sighted {
    let asked = Asked {
        stated,
        within_px,
        focal_px: focal_px(TYPICAL_FOCAL_35MM, photo.size_px()),
        focal_known: FocalKnown::Typical,
        told_at_mm: FIT_TOLD_AT_MM,
    };
    let rows = rows_seen(photo, &asked).into_iter();
    let rows = rows.map(|row| RowSighted {
        ends_px: row.ends_px,
        ticks_px: row.ticks_px,
        pitch: row.pitch,
    });
    Sighted { rows: rows.collect(), ..Sighted::default() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{Rgb, RgbImage};

    /// Ticks of one length, 9 pixels apart: a row, but no rule.
    #[test]
    fn a_row_that_is_no_rule_is_shown_with_its_ticks() {
        let photo = Photo::from_rgb(RgbImage::from_fn(900, 700, |x, y| {
            let dark = x % 9 < 2 && (300..340).contains(&y);
            Rgb([if dark { 40 } else { 190 }; 3])
        }));
        let seen = sighted(&photo, &["ticks:1mm".parse().unwrap()]);
        let row = &seen.rows[0];
        assert!(
            row.ticks_px.len() > 80 && row.pitch.is_none(),
            "{} {:?}",
            row.ticks_px.len(),
            row.pitch
        );
        assert!(row.ends_px.iter().all(|p| (300.0..340.0).contains(&p[1])), "{:?}", row.ends_px);
    }

    #[test]
    fn a_dark_square_is_shown_as_a_patch() {
        let photo = Photo::from_rgb(RgbImage::from_fn(600, 400, |x, y| {
            let dark = (200..260).contains(&x) && (100..160).contains(&y);
            Rgb([if dark { 20 } else { 210 }; 3])
        }));
        let seen = sighted(&photo, &[]);
        assert!(seen.markers.is_empty());
        let [patch] = &seen.patches_px[..] else { panic!("{seen:?}") };
        assert!(patch.iter().all(|p| (199.0..261.0).contains(&p[0])), "{patch:?}");
        assert_eq!(sighted(&photo, &["pitch:0.1mm".parse().unwrap()]), Sighted::default());
    }
}
