//! Marks that touch through their skirts, told apart.
//!
//! Where two marks lie close, blur and the skirts of both fill the gap above half contrast, and both
//! are one connected place. Two equal skirts that each fall to half of their own contrast where they
//! meet add up to little more than half. So a place that falls apart just above half of its contrast,
//! into pieces that all rise to the full contrast again (`parted`), is several marks, unless one mark
//! dips like that as well (`dips`).

use super::OutlineOptions;
use super::dips::Dips;
use super::fields::Fields;
use super::half::Core;
use super::part::Stamps;
use super::parted::{Parted, apart};
use crate::photo::Mask;

/// One of several marks that touch.
pub(super) struct Touching {
    /// Where it is highest.
    pub(super) seed: usize,
    /// The places that may belong to it.
    pub(super) support: Mask,
}

/// The marks that a connected place above half contrast is made of; empty where it is one.
pub(super) fn touching(
    fields: &Fields,
    core: &Core,
    support: &Mask,
    options: &OutlineOptions,
    stamps: &mut Stamps,
) -> Vec<Touching> {
    let Some(parted) = Parted::of(fields, core, support, options, stamps) else {
        return Vec::new();
    };
    let (marks, beside) = marks_of(&parted);
    if marks.len() < 2 {
        return Vec::new();
    }
    let far: Vec<Vec<f32>> = marks.iter().map(|own| parted.far_from(own)).collect();
    let touching = |(m, own): (usize, &Vec<usize>)| {
        let is_neighbour = |j: usize| {
            let between = |a: usize, b: usize| marks[m].contains(&a) && marks[j].contains(&b);
            beside.iter().any(|&[a, b]| between(a, b) || between(b, a))
        };
        // How far a neighbour is; what lies farther shares no skirt.
        let others: Vec<(usize, Option<f32>)> = (0..far.len())
            .filter(|&j| j != m)
            .map(|j| (j, is_neighbour(j).then(|| apart(&far[m], &far[j]))))
            .collect();
        Some(Touching {
            seed: parted.highest_of(own)?,
            support: parted.alone(support, m, &far, &others),
        })
    };
    marks.iter().enumerate().filter_map(touching).collect()
}

/// The pieces that make up each mark, and which pieces lie side by side.
fn marks_of(parted: &Parted<'_>) -> (Vec<Vec<usize>>, Vec<[usize; 2]>) {
    // Pieces that one mark is made of have the same number, the least of theirs.
    let mut mark: Vec<usize> = (0..parted.all.len()).collect();
    let mut beside: Vec<[usize; 2]> = Vec::new();
    let dips = Dips::of(parted);
    for (k, j) in (0..parted.all.len()).flat_map(|k| (0..k).map(move |j| (k, j))) {
        let Some(place) = parted.pass(k, j) else { continue };
        beside.push([k, j]);
        if dips.is_within_one_mark(k, j, place) {
            let (a, b) = (mark[k].min(mark[j]), mark[k].max(mark[j]));
            mark.iter_mut().filter(|m| **m == b).for_each(|m| *m = a);
        }
    }
    let of = |m: usize| (m..mark.len()).filter(|&k| mark[k] == m).collect::<Vec<usize>>();
    ((0..mark.len()).map(of).filter(|own| !own.is_empty()).collect(), beside)
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
