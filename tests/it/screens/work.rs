//! Standing, Sides, Decline, Plan, Car and Yard: what their keys do.

use tinworm::car::Use;
use tinworm::store::DataFolder;

use super::fixture::part;
use super::*;

#[test]
fn filters_narrow_the_standing_and_an_empty_one_says_so() {
    let mut sitting = Sitting::usual((80, 24), dark());
    assert!(sitting.text().contains("Ranked 6"), "{}", sitting.text());
    sitting.keys("ff");
    let text = sitting.text();
    assert!(text.contains("Ranked 2") && text.contains("only right"), "{text}");
    sitting.keys("ee");
    assert!(
        sitting.text().contains("No ranked part passes the filters"),
        "{}",
        sitting.text()
    );
}

#[test]
fn a_tick_goes_into_the_wishes_and_a_second_takes_it_out() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.key(Key::End);
    sitting.keys(" ");
    assert_eq!(sitting.car().wishes.ticked, vec![part("cross-brace@front")]);
    assert!(sitting.text().contains('✓'), "{}", sitting.text());
    sitting.keys(" ");
    assert!(sitting.car().wishes.ticked.is_empty());
}

#[test]
fn enter_shows_the_decline_of_the_part_and_closing_comes_back() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.key(Key::Down);
    sitting.key(Key::Enter);
    assert!(
        sitting.text().contains("Lower ball joint, front right – Boot"),
        "{}",
        sitting.text()
    );
    sitting.key(Key::Right);
    assert!(
        sitting.text().contains("Lower ball joint, front right – Play"),
        "{}",
        sitting.text()
    );
    sitting.keys("q");
    assert!(
        sitting.text().contains("Ranked 6") && !sitting.left,
        "{}",
        sitting.text()
    );
}

#[test]
fn the_decline_chart_as_it_looks_without_colours() {
    let mut sitting = Sitting::usual((80, 24), plain());
    sitting.keys("dv");
    same_picture("decline-no-colour", &sitting);
}

#[test]
fn a_visit_tells_everything_and_scrolls_to_its_end() {
    let mut sitting = Sitting::usual((120, 60), dark());
    sitting.keys("p");
    sitting.key(Key::Enter);
    same_picture("visit-120x60", &sitting);
    sitting.resize((80, 24));
    sitting.key(Key::End);
    assert!(
        sitting.text().contains("never says that a car is safe"),
        "{}",
        sitting.text()
    );
}

#[test]
fn a_booking_says_with_whom_by_when_and_until_when() {
    let mut sitting = Sitting::told(fixture::booked(), (120, 40), dark());
    sitting.keys("p");
    sitting.key(Key::Down);
    same_picture("plan-booked-120x40", &sitting);
    sitting.resize((80, 24));
    let text = sitting.text();
    assert!(text.contains("away") && text.contains("with a welder"), "{text}");
    sitting.resize((80, 40));
    sitting.key(Key::Enter);
    same_picture("visit-booked-80x40", &sitting);
}

#[test]
fn an_offer_is_added_by_a_key() {
    let mut sitting = Sitting::usual((80, 30), dark());
    sitting.keys("p");
    sitting.key(Key::Enter);
    while !sitting.text().lines().any(|l| l.starts_with(" › + Brush")) {
        sitting.key(Key::Down);
    }
    sitting.keys(" ");
    assert_eq!(sitting.car().wishes.ticked, vec![part("cross-brace@front")]);
}

#[test]
fn a_repair_done_asks_and_is_recorded_with_hours_and_cost() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("p");
    sitting.key(Key::Enter);
    sitting.keys("f");
    sitting.key(Key::Tab);
    sitting.keys("183000");
    sitting.key(Key::Tab);
    sitting.keys("2,5");
    sitting.key(Key::Tab);
    sitting.keys("41");
    sitting.key(Key::Ctrl('s'));
    assert!(
        sitting.text().contains("What it renews starts again"),
        "{}",
        sitting.text()
    );
    assert!(
        sitting.car().repairs.is_empty(),
        "nothing is recorded before the answer"
    );
    sitting.keys("y");
    let done = sitting.car().repairs[0].clone();
    assert_eq!(done.part, part("lower-ball-joint@front-left"));
    assert_eq!(
        (done.hours, done.cost, done.odometer_km),
        (Some(2.5), Some(41.0), Some(183_000.0))
    );
    assert!(!sitting.text().contains("Repair done"), "{}", sitting.text());
}

