//! What every verb needs: the day, the paper to print on, the rubrics, the cars, and a place to say things beside the output.

use std::io::{IsTerminal, Write};

use jiff::civil::Date;

use super::args::{Background, Global, When};
use super::exit::Failure;
use crate::car::{Car, Change};
use crate::engine::Assessment;
use crate::engine::assess::assess;
use crate::report::{Ink, Paper, Subject, words};
use crate::rubric::check::nearest;
use crate::rubric::{Check, Component, Library, PartId};
use crate::store::{self, Access, DataFolder, OpenCar, StoreError};
use crate::text::ascii;
use crate::units::parse_decimal;

/// What every verb needs.
#[derive(Debug)]
pub struct Desk {
    global: Global,
    /// The day it is.
    now: Date,
    /// The day to reckon from.
    pub today: Date,
    /// What output is set for.
    pub paper: Paper,
    /// Whether nothing but ASCII may be written.
    pub ascii: bool,
}

impl Desk {
    /// Sets the desk up from the command line and the environment.
    #[must_use]
    pub fn new(global: Global) -> Desk {
        let now = global.today.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
        let today = global.on.unwrap_or(now);
        let paper = Paper {
            width: width(),
            ink: ink(global.color),
        };
        let ascii = match global.look.ascii {
            When::Always => true,
            When::Never => false,
            When::Auto => ascii_by_itself(),
        };
        Desk {
            global,
            now,
            today,
            paper,
            ascii,
        }
    }

    /// The same desk on another day, unless a day was named on the command line.
    #[must_use]
    pub fn on(&self, day: Date) -> Desk {
        Desk {
            global: self.global.clone(),
            now: self.now,
            today: self.global.today.unwrap_or(day),
            paper: self.paper,
            ascii: self.ascii,
        }
    }

    /// Whether the screens may use colour; what the terminal can do is theirs to find out.
    #[must_use]
    pub fn screens_coloured(&self) -> bool {
        self.global.color != When::Never
    }

    /// Whether the screens take the mouse from the start.
    #[must_use]
    pub fn mouse(&self) -> bool {
        self.global.look.mouse
    }

    /// The terminal's background, if the command line names it.
    #[must_use]
    pub fn background(&self) -> Option<Background> {
        self.global.look.background
    }

    /// Says something beside the output. Nobody listening is no reason to stop.
    pub fn say(&self, what: &str) {
        if self.ascii {
            say(&ascii::line(what));
        } else {
            say(what);
        }
    }

    /// The folder of rubrics named on the command line.
    #[must_use]
    pub fn rubrics(&self) -> Option<&std::path::Path> {
        self.global.rubrics.as_deref()
    }

    /// Holds that a folder of rubrics named on the command line is there. One that only the environment names, or that is in the
    /// usual place, may be missing: then there are no rubrics of one's own.
    ///
    /// # Errors
    /// When it is not there, or is no folder.
    pub fn rubrics_are_there(&self) -> Result<(), Failure> {
        match self.rubrics() {
            Some(folder) if !folder.is_dir() => Err(Failure::NotFound(format!(
                "--rubrics: {} is no folder; name the folder with your rubric files, or leave it out if you have none",
                folder.display()
            ))),
            _ => Ok(()),
        }
    }

    /// The rubrics in force.
    ///
    /// # Errors
    /// Every mistake in them.
    pub fn library(&self) -> Result<Library, Failure> {
        Ok(store::library(self.rubrics())?)
    }

    /// The folder of cars.
    ///
    /// # Errors
    /// When there is no place for one.
    pub fn folder(&self) -> Result<DataFolder, Failure> {
        Ok(DataFolder::find(self.global.data.as_deref())?)
    }

    /// Opens a car to look at it.
    ///
    /// # Errors
    /// When none or several answer to the name, or it cannot be read.
    pub fn look_at(&self, name: &str) -> Result<Car, Failure> {
        Ok(self.look_into(name)?.1)
    }

    /// The same, with the folder it is in, for the photos.
    ///
    /// # Errors
    /// As [`Desk::look_at`].
    pub fn look_into(&self, name: &str) -> Result<(OpenCar, Car), Failure> {
        let open = self.folder()?.open(name, Access::Read)?;
        self.pass_on(&open);
        let car = match self.global.on {
            Some(day) => self.as_known_on(open.car(), day)?,
            None => open.car().clone(),
        };
        Ok((open, car))
    }

    /// The past day as on which the car is to be seen.
    #[must_use]
    pub fn past_day(&self) -> Option<Date> {
        self.global.on
    }

