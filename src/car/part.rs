//! What the owner has said of one part, beyond what the layout says.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::units::Torque;

/// The owner's word on one part.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct PartNote {
    /// Added by the owner: the layout does not place it.
    #[serde(default)]
    pub added: bool,
    /// Placed by the layout but not on this car.
    #[serde(default)]
    pub not_fitted: bool,
    /// When it was fitted new, if known.
    #[serde(default)]
    pub fitted: Option<Date>,
    /// Limits from the car's own manual, or stamped on the part.
    #[serde(default)]
    pub limits: Vec<OwnLimit>,
    /// Tightening values from the car's own manual.
    #[serde(default)]
    pub torques: Vec<OwnTorque>,
    /// Anything worth keeping.
    #[serde(default)]
    pub note: String,
}

/// A limit that wins over the rubric's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OwnLimit {
    /// The measured check it is for.
    pub check: String,
    /// The value of a new part, if given.
    pub new: Option<f64>,
    /// The value at which the part is no longer serviceable.
    pub limit: f64,
    /// Where it stands: `workshop manual, chapter 4`.
    pub source: String,
}

/// A tightening value from the car's own manual; it wins over every guide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OwnTorque {
    /// The fixing's name, as the repairs of the component have it: `castle nut`.
    pub fixing: String,
    /// The value.
    pub torque: Torque,
    /// Where it stands: `workshop manual, chapter 7`.
    pub source: String,
}

impl PartNote {
    /// The manual's value for a fixing.
    #[must_use]
    pub fn torque(&self, fixing: &str) -> Option<&OwnTorque> {
        self.torques.iter().find(|own| own.fixing == fixing)
    }
}
