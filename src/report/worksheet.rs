//! The worksheet of a visit: what must be ready before the day, what is opened, done, closed and tightened in which order, and
//! when one may stop half-way. Text, HTML, JSON and the screens are all made from this one model.
//!
//! A torque of the car's own manual is the only one that is printed as a value. Without one there is a line to fill, with the
//! guide beside it, marked as a guide; without thread or class there is no guide either.

pub mod html;
mod look;
mod model;
mod ready;
mod steps;
mod stops;
mod text;
mod tighten;
mod wording;

pub use model::*;
pub use text::text;
pub use wording::{ABOUT_TORQUES, LIKELY_TO_SHEAR, RECORD, USED_ONCE};

use super::{Subject, words};
use crate::engine::plan::{Plan, Visit};
use crate::text::clean;

/// The worksheet of one visit of a plan, counted from 0.
#[must_use]
pub fn worksheet(subject: &Subject, plan: &Plan, nth: usize) -> Option<Worksheet> {
    let visit = plan.visits.get(nth)?;
    let tightening = tighten::rows(subject, visit);
    let day = steps::order(subject, plan, nth, &tightening);
    Some(Worksheet {
        car: clean(&subject.car.profile.name),
        made: plan.today,
        number: nth + 1,
        of: plan.visits.len(),
        date: visit.date,
        runs_on: visit.runs_on.clone(),
        work: visit.work.iter().map(|w| work_line(subject, w)).collect(),
        why: visit.why.iter().map(|w| words::why(subject.library, w)).collect(),
        median_hours: visit.hours.median,
        high_hours: visit.hours.high,
        hours: words::visit_hours(visit),
        booking: visit.booking.as_ref().map(|booking| BookingSheet {
            trade: clean(&booking.trade),
            book_by: booking.book_by,
            away_until: booking.away_until,
            bill: (booking.labour > 0.0).then(|| words::money(&subject.car.profile, booking.labour)),
        }),
        ready: ready::ready(subject, visit),
        tools: ready::tools(subject, plan, visit),
        steps: day.steps,
        stays_open: day.stays_open,
        already_open: day.already_open,
        stops: day.stops,
        tightening,
        looks: look::while_apart(subject, plan, nth),
        remark: words::ORDERS_WORK_ONLY.to_owned(),
    })
}

/// Which visit a number or a day means, counted from 0; the next one when neither is given.
///
/// # Errors
/// What is wrong with it, and which visits there are.
pub fn find(plan: &Plan, wanted: Option<&str>) -> Result<usize, String> {
    let last = plan.visits.len();
    if last == 0 {
        return Err("the plan has no visit, so there is no worksheet; `tinworm plan CAR` says why".to_owned());
    }
    let Some(wanted) = wanted.map(str::trim) else {
        return Ok(0);
    };
    let days = || {
        let days: Vec<String> = plan.visits.iter().map(|v| v.date.to_string()).collect();
        days.join(", ")
    };
    if let Ok(number) = wanted.parse::<usize>() {
        return match number.checked_sub(1) {
            Some(nth) if nth < last => Ok(nth),
            _ => Err(format!("the plan has no visit {number}; it has 1 to {last}")),
        };
    }
    let date: jiff::civil::Date = wanted
        .parse()
        .map_err(|_| format!("`{wanted}` is neither the number of a visit nor a day such as 2026-03-14"))?;
    let on = |visit: &Visit| visit.date == date || visit.runs_on.contains(&date);
    plan.visits
        .iter()
        .position(on)
        .ok_or_else(|| format!("the plan has no visit on {date}; its days are {}", days()))
}

/// The worksheet as JSON.
///
/// # Errors
/// As [`super::json`].
pub fn json(sheet: &Worksheet) -> Result<String, serde_json::Error> {
    super::json(sheet)
}

fn work_line(subject: &Subject, work: &crate::engine::plan::Work) -> String {
    format!(
        "{}, {}",
        words::repair(subject.library, &work.repair),
        words::stations(if work.on.is_empty() {
            std::slice::from_ref(&work.part)
        } else {
            &work.on
        })
    )
}
