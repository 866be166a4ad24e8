//! Mistakes of form: what RON itself, the types and the bytes of a file forbid.

use proptest::prelude::*;

use super::{SMALL, listed, mistakes, source, spoiled};
use tinworm::rubric::parse::{file, from_bytes};

/// Spoils the small set in one place and expects one mistake, at the mark.
#[track_caller]
fn one(old: &str, new: &str, words: &[&str]) {
    let (text, line, column) = spoiled(SMALL, old, new);
    let found = mistakes(&[("small.ron", &text)]);
    assert_eq!(found.len(), 1, "{old} → {new}:\n{}", listed(&found));
    let said = listed(&found);
    assert!(
        said.starts_with(&format!("small.ron:{line}:{column}: ")),
        "not at {line}:{column}: {said}"
    );
    assert!(words.iter().all(|w| said.contains(w)), "{words:?} not in {said}");
}

#[test]
fn values_of_the_wrong_kind_are_pointed_at() {
    one(
        "limit: 1.6",
        "limit: §\"1.6\"",
        &["components[1].checks[0].kind", "should be a number"],
    );
    one(
        "name: \"Tread depth\"",
        "name: §7",
        &["`components[1].checks[0].name` should be a text"],
    );
    one("minutes: 4,", "minutes: §true,", &["should be a number"]);
    one(
        "keeps_off_the_road: true",
        "keeps_off_the_road: §1",
        &["`true` or `false`"],
    );
    one(
        "system: Wheels",
        "system: §Weels",
        &["`Weels` is no choice", "write `Wheels`"],
    );
    one(
        "at: [\"front-left\", \"front-right\"]),",
        "at: [\"front-left\", §\"frontright\"]),",
        &["`frontright` is no station"],
    );
    one("(from: 5, class", "(from: §7, class", &["a grade is 0 to 5, not 7"]);
}

#[test]
fn fields_that_are_missing_unknown_or_twice() {
    let (text, ..) = spoiled(SMALL, "                    how: \"Measure the main grooves.\",\n", "");
    let said = listed(&mistakes(&[("small.ron", &text)]));
    // The place is the bracket that closes the check.
    let line = text
        .split_at(text.find("Tread depth").expect("the check"))
        .0
        .matches('\n')
        .count()
        + 5;
    assert!(
        said.starts_with(&format!("small.ron:{line}:")) && said.contains("has no `how`"),
        "{line}: {said}"
    );
    one(
        "hours: 1.5,",
        "hours: 1.5, §hour: 2.0,",
        &["`hour` is no field here", "write `hours`"],
    );
    one("hours: 1.5,", "hours: 1.5, §hours: 2.0,", &["has `hours` twice"]);
}

#[test]
fn endless_numbers_are_refused() {
    for number in ["inf", "-inf", "NaN", "1e999", "inff64"] {
        one(
            "limit: 1.5",
            &format!("limit: §{number}"),
            &[&format!("`{number}` is no number")],
        );
    }
    one("edges: (0.1, 0.3,", "edges: (0.1, §NaN,", &["`NaN` is no number"]);
}

#[test]
fn a_newer_schema_is_refused_in_a_sentence_and_nothing_else_is_said() {
    one(
        "schema: 1",
        "schema: §2, colours: [(\"new\")]",
        &["schema 2", "use a newer tinworm"],
    );
    one("schema: 1", "schema: §0", &["no schema 0", "write `schema: 1`"]);
}

#[test]
fn bytes_that_are_no_text_are_pointed_at() {
    let mut bytes = SMALL.as_bytes().to_vec();
    let at = SMALL.find("Tyre").expect("a tyre");
    bytes.insert(at, 0xE4);
    let mistake = from_bytes("ä.ron", &bytes).expect_err("no UTF-8");
    let line = SMALL.split_at(at).0.matches('\n').count() + 1;
    assert_eq!((mistake.line, mistake.column), (line, 20));
    assert!(mistake.what.contains(&format!("byte {}", at + 1)), "{mistake}");
}

#[test]
fn a_byte_order_mark_does_not_matter() {
    let marked = format!("\u{feff}{SMALL}");
    assert_eq!(file("a.ron", &marked), file("a.ron", SMALL));
    let read = from_bytes("a.ron", marked.as_bytes()).expect("a text");
    assert_eq!(read, source("a.ron", SMALL));
}

#[test]
fn windows_line_ends_do_not_shift_a_mistake() {
    let (text, line, column) = spoiled(SMALL, "limit: 1.5", "limit: §0.0");
    let found = mistakes(&[("small.ron", &text.replace('\n', "\r\n"))]);
    assert_eq!(
        found.iter().map(|m| (m.line, m.column)).collect::<Vec<_>>(),
        [(line, column)]
    );
}

#[test]
fn brackets_nested_without_end_are_refused() {
    let deep = format!("(schema: 1, components: {}", "[".repeat(100_000));
    assert_eq!(mistakes(&[("deep.ron", &deep)]).len(), 1);
    assert_eq!(mistakes(&[("empty.ron", "")]).len(), 1);
}

#[test]
fn what_could_drive_a_terminal_does_not_reach_the_message() {
    let (text, ..) = spoiled(SMALL, "id: \"garage\"", "id: \"gar\\u{1b}[31mage\u{202e}\"");
    let said = listed(&mistakes(&[("small.ron", &text)]));
    assert!(
        said.contains("is no id") && !said.contains('\u{1b}') && !said.contains('\u{202e}'),
        "{said:?}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    /// A set with passages cut, doubled or overwritten gives mistakes with a place in the text, or loads; it never stumbles.
    #[test]
    fn a_spoiled_set_never_makes_the_reader_stumble(
        spots in prop::collection::vec((0usize..9000, 0usize..40, 0u8..4, prop::sample::select(vec![
            "(", ")", "[", "]", "\"", ",", ":", "'", "/*", "*/", "r#\"", "é", "NaN", "-1", "0", "Some(", "{", "\u{0}",
        ])), 1..6)
    ) {
        let mut text: Vec<char> = SMALL.chars().collect();
        for (at, length, how, piece) in spots {
            let at = at % text.len().max(1);
            let end = (at + length).min(text.len());
            match how {
                0 => drop(text.drain(at..end)),
                1 => { let copy: Vec<char> = text.iter().skip(at).take(length).copied().collect(); text.splice(at..at, copy); }
                2 => drop(text.splice(at..end, piece.chars())),
                _ => drop(text.splice(at..at, piece.chars())),
            }
        }
        let text: String = text.into_iter().collect();
        let lines = text.split('\n').count();
        for mistake in mistakes(&[("spoiled.ron", &text)]) {
            prop_assert!(mistake.line >= 1 && mistake.line <= lines, "{}", mistake);
            let width = text.split('\n').nth(mistake.line - 1).map_or(0, |l| l.chars().count());
            prop_assert!(mistake.column >= 1 && mistake.column <= width + 2, "{}", mistake);
        }
    }
}
