//! Work that was done.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::rubric::PartId;

/// One repair done on one part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RepairDone {
    /// The day it was finished.
    pub date: Date,
    /// The repair's id in the rubrics.
    pub repair: String,
    /// The part it was for; parts renewed along with it follow from the repair.
    pub part: PartId,
    /// Odometer in kilometres, if read.
    #[serde(default)]
    pub odometer_km: Option<f64>,
    /// Hours it took.
    #[serde(default)]
    pub hours: Option<f64>,
    /// What it cost.
    #[serde(default)]
    pub cost: Option<f64>,
    /// What was found.
    #[serde(default)]
    pub note: String,
}
