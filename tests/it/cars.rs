//! Cars for the tests of the store.
#![allow(clippy::unwrap_used, clippy::panic)]

use jiff::civil::Date;
use tinworm::car::{Budget, Change, Look, Profile, RepairDone, Seen, Sessions, Use};
use tinworm::rubric::Side;
use tinworm::units::{DistanceUnit, Grade};

/// A profile with a name.
pub fn profile(name: &str) -> Profile {
    Profile {
        name: name.to_owned(),
        built: Some(day("1987-06-01")),
        layout: vec!["strut-front".to_owned(), "rack".to_owned()],
        drive_side: Side::Right,
        distance_unit: DistanceUnit::Miles,
        yearly_km: 4828.032,
        salted_months: vec![12, 1, 2],
        salt_factor: 2.0,
        climate: "C3".to_owned(),
        storage: "carport".to_owned(),
        in_use: Use::InUse,
        next_survey: None,
        sessions: Sessions::default(),
        budget: Budget::default(),
        tools: vec!["torque wrench".to_owned()],
        retired: None,
    }
}

/// A date.
pub fn day(text: &str) -> Date {
    text.parse().unwrap()
}

/// The beginning of a survey.
pub fn survey(date: &str) -> Change {
    Change::Survey {
        date: day(date),
        odometer_km: Some(123_456.7),
        note: "after the thaw".to_owned(),
    }
}

/// A graded look.
pub fn look(date: &str, part: &str, check: &str, grade: u8) -> Change {
    Change::Look {
        survey: day(date),
        look: Look {
            part: part.parse().unwrap(),
            check: check.to_owned(),
            seen: Seen::Grade(Grade::new(grade).unwrap()),
            note: String::new(),
            photos: Vec::new(),
        },
    }
}

/// A repair done.
pub fn done(date: &str, repair: &str) -> Change {
    Change::Done(RepairDone {
        odometer_km: Some(1.0 / 3.0),
        hours: Some(1.5),
        ..RepairDone::new(day(date), repair, "track-rod-end@front-left".parse().unwrap())
    })
}

/// Copies a folder with all that is in it over another.
pub fn copy_folder(from: &std::path::Path, to: &std::path::Path) {
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            std::fs::create_dir_all(&target).unwrap();
            copy_folder(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}
