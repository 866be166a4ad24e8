//! The Round: one key a check, nothing lost, nothing shown before it is saved.

use tinworm::car::{NotSeen, Seen};
use tinworm::store::{Access, DataFolder};

use super::fixture::{grade, part};
use super::*;

/// A fresh car whose survey is begun.
fn begun() -> Sitting {
    let mut sitting = Sitting::new(fixture::library(), fixture::fresh("Blue estate"), (80, 24), dark());
    assert!(sitting.text().contains("Begin a survey"), "{}", sitting.text());
    sitting.key(Key::Ctrl('s'));
    sitting
}

/// Begins the whole round where a first look is offered.
fn begin_whole(sitting: &mut Sitting) {
    for _ in 0..3 {
        sitting.key(Key::Tab);
    }
    sitting.keys("w");
    assert!(sitting.text().contains("Whole round"), "{}", sitting.text());
    sitting.key(Key::Ctrl('s'));
}

fn last_look(sitting: &Sitting) -> (String, Seen) {
    let car = sitting.car();
    let look = car.surveys.last().and_then(|s| s.looks.last()).expect("a look").clone();
    (format!("{} {}", look.part, look.check), look.seen)
}

#[test]
fn grading_120_checks_costs_120_keys() {
    let library = tinworm::rubric::builtin::library().clone();
    let mut profile = fixture::profile("Whole car");
    profile.layout = library
        .choices()
        .iter()
        .filter_map(|choice| library.pieces_of(choice).next().map(|p| p.id.clone()))
        .collect();
    let mut sitting = Sitting::new(library, Car::new(profile), (80, 24), dark());
    begin_whole(&mut sitting);
    let total = sitting.app.desk.stops.len();
    assert!(total >= 120, "only {total} checks");
    let (mut keys, mut graded) = (0, 0);
    while graded < 120 {
        let text = sitting.text();
        // Graded checks take one key; the few measured and yes/no ones are passed over for the count.
        if text.contains("0–5 grade") {
            sitting.keys("2");
            keys += 1;
            graded += 1;
        } else if text.contains("y yes") {
            sitting.keys("n");
            keys += 1;
            graded += 1;
        } else {
            sitting.keys("xo");
        }
    }
    assert_eq!(keys, 120);
    let car = sitting.car();
    let seen = car.surveys[0].looks.iter().filter(|l| l.seen.is_seen()).count();
    assert_eq!(seen, 120);
}

#[test]
fn the_round_as_it_looks() {
    let mut sitting = begun();
    same_picture("round-80x24", &sitting);
    sitting.resize((120, 40));
    same_picture("round-120x40", &sitting);
    sitting.resize((200, 60));
    same_picture("round-200x60", &sitting);
    sitting.resize((40, 12));
    same_picture("round-40x12", &sitting);
    sitting.resize((80, 24));
    sitting.keys("33");
    same_picture("round-after-two", &sitting);
}

#[test]
fn the_earlier_grade_is_shown_only_after_the_new_one_is_given() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("r");
    sitting.key(Key::Ctrl('s'));
    let text = sitting.text();
    assert!(
        text.contains("Track rod end, front left – Play") && text.contains("seen 2026-03-28"),
        "{text}"
    );
    assert!(!text.contains("it was") && !text.contains('›'), "{text}");
    sitting.keys("4");
    let text = sitting.text();
    assert!(
        text.replace('\n', " ")
            .contains("grade 4; on 2026-03-28 it was grade 3, 1  grade worse"),
        "{text}"
    );
    assert!(text.contains("Track rod end, front right"), "{text}");
}

#[test]
fn a_failed_save_says_so_and_does_not_advance() {
    let mut sitting = begun();
    let before = sitting.text();
    sitting.disk_refuses = Some("the disk is full".to_owned());
    sitting.keys("3");
    let text = sitting.text();
    assert!(text.contains("Not saved: the disk is full"), "{text}");
    assert_eq!(text.lines().nth(3), before.lines().nth(3), "the same check stays");
    assert_eq!(sitting.car().surveys[0].looks.len(), 0);
    sitting.disk_refuses = None;
    sitting.keys("3");
    assert_eq!(last_look(&sitting).1, Seen::Grade(grade(3)));
}

