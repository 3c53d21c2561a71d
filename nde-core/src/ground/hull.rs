//! The convex hull of several pieces.

use super::part::Part;
use crate::dot::{Dot, cross, minus};

/// Corners of the convex hull of the cores, with the radius around each (counter-clockwise for
/// cores without radius; discs inside the hull of the others may stay, which does no harm).
pub(super) fn hull(parts: &[Part]) -> Vec<(Dot, i64)> {
    let mut radii: Vec<i64> = parts.iter().map(|p| p.radius).collect();
    radii.sort_unstable();
    radii.dedup();
    radii
        .into_iter()
        .flat_map(|radius| {
            let points =
                parts.iter().filter(|p| p.radius == radius).flat_map(|p| p.core.iter().copied());
            hull_of_points(points.collect()).into_iter().map(move |p| (p, radius))
        })
        .collect()
}

fn hull_of_points(mut points: Vec<Dot>) -> Vec<Dot> {
    points.sort_unstable();
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let chain = |points: &mut dyn Iterator<Item = Dot>| {
        let mut chain: Vec<Dot> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..] {
                if cross(minus(b, a), minus(p, a)) > 0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut corners = chain(&mut points.iter().copied());
    corners.extend(chain(&mut points.iter().rev().copied()));
    corners
}
