//! `enter`: a filled sheet becomes a survey.

use std::io::Read;
use std::path::Path;

use jiff::civil::Date;

use super::args::Enter;
use super::desk::{Desk, number};
use super::exit::Failure;
use crate::car::{Car, Change, Seen};
use crate::report::filled::{Filled, preview, read};
use crate::report::words;
use crate::rubric::Library;
use crate::text;

/// More than any honest sheet has.
const LARGEST: u64 = 4 << 20;

/// Takes a filled sheet as a survey, all of it or, when told so, its good rows.
pub fn enter(desk: &Desk, asked: Enter) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(&asked.car)?;
    let date = asked.date.unwrap_or(desk.today);
    let mut odometer_km = odometer(&asked, &car, date, desk.today)?;
    let name = if asked.file.as_os_str() == "-" {
        "the input".to_owned()
    } else {
        asked.file.display().to_string()
    };
    let contents = contents(&asked.file, &name)?;
    let mut filled = read(&contents, &car, &library);
    if filled.old_code_page {
        desk.say(&format!(
            "{name}: the text is not UTF-8; it was read as Windows-1252, look at the notes"
        ));
    }
    takable(&asked, &name, &filled)?;
    for row in &filled.bad {
        desk.say(&format!("{name}:{row}"));
    }
    if let Some(from) = preview::copied_from(&car, date, &filled) {
        desk.say(&format!(
            "every row says just what the survey of {from} said; a row that was filled in beforehand and not looked at again should be empty"
        ));
    }
    if asked.preview {
        return Ok(preview::text(&car, &library, date, &filled, desk.paper));
    }
    let mut open = desk.write_to(&asked.car)?;
    if *open.car() != car {
        // Another program changed it in between: what counts is what it is once nobody else can write.
        odometer_km = odometer(&asked, open.car(), date, desk.today)?;
        filled = read(&contents, open.car(), &library);
        takable(&asked, &name, &filled)?;
    }
    let old = open.car().surveys.iter().find(|s| s.date == date).cloned();
    let mut changes = vec![Change::Survey {
        date,
        odometer_km: odometer_km.or(old.as_ref().and_then(|s| s.odometer_km)),
        note: asked
            .note
            .clone()
            .or(old.as_ref().map(|s| s.note.clone()))
            .unwrap_or_default(),
    }];
    let (mut replaced, mut same) = (0, 0);
    for row in &filled.looks {
        let mut look = row.look.clone();
        if preview::effect(old.as_ref(), row) == preview::Effect::Same {
            same += 1;
            continue;
        }
        if let Some(before) = old.as_ref().and_then(|s| s.look(&look.part, &look.check)) {
            replaced += 1;
            look.photos = before.photos.clone();
        }
        changes.push(Change::Look { survey: date, look });
    }
    super::desk::record(&mut open, changes)?;
    Ok(taken(&name, date, &filled, (replaced, same), &library, open.name()))
}

/// The odometer asked for, in kilometres, once it is certain that it and the day fit the car.
fn odometer(asked: &Enter, car: &Car, date: Date, today: Date) -> Result<Option<f64>, Failure> {
    date_fits(car, date, today)?;
    let Some(text) = &asked.odometer else { return Ok(None) };
    let km = car.profile.distance_unit.to_km(number("--odometer", text)?);
    odometer_fits(car, date, km)?;
    Ok(Some(km))
}

/// Whether anything of a sheet may be taken.
fn takable(asked: &Enter, name: &str, filled: &Filled) -> Result<(), Failure> {
    if !filled.bad.is_empty() && (!asked.take_good || filled.looks.is_empty()) {
        return Err(Failure::Data(refusal(name, filled)));
    }
    if filled.looks.is_empty() {
        return Err(Failure::Data(format!(
            "{name}: no row is filled in, so there is nothing to take; write grades or readings under grade_or_reading"
        )));
    }
    Ok(())
}

/// What is wrong with a sheet, row by row.
pub fn refusal(name: &str, filled: &Filled) -> String {
    let rows: Vec<String> = filled.bad.iter().map(|row| format!("{name}:{row}")).collect();
    let good = if filled.looks.is_empty() {
        String::new()
    } else {
        format!(
            "; --take-good takes the other {}",
            words::count(filled.looks.len(), "row")
        )
    };
    format!(
        "{} cannot be taken, so nothing was taken{good}\n{}",
        words::count(filled.bad.len(), "row"),
        rows.join("\n")
    )
}

