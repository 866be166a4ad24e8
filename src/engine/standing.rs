//! The ranked list: places with their uncertainty.
//!
//! Parts are ranked by their points, `S = E(h)` with h the next survey. In each of the equally likely draws the parts are
//! ranked again; the 10 and 90 % points of a part's places are its range.

use super::state::{Assessment, PartState, Rank};

/// How many draws carry the uncertainty of ranks.
pub const DRAWS: usize = 2000;

/// The ranked parts of an assessment, first place first. Parts of which nothing has been seen are not among them.
#[must_use]
pub fn ranked(assessment: &Assessment) -> Vec<&PartState> {
    let mut parts: Vec<&PartState> = assessment.parts.iter().filter(|p| p.rank.is_some()).collect();
    parts.sort_by_key(|p| p.rank.map_or(usize::MAX, |r| r.place));
    parts
}

/// The parts of which nothing has been seen, the largest exposure under the rubric first.
#[must_use]
pub fn look_first(assessment: &Assessment) -> Vec<&PartState> {
    let mut parts: Vec<&PartState> = assessment.parts.iter().filter(|p| p.rank.is_none()).collect();
    parts.sort_by(|a, b| b.points.total_cmp(&a.points).then_with(|| a.id.cmp(&b.id)));
    parts
}

/// Gives every seen part its place and the 80 % range of places.
pub(crate) fn rank(parts: &mut [PartState]) {
    let mut order: Vec<usize> = (0..parts.len())
        .filter(|at| parts.get(*at).is_some_and(|p| p.seen))
        .collect();
    order.sort_by(|a, b| match (parts.get(*a), parts.get(*b)) {
        (Some(a), Some(b)) => b.points.total_cmp(&a.points).then_with(|| a.id.cmp(&b.id)),
        _ => std::cmp::Ordering::Equal,
    });
    let mut places: Vec<Vec<u32>> = vec![Vec::with_capacity(DRAWS); parts.len()];
    for draw in 0..DRAWS {
        let mut drawn: Vec<(usize, f32)> = order
            .iter()
            .filter_map(|at| Some((*at, parts.get(*at)?.draws.get(draw).copied()?)))
            .collect();
        drawn.sort_by(|a, b| b.1.total_cmp(&a.1));
        for (place, (at, _)) in (1u32..).zip(&drawn) {
            if let Some(list) = places.get_mut(*at) {
                list.push(place);
            }
        }
    }
    for (place, at) in order.iter().enumerate() {
        let (mut best, mut worst) = (place + 1, place + 1);
        if let Some(list) = places.get_mut(*at).filter(|l| !l.is_empty()) {
            list.sort_unstable();
            let last = list.len() - 1;
            best = best.min(list.get(last / 10).map_or(best, |p| *p as usize));
            worst = worst.max(list.get(last - last / 10).map_or(worst, |p| *p as usize));
        }
        if let Some(part) = parts.get_mut(*at) {
            part.rank = Some(Rank {
                place: place + 1,
                best,
                worst,
            });
        }
    }
}

/// Probability that one part ranks before another, from the draws; a tie counts half.
#[must_use]
pub fn chance_before(a: &PartState, b: &PartState) -> f64 {
    let mut before = 0.0;
    let mut count = 0.0;
    for (x, y) in a.draws.iter().zip(&b.draws) {
        count += 1.0;
        if x > y {
            before += 1.0;
        } else if x == y {
            before += 0.5;
        }
    }
    if count > 0.0 { before / count } else { 0.5 }
}
