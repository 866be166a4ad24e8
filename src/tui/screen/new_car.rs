//! The form that puts a new car in the Yard.

use super::form::{Model, Purpose, Wrong};
use super::profile::{Line, blank};
use super::{Effect, Over, pick};
use crate::text;
use crate::tui::desk::Desk;

/// What `n` in the Yard opens: the usual cars to choose from, or the form at once where the rubrics know none.
#[must_use]
pub fn begin(desk: &Desk) -> Effect {
    let usual = &desk.library.all().usual_cars;
    if usual.is_empty() {
        return form(desk, None).over();
    }
    let lines = usual
        .iter()
        .map(|u| (text::clean(&u.name), String::new()))
        .chain([("None of these: I choose piece by piece".to_owned(), String::new())])
        .collect();
    Effect::Over(Box::new(Over::Pick(pick::Model::new(
        "A new car: which is it most like?",
        pick::For::NewCar,
        lines,
        0,
    ))))
}

/// The form, with the usual answers and the pieces of a usual car, by its place in the list, filled in.
#[must_use]
pub fn form(desk: &Desk, like: Option<usize>) -> Model {
    let mut profile = blank(&desk.library);
    if let Some(usual) = like.and_then(|at| desk.library.all().usual_cars.get(at)) {
        profile.layout.clone_from(&usual.layout);
    }
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
