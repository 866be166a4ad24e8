//! Files of earlier programs.
//!
//! Every file of a car says its schema. A change of what is written that an earlier text does not read as makes the next schema,
//! and a [`Step`] here that turns a text of the schema before into one of it; steps are taken one after the other, so that each
//! stays as it was written. An older file is read through them and left as it is. When its car is opened for writing, all its files
//! are first copied aside and then written anew.
//!
//! There is one schema so far, so the table is empty; the tests put a step before it, and all else is the code of every day.

use std::borrow::Cow;

use super::snapshot::{Fault, Refusal, SCHEMA, schema_of};

/// The schema of the first program. A record of the journal that says none has it.
pub(super) const FIRST: u32 = 1;

/// What turns texts of one schema into those of the next.
pub(super) struct Step {
    /// The schema it takes; it gives the next.
    pub from: u32,
    /// Turns the text of a file, which is named by its path inside the car's folder.
    pub file: fn(&str, &str) -> Result<String, Fault>,
    /// Turns the changes of a record of the journal.
    pub changes: fn(&str) -> Result<String, Fault>,
}

/// The steps there are.
const STEPS: &[Step] = &[
    #[cfg(test)]
    tests::STEP,
];

fn step(from: u32) -> Option<&'static Step> {
    STEPS.iter().find(|step| step.from == from)
}

/// The text of a file in the schema of this program: as it is, or turned by as many steps as it takes.
///
/// # Errors
/// When a newer program wrote it, no program ever did, or a step does not take it.
pub(super) fn file<'t>(name: &str, text: &'t str) -> Result<Cow<'t, str>, Refusal> {
    let mut schema = schema_of(text).map_err(Refusal::Fault)?;
    let mut text = Cow::Borrowed(text);
    if schema > SCHEMA {
        return Err(Refusal::Newer(schema));
    }
    while schema < SCHEMA {
        let step = step(schema).ok_or_else(|| never(schema))?;
        text = Cow::Owned((step.file)(name, &text).map_err(Refusal::Fault)?);
        schema += 1;
    }
    Ok(text)
}

/// The changes of a record in the schema of this program.
///
/// # Errors
/// As [`file`].
pub(super) fn changes(mut schema: u32, text: &str) -> Result<Cow<'_, str>, Refusal> {
    let mut text = Cow::Borrowed(text);
    if schema > SCHEMA {
        return Err(Refusal::Newer(schema));
    }
    while schema < SCHEMA {
        let step = step(schema).ok_or_else(|| never(schema))?;
        text = Cow::Owned((step.changes)(&text).map_err(Refusal::Fault)?);
        schema += 1;
    }
    Ok(text)
}

fn never(schema: u32) -> Refusal {
    Refusal::Fault(Fault::of_value(format!(
        "schema {schema} was never written by any tinworm"
    )))
}

/// What stands behind the number of a record that has a certain schema.
pub(super) fn mark(schema: u32) -> String {
    if schema == FIRST {
        String::new()
    } else {
        format!("@{schema}")
    }
}

