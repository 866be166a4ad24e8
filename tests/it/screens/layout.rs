//! Every screen at every size, and what must hold whatever is drawn.

use tinworm::tui::desk::{CarRow, CarSays};

use super::*;

/// Each main screen with the keys that lead to it.
pub const SCREENS: [(&str, &str); 11] = [
    ("standing", "s"),
    ("look-first", "sv"),
    ("sides", "l"),
    ("decline", "d"),
    ("plan", "p"),
    ("fixings", "bjjj3"),
    ("car", "c"),
    ("parts", "cv"),
    ("help", "s?"),
    ("reading", "si"),
    ("round-asks", "r"),
];

#[test]
fn every_screen_at_its_three_usual_sizes_and_the_least() {
    for (name, keys) in SCREENS {
        for size in [(40, 12), (80, 24), (120, 40), (200, 60)] {
            let mut sitting = Sitting::usual(size, dark());
            sitting.keys(keys);
            same_picture(&format!("{name}-{}x{}", size.0, size.1), &sitting);
        }
    }
}

/// A yard of four cars: one with a notice, one whose name is long, one without a survey, one that cannot be opened.
fn yard(size: (u16, u16)) -> (tempfile::TempDir, Sitting) {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = tinworm::store::DataFolder::find(Some(folder.path())).expect("a data folder");
    let mut sitting = Sitting::at(fixture::library(), World::yard(yard), size, dark());
    let row = |name: &str, last_survey, trouble: Option<&str>, says| CarRow {
        id: name.to_lowercase(),
        name: name.to_owned(),
        last_survey,
        trouble: trouble.map(str::to_owned),
        says,
    };
    let says = |part: &str, grade: u8, notice: bool, visit| CarSays {
        first: Some((part.to_owned(), Some(fixture::grade(grade)))),
        notice,
        next_visit: Some(visit),
    };
    let day = jiff::civil::date;
    let cars = vec![
        row(
            "Blue estate",
            Some(day(2026, 3, 28)),
            None,
            Some(says("Lower ball joint, front left", 4, true, day(2026, 11, 28))),
        ),
        row(
            "Grandfather's saloon with the vinyl roof",
            Some(day(2025, 10, 4)),
            None,
            Some(says(
                "Sill, right, at the rear jacking point",
                3,
                false,
                day(2026, 12, 5),
            )),
        ),
        row("Red van", None, None, None),
        row(
            "Spares",
            None,
            Some("profile.ron, line 4, column 2: this is no date"),
            None,
        ),
    ];
    sitting.tell(Msg::Listed(Ok(cars)));
    (folder, sitting)
}

#[test]
fn the_yard_the_round_and_a_visit_at_every_size() {
    for size in [(40, 12), (80, 24), (120, 40), (200, 60)] {
        let named = |name: &str| format!("{name}-{}x{}", size.0, size.1);
        let (_folder, sitting) = yard(size);
        same_picture(&named("yard"), &sitting);
        // While grading: one look behind, one just asked why.
        let mut sitting = Sitting::new(fixture::library(), fixture::car("Blue estate"), size, dark());
        sitting.reckoned = Some(Arc::new(fixture::reckoned()));
        sitting.keys("r");
        sitting.key(Key::Ctrl('s'));
        sitting.keys("3");
        same_picture(&named("round-grading"), &sitting);
        sitting.keys("x");
        same_picture(&named("round-why"), &sitting);
        let mut sitting = Sitting::usual(size, dark());
        sitting.keys("p");
        sitting.key(Key::Enter);
        same_picture(&named("visit"), &sitting);
    }
}

/// At the least size a grade can be given by its description, and nothing that matters is cut off.
#[test]
fn the_least_screen_can_be_graded_on_and_worked_from() {
    let mut sitting = Sitting::demo((40, 12), dark());
    sitting.keys("r");
    let mut seen = [false; 3];
    for _ in 0..120 {
        let text = sitting.text();
        let lines: Vec<&str> = text.lines().collect();
        if text.contains("0–5 grade") {
            let digits = (0..6)
                .filter(|n| {
                    lines
                        .iter()
                        .any(|l| l.replace('›', " ").starts_with(&format!("   {n}  ")))
                })
                .count();
            assert_eq!(digits, 6, "{text}");
            seen[0] = true;
        } else if text.contains("y yes") {
            assert!(
                lines.iter().any(|l| l.replace('›', " ").trim_start().starts_with("n ")),
                "{text}"
            );
            seen[1] = true;
        } else {
            assert!(text.contains("limit"), "{text}");
            seen[2] = true;
        }
        sitting.key(Key::Right);
    }
    assert_eq!(seen, [true; 3]);
    // A thread's figures are seen, and every line of a worksheet is whole.
    sitting.keys("b");
    assert!(sitting.text().contains("Guide"), "{}", sitting.text());
    sitting.keys("p");
    sitting.key(Key::Enter);
    for _ in 0..40 {
        let text = sitting.text();
        let sheet: Vec<&str> = text.lines().skip(3).take(6).collect();
        assert!(sheet.iter().all(|l| !l.contains('…')), "{text}");
        sitting.key(Key::PageDown);
    }
    sitting.keys("s");
    assert!(
        sitting.text().contains("never says a car is safe."),
        "{}",
        sitting.text()
    );
}

