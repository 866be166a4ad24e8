//! The second look on the screens: blind to its end, and beside the first.

use tinworm::engine::second_look::drawn;

use super::fixture::grade;
use super::*;

/// A car whose newest survey has a grade for every graded check: always the same one.
fn graded(digit: u8) -> Sitting {
    let mut sitting = Sitting::new(fixture::library(), fixture::fresh("Blue estate"), (80, 24), dark());
    sitting.key(Key::Ctrl('s'));
    for _ in 0..sitting.app.desk.stops.len() {
        let text = sitting.text();
        if text.contains("0–5 grade") {
            sitting.keys(&digit.to_string());
        } else if text.contains("y yes") {
            sitting.keys("n");
        } else {
            sitting.keys("xo");
        }
    }
    sitting
}

/// Everything a picture could give a first grade away by: its words and its marks.
fn blind(sitting: &Sitting) {
    let text = sitting.text();
    assert!(text.contains("Second look, blind"), "{text}");
    for sign in ["In this survey", "it was", "at first", "›", "grade 4", "Taken"] {
        assert!(!text.contains(sign), "{sign} in {text}");
    }
}

#[test]
fn the_first_grade_is_never_seen_before_the_second_is_given() {
    let mut sitting = graded(4);
    let car = sitting.car();
    let draw = drawn(&car, &sitting.app.desk.library, fixture::TODAY).unwrap();
    assert!(draw.checks.len() >= 2);
    // The same screens, whatever the first grades were: nothing on them rests on those.
    let mut other = graded(1);
    sitting.keys("A");
    other.keys("A");
    for n in 0..draw.checks.len() {
        blind(&sitting);
        assert_eq!(sitting.text(), other.text());
        assert_eq!(styles_of(&sitting.buffer()), styles_of(&other.buffer()));
        let (part, check) = &draw.checks[n];
        let name = tinworm::report::words::part(&sitting.app.desk.library, part);
        assert!(
            sitting.text().contains(&name),
            "in the order of the round: {name} {check}"
        );
        sitting.keys("3");
        other.keys("3");
    }
    let text = sitting.text();
    assert!(text.contains("How steadily you grade"), "{text}");
    let car = sitting.car();
    let survey = &car.surveys[0];
    assert_eq!(survey.second_looks.len(), draw.checks.len());
    assert!(
        survey
            .second_looks
            .iter()
            .all(|s| s.first == grade(4) && s.grade == grade(3))
    );
    let graded_four = survey
        .looks
        .iter()
        .filter(|l| l.seen == tinworm::car::Seen::Grade(grade(4)));
    assert!(
        graded_four.count() >= draw.checks.len(),
        "the looks stay what they were"
    );
    // Once all are done it only tells.
    sitting.key(Key::Esc);
    sitting.keys("A");
    assert!(sitting.text().contains("How steadily you grade"));
}

#[test]
fn a_second_look_may_be_left_and_gone_on_with() {
    let mut sitting = graded(2);
    sitting.keys("A");
    let first = sitting.text();
    sitting.keys("x");
    assert_ne!(sitting.text(), first, "the next one drawn");
    blind(&sitting);
    sitting.keys("2");
    sitting.key(Key::Esc);
    assert!(!sitting.text().contains("Second look, blind"), "{}", sitting.text());
    sitting.keys("A");
    blind(&sitting);
    let name = |text: &str| text.lines().nth(3).map(str::to_owned);
    assert_eq!(name(&sitting.text()), name(&first), "the one left comes first again");
    sitting.disk_refuses = Some("the disk is full".to_owned());
    sitting.keys("2");
    assert!(sitting.text().contains("Not saved: the disk is full"));
    assert_eq!(
        name(&sitting.text()),
        name(&first),
        "nothing moves on before it is on disk"
    );
}

#[test]
fn without_a_grade_there_is_nothing_to_grade_again() {
    let mut sitting = Sitting::new(fixture::library(), fixture::fresh("Blue estate"), (80, 24), dark());
    sitting.key(Key::Ctrl('s'));
    sitting.keys("A");
    assert!(sitting.text().contains("nothing to grade again"), "{}", sitting.text());
}

#[test]
fn the_winter_is_told_from_the_standing() {
    let mut sitting = Sitting::demo((100, 40), dark());
    sitting.keys("sw");
    let text = sitting.text();
    assert!(
        text.contains("The survey of 2026-04-11 against that of 2025-10-04"),
        "{text}"
    );
}
