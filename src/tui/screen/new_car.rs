//! The form that puts a new car in the Yard.

use super::Effect;
use super::form::{Model, Purpose, Wrong};
use super::profile::{Line, blank};
use crate::tui::desk::Desk;

/// The form, with the usual answers filled in.
#[must_use]
pub fn form(desk: &Desk) -> Model {
    let profile = blank(&desk.library);
    let lines = Line::all(&desk.library)
        .into_iter()
        .map(|l| l.ask(&profile, &desk.library))
        .collect();
    Model::new(
        "A new car",
        "The usual answers are filled in; Ctrl-S saves from any line.",
        Purpose::NewCar,
        lines,
    )
}

/// Takes the filled form.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit(desk: &Desk, form: &Model) -> Result<Vec<Effect>, Wrong> {
    let mut profile = blank(&desk.library);
    for (at, line) in Line::all(&desk.library).into_iter().enumerate() {
        line.take(form, at, &mut profile, &desk.library, desk.today)?;
    }
    Ok(vec![Effect::Create(Box::new(profile))])
}