#[test]
fn without_colours_the_standing_still_tells_all_and_no_cell_has_one() {
    let sitting = Sitting::usual((80, 24), plain());
    same_picture("standing-no-colour", &sitting);
    for (_, keys) in SCREENS {
        let mut sitting = Sitting::usual((100, 30), plain());
        sitting.keys(keys);
        let buffer = sitting.buffer();
        assert!(
            buffer
                .content()
                .iter()
                .all(|c| c.fg == Color::Reset && c.bg == Color::Reset),
            "{keys}"
        );
    }
}

#[test]
fn no_screen_uses_red_green_or_yellow() {
    for theme in [
        dark(),
        Theme::fixed(Colours::Sixteen, Ground::Dark),
        Theme::fixed(Colours::Sixteen, Ground::Light),
        Theme::fixed(Colours::Indexed, Ground::Light),
        Theme::fixed(Colours::Exact, Ground::Dark),
    ] {
        for (_, keys) in SCREENS {
            let mut sitting = Sitting::usual((120, 40), theme);
            sitting.keys(keys);
            let lights = [
                Color::Red,
                Color::Green,
                Color::Yellow,
                Color::LightRed,
                Color::LightGreen,
                Color::LightYellow,
            ];
            let buffer = sitting.buffer();
            assert!(
                buffer
                    .content()
                    .iter()
                    .all(|c| !lights.contains(&c.fg) && !lights.contains(&c.bg)),
                "{keys}"
            );
        }
    }
}

#[test]
fn no_size_panics_and_too_small_says_what_is_needed() {
    for (_, keys) in SCREENS {
        let mut sitting = Sitting::usual((80, 24), dark());
        sitting.keys(keys);
        for size in [
            (0, 0),
            (1, 1),
            (5, 20),
            (39, 12),
            (40, 11),
            (40, 12),
            (41, 13),
            (60, 18),
            (300, 9),
            (9, 300),
            (300, 90),
        ] {
            sitting.resize(size);
            let text = sitting.text();
            if size == (39, 12) {
                let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(
                    said.contains("Needs 40 columns by 12 rows; this terminal has 39 by 12."),
                    "{text}"
                );
            }
        }
    }
}

#[test]
fn below_the_floor_no_key_changes_anything() {
    let mut sitting = Sitting::new(fixture::library(), fixture::fresh("Blue"), (80, 24), dark());
    sitting.key(Key::Ctrl('s'));
    let saved = sitting.saved;
    sitting.resize((40, 10));
    sitting.keys("012345xcy");
    assert_eq!(sitting.saved, saved);
    assert!(!sitting.left);
    sitting.keys("q");
    assert!(sitting.left);
}

#[test]
fn names_in_wide_letters_keep_the_edges() {
    let name = "上下上下 e\u{301}te\u{301} 🚗 \u{1b}[31m\u{202e}x";
    for size in [(80, 24), (61, 20), (120, 40)] {
        let mut sitting = Sitting::new(fixture::library(), fixture::car(name), size, dark());
        sitting.reckoned = Some(Arc::new(fixture::reckoned()));
        for keys in ["s", "c", "p"] {
            sitting.keys(keys);
            let text = sitting.text();
            assert!(!text.contains('\u{1b}') && !text.contains('\u{202e}'));
            for line in text.lines() {
                assert!(tinworm::text::width(line) <= usize::from(size.0), "{line}");
            }
        }
        // The form's right border stands in one column on every row of the box.
        sitting.keys("c");
        sitting.key(Key::Enter);
        let text = sitting.text();
        let ends: Vec<usize> = text
            .lines()
            .filter_map(|l| l.rfind(['│', '╮', '╯']).map(|at| tinworm::text::width(&l[..at])))
            .collect();
        assert!(ends.len() > 4, "{text}");
        assert!(ends.windows(2).all(|w| w[0] == w[1]), "{text}");
    }
}

#[test]
fn ascii_drawing_uses_only_ascii_whatever_a_car_is_called() {
    let theme = Theme { ascii: true, ..dark() };
    for (name, keys) in SCREENS {
        for size in [(40, 12), (80, 24), (120, 40)] {
            let mut sitting = Sitting::usual(size, theme);
            sitting.keys(keys);
            same_length(name, &sitting.text(), size);
        }
    }
    let mut sitting = Sitting::new(
        fixture::library(),
        fixture::car("Škoda 上 e\u{301} 🚗"),
        (80, 24),
        theme,
    );
    sitting.reckoned = Some(Arc::new(fixture::reckoned()));
    for keys in ["s", "c", "p"] {
        sitting.keys(keys);
        let text = sitting.text();
        same_length(keys, &text, (80, 24));
        assert!(text.contains("Skoda ?? e ??"), "{text}");
    }
}

