//! Fixings: choosing, typing, and the manual's value from a visit's line to the plan and back.

use super::fixture::part;
use super::*;

/// The inside of a visit with the cursor on a line that contains a text.
fn visit_at(text: &str, size: (u16, u16)) -> Sitting {
    let mut sitting = Sitting::usual(size, dark());
    sitting.keys("p");
    sitting.key(Key::Enter);
    for _ in 0..60 {
        if sitting
            .text()
            .lines()
            .any(|l| l.trim_start().starts_with('›') && l.contains(text))
        {
            return sitting;
        }
        sitting.key(Key::Down);
    }
    panic!("no line with {text}:\n{}", sitting.text());
}

/// The screen without its line breaks.
fn flat(sitting: &Sitting) -> String {
    sitting.text().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The row of a label above the rule.
fn row(sitting: &Sitting, label: &str) -> String {
    let text = sitting.text();
    let found = text
        .lines()
        .find(|l| l.trim_start_matches([' ', '›']).starts_with(label));
    found.unwrap_or_else(|| panic!("no row {label}:\n{text}")).to_owned()
}

#[test]
fn arrows_and_typing_choose_thread_class_finish_and_grade() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("b");
    assert!(row(&sitting, "Thread ").contains("M10x1.5") && row(&sitting, "Guide").contains("50 N·m dry"));
    sitting.key(Key::Right);
    assert!(row(&sitting, "Thread ").contains("M12x1.75"), "{}", sitting.text());
    sitting.keys("12x1,2");
    assert!(row(&sitting, "Thread ").contains("M12x1.25"), "{}", sitting.text());
    assert!(row(&sitting, "Guide").contains("96 N·m dry"), "{}", sitting.text());
    sitting.keys("9");
    assert!(
        row(&sitting, "Thread ").contains("nothing begins with 12x1.29"),
        "{}",
        sitting.text()
    );
    sitting.key(Key::Backspace);
    assert!(row(&sitting, "Thread ").contains("typed 12x1.2"), "{}", sitting.text());
    sitting.key(Key::Down);
    sitting.keys("10");
    assert!(row(&sitting, "Class").contains("10.9"), "{}", sitting.text());
    sitting.key(Key::Down);
    sitting.key(Key::Right);
    assert!(row(&sitting, "Guide").contains("103 N·m oiled"), "{}", sitting.text());
    assert!(!sitting.text().contains("Try in this order"), "no grade, no ladder");
    sitting.key(Key::Down);
    sitting.keys("3");
    assert!(
        row(&sitting, "Margin").contains("more likely to shear than to turn"),
        "{}",
        sitting.text()
    );
    assert!(row(&sitting, "Core lost").contains("5 %"), "{}", sitting.text());
    sitting.key(Key::Right);
    assert!(row(&sitting, "Thread grade").contains('4'));
    sitting.key(Key::Backspace);
    assert!(row(&sitting, "Thread grade").contains("not graded"));
    // The letters of the other screens still lead there.
    sitting.keys("s");
    assert!(sitting.text().contains("Ranked 6"));
}

#[test]
fn a_larger_core_loss_narrows_the_margin() {
    let mut sitting = Sitting::usual((80, 24), dark());
    let margin = |sitting: &Sitting| -> f64 {
        let row = row(sitting, "Margin");
        let figure = row.split_whitespace().nth(1).unwrap().trim_end_matches(':').to_owned();
        figure.parse().unwrap_or_else(|_| panic!("{row}"))
    };
    sitting.keys("bjjj2j");
    let whole = margin(&sitting);
    sitting.keys("20");
    let wasted = margin(&sitting);
    assert!((wasted / whole - 0.512).abs() < 0.02, "{whole} {wasted}");
}

