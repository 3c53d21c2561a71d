//! White paper in the frame: what light falls on the ground beside it.
//!
//! A shadow that lies over the part lies over the card as well. Ground that is as bright against the
//! paper right beside it as the coat is against its own is as white as the coat, however dark it looks.

use crate::PointPx;
use crate::photo::{Cells, Mask};
use crate::regions::Area;

/// White paper on the cells.
pub(crate) struct Paper {
    /// Its light where it is lit as most of it, ln of red, green, blue.
    pub(crate) white_ln: [f64; 3],
    /// Cells on the paper in any light: place, ln of red, green, blue.
    places: Vec<([f32; 2], [f32; 3])>,
}

/// Light and colour of an area's ground against the paper beside it, ln.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct AgainstPaper {
    /// Red light.
    pub(super) light: f64,
    /// R/G and B/G.
    pub(super) colour: [f64; 2],
}

/// Fewer samples are no reference. Chosen: two squares of margin and more.
const LEAST_SAMPLES: usize = 8;
/// Paper beside an area is told by so many samples at least. Chosen: one may be something that lies on it.
const LEAST_BESIDE: usize = 2;
/// Paper this bright is burnt out, ln: nobody knows how bright it is. From the level at which the margin counts
/// as such.
const BURNT_OUT_LN: f64 = -0.045;
/// Not much more ground of an area than this is looked at, cells. Chosen: a median needs no more.
const MOST_GROUND: usize = 4000;
/// Ground up to this far from the card lies in the light of the paper beside it, mm. Chosen: an area's core
/// is shaved by a few millimetres; farther the edge of a shadow lies between the two too often.
const BESIDE_MM: f64 = 9.0;
/// ...the paper itself being at most so far away, mm. Chosen: margin and half the way to the next sample more.
const PAPER_WITHIN_MM: f64 = 16.0;
/// Least ground that is held against paper, mm2. Chosen: 5 mm by 3 mm.
const LEAST_GROUND_MM2: f64 = 15.0;

impl Paper {
    /// Paper at the places given, `white_px` of it lit as most of it; `None` where there is too little.
    pub(crate) fn of(
        cells: &Cells,
        white_px: &[PointPx],
        any_light_px: &[PointPx],
    ) -> Option<Self> {
        let seen = |places: &[PointPx]| -> Vec<([f32; 2], [f32; 3])> {
            places.iter().filter_map(|p| cell_at(cells, *p)).collect()
        };
        let white = seen(white_px);
        if white.len() < LEAST_SAMPLES {
            return None;
        }
        let middle = |c: usize| crate::photo::median(white.iter().map(|(_, ln)| ln[c]).collect());
        let white_ln = [0, 1, 2].map(|c| f64::from(middle(c)));
        Some(Self { white_ln, places: seen(any_light_px) })
    }

    /// Whether its white is burnt out: then it tells no brightness.
    pub(super) fn is_burnt_out(&self) -> bool {
        self.white_ln[0] >= BURNT_OUT_LN
    }

    /// By how much paper in the light is lighter than paper in the shadow, ln of red; a tenth on either side left
    /// out. Chosen: a smaller share of the card may be anything.
    pub(super) fn shadow_ln(&self) -> f64 {
        let mut red: Vec<f32> = self.places.iter().map(|(_, ln)| ln[0]).collect();
        red.sort_unstable_by(f32::total_cmp);
        let tenth = red.len() / 10;
        match (red.get(tenth), red.iter().nth_back(tenth)) {
            (Some(dark), Some(light)) => f64::from(light - dark),
            _ => 0.0,
        }
    }

