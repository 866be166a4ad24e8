//! `worksheet`: everything for one visit, to print and take to the car.

use super::args::Worksheet;
use super::desk::Desk;
use super::exit::Failure;
use crate::report::worksheet;

/// Prints the worksheet of a visit.
pub fn worksheet(desk: &Desk, wanted: &Worksheet) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(&wanted.car)?;
    let assessment = desk.assessed(&car, &library);
    let subject = desk.subject(&car, &library, &assessment);
    let plan = crate::engine::plan::plan(&car, &library, &assessment);
    let nth = worksheet::find(&plan, wanted.visit.as_deref()).map_err(Failure::NotFound)?;
    let sheet = worksheet::worksheet(&subject, &plan, nth)
        .ok_or_else(|| Failure::NotFound(format!("the plan has no visit {}", nth + 1)))?;
    if wanted.html {
        Ok(worksheet::html::page(&sheet))
    } else if wanted.json {
        Ok(worksheet::json(&sheet)?)
    } else {
        Ok(worksheet::text(&sheet, desk.paper))
    }
}
