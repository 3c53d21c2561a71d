//! Marks that touch through their skirts, told apart.
//!
//! Where two marks lie close, blur and the skirts of both fill the gap above half contrast, and both
//! are one connected place. Two equal skirts that each fall to half of their own contrast where they
//! meet add up to little more than half. So a place that falls apart just above half of its contrast,
//! into pieces that all rise to the full contrast again, is several marks. A crack whose dye varies
//! dips less deep, and where its ground shades it, its colour does not dip at all. Where it runs thin,
//! more blur thins it further, while the gap between broad skirts fills in; and it thins slowly, while
//! skirts are no longer than the blur of the sides.

use super::OutlineOptions;
use super::fields::Fields;
use super::half::Core;
use super::part::{Part, Stamps, edge_spread, mean_slope, percentile};
use super::stretches::Stretches;
use crate::PointPx;
use crate::photo::{Mask, Raster};

/// The dip between touching marks holds less than this share of their dye, ... Chosen on painted scenes:
/// touching marks dip to 0.06 to 0.27, single cracks to 0.33 and above.
const DYE_DIP: f64 = 0.29;
/// ... and less than this share of their contrast: much dye hides what changes in it. Chosen: touching
/// marks dip to 0.51 to 0.64, single strong cracks to 0.68 and above.
const DIP: f64 = 0.66;
/// Spots have no width along them that could vary, and may dip less: those whose box has a diagonal of up to this
/// many times their half width. Chosen: 2.8 is a disc, 4 an oval of half as much again in length as in width.
const SPOT: f64 = 4.0;
/// They dip to less than this. Chosen: between spots whose halos meet it is 0.68 to 0.71.
const DIP_OF_SPOTS: f64 = 0.72;
/// Where redness still implies this share of its own contrast, dye is not interrupted: a shadow or a
/// ridge of the coat takes light from all colours. Redness has half the resolution, so it dips less.
/// Chosen.
const REDNESS_DIP: f64 = 0.85;
/// Every piece rises again to this share of the contrast. Chosen: what is weaker is a tip or a halo.
const ALIKE: f64 = 0.85;
/// Grain of the ground against the contrast from which on a dip says nothing. Chosen: dips by grain
/// alone reach 0.55 at one sixth, 0.59 at 0.15, where they are also as short as those between marks.
const MOST_GRAIN: f64 = 0.12;
/// Weaker marks break on the powder itself. Chosen: the contrast from which on lengths are stated.
const LEAST_CONTRAST: f64 = 0.23;
/// A piece has this area, mm2 and pixels: less is grain. Chosen: a disc of 0.4 mm, of 5 pixels.
const LEAST_AREA_MM2: f64 = 0.12;
const LEAST_PIECE_PX: f64 = 20.0;
/// The dip between touching marks is no longer than this many standard deviations of the edges at their
/// sides, from where one falls below `RISEN` of its own height to where the other rises above it. Two
/// blurred edges that meet at 0.5 to 0.66 make a dip of 3.3 to 2.8. On painted scenes touching marks
/// read 2.2 to 3.7, lines that run thin 3.8 to 15.
const LONGEST_DIP: f64 = 3.75;
/// See `LONGEST_DIP`. Chosen: above the flanks of the dip, below the grain of the tops.
const RISEN: f64 = 0.85;
/// Ways from piece to piece that are longer than the shortest by up to this lead through what both
/// share, pixels. Chosen.
const SHARED_PX: f32 = 3.0;

/// One of several marks that touch.
pub(super) struct Touching {
    /// Where it is highest.
    pub(super) seed: usize,
    /// The places that may belong to it.
    pub(super) support: Mask,
}

/// How much dye takes this share of the light, as the ratio of absorption to scattering (Kubelka and
/// Munk, 1931, from memory).
fn dye_of_loss(loss: f64) -> f64 {
    loss.powi(2) / (2.0 * (1.0 - loss).max(1e-3))
}

/// The share of the light that so much dye takes.
fn loss_of_dye(dye: f64) -> f64 {
    (dye * dye + 2.0 * dye).sqrt() - dye
}

