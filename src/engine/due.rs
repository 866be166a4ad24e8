//! Which checks are due for a look before the next survey comes round.
//!
//! A check is due when any of these holds, the first that does being its reason:
//!
//! 1. nothing has been seen of it since its part was last renewed, whatever the reason;
//! 2. it was graded 3 or worse when last seen;
//! 3. its chance to be past the limit by the next survey is a tenth or more;
//! 4. it was last seen a year ago or longer.
//!
//! Grade 3, the tenth and the year are judgement: grade 3 is where the rubrics' descriptions turn from ageing to damage, a
//! tenth is the chance from which the plan takes an unlucky part for work, and a year holds one winter.

use jiff::civil::Date;
use serde::Serialize;

use super::clock::days_between;
use super::state::{Assessment, CheckState};
use crate::rubric::PartId;
use crate::units::Grade;

/// From this grade on a check is looked at each time.
pub const FROM_GRADE: u8 = 3;
/// From this chance to pass the limit by the next survey on a check is looked at.
pub const FROM_CHANCE: f64 = 0.1;
/// Days after which any check is looked at again.
pub const AFTER_DAYS: f64 = 365.0;

/// Why a check is due for a look.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Due {
    /// Nothing has been seen of it since its part was last renewed.
    NeverSeen,
    /// Graded so when last seen.
    Graded(Grade),
    /// The chance to be past its limit by the next survey.
    MayPass(f64),
    /// Last seen on that day.
    LongAgo(Date),
}

/// Why a check is due on a day; `None` when it can wait.
#[must_use]
pub fn due(state: &CheckState, today: Date) -> Option<Due> {
    let Some(last) = &state.last else {
        return Some(Due::NeverSeen);
    };
    if last.grade.digit() >= FROM_GRADE {
        Some(Due::Graded(last.grade))
    } else if state.past_limit_then >= FROM_CHANCE {
        Some(Due::MayPass(state.past_limit_then))
    } else if days_between(last.date, today) >= AFTER_DAYS {
        Some(Due::LongAgo(last.date))
    } else {
        None
    }
}

/// Why a check of a part is due on the day of an assessment. A check that the assessment does not know has not been seen.
#[must_use]
pub fn due_of(assessment: &Assessment, part: &PartId, check: &str) -> Option<Due> {
    let state = assessment
        .part(part)
        .and_then(|p| p.checks.iter().find(|c| c.check == check));
    match state {
        Some(state) => due(state, assessment.today),
        None => Some(Due::NeverSeen),
    }
}
