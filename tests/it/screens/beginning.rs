//! Beginning: the empty yard, a survey begun and taken back, and a first look that is left and gone on with.

use tinworm::car::Change;
use tinworm::engine::first_look::{self, MINUTES, first_look};
use tinworm::rubric::{Stage, builtin};
use tinworm::store::{Access, DataFolder};

use super::*;

/// A yard on disk with a whole car of the shipped rubrics.
fn yard() -> (tempfile::TempDir, DataFolder) {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    drop(yard.create(fixture_profile()).expect("a car"));
    (folder, yard)
}

/// Its car opened anew, as after a restart.
fn opened(folder: &tempfile::TempDir) -> Sitting {
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    let car = yard.open("blue-estate", Access::Write).expect("the car");
    Sitting::at(builtin::library().clone(), World::car(car), (80, 24), dark())
}

#[test]
fn an_empty_yard_shows_the_one_key_that_does_something() {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    let mut sitting = Sitting::at(fixture::library(), World::yard(yard), (80, 24), dark());
    let bar = sitting.text().lines().last().expect("a bar").to_owned();
    let shown: Vec<&str> = bar.split("  ").map(str::trim).filter(|s| !s.is_empty()).collect();
    assert_eq!(shown, ["n new car", "? keys", "q close"]);
    sitting.keys("?");
    assert!(sitting.text().contains("Yard, while it is empty"), "{}", sitting.text());
    sitting.keys("q");
    sitting.key(Key::Enter);
    assert!(sitting.text().contains("A new car"), "{}", sitting.text());
}

#[test]
fn a_survey_begun_and_not_graded_is_taken_back_and_comes_back() {
    let mut sitting = Sitting::new(fixture::library(), fixture::fresh("Blue estate"), (80, 24), dark());
    sitting.key(Key::Tab);
    sitting.keys("181900");
    sitting.key(Key::Ctrl('s'));
    let begun = (*sitting.car()).clone();
    assert_eq!(begun.surveys.len(), 1);
    let text = sitting.text();
    let bar = text.lines().last().expect("a bar");
    // The way back takes no other way off the bar at 80 columns.
    for key in ["0–5 grade", "u undo", "g next open", "j places", "? keys", "q close"] {
        assert!(bar.contains(key), "{key}: {bar}");
    }
    sitting.keys("u");
    assert!(sitting.car().surveys.is_empty());
    let text = sitting.text();
    assert!(
        text.contains("Taken back: the survey of 2026-11-21") && text.contains("no survey begun"),
        "{text}"
    );
    // Only what works is offered: there is nothing to write a look into.
    let bar = text.lines().last().expect("a bar");
    assert!(bar.contains("B begin a survey") && !bar.contains("grade"), "{bar}");
    assert!(
        !bar.contains("not seen") && !bar.contains("note") && !bar.contains("photo"),
        "{bar}"
    );
    sitting.keys("3");
    assert!(sitting.car().surveys.is_empty());
    sitting.keys("U");
    assert_eq!(*sitting.car(), begun, "with its odometer");
    assert!(sitting.text().contains("survey of 2026-11-21"), "{}", sitting.text());
    // A look is taken back before the survey is.
    sitting.keys("3uu");
    assert!(sitting.car().surveys.is_empty());
    sitting.keys("UU");
    assert_eq!(sitting.car().surveys[0].looks.len(), 1);
}

#[test]
fn an_empty_survey_of_an_earlier_sitting_can_be_taken_back_on_the_round() {
    let (folder, _) = yard();
    let mut sitting = opened(&folder);
    sitting.key(Key::Ctrl('s'));
    drop(sitting);
    let mut sitting = opened(&folder);
    assert_eq!(sitting.car().surveys.len(), 1);
    sitting.keys("u");
    assert!(sitting.car().surveys.is_empty(), "{}", sitting.text());
    drop(sitting);
    let (car, _, _) = opened(&folder).world.in_hand().expect("the car");
    assert!(car.surveys.is_empty(), "and stays so on disk");
}