    /// An area's ground that lies beside the paper, against it; `None` where too little does. `beside` is
    /// what lies near, see [`Paper::beside`].
    pub(super) fn against(
        &self,
        area: &Area,
        beside: &Mask,
        cells: &Cells,
        cell_mm: f64,
    ) -> Option<AgainstPaper> {
        let within = (PAPER_WITHIN_MM / cell_mm).powi(2) as f32;
        let ground: Vec<(usize, usize)> = area.places().filter(|&(x, y)| beside.at(x, y)).collect();
        if (ground.len() as f64) < LEAST_GROUND_MM2 / (cell_mm * cell_mm) {
            return None;
        }
        let mut seen: [Vec<f32>; 3] = Default::default();
        let mut told = vec![false; self.places.len()];
        for &(x, y) in ground.iter().step_by(1 + ground.len() / MOST_GROUND) {
            let away = |at: [f32; 2]| (at[0] - x as f32).powi(2) + (at[1] - y as f32).powi(2);
            let nearest = self.places.iter().enumerate();
            let nearest = nearest.min_by(|a, b| away(a.1.0).total_cmp(&away(b.1.0)));
            let Some((i, (_, paper))) = nearest.filter(|(_, (at, _))| away(*at) <= within) else {
                continue;
            };
            if f64::from(paper[0]) >= BURNT_OUT_LN {
                continue;
            }
            told[i] = true;
            let ln = [0, 1, 2].map(|c: usize| cells.ln[c].at(x, y) - paper[c]);
            seen[0].push(ln[0]);
            seen[1].push(ln[0] - ln[1]);
            seen[2].push(ln[2] - ln[1]);
        }
        // Most of the ground must have told something: the rest lies beside what is burnt out, or far away.
        if 2 * seen[0].len() < ground.len().min(MOST_GROUND / 2)
            || told.iter().filter(|t| **t).count() < LEAST_BESIDE
        {
            return None;
        }
        let [light, red, blue] = seen.map(|v| f64::from(crate::photo::median(v)));
        Some(AgainstPaper { light, colour: [red, blue] })
    }

    /// What lies beside the cards.
    pub(super) fn beside(covered: &Mask, cell_mm: f64) -> Mask {
        covered.grown(BESIDE_MM / cell_mm)
    }
}

impl AgainstPaper {
    /// Light and colour against another's: the difference of light, and the greater one of colour.
    pub(super) fn off(&self, other: &Self) -> (f64, f64) {
        let off = |k: usize| (self.colour[k] - other.colour[k]).abs();
        (self.light - other.light, off(0).max(off(1)))
    }
}

