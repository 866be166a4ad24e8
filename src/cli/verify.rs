//! `verify`: what is wrong with the files of a car, and putting it right.

use super::args::Verify;
use super::desk::Desk;
use super::exit::Failure;
use crate::report::words;
use crate::rubric::{Library, builtin};
use crate::store::{DataFolder, Verified};

/// Looks through the files of a car or of all cars, after repairing them when told so.
pub fn verify(desk: &Desk, asked: &Verify) -> Result<String, Failure> {
    // The rubrics serve the remarks alone: a mistake in them must not stand between an owner and a repair.
    let library = desk.library().unwrap_or_else(|mistakes| {
        desk.say(&format!("{}\ngoing on with the shipped rubrics", mistakes.words()));
        builtin::library().clone()
    });
    let folder = desk.folder()?;
    let names = match &asked.car {
        Some(car) => vec![car.clone()],
        None => folder.names()?,
    };
    if names.is_empty() {
        return Ok("There are no cars yet.\n".to_owned());
    }
    let mut said = String::new();
    let mut damaged = 0;
    for name in names {
        match one(desk, &folder, &library, &name, asked.repair, &mut said) {
            Ok(whole) => damaged += usize::from(!whole),
            // One car that cannot be looked at must not hide the others.
            Err(failure) if asked.all => {
                damaged += 1;
                said.push_str(&format!("{name}: {}\n", failure.words()));
            }
            Err(failure) => return Err(failure),
        }
    }
    if damaged == 0 {
        return Ok(said);
    }
    Err(Failure::Data(format!(
        "{} damaged\n{}",
        words::count(damaged, "car"),
        said.trim_end()
    )))
}

/// One car: whether it is whole.
fn one(
    desk: &Desk,
    folder: &DataFolder,
    library: &Library,
    name: &str,
    repair: bool,
    said: &mut String,
) -> Result<bool, Failure> {
    let mut seen = folder.verify(name, library, desk.today)?;
    if repair && seen.damaged() {
        for trouble in seen.troubles.iter().filter(|t| t.damage) {
            said.push_str(&format!("{}: {trouble}\n", seen.name));
        }
        for sentence in folder.repair(&seen.name)? {
            said.push_str(&format!("{}: repaired: {sentence}\n", seen.name));
        }
        seen = folder.verify(&seen.name, library, desk.today)?;
    }
    tell(&seen, said);
    Ok(!seen.damaged())
}

fn tell(seen: &Verified, said: &mut String) {
    for trouble in &seen.troubles {
        said.push_str(&format!("{}: {trouble}\n", seen.name));
    }
    let (looks, repairs, generations) = seen.counted;
    let state = match (seen.damaged(), seen.troubles.len()) {
        (true, _) => "damaged".to_owned(),
        (false, 0) => "whole".to_owned(),
        (false, n) => format!("whole, with {}", words::count(n, "remark")),
    };
    said.push_str(&format!(
        "{}: {state}; {}, {} and {} read",
        seen.name,
        words::count(looks, "look"),
        words::count(repairs, "repair"),
        words::count(generations, "generation"),
    ));
    if seen.set_aside > 0 {
        said.push_str(&format!(
            "; {} set aside in {}",
            words::count(seen.set_aside, "damaged file"),
            seen.folder.display()
        ));
    }
    said.push_str(".\n");
}
