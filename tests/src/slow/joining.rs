//! Which indications are read as one: links between every two, followed until nothing is left out.

use super::gap;
use super::line;
use super::mark::Core;
use super::number::{Bound, Exact};
use super::set::{Against, Joining};

/// What joining knows of one indication.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its number in the list.
    pub index: usize,
    /// Its length, nanometres.
    pub length: i64,
    /// Its ground.
    pub core: Core,
}

/// Groups as numbers in the list, each ascending; a single one is a group too. Absent when indications
/// lie in several rows at once and the rule asks for rows: no document says which row then gets them.
#[must_use]
pub fn groups(
    parts: &[Part],
    squared: &dyn Fn(usize, usize) -> Exact,
    joining: &Joining,
) -> Option<Vec<Vec<usize>>> {
    let mut groups: Vec<Vec<usize>> = (0..parts.len()).map(|i| vec![i]).collect();
    let near = |a: &[usize], b: &[usize]| linked(parts, squared, joining, a, b);
    if joining.in_line {
        groups = rows(parts, &near, joining.fewest)?;
    } else {
        loop {
            let before = groups.len();
            groups = components(groups.len(), &|i, j| near(&groups[i], &groups[j]))
                .into_iter()
                .map(|cluster| cluster.into_iter().flat_map(|g| groups[g].clone()).collect())
                .collect();
            if groups.len() == before || !joining.growing {
                break;
            }
        }
    }
    let mut all = Vec::new();
    for group in groups {
        if group.len() >= joining.fewest {
            all.push(group);
        } else {
            all.extend(group.into_iter().map(|i| vec![i]));
        }
    }
    for group in &mut all {
        for member in group.iter_mut() {
            *member = parts[*member].index;
        }
        group.sort_unstable();
    }
    Some(all)
}

/// What hangs together, directly or through others.
#[must_use]
pub fn components(count: usize, near: &dyn Fn(usize, usize) -> bool) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = (0..count).collect();
    let mut all = Vec::new();
    while !left.is_empty() {
        let mut cluster = vec![left.remove(0)];
        let mut at = 0;
        while at < cluster.len() {
            let from = cluster[at];
            let (found, rest) = left.into_iter().partition(|other| near(from, *other));
            left = rest;
            cluster.extend::<Vec<usize>>(found);
            at += 1;
        }
        all.push(cluster);
    }
    all
}

fn linked(
    parts: &[Part],
    squared: &dyn Fn(usize, usize) -> Exact,
    joining: &Joining,
    a: &[usize],
    b: &[usize],
) -> bool {
    let length = |group: &[usize]| match group {
        [one] => parts[*one].length,
        many => gap::extent(&many.iter().map(|i| &parts[*i].core).collect::<Vec<_>>()),
    };
    let limit = match &joining.against {
        Against::Fixed(limit) => limit.clone(),
        Against::Smaller => Exact::whole(length(a).min(length(b))),
        Against::Larger => Exact::whole(length(a).max(length(b))),
    };
    let bound = Bound { sign: joining.sign, limit };
    a.iter().any(|i| {
        b.iter().any(|j| {
            let radii = parts[*i].core.radius + parts[*j].core.radius;
            gap::catches(&bound, &squared(parts[*i].index, parts[*j].index), radii)
        })
    })
}

/// The largest rows, when no two of them share a member.
fn rows(
    parts: &[Part],
    near: &dyn Fn(&[usize], &[usize]) -> bool,
    fewest: usize,
) -> Option<Vec<Vec<usize>>> {
    let count = u32::try_from(parts.len()).ok().filter(|n| *n <= 14)?;
    let mut found: Vec<Vec<usize>> = Vec::new();
    let mut sets: Vec<u32> = (0..1_u32 << count).collect();
    sets.sort_by_key(|set| std::cmp::Reverse(set.count_ones()));
    for set in sets {
        let members: Vec<usize> = (0..parts.len()).filter(|i| set >> i & 1 == 1).collect();
        if members.len() < fewest || found.iter().any(|row| members.iter().all(|m| row.contains(m)))
        {
            continue;
        }
        if is_row(&members, &|i, j| near(&[i], &[j]), &|i| &parts[i].core, 0) {
            found.push(members);
        }
    }
    let shared = |i: usize| found.iter().filter(|row| row.contains(&i)).count();
    if (0..parts.len()).any(|i| shared(i) > 1) {
        return None;
    }
    found.extend((0..parts.len()).filter(|i| shared(*i) == 0).map(|i| vec![i]).collect::<Vec<_>>());
    Some(found)
}

/// Whether members hang together and one strip touches all of them.
#[must_use]
pub fn is_row<'a>(
    members: &[usize],
    near: &dyn Fn(usize, usize) -> bool,
    core: &dyn Fn(usize) -> &'a Core,
    strip: i64,
) -> bool {
    components(members.len(), &|i, j| near(members[i], members[j])).len() == 1
        && line::touches_all(&members.iter().map(|m| core(*m)).collect::<Vec<_>>(), strip)
}
