//! Which of the markers read lie together as one card.
//!
//! A single marker may be misread from clutter; markers that lie where one printed board puts them
//! cannot be. A group grows from each marker to its neighbours, first by an affine map (a single
//! small marker tells nothing reliable about perspective), then by a plane.

use crate::PointPx;
use crate::scale::design::CardDesign;
use crate::scale::markers::Sighting;
use crate::scale::plane::{Pair, Plane, fit};
use nalgebra::{Matrix3, Vector3};

/// Markers lying together as one card.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    /// Where the card lies, from the marker corners.
    pub(crate) plane: Plane,
    /// The markers as sighted.
    pub(crate) seen: Vec<Sighting>,
}

/// Markers needed for a card: two agreeing by chance were once in some hundred cluttered pictures,
/// three never.
pub(crate) const FEWEST_MARKERS: usize = 3;

/// All cards of one design among the sightings, the one with most markers first.
pub(crate) fn layouts(design: &CardDesign, sightings: &[Sighting]) -> Vec<Layout> {
    let [first, last] = design.ids();
    let mut left: Vec<Sighting> =
        sightings.iter().filter(|s| (first..=last).contains(&s.id)).copied().collect();
    let mut found = Vec::new();
    while left.len() >= FEWEST_MARKERS {
        let best = (0..left.len())
            .map(|seed| grown(design, &left, seed))
            .max_by_key(Vec::len)
            .unwrap_or_default();
        if best.len() < FEWEST_MARKERS {
            break;
        }
        let pairs: Vec<Pair> = best.iter().flat_map(|i| pairs_of(design, &left[*i])).collect();
        if let Some(fitted) = fit(&pairs, 1.0) {
            let seen = best.iter().map(|i| left[*i]).collect();
            found.push(Layout { plane: fitted.plane, seen });
        }
        let mut index = 0;
        left.retain(|_| {
            index += 1;
            !best.contains(&(index - 1))
        });
    }
    found.sort_by_key(|layout| std::cmp::Reverse(layout.seen.len()));
    found
}

fn pairs_of(design: &CardDesign, seen: &Sighting) -> Vec<Pair> {
    let marker = design.markers()[seen.id - design.ids()[0]];
    let corners = marker.outside.corners().into_iter().zip(seen.corners_px);
    corners.map(|(part, photo)| Pair { part, photo }).collect()
}

fn centre(corners: &[PointPx; 4]) -> PointPx {
    [0, 1].map(|k| corners.iter().map(|c| c[k]).sum::<f64>() / 4.0)
}

/// Mean side of a quad.
pub(crate) fn side(corners: &[PointPx; 4]) -> f64 {
    (0..4).map(|i| apart(corners[i], corners[(i + 1) % 4])).sum::<f64>() / 4.0
}

fn apart(a: PointPx, b: PointPx) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Indices of the sightings that lie as one board with the seed, at most one of each id.
fn grown(design: &CardDesign, sightings: &[Sighting], seed: usize) -> Vec<usize> {
    let mut group = vec![seed];
    for _ in 0..10 {
        let pairs: Vec<Pair> =
            group.iter().flat_map(|i| pairs_of(design, &sightings[*i])).collect();
        let map = if group.len() < FEWEST_MARKERS {
            affine(&pairs)
        } else {
            fit(&pairs, 1.0).map(|f| f.plane.photo_from_part)
        };
        let Some(plane) = map.and_then(Plane::from_photo_from_part) else { break };
        let mut next: Vec<(usize, f64)> = Vec::new();
        for (i, seen) in sightings.iter().enumerate() {
            let pairs = pairs_of(design, seen);
            let off =
                pairs.iter().map(|p| apart(plane.to_photo(p.part), p.photo)).fold(0.0, f64::max);
            let here = centre(&seen.corners_px);
            let reach = group
                .iter()
                .map(|g| apart(centre(&sightings[*g].corners_px), here))
                .fold(f64::INFINITY, f64::min);
            // Chosen: a third of a marker where the map is at home, and a tenth of the way beyond.
            if off > 0.3 * side(&seen.corners_px) + 0.1 * reach {
                continue;
            }
            match next.iter_mut().find(|(j, _)| sightings[*j].id == seen.id) {
                Some(held) if held.1 > off => *held = (i, off),
                Some(_) => {}
                None => next.push((i, off)),
            }
        }
        let next: Vec<usize> = next.into_iter().map(|(i, _)| i).collect();
        if next.is_empty() || next == group {
            break;
        }
        group = next;
    }
    group
}

/// Least-squares affine map from part to photo.
fn affine(pairs: &[Pair]) -> Option<Matrix3<f64>> {
    let mut normal = Matrix3::zeros();
    let (mut across, mut down) = (Vector3::zeros(), Vector3::zeros());
    for pair in pairs {
        let row = Vector3::new(pair.part[0], pair.part[1], 1.0);
        normal += row * row.transpose();
        across += row * pair.photo[0];
        down += row * pair.photo[1];
    }
    let inverse = normal.try_inverse()?;
    let (a, b) = (inverse * across, inverse * down);
    Some(Matrix3::new(a[0], a[1], a[2], b[0], b[1], b[2], 0.0, 0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::plane::project;

    fn sightings(
        design: &CardDesign,
        h: &Matrix3<f64>,
        keep: impl Fn(usize) -> bool,
    ) -> Vec<Sighting> {
        design
            .markers()
            .iter()
            .filter(|m| keep(m.id))
            .map(|m| Sighting { id: m.id, corners_px: m.outside.corners().map(|c| project(h, c)) })
            .collect()
    }

    fn there() -> Matrix3<f64> {
        Matrix3::new(6.0, -4.0, 900.0, 3.0, 7.0, 300.0, 1.5e-3, -1.0e-3, 1.0)
    }

    #[test]
    fn misread_markers_do_not_join() {
        let card = CardDesign::standard();
        let mut seen = sightings(&card, &there(), |id| id % 2 == 0);
        let stray = [[100.0, 100.0], [150.0, 100.0], [150.0, 150.0], [100.0, 150.0]];
        seen.push(Sighting { id: 3, corners_px: stray });
        seen.push(Sighting { id: 2, corners_px: stray });
        let found = layouts(&card, &seen);
        assert_eq!(found.len(), 1);
        let mut ids: Vec<usize> = found[0].seen.iter().map(|s| s.id).collect();
        ids.sort_unstable();
        assert_eq!(ids, [0, 2, 4, 6, 8, 10, 12, 14, 16]);
        let [x, y] = found[0].plane.to_photo([84.0, 60.0]);
        let [u, v] = project(&there(), [84.0, 60.0]);
        assert!((x - u).hypot(y - v) < 1e-6);
    }

    #[test]
    fn two_cards_of_one_design_are_told_apart() {
        let card = CardDesign::small();
        let mut elsewhere = there();
        elsewhere[(0, 2)] += 800.0;
        let mut seen = sightings(&card, &there(), |_| true);
        seen.extend(sightings(&card, &elsewhere, |id| id != 20));
        let found = layouts(&card, &seen);
        assert_eq!(found.iter().map(|l| l.seen.len()).collect::<Vec<_>>(), [10, 9]);
    }

    #[test]
    fn other_designs_markers_are_not_taken() {
        let seen = sightings(&CardDesign::large(), &there(), |_| true);
        assert!(layouts(&CardDesign::standard(), &seen).is_empty());
        assert_eq!(layouts(&CardDesign::large(), &seen).len(), 1);
    }
}
