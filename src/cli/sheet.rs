//! `sheet`: a blank grading sheet.

use super::desk::Desk;
use super::exit::Failure;
use crate::report::sheet;

/// Prints a blank grading sheet.
pub fn sheet(desk: &Desk, car: &str, csv: bool, brief: bool) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(car)?;
    if csv {
        Ok(sheet::csv(&car, &library))
    } else {
        Ok(sheet::text(&car, &library, brief, desk.paper))
    }
}
