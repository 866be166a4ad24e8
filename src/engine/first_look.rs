//! A first look of about a quarter of an hour: the checks whose answers would change the standing most for each minute.
//!
//! What a look would change is reckoned with the assessment, [`Assessment::look_next`]. From there checks are taken as long as
//! their minutes, as the rubrics give them, fit: first those that drive a mode of the two gravest severities, then the others,
//! each time the most told per minute first. A check that no longer fits is passed over for a shorter one, and one that cannot
//! be made then and there, because it waits for a filling, a drive or a soak, is not asked at all.

use std::collections::BTreeSet;

use super::state::Assessment;
use crate::rubric::{Check, Library, PartId, Severity, Stage};

/// The minutes of looking in a first look.
pub const MINUTES: f64 = 15.0;

/// The checks of a first look.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FirstLook {
    /// Parts, each with a check; in no order of their own: the round has one.
    pub checks: BTreeSet<(PartId, String)>,
    /// Their minutes together.
    pub minutes: f64,
}

/// Chooses the checks of a first look of at most so many minutes.
///
/// # Example
/// ```
/// use tinworm::engine::{assess::assess, first_look::{MINUTES, first_look}};
/// use tinworm::{demo, rubric::builtin};
///
/// let assessment = assess(&demo::car(), builtin::library(), demo::today());
/// let look = first_look(&assessment, builtin::library(), MINUTES);
/// assert!(look.minutes <= MINUTES);
/// ```
#[must_use]
pub fn first_look(assessment: &Assessment, library: &Library, minutes: f64) -> FirstLook {
    let mut chosen = FirstLook::default();
    for grave in [true, false] {
        let of_tier = assessment
            .look_next
            .iter()
            .filter(|l| is_grave(library, &l.part, &l.check) == grave)
            .filter(|l| library.check(&l.part.component, &l.check).is_some_and(is_on_the_spot));
        for look in of_tier {
            if chosen.minutes + look.minutes <= minutes {
                chosen.minutes += look.minutes;
                chosen.checks.insert((look.part.clone(), look.check.clone()));
            }
        }
    }
    chosen
}

/// Whether a check can be made then and there.
#[must_use]
pub fn is_on_the_spot(check: &Check) -> bool {
    check.on_the_spot && check.stage != Stage::Drive
}

/// Whether a check drives a mode that can kill or maim: severity I or II of MIL-STD-882E, table I.
#[must_use]
pub fn is_grave(library: &Library, part: &PartId, check: &str) -> bool {
    library.component(&part.component).is_some_and(|component| {
        component.modes.iter().any(|mode| {
            matches!(mode.severity, Severity::Catastrophic | Severity::Critical)
                && mode.driven_by.iter().any(|driving| driving == check)
        })
    })
}
