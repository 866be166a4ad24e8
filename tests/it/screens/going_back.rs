//! Undo and redo across the screens, the first look, the places of the round, and the keys of every list.

use tinworm::car::{Asked, Buying, Change, OpenJob, OwnTorque, Purchase, RepairDone, SecondLook, Seen};
use tinworm::engine::first_look::{self, MINUTES, first_look};
use tinworm::store::{Access, DataFolder};
use tinworm::units::Torque;

use super::fixture::{grade, part};
use super::*;

/// A car without regard to the order of looks within a survey.
fn regardless_of_order(mut car: Car) -> Car {
    for survey in &mut car.surveys {
        survey
            .looks
            .sort_by(|a, b| (&a.part, &a.check).cmp(&(&b.part, &b.check)));
    }
    car
}

/// A second look at the first look of a car.
fn second_look(car: &Car, digit: u8) -> Change {
    let survey = &car.surveys[0];
    let look = &survey.looks[0];
    Change::SecondLook {
        survey: survey.date,
        second: SecondLook {
            part: look.part.clone(),
            check: look.check.clone(),
            on: survey.date,
            first: grade(2),
            grade: grade(digit),
        },
    }
}

/// Every kind of change, each also on top of something that is there already.
fn every_change(car: &Car) -> Vec<Change> {
    let survey = car.surveys[0].clone();
    let look = survey.looks[0].clone();
    let mut other = look.clone();
    other.seen = Seen::Grade(grade(5));
    other.note = "anew".to_owned();
    let mut fresh = look.clone();
    fresh.check = "another".to_owned();
    let mut profile = car.profile.clone();
    profile.name = "Other".to_owned();
    let mut wishes = car.wishes.clone();
    wishes.ticked.push(part("cross-brace@front"));
    let mut note = car.parts.get(&look.part).cloned().unwrap_or_default();
    note.note = "welded once".to_owned();
    let bought = Purchase::new(look.part.clone(), "renew", "boot");
    let ordered = bought.clone().now_is(
        Buying::Ordered {
            expected: fixture::TODAY,
        },
        fixture::TODAY,
        12.0,
    );
    let in_hand = ordered.clone().now_is(Buying::InHand, fixture::TODAY, 12.0);
    let mut done = demo::car().repairs.first().cloned().expect("a repair of the demo");
    done.date = fixture::TODAY;
    let again = RepairDone {
        part: part("cross-brace@front"),
        ..done.clone()
    };
    let job = OpenJob {
        part: part("cross-brace@front"),
        repair: "renew".to_owned(),
        since: fixture::TODAY,
        hours_so_far: 1.5,
        hours_left: None,
        open_steps: Vec::new(),
        did: vec!["cut it".to_owned()],
        extra: Vec::new(),
        note: String::new(),
    };
    let more = OpenJob {
        part: look.part.clone(),
        ..job.clone()
    };
    let torque = |typed: &str| OwnTorque {
        fixing: "castle nut".to_owned(),
        torque: Torque::parse(typed).expect("a torque"),
        source: "manual".to_owned(),
    };
    vec![
        Change::Profile(Box::new(profile)),
        Change::Part(look.part.clone(), note.clone()),
        Change::Part(look.part.clone(), tinworm::car::PartNote::default()),
        Change::Survey {
            date: survey.date,
            odometer_km: Some(5.0),
            note: "read anew".to_owned(),
        },
        Change::Look {
            survey: survey.date,
            look: other,
        },
        Change::Look {
            survey: survey.date,
            look: fresh,
        },
        Change::Unlook {
            survey: survey.date,
            part: look.part.clone(),
            check: look.check.clone(),
        },
        Change::Done(done),
        Change::Done(again),
        Change::Undone(0),
        Change::Survey {
            date: fixture::TODAY,
            odometer_km: Some(181_900.0),
            note: "after the salt".to_owned(),
        },
        Change::FirstLook {
            survey: fixture::TODAY,
            asks: Some(Vec::new()),
        },
        Change::FirstLook {
            survey: fixture::TODAY,
            asks: Some(vec![Asked {
                part: look.part.clone(),
                check: "boot".to_owned(),
            }]),
        },
        Change::Unbegun(fixture::TODAY),
        Change::Wishes(wishes),
        Change::Buy(ordered),
        Change::Buy(in_hand),
        Change::Buy(bought),
        Change::Torque(look.part.clone(), torque("33 lbf·ft + 90°")),
        Change::Torque(look.part.clone(), torque("45")),
        Change::NoTorque(look.part.clone(), "castle nut".to_owned()),
        second_look(car, 1),
        second_look(car, 4),
        Change::Left(job.clone()),
        Change::Left(OpenJob {
            hours_so_far: 3.0,
            ..job
        }),
        Change::Left(more),
        Change::Closed(look.part.clone()),
    ]
}

