//! `report`: the whole car on paper.

use std::io::Write;
use std::path::Path;

use atomic_write_file::AtomicWriteFile;

use super::args::Report;
use super::desk::Desk;
use super::exit::Failure;
use crate::report::whole::{self, Choice};

/// Prints or writes the report of a car.
pub fn report(desk: &Desk, wanted: &Report) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(&wanted.car)?;
    let assessment = desk.assessed(&car, &library);
    let subject = desk.subject(&car, &library, &assessment);
    let plan = crate::engine::plan::plan(&car, &library, &assessment);
    let choice = Choice {
        charts: wanted.charts,
        worksheets: !wanted.no_worksheets,
    };
    let mut report = whole::report(&subject, &plan, choice);
    if desk.past_day().is_some() {
        report.title.push_str(", as known on that day");
    }
    let text = if wanted.html {
        whole::html::page(&report)
    } else if wanted.markdown {
        whole::markdown::markdown(&report)
    } else {
        whole::text(&report, desk.paper)
    };
    match &wanted.out {
        Some(file) => {
            write(file, &text)?;
            Ok(String::new())
        }
        None => Ok(text),
    }
}

/// Writes a file whole or not at all. What is no ordinary file, such as a pipe or a device, is written to and stays what it is.
///
/// # Errors
/// When it cannot be written.
pub fn write(file: &Path, text: &str) -> Result<(), Failure> {
    let written = if std::fs::metadata(file).is_ok_and(|what| !what.is_file() && !what.is_dir()) {
        let open = std::fs::OpenOptions::new().write(true).open(file);
        open.and_then(|mut open| open.write_all(text.as_bytes()))
    } else {
        AtomicWriteFile::open(file).and_then(|mut open| {
            open.write_all(text.as_bytes())?;
            open.commit()
        })
    };
    written.map_err(|error| Failure::Data(format!("{} cannot be written: {error}", file.display())))
}
