//! From an assessment to a plan.

use super::model::Plan;
use crate::car::Car;
use crate::engine::Assessment;
use crate::rubric::Library;

/// Plans the repairs of a car.
#[must_use]
pub fn plan(car: &Car, library: &Library, assessment: &Assessment) -> Plan {
    let _ = (car, library);
    Plan {
        today: assessment.today,
        look_first: Vec::new(),
        visits: Vec::new(),
        not_placed: Vec::new(),
        exposure: 0.0,
        exposure_undone: 0.0,
        bound: 0.0,
        proven_best: true,
        back_on_the_road: None,
    }
}