fn cell_at(cells: &Cells, p: PointPx) -> Option<([f32; 2], [f32; 3])> {
    let (x, y) = cells.grid.place_of(p[0], p[1]);
    let (i, j) = (x.round(), y.round());
    let inside =
        i >= 0.0 && j >= 0.0 && (i as usize) < cells.width() && (j as usize) < cells.height();
    inside.then(|| {
        ([x as f32, y as f32], [0, 1, 2].map(|c: usize| cells.ln[c].at(i as usize, j as usize)))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coat::{CoatOptions, propose};
    use crate::photo::{Grid, Raster};

    const SIZE: (usize, usize) = (300, 200);
    const CELL_MM: f32 = 0.3;
    /// Light left in the shadow over the right half, ln: a ninth, more than any shadow is taken for unasked.
    const SHADOW_LN: f32 = -2.2;

    /// Shares of two kinds of ground that are read, beside a card over `card` (x0, y0, x1, y1, mm). `ground` tells of
    /// a place in mm its light and how white it is, both ln, and its kind (2: rough).
    fn shares(
        [x0, y0, x1, y1]: [f32; 4],
        with_paper: bool,
        ground: impl Fn(f32, f32) -> (f32, f32, usize),
    ) -> [f64; 2] {
        let card = |x: f32, y: f32| (x0..x1).contains(&x) && (y0..y1).contains(&y);
        let mut red = Raster::filled(SIZE.0, SIZE.1, 0.0);
        let mut covered = Mask::empty(SIZE.0, SIZE.1);
        let (mut white_px, mut any_px, mut kinds) = (Vec::new(), Vec::new(), Vec::new());
        for j in 0..SIZE.1 {
            for i in 0..SIZE.0 {
                let (x, y) = (i as f32 * CELL_MM, j as f32 * CELL_MM);
                let (light, own, kind) = ground(x, y);
                let rough = if kind == 2 { 0.3 } else { 0.02 };
                let grain = rough * (((i * i * 37 + i * j * 53 + j * 91) % 17) as f32 / 17.0 - 0.5);
                kinds.push((!card(x, y)).then_some(kind));
                let own = if card(x, y) { -0.1 } else { -0.2 + own + grain };
                red.data[j * SIZE.0 + i] = light + own;
                covered.set(i, j, card(x, y));
                let on_margin = card(x, y) && (!card(x - 3.0, y - 3.0) || !card(x + 3.0, y + 3.0));
                if on_margin && i % 6 == 0 && j % 6 == 0 {
                    let px = [3.0 * i as f64 + 1.5, 3.0 * j as f64 + 1.5];
                    any_px.push(px);
                    if light > 0.5 * SHADOW_LN {
                        white_px.push(px);
                    }
                }
            }
        }
        let lost = Raster::filled(SIZE.0, SIZE.1, 0.0);
        let cells = Cells {
            grid: Grid { x0: 0, y0: 0, side: 3 },
            ln: [red.clone(), red.clone(), red],
            lost,
        };
        let paper = Paper::of(&cells, &white_px, &any_px).unwrap();
        let paper = with_paper.then_some(&paper);
        let coat = propose(&cells, &covered, paper, f64::from(CELL_MM), &CoatOptions::default());
        let coat = coat.unwrap().coat;
        [0, 1].map(|kind| coat.share_of(|i| kinds[i] == Some(kind)))
    }

    /// A lit coat with a card on it, half in a shadow; `own` is how much darker than coat the ground in the
    /// shadow is, ln. Shares of the lit and the shaded ground that are read, with the card's paper or without.
    fn half_in_shadow(own: f32, with_paper: bool) -> [f64; 2] {
        shares([25.0, 20.0, 65.0, 40.0], with_paper, |x, _| {
            if x > 45.0 { (SHADOW_LN, own, 1) } else { (0.0, 0.0, 0) }
        })
    }

    #[test]
    fn a_coat_in_a_deep_shadow_is_read_where_paper_lies_in_the_same_shadow() {
        let [lit, shaded] = half_in_shadow(0.0, true);
        assert!(lit > 0.95 && shaded > 0.9, "{lit} {shaded}");
        let [lit, shaded] = half_in_shadow(0.0, false);
        assert!(lit > 0.95 && shaded < 0.05, "without paper nobody knows: {lit} {shaded}");
    }

    #[test]
    fn what_is_darker_than_the_coat_against_the_paper_beside_it_is_not_read() {
        let [lit, shaded] = half_in_shadow(-0.6, true);
        assert!(lit > 0.95 && shaded < 0.05, "{lit} {shaded}");
    }

    #[test]
    fn beyond_a_card_ground_along_three_sides_of_the_frame_is_coat_where_it_is_just_as_white() {
        // On this side of the card the rim of the part is seen; it might be its bench that goes on beyond.
        let beyond = |own: f32| {
            shares([40.0, 0.0, 50.0, 60.0], true, |x, y| match x {
                x if x > 45.0 => (-0.4, own, 1),
                x if x < 8.0 || (y - 30.0).abs() > 26.0 => (0.0, -1.2, 2),
                _ => (0.0, 0.0, 0),
            })
        };
        let [coat, other] = beyond(0.0);
        // A millimetre and a half along the rough rim is left out.
        assert!(coat > 0.85 && other > 0.9, "{coat} {other}");
        let [coat, other] = beyond(-0.25);
        assert!(coat > 0.85 && other < 0.05, "{coat} {other}");
    }

    #[test]
    fn too_little_paper_is_no_reference() {
        let cells = Cells {
            grid: Grid { x0: 0, y0: 0, side: 3 },
            ln: [(); 3].map(|()| Raster::filled(20, 20, -0.1)),
            lost: Raster::filled(20, 20, 0.0),
        };
        let places: Vec<PointPx> = (0..20).map(|i| [3.0 * f64::from(i) + 1.5, 10.0]).collect();
        assert!(Paper::of(&cells, &places[..7], &places).is_none());
        assert!(Paper::of(&cells, &places[..8], &places).is_some());
        // Beyond the photo there is no paper.
        assert!(Paper::of(&cells, &[[-5.0, 2.0]; 9], &places).is_none());
    }
}
