//! Dark four-sided patches on light ground, as a coded marker looks from any side.
//!
//! Dark means darker than the mean of a window around the pixel; dark pixels that touch by a side
//! form a patch; the patch's hull is cut down to the four edges that add the least area.

use crate::scale::grey::Grey;

/// How much darker than its surroundings a dark pixel is, grey levels. Chosen: above the noise of a
/// dim phone picture after averaging, below the contrast of ink in deep shadow.
const DARKER_BY: u32 = 6;
/// Shortest side kept, pixels of the grey picture: one and a half a marker cell.
const LEAST_SIDE: f64 = 9.0;
/// Most that the four edges may add to the hull's area, as a share. Chosen: a marker 9 px wide and
/// blurred by a pixel loses some 8 % at its corners; a disc would gain 27 %.
const MOST_ADDED: f64 = 0.16;

/// A four-sided patch: corners clockwise as seen (y down), in pixels of the grey picture.
pub(crate) type Quad = [[f64; 2]; 4];

/// A run of dark pixels in one row.
#[derive(Clone, Copy, Debug)]
struct Run {
    row: u32,
    from: u32,
    /// One past the last.
    to: u32,
}

/// All dark quads of the picture, seen with a window of this many pixels to each side.
pub(crate) fn find(grey: &Grey, window: usize) -> Vec<Quad> {
    let runs = dark_runs(grey, window);
    let mut quads = Vec::new();
    for patch in patches(&runs) {
        if let Some(hull) = hull_of(&patch)
            && let Some(quad) = four_edges(hull)
        {
            quads.push(quad);
        }
    }
    quads
}

#[expect(clippy::cast_possible_truncation, reason = "pictures are below 2^32 pixels wide and high")]
fn dark_runs(grey: &Grey, window: usize) -> Vec<Run> {
    let (width, height) = (grey.width, grey.height);
    let mut runs = Vec::new();
    if width < 8 || height < 8 {
        return runs;
    }
    // Sums over columns of the window, slid down; then sums of those from the row's first on.
    let mut columns = vec![0_u32; width];
    let mut upto = vec![0_u32; width + 1];
    let mut dark = vec![false; width];
    // Where the window lies within the row.
    let inner = window.min(width)..width.saturating_sub(window).max(window.min(width));
    let row = |y: usize| &grey.levels[y * width..(y + 1) * width];
    let add = |columns: &mut [u32], y: usize| {
        for (sum, level) in columns.iter_mut().zip(row(y)) {
            *sum += u32::from(*level);
        }
    };
    for y in 0..window.min(height) {
        add(&mut columns, y);
    }
    for y in 0..height {
        if y + window < height {
            add(&mut columns, y + window);
        }
        if y > window {
            for (sum, level) in columns.iter_mut().zip(row(y - window - 1)) {
                *sum -= u32::from(*level);
            }
        }
        let rows = ((y + window + 1).min(height) - y.saturating_sub(window)) as u32;
        let mut sum = 0;
        for (upto, column) in upto[1..].iter_mut().zip(&columns) {
            sum += column;
            *upto = sum;
        }
        let is_dark =
            |level: u8, sum: u32, count: u32| (u32::from(level) + DARKER_BY) * count < sum;
        let levels = row(y);
        for x in (0..inner.start).chain(inner.end..width) {
            let (from, to) = (x.saturating_sub(window), (x + window + 1).min(width));
            dark[x] = is_dark(levels[x], upto[to] - upto[from], rows * (to - from) as u32);
        }
        let count = rows * (2 * window + 1) as u32;
        let sums = upto.iter().zip(upto.iter().skip(2 * window + 1)).map(|(from, to)| to - from);
        for ((dark, &level), sum) in
            dark[inner.clone()].iter_mut().zip(&levels[inner.clone()]).zip(sums)
        {
            *dark = is_dark(level, sum, count);
        }
        let mut x = 0;
        while let Some(from) = dark[x..].iter().position(|dark| *dark).map(|n| x + n) {
            x = dark[from..].iter().position(|dark| !*dark).map_or(width, |n| from + n);
            runs.push(Run { row: y as u32, from: from as u32, to: x as u32 });
        }
    }
    runs
}