#[test]
fn a_first_look_goes_on_after_a_restart_at_the_place_left() {
    let (folder, _) = yard();
    let mut sitting = opened(&folder);
    sitting.key(Key::Ctrl('s'));
    let asked = sitting.car().surveys[0]
        .first_look
        .clone()
        .expect("kept with the survey");
    let total = asked.len();
    assert!(total > 5);
    sitting.keys("xoxo");
    let here = sitting.text().lines().nth(3).expect("a heading").to_owned();
    drop(sitting);

    let mut sitting = opened(&folder);
    let text = sitting.text();
    assert!(text.contains(&format!("3 of {total} of the first look")), "{text}");
    assert!(text.contains(&format!("First look: {} checks", total - 2)), "{text}");
    assert_eq!(text.lines().nth(3), Some(here.as_str()), "the place left");
    // Every undo of this sitting is one of the owner's: choosing the checks was none.
    sitting.keys("u");
    assert_eq!(sitting.car().surveys[0].looks.len(), 1);
    assert_eq!(sitting.car().surveys[0].first_look.as_deref(), Some(asked.as_slice()));
    // Redo stands at the check made again; g goes on.
    sitting.keys("Ug");
    for _ in 2..total {
        sitting.keys("xo");
    }
    assert!(sitting.text().contains("The first look is done"), "{}", sitting.text());
    drop(sitting);
    // Nothing is left of it: the whole round is asked, and w still finds the first look.
    let mut sitting = opened(&folder);
    sitting.keys("r");
    assert!(sitting.text().contains("in all"), "{}", sitting.text());
    sitting.keys("w");
    assert!(sitting.text().contains("of the first look"), "{}", sitting.text());
}

#[test]
fn a_first_look_begun_and_not_yet_chosen_is_chosen_after_a_restart() {
    let (folder, yard) = yard();
    let mut open = yard.open("blue-estate", Access::Write).expect("the car");
    let date = fixture::TODAY;
    open.record_all(vec![
        Change::Survey {
            date,
            odometer_km: None,
            note: String::new(),
        },
        Change::FirstLook {
            survey: date,
            asks: Some(Vec::new()),
        },
    ])
    .expect("saved");
    drop(open);
    let sitting = opened(&folder);
    let kept = sitting.car().surveys[0].first_look.clone().unwrap_or_default();
    assert!(!kept.is_empty(), "{}", sitting.text());
    assert!(sitting.text().contains("of the first look"), "{}", sitting.text());
}

#[test]
fn a_first_look_asks_what_can_be_done_on_the_spot_and_raises_the_car_last() {
    let (folder, _) = yard();
    let mut sitting = opened(&folder);
    sitting.key(Key::Ctrl('s'));
    let library = builtin::library();
    let says = sitting.app.desk.says().expect("the engine has spoken").clone();
    let first = first_look(&says.assessment, library, MINUTES);
    let mut raised_before = 0;
    let mut told = 0;
    for _ in 0..first.checks.len() {
        let text = sitting.text();
        let heading = text.lines().nth(3).expect("a heading").to_owned();
        let desk = &sitting.app.desk;
        let stop = desk
            .stops
            .iter()
            .find(|s| {
                let check = desk.check_at(s).expect("a check");
                let part = tinworm::report::words::part(library, &s.part);
                first.checks.contains(&(s.part.clone(), s.check.clone()))
                    && heading.contains(&format!("{part} – {}", check.name))
            })
            .unwrap_or_else(|| panic!("a check of the first look:\n{text}"));
        let check = desk.check_at(stop).expect("a check");
        assert!(first_look::is_on_the_spot(check), "{}", check.name);
        let raised = matches!(stop.stage, Stage::FrontRaised | Stage::RearRaised | Stage::Underneath);
        assert!(
            raised || raised_before == 0,
            "{} comes after the car was raised",
            check.name
        );
        let says_so = text.contains("From here on the car stands raised.");
        assert_eq!(says_so, raised && raised_before == 0, "{text}");
        raised_before += usize::from(raised);
        told += usize::from(says_so);
        sitting.keys("xo");
    }
    assert_eq!(told, usize::from(raised_before > 0));
    assert!(raised_before > 0);
}

/// What waits for fuel being filled, a drive, a soak or an hour is marked so in the shipped rubrics.
#[test]
fn checks_that_wait_for_something_are_known() {
    let mut waiting = 0;
    for component in &builtin::library().all().components {
        for check in &component.checks {
            let how = check.how.to_lowercase();
            let waits = [
                "filling",
                "tank full",
                "drive 20 km",
                "wipe, drive",
                "few miles",
                "the day before",
                "wait an hour",
            ];
            if waits.iter().any(|words| how.contains(words)) {
                assert!(
                    !first_look::is_on_the_spot(check),
                    "{} {}: {how}",
                    component.id,
                    check.id
                );
                waiting += 1;
            }
        }
    }
    assert!(waiting >= 5, "{waiting}");
}
