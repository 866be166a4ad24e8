//! Which survey the Round goes on with, and the form that begins one.

use jiff::civil::Date;

use super::first;
use crate::car::{Car, Change, NotSeen, Seen};
use crate::engine::first_look::MINUTES;
use crate::tui::desk::{Desk, Stop};
use crate::tui::screen::form::{self, Model, Purpose, Wrong};
use crate::tui::screen::{Effect, Then};

/// An unfinished survey older than this many days is not gone on with unasked: the car has changed since.
const GOES_ON_FOR: i32 = 30;

/// The survey to go on with unasked: today's, or the newest one if checks of it are open and it is not long past.
#[must_use]
pub fn in_hand(car: &Car, stops: &[Stop], today: Date) -> Option<Date> {
    let newest = car.surveys.iter().rev().find(|s| s.date <= today)?;
    let age = (today - newest.date).get_days();
    let open = stops.iter().any(|s| {
        newest
            .look(&s.part, &s.check)
            .is_none_or(|l| l.seen == Seen::Not(NotSeen::Later))
    });
    (age == 0 || (open && age <= GOES_ON_FOR)).then_some(newest.date)
}

/// The form that begins a survey, or corrects the odometer of one of the same day.
#[must_use]
pub fn form(desk: &Desk) -> Model {
    let unit = desk.car.as_ref().map(|c| c.profile.distance_unit).unwrap_or_default();
    let newest = desk.car.as_ref().and_then(|c| c.surveys.last());
    let same_day = newest.filter(|s| s.date == desk.today);
    let odometer = same_day
        .and_then(|s| s.odometer_km)
        .map_or_else(String::new, |km| format!("{:.0}", unit.of_km(km)));
    let last = newest.and_then(|s| s.odometer_km).map_or_else(
        || "What the odometer shows; empty if it cannot be read.".to_owned(),
        |km| {
            format!(
                "What the odometer shows; it was {:.0} {} at the last survey.",
                unit.of_km(km),
                unit.sign()
            )
        },
    );
    let mut lines = vec![
        form::Line::text("Day", "The day of the looks.", &desk.today.to_string()),
        form::Line::text(&format!("Odometer, {}", unit.sign()), &last, &odometer),
        form::Line::text(
            "Note",
            "Anything worth keeping about this survey.",
            same_day.map_or("", |s| s.note.as_str()),
        ),
    ];
    if first::is_long(desk) {
        let of = vec![
            format!("First look, {MINUTES:.0} minutes"),
            format!("Whole round, {} checks", desk.stops.len()),
        ];
        let hint = "The first look asks the checks that tell most a minute, what can kill first; the rest can follow any time. ← → choose.";
        lines.push(form::Line::one(
            "Round",
            hint,
            of,
            usize::from(!first::nothing_seen(desk)),
        ));
    }
    Model::new(
        "Begin a survey",
        "Looks are kept under this day. A survey may take several sittings; it goes on by itself.",
        Purpose::Survey,
        lines,
    )
}

/// Takes the filled form.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit_survey(desk: &Desk, form: &Model) -> Result<Vec<Effect>, Wrong> {
    let car = desk.car.as_ref().ok_or((0, "There is no car in hand.".to_owned()))?;
    let unit = car.profile.distance_unit;
    let date = form.date(0)?.ok_or((0, "The survey needs a day.".to_owned()))?;
    if date > desk.today {
        return Err((0, format!("{date} is after today, {}.", desk.today)));
    }
    let odometer_km = form.number(1, 0.0)?.map(|d| unit.to_km(d));
    let read = |s: &&crate::car::Survey| s.odometer_km.is_some();
    let before = car.surveys.iter().rev().filter(read).find(|s| s.date < date);
    if let (Some(now), Some(then)) = (odometer_km, before)
        && let Some(km) = then.odometer_km
        && now + 0.6 < km
    {
        return Err((
            1,
            format!(
                "Less than the {:.0} {} of {}; if that odometer was wrong, correct it first.",
                unit.of_km(km),
                unit.sign(),
                then.date
            ),
        ));
    }
    let mut changes = vec![Change::Survey {
        date,
        odometer_km,
        note: form.text(2),
    }];
    let first = form.has(3) && form.one(3) == 0;
    // That it is a first look is kept with the survey; which checks it asks is kept once the engine has chosen them.
    let chosen = car.surveys.iter().any(|s| s.date == date && s.first_look.is_some());
    if first && !chosen {
        changes.push(Change::FirstLook {
            survey: date,
            asks: Some(Vec::new()),
        });
    }
    Ok(vec![Effect::Record {
        changes,
        then: Then::Begun(date, first),
    }])
}