    fn as_known_on(&self, car: &Car, day: Date) -> Result<Car, Failure> {
        if day > self.now {
            return Err(Failure::Usage(format!(
                "--on: {day} is still to come; --today reckons ahead with what is known now"
            )));
        }
        let name = crate::text::clean(&car.profile.name);
        match car.first_record() {
            Some(first) if first <= day => Ok(car.as_known_on(day)),
            Some(first) => Err(Failure::Data(format!(
                "--on: nothing was known of {name} on {day}: the first thing recorded of it is of {first}"
            ))),
            None => Err(Failure::Data(format!(
                "--on: no survey and no repair of {name} is recorded yet, so there is no day to go back to"
            ))),
        }
    }

    /// Opens a car to record something.
    ///
    /// # Errors
    /// As [`Desk::look_at`], and when another program has it open.
    pub fn write_to(&self, name: &str) -> Result<OpenCar, Failure> {
        if self.global.on.is_some() {
            return Err(Failure::Usage(
                "--on only looks back, so nothing is recorded with it; --date says on which day something was"
                    .to_owned(),
            ));
        }
        let mut open = self.folder()?.open(name, Access::Write)?;
        self.pass_on(&open);
        match (open.read_only(), open.held_by()) {
            (Some(_), Some(holder)) => Err(Failure::Held(format!(
                "nothing was changed: {holder}; close it there and try again"
            ))),
            (Some(why), None) => Err(Failure::Data(format!("nothing was changed: {why}"))),
            (None, _) => {
                open.keep_from(self.now);
                Ok(open)
            }
        }
    }

    /// Says what was found odd on opening a car.
    pub fn pass_on(&self, open: &OpenCar) {
        for notice in open.notices() {
            self.say(notice);
        }
    }

    /// What the engine says of a car today, with a word on each piece of its layout that no rubric knows and on each repair chosen for a
    /// part that has got too bad for it since.
    #[must_use]
    pub fn assessed(&self, car: &Car, library: &Library) -> Assessment {
        for piece in car.profile.layout.iter().filter(|p| library.layout(p).is_none()) {
            self.say(&format!(
                "the layout piece `{piece}` of this car is not in the rubrics: its parts are left out"
            ));
        }
        let says = assess(car, library, self.today);
        for (part, chosen) in &car.wishes.chosen {
            let state = says.part(part).filter(|_| car.progress.open_on(part).is_none());
            let too_late = state.zip(library.repair(chosen));
            if let Some(why) = too_late.and_then(|(state, repair)| words::too_late(library, state, repair)) {
                self.say(&format!("the repair chosen earlier is not planned: {why}"));
            }
        }
        says
    }

    /// A car with what is said of it.
    #[must_use]
    pub fn subject<'a>(&self, car: &'a Car, library: &'a Library, assessment: &'a Assessment) -> Subject<'a> {
        Subject {
            car,
            library,
            assessment,
        }
    }
}

/// Says something beside the output, made fit for a terminal line by line.
pub fn say(what: &str) {
    let mut line: String = what.lines().map(crate::text::clean).collect::<Vec<_>>().join("\n");
    line.push('\n');
    let _ = std::io::stderr().write_all(line.as_bytes());
}

/// Records changes as one, and writes the files anew with a copy of them beside the earlier ones.
///
/// # Errors
/// When nothing was recorded.
pub fn record(open: &mut OpenCar, changes: Vec<Change>) -> Result<(), StoreError> {
    open.record_all(changes)?;
    // All of it is safe in the journal already.
    let _ = open.tidy();
    Ok(())
}

/// A part of a car by its id.
///
/// # Errors
/// When the text is no part, or the car has none such; names the nearest.
pub fn part_of(car: &Car, library: &Library, text: &str) -> Result<PartId, Failure> {
    let id: PartId = text
        .trim()
        .parse()
        .map_err(|e: crate::rubric::station::StationError| Failure::NotFound(e.to_string()))?;
    let there = car.part_ids(library);
    if there.contains(&id) {
        return Ok(id);
    }
    if car.parts.get(&id).is_some_and(|note| note.not_fitted) {
        return Err(Failure::NotFound(format!(
            "{id} is marked as not fitted on this car; `tinworm part CAR {id} --is-fitted` puts it back"
        )));
    }
    Err(Failure::NotFound(no_such_part(&there, library, &id)))
}

/// Says that a car has no such part, and what may have been meant.
#[must_use]
pub fn no_such_part(there: &[PartId], library: &Library, id: &PartId) -> String {
    if library.component(&id.component).is_none() {
        let known = library.components().iter().map(|c| c.id.as_str());
        return format!(
            "the rubrics have no component `{}`{}",
            id.component,
            meant(&id.component, known)
        );
    }
    let stations: Vec<String> = there
        .iter()
        .filter(|p| p.component == id.component)
        .map(ToString::to_string)
        .collect();
    if stations.is_empty() {
        format!("this car has no part {id}; its parts are listed by `tinworm part CAR`")
    } else {
        format!("this car has no part {id}; it has {}", stations.join(", "))
    }
}