/// The marks that a connected place above half contrast is made of; empty where it is one.
pub(super) fn touching(
    fields: &Fields,
    core: &Core,
    support: &Mask,
    options: &OutlineOptions,
    stamps: &mut Stamps,
) -> Vec<Touching> {
    let Core { part, peak, ground, spread, .. } = core;
    let contrast = peak - ground;
    if contrast < LEAST_CONTRAST || *spread > MOST_GRAIN * contrast {
        return Vec::new();
    }
    let (w, h) = (support.width, support.height);
    let least = (LEAST_AREA_MM2 / fields.mm_per_px.powi(2)).max(LEAST_PIECE_PX);
    if (part.places.len() as f64) < 2.0 * least {
        return Vec::new();
    }
    let dip = loss_of_dye(DYE_DIP * dye_of_loss(contrast)).min(DIP_OF_SPOTS * contrast);
    let level = (ground + dip) as f32;
    // The loss that redness implies, 1 - exp(-redness), above a ground without any.
    let red_peak = percentile(part.places.iter().map(|&i| fields.d.data[i]), options.peak_share);
    let red_level = -(1.0 - REDNESS_DIP * (1.0 - f64::from(-red_peak).exp())).max(1e-6).ln() as f32;
    let mut dyed = Mask::empty(w, h);
    for &i in &part.places {
        dyed.data[i] = fields.green.data[i] >= level || fields.d.data[i] >= red_level;
    }
    let full = (ground + ALIKE * contrast) as f32;
    let mut pieces: Vec<Part> = Vec::new();
    let mut rest = dyed.clone();
    for &i in &part.places {
        if rest.data[i] {
            let piece = Part::around(&fields.green, &rest, i, f32::NEG_INFINITY, stamps);
            piece.places.iter().for_each(|&k| rest.data[k] = false);
            let top =
                percentile(piece.places.iter().map(|&k| fields.green.data[k]), options.peak_share);
            if piece.places.len() as f64 >= least && top >= full {
                pieces.push(piece);
            }
        }
    }
    if pieces.len() < 2 {
        return Vec::new();
    }
    let room = options.skirt_mm / fields.mm_per_px + 6.0;
    let [x0, y0, x1, y1] = part.box_with(room);
    let far: Vec<Vec<f32>> = pieces
        .iter()
        .map(|piece| {
            let mut own = Mask::empty(w, h);
            piece.places.iter().for_each(|&i| own.data[i] = true);
            let squared = own.cropped([x0, y0, x1, y1]).squared_distance_to(true);
            squared.into_iter().map(f32::sqrt).collect()
        })
        .collect();
    // The highest way from one piece to another, where it is as far from either; none where a third is nearer.
    let pass = |k: usize, j: usize| {
        let (width, gap) = (x1 - x0, apart(&far[k], &far[j]));
        let here = |i: usize| (i / w - y0) * width + i % w - x0;
        let own = part.places.iter().copied().filter(|&i| {
            let at = here(i);
            (far[k][at] - far[j][at]).abs() <= 1.5 && far[k][at] <= gap
        });
        let highest = own.max_by(|&a, &b| fields.green.data[a].total_cmp(&fields.green.data[b]))?;
        let nearest = far[k][here(highest)].min(far[j][here(highest)]);
        let between = |m: usize| m != k && m != j && far[m][here(highest)] < nearest;
        (!(0..far.len()).any(between)).then_some(highest)
    };
    let top = |field: &Raster, piece: &Part| {
        let all = piece.places.iter().map(|&i| field.data[i]);
        f64::from(percentile(all, options.peak_share)) - ground
    };
    let soft = &fields.soft[1];
    let runs_thin = |k: usize, j: usize, place: usize| {
        let share = |field: &Raster| {
            let lower = top(field, &pieces[k]).min(top(field, &pieces[j]));
            (f64::from(field.data[place]) - ground) / lower.max(1e-9)
        };
        share(soft) < share(&fields.green)
    };
    let risen: Vec<Vec<PointPx>> = pieces
        .iter()
        .map(|piece| {
            let level = (ground + RISEN * top(&fields.green, piece)) as f32;
            let own = piece.places.iter().filter(|&&i| fields.green.data[i] >= level);
            own.map(|&i| [(i % w) as f64, (i / w) as f64]).collect()
        })
        .collect();
    let edge_px = part
        .outline(&fields.green, core.level(options) as f32)
        .map_or(0.0, |line| edge_spread(contrast, mean_slope(&fields.green, &line)));
    let thins_slowly = |k: usize, j: usize| {
        let most = LONGEST_DIP * edge_px;
        Stretches::of(&risen[k]).nearest_to(&Stretches::of(&risen[j]), most).is_none()
    };
    let dips_less = |k: usize, j: usize, place: usize| {
        let is_spot = |piece: &Part| {
            let inner = piece.cut(1.0).mask.squared_distance_to(false);
            let widest = inner.into_iter().fold(0.0_f32, f32::max).sqrt();
            piece.reach() <= SPOT * f64::from(widest)
        };
        f64::from(fields.green.data[place]) - ground > DIP * contrast
            && !(is_spot(&pieces[k]) && is_spot(&pieces[j]))
    };
    // Pieces that one mark is made of have the same number, the least of theirs.
    let mut mark: Vec<usize> = (0..pieces.len()).collect();
    let mut beside: Vec<[usize; 2]> = Vec::new();
    for (k, j) in (0..pieces.len()).flat_map(|k| (0..k).map(move |j| (k, j))) {
        let Some(place) = pass(k, j) else { continue };
        beside.push([k, j]);
        if runs_thin(k, j, place) || thins_slowly(k, j) || dips_less(k, j, place) {
            let (a, b) = (mark[k].min(mark[j]), mark[k].max(mark[j]));
            mark.iter_mut().filter(|m| **m == b).for_each(|m| *m = a);
        }
    }
    if mark.iter().all(|m| *m == 0) {
        return Vec::new();
    }
    let marks: Vec<Vec<usize>> = (0..pieces.len())
        .map(|m| (m..pieces.len()).filter(|&k| mark[k] == m).collect::<Vec<usize>>())
        .filter(|own| !own.is_empty())
        .collect();
    let far: Vec<Vec<f32>> = marks
        .iter()
        .map(|own| {
            let nearest = |at: usize| own.iter().map(|&k| far[k][at]).fold(f32::INFINITY, f32::min);
            (0..far[0].len()).map(nearest).collect()
        })
        .collect();
    let alone = |m: usize| {
        let mut own = support.clone();
        let is_neighbour = |j: usize| {
            let between = |&[a, b]: &[usize; 2]| marks[m].contains(&a) && marks[j].contains(&b);
            beside.iter().any(|pair| between(pair) || between(&[pair[1], pair[0]]))
        };
        // How far a neighbour is; what lies farther shares no skirt.
        let others: Vec<(usize, Option<f32>)> = (0..far.len())
            .filter(|&j| j != m)
            .map(|j| (j, is_neighbour(j).then(|| apart(&far[m], &far[j]))))
            .collect();
        for y in y0..y1 {
            for x in x0..x1 {
                let at = (y - y0) * (x1 - x0) + x - x0;
                let here = far[m][at];
                // Where the skirts of both add up, the edge of each lies higher than half.
                let shared = |&(j, gap): &(usize, Option<f32>)| {
                    let both = here + far[j][at];
                    let between = |gap: f32| both <= gap + SHARED_PX.max(0.5 * gap);
                    far[j][at] < here || (here > 0.0 && gap.is_some_and(between))
                };
                if others.iter().any(shared) {
                    own.data[y * w + x] = false;
                }
            }
        }
        own
    };
    let highest = |own: &[usize]| {
        let places = own.iter().flat_map(|&k| pieces[k].places.iter().copied());
        places.max_by(|&a, &b| fields.green.data[a].total_cmp(&fields.green.data[b]))
    };
    marks
        .iter()
        .enumerate()
        .filter_map(|(m, own)| Some(Touching { seed: highest(own)?, support: alone(m) }))
        .collect()
}