#[test]
fn a_repair_is_fixed_to_a_date_and_another_chosen_instead() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("p");
    sitting.key(Key::Enter);
    sitting.keys("i");
    let worst = part("lower-ball-joint@front-left");
    assert_eq!(
        sitting.car().wishes.chosen.get(&worst).map(String::as_str),
        Some("renew-arm")
    );
    sitting.keys("m");
    sitting.key(Key::Ctrl('u'));
    sitting.keys("9999-12-31");
    sitting.key(Key::Enter);
    let text = sitting.text();
    assert!(
        text.contains("9999-12-31 is later than anything can be planned"),
        "{text}"
    );
    assert!(sitting.car().wishes.pinned.is_empty());
    sitting.key(Key::Ctrl('u'));
    sitting.keys("2027-01-09");
    sitting.key(Key::Enter);
    assert_eq!(
        sitting.car().wishes.pinned.get(&worst),
        Some(&jiff::civil::date(2027, 1, 9))
    );
}

#[test]
fn the_profile_is_changed_line_by_line() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("c");
    sitting.key(Key::Enter);
    sitting.key(Key::Ctrl('u'));
    sitting.keys("Quite blue");
    sitting.key(Key::Enter);
    assert_eq!(sitting.car().profile.name, "Quite blue");
    while !sitting.text().contains("Laid up:") {
        sitting.key(Key::Down);
        sitting.key(Key::Enter);
        if !sitting.text().contains("Laid up:") {
            sitting.key(Key::Esc);
        }
    }
    sitting.key(Key::Right);
    sitting.key(Key::Enter);
    assert_eq!(sitting.car().profile.in_use, Use::LaidUp);
}

#[test]
fn a_part_is_taken_off_the_car_and_given_its_own_limit() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("cv/pads front left");
    sitting.key(Key::Enter);
    sitting.keys("o");
    sitting.key(Key::Tab);
    sitting.key(Key::Tab);
    sitting.keys("12");
    sitting.key(Key::Tab);
    sitting.keys("manual");
    sitting.key(Key::Enter);
    assert!(
        sitting.text().contains("same side of new"),
        "pads shrink: {}",
        sitting.text()
    );
    sitting.key(Key::Ctrl('u'));
    sitting.keys("3");
    sitting.key(Key::Ctrl('s'));
    let pads = part("brake-pads@front-left");
    assert_eq!(sitting.car().parts[&pads].limits[0].limit, 3.0);
    sitting.keys(" ");
    assert!(sitting.car().parts[&pads].not_fitted);
    assert!(!sitting.app.desk.stops.iter().any(|s| s.part == pads));
}

#[test]
fn an_empty_yard_says_what_to_do_and_a_new_car_leads_into_its_round() {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    let mut sitting = Sitting::at(fixture::library(), World::yard(yard.clone()), (80, 24), dark());
    same_picture("yard-empty", &sitting);
    sitting.keys("n");
    same_picture("new-car", &sitting);
    sitting.key(Key::Ctrl('s'));
    assert!(sitting.text().contains("The car needs a name."), "{}", sitting.text());
    sitting.keys("Old faithful");
    sitting.key(Key::Ctrl('s'));
    assert!(sitting.text().contains("Begin a survey"), "{}", sitting.text());
    sitting.key(Key::Esc);
    sitting.keys("a");
    let text = sitting.text();
    assert!(text.contains("Old faithful") && text.contains("none yet"), "{text}");
    assert_eq!(yard.cars().expect("the cars").len(), 1);
    sitting.keys("q");
    assert!(sitting.left);
}

#[test]
fn a_car_held_elsewhere_is_read_only_and_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    let held = yard.create(fixture::profile("Blue")).expect("a car");
    let second = yard.open("blue", tinworm::store::Access::Write).expect("the car");
    let mut sitting = Sitting::at(fixture::library(), World::car(second), (80, 24), dark());
    assert!(sitting.text().contains("read only"), "{}", sitting.text());
    sitting.keys("c");
    sitting.key(Key::Enter);
    assert!(sitting.text().contains("Not kept:"), "{}", sitting.text());
    drop(held);
}

