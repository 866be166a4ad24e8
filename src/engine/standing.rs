//! The ranked list: places with their uncertainty.
//!
//! Parts are ranked by their points, `S = E(h)` with h the next survey. In each of the equally likely draws the parts are
//! ranked again; the 10 and 90 % points of a part's places are its range.

use super::state::{Assessment, PartState, Rank};

/// How many draws carry the uncertainty of ranks.
pub const DRAWS: u32 = 2000;

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
    let draws: Vec<&[f32]> = (order.iter())
        .map(|at| parts.get(*at).map_or(&[][..], |p| &p.draws[..]))
        .collect();
    let ranges = place_ranges(&draws);
    for ((place, at), range) in (1..).zip(&order).zip(ranges) {
        if let Some(part) = parts.get_mut(*at) {
            let (best, worst) = range.unwrap_or((place, place));
            part.rank = Some(Rank {
                place,
                best: best.min(place),
                worst: worst.max(place),
            });
        }
    }
}

/// The 10 and 90 % points of each part's places when the parts are ranked again in every draw, first place 1; `None` for
/// a part without draws. Equal points keep the order of the list.
#[must_use]
pub fn place_ranges(draws: &[&[f32]]) -> Vec<Option<(usize, usize)>> {
    // How often each part took each place.
    let mut taken: Vec<Vec<usize>> = draws.iter().map(|_| vec![0; draws.len()]).collect();
    let mut drawn: Vec<u64> = Vec::with_capacity(draws.len());
    for draw in 0..draws.iter().map(|d| d.len()).max().unwrap_or(0) {
        drawn.clear();
        // Points are never negative, so that their bits order as they do: the most first, then by place in the list.
        drawn.extend((0u32..).zip(draws).filter_map(|(nth, draws)| {
            let points = draws.get(draw)?.max(0.0);
            Some(u64::from(!points.to_bits()) << 32 | u64::from(nth))
        }));
        drawn.sort_unstable();
        for (place, key) in drawn.iter().enumerate() {
            let nth = usize::try_from(key & 0xffff_ffff).ok();
            if let Some(count) = nth.and_then(|nth| taken.get_mut(nth)?.get_mut(place)) {
                *count += 1;
            }
        }
    }
    let range = |counts: Vec<usize>| {
        let last = counts.iter().sum::<usize>().checked_sub(1)?;
        // The place of the draw that so many others come before.
        let at = |nth: usize| {
            let mut sum = 0;
            counts.iter().position(|count| {
                sum += count;
                sum > nth
            })
        };
        Some((at(last / 10)? + 1, at(last - last / 10)? + 1))
    };
    taken.into_iter().map(range).collect()
}

/// Probability that one part ranks before another, from the draws; a tie counts half.
#[must_use]
pub fn chance_before(a: &PartState, b: &PartState) -> f64 {
    let mut before = 0.0;
    let mut count = 0.0;
    for (x, y) in a.draws.iter().zip(b.draws.iter()) {
        count += 1.0;
        if x > y {
            before += 1.0;
        } else if x == y {
            before += 0.5;
        }
    }
    if count > 0.0 { before / count } else { 0.5 }
}