#[test]
fn undo_takes_back_what_was_given_even_after_coming_back() {
    let mut sitting = begun();
    sitting.keys("34");
    sitting.keys("u");
    assert!(
        sitting.text().contains("Taken back: Track rod end, front right"),
        "{}",
        sitting.text()
    );
    assert_eq!(sitting.car().surveys[0].looks.len(), 1);
    // The same car opened again: what is left can still be taken back.
    let mut again = Sitting::new(fixture::library(), (*sitting.car()).clone(), (80, 24), dark());
    again.keys("r");
    again.keys("u");
    assert_eq!(again.car().surveys[0].looks.len(), 0);
    // Then the survey itself, which has no look any more.
    again.keys("u");
    assert!(again.car().surveys.is_empty(), "{}", again.text());
    again.keys("u");
    assert!(again.text().contains("nothing to take back"), "{}", again.text());
}

#[test]
fn regrading_and_undo_bring_the_earlier_grade_back() {
    let mut sitting = begun();
    sitting.keys("1");
    sitting.key(Key::Left);
    sitting.keys("4");
    assert_eq!(sitting.car().surveys[0].looks[0].seen, Seen::Grade(grade(4)));
    sitting.keys("u");
    assert_eq!(sitting.car().surveys[0].looks[0].seen, Seen::Grade(grade(1)));
}

#[test]
fn not_seen_asks_why_by_one_more_key_and_escape_takes_it_back() {
    let mut sitting = begun();
    sitting.keys("x");
    assert!(sitting.text().contains("Why not seen?"));
    sitting.keys("3");
    assert_eq!(sitting.saved, 1, "a digit is no reason: only the survey was saved");
    sitting.key(Key::Esc);
    assert!(!sitting.text().contains("Why not seen?") && !sitting.left);
    sitting.keys("xc");
    assert_eq!(last_look(&sitting).1, Seen::Not(NotSeen::Covered));
}

#[test]
fn what_is_left_for_later_stays_open_and_is_come_back_to() {
    let mut sitting = begun();
    sitting.keys("xl");
    assert!(sitting.text().contains("0 looked at, 13 left"), "{}", sitting.text());
    sitting.keys("2");
    for _ in 0..20 {
        sitting.keys("g");
    }
    assert!(
        sitting.text().contains("left for later") || sitting.text().contains("left"),
        "{}",
        sitting.text()
    );
}

#[test]
fn readings_take_a_decimal_comma_and_every_point() {
    let mut sitting = begun();
    find(&mut sitting, "pads front left");
    sitting.keys("6,5");
    sitting.key(Key::Enter);
    sitting.keys("5.");
    assert!(sitting.text().contains("5._"), "{}", sitting.text());
    same_picture("round-reading", &sitting);
    sitting.keys("25");
    sitting.key(Key::Enter);
    assert_eq!(
        last_look(&sitting),
        (
            "brake-pads@front-left lining".to_owned(),
            Seen::Reading(vec![6.5, 5.25])
        )
    );
}

#[test]
fn a_doubtful_or_wild_reading_is_not_taken_at_once() {
    let mut sitting = begun();
    find(&mut sitting, "joint front left play");
    sitting.keys("1,500");
    sitting.key(Key::Enter);
    assert!(
        sitting.text().contains("could be a thousands mark"),
        "{}",
        sitting.text()
    );
    for _ in 0..5 {
        sitting.key(Key::Backspace);
    }
    sitting.keys("40");
    sitting.key(Key::Enter);
    assert!(sitting.text().contains("Enter again keeps it"), "{}", sitting.text());
    assert!(sitting.car().surveys[0].looks.is_empty());
    sitting.key(Key::Enter);
    assert_eq!(last_look(&sitting).1, Seen::Reading(vec![40.0]));
}

#[test]
fn yes_and_no_answer_a_question() {
    let mut sitting = begun();
    find(&mut sitting, "hose front right");
    same_picture("round-question", &sitting);
    sitting.keys("y");
    assert_eq!(
        last_look(&sitting),
        ("brake-hose@front-right bulge".to_owned(), Seen::Answer(true))
    );
}

/// Jumps by the search list.
fn find(sitting: &mut Sitting, words: &str) {
    sitting.keys("/");
    sitting.keys(words);
    sitting.key(Key::Enter);
}

#[test]
fn search_jumps_and_q_is_a_letter_in_it() {
    let mut sitting = begun();
    sitting.keys("/q");
    assert!(
        !sitting.left && sitting.text().contains("0 of 13"),
        "{}",
        sitting.text()
    );
    sitting.key(Key::Backspace);
    sitting.keys("brace");
    sitting.key(Key::Enter);
    assert!(
        sitting.text().contains("Cross brace, front – Coating"),
        "{}",
        sitting.text()
    );
}

