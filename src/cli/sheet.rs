//! `sheet`: a grading sheet to fill in.

use super::args::SheetOf;
use super::desk::Desk;
use super::exit::Failure;
use super::report::write;
use crate::report::sheet::{self, Wanted};

/// Prints or writes a grading sheet.
pub fn sheet(desk: &Desk, asked: &SheetOf) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(&asked.car)?;
    let wanted = Wanted {
        zones: asked.zone.clone(),
        stages: asked.stage.iter().map(|s| s.stage()).collect(),
        due: asked.due,
        first_look: asked.first_look,
        filled: asked.filled,
    };
    let made = sheet::sheet(&car, &library, &wanted, || desk.assessed(&car, &library));
    let text = if asked.csv {
        sheet::csv(&made)
    } else if asked.html {
        sheet::html::page(&made, asked.brief)
    } else {
        sheet::text(&made, asked.brief, desk.paper)
    };
    if asked.csv && asked.filled {
        match made.from {
            Some(from) => desk.say(&format!(
                "filled in from the survey of {from}: empty the rows you do not look at again, for every row given to `tinworm enter` counts as seen"
            )),
            None => desk.say("there is no survey to fill it in from"),
        }
    }
    match &asked.out {
        Some(file) => {
            write(file, &text)?;
            Ok(String::new())
        }
        None => Ok(text),
    }
}
