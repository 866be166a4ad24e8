//! A whole car on a day.

use jiff::civil::Date;

use super::state::Assessment;
use crate::car::Car;
use crate::rubric::Library;

/// Assesses a car on a day.
#[must_use]
pub fn assess(car: &Car, library: &Library, today: Date) -> Assessment {
    let _ = (car, library);
    Assessment {
        today,
        until: today,
        parts: Vec::new(),
        notice: Vec::new(),
        pace: Vec::new(),
        survey_offsets: Vec::new(),
        look_next: Vec::new(),
    }
}