/// The name of a change's kind; a new kind does not build until it has one, and then fails below until it is tried.
fn kind(change: &Change) -> &'static str {
    match change {
        Change::Profile(_) => "profile",
        Change::Part(..) => "part",
        Change::Torque(..) => "torque",
        Change::NoTorque(..) => "no torque",
        Change::Survey { .. } => "survey",
        Change::Look { .. } => "look",
        Change::Unlook { .. } => "unlook",
        Change::SecondLook { .. } => "second look",
        Change::FirstLook { .. } => "first look",
        Change::Unbegun(_) => "unbegun",
        Change::Done(_) => "done",
        Change::Undone(_) => "undone",
        Change::Wishes(_) => "wishes",
        Change::Buy(_) => "buy",
        Change::Left(_) => "left",
        Change::Closed(_) => "closed",
        // Put away by the program, never taken back.
        Change::Earlier(_) => "earlier",
    }
}

#[test]
fn every_change_can_be_taken_back_and_that_can_be_taken_back_too() {
    let mut car = fixture::car("Blue estate");
    let kinds: std::collections::BTreeSet<&str> = every_change(&car).iter().map(kind).collect();
    assert_eq!(kinds.len(), 16, "all but what is put away: {kinds:?}");
    // A first second look stays, those after it give way to it again.
    let first = second_look(&car, 3);
    assert!(car.back_of(&first).is_empty());
    car.apply(first).expect("it fits");
    let mut states = vec![car.clone()];
    let mut backs = Vec::new();
    for change in every_change(&car) {
        backs.push(car.back_of(&change));
        car.apply(change.clone())
            .unwrap_or_else(|why| panic!("{change:?}: {why}"));
        states.push(car.clone());
    }
    // Back to the beginning one by one, forth by what takes the taking back back, and back again.
    for (n, back) in backs.iter().enumerate().rev() {
        let again = car.back_of_all(back).expect("it fits");
        let after = car.clone();
        for change in back.clone() {
            car.apply(change).expect("it fits");
        }
        let was = regardless_of_order(states[n].clone());
        assert_eq!(regardless_of_order(car.clone()), was, "change {n} taken back");
        let mut forth = car.clone();
        for change in again {
            forth.apply(change).expect("it fits");
        }
        assert_eq!(
            regardless_of_order(forth),
            regardless_of_order(after),
            "change {n} made again"
        );
    }
}

#[test]
fn undo_and_redo_hold_on_every_screen_and_over_screens() {
    let mut sitting = Sitting::usual((80, 24), dark());
    let before = (*sitting.car()).clone();
    sitting.keys(" ");
    assert_eq!(sitting.car().wishes.ticked.len(), 1);
    assert!(sitting.text().contains("u undo"), "{}", sitting.text());
    sitting.keys("c");
    sitting.key(Key::Enter);
    sitting.keys("r");
    sitting.key(Key::Enter);
    assert_ne!(sitting.car().profile.name, before.profile.name);
    // From a third screen both are taken back, the newest first.
    sitting.keys("lu");
    assert_eq!(sitting.car().profile.name, before.profile.name);
    assert!(sitting.text().contains("Taken back: the profile"), "{}", sitting.text());
    assert!(sitting.text().contains("U redo"), "{}", sitting.text());
    sitting.keys("u");
    assert_eq!(*sitting.car(), before);
    sitting.keys("u");
    assert!(sitting.text().contains("nothing to take back"), "{}", sitting.text());
    sitting.keys("U");
    sitting.key(Key::Ctrl('r'));
    assert_eq!(sitting.car().wishes.ticked.len(), 1);
    assert_ne!(sitting.car().profile.name, before.profile.name);
    sitting.keys("U");
    assert!(sitting.text().contains("Nothing was taken back"), "{}", sitting.text());
    // A new change ends what could be made again.
    sitting.keys("us ");
    sitting.keys("U");
    assert!(sitting.text().contains("Nothing was taken back"), "{}", sitting.text());
}

