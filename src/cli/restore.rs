//! `restore`: the generations of a car, and going back to one.

use super::args::Restore;
use super::desk::Desk;
use super::exit::Failure;
use crate::report::words;
use crate::store::Generation;

/// Lists the generations, or goes back to one.
pub fn restore(desk: &Desk, asked: &Restore) -> Result<String, Failure> {
    let folder = desk.folder()?;
    let Some(generation) = asked.generation else {
        let generations = folder.generations(&asked.car)?;
        if generations.is_empty() {
            return Ok("No generation is kept yet: one is each time the car is closed.\n".to_owned());
        }
        return Ok(generations.iter().map(line).collect());
    };
    let aside = folder.restore(&asked.car, generation)?;
    Ok(format!(
        "The car is as it was in generation {generation}. Its files as they were until now are kept in {}.\n",
        aside.display()
    ))
}

fn line(generation: &Generation) -> String {
    let when = generation
        .written
        .and_then(|at| jiff::Timestamp::try_from(at).ok())
        .map_or("at an unknown time".to_owned(), |at| {
            let here = at.to_zoned_datetime(jiff::tz::TimeZone::system());
            here.strftime("%Y-%m-%d %H:%M").to_string()
        });
    let what = match &generation.car {
        Err(error) => format!("cannot be read: {error}"),
        Ok(car) => {
            let looks = car.surveys.iter().map(|s| s.looks.len()).sum();
            format!(
                "{}, {}, {}",
                words::count(car.surveys.len(), "survey"),
                words::count(looks, "look"),
                words::count(car.repairs.len(), "repair")
            )
        }
    };
    format!("generation {}, written {when}: {what}\n", generation.number)
}
