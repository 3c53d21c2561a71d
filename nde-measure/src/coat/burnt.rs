//! Burnt-out ground that was coat: whoever looks at the part takes it for read.
//!
//! What is fainter than the light that is too much does not show there, so it counts as unread; but dye that is strong
//! enough shows, and is looked for where the coat goes over into the ground.

use crate::photo::{Cells, Mask};
use crate::regions::areas;

/// Burnt-out ground goes over into the coat where from one to the other, over so much at most, the light
/// only grows, mm: nothing lies between. Thinning powder and bare metal make a darker rim. Chosen: the
/// coat that is read ends a millimetre or two before the slope into a burnt-out place.
const GOES_OVER_MM: f64 = 2.4;
/// What is no loss of light, ln. Chosen: the grain of powder.
const GRAIN_LN: f32 = 0.03;
/// Burnt-out ground is taken for lost coat where so much of its rim goes over into the coat...
const LEAST_OVER: f64 = 0.4;
/// ...or some of it does and the ground is large against the coat: then most of the part may be unread. On
/// rendered photos bare steel that is burnt out beside a coat reads 0.18 to 0.28 and a tenth of the coat. Chosen.
const LARGE: f64 = 0.25;
const LEAST_OVER_LARGE: f64 = 0.1;

/// Burnt-out ground beside the coat.
pub(crate) struct BurntOut {
    /// How many cells of it may have been coat: whoever looks at the part takes them for read.
    pub(crate) lost: usize,
    /// Those that for the most part the coat goes over into: dye is looked for there. Large ground and gaps may be bare
    /// metal as well, which is worth a refusal and no call.
    pub(crate) was_coat: Mask,
}

/// What is burnt out beside the coat: ground that the coat goes over into, and ground in its gaps.
pub(crate) fn burnt_out(cells: &Cells, coat: &Mask, covered: &Mask, cell_mm: f64) -> BurntOut {
    let (w, h) = (coat.width, coat.height);
    // A black gap is a bore or a shadow, and looks like one.
    let mut burnt = Mask::empty(w, h);
    for (i, yes) in burnt.data.iter_mut().enumerate() {
        *yes = !coat.data[i] && !covered.data[i] && cells.is_burnt_out(i);
    }
    let mut found = BurntOut { lost: 0, was_coat: Mask::empty(w, h) };
    if burnt.count() == 0 {
        return found;
    }
    // First and last cell of the coat in each row and in each column.
    let none = (usize::MAX, 0);
    let (mut rows, mut columns) = (vec![none; h], vec![none; w]);
    for i in (0..coat.data.len()).filter(|&i| coat.data[i]) {
        let (x, y) = (i % w, i / w);
        rows[y] = (rows[y].0.min(x), rows[y].1.max(x));
        columns[x] = (columns[x].0.min(y), columns[x].1.max(y));
    }
    let between = |x: usize, y: usize| {
        (rows[y].0 < x && x < rows[y].1) || (columns[x].0 < y && y < columns[x].1)
    };
    let steps = (GOES_OVER_MM / cell_mm).round() as usize;
    let near = where_light_grows(cells, coat, covered, steps);
    let coat_size = coat.count();
    for area in areas(&burnt) {
        let on_rim = |x: usize, y: usize| beside_cell([x, y], [w, h]).any(|(x, y)| !burnt.at(x, y));
        let rim: Vec<(usize, usize)> = area.places().filter(|&(x, y)| on_rim(x, y)).collect();
        let over = rim.iter().filter(|&&(x, y)| near.at(x, y)).count();
        let large = area.size() as f64 > LARGE * coat_size as f64;
        let needed = if large { LEAST_OVER_LARGE } else { LEAST_OVER };
        let goes_over = over as f64 > needed * rim.len() as f64;
        found.lost += area.places().filter(|&(x, y)| goes_over || between(x, y)).count();
        if over as f64 > LEAST_OVER * rim.len() as f64 {
            area.draw(&mut found.was_coat);
        }
    }
    found
}

/// What is burnt out within a coat that was drawn.
pub(crate) fn burnt_out_in(cells: &Cells, coat: &Mask) -> Mask {
    let mut burnt = coat.clone();
    burnt.data.iter_mut().enumerate().for_each(|(i, yes)| *yes &= cells.is_burnt_out(i));
    burnt
}

/// The cells that share a side with one, in a grid of `w` by `h`.
fn beside_cell([x, y]: [usize; 2], [w, h]: [usize; 2]) -> impl Iterator<Item = (usize, usize)> {
    let around = [(x.wrapping_sub(1), y), (x + 1, y), (x, y.wrapping_sub(1)), (x, y + 1)];
    around.into_iter().filter(move |&(x, y)| x < w && y < h)
}

