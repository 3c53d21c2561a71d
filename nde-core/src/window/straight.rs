//! Frames along the axes.

use super::Search;

/// A rectangle of fixed sides, both ways round.
pub(super) fn fixed(search: &mut Search<'_>, sides: [i64; 2]) {
    let turns = if sides[0] == sides[1] { vec![sides] } else { vec![sides, [sides[1], sides[0]]] };
    for left in 0..search.points.len() {
        if search.exhausted() {
            return;
        }
        let near = search.near(left);
        let x = search.points[left].at[0];
        for [width, height] in &turns {
            let mut inside: Vec<usize> = near
                .iter()
                .copied()
                .filter(|i| (x..=x + width).contains(&search.points[*i].at[0]))
                .collect();
            inside.sort_by_key(|i| (search.points[*i].at[1], *i));
            let points = search.points;
            search.slide(&inside, &|a, b| points[b].at[1] - points[a].at[1] <= *height);
        }
    }
}

/// Any rectangle of an area, its sides within `longest`.
pub(super) fn area(search: &mut Search<'_>, area: i128, longest: i64) {
    let points = search.points;
    for low in 0..points.len() {
        let near = search.near(low);
        for high in near.iter().copied() {
            if search.exhausted() {
                return;
            }
            let (bottom, top) = (points[low].at[1], points[high].at[1]);
            let height = top - bottom;
            if height < 0 || height > longest {
                continue;
            }
            let width = if height == 0 {
                i128::from(longest)
            } else {
                (area / i128::from(height)).min(i128::from(longest))
            };
            search.steps += near.len() as u64;
            let between = |i: &usize| (bottom..=top).contains(&points[*i].at[1]);
            let weight: u128 = near.iter().copied().filter(between).map(|i| points[i].weight).sum();
            if weight > search.best.weight {
                let inside: Vec<usize> = near.iter().copied().filter(between).collect();
                search
                    .slide(&inside, &|a, b| i128::from(points[b].at[0] - points[a].at[0]) <= width);
            }
        }
    }
}