#[test]
fn a_refused_undo_changes_nothing_and_can_be_tried_again() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys(" ");
    sitting.disk_refuses = Some("the disk is full".to_owned());
    sitting.keys("u");
    assert!(
        sitting.text().contains("Not saved: the disk is full"),
        "{}",
        sitting.text()
    );
    assert_eq!(sitting.car().wishes.ticked.len(), 1);
    sitting.disk_refuses = None;
    sitting.keys("u");
    assert!(sitting.car().wishes.ticked.is_empty());
}

#[test]
fn undo_is_journalled_and_reaches_over_leaving_the_car_and_coming_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    drop(yard.create(fixture::profile("Blue estate")).expect("a car"));
    let mut sitting = Sitting::at(fixture::library(), World::yard(yard), (80, 24), dark());
    sitting.key(Key::Enter);
    sitting.key(Key::Ctrl('s'));
    sitting.keys("34");
    let on_disk = || {
        let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
        let open = yard.open("blue-estate", Access::Read).expect("the car");
        open.car().surveys[0].looks.len()
    };
    assert_eq!(on_disk(), 2);
    sitting.keys("a");
    sitting.key(Key::Enter);
    sitting.keys("ru");
    assert!(sitting.text().contains("Taken back: "), "{}", sitting.text());
    assert_eq!(on_disk(), 1, "the undo is on disk");
    sitting.keys("U");
    assert_eq!(on_disk(), 2, "so is the redo");
    assert_eq!(sitting.car().surveys[0].looks[1].seen, Seen::Grade(grade(4)));
}

/// A whole car of the shipped rubrics, at the form that begins a survey.
fn whole_car() -> Sitting {
    Sitting::new(
        tinworm::rubric::builtin::library().clone(),
        Car::new(fixture_profile()),
        (80, 24),
        dark(),
    )
}

#[test]
fn a_first_look_is_offered_and_asks_a_quarter_of_an_hour_of_what_tells_most() {
    let mut sitting = whole_car();
    assert!(sitting.text().contains("First look, 15 minutes"), "{}", sitting.text());
    sitting.key(Key::Ctrl('s'));
    let says = sitting.app.desk.says().expect("the engine has spoken").clone();
    let library = sitting.app.desk.library.clone();
    let first = first_look(&says.assessment, &library, MINUTES);
    let minutes: f64 = first
        .checks
        .iter()
        .map(|(part, check)| library.check(&part.component, check).expect("a check").minutes)
        .sum();
    assert!(minutes <= MINUTES && minutes > MINUTES - 1.5, "{minutes}");
    assert!((minutes - first.minutes).abs() < 1e-9);
    assert!(
        first
            .checks
            .iter()
            .all(|(part, check)| first_look::is_grave(&library, part, check))
    );
    // No check left out tells more a minute than the least of those taken, unless it would not have fitted.
    let worth = |l: &tinworm::engine::LookNext| l.moves / l.minutes;
    let taken = |l: &&tinworm::engine::LookNext| first.checks.contains(&(l.part.clone(), l.check.clone()));
    let best_left = says
        .assessment
        .look_next
        .iter()
        .filter(|l| !taken(l) && l.minutes <= 1.0 && first_look::is_grave(&library, &l.part, &l.check))
        .map(worth)
        .fold(0.0, f64::max);
    let least_taken = says
        .assessment
        .look_next
        .iter()
        .filter(taken)
        .map(worth)
        .fold(f64::MAX, f64::min);
    assert!(
        best_left <= least_taken + 1e-9,
        "{best_left} left out, {least_taken} taken"
    );

    let total = first.checks.len();
    assert!(total >= 5, "{total} checks");
    let text = sitting.text();
    assert!(text.contains(&format!("1 of {total} of the first look")), "{text}");
    for _ in 0..total {
        sitting.keys("xo");
    }
    assert!(sitting.text().contains("The first look is done"), "{}", sitting.text());
    let asked: std::collections::BTreeSet<_> = sitting.car().surveys[0]
        .looks
        .iter()
        .map(|l| (l.part.clone(), l.check.clone()))
        .collect();
    assert_eq!(asked, first.checks, "it asked those and no others");
    // The whole round goes on with the rest.
    sitting.keys("wg");
    assert!(sitting.text().contains("in all"), "{}", sitting.text());
    assert!(
        sitting.text().contains(&format!(
            "{total} looked at, {} left",
            sitting.app.desk.stops.len() - total
        )),
        "{}",
        sitting.text()
    );
}

