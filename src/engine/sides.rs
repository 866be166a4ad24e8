//! Left against right, for every part that has a twin on the other side.

use serde::Serialize;

use crate::rubric::{PartId, Side};
use crate::units::Grade;

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
