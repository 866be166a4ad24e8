//! `second-look`: a drawn tenth of the newest survey graded again, blind.

use jiff::civil::Date;

use super::args::SecondLook as Asked;
use super::desk::{self, Desk, part_of};
use super::enter::{contents, refusal};
use super::exit::Failure;
use super::found::past_day;
use crate::car::{Car, Change, SecondLook};
use crate::engine::clock::days_between;
use crate::engine::second_look::{Drawn, WITHIN_DAYS, drawn, grade};
use crate::report::{filled, second_look as report, words};
use crate::rubric::{Library, PartId};
use crate::units::Grade;

/// Prints the blank sheet or the result, or takes grades.
pub fn second_look(desk: &Desk, asked: &Asked) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(&asked.car)?;
    if asked.result {
        let result = report::result(&car, &library, desk.today);
        return if asked.json {
            Ok(report::json(&car, &result)?)
        } else {
            Ok(report::text(&car, &result, desk.paper))
        };
    }
    let day = past_day(&car, asked.date, desk)?;
    let Some(drawn) = drawn(&car, &library, day) else {
        return Err(Failure::Data(
            "no survey has a grade yet, so there is nothing to grade again; print a sheet with `tinworm sheet CAR`"
                .to_owned(),
        ));
    };
    if asked.part.is_none() && asked.take.is_none() {
        return Ok(if drawn.left(&car).is_empty() {
            report::text(&car, &report::result(&car, &library, desk.today), desk.paper)
        } else if asked.csv {
            report::blank_csv(&car, &library, &drawn)
        } else {
            report::blank(&car, &library, &drawn, asked.brief, desk.paper)
        });
    }
    // What is given is read once the car is there to take it: one that another program holds is named before any fault of the sheet.
    let mut open = desk.write_to(&asked.car)?;
    let mut given = Vec::new();
    if let (Some(part), Some(check), Some(grade)) = (&asked.part, &asked.check, &asked.grade) {
        given.push(one(&car, &library, part, check, grade)?);
    } else if let Some(file) = &asked.take {
        given = sheet(&car, &library, file)?;
    }
    // By what stands once nobody else can write: another program may have given some of them.
    let changes = changes(open.car(), &library, &drawn, day, &given)?;
    super::desk::record(&mut open, changes)?;
    let car = open.car().clone();
    let mut said = format!(
        "Taken beside the survey of {}: {}.\n",
        drawn.survey,
        words::count(given.len(), "second look")
    );
    let left = drawn.left(&car).len();
    if left > 0 {
        said.push_str(&format!(
            "{} of those drawn {} still to be graded again; how far the grades agree is told when all are, or by --result.\n",
            words::count(left, "check"),
            if left == 1 { "is" } else { "are" }
        ));
    } else {
        said.push('\n');
        said.push_str(&report::text(
            &car,
            &report::result(&car, &library, desk.today),
            desk.paper,
        ));
    }
    Ok(said)
}

type Given = (PartId, String, Grade);

fn one(car: &Car, library: &Library, part: &str, check: &str, text: &str) -> Result<Given, Failure> {
    let part = part_of(car, library, part)?;
    let check = desk::check(library, &part.component, check)?;
    let digit = text.trim().parse::<u8>().ok();
    let grade = digit
        .and_then(Grade::new)
        .ok_or_else(|| Failure::Data(format!("`{text}` is no grade; write 0 to 5")))?;
    Ok((part, check.id.clone(), grade))
}

fn sheet(car: &Car, library: &Library, file: &std::path::Path) -> Result<Vec<Given>, Failure> {
    let name = if file.as_os_str() == "-" {
        "the input".to_owned()
    } else {
        file.display().to_string()
    };
    let read = filled::read(&contents(file, &name)?, car, library);
    if !read.bad.is_empty() {
        return Err(Failure::Data(refusal(&name, &read)));
    }
    let given: Vec<Given> = read
        .looks
        .iter()
        .filter_map(|row| Some((row.look.part.clone(), row.look.check.clone(), grade(&row.look)?)))
        .collect();
    if given.is_empty() {
        return Err(Failure::Data(format!(
            "{name}: no row has a grade, so there is nothing to take"
        )));
    }
    Ok(given)
}

/// The changes that keep second looks, once all of them are among those drawn, near enough to the survey, and blind.
fn changes(car: &Car, library: &Library, drawn: &Drawn, day: Date, given: &[Given]) -> Result<Vec<Change>, Failure> {
    let too_late = days_between(drawn.survey, day) > f64::from(WITHIN_DAYS);
    if too_late {
        return Err(Failure::Data(format!(
            "the survey of {} is more than {WITHIN_DAYS} days old: the parts themselves may have changed since, so grading them \
             again says nothing of the grader; do it after the next survey",
            drawn.survey
        )));
    }
    let survey = car.surveys.iter().find(|s| s.date == drawn.survey);
    let mut changes = Vec::new();
    for (part, check, again) in given {
        let name = format!(
            "{}, {}",
            words::part(library, part),
            words::small(&words::check(library, &part.component, check))
        );
        if !drawn.checks.iter().any(|(p, c)| p == part && c == check) {
            return Err(Failure::Data(format!(
                "{name} is not among the checks drawn, and a check of one's own choice would say too little; `tinworm second-look \
                 CAR` prints those drawn. Nothing was taken"
            )));
        }
        if survey.and_then(|s| s.second_look(part, check)).is_some() {
            return Err(Failure::Data(format!(
                "{name} has had its second look; a third would not be blind. Nothing was taken"
            )));
        }
        let Some(first) = survey.and_then(|s| s.look(part, check)).and_then(grade) else {
            return Err(Failure::Data(format!(
                "the survey of {} has no grade of {name} any more. Nothing was taken",
                drawn.survey
            )));
        };
        changes.push(Change::SecondLook {
            survey: drawn.survey,
            second: SecondLook {
                part: part.clone(),
                check: check.clone(),
                on: day,
                first,
                grade: *again,
            },
        });
    }
    Ok(changes)
}
