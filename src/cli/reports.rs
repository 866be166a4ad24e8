//! `standing`, `sides`, `decline`: what the engine says, printed.

use super::args::Form;
use super::desk::{self, Desk, part_of};
use super::exit::Failure;
use crate::car::Car;
use crate::engine::history::series;
use crate::engine::memory::Memory;
use crate::report::decline::CheckDecline;
use crate::report::{Subject, decline, plan, sides, standing};
use crate::rubric::Library;

/// Prints a car's standing.
pub fn standing(desk: &Desk, car: &str, form: Form) -> Result<String, Failure> {
    of_car(desk, car, |subject| {
        if form.json {
            Ok(standing::json(subject)?)
        } else if form.csv {
            Ok(standing::csv(subject))
        } else {
            Ok(standing::text(subject, desk.paper))
        }
    })
}

/// Prints left against right.
pub fn sides(desk: &Desk, car: &str, form: Form) -> Result<String, Failure> {
    of_car(desk, car, |subject| {
        let pairs = crate::engine::sides::sides(subject.car, subject.library, subject.assessment);
        if form.json {
            Ok(sides::json(subject, &pairs)?)
        } else if form.csv {
            Ok(sides::csv(subject, &pairs))
        } else {
            Ok(sides::text(subject, &pairs, desk.paper))
        }
    })
}

/// Prints one part's history and forecast.
pub fn decline(
    desk: &Desk,
    car: &str,
    part: &str,
    check: Option<&str>,
    years: f64,
    form: Form,
) -> Result<String, Failure> {
    of_car(desk, car, |subject| {
        let part = part_of(subject.car, subject.library, part)?;
        let checks = match check {
            Some(id) => vec![desk::check(subject.library, &part.component, id)?],
            None => desk::component(subject.library, &part.component)?
                .checks
                .iter()
                .collect(),
        };
        let state = subject.assessment.part(&part);
        let memory = Memory::new();
        let declines: Vec<CheckDecline> = checks
            .into_iter()
            .map(|check| CheckDecline {
                check,
                state: state.and_then(|s| s.checks.iter().find(|c| c.check == check.id)),
                series: series(
                    subject.car,
                    subject.library,
                    desk.today,
                    &part,
                    &check.id,
                    years,
                    &memory,
                ),
            })
            .collect();
        if form.json {
            Ok(decline::json(subject, &part, &declines)?)
        } else if form.csv {
            Ok(decline::csv(&declines))
        } else {
            Ok(decline::text(subject, &part, &declines, desk.paper))
        }
    })
}

/// Standing and plan of a car that is nowhere on disk.
pub fn standing_and_plan(desk: &Desk, car: &Car, library: &Library) -> String {
    let assessment = desk.assessed(car, library);
    let subject = desk.subject(car, library, &assessment);
    let made = crate::engine::plan::plan(car, library, &assessment);
    let standing = standing::text(&subject, desk.paper);
    let plan = plan::text(&subject, &made, desk.paper);
    format!("{standing}\n{plan}")
}

/// A report of a car.
///
/// # Errors
/// When there is no such car, or the report cannot be made.
pub fn of_car(
    desk: &Desk,
    car: &str,
    report: impl FnOnce(&Subject) -> Result<String, Failure>,
) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(car)?;
    let assessment = desk.assessed(&car, &library);
    report(&desk.subject(&car, &library, &assessment))
}
