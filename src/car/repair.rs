//! Work that was done.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::rubric::PartId;
use crate::units::Torque;

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
    /// Hours the plan had given it on that day, before anything was learned from earlier work: what `hours` is measured by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub planned_hours: Option<f64>,
    /// Tightening values used.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub torques: Vec<TorqueUsed>,
    /// Parts fitted, as they were bought.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fitted: Vec<String>,
}

impl RepairDone {
    /// A repair of which only this is known.
    #[must_use]
    pub fn new(date: Date, repair: &str, part: PartId) -> RepairDone {
        RepairDone {
            date,
            repair: repair.to_owned(),
            part,
            odometer_km: None,
            hours: None,
            cost: None,
            note: String::new(),
            planned_hours: None,
            torques: Vec::new(),
            fitted: Vec::new(),
        }
    }
}

/// A tightening value that was used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TorqueUsed {
    /// The fixing, in the words of the repair.
    pub fixing: String,
    /// The value.
    pub torque: Torque,
}