#[test]
fn a_note_is_kept_with_the_look_and_survives_the_grade() {
    let mut sitting = begun();
    sitting.keys("N");
    sitting.keys("click, only cold; 0 to 5?");
    sitting.key(Key::Enter);
    assert!(
        sitting.text().contains("twice saves"),
        "a line is broken first: {}",
        sitting.text()
    );
    sitting.key(Key::Enter);
    assert!(sitting.text().contains("0 looked at"), "{}", sitting.text());
    sitting.keys("2");
    let look = sitting.car().surveys[0].looks[0].clone();
    assert_eq!(
        (look.seen, look.note.as_str()),
        (Seen::Grade(grade(2)), "click, only cold; 0 to 5?")
    );
}

#[test]
fn a_paste_goes_to_the_focused_field_only_and_carries_no_commands() {
    let mut sitting = begun();
    sitting.tell(Msg::Input(Input::Paste("555555".to_owned())));
    assert!(
        sitting.car().surveys[0].looks.is_empty(),
        "outside a field a paste does nothing"
    );
    sitting.keys("N");
    sitting.tell(Msg::Input(Input::Paste("one\ntwo\u{1b}[2J\u{7}".to_owned())));
    same_picture("round-note", &sitting);
    sitting.key(Key::Ctrl('s'));
    assert_eq!(sitting.car().surveys[0].looks[0].note, "one\ntwo[2J");
    let text = sitting.text();
    assert!(text.contains("note: one two[2J") || !text.contains("note:"), "{text}");
}

#[test]
fn an_odometer_that_runs_back_is_refused_and_an_unfinished_form_asks() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("r");
    sitting.key(Key::Tab);
    sitting.keys("1812");
    sitting.key(Key::Ctrl('s'));
    assert!(
        sitting.text().contains("Less than the 181240 km of 2026-03-28"),
        "{}",
        sitting.text()
    );
    sitting.key(Key::Esc);
    assert!(sitting.text().contains("Throw it away?"), "{}", sitting.text());
    sitting.keys("n");
    assert!(sitting.text().contains("Begin a survey"), "{}", sitting.text());
    sitting.key(Key::Esc);
    sitting.keys("y");
    assert!(!sitting.text().contains("Begin a survey"), "{}", sitting.text());
}

#[test]
fn leaving_and_coming_back_goes_on_at_the_first_open_check() {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    let open = yard.create(fixture::profile("Blue estate")).expect("a car");
    let mut sitting = Sitting::at(fixture::library(), World::car(open), (80, 24), dark());
    sitting.key(Key::Ctrl('s'));
    sitting.keys("12");
    drop(sitting);
    let open = yard.open("blue-estate", Access::Write).expect("the car again");
    assert_eq!(open.car().surveys[0].looks.len(), 2);
    let mut again = Sitting::at(fixture::library(), World::car(open), (80, 24), dark());
    again.keys("r");
    assert!(again.text().contains("2 looked at, 11 left"), "{}", again.text());
    assert!(again.text().contains("check 1 of"), "{}", again.text());
    assert!(
        !again
            .car()
            .surveys
            .iter()
            .any(|s| s.look(&part("track-rod-end@front-left"), "nothing").is_some())
    );
}

#[test]
fn every_shipped_description_is_whole_on_80_by_24() {
    let library = tinworm::rubric::builtin::library().clone();
    let mut sitting = Sitting::new(library, Car::new(fixture_profile()), (80, 24), dark());
    begin_whole(&mut sitting);
    let mut cut = Vec::new();
    for stop in sitting.app.desk.stops.clone() {
        let check = sitting.app.desk.check_at(&stop).expect("a check").clone();
        if let tinworm::rubric::CheckKind::Graded(descriptions) = &check.kind {
            let text = sitting.text();
            for description in descriptions {
                for word in description.split_whitespace() {
                    if !text.contains(word) {
                        cut.push(format!("{} {}: {word} of `{description}`", stop.part, stop.check));
                    }
                }
            }
            for caution in check
                .cautions
                .iter()
                .filter_map(|id| sitting.app.desk.library.caution(id))
            {
                let last = caution.text.split_whitespace().last().unwrap_or_default();
                if !text.contains(last) && !text.contains("i reads on") {
                    cut.push(format!("{} {}: caution {}", stop.part, stop.check, caution.id));
                }
            }
        }
        sitting.key(Key::Right);
    }
    assert!(cut.is_empty(), "{} cut:\n{}", cut.len(), cut.join("\n"));
}