/// How far two marks are from each other: the distances from each to every place of a window are given.
fn apart(own: &[f32], other: &[f32]) -> f32 {
    let places = own.iter().zip(other).filter(|(own, _)| **own <= 0.0);
    places.map(|(_, other)| *other).fold(f32::INFINITY, f32::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::half::Start;
    use crate::photo::Raster;
    use crate::redness::Window;

    /// Loss of green where capsules from `a` to `b` of half width `r` lie, at 0.1 mm a pixel.
    fn light(
        capsules: &[([f64; 2], [f64; 2], f64)],
        blur: f64,
        shade: impl Fn(f64) -> f64,
    ) -> Fields {
        light_of(capsules, blur, |_| 1.0, shade)
    }

    /// The same where a share of the dye is left, by x, before blur.
    fn light_of(
        capsules: &[([f64; 2], [f64; 2], f64)],
        blur: f64,
        left: impl Fn(f64) -> f64,
        shade: impl Fn(f64) -> f64,
    ) -> Fields {
        let (w, h) = (120, 60);
        let mut loss = Raster::filled(w, h, 0.0);
        for (i, v) in loss.data.iter_mut().enumerate() {
            let p = [(i % w) as f64, (i / w) as f64];
            let inside = capsules.iter().any(|(a, b, r)| {
                let d = [b[0] - a[0], b[1] - a[1]];
                let squared = (d[0] * d[0] + d[1] * d[1]).max(1e-9);
                let t = ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / squared;
                let t = t.clamp(0.0, 1.0);
                (p[0] - a[0] - t * d[0]).hypot(p[1] - a[1] - t * d[1]) <= *r
            });
            *v = if inside { 0.7 * left(p[0]) as f32 } else { 0.0 };
        }
        let mut green = loss.blurred(blur);
        let d = Raster {
            data: green.data.iter().map(|v| -(1.0 - v).ln()).collect(),
            ..Raster::filled(w, h, 0.0)
        };
        for (i, v) in green.data.iter_mut().enumerate() {
            *v *= shade((i % w) as f64) as f32;
        }
        let soft = green.blurred(2.0);
        Fields {
            window: Window { x0: 0, y0: 0, width: w, height: h },
            mm_per_px: 0.1,
            soft: [soft.clone(), soft.clone(), soft],
            green,
            d,
        }
    }

    fn marks(fields: &Fields) -> usize {
        let support = Mask { data: vec![true; 120 * 60], ..Mask::empty(120, 60) };
        let mut stamps = Stamps::new(120 * 60);
        let options = OutlineOptions::default();
        let top = |a: &usize, b: &usize| fields.green.data[*a].total_cmp(&fields.green.data[*b]);
        let seed = (0..120 * 60).max_by(top).unwrap();
        let start = Start { seed, support: &support, ring_px: [7.0, 14.0], options: &options };
        let core = Core::at(fields, start, &mut stamps).unwrap();
        // At half contrast it is one connected place.
        assert!(core.part.places.iter().any(|i| i % 120 < 50));
        assert!(core.part.places.iter().any(|i| i % 120 > 70));
        touching(fields, &core, &support, &options, &mut stamps).len().max(1)
    }

    #[test]
    fn a_gap_that_blur_fills_parts_two_marks() {
        // The gap is 0.8 standard deviations of the blur: it fills to 0.55 of the contrast.
        let gap = 0.5 * 0.8 * 2.5;
        let left = ([30.0, 30.0], [60.0 - gap - 6.0, 30.0], 6.0);
        let right = ([60.0 + gap + 6.0, 30.0], [95.0, 30.0], 6.0);
        assert_eq!(marks(&light(&[left, right], 2.5, |_| 1.0)), 2);
    }

    #[test]
    fn a_thin_thread_between_wide_places_holds_one_mark_together() {
        let left = ([30.0, 30.0], [52.0, 30.0], 4.0);
        let right = ([68.0, 30.0], [95.0, 30.0], 4.0);
        let thread = ([52.0, 30.0], [68.0, 30.0], 1.0);
        assert_eq!(marks(&light(&[left, right, thread], 1.0, |_| 1.0)), 1);
    }

    #[test]
    fn a_shadow_across_a_mark_does_not_part_it() {
        let line = ([30.0, 30.0], [95.0, 30.0], 5.0);
        let shade = |x: f64| 1.0 - 0.45 * (-((x - 60.0) / 4.0).powi(2)).exp();
        assert_eq!(marks(&light(&[line], 1.0, shade)), 1);
    }

    #[test]
    fn a_line_whose_dye_thins_slowly_is_one_mark() {
        let line = ([20.0, 30.0], [100.0, 30.0], 3.0);
        // To 0.55 of its contrast, over twenty standard deviations of the blur.
        let left = |x: f64| 1.0 - 0.47 * (-((x - 60.0) / 8.0).powi(2)).exp();
        assert_eq!(marks(&light_of(&[line], 1.0, left, |_| 1.0)), 1);
    }

    #[test]
    fn three_spots_in_a_row_are_three() {
        let spot = |x: f64| ([x, 30.0], [x, 30.0], 7.0);
        // 0.57 of their contrast between them; on the way between the outer two lies the middle one.
        assert_eq!(marks(&light(&[spot(44.0), spot(60.0), spot(76.0)], 2.5, |_| 1.0)), 3);
    }

    #[test]
    fn only_spots_are_parted_at_a_small_dip() {
        let spot = |x: f64| ([x, 30.0], [x, 30.0], 8.0);
        // 0.67 of the contrast between either two.
        assert_eq!(marks(&light(&[spot(51.25), spot(68.75)], 2.5, |_| 1.0)), 2);
        // 0.68 between the ends of two strong lines.
        let (left, right) = (([30.0, 30.0], [54.5, 30.0], 4.0), ([63.5, 30.0], [95.0, 30.0], 4.0));
        assert_eq!(marks(&light_of(&[left, right], 3.0, |_| 0.9 / 0.7, |_| 1.0)), 1);
    }
}
