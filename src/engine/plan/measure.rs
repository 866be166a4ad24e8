//! What an owner's hours are measured by: those that the plan would give, before anything is learned.

use super::setups::setups_of;
use super::trouble::Trouble;
use crate::car::Car;
use crate::engine::state::Assessment;
use crate::rubric::{Library, PartId, Repair};

/// Hours of a repair of some parts done by itself: the rubric's, trouble with threads on average, everything opened and owed,
/// and what came on top if it stands open. `None` for a specialist's work.
#[must_use]
pub fn planned_hours(
    car: &Car,
    library: &Library,
    assessment: &Assessment,
    repair: &Repair,
    on: &[PartId],
) -> Option<f64> {
    if repair.specialist.is_some() {
        return None;
    }
    let trouble = Trouble::new(car, library, assessment);
    let mut opening = Vec::new();
    for setup in on.iter().flat_map(|part| setups_of(library, repair, part)) {
        if !opening.contains(&setup) {
            opening.push(setup);
        }
    }
    let seized: f64 = on.iter().map(|part| trouble.mean_hours(assessment, repair, part)).sum();
    let second = super::candidates::SECOND_SIDE * (on.len() as f64 - 1.0);
    let extra = on
        .iter()
        .filter_map(|part| car.progress.open_on(part))
        .filter(|job| job.repair == repair.id)
        .flat_map(|job| &job.extra);
    let hours = repair.hours * (1.0 + second)
        + seized
        + opening.iter().map(|(_, hours)| hours).sum::<f64>()
        + extra.map(|e| e.hours).sum::<f64>();
    (hours > 0.0).then_some(hours)
}
