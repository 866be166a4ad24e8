//! `report`: the whole car on paper.

use std::io::Write;
use std::path::Path;

use super::args::Report;
use super::desk::Desk;
use super::exit::Failure;
use crate::car::Car;
use crate::picture;
use crate::report::whole::photos::{Picture, Pictures};
use crate::report::whole::{self, Choice};
use crate::store::{self, OpenCar};

/// The longest side of a photo in the page, in points.
const LONGEST_SIDE: u32 = 1000;

/// Prints or writes the report of a car.
pub fn report(desk: &Desk, wanted: &Report) -> Result<String, Failure> {
    let library = desk.library()?;
    let (open, car) = desk.look_into(&wanted.car)?;
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
    if wanted.photos {
        whole::photos::add(&mut report, &subject, &pictures(&open, &car));
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

/// Small copies of all photos that looks of a car have.
fn pictures(open: &OpenCar, car: &Car) -> Pictures {
    let mut pictures = Pictures::new();
    for name in car.surveys.iter().flat_map(|s| &s.looks).flat_map(|l| &l.photos) {
        if pictures.contains_key(name) {
            continue;
        }
        let small = open.photo(name).map_err(|why| why.to_string()).and_then(|bytes| {
            let small = picture::small_jpeg(&bytes, LONGEST_SIDE).map_err(|why| why.to_string())?;
            let (jpeg, width, height) = small;
            Ok(Picture { jpeg, width, height })
        });
        pictures.insert(name.clone(), small);
    }
    pictures
}

/// Writes a file whole or not at all, for its owner alone. What is no ordinary file, such as a pipe or a device, is written to and stays
/// what it is.
///
/// # Errors
/// When it cannot be written.
pub fn write(file: &Path, text: &str) -> Result<(), Failure> {
    if std::fs::metadata(file).is_ok_and(|what| !what.is_file() && !what.is_dir()) {
        let open = std::fs::OpenOptions::new().write(true).open(file);
        let written = open.and_then(|mut open| open.write_all(text.as_bytes()));
        return written.map_err(|error| Failure::Data(format!("{} cannot be written: {error}", file.display())));
    }
    Ok(store::write_out(file, text.as_bytes())?)
}
