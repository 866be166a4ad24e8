//! `compare` and `calibration`: the next winter.

use super::args::{Compare, JsonForm};
use super::desk::Desk;
use super::exit::Failure;
use crate::engine::next_winter::{calibration as calibrate, compare as held_against, two_surveys};
use crate::report::next_winter;

/// Prints a survey against an earlier one.
pub fn compare(desk: &Desk, asked: &Compare) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(&asked.car)?;
    let (from, to) = two_surveys(&car, asked.from, asked.to, desk.today).map_err(Failure::Data)?;
    let comparison = held_against(&car, &library, from, to, desk.today);
    if asked.form.json {
        Ok(next_winter::compared_json(&car, &library, &comparison)?)
    } else if asked.form.csv {
        Ok(next_winter::compared_csv(&library, &comparison))
    } else {
        Ok(next_winter::compared_text(&car, &library, &comparison, desk.paper))
    }
}

/// Prints how well the forecasts did on a car.
pub fn calibration(desk: &Desk, car: &str, form: JsonForm) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(car)?;
    let Some(calibration) = calibrate(&car, &library, desk.today) else {
        return Err(Failure::Data(
            "no survey can be held against a forecast yet: it takes two surveys at least two months apart that saw the same checks".to_owned(),
        ));
    };
    if form.json {
        Ok(next_winter::calibrated_json(&car, &calibration)?)
    } else {
        Ok(next_winter::calibrated_text(&car, &calibration, desk.paper))
    }
}
