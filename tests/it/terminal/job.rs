//! The whole job by keys alone: a new car, a round, the plan, a repair ticked off, and the look after the winter.

use tinworm::car::{Change, PartNote};
use tinworm::rubric::builtin;

use super::*;

/// A yard with a car of which only the named components are fitted.
fn small_car(components: &[&str]) -> (tempfile::TempDir, DataFolder) {
    let (folder, yard) = yard_with_a_car();
    let mut car = yard.open("Blue estate", Access::Write).expect("the car");
    let others: Vec<_> = car
        .car()
        .part_ids(builtin::library())
        .into_iter()
        .filter(|part| !components.contains(&part.component.as_str()))
        .collect();
    let not_fitted = PartNote {
        not_fitted: true,
        ..PartNote::default()
    };
    let changes = others.into_iter().map(|part| Change::Part(part, not_fitted.clone()));
    car.record_all(changes.collect()).expect("saved");
    drop(car);
    (folder, yard)
}

/// Answers every check the Round asks, until nothing is left; returns how many.
fn whole_round(session: &mut Session, grade: &str) -> usize {
    session.shows("0 looked at");
    let mut given = 0;
    while !session.text().contains(" 0 left") {
        let text = session.text();
        let keys = if text.contains("0–5 grade") {
            grade
        } else if text.contains("y yes") {
            "n"
        } else {
            "xo"
        };
        session.press(keys);
        given += 1;
        assert!(given < 60, "{text}");
        session.shows(&format!("{given} looked at"));
    }
    given
}

#[test]
fn a_first_start_leads_to_a_new_car_and_its_round() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut session = Session::start(&[], &[], folder.path());
    session.shows("No car stands in the yard yet");
    session.press("n");
    session.shows("which is it most like?");
    session.press("\r");
    session.shows("Ctrl-S");
    session.press("Red saloon");
    session.shows("Red saloon");
    session.press("\u{13}");
    session.until("the round", |text| text.contains("Begin a survey"));
    session.press("\u{3}");
    assert_eq!(session.ended(), 0);
    let yard = DataFolder::find(Some(folder.path())).expect("a yard");
    let cars = yard.cars().expect("the cars");
    assert_eq!(cars[0].car.as_ref().expect("the car").profile.name, "Red saloon");
}

#[test]
fn the_demo_car_shows_its_standing_and_leaves_no_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut session = Session::start(&["demo"], &[], folder.path());
    session.until("the standing", |text| {
        text.contains("(demo)") && text.contains("Ranked")
    });
    session.press("p");
    session.shows("Takes away");
    session.press("q");
    session.ended();
    assert_eq!(std::fs::read_dir(folder.path()).expect("the folder").count(), 0);
}

#[test]
fn a_small_car_from_the_round_through_plan_and_repair_to_the_look_after_the_winter() {
    let (folder, yard) = small_car(&["track-rod-end"]);
    let mut session = Session::start(&["open", "Blue estate", "--today", "2026-10-03"], &[], folder.path());
    session.shows("Begin a survey");
    session.press("\u{13}");
    let checks = whole_round(&mut session, "4");
    session.press("p");
    session.shows("Takes away");
    session.press("\r");
    session.shows("Visit 1 of");
    session.press("f");
    session.shows("Ctrl-S");
    session.press("\u{13}");
    session.shows("What it renews starts again");
    session.press("y");
    session.until("the answer taken", |text| !text.contains("What it renews starts again"));
    session.press("\u{3}");
    assert_eq!(session.ended(), 0);
    let car = yard.open("Blue estate", Access::Read).expect("the car");
    assert_eq!(car.car().surveys[0].looks.len(), checks);
    assert_eq!(car.car().repairs.len(), 1);
    drop(car);

    let mut session = Session::start(&["open", "Blue estate", "--today", "2027-04-10"], &[], folder.path());
    session.shows("Ranked");
    session.press("r");
    session.shows("Begin a survey");
    session.press("\u{13}");
    assert_eq!(whole_round(&mut session, "2"), checks);
    session.press("\u{3}");
    assert_eq!(session.ended(), 0);
    let car = yard.open("Blue estate", Access::Read).expect("the car");
    let counts: Vec<usize> = car.car().surveys.iter().map(|s| s.looks.len()).collect();
    assert_eq!(counts, [checks, checks]);
}
