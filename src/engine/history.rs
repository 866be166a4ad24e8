//! One check's history and forecast as a series of dates, for the decline chart.

use jiff::civil::Date;
use serde::Serialize;

use super::state::Spread;
use crate::car::Seen;
use crate::units::Grade;

/// History and forecast of one check.
#[derive(Debug, Clone, Serialize)]
pub struct DeclineSeries {
    /// Damage over time; the days up to today are history, the rest forecast.
    pub points: Vec<DeclinePoint>,
    /// What was seen, oldest first.
    pub looks: Vec<DeclineLook>,
    /// Repairs that restarted it: date and repair id.
    pub repairs: Vec<(Date, String)>,
    /// Where history ends.
    pub today: Date,
}

/// Damage at a date.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeclinePoint {
    /// The day.
    pub date: Date,
    /// Damage.
    pub damage: Spread,
    /// Probability of being past the limit.
    pub past_limit: f64,
}

/// A look, as damage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeclineLook {
    /// The day.
    pub date: Date,
    /// What was seen.
    pub seen: Seen,
    /// The grade it stands for.
    pub grade: Grade,
    /// Lowest damage it stands for.
    pub from: f64,
    /// Highest damage it stands for (equal to `from` for a reading).
    pub to: f64,
}
