//! One dated look round the car.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::rubric::PartId;
use crate::units::Grade;

/// One dated look round the car, complete or not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Survey {
    /// The day; a car has at most one survey a day.
    pub date: Date,
    /// Odometer in kilometres, if read.
    pub odometer_km: Option<f64>,
    /// Anything worth keeping.
    #[serde(default)]
    pub note: String,
    /// What was looked at, in the order it was looked at; at most one look for a check of a part.
    pub looks: Vec<Look>,
    /// Grades given a second time, blind, beside the looks they repeat; at most one for a check of a part.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub second_looks: Vec<SecondLook>,
    /// The checks of the first look as which it was begun, empty until they are chosen; none for a whole round. It says what
    /// is asked, and nothing of the car.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_look: Option<Vec<Asked>>,
}

impl Survey {
    /// An empty survey.
    #[must_use]
    pub fn new(date: Date, odometer_km: Option<f64>) -> Survey {
        Survey {
            date,
            odometer_km,
            note: String::new(),
            looks: Vec::new(),
            second_looks: Vec::new(),
            first_look: None,
        }
    }

    /// What this survey says of one check.
    #[must_use]
    pub fn look(&self, part: &PartId, check: &str) -> Option<&Look> {
        self.looks.iter().find(|look| look.check == check && look.part == *part)
    }

    /// The second look at one check.
    #[must_use]
    pub fn second_look(&self, part: &PartId, check: &str) -> Option<&SecondLook> {
        self.second_looks.iter().find(|s| s.check == check && s.part == *part)
    }
}

/// A check that a first look asks.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Asked {
    /// The part.
    pub part: PartId,
    /// The check's id.
    pub check: String,
}

/// A check graded again without sight of its first grade, to learn how steady the grader is.
///
/// It says nothing of the part: the survey's look stays what it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SecondLook {
    /// The part.
    pub part: PartId,
    /// The check's id.
    pub check: String,
    /// The day of the second look.
    pub on: Date,
    /// The grade that the survey had when the second one was given: a look mended later does not mend the pair.
    pub first: Grade,
    /// The grade of the second look.
    pub grade: Grade,
}

/// What a survey says of one check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Look {
    /// The part.
    pub part: PartId,
    /// The check's id.
    pub check: String,
    /// What was seen.
    pub seen: Seen,
    /// A remark.
    #[serde(default)]
    pub note: String,
    /// Names of photos in the car's folder.
    #[serde(default)]
    pub photos: Vec<String>,
}

/// What was seen of a check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Seen {
    /// A grade.
    Grade(Grade),
    /// Readings in the check's unit, one for each point of the check in its order (one when it has no points).
    Reading(Vec<f64>),
    /// The answer to a yes/no question.
    Answer(bool),
    /// Nothing: why not.
    Not(NotSeen),
}

impl Seen {
    /// Whether anything was seen.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        !matches!(self, Seen::Not(_))
    }
}

/// Why a check was not seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum NotSeen {
    /// Under grease, sealer, trim or an undertray.
    Covered,
    /// Could not be reached.
    OutOfReach,
    /// The tool or the helper was missing.
    NoTool,
    /// Left for another time.
    Later,
}

impl NotSeen {
    /// All reasons, in the order they are offered.
    pub const ALL: [NotSeen; 4] = [NotSeen::Covered, NotSeen::OutOfReach, NotSeen::NoTool, NotSeen::Later];

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            NotSeen::Covered => "covered",
            NotSeen::OutOfReach => "out of reach",
            NotSeen::NoTool => "tool or helper missing",
            NotSeen::Later => "left for later",
        }
    }
}
