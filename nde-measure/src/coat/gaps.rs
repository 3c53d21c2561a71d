//! Gaps in the coat that belong to it: what it encloses, and what a mark at its rim or on relief breaks up.

use crate::photo::{Cells, Mask, median};
use crate::regions::{Area, areas};

/// Redder than the coat by this much, ln R/G, is no bare metal. Chosen: metal under coloured lamps reads to 0.1.
const RED: f32 = 0.15;
/// Less blue than green by more than this share of its redness is rust, wood or brass. Dye reads -0.4 to 0.3, rust 0.4
/// to 0.9 (real penetrant on developer, measured on photos without size truth: -0.6 to 0.25).
pub(crate) const BROWN: f32 = 0.35;
/// A mark breaks up the evenness of the coat so far around it, mm. Chosen: evenness is asked for over 1.6 mm, relief
/// in blocks of about as much.
const BROKEN_UP_MM: f64 = 2.4;
/// Nothing larger is taken for a mark, mm2. Chosen: rags, caps and other red parts are; a bleed-out that is as large
/// and breaks up the rim of the coat stays outside, and is told as a mark beside the area read.
pub(super) const MOST_MARK_MM2: f64 = 150.0;
/// Share of what lies around a mark that is coat, where the mark lies on it. Chosen: letters and rags lie on metal
/// or the bench beside, with coat on one side.
const LEAST_AROUND: f64 = 0.5;

/// Fills enclosed holes of up to `most` cells.
pub(super) fn fill_holes(mask: &mut Mask, most: usize) {
    let mut outside = mask.clone();
    outside.data.iter_mut().for_each(|v| *v = !*v);
    for hole in areas(&outside) {
        if hole.size() <= most && lies_within_the_frame(&hole, mask) {
            hole.draw(mask);
        }
    }
}

/// Red places beside the coat most of whose surroundings are coat. What runs out of the frame is not looked at: nobody
/// knows what lies around it.
pub(super) fn marks_on(coat: &Mask, cells: &Cells, covered: &Mask, cell_mm: f64) -> Mask {
    let against_green = |channel: usize| {
        let ln = move |i: usize| cells.ln[channel].data[i] - cells.ln[1].data[i];
        let own = median((0..coat.data.len()).filter(|&i| coat.data[i]).map(ln).collect());
        move |i: usize| ln(i) - own
    };
    let (redness, blueness) = (against_green(0), against_green(2));
    let mut red = Mask::empty(coat.width, coat.height);
    for (i, yes) in red.data.iter_mut().enumerate() {
        let brown = blueness(i) < -BROWN * redness(i);
        *yes = !coat.data[i] && !covered.data[i] && redness(i) > RED && !brown;
    }
    let reach = BROKEN_UP_MM / cell_mm;
    let most = (MOST_MARK_MM2 / (cell_mm * cell_mm)) as usize;
    let mut found = Mask::empty(coat.width, coat.height);
    for area in areas(&red).iter().filter(|a| a.size() <= most) {
        if lies_within_the_frame(area, coat)
            && share_around(area, coat, covered, reach) >= LEAST_AROUND
        {
            area.draw(&mut found);
        }
    }
    found
}

/// Whether an area touches no side of the frame.
fn lies_within_the_frame(area: &Area, frame: &Mask) -> bool {
    let [x0, y0, x1, y1] = area.bounds();
    x0 > 0 && y0 > 0 && x1 < frame.width && y1 < frame.height
}

/// Share of the cells about `reach` from an area that are coat, of those that are not covered.
fn share_around(area: &Area, coat: &Mask, covered: &Mask, reach: f64) -> f64 {
    let [x0, y0, x1, y1] = area.bounds();
    let rim = reach.ceil() as usize + 2;
    let crop = [
        x0.saturating_sub(rim),
        y0.saturating_sub(rim),
        (x1 + rim).min(coat.width),
        (y1 + rim).min(coat.height),
    ];
    // Noise makes many specks, and most lie far from the coat.
    if (crop[1]..crop[3]).all(|y| !coat.row(y)[crop[0]..crop[2]].contains(&true)) {
        return 0.0;
    }
    let (mut all, mut on_coat) = (0_usize, 0_usize);
    area.mask_in(crop).each_between(reach, reach + 1.5, |x, y| {
        let (x, y) = (x + crop[0], y + crop[1]);
        if !covered.at(x, y) {
            all += 1;
            on_coat += usize::from(coat.at(x, y));
        }
    });
    on_coat as f64 / all.max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::{Grid, Raster};

    /// Whether a spot of 1.5 mm radius at a place is found on a coat from x = 0 to 30 mm, whose evenness it breaks up for
    /// 2 mm around; `blue` is what it leaves of blue light, ln.
    fn found([x0, y0]: [f32; 2], blue: f32) -> bool {
        let (w, h) = (150, 150);
        let mut ln = [(); 3].map(|()| Raster::filled(w, h, -0.3));
        let mut coat = Mask::empty(w, h);
        for y in 0..h {
            for x in 0..w {
                let (mm_x, mm_y) = (x as f32 * 0.3, y as f32 * 0.3);
                let away = (mm_x - x0).hypot(mm_y - y0);
                if away < 1.5 {
                    ln[1].data[y * w + x] = -1.3;
                    ln[2].data[y * w + x] = blue;
                }
                coat.set(x, y, mm_x < 30.0 && away > 3.5);
            }
        }
        let cells =
            Cells { grid: Grid { x0: 0, y0: 0, side: 3 }, ln, lost: Raster::filled(w, h, 0.0) };
        marks_on(&coat, &cells, &Mask::empty(w, h), 0.3).count() > 0
    }

    #[test]
    fn a_mark_near_the_rim_lies_on_the_coat_and_letters_and_rust_do_not() {
        assert!(found([26.0, 20.0], -1.3));
        // Beside the coat, brown, and cut by the frame.
        assert!(!found([33.0, 20.0], -1.3));
        assert!(!found([26.0, 20.0], -1.9));
        assert!(!found([20.0, 0.5], -1.3));
    }
}