#[test]
fn each_stage_ends_with_what_needs_the_engine_running() {
    let sitting = whole_car();
    let desk = &sitting.app.desk;
    let mut found = 0;
    for pair in desk.stops.windows(2) {
        let running = |n: usize| {
            desk.check_at(&pair[n])
                .expect("a check")
                .cautions
                .iter()
                .any(|c| c == "engine-running")
        };
        if pair[0].stage == pair[1].stage && running(0) {
            assert!(running(1), "{:?} comes after an engine was started", pair[1]);
            found += 1;
        }
    }
    assert!(found > 0);
    let first = desk.check_at(&desk.stops[0]).expect("a check");
    assert!(!first.cautions.iter().any(|c| c == "engine-running"));
}

#[test]
fn the_places_of_the_round_tell_how_much_is_done_and_jump() {
    let mut sitting = Sitting::new(fixture::library(), fixture::fresh("Blue estate"), (80, 24), dark());
    sitting.key(Key::Ctrl('s'));
    sitting.keys("3j");
    same_picture("round-places", &sitting);
    sitting.keys("stands right");
    sitting.key(Key::Enter);
    let text = sitting.text();
    assert!(
        text.contains("Front on stands") && text.contains("front right"),
        "{text}"
    );
}

/// How many lines of how many a search has found: the words at the end of what is typed behind `/`.
fn counted(text: &str) -> Option<(usize, usize)> {
    let typed = text.lines().find_map(|line| line.split_once("│ / "))?.1;
    let words: Vec<&str> = typed.split('│').next()?.split_whitespace().collect();
    match words.as_slice() {
        [.., found, "of", of] => Some((found.parse().ok()?, of.parse().ok()?)),
        _ => None,
    }
}

#[test]
fn every_list_of_parts_is_filtered_and_searched_by_the_same_keys() {
    for (open, name) in [
        ("s", "Standing"),
        ("l", "Sides"),
        ("p", "visits"),
        ("b", "Fixings"),
        ("pv", "repairs"),
        ("pvv", "to buy"),
        ("cv", "Parts"),
    ] {
        let mut sitting = Sitting::demo((120, 40), dark());
        sitting.keys(open);
        let all = sitting.text();
        assert!(all.contains("/ find") && all.contains("f side"), "{name}: {all}");
        sitting.keys("f");
        assert!(sitting.text().contains("only left"), "{name}: {}", sitting.text());
        sitting.keys("ff");
        assert_eq!(sitting.text(), all, "{name}: both sides again");
        sitting.keys("e");
        assert!(sitting.text().contains("only front"), "{name}: {}", sitting.text());
        sitting.keys("t");
        assert!(sitting.text().contains("only front, "), "{name}: {}", sitting.text());
        // Esc lets everything pass again and stays on the screen.
        sitting.key(Key::Esc);
        assert!(!sitting.text().contains("only front"), "{name}: {}", sitting.text());
        sitting.keys("/");
        let (found, of) = counted(&sitting.text()).expect(name);
        assert!(
            found == of && of > 1,
            "{name}: all before anything is typed: {found} of {of}"
        );
        sitting.keys("zzz");
        assert_eq!(counted(&sitting.text()), Some((0, of)), "{name}: {}", sitting.text());
        sitting.key(Key::Esc);
        assert_eq!(sitting.text(), all, "{name}: as it was");
    }
}

