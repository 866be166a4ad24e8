//! The tightening values of a part's fixings, from the car's own manual.

use crate::car::{Car, Change, OwnTorque, PartNote};
use crate::cli::args::Part;
use crate::cli::desk::{meant, pair};
use crate::cli::exit::Failure;
use crate::report::{tightening, words};
use crate::rubric::{Fixing, Library, PartId};
use crate::text;
use crate::units::Torque;

/// What is asked about tightening values.
#[derive(Debug, Default)]
pub struct Asked {
    /// The changes that follow.
    pub changes: Vec<Change>,
    /// What is odd about the values.
    pub warnings: Vec<String>,
}

/// Takes the values to be set and those to be taken away.
pub fn asked(asked: &Part, car: &Car, library: &Library, id: &PartId) -> Result<Asked, Failure> {
    let mut found = Asked::default();
    if asked.source.is_some() && asked.torque.is_empty() && asked.limit.is_empty() {
        return Err(Failure::Usage(
            "--source says where a --limit or a --torque stands; give one with it".to_owned(),
        ));
    }
    if asked.remove && !(asked.torque.is_empty() && asked.no_torque.is_empty()) {
        return Err(Failure::Usage(
            "--remove takes the part off; leave out its tightening values".to_owned(),
        ));
    }
    let parts = tightening::sides(&car.part_ids(library), id, asked.this_side_only);
    for typed in &asked.torque {
        let (name, value) = pair("--torque", typed)?;
        let fixing = fixing(library, id, name)?;
        let torque = Torque::parse(value).map_err(|why| Failure::Usage(format!("--torque: {why}")))?;
        found.warnings.extend(tightening::odd(library, fixing, &torque));
        for part in &parts {
            let own = OwnTorque {
                fixing: fixing.name.clone(),
                torque: torque.clone(),
                source: asked.source.as_deref().unwrap_or_default().trim().to_owned(),
            };
            found.changes.push(Change::Torque(part.clone(), own));
        }
    }
    for name in &asked.no_torque {
        // One kept under a name that the rubrics no longer have must still be found.
        let kept = |part: &PartId| car.parts.get(part).filter(|note| note.torque(name.trim()).is_some());
        let name = match parts.iter().find_map(kept) {
            Some(_) => name.trim().to_owned(),
            None => fixing(library, id, name)?.name.clone(),
        };
        let changes: Vec<Change> = parts
            .iter()
            .filter(|part| car.torque(part, &name).is_some())
            .map(|part| Change::NoTorque(part.clone(), name.clone()))
            .collect();
        if changes.is_empty() {
            return Err(Failure::NotFound(format!(
                "--no-torque: `{name}` of {id} has no tightening value of your own"
            )));
        }
        found.changes.extend(changes);
    }
    Ok(found)
}

/// The fixing meant by a name: the whole name, or words that only one has.
fn fixing<'l>(library: &'l Library, id: &PartId, name: &str) -> Result<&'l Fixing, Failure> {
    let fixings = tightening::fixings_of(library, &id.component);
    let wanted = text::words_of(name);
    let whole = fixings.iter().find(|f| text::words_of(&f.name) == wanted);
    let has = |f: &&&Fixing| {
        let words = text::words_of(&f.name);
        wanted
            .split(' ')
            .all(|w| words.split(' ').any(|known| known.starts_with(w)))
    };
    let some: Vec<&&Fixing> = fixings.iter().filter(has).collect();
    match (whole, some.as_slice()) {
        (Some(found), _) => Ok(found),
        (None, [only]) if !wanted.is_empty() => Ok(only),
        _ => {
            let names: Vec<String> = fixings.iter().map(|f| format!("`{}`", text::clean(&f.name))).collect();
            let said = match names.as_slice() {
                [] => "the repairs of that component have no fixings".to_owned(),
                names => format!("the fixings are {}", names.join(", ")),
            };
            let hint = meant(name, fixings.iter().map(|f| f.name.as_str()));
            Err(Failure::NotFound(format!("{id} has no fixing `{name}`{hint}; {said}")))
        }
    }
}

/// The fixings of a part with their values, and values kept for fixings that no rubric has.
pub fn lines(library: &Library, id: &PartId, note: &PartNote) -> Vec<String> {
    let fixings = tightening::fixings_of(library, &id.component);
    let mut lines: Vec<String> = fixings
        .iter()
        .map(|fixing| tightening::line(library, fixing, note.torque(&fixing.name)))
        .collect();
    let gone = note
        .torques
        .iter()
        .filter(|own| !fixings.iter().any(|f| f.name == own.fixing));
    lines.extend(gone.map(|own| {
        format!(
            "{}: {} (in no rubric any more)",
            text::clean(&own.fixing),
            words::own_torque(own)
        )
    }));
    lines
}
