//! A library of many like components, for tests that need cars of a known kind: `thing-0` and so on, each with the same checks.
#![allow(clippy::unwrap_used)]

use jiff::civil::{Date, date};
use tinworm::car::{Budget, Car, PartNote, Profile, Sessions, Use};
use tinworm::rubric::{Library, PartId, Side, SourceText, check};

/// `count` components with the checks and modes given as RON; a repair `renew-thing-N` renews each.
pub(crate) fn library(count: usize, checks: &str, modes: &str) -> Library {
    let component = |n: usize| {
        format!(
            "(id: \"thing-{n}\", name: \"Thing {n}\", system: Structure, about: \"Made up.\", opened_by: [], checks: [{checks}], modes: [{modes}]),"
        )
    };
    let repair = |n: usize| {
        format!(
            "(id: \"renew-thing-{n}\", name: \"Renew thing {n}\", component: \"thing-{n}\", hours: 1.0, access: []),"
        )
    };
    let text = format!(
        "(schema: 1, components: [{}], repairs: [{}], layouts: [(id: \"none\", choice: \"always\", name: \"None\", places: [])], \
         climates: [(id: \"C3\", name: \"Town\", loss_from: 25.0, loss_to: 50.0, source: \"ISO 9223\"), \
         (id: \"C5\", name: \"Sea\", loss_from: 80.0, loss_to: 200.0, source: \"ISO 9223\")], \
         storages: [(id: \"outside\", name: \"Outside\", corrosion: 1.0, ageing: 1.0, source: \"judgement\")])",
        (0..count).map(component).collect::<String>(),
        (0..count).map(repair).collect::<String>(),
    );
    let source = SourceText {
        name: "test.ron".to_owned(),
        text,
    };
    Library::unchecked(check::look(&[source]).0)
}

pub(crate) fn part(n: usize) -> PartId {
    format!("thing-{n}@car").parse().unwrap()
}

/// A car with the first `count` things, in climate C3, without salt, in use.
pub(crate) fn car(count: usize) -> Car {
    let mut car = Car::new(Profile {
        name: "Test".to_owned(),
        built: None,
        layout: vec!["none".to_owned()],
        drive_side: Side::Left,
        distance_unit: Default::default(),
        yearly_km: 10_000.0,
        salted_months: Vec::new(),
        salt_factor: 2.0,
        climate: "C3".to_owned(),
        storage: "outside".to_owned(),
        in_use: Use::InUse,
        next_survey: None,
        sessions: Sessions::default(),
        budget: Budget::default(),
        tools: Vec::new(),
        retired: None,
    });
    for n in 0..count {
        let added = PartNote {
            added: true,
            ..PartNote::default()
        };
        car.parts.insert(part(n), added);
    }
    car
}

/// Six descriptions for a graded check.
pub(crate) const SIX: &str = "Graded([\"As new\", \"Dull\", \"Spotted\", \"Scaly\", \"Thin\", \"Holed\"])";

/// The first of April of a year.
pub(crate) fn april(year: i16) -> Date {
    date(year, 4, 1)
}