/// `; did you mean …?`, when something known is near.
#[must_use]
pub fn meant<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    nearest(word, known).map_or_else(String::new, |near| format!("; did you mean `{near}`?"))
}

/// A component by its id or another name it goes by.
///
/// # Errors
/// When the rubrics have none such, with the nearest, or several.
pub fn component<'l>(library: &'l Library, id: &str) -> Result<&'l Component, Failure> {
    match library.called(id).as_slice() {
        [only] => Ok(only),
        [] => {
            let known = library.components().iter().map(|c| c.id.as_str());
            let hint = meant(id, known);
            Err(Failure::NotFound(format!(
                "the rubrics have no component `{id}`{hint}; `tinworm rubrics list` lists them"
            )))
        }
        several => {
            let ids: Vec<String> = several.iter().map(|c| format!("`{}`", c.id)).collect();
            Err(Failure::NotFound(format!(
                "`{id}` may be one of {}; say which",
                ids.join(", ")
            )))
        }
    }
}

/// A check of a component by id.
///
/// # Errors
/// When it has none such; lists those it has.
pub fn check<'l>(library: &'l Library, component: &str, id: &str) -> Result<&'l Check, Failure> {
    library.check(component, id).ok_or_else(|| {
        let known: Vec<&str> = library
            .component(component)
            .map(|c| c.checks.iter().map(|k| k.id.as_str()).collect())
            .unwrap_or_default();
        Failure::NotFound(format!("{component} has no check `{id}`; it has {}", known.join(", ")))
    })
}

/// No distance, price, length or time of a car is larger, in whatever unit or money.
const LARGEST: f64 = 1e9;

/// A number of the command line that may not be negative, nor larger than anything could be.
///
/// # Errors
/// When it is none, negative or too large.
pub fn number(flag: &str, text: &str) -> Result<f64, Failure> {
    match parse_decimal(text) {
        Ok(value) if value > LARGEST => Err(Failure::Usage(format!(
            "{flag}: `{text}` is larger than anything it could be; look for a key that was held down"
        ))),
        Ok(value) if value >= 0.0 => Ok(value),
        Ok(_) => Err(Failure::Usage(format!("{flag}: `{text}` is below zero"))),
        Err(why) => Err(Failure::Usage(format!("{flag}: {why}"))),
    }
}

/// Words of the command line that must say something, without the spaces around them.
///
/// # Errors
/// When they are empty.
pub fn words_of(flag: &str, text: &str) -> Result<String, Failure> {
    match text.trim() {
        "" => Err(Failure::Usage(format!(
            "{flag}: nothing is said behind it; write what is meant or leave it out"
        ))),
        words => Ok(words.to_owned()),
    }
}

/// `--flag CHECK=VALUE` taken apart.
///
/// # Errors
/// When there is no `=`.
pub fn pair<'t>(flag: &str, text: &'t str) -> Result<(&'t str, &'t str), Failure> {
    text.split_once('=')
        .map(|(a, b)| (a.trim(), b.trim()))
        .filter(|(a, b)| !a.is_empty() && !b.is_empty())
        .ok_or_else(|| Failure::Usage(format!("{flag}: `{text}` needs a name, =, and a value")))
}

/// Whether output is ASCII alone without anybody saying so: on a terminal of a locale that has no more. What goes to a
/// file or another program keeps its letters.
pub fn ascii_by_itself() -> bool {
    std::io::stdout().is_terminal() && ascii::asked_for(|name| std::env::var(name).ok())
}

/// The same before, or without, a command line that has been read: for help, what is wrong with it, and questions.
pub fn ascii_unread() -> bool {
    let said = std::env::args_os().rev().find_map(|word| match word.to_str() {
        Some("--ascii" | "--ascii=always") => Some(true),
        Some("--ascii=never") => Some(false),
        _ => None,
    });
    said.unwrap_or_else(ascii_by_itself)
}

fn width() -> usize {
    let named = std::env::var("COLUMNS")
        .ok()
        .and_then(|c| c.trim().parse::<usize>().ok());
    if let Some(cells) = named.filter(|c| *c > 0) {
        return cells.clamp(40, 400);
    }
    #[cfg(unix)]
    if std::io::stdout().is_terminal()
        && let Ok(size) = rustix::termios::tcgetwinsize(std::io::stdout())
        && size.ws_col > 0
    {
        return usize::from(size.ws_col).clamp(40, 400);
    }
    100
}

fn ink(when: When) -> Ink {
    let term = std::env::var("TERM").unwrap_or_default();
    let no_color = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
    let may = match when {
        When::Never => false,
        When::Always => true,
        When::Auto => std::io::stdout().is_terminal() && !no_color && term != "dumb",
    };
    if !may {
        Ink::Plain
    } else if term.contains("256") || std::env::var_os("COLORTERM").is_some() || when == When::Always {
        Ink::Many
    } else {
        Ink::Sixteen
    }
}