#[test]
fn the_key_bar_never_collides_and_always_ends_with_help_and_the_way_out() {
    for width in [60, 80, 120, 200] {
        for open in ["s", "l", "d", "p", "pv", "pvv", "pvvv", "p\n", "b", "c", "cv", "r"] {
            let mut sitting = Sitting::demo((width, 30), dark());
            sitting.keys(" ");
            for key in open.chars() {
                sitting.key(if key == '\n' { Key::Enter } else { Key::Char(key) });
            }
            let text = sitting.text();
            let bar = text.lines().last().expect("a bar").to_owned();
            let known: Vec<String> = tinworm::tui::keys::bar(&sitting.app.places())
                .map(|b| format!("{} {}", b.shown, b.short))
                .collect();
            for shown in bar.split("  ").map(str::trim).filter(|s| !s.is_empty()) {
                assert!(
                    known.iter().any(|k| k == shown),
                    "{open} at {width}: `{shown}` in `{bar}`"
                );
            }
            if open != "r" {
                assert!(bar.ends_with("? keys  q close"), "{open} at {width}: `{bar}`");
                assert!(bar.contains("u undo"), "{open} at {width}: `{bar}`");
            }
        }
    }
}

#[test]
fn the_title_begins_with_the_cars_name_at_80_columns() {
    let mut sitting = Sitting::demo((80, 24), dark());
    sitting.app.mark_demo();
    sitting.app.desk.keeping = Keeping::Memory;
    let title = sitting.text().lines().next().expect("a title").to_owned();
    let name: String = sitting.car().profile.name.chars().take(8).collect();
    assert!(title.trim_start().starts_with(&name), "{title}");
    assert!(title.contains("(demo"), "{title}");
}

#[test]
fn the_mouse_does_nothing_until_asked_for_and_then_presses_keys() {
    use crossterm::event::{Event, KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
    let mouse = |kind| {
        tinworm::tui::keys::from_event(Event::Mouse(MouseEvent {
            kind,
            column: 4,
            row: 5,
            modifiers: KeyModifiers::NONE,
        }))
    };
    assert_eq!(mouse(MouseEventKind::Down(MouseButton::Left)), Some(Input::Click(4, 5)));
    assert_eq!(mouse(MouseEventKind::Moved), None);
    let mut sitting = Sitting::demo((120, 40), dark());
    sitting.keys("M");
    assert!(sitting.text().contains("mouse is taken"), "{}", sitting.text());
    // The fourth line of the ranked list, by a click, is the one three keys further down.
    let mut other = Sitting::demo((120, 40), dark());
    other.keys("M");
    let row = |text: &str, words: &str| text.lines().position(|l| l.contains(words)).expect("a line");
    other.key(Key::Down);
    other.key(Key::Down);
    other.key(Key::Down);
    let y = row(&sitting.text(), "exposure until") + 5;
    let y = u16::try_from(y).expect("a row");
    sitting.tell(Msg::Input(Input::Click(6, y)));
    assert_eq!(sitting.text(), other.text());
    sitting.tell(Msg::Input(Input::Wheel(false)));
    other.key(Key::Home);
    assert_eq!(sitting.text(), other.text(), "one turn of the wheel is three lines");
    // The name of six keys is none of them: a click on it grades nothing.
    let mut round = Sitting::demo((120, 40), dark());
    round.keys("Mr");
    let looks = round.car().surveys.iter().map(|s| s.looks.len()).sum::<usize>();
    let bar = round.text().lines().last().expect("a bar").to_owned();
    let x = bar
        .char_indices()
        .position(|(at, _)| bar[at..].starts_with("0–5 grade"))
        .expect("grades");
    round.tell(Msg::Input(Input::Click(u16::try_from(x + 1).expect("a column"), 39)));
    assert_eq!(round.car().surveys.iter().map(|s| s.looks.len()).sum::<usize>(), looks);
    // A tab and a key of the bar.
    let title = sitting.text().lines().next().expect("a title").to_owned();
    let x = title
        .char_indices()
        .position(|(at, _)| title[at..].starts_with("p Plan"))
        .expect("the Plan");
    sitting.tell(Msg::Input(Input::Click(u16::try_from(x).expect("a column"), 0)));
    assert!(sitting.text().contains("Takes away"), "{}", sitting.text());
    let bar = sitting.text().lines().last().expect("a bar").to_owned();
    let x = bar
        .char_indices()
        .position(|(at, _)| bar[at..].starts_with("? keys"))
        .expect("help");
    sitting.tell(Msg::Input(Input::Click(u16::try_from(x).expect("a column"), 39)));
    assert!(sitting.text().contains("Everywhere"), "{}", sitting.text());
}
