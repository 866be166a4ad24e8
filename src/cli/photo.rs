//! `photo`: photos of what was seen, copied into the car's folder, listed, and taken off again.

use jiff::civil::Date;

use super::args::Photo;
use super::desk::{self, Desk, part_of};
use super::exit::Failure;
use crate::car::{Car, Change, Look, Survey};
use crate::report::words;
use crate::rubric::{Library, PartId};
use crate::store::{Access, OpenCar};
use crate::text::clean;

/// A place was written into a photo by its camera.
const PLACE: &str = "the place where it was taken is written in it, and stays in the copy and in an archive of the car; \
    the pictures of `report --photos` are without it";

/// Adds, lists or removes photos.
pub fn photo(desk: &Desk, asked: &Photo) -> Result<String, Failure> {
    let library = desk.library()?;
    if asked.list {
        return list(desk, asked, &library);
    }
    let mut open = desk.write_to(&asked.car)?;
    let (part, check) = of_check(open.car(), &library, asked)?;
    match &asked.remove {
        Some(name) => remove(&mut open, asked, &part, &check, name),
        None => add(desk, &mut open, asked, &library, &part, &check),
    }
}

fn of_check(car: &Car, library: &Library, asked: &Photo) -> Result<(PartId, String), Failure> {
    let part = part_of(car, library, asked.part.as_deref().unwrap_or_default())?;
    let check = desk::check(library, &part.component, asked.check.as_deref().unwrap_or_default())?;
    Ok((part, check.id.clone()))
}

/// The newest look of a check, or that of a survey, as far as it fits.
fn look_of<'c>(
    car: &'c Car,
    part: &PartId,
    check: &str,
    survey: Option<Date>,
    fits: impl Fn(&Look) -> bool,
) -> Option<(&'c Survey, &'c Look)> {
    let surveys = car.surveys.iter().rev();
    surveys
        .filter(|s| survey.is_none_or(|date| s.date == date))
        .find_map(|s| Some((s, s.look(part, check).filter(|l| fits(l))?)))
}

fn no_look(asked: &Photo, part: &PartId, check: &str) -> Failure {
    let when = asked.survey.map_or_else(
        || "no survey".to_owned(),
        |d| format!("the survey of {d} does not exist or"),
    );
    Failure::NotFound(format!(
        "{when} has a look of {check} on {part} to hang a photo on; grade it first, with `tinworm found CAR {part} {check}=GRADE`, \
         a sheet or the screens"
    ))
}

fn add(
    desk: &Desk,
    open: &mut OpenCar,
    asked: &Photo,
    library: &Library,
    part: &PartId,
    check: &str,
) -> Result<String, Failure> {
    let found = look_of(open.car(), part, check, asked.survey, |_| true).map(|(s, l)| (s.date, l.clone()));
    let Some((date, mut look)) = found else {
        return Err(no_look(asked, part, check));
    };
    let mut said = String::new();
    let mut new: Vec<String> = Vec::new();
    for file in &asked.files {
        let shown = clean(&file.to_string_lossy());
        let taken = match open.take_photo(file) {
            Ok(taken) => taken,
            Err(error) => {
                // All or none: what was copied in for nothing goes again.
                for name in &new {
                    let _ = open.forget_photo(name);
                }
                return Err(error.into());
            }
        };
        if look.photos.contains(&taken.name) {
            said.push_str(&format!("{shown} is already there.\n"));
            continue;
        }
        if taken.head.place {
            desk.say(&format!("{shown}: {PLACE}"));
        }
        said.push_str(&format!(
            "{shown}: {} by {} points, kept as {}.\n",
            taken.head.width, taken.head.height, taken.name
        ));
        look.photos.push(taken.name.clone());
        new.push(taken.name);
    }
    if !new.is_empty() {
        let change = Change::Look { survey: date, look };
        if let Err(error) = super::desk::record(open, vec![change]) {
            for name in &new {
                let _ = open.forget_photo(name);
            }
            return Err(error.into());
        }
        said.push_str(&format!(
            "With the look of {date}: {}, {}.\n",
            words::part(library, part),
            words::small(&words::check(library, &part.component, check))
        ));
    }
    Ok(said)
}

fn remove(open: &mut OpenCar, asked: &Photo, part: &PartId, check: &str, name: &str) -> Result<String, Failure> {
    let begins = |p: &String| !name.is_empty() && p.starts_with(name);
    let found = look_of(open.car(), part, check, asked.survey, |l| l.photos.iter().any(begins));
    let Some((date, mut look)) = found.map(|(s, l)| (s.date, l.clone())) else {
        return Err(Failure::NotFound(format!(
            "{check} of {part} has no photo `{name}`; `tinworm photo CAR {part} {check} --list` lists them"
        )));
    };
    let matching: Vec<String> = look.photos.iter().filter(|p| begins(p)).cloned().collect();
    let [gone] = matching.as_slice() else {
        return Err(Failure::Usage(format!(
            "`{name}` begins several names; write more of it"
        )));
    };
    look.photos.retain(|p| p != gone);
    super::desk::record(open, vec![Change::Look { survey: date, look }])?;
    let deleted = open.forget_photo(gone)?;
    let file = if deleted {
        "its file is deleted"
    } else {
        "its file stays, another look has it or it was gone already"
    };
    Ok(format!("Taken off the look of {date}: {gone}; {file}.\n"))
}

fn list(desk: &Desk, asked: &Photo, library: &Library) -> Result<String, Failure> {
    let open = desk.folder()?.open(&asked.car, Access::Read)?;
    desk.pass_on(&open);
    let only = match asked.part {
        Some(_) => Some(of_check(open.car(), library, asked)?),
        None => None,
    };
    let mut said = String::new();
    let surveys = open.car().surveys.iter();
    for survey in surveys.filter(|s| asked.survey.is_none_or(|day| day == s.date)) {
        for look in survey.looks.iter().filter(|l| !l.photos.is_empty()) {
            let meant = |(part, check): &(PartId, String)| *part == look.part && *check == look.check;
            if !only.as_ref().is_none_or(meant) {
                continue;
            }
            said.push_str(&format!(
                "{}  {}  {}: {}\n",
                survey.date,
                look.part,
                clean(&look.check),
                clean(&words::seen(
                    &look.seen,
                    library.check(&look.part.component, &look.check)
                ))
            ));
            for name in &look.photos {
                match open.photo(name) {
                    Ok(bytes) => said.push_str(&format!("  {name}  {} kB\n", bytes.len().div_ceil(1000))),
                    Err(why) => said.push_str(&format!("  {name}  {why}\n")),
                }
            }
        }
    }
    if said.is_empty() {
        said.push_str("There are no photos.\n");
    }
    Ok(said)
}