#[test]
fn the_manuals_value_is_typed_from_a_visits_line_and_wins_everywhere() {
    let mut sitting = visit_at("arm pivot bolt", (120, 60));
    let told = flat(&sitting);
    assert!(told.contains("› Undo: 1 × arm pivot bolt"), "{told}");
    sitting.keys("t");
    let text = sitting.text();
    assert!(text.contains("Lower ball joint, front left: arm pivot bolt"), "{text}");
    assert!(
        row(&sitting, "Thread ").contains("M12x1.75") && text.contains("Enter types it in"),
        "{text}"
    );
    sitting.key(Key::Enter);
    sitting.keys("62 nm + 90 deg");
    sitting.key(Key::Tab);
    sitting.keys("manual, p. 412");
    sitting.key(Key::Ctrl('s'));
    for at in ["lower-ball-joint@front-left", "lower-ball-joint@front-right"] {
        let own = sitting.car().torque(&part(at), "arm pivot bolt").cloned().expect(at);
        assert_eq!(
            (own.torque.to_string().as_str(), own.source.as_str()),
            ("62 N·m + 90°", "manual, p. 412")
        );
    }
    assert!(row(&sitting, "Manual says").contains("62 N·m + 90°, your manual's (manual, p. 412)"));
    // Closing leads back into the visit, which shows it instead of the guide.
    sitting.keys("q");
    sitting.key(Key::PageDown);
    sitting.key(Key::PageDown);
    let text = flat(&sitting);
    sitting.key(Key::PageUp);
    sitting.key(Key::PageUp);
    assert!(
        text.contains("Tightening") && text.contains("arm pivot bolt, lower ball") && text.contains("62 N·m + 90°"),
        "{text}"
    );
    assert!(!text.contains("86 N·m"), "{text}");
    // An empty value takes it away again, on both sides.
    sitting.keys("t");
    sitting.key(Key::Enter);
    sitting.key(Key::Ctrl('u'));
    sitting.key(Key::Ctrl('s'));
    assert!(sitting.car().parts.values().all(|note| note.torques.is_empty()));
}

#[test]
fn a_value_for_one_side_and_an_odd_one_are_taken_with_a_word() {
    let mut sitting = visit_at("arm pivot bolt", (80, 24));
    sitting.key(Key::Enter);
    sitting.key(Key::Enter);
    sitting.keys("620");
    sitting.key(Key::Tab);
    sitting.key(Key::Tab);
    sitting.key(Key::Right);
    sitting.key(Key::Ctrl('s'));
    let said = sitting.text().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("read the manual once more"), "{}", sitting.text());
    assert!(sitting.text().contains("times the guide"), "{}", sitting.text());
    let car = sitting.car();
    assert!(
        car.torque(&part("lower-ball-joint@front-left"), "arm pivot bolt")
            .is_some()
    );
    assert!(
        car.torque(&part("lower-ball-joint@front-right"), "arm pivot bolt")
            .is_none()
    );
    // What is no torque is refused in the form.
    sitting.key(Key::Enter);
    sitting.keys(" bar");
    sitting.key(Key::Ctrl('s'));
    assert!(sitting.text().contains("no unit of torque"), "{}", sitting.text());
}

#[test]
fn a_soaked_thread_opens_with_the_grade_it_was_seen_at() {
    let mut sitting = visit_at("stud nut, lower ball joint", (120, 40));
    sitting.keys("t");
    let text = sitting.text();
    assert!(text.contains("Lower ball joint, front left: stud nut"), "{text}");
    let seen = sitting
        .car()
        .last_seen(&part("lower-ball-joint@front-left"), "nut")
        .map(|(_, look)| look.seen.clone());
    let shown = row(&sitting, "Thread grade");
    match seen {
        Some(tinworm::car::Seen::Grade(grade)) => assert!(shown.contains(&grade.to_string()), "{shown}"),
        _ => assert!(shown.contains("not graded"), "{shown}"),
    }
}

#[test]
fn a_fixing_is_found_by_its_words() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("b/pivot right");
    sitting.key(Key::Enter);
    assert!(
        sitting.text().contains("Lower ball joint, front right: arm pivot bolt"),
        "{}",
        sitting.text()
    );
    sitting.key(Key::Enter);
    sitting.keys("62");
    sitting.key(Key::Ctrl('s'));
    same_picture("fixings-own-80x24", &sitting);
}

#[test]
fn what_was_scrolled_can_be_read_to_its_end() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("bjjj3");
    assert!(sitting.text().contains("more ↓"), "{}", sitting.text());
    for _ in 0..6 {
        sitting.keys(" ");
    }
    let text = sitting.text();
    assert!(
        text.contains("Split the nut") && text.contains('↑') && !text.contains("more ↓"),
        "{text}"
    );
    // The other way again, step by step, without keys that do nothing.
    sitting.key(Key::Home);
    assert!(sitting.text().contains("Guide"), "{}", sitting.text());
}
