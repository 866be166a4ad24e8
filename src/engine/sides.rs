//! Left against right, for every part that has a twin on the other side.

use serde::Serialize;

use super::lives::{damage_of, limits};
use super::standing::chance_before;
use super::state::{Assessment, CheckState};
use crate::car::{Car, Seen};
use crate::rubric::{CheckKind, Library, PartId, Side};
use crate::units::Grade;

/// A difference of the loss from which it is a finding, as a share of the larger loss (common practice, no source).
pub const LOSS_DIFFERENCE: f64 = 0.3;
/// A loss too small to compare, in damage: below it a share means nothing.
const SMALL_LOSS: f64 = 0.1;
/// From this grade on a side is called worn when both are compared.
const BOTH_BAD_FROM: u8 = 3;

/// A part and its twin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SidePair {
    /// The left part.
    pub left: PartId,
    /// The right part.
    pub right: PartId,
    /// Exposure of the left until the next survey.
    pub left_points: f64,
    /// Exposure of the right until the next survey.
    pub right_points: f64,
    /// Which first; `None` when neither has been seen or both are equal.
    pub first: Option<Side>,
    /// Probability that `first` ranks before the other.
    pub sure: f64,
    /// Which sides have been seen.
    pub seen: (bool, bool),
    /// Checks that differ by a grade or more, or by 30 % of the loss.
    pub differences: Vec<SideDifference>,
    /// Whether both sides are bad: each in the plan for itself.
    pub both_bad: bool,
}

/// A difference between the sides: a finding of its own; look for its cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideDifference {
    /// The check.
    pub check: String,
    /// Grade seen on the left.
    pub left: Grade,
    /// Grade seen on the right.
    pub right: Grade,
    /// The worse side.
    pub worse: Side,
    /// Difference of the loss, as a share of the larger, for measured checks.
    pub loss: Option<f64>,
}

/// Every paired part, the pair with the most exposure first.
#[must_use]
pub fn sides(car: &Car, library: &Library, assessment: &Assessment) -> Vec<SidePair> {
    let mut pairs = Vec::new();
    for left in assessment
        .parts
        .iter()
        .filter(|p| p.id.station.side == Some(Side::Left))
    {
        let Some(right) = left.id.twin().and_then(|id| assessment.part(&id)) else {
            continue;
        };
        let left_first = chance_before(left, right);
        let seen = (left.seen, right.seen);
        let (first, sure) = match seen {
            (false, _) | (_, false) => (None, 0.5),
            _ if left.points == right.points && (left_first - 0.5).abs() < 0.02 => (None, 0.5),
            _ if left_first >= 0.5 => (Some(Side::Left), left_first),
            _ => (Some(Side::Right), 1.0 - left_first),
        };
        let differences = left
            .checks
            .iter()
            .filter_map(|l| {
                let r = right.checks.iter().find(|r| r.check == l.check)?;
                difference(car, library, &left.id, l, &right.id, r)
            })
            .collect();
        let bad = |p: &crate::engine::PartState| p.worst.as_ref().is_some_and(|w| w.grade.digit() >= BOTH_BAD_FROM);
        pairs.push(SidePair {
            left: left.id.clone(),
            right: right.id.clone(),
            left_points: left.points,
            right_points: right.points,
            first,
            sure,
            seen,
            differences,
            both_bad: bad(left) && bad(right),
        });
    }
    pairs.sort_by(|a, b| {
        let most = |p: &SidePair| p.left_points.max(p.right_points);
        most(b).total_cmp(&most(a)).then_with(|| a.left.cmp(&b.left))
    });
    pairs
}

/// What differs between the newest looks at the same check left and right.
fn difference(
    car: &Car,
    library: &Library,
    left_id: &PartId,
    left: &CheckState,
    right_id: &PartId,
    right: &CheckState,
) -> Option<SideDifference> {
    let (l, r) = (left.last.as_ref()?, right.last.as_ref()?);
    let loss_of = |id: &PartId, seen: &Seen| {
        let check = library.check(&id.component, &left.check)?;
        let (CheckKind::Measured(measure), Seen::Reading(values)) = (&check.kind, seen) else {
            return None;
        };
        let (new, limit) = limits(car, id, &check.id, measure);
        values.iter().map(|v| damage_of(*v, new, limit)).max_by(f64::total_cmp)
    };
    let losses = loss_of(left_id, &l.seen).zip(loss_of(right_id, &r.seen));
    let loss = losses.and_then(|(a, b)| {
        let larger = a.max(b);
        (larger > SMALL_LOSS).then(|| (a - b).abs() / larger)
    });
    let by_grade = l.grade.digit().abs_diff(r.grade.digit()) >= 1;
    if !by_grade && loss.is_none_or(|share| share < LOSS_DIFFERENCE) {
        return None;
    }
    let left_worse = losses.map_or(l.grade > r.grade, |(a, b)| a > b);
    let worse = if left_worse { Side::Left } else { Side::Right };
    Some(SideDifference {
        check: left.check.clone(),
        left: l.grade,
        right: r.grade,
        worse,
        loss,
    })
}
