//! A whole car for other programs: JSON with a published schema, a calendar, and tables.

pub mod calendar;
mod fold;
pub mod tables;

use super::{Subject, words};
use crate::engine::plan::Plan;

/// The version of [`SCHEMA`] that [`json`] keeps to.
pub const VERSION: u32 = 1;

/// The JSON Schema of what [`json`] writes.
pub const SCHEMA: &str = include_str!("export.schema.json");

/// A whole car as JSON: what its owner said and saw, and what follows from it today.
///
/// # Errors
/// As [`super::json`].
pub fn json(subject: &Subject, plan: &Plan) -> Result<String, serde_json::Error> {
    super::json(&serde_json::json!({
        "format": "tinworm car",
        "version": VERSION,
        "written": subject.assessment.today,
        "remark": words::ORDERS_WORK_ONLY,
        "car": subject.car,
        "fitted": subject.car.part_ids(subject.library),
        "standing": super::standing::value(subject)?,
        "plan": super::plan::value(subject, plan)?,
    }))
}
