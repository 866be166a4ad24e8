//! `found`: what was found is graded on the spot; and the same for `done` and `leave`.

use jiff::civil::Date;

use super::args::Found;
use super::desk::{self, Desk, part_of};
use super::exit::Failure;
use crate::car::{Car, Change, Look};
use crate::report::{filled, words};
use crate::rubric::{Library, PartId};

/// Grades what was found.
pub fn found(desk: &Desk, asked: &Found) -> Result<String, Failure> {
    let library = desk.library()?;
    let mut open = desk.write_to(&asked.car)?;
    let part = part_of(open.car(), &library, &asked.part)?;
    let date = past_day(open.car(), asked.date, desk)?;
    let note = asked.note.as_deref().unwrap_or_default();
    let changes = looks(open.car(), &library, date, &part, &asked.found, note)?;
    let said = in_words(&library, date, &changes);
    super::desk::record(&mut open, changes)?;
    Ok(said)
}

/// A day that has been and on which the car existed; today unless given.
///
/// # Errors
/// When it is neither.
pub fn past_day(car: &Car, date: Option<Date>, desk: &Desk) -> Result<Date, Failure> {
    let date = date.unwrap_or(desk.today);
    if date > desk.today {
        return Err(Failure::Data(format!(
            "--date: {date} is in the future; record it when it is done"
        )));
    }
    if let Some(built) = car.profile.built.filter(|b| date < *b) {
        return Err(Failure::Data(format!(
            "--date: {date} is before the car was built ({built})"
        )));
    }
    Ok(date)
}

/// The changes that take findings into the survey of a day, begun if there is none: `CHECK=VALUE` of a part, or
/// `PART CHECK=VALUE`.
///
/// # Errors
/// The first finding that does not fit.
pub fn looks(
    car: &Car,
    library: &Library,
    date: Date,
    part: &PartId,
    found: &[String],
    note: &str,
) -> Result<Vec<Change>, Failure> {
    let mut changes = Vec::new();
    if !found.is_empty() && !car.surveys.iter().any(|s| s.date == date) {
        changes.push(Change::Survey {
            date,
            odometer_km: None,
            note: "Found during work.".to_owned(),
        });
    }
    for text in found {
        let (what, value) = desk::pair("found", text)?;
        let (of, check) = match what.rsplit_once(' ') {
            Some((of, check)) => (part_of(car, library, of)?, check),
            None => (part.clone(), what),
        };
        let check = desk::check(library, &of.component, check)?;
        let (seen, _) = filled::cell::seen(value, car, &of, check)
            .map_err(|(what, fix)| Failure::Data(format!("{of} {}={value}: {what}; {fix}", check.id)))?;
        // What hangs on an earlier look of the day stays with the new one.
        let before = car.surveys.iter().find(|s| s.date == date);
        let before = before.and_then(|survey| survey.look(&of, &check.id));
        let kept = |old: &Look| (old.note.clone(), old.photos.clone());
        let (old_note, photos) = before.map(kept).unwrap_or_default();
        let look = Look {
            part: of,
            check: check.id.clone(),
            seen,
            note: if note.is_empty() { old_note } else { note.to_owned() },
            photos,
        };
        changes.push(Change::Look { survey: date, look });
    }
    Ok(changes)
}

/// What was taken, in words.
#[must_use]
pub fn in_words(library: &Library, date: Date, changes: &[Change]) -> String {
    let looks = changes.iter().filter_map(|change| match change {
        Change::Look { look, .. } => Some(look),
        _ => None,
    });
    let said: Vec<String> = looks
        .map(|look| {
            let check = library.check(&look.part.component, &look.check);
            format!(
                "{}, {}: {}",
                words::part(library, &look.part),
                words::small(&words::check(library, &look.part.component, &look.check)),
                words::seen(&look.seen, check)
            )
        })
        .collect();
    if said.is_empty() {
        String::new()
    } else {
        format!("Taken into the survey of {date}: {}.\n", said.join("; "))
    }
}
