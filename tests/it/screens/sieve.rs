//! Search and filters where there is no plain list of parts: search lists, the visits of the Plan, Fixings; and long texts.

use super::*;

fn line(text: &str, n: usize) -> String {
    text.lines().nth(n).unwrap_or_default().to_owned()
}

#[test]
fn search_lists_of_parts_are_narrowed_by_the_same_letters_with_ctrl() {
    for open in ["rj", "r/", "cv/", "d/", "b/"] {
        let mut sitting = Sitting::demo((120, 40), dark());
        sitting.keys(open);
        let all = sitting.text();
        let bar = all.lines().last().expect("a bar");
        assert!(
            bar.contains("Ctrl-F side") && bar.contains("Ctrl-T system"),
            "{open}: {bar}"
        );
        sitting.key(Key::Ctrl('f'));
        let left = sitting.text();
        assert!(left.contains("only left"), "{open}: {left}");
        // Within the list: the screen below it still shows both sides.
        let listed = |line: &str| Some(line.split_once('│')?.1.rsplit_once('│')?.0.to_owned());
        let listed: String = left.lines().filter_map(listed).collect();
        assert!(
            !listed.contains(", front right") && listed.contains(" left"),
            "{open}: {left}"
        );
        // What is typed narrows it further, and letters stay text.
        sitting.keys("ft");
        assert!(sitting.text().contains("/ ft"), "{open}: {}", sitting.text());
        sitting.key(Key::Backspace);
        sitting.key(Key::Backspace);
        sitting.key(Key::Ctrl('e'));
        assert!(
            sitting.text().contains("only left, front"),
            "{open}: {}",
            sitting.text()
        );
        sitting.key(Key::Esc);
        // The line that was selected may have been held back; all pass again, and the list stays.
        let count = |text: &str| {
            line(text, 2)
                .split_whitespace()
                .rev()
                .take(5)
                .collect::<Vec<_>>()
                .join(" ")
        };
        assert!(!sitting.text().contains("only left"), "{open}: {}", sitting.text());
        assert_eq!(count(&sitting.text()), count(&all), "{open}");
        sitting.keys("?");
        assert_eq!(
            sitting.text().matches("Search among parts").count(),
            0,
            "a question mark is text"
        );
    }
}

#[test]
fn a_place_chosen_from_a_narrowed_list_is_the_one_shown() {
    let mut sitting = Sitting::demo((120, 40), dark());
    sitting.keys("rj");
    sitting.key(Key::Ctrl('f'));
    sitting.key(Key::Ctrl('f'));
    sitting.key(Key::End);
    let text = sitting.text();
    assert!(text.contains("only right"), "{text}");
    sitting.key(Key::Down);
    sitting.key(Key::Down);
    sitting.key(Key::Enter);
    assert!(line(&sitting.text(), 3).contains("right"), "{}", sitting.text());
}

#[test]
fn the_visits_pass_with_one_of_their_parts_and_keep_their_numbers() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("pff");
    let text = sitting.text();
    assert!(text.contains("only right: 1 of 3 visits"), "{text}");
    assert!(
        text.contains(" 2 Sa 2026-12-05") && !text.contains(" 1 Sa 2026-11-28"),
        "{text}"
    );
    sitting.key(Key::Enter);
    assert!(sitting.text().contains("Visit 2 of 3"), "{}", sitting.text());
    sitting.keys("v");
    assert!(
        sitting.text().contains("Visit 2 of 3"),
        "no other passes: {}",
        sitting.text()
    );
    sitting.keys("qq");
    assert!(sitting.text().contains(" 1 Sa 2026-11-28"), "{}", sitting.text());
    sitting.keys("/brace");
    assert!(sitting.text().contains("1 of 3"), "{}", sitting.text());
    sitting.key(Key::Enter);
    sitting.key(Key::Enter);
    assert!(sitting.text().contains("Visit 3 of 3"), "{}", sitting.text());
    sitting.keys("q");
    sitting.keys("ee");
    assert!(
        sitting.text().contains("No visit passes the filter"),
        "{}",
        sitting.text()
    );
}

#[test]
fn fixings_are_gone_through_one_by_one_of_those_that_pass() {
    let mut sitting = Sitting::demo((80, 24), dark());
    sitting.keys("bf");
    let text = sitting.text();
    assert!(line(&text, 1).contains("only left: "), "{text}");
    let mut seen = Vec::new();
    for _ in 0..5 {
        sitting.key(Key::Tab);
        let title = line(&sitting.text(), 1);
        assert!(title.contains("left") && !seen.contains(&title), "{title}");
        seen.push(title);
    }
    sitting.key(Key::BackTab);
    assert_eq!(line(&sitting.text(), 1), seen[3]);
    sitting.keys("/");
    assert!(sitting.text().contains("Go to a fixing"), "{}", sitting.text());
    sitting.key(Key::Enter);
    assert_eq!(line(&sitting.text(), 1), seen[3], "the list begins where one stands");
    sitting.key(Key::Esc);
    assert!(!line(&sitting.text(), 1).contains("only left"), "{}", sitting.text());
}

#[test]
fn one_key_up_from_the_end_of_a_long_text_moves_it() {
    for open in ["s?", "si"] {
        for size in [(40, 12), (80, 24), (120, 20)] {
            let mut sitting = Sitting::demo(size, dark());
            sitting.keys(open);
            let top = sitting.text();
            sitting.key(Key::End);
            let end = sitting.text();
            // Where a notice takes a row, one line more is kept in hand than is needed.
            sitting.key(Key::Up);
            sitting.key(Key::Up);
            let up = sitting.text();
            assert!(end == top || up != end, "{open} at {size:?}: {up}");
        }
    }
}