/// Number and schema of a record; `None` when it is neither.
pub(super) fn marked(text: &str) -> Option<(u64, u32)> {
    let (number, schema) = match text.split_once('@') {
        None => (text, FIRST),
        // Each schema has one spelling.
        Some((number, schema)) => (number, schema.parse().ok().filter(|s| *s != FIRST)?),
    };
    let number = number.parse().ok().filter(|n| (1..u64::MAX).contains(n))?;
    Some((number, schema))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::collections::BTreeMap;
    use std::fs;
    use std::path::{Path, PathBuf};

    use super::*;
    use crate::car::{Budget, Car, Change, Profile, Sessions, Use};
    use crate::rubric::Side;
    use crate::store::{Access, DataFolder};
    use crate::units::DistanceUnit;

    /// A schema before the first, in which two words were others.
    pub(super) const STEP: Step = Step {
        from: 0,
        file: |name, text| {
            let before = ["(\n  schema: 0,\n  including: ", "schema: 1,\n  through: "];
            if name.is_empty() || !text.starts_with(before[0]) {
                return Err(Fault::of_value("it does not begin as it should".to_owned()));
            }
            Ok(text.replacen(before[0], &format!("(\n  {}", before[1]), 1))
        },
        changes: |text| Ok(text.replace("Begun(", "Survey(")),
    };

    /// The files of a car, without its lock, its kept copies and what was set aside.
    fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
        let mut found = BTreeMap::new();
        for sub in ["", "surveys"] {
            for entry in fs::read_dir(folder.join(sub)).unwrap() {
                let path = entry.unwrap().path();
                let name = path.strip_prefix(folder).unwrap().to_owned();
                if path.is_file() && name != Path::new("lock") {
                    found.insert(name, fs::read(path).unwrap());
                }
            }
        }
        found
    }

    fn write(folder: &Path, files: &BTreeMap<PathBuf, Vec<u8>>) {
        for (name, bytes) in files {
            fs::write(folder.join(name), bytes).unwrap();
        }
    }

    fn survey(date: &str, note: &str) -> Change {
        Change::Survey {
            date: date.parse().unwrap(),
            odometer_km: Some(1000.0),
            note: note.to_owned(),
        }
    }

    fn profile() -> Profile {
        Profile {
            name: "Blue estate".to_owned(),
            built: None,
            layout: Vec::new(),
            drive_side: Side::Left,
            distance_unit: DistanceUnit::Kilometres,
            yearly_km: 6000.0,
            salted_months: vec![1, 2],
            salt_factor: 2.0,
            climate: "C3".to_owned(),
            storage: "garage".to_owned(),
            in_use: Use::InUse,
            next_survey: None,
            sessions: Sessions::default(),
            budget: Budget::default(),
            tools: Vec::new(),
            retired: None,
        }
    }

    /// A car as a program of that schema left it: two surveys in files, one in the journal alone.
    fn of_before() -> (tempfile::TempDir, DataFolder, Car) {
        let folder = tempfile::tempdir().unwrap();
        let data = DataFolder::find(Some(folder.path())).unwrap();
        let mut open = data.create(profile()).unwrap();
        for date in ["2024-03-01", "2025-03-01"] {
            open.record(survey(date, "in a file")).unwrap();
        }
        open.tidy().unwrap();
        open.record(survey("2026-03-01", "in the journal")).unwrap();
        let car = open.car().clone();
        let folder_of_car = open.folder().to_owned();
        drop(open);
        let older = |text: &str| text.replacen("schema: 1,\n  through: ", "schema: 0,\n  including: ", 1);
        let mut all = files(&folder_of_car);
        for (name, bytes) in &mut all {
            let text = String::from_utf8(bytes.clone()).unwrap();
            let text = if name == Path::new("journal") {
                let body = text.split_once(' ').unwrap().1.trim_end();
                let body = body.replacen("3 ", "3@0 ", 1).replace("Survey(", "Begun(");
                format!("{:08x} {body}\n", crc32fast::hash(body.as_bytes()))
            } else {
                older(&text)
            };
            assert_ne!(text.as_bytes(), bytes.as_slice(), "{name:?} is of the schema before");
            *bytes = text.into_bytes();
        }
        write(&folder_of_car, &all);
        let kept = folder_of_car.join("generations");
        for entry in fs::read_dir(kept.join("profile")).unwrap() {
            let path = entry.unwrap().path();
            fs::write(&path, older(&fs::read_to_string(&path).unwrap())).unwrap();
        }
        (folder, data, car)
    }

    #[test]
    fn a_car_of_an_earlier_program_is_read_as_it_stands() {
        let (_folder, data, car) = of_before();
        let name = data.names().unwrap().remove(0);
        let folder = data.path().join(&name);
        let before = files(&folder);
        let open = data.open(&name, Access::Read).unwrap();
        assert_eq!(*open.car(), car);
        let seen = data
            .verify(&name, crate::rubric::builtin::library(), "2026-04-01".parse().unwrap())
            .unwrap();
        assert!(!seen.damaged(), "{:#?}", seen.troubles);
        assert_eq!(files(&folder), before);
        assert!(data.generations(&name).unwrap().iter().all(|g| g.car.is_ok()));
    }

    #[test]
    fn opened_for_writing_it_is_written_anew_and_the_old_files_are_kept() {
        let (_folder, data, car) = of_before();
        let name = data.names().unwrap().remove(0);
        let folder = data.path().join(&name);
        let before = files(&folder);
        let open = data.open(&name, Access::Write).unwrap();
        assert_eq!(*open.car(), car);
        let said = open.notices().join("\n");
        assert!(
            said.contains("earlier tinworm") && said.contains("set-aside-1"),
            "{said}"
        );
        drop(open);
        assert_eq!(files(&folder.join("set-aside-1")), before);
        for (name, bytes) in files(&folder) {
            let text = String::from_utf8(bytes).unwrap();
            let journal = name == Path::new("journal") && text.is_empty();
            assert!(journal || schema_of(&text).unwrap() == SCHEMA, "{name:?}");
        }
        let open = data.open(&name, Access::Write).unwrap();
        assert_eq!(*open.car(), car);
        assert!(
            open.notices().is_empty() && !folder.join("set-aside-2").exists(),
            "once"
        );
        drop(open);
        // Earlier copies are of earlier programs for a while, and still can be gone back to.
        for generation in data.generations(&name).unwrap() {
            assert!(generation.car.is_ok(), "{generation:?}");
        }
    }

    #[test]
    fn interrupted_between_any_two_files_nothing_is_lost() {
        let (_folder, data, car) = of_before();
        let name = data.names().unwrap().remove(0);
        let folder = data.path().join(&name);
        let before = files(&folder);
        drop(data.open(&name, Access::Write).unwrap());
        let after = files(&folder);
        // In the order in which they are written: what is listed, the list, the journal.
        let mut order: Vec<&PathBuf> = after.keys().collect();
        order.sort_by_key(|name| (*name == Path::new("journal"), *name == Path::new("state.ron")));
        for written in 0..=order.len() {
            write(&folder, &before);
            for (at, name) in order.iter().enumerate() {
                if at < written {
                    fs::write(folder.join(name), &after[*name]).unwrap();
                } else if !before.contains_key(*name) {
                    fs::remove_file(folder.join(name)).unwrap();
                }
            }
            assert_eq!(*data.open(&name, Access::Read).unwrap().car(), car, "{written}");
            assert_eq!(*data.open(&name, Access::Write).unwrap().car(), car, "{written}");
            assert_eq!(*data.open(&name, Access::Read).unwrap().car(), car, "{written}");
        }
    }

    #[test]
    fn what_a_step_does_not_take_is_refused_and_left_as_it_is() {
        let (_folder, data, _) = of_before();
        let name = data.names().unwrap().remove(0);
        let folder = data.path().join(&name);
        fs::write(folder.join("repairs.ron"), "(schema: 0, wrong: 3)").unwrap();
        let before = files(&folder);
        for access in [Access::Read, Access::Write] {
            let error = data.open(&name, access).unwrap_err().to_string();
            assert!(
                error.contains("repairs.ron") && error.contains("does not begin as it should"),
                "{error}"
            );
        }
        for (name, bytes) in before {
            assert_eq!(fs::read(folder.join(name)).unwrap(), bytes);
        }
        assert!(!folder.join("set-aside-1").exists());
    }

    #[test]
    fn the_mark_of_a_schema_has_one_spelling() {
        for (number, schema) in [(1, FIRST), (7, 0), (7, 2), (u64::MAX - 1, u32::MAX)] {
            assert_eq!(marked(&format!("{number}{}", mark(schema))), Some((number, schema)));
        }
        for none in ["", "0", "x", "7@", "7@1", "7@x", "7@-1", "@2", "18446744073709551615"] {
            assert_eq!(marked(none), None, "{none}");
        }
        assert!(matches!(changes(SCHEMA + 1, "[]"), Err(Refusal::Newer(_))));
    }
}