/// At the least size each list still names its parts and shows what orders them.
#[test]
fn the_least_screen_still_tells_what_matters() {
    for (keys, words) in [
        ("s", ["Lower ball joi", "43.0"]),
        ("l", ["left", "43.0"]),
        ("d", ["limit", "2026"]),
        ("p", ["1 Sa 2026-11-28", "Lower"]),
        ("r", ["Day", "Odometer"]),
        ("c", ["Name", "Blue estate"]),
    ] {
        let mut sitting = Sitting::usual((40, 12), dark());
        sitting.keys(keys);
        let text = sitting.text();
        for words in words {
            assert!(text.contains(words), "{keys}: {words}\n{text}");
        }
    }
}

/// Nothing but printable ASCII, and no line longer than the screen is wide.
fn same_length(name: &str, text: &str, size: (u16, u16)) {
    for line in text.lines() {
        assert!(
            line.bytes().all(|b| (0x20..=0x7e).contains(&b)),
            "{name} at {size:?}: {line}"
        );
        assert!(line.len() <= usize::from(size.0), "{name} at {size:?}: {line}");
    }
}

/// The pictures as they look in each kind of terminal: characters, and styles where there are colours.
#[test]
fn the_pictures_in_every_kind_of_terminal() {
    let ascii = |theme: Theme| Theme { ascii: true, ..theme };
    let kinds = [
        ("exact-dark", Theme::fixed(Colours::Exact, Ground::Dark)),
        ("exact-light", Theme::fixed(Colours::Exact, Ground::Light)),
        ("indexed-light", Theme::fixed(Colours::Indexed, Ground::Light)),
        ("sixteen-dark", Theme::fixed(Colours::Sixteen, Ground::Dark)),
        ("sixteen-light", Theme::fixed(Colours::Sixteen, Ground::Light)),
        ("ascii", ascii(plain())),
    ];
    for (name, keys) in [("standing", "s"), ("decline", "d"), ("plan", "p")] {
        for (kind, theme) in kinds {
            let mut sitting = Sitting::usual((80, 24), theme);
            sitting.keys(keys);
            same_picture(&format!("{name}-{kind}"), &sitting);
        }
    }
}

#[test]
#[ignore = "shows every screen at a size for the eye"]
fn show() {
    let size = std::env::var("SIZE").unwrap_or_else(|_| "40x12".to_owned());
    let (w, h) = size.split_once('x').expect("WxH");
    let theme = Theme {
        ascii: std::env::var_os("ASCII").is_some(),
        ..dark()
    };
    for (name, keys) in SCREENS {
        let mut sitting = Sitting::usual((w.parse().unwrap(), h.parse().unwrap()), theme);
        sitting.keys(keys);
        println!("== {name}\n{}", sitting.text());
    }
}

#[test]
fn the_bottom_line_always_shows_help_and_the_way_out() {
    for (name, keys) in SCREENS.into_iter().filter(|(n, _)| *n != "round-asks") {
        for size in [(40, 12), (60, 18), (80, 24)] {
            let mut sitting = Sitting::usual(size, dark());
            sitting.keys(keys);
            let text = sitting.text();
            let bar = text.lines().last().unwrap_or_default();
            assert!(bar.contains("? keys") && bar.contains("q close"), "{name}: {bar}");
        }
    }
}

#[test]
fn q_and_escape_close_one_layer_at_a_time() {
    let mut sitting = Sitting::usual((80, 24), dark());
    sitting.keys("p");
    sitting.key(Key::Enter);
    assert!(sitting.text().contains("Visit 1 of 3"));
    sitting.keys("?");
    assert!(sitting.text().contains("Keys"));
    sitting.keys("q");
    assert!(sitting.text().contains("Visit 1 of 3") && !sitting.left);
    sitting.key(Key::Esc);
    assert!(sitting.text().contains("3 visits"));
    sitting.keys("q");
    assert!(sitting.left, "a car opened by itself has no yard to go back to");
}

#[test]
fn the_notice_stands_on_every_screen_that_orders_work() {
    for keys in ["s", "l", "d", "p"] {
        let mut sitting = Sitting::usual((80, 24), dark());
        sitting.keys(keys);
        let text = sitting.text();
        let second = text.lines().nth(1).unwrap_or_default();
        assert!(
            second.contains("Keep off the road: Lower ball joint, front left"),
            "{second}"
        );
        assert!(text.contains("never says that a car is safe"), "{text}");
    }
}
