//! What may belong to a scale in a photo in which none was read.

use super::ink::{arm_px, closed, line};
use image::{Rgb, RgbImage};
use nde_measure::marks::Lettering;
use nde_measure::scale::{RowSighted, Sighted};
use nde_measure::{Photo, PointPx};
use std::fmt::Write as _;

/// Height of letters as a share of the photo's long side. Chosen by eye.
const LETTERS: f64 = 0.02;
const INK: Rgb<u8> = Rgb([0, 0, 0]);
const GROUND: Rgb<u8> = Rgb([255, 255, 255]);

pub(super) fn picture(photo: &Photo, seen: &Sighted) -> RgbImage {
    let mut picture = photo.rgb().clone();
    for ring in &seen.patches_px {
        closed(&mut picture, ring, 1);
    }
    for marker in &seen.markers {
        closed(&mut picture, &marker.corners_px, 3);
        write(&mut picture, marker.corners_px[0], &marker.id.to_string());
    }
    let arm = arm_px(photo);
    for row in &seen.rows {
        line(&mut picture, row.ends_px[0], row.ends_px[1], 2);
        // The line's own way is not needed: a cross shows the place at any turn.
        for p in &row.ticks_px {
            for [dx, dy] in [[arm, 0.0], [0.0, arm]] {
                line(&mut picture, [p[0] - dx, p[1] - dy], [p[0] + dx, p[1] + dy], 1);
            }
        }
    }
    // Rows lie close; what is said of them stands one below the other.
    let middle =
        |row: &RowSighted| [0, 1].map(|k| row.ends_px.map(|e| e[k]).iter().sum::<f64>() / 2.0);
    let mut rows: Vec<&RowSighted> = seen.rows.iter().collect();
    rows.sort_by(|a, b| middle(a)[1].total_cmp(&middle(b)[1]));
    let mut below = 0.0_f64;
    for row in rows {
        let [x, y] = middle(row);
        let top = below.max(y + 2.0 * arm);
        write(&mut picture, [x, top], &said(row));
        below = top + 1.2 * letters_px(photo.rgb());
    }
    picture
}

pub(super) fn told(seen: &Sighted) -> String {
    let mut text = String::new();
    // Every `let _ = write!` goes into a String, which takes everything.
    if seen.rows.is_empty() && seen.markers.is_empty() && seen.patches_px.is_empty() {
        let _ = writeln!(text, "nothing is seen that may belong to a scale of that kind");
    }
    for marker in &seen.markers {
        let [x, y] = marker.corners_px[0];
        let _ = writeln!(text, "marker {} at {x:.0},{y:.0}", marker.id);
    }
    if !seen.patches_px.is_empty() {
        let _ = writeln!(text, "{} dark patches that read as no marker", seen.patches_px.len());
    }
    for row in &seen.rows {
        let [[a, b], [c, d]] = row.ends_px;
        let _ = writeln!(text, "from {a:.0},{b:.0} to {c:.0},{d:.0}: {}", said(row));
    }
    text
}

fn said(row: &RowSighted) -> String {
    match (row.ticks_px.len(), row.pitch) {
        (0, _) => "repeats, but no ticks could be followed".to_owned(),
        (n, Some(pitch)) => format!("{n} ticks, their lengths show {}", pitch.word()),
        (n, None) => format!("{n} ticks, their lengths show no graduation"),
    }
}

fn letters_px(picture: &RgbImage) -> f64 {
    (LETTERS * f64::from(picture.width().max(picture.height()))).max(10.0)
}

/// Letters on a light ground, moved into the picture.
fn write(picture: &mut RgbImage, at: PointPx, text: &str) {
    let [w, h] = [picture.width(), picture.height()].map(f64::from);
    let letters = Lettering::new();
    let high = letters_px(picture);
    let wide = letters.width(text, high);
    let left = at[0].min(w - wide - 2.0).max(2.0);
    let top = at[1].min(h - high - 2.0).max(2.0);
    for y in 0..=whole(high) {
        for x in 0..=whole(wide) {
            let (x, y) = (x + whole(left), y + whole(top));
            if x < picture.width() && y < picture.height() {
                picture.put_pixel(x, y, GROUND);
            }
        }
    }
    letters.write(picture, text, [left, top], high, INK);
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "places in a picture")]
fn whole(value: f64) -> u32 {
    value as u32
}