fn taken(
    name: &str,
    date: Date,
    filled: &Filled,
    (replaced, same): (usize, usize),
    library: &Library,
    car: &str,
) -> String {
    let kinds = |of: fn(&Seen) -> bool| filled.looks.iter().filter(|r| of(&r.look.seen)).count();
    let parts = [
        (kinds(|s| matches!(s, Seen::Grade(_))), "grade"),
        (kinds(|s| matches!(s, Seen::Reading(_))), "measured check"),
        (kinds(|s| matches!(s, Seen::Answer(_))), "answer"),
    ];
    let mut kinds_said: Vec<String> = parts
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| words::count(*n, word))
        .collect();
    let not_seen = kinds(|s| !s.is_seen());
    if not_seen > 0 {
        kinds_said.push(format!("{not_seen} not seen"));
    }
    let mut said = format!(
        "Taken into the survey of {date}: {} ({}).\n",
        words::count(filled.looks.len(), "look"),
        kinds_said.join(", ")
    );
    for row in filled.looks.iter().filter(|r| r.comma) {
        let check = library.check(&row.look.part.component, &row.look.check);
        said.push_str(&format!(
            "{}:{}: read as {}\n",
            text::clean(name),
            row.line,
            words::seen(&row.look.seen, check)
        ));
    }
    for (n, words) in [
        (replaced, "replaced what the survey said before"),
        (same, "said what the survey said already"),
        (filled.empty, "left empty: not looked at"),
        (filled.bad.len(), "bad and not taken"),
    ] {
        if n > 0 {
            said.push_str(&format!("{} {words}.\n", words::count(n, "row")));
        }
    }
    said.push_str(&format!("See `tinworm standing {car}` and `tinworm plan {car}`.\n"));
    said
}

/// What a file holds, or the input for `-`.
///
/// # Errors
/// When it cannot be read or is far too large.
pub fn contents(file: &Path, name: &str) -> Result<Vec<u8>, Failure> {
    let failed = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => Failure::NotFound(format!(
            "there is no file {name}; make one with `tinworm sheet CAR --csv`"
        )),
        _ => Failure::Data(format!("{name} cannot be read: {error}")),
    };
    let mut bytes = Vec::new();
    if file.as_os_str() == "-" {
        std::io::stdin()
            .lock()
            .take(LARGEST + 1)
            .read_to_end(&mut bytes)
            .map_err(failed)?;
    } else {
        let open = std::fs::File::open(file).map_err(failed)?;
        open.take(LARGEST + 1).read_to_end(&mut bytes).map_err(failed)?;
    }
    if bytes.len() as u64 > LARGEST {
        return Err(Failure::Data(format!(
            "{name} is far too large for a grading sheet; is it the right file?"
        )));
    }
    Ok(bytes)
}

fn date_fits(car: &Car, date: Date, today: Date) -> Result<(), Failure> {
    if date > today {
        return Err(Failure::Data(format!(
            "--date: {date} is in the future; give the day of the survey"
        )));
    }
    match car.profile.built {
        Some(built) if date < built => Err(Failure::Data(format!(
            "--date: {date} is before the car was built ({built}); give the day of the survey, or mend --built with `tinworm set`"
        ))),
        _ => Ok(()),
    }
}

/// Whether an odometer reading fits between those before and after it.
///
/// # Errors
/// When the odometer would run backwards.
pub fn odometer_fits(car: &Car, date: Date, km: f64) -> Result<(), Failure> {
    let surveys = car.surveys.iter().filter_map(|s| Some((s.date, s.odometer_km?)));
    let repairs = car.repairs.iter().filter_map(|r| Some((r.date, r.odometer_km?)));
    // A kilometre of slack: miles kept as kilometres do not come back to the last digit.
    for (then, there) in surveys.chain(repairs) {
        let backwards = (then < date && there > km + 1.0) || (then > date && there < km - 1.0);
        if backwards {
            return Err(Failure::Data(format!(
                "--odometer: {} on {date} does not fit {} on {then}; the odometer would run backwards",
                words::distance(&car.profile, km),
                words::distance(&car.profile, there)
            )));
        }
    }
    Ok(())
}
