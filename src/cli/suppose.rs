//! `plan`: the plan as it is, what something supposed would change, and what else would do for a part.

use super::args::PlanOf;
use super::desk::{Desk, number, part_of};
use super::exit::Failure;
use super::profile::{date_of, listed};
use super::reports::of_car;
use super::wishes::{not_too_late, repair_of};
use crate::engine::plan::alternatives::alternatives;
use crate::engine::plan::limits::limits;
use crate::engine::plan::whatif::{Supposed, what_if};
use crate::report::{Subject, plan as report, whatif, words};

/// Prints the work plan, or what would change it.
pub fn plan(desk: &Desk, asked: &PlanOf) -> Result<String, Failure> {
    let form = asked.form;
    let Some(car) = &asked.car else {
        return super::yard::plan_all(desk, form);
    };
    of_car(desk, car, |subject| {
        let (car, library, assessment) = (subject.car, subject.library, subject.assessment);
        if let Some(part) = &asked.alternatives {
            let part = part_of(car, library, part)?;
            let all = alternatives(car, library, assessment, &part);
            return if form.json {
                Ok(crate::report::json(&all)?)
            } else {
                Ok(whatif::alternatives(subject, &part, &all, desk.paper))
            };
        }
        let mut made = crate::engine::plan::plan(car, library, assessment);
        if !asked.supposed.is_empty() {
            let what = supposed(desk, subject, &asked.supposed)?;
            let (other, difference) = what_if(car, library, assessment, &made, &what);
            return if form.json {
                Ok(crate::report::json(&difference)?)
            } else {
                Ok(whatif::text(subject, &difference, &other, desk.paper))
            };
        }
        if form.csv {
            return Ok(report::csv(subject, &made));
        }
        if !asked.quick {
            made.limits = limits(car, library, assessment);
        }
        if form.json {
            Ok(report::json(subject, &made)?)
        } else {
            Ok(report::text(subject, &made, desk.paper))
        }
    })
}

/// Reads what is supposed.
fn supposed(desk: &Desk, subject: &Subject, texts: &[String]) -> Result<Vec<Supposed>, Failure> {
    texts.iter().map(|text| one(desk, subject, text)).collect()
}

fn one(desk: &Desk, subject: &Subject, text: &str) -> Result<Supposed, Failure> {
    let (car, library, says) = (subject.car, subject.library, subject.assessment);
    let (word, rest) = text
        .trim()
        .split_once([' ', '='])
        .ok_or_else(|| Failure::Usage(format!("--if: `{text}` says too little; see `tinworm plan --help`")))?;
    let rest = rest.trim();
    let equals = |rest: &str| -> Result<(String, String), Failure> {
        let (a, b) = super::desk::pair("--if", rest)?;
        Ok((a.to_owned(), b.to_owned()))
    };
    Ok(match word {
        "hours" => {
            let hours = number("--if", rest.trim_end_matches(['h', ' ']))?;
            if !(0.25..=24.0).contains(&hours) {
                return Err(Failure::Usage(format!(
                    "--if: a session of {hours} hours is not between a quarter of an hour and a day"
                )));
            }
            Supposed::Hours(hours)
        }
        "budget" if rest.eq_ignore_ascii_case("none") => Supposed::Budget(None),
        "budget" => Supposed::Budget(Some(number("--if", rest)?)),
        "per-month" => Supposed::PerMonth(number("--if", rest)?),
        "session" => Supposed::Session(listed("--if", rest)?),
        "pin" => {
            let (part, date) = equals(rest)?;
            let date = date_of("--if", &date)?;
            if let Some(why) = words::no_day_to_fix(&car.profile.sessions, desk.today, date) {
                return Err(Failure::Data(format!("--if: {why}")));
            }
            Supposed::Pinned(part_of(car, library, &part)?, date)
        }
        "free" => Supposed::Free(part_of(car, library, rest)?),
        "drop" => Supposed::Dropped(part_of(car, library, rest)?),
        "tick" => Supposed::Ticked(part_of(car, library, rest)?),
        "in-hand" => Supposed::InHand(part_of(car, library, rest)?),
        "choose" => {
            let (part, repair) = equals(rest)?;
            let part = part_of(car, library, &part)?;
            let found = repair_of(library, &part, &repair)?;
            not_too_late(library, says, &part, found)?;
            Supposed::Chosen(part, repair)
        }
        other => {
            let known = [
                "hours",
                "budget",
                "per-month",
                "session",
                "pin",
                "free",
                "drop",
                "tick",
                "choose",
                "in-hand",
            ];
            return Err(Failure::Usage(format!(
                "--if: `{other}` is not known{}; there are {}",
                super::desk::meant(other, known),
                known.join(", ")
            )));
        }
    })
}
