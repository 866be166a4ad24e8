//! A repair that was begun and not finished, asked and taken in.

use super::super::{Effect, Then, form};
use crate::car::{Change, ExtraWork};
use crate::engine::plan::Work;
use crate::engine::plan::parts::{left_open, sheared};
use crate::report::words;
use crate::rubric::{NewPart, PartId};
use crate::tui::desk::Desk;

/// Asks what stands open.
pub fn form(desk: &Desk, work: &Work) -> form::Model {
    let fixings = desk
        .library
        .repair(&work.repair)
        .map_or(&[][..], |r| r.fixings.as_slice());
    let mut names = vec!["none".to_owned()];
    names.extend(fixings.iter().map(|f| f.name.clone()));
    let part = work.on.first().unwrap_or(&work.part);
    form::Model::new(
        "Left open",
        &format!(
            "{} – {}. The car carries the notice until it is closed.",
            words::repair(&desk.library, &work.repair),
            words::parts(&desk.library, &work.on)
        ),
        form::Purpose::Leave(work.repair.clone(), part.clone()),
        vec![
            form::Line::text("Begun on", "The day it was left.", &desk.today.to_string()),
            form::Line::text("Hours", "How long it took so far.", ""),
            form::Line::text("Hours to go", "Closing up included; empty leaves it to the plan.", ""),
            form::Line::text("Done of it", "What has been done, commas between.", ""),
            form::Line::one("Sheared", "A fixing that sheared; ← and → choose.", names, 0),
            form::Line::text("Hours for that", "To make it good; empty is the usual.", ""),
            form::Line::text("To buy for it", "The part, if one is needed.", ""),
            form::Line::text("Days to come", "Until it is in hand.", ""),
            form::Line::text("Remark", "", ""),
        ],
    )
}

/// Takes the form in.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit(desk: &Desk, form: &form::Model, repair: &str, part: &PartId) -> Result<Vec<Effect>, form::Wrong> {
    let car = desk.car.as_ref().ok_or((0, "There is no car in hand.".to_owned()))?;
    let known = desk.library.repair(repair);
    let known = known.ok_or((0, "The rubrics no longer have this repair.".to_owned()))?;
    let date = form.date(0)?.ok_or((0, "It needs a day.".to_owned()))?;
    if date > desk.today {
        return Err((0, format!("{date} is after today, {}.", desk.today)));
    }
    let mut job = left_open(car, &desk.library, known, part, date);
    job.hours_so_far += form.number(1, 0.0)?.unwrap_or(0.0);
    job.hours_left = form.number(2, 0.0)?.or(job.hours_left);
    job.did.extend(super::listed(&form.text(3)));
    let hours = form.number(5, 0.0)?;
    let days = form.number(7, 0.0)?.unwrap_or(0.0).min(3650.0);
    let mut extra: Option<ExtraWork> = form
        .one(4)
        .checked_sub(1)
        .and_then(|at| known.fixings.get(at))
        .map(|fixing| sheared(known, &fixing.name, hours));
    let name = form.text(6);
    if !name.is_empty() {
        let lead_days = (0..=3650_u32).find(|d| f64::from(*d) >= days).unwrap_or(3650);
        let bought = NewPart {
            name,
            count: 1,
            cost: 0.0,
            lead_days,
        };
        let on_top = extra.get_or_insert_with(|| ExtraWork {
            what: "fit what was missing".to_owned(),
            hours: hours.unwrap_or(0.0),
            buy: Vec::new(),
        });
        on_top.buy.push(bought);
    }
    job.extra.extend(extra);
    let note = form.text(8);
    if !note.is_empty() {
        job.note = note;
    }
    Ok(vec![Effect::Record {
        changes: vec![Change::Left(job)],
        then: Then::CloseForm("Stands open: the car is not to be driven until it is closed.".to_owned()),
    }])
}