/// Runs grouped into patches that touch by a side; patches too small to be a marker are left out.
fn patches(runs: &[Run]) -> Vec<Vec<Run>> {
    let mut parent: Vec<usize> = (0..runs.len()).collect();
    let mut above = 0;
    for (i, run) in runs.iter().enumerate() {
        // Runs come row by row; `above` walks the row before along with us.
        while above < i
            && (runs[above].row + 1 < run.row
                || (runs[above].row + 1 == run.row && runs[above].to <= run.from))
        {
            above += 1;
        }
        let mut other = above;
        while other < i && runs[other].row + 1 == run.row && runs[other].from < run.to {
            let (a, b) = (root(&mut parent, i), root(&mut parent, other));
            parent[a.max(b)] = a.min(b);
            other += 1;
        }
    }
    let mut members: Vec<Vec<Run>> = Vec::new();
    let mut slot = vec![usize::MAX; runs.len()];
    let mut area = vec![0_u64; runs.len()];
    let roots: Vec<usize> = (0..runs.len()).map(|i| root(&mut parent, i)).collect();
    for (run, r) in runs.iter().zip(&roots) {
        area[*r] += u64::from(run.to - run.from);
    }
    for (run, r) in runs.iter().zip(roots) {
        // A marker is at least LEAST_SIDE wide, and a third of it is black whatever its code.
        if (area[r] as f64) < LEAST_SIDE * LEAST_SIDE / 3.0 {
            continue;
        }
        if slot[r] == usize::MAX {
            slot[r] = members.len();
            members.push(Vec::new());
        }
        members[slot[r]].push(*run);
    }
    members
}

fn root(parent: &mut [usize], mut i: usize) -> usize {
    while parent[i] != i {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    i
}

/// Convex hull of a patch's pixels, clockwise as seen; none for thin or hollow ones.
fn hull_of(patch: &[Run]) -> Option<Vec<[f64; 2]>> {
    let (first, last) = (patch.first()?.row, patch.last()?.row);
    let rows = (last - first + 1) as usize;
    let mut span = vec![(u32::MAX, 0_u32); rows];
    let mut area = 0.0;
    for run in patch {
        let s = &mut span[(run.row - first) as usize];
        *s = (s.0.min(run.from), s.1.max(run.to));
        area += f64::from(run.to - run.from);
    }
    let left = span.iter().map(|s| s.0).min()?;
    let right = span.iter().map(|s| s.1).max()?;
    let (wide, high) = (f64::from(right - left), rows as f64);
    if wide < LEAST_SIDE || high < LEAST_SIDE || area < 0.15 * wide * high {
        return None;
    }
    // Down the right side, then up the left side.
    let at = |i: usize| f64::from(first) + i as f64;
    let right_side = span.iter().enumerate().flat_map(|(i, s)| {
        let x = f64::from(s.1);
        [[x, at(i)], [x, at(i) + 1.0]]
    });
    let left_side = span.iter().enumerate().rev().flat_map(|(i, s)| {
        let x = f64::from(s.0);
        [[x, at(i) + 1.0], [x, at(i)]]
    });
    let mut hull = chain(right_side);
    hull.append(&mut chain(left_side));
    (hull.len() >= 4).then_some(hull)
}

/// What is left of a chain of points when every turn must be clockwise.
fn chain(points: impl Iterator<Item = [f64; 2]>) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for p in points {
        while let [.., a, b] = kept[..]
            && turn(a, b, p) <= 0.0
        {
            kept.pop();
        }
        kept.push(p);
    }
    kept
}

/// Twice the signed area of a triangle; positive for a clockwise turn as seen (y down).
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

fn area(polygon: &[[f64; 2]]) -> f64 {
    let n = polygon.len();
    (0..n)
        .map(|i| {
            let (a, b) = (polygon[i], polygon[(i + 1) % n]);
            a[0] * b[1] - a[1] * b[0]
        })
        .sum::<f64>()
        / 2.0
}

/// Removes edges, each time the one whose neighbours meet with the least added area, until four are
/// left; none if that adds too much or an edge is too short.
fn four_edges(mut polygon: Vec<[f64; 2]>) -> Option<Quad> {
    let before = area(&polygon);
    while polygon.len() > 4 {
        let n = polygon.len();
        let mut best: Option<(f64, usize, [f64; 2])> = None;
        for i in 0..n {
            let (a, b) = (polygon[i], polygon[(i + 1) % n]);
            let (before_a, after_b) = (polygon[(i + n - 1) % n], polygon[(i + 2) % n]);
            if let Some(meet) = meeting(before_a, a, after_b, b) {
                let added = turn(a, meet, b) / 2.0;
                if best.is_none_or(|(least, ..)| added < least) {
                    best = Some((added, i, meet));
                }
            }
        }
        let (_, i, meet) = best?;
        polygon[i] = meet;
        polygon.remove((i + 1) % n);
    }
    let quad: Quad = polygon.try_into().ok()?;
    let longest_and_shortest = (0..4).fold((0.0_f64, f64::INFINITY), |(most, least), i| {
        let (a, b) = (quad[i], quad[(i + 1) % 4]);
        let side = (b[0] - a[0]).hypot(b[1] - a[1]);
        (most.max(side), least.min(side))
    });
    let sound = area(&quad) <= (1.0 + MOST_ADDED) * before
        && longest_and_shortest.1 >= LEAST_SIDE
        // A square tilted by 60 degrees is half as high as wide; wider than that is no marker we read.
        && longest_and_shortest.0 <= 4.0 * longest_and_shortest.1;
    sound.then_some(quad)
}

