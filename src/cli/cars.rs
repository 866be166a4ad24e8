//! `cars`: the list of cars.

use super::args::Form;
use super::desk::Desk;
use super::exit::Failure;
use crate::engine::plan::plan;
use crate::report::cars::{CarLine, csv, text};
use crate::report::{json, standing, words};

/// Lists the cars, or those put out of the lists. One that cannot be read is listed with the reason.
pub fn cars(desk: &Desk, retired: bool, form: Form) -> Result<String, Failure> {
    let library = desk.library()?;
    let mut lines = Vec::new();
    for entry in desk.folder()?.cars()? {
        let there = match &entry.car {
            Ok(car) => car.profile.retired.is_some() == retired,
            Err(_) => !retired,
        };
        if !there {
            continue;
        }
        let line = match entry.car {
            Err(error) => CarLine {
                car: entry.name,
                trouble: Some(error.to_string()),
                ..CarLine::default()
            },
            Ok(car) => {
                let assessment = desk.assessed(&car, &library);
                let ranked = standing::ranked(&assessment);
                let first = ranked.first();
                // Without anything seen there is no work, and no need to search for a plan.
                let next = first
                    .filter(|_| !retired)
                    .and_then(|_| plan(&car, &library, &assessment).visits.first().map(|v| v.date));
                CarLine {
                    car: entry.name,
                    name: car.profile.name.clone(),
                    last_survey: car.surveys.last().map(|s| s.date),
                    parts: assessment.parts.len(),
                    first: first.map(|p| words::part(&library, &p.id)),
                    grade: first.and_then(|p| p.worst.as_ref().map(|w| w.grade)),
                    exposure: first.map(|p| p.points),
                    points: first.map(|_| ranked.iter().map(|p| p.points).sum()),
                    retired: car.profile.retired,
                    notice: assessment.notice.len(),
                    next_visit: next,
                    trouble: None,
                }
            }
        };
        lines.push(line);
    }
    if form.json {
        Ok(json(&lines)?)
    } else if form.csv {
        Ok(csv(&lines))
    } else {
        Ok(text(&lines, retired, desk.paper))
    }
}
