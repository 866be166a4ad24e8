//! `archive` and `import`: a whole car as one file, and back.

use std::path::Path;

use super::desk::Desk;
use super::exit::Failure;
use crate::report::words;
use crate::store::{Access, Limits};
use crate::text::clean;

/// Writes a whole car as one file.
pub fn archive(desk: &Desk, car: &str, file: &Path) -> Result<String, Failure> {
    let open = desk.folder()?.open(car, Access::Read)?;
    desk.pass_on(&open);
    let held = open.archive(file)?;
    if held.places > 0 {
        desk.say(&format!(
            "in {} the camera wrote down the place; whoever gets the archive can read it",
            words::count(held.places, "photo")
        ));
    }
    Ok(format!(
        "{}: {}, {} among them.\n",
        clean(&file.to_string_lossy()),
        words::count(held.files, "file"),
        words::count(held.photos, "photo")
    ))
}

/// Takes in a car from an archive.
pub fn import(desk: &Desk, file: &Path, name: Option<&str>) -> Result<String, Failure> {
    if name.is_some_and(|name| name.trim().is_empty()) {
        return Err(Failure::Usage("--name: a car needs a name".to_owned()));
    }
    let folder = desk.folder()?;
    let taken = folder.import(file, name, Limits::default())?;
    let open = folder.open(&taken, Access::Read)?;
    desk.pass_on(&open);
    let car = open.car();
    Ok(format!(
        "{} is here now as `{taken}`: {}, {} done.\n",
        clean(&car.profile.name),
        words::count(car.surveys.len(), "survey"),
        words::count(car.repairs.len(), "repair")
    ))
}