/// Where the line from `p` through `a` meets the line from `q` through `b`, beyond both; none if
/// they part.
fn meeting(p: [f64; 2], a: [f64; 2], q: [f64; 2], b: [f64; 2]) -> Option<[f64; 2]> {
    let (dx, dy) = (a[0] - p[0], a[1] - p[1]);
    let (ex, ey) = (b[0] - q[0], b[1] - q[1]);
    let cross = dx * ey - dy * ex;
    if cross.abs() < 1e-9 {
        return None;
    }
    let t = ((b[0] - a[0]) * ey - (b[1] - a[1]) * ex) / cross;
    let s = ((b[0] - a[0]) * dy - (b[1] - a[1]) * dx) / cross;
    (t >= 0.0 && s >= 0.0).then(|| [a[0] + t * dx, a[1] + t * dy])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// White ground with dark convex polygons (clockwise as seen), by a plain half-plane test.
    fn picture(width: usize, height: usize, dark: &[&[[f64; 2]]]) -> Grey {
        let mut levels = vec![200; width * height];
        for (i, level) in levels.iter_mut().enumerate() {
            let at = [(i % width) as f64 + 0.5, (i / width) as f64 + 0.5];
            let inside =
                |p: &&[[f64; 2]]| (0..p.len()).all(|k| turn(p[k], p[(k + 1) % p.len()], at) >= 0.0);
            if dark.iter().any(inside) {
                *level = 40;
            }
        }
        Grey { width, height, levels, block: 1 }
    }

    #[test]
    fn a_turned_square_is_found_with_its_corners() {
        for angle in [0.0_f64, 10.0, 33.0, 45.0, 80.0] {
            let (s, c) = angle.to_radians().sin_cos();
            let corner = |x: f64, y: f64| [60.0 + c * x - s * y, 50.0 + s * x + c * y];
            let square = [
                corner(-20.0, -20.0),
                corner(20.0, -20.0),
                corner(20.0, 20.0),
                corner(-20.0, 20.0),
            ];
            let found = find(&picture(120, 100, &[&square]), 40);
            assert_eq!(found.len(), 1, "at {angle}");
            for true_corner in square {
                let off = found[0]
                    .iter()
                    .map(|f| (f[0] - true_corner[0]).hypot(f[1] - true_corner[1]))
                    .fold(f64::INFINITY, f64::min);
                assert!(off < 1.2, "corner off by {off} at {angle}");
            }
            assert!(area(&found[0]) > 0.0);
        }
    }

    #[test]
    fn discs_and_small_specks_are_no_quads() {
        let disc: Vec<[f64; 2]> = (0..60)
            .map(|i| (f64::from(i) * 6.0).to_radians().sin_cos())
            .map(|(s, c)| [60.0 + 25.0 * c, 50.0 + 25.0 * s])
            .collect();
        assert_eq!(find(&picture(120, 100, &[&disc]), 40).len(), 0);
        let speck = [[20.0, 20.0], [26.0, 20.0], [26.0, 26.0], [20.0, 26.0]];
        assert_eq!(find(&picture(120, 100, &[&speck]), 40).len(), 0);
    }

    #[test]
    fn patches_that_touch_by_a_corner_only_stay_apart() {
        let a = [[20.0, 20.0], [40.0, 20.0], [40.0, 40.0], [20.0, 40.0]];
        let b = [[40.0, 40.0], [60.0, 40.0], [60.0, 60.0], [40.0, 60.0]];
        assert_eq!(find(&picture(100, 100, &[&a, &b]), 30).len(), 2);
    }

    #[test]
    fn tiny_and_empty_pictures_are_harmless() {
        for (width, height) in [(0, 0), (1, 50), (50, 1), (9, 9)] {
            let grey = Grey { width, height, levels: vec![10; width * height], block: 1 };
            assert!(find(&grey, 33).is_empty());
        }
    }
}
