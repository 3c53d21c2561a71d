//! Joining in part: where several gaps are in doubt, some may join and others not.
//!
//! A list is judged with the gaps that surely join and with all that may. Between the two stand other
//! readings, and one of them may be worse than both: two short lines that join are a long line, and
//! with a wide spot beside them rounded again. So every part of a doubtful cluster that may hang together
//! is held against the rules that look at one indication; what one of them rejects is for a person.

use crate::rules::{Becomes, Joins, RuleSet};

use super::joined::Linking;
use super::single::judge_single;
use super::standing::{Measure, Standing};
use super::{Context, Finding, Verdict, chosen};

/// Most pieces of one cluster whose every union is tried: 1024 unions. More go to a person.
const MOST_PIECES: usize = 10;

/// Findings about clusters that are read neither as all their sure pieces nor as one.
pub(super) fn in_part<'a>(
    alone: &[Standing<'a>],
    sure: &[Standing<'a>],
    possible: &[Standing<'a>],
    rules: &RuleSet,
    joins: &Joins,
    measure: Measure<'_>,
    context: &Context,
) -> Vec<Finding> {
    let linking = Linking::possible(alone, joins, measure);
    let becomes = match joins.becomes {
        Becomes::ByRatio => None,
        Becomes::Always(shape) => Some(shape),
    };
    let mut piece_of = vec![0; alone.len()];
    for (p, piece) in sure.iter().enumerate() {
        piece.members.iter().for_each(|m| piece_of[*m] = p);
    }
    let mut findings = Vec::new();
    for whole in possible {
        let mut pieces: Vec<usize> = whole.members.iter().map(|m| piece_of[*m]).collect();
        pieces.sort_unstable();
        pieces.dedup();
        // Two pieces are joined or not, and both were tried.
        if pieces.len() < 3 {
            continue;
        }
        if pieces.len() > MOST_PIECES {
            findings.push(too_many(whole));
            continue;
        }
        let members: Vec<&[usize]> = pieces.iter().map(|p| &sure[*p].members[..]).collect();
        let worst = unions(&members, &|a, b| linking.may_hang_together(a, b))
            .into_iter()
            .filter(|union| union.len() >= joins.fewest)
            .flat_map(|union| {
                let parts: Vec<&Standing<'a>> = union.iter().map(|m| &alone[*m]).collect();
                judge_single(
                    &mut Standing::joined(&parts, becomes, measure),
                    rules.rejects(),
                    context,
                )
            })
            .max_by_key(|finding| finding.verdict);
        findings.extend(worst.map(|finding| Finding {
            verdict: Verdict::Review,
            found: format!("{}, if only these are read as one", finding.found),
            action: Some(format!("measure the gaps around {} by hand", whole.ids.join(", "))),
            ..finding
        }));
    }
    findings
}

/// Every union of some pieces, but not of one and not of all, that may hang together; as members of the
/// list, ascending.
fn unions(pieces: &[&[usize]], linked: &dyn Fn(&[usize], &[usize]) -> bool) -> Vec<Vec<usize>> {
    let count = pieces.len();
    let mut beside = vec![0_u32; count];
    for (i, a) in pieces.iter().enumerate() {
        for (j, b) in pieces.iter().enumerate().skip(i + 1) {
            if linked(a, b) {
                beside[i] |= 1 << j;
                beside[j] |= 1 << i;
            }
        }
    }
    let hangs_together = |set: u32| {
        let mut reached = set & set.wrapping_neg();
        loop {
            let next = (0..count)
                .filter(|i| reached >> i & 1 == 1)
                .fold(reached, |all, i| all | beside[i] & set);
            if next == reached {
                return reached == set;
            }
            reached = next;
        }
    };
    (1..(1_u32 << count) - 1)
        .filter(|set| set.count_ones() > 1 && hangs_together(*set))
        .map(|set| {
            let chosen = (0..count).filter(|i| set >> i & 1 == 1);
            let mut union: Vec<usize> = chosen.flat_map(|i| pieces[i].iter().copied()).collect();
            union.sort_unstable();
            union
        })
        .collect()
}

fn too_many(whole: &Standing<'_>) -> Finding {
    Finding {
        verdict: Verdict::Review,
        rule: "joining".into(),
        indications: whole.ids.clone(),
        found: "too many gaps near the joining limit to try every way of joining".into(),
        limit: format!("{MOST_PIECES} pieces"),
        source: chosen("every way of joining is tried for up to ten pieces"),
        action: Some(format!("measure the gaps around {} by hand", whole.ids.join(", "))),
    }
}