#[test]
fn a_visit_is_a_worksheet_read_section_by_section() {
    for (size, suffix) in [((80, 24), "80x24"), ((120, 40), "120x40")] {
        let mut sitting = Sitting::demo(size, dark());
        sitting.keys("p");
        sitting.key(Key::Enter);
        let mut sections = Vec::new();
        for _ in 0..12 {
            sitting.key(Key::Tab);
            let text = sitting.text();
            let at = [
                "Ready before",
                "Tools",
                "The day",
                "Tightening",
                "Look at this",
                "Stopping",
            ]
            .into_iter()
            .find(|name| text.lines().any(|l| l.contains("line ") && l.contains(name)));
            if let Some(name) = at.filter(|name| sections.last() != Some(name)) {
                if name == "Tightening" {
                    same_picture(&format!("worksheet-tightening-{suffix}"), &sitting);
                }
                if name == "The day" {
                    same_picture(&format!("worksheet-day-{suffix}"), &sitting);
                }
                sections.push(name);
            }
        }
        let all = [
            "Ready before",
            "Tools",
            "The day",
            "Tightening",
            "Look at this",
            "Stopping",
        ];
        assert_eq!(sections, all);
        sitting.key(Key::BackTab);
        assert!(sitting.text().contains("Look at this"), "{}", sitting.text());
        sitting.keys("?");
        let help = sitting.text();
        sitting.key(Key::Esc);
        assert!(help.contains("section") || size.1 < 30, "{help}");
    }
}

#[test]
fn a_repair_is_moved_and_left_out_on_trial_and_kept_only_when_asked() {
    let mut all = fixture::library().all().clone();
    for repair in &mut all.repairs {
        repair.buy = vec![tinworm::rubric::NewPart {
            name: "what it needs".to_owned(),
            count: 1,
            cost: 12.0,
            lead_days: 3,
        }];
    }
    let library = Library::unchecked(all);
    let mut sitting = Sitting::new(library, fixture::car("Blue estate"), (120, 40), dark());
    sitting.keys("pv");
    assert!(sitting.text().contains("Finished"), "{}", sitting.text());
    sitting.keys(">");
    let text = sitting.text();
    assert!(
        text.contains("The exposure would") && text.contains("Enter keeps it"),
        "{text}"
    );
    assert!(sitting.car().wishes.pinned.is_empty(), "nothing is kept yet");
    sitting.keys("u");
    assert!(!sitting.text().contains("The exposure would"), "{}", sitting.text());
    sitting.keys(">");
    sitting.key(Key::Enter);
    assert_eq!(sitting.car().wishes.pinned.len(), 1);
    assert!(sitting.text().contains("Kept."), "{}", sitting.text());

    sitting.key(Key::Home);
    sitting.keys("x");
    assert!(sitting.text().contains("left out?"), "{}", sitting.text());
    assert!(sitting.text().contains("more"), "{}", sitting.text());
    sitting.key(Key::Enter);
    assert!(!sitting.car().wishes.dropped.is_empty());
    sitting.key(Key::End);
    sitting.keys("x");
    assert!(sitting.text().contains("taken back?"), "{}", sitting.text());
    sitting.key(Key::Enter);
    sitting.key(Key::Home);
    sitting.keys("i");
    assert!(sitting.text().contains("What would do"), "{}", sitting.text());
    sitting.keys("q");

    sitting.keys("v");
    assert!(sitting.text().contains("Still to pay for parts"), "{}", sitting.text());
    let status = |sitting: &Sitting| sitting.car().progress.purchases.first().map(|p| p.status);
    assert_eq!(status(&sitting), None);
    sitting.keys(" ");
    assert!(
        matches!(status(&sitting), Some(tinworm::car::Buying::Ordered { .. })),
        "{}",
        sitting.text()
    );
    sitting.keys("v");
    let text = sitting.text();
    assert!(
        text.contains("What your limits cost") && text.contains("rubrics' own"),
        "{text}"
    );
    sitting.keys("q");
    assert!(
        sitting.text().contains("Takes away") && !sitting.left,
        "{}",
        sitting.text()
    );
}

#[test]
fn a_repair_left_open_is_recorded_from_its_visit() {
    let mut sitting = Sitting::new(fixture::library(), fixture::car("Blue estate"), (120, 40), dark());
    sitting.keys("p");
    sitting.key(Key::Enter);
    sitting.keys("o");
    assert!(sitting.text().contains("Left open"), "{}", sitting.text());
    sitting.key(Key::Down);
    sitting.keys("2");
    sitting.key(Key::Down);
    sitting.keys("1,5");
    sitting.key(Key::Ctrl('s'));
    let open = sitting.car().progress.open.clone();
    assert_eq!(open.len(), 1, "{}", sitting.text());
    assert_eq!((open[0].hours_so_far, open[0].hours_left), (2.0, Some(1.5)));
    sitting.keys("s");
    assert!(sitting.text().contains("begun and not finished"), "{}", sitting.text());
}
