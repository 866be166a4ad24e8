//! `export`: a car for other programs.

use super::args::Export;
use super::desk::Desk;
use super::exit::Failure;
use super::report::write;
use crate::report::export::{self, calendar, tables};

/// Prints or writes a car in a form that other programs read.
pub fn export(desk: &Desk, wanted: &Export) -> Result<String, Failure> {
    let made = match (&wanted.car, wanted.schema) {
        (Some(car), false) => of_car(desk, car, wanted),
        (None, false) => super::yard::calendar_all(desk, wanted.alarms),
        _ => Ok(export::SCHEMA.to_owned()),
    };
    let Some(file) = &wanted.out else {
        return made;
    };
    match made {
        Ok(text) => {
            write(file, &text)?;
            Ok(String::new())
        }
        Err(Failure::Partly { text, said }) => {
            write(file, &text)?;
            Err(Failure::Data(said))
        }
        Err(other) => Err(other),
    }
}

fn of_car(desk: &Desk, car: &str, wanted: &Export) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(car)?;
    let assessment = desk.assessed(&car, &library);
    let subject = desk.subject(&car, &library, &assessment);
    let plan = crate::engine::plan::plan(&car, &library, &assessment);
    if wanted.json {
        return Ok(export::json(&subject, &plan)?);
    }
    let Some(folder) = &wanted.csv else {
        return Ok(calendar::calendar(&subject, &plan, wanted.alarms));
    };
    crate::store::make_folder(folder)?;
    let mut said = String::new();
    for (name, table) in tables::tables(&subject, &plan) {
        let file = folder.join(name);
        write(&file, &table)?;
        said.push_str(&format!("{}\n", crate::text::clean(&file.display().to_string())));
    }
    Ok(said)
}
