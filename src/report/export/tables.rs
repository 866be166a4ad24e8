//! A whole car as CSV tables.

use crate::engine::plan::Plan;
use crate::report::{Subject, cells, plan as plans, standing, words};

/// The tables: each with the name of its file.
#[must_use]
pub fn tables(subject: &Subject, plan: &Plan) -> Vec<(&'static str, String)> {
    vec![
        ("standing.csv", standing::csv(subject)),
        ("plan.csv", plans::csv(subject, plan)),
        ("surveys.csv", surveys(subject)),
        ("repairs.csv", repairs(subject)),
    ]
}

/// Every look of every survey, a row for each.
fn surveys(subject: &Subject) -> String {
    let Subject { car, library, .. } = subject;
    let header = [
        "date",
        "odometer_km",
        "part",
        "check",
        "name",
        "seen",
        "grade",
        "readings",
        "note",
    ];
    let mut rows = Vec::new();
    for survey in &car.surveys {
        for look in &survey.looks {
            let rubric = library.check(&look.part.component, &look.check);
            let (grade, readings) = match &look.seen {
                crate::car::Seen::Grade(grade) => (grade.to_string(), String::new()),
                crate::car::Seen::Reading(values) => {
                    let values: Vec<String> = values.iter().map(|v| cells::number(Some(*v))).collect();
                    (String::new(), values.join("/"))
                }
                _ => (String::new(), String::new()),
            };
            rows.push(vec![
                survey.date.to_string(),
                cells::number(survey.odometer_km),
                look.part.to_string(),
                look.check.clone(),
                cells::guarded(&format!(
                    "{}: {}",
                    words::part(library, &look.part),
                    words::check(library, &look.part.component, &look.check)
                )),
                cells::guarded(&words::seen(&look.seen, rubric)),
                grade,
                readings,
                cells::guarded(&look.note),
            ]);
        }
    }
    cells::csv(&header, &rows)
}

/// Every repair done, a row for each.
fn repairs(subject: &Subject) -> String {
    let Subject { car, library, .. } = subject;
    let header = [
        "date",
        "repair",
        "part",
        "name",
        "odometer_km",
        "hours",
        "planned_hours",
        "cost",
        "fitted",
        "note",
    ];
    let rows: Vec<Vec<String>> = car
        .repairs
        .iter()
        .map(|done| {
            vec![
                done.date.to_string(),
                cells::guarded(&done.repair),
                done.part.to_string(),
                cells::guarded(&words::repair(library, &done.repair)),
                cells::number(done.odometer_km),
                cells::number(done.hours),
                cells::number(done.planned_hours),
                cells::number(done.cost),
                cells::guarded(&done.fitted.join("; ")),
                cells::guarded(&done.note),
            ]
        })
        .collect();
    cells::csv(&header, &rows)
}