/// The coat and what lies beside it where light only grows on the way there.
fn where_light_grows(cells: &Cells, coat: &Mask, covered: &Mask, steps: usize) -> Mask {
    let (w, h) = (coat.width, coat.height);
    let light = &cells.ln[1].data;
    let mut reached = coat.clone();
    // Where the way has come to, and the most light on it so far.
    let at_coat = (0..w * h).filter(|&i| coat.data[i]);
    let mut front: Vec<(usize, f32)> = at_coat.map(|i| (i, light[i])).collect();
    for _ in 0..steps {
        let mut next = Vec::new();
        for (i, most) in front {
            for (x, y) in beside_cell([i % w, i / w], [w, h]) {
                let to = y * w + x;
                if !reached.data[to] && !covered.data[to] && light[to] >= most - GRAIN_LN {
                    reached.data[to] = true;
                    next.push((to, most.max(light[to])));
                }
            }
        }
        front = next;
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::{Grid, Raster};

    const SIZE: (usize, usize) = (200, 100);

    /// What is taken for lost, and what of that for searched, as shares of both and the coat, where `ground` tells light,
    /// ln, and what it is, at a place in cells: coat that was read (0), burnt out (1) or neither (2).
    fn lost(ground: impl Fn(usize, usize) -> (f32, u8)) -> [f64; 2] {
        let mut light = Raster::filled(SIZE.0, SIZE.1, 0.0);
        let mut lost = light.clone();
        let mut coat = Mask::empty(SIZE.0, SIZE.1);
        for y in 0..SIZE.1 {
            for x in 0..SIZE.0 {
                let (ln, kind) = ground(x, y);
                light.data[y * SIZE.0 + x] = ln;
                lost.data[y * SIZE.0 + x] = f32::from(u8::from(kind == 1));
                coat.set(x, y, kind == 0);
            }
        }
        let ln = [light.clone(), light.clone(), light];
        let cells = Cells { grid: Grid { x0: 0, y0: 0, side: 3 }, ln, lost };
        let burnt = burnt_out(&cells, &coat, &Mask::empty(SIZE.0, SIZE.1), 0.3);
        let all = (coat.count() + burnt.lost) as f64;
        [burnt.lost, burnt.was_coat.count()].map(|n| n as f64 / all)
    }

    /// Coat on one side only of a burnt-out stripe, its last 6 cells a slope of light that was not read.
    fn lost_to_a_stripe(coat: usize, stripe: usize) -> [f64; 2] {
        lost(|x, _| match x {
            x if x < coat => (-0.4, 0),
            x if x < coat + 6 => (-0.4 + 0.06 * (x + 1 - coat) as f32, 2),
            x if x < coat + 6 + stripe => (0.0, 1),
            _ => (-1.5, 2),
        })
    }

    #[test]
    fn a_burnt_out_stripe_that_light_grows_into_is_lost_coat() {
        // A wide one, and one that is narrow against the coat.
        for (coat, stripe) in [(100, 40), (150, 15)] {
            let [lost, searched] = lost_to_a_stripe(coat, stripe);
            let all = (coat + stripe) as f64;
            assert!((lost - stripe as f64 / all).abs() < 0.01, "{stripe} cells: {lost}");
            assert!((searched - lost).abs() < 1e-9, "{stripe} cells: {searched}");
        }
    }

    #[test]
    fn burnt_out_metal_behind_thinning_powder_is_not() {
        let [lost, searched] = lost(|x, _| match x {
            0..100 => (-0.4, 0),
            100..106 => (-0.9, 2),
            106..146 => (0.0, 1),
            _ => (-1.5, 2),
        });
        assert!(lost < 0.01 && searched < 1e-9, "{lost} {searched}");
    }

    #[test]
    fn burnt_out_metal_in_a_gap_of_the_coat_counts_as_lost_and_is_not_searched() {
        let [lost, searched] = lost(|x, _| match x {
            0..90 | 112.. => (-0.4, 0),
            92..110 => (0.0, 1),
            _ => (-0.9, 2),
        });
        assert!((lost - 18.0 / 196.0).abs() < 0.01 && searched < 1e-9, "{lost} {searched}");
    }

    #[test]
    fn a_black_bore_in_the_coat_is_no_glare() {
        let [lost, searched] = lost(|x, y| match (x, y) {
            (80..120, 40..60) => (-6.0, 1),
            _ => (-0.4, 0),
        });
        assert!(lost < 0.001 && searched < 1e-9, "{lost} {searched}");
    }
}
