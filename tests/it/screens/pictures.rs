//! The pictures under `screenshots/`, written by the ignored test here and compared by the other.
//!
//! `cargo test --test it -- --ignored write_screenshots` writes them; look at them before committing.

use std::path::PathBuf;

use super::svg::{DARK, LIGHT, picture};
use super::*;

/// Name, keys, and what it shows.
const PICTURES: [(&str, &str, &str); 7] = [
    (
        "round",
        "r/pinch\r3",
        "The Round: one check, its six descriptions, one key",
    ),
    ("standing", "s", "The Standing: what comes first, and why"),
    ("sides", "l", "Sides: left against right"),
    ("decline", "d", "Decline: history, forecast and limit of one check"),
    ("plan", "p", "The Plan: visits and the exposure they take away"),
    ("visit", "p\r", "Inside a visit"),
    (
        "fixings",
        "b/track rod end left ball stud\rjjj3",
        "Fixings: how tight, and what to try on a rusted one",
    ),
];

/// The form for a new car, in a yard without any.
fn new_car(theme: Theme) -> Buffer {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = tinworm::store::DataFolder::find(Some(folder.path())).expect("a data folder");
    let mut sitting = Sitting::at(builtin::library().clone(), World::yard(yard), (110, 32), theme);
    // The usual cars are offered first.
    sitting.keys("n");
    sitting.key(Key::Enter);
    sitting.keys("Blue estate");
    sitting.buffer()
}

/// The beginning of the report of the demo car, as the command line prints it.
fn report() -> Buffer {
    use tinworm::report::{Ink, Paper, Subject, whole};
    let sitting = Sitting::demo((110, 32), plain());
    let (car, reckoned, _) = sitting.asked();
    let subject = Subject {
        car: &car,
        library: builtin::library(),
        assessment: &reckoned.assessment,
    };
    let choice = whole::Choice {
        charts: 0,
        worksheets: false,
    };
    let report = whole::report(&subject, &reckoned.plan, choice);
    let paper = Paper {
        width: 108,
        ink: Ink::Plain,
    };
    let mut buffer = Buffer::empty(Rect::new(0, 0, 110, 40));
    for (y, line) in (0..40).zip(whole::text(&report, paper).lines()) {
        buffer.set_stringn(1, y, line, 108, Style::new());
    }
    buffer
}

fn drawn() -> Vec<(PathBuf, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("screenshots");
    let mut all = Vec::new();
    let indexed = |ground| Theme::fixed(Colours::Indexed, ground);
    for (name, buffer, palette, title) in [
        (
            "new-car-dark",
            new_car(indexed(Ground::Dark)),
            &DARK,
            "A new car: a form of one page",
        ),
        (
            "new-car-light",
            new_car(indexed(Ground::Light)),
            &LIGHT,
            "A new car: a form of one page",
        ),
        (
            "standing-sixteen",
            Sitting::demo((110, 32), Theme::fixed(Colours::Sixteen, Ground::Dark)).buffer(),
            &DARK,
            "The Standing in sixteen colours",
        ),
        (
            "decline-ascii",
            {
                let ascii = Theme { ascii: true, ..plain() };
                let mut sitting = Sitting::demo((110, 32), ascii);
                sitting.keys("d");
                sitting.buffer()
            },
            &DARK,
            "Decline without colours, in ASCII alone",
        ),
        ("report-light", report(), &LIGHT, "The report, as text"),
    ] {
        all.push((folder.join(format!("{name}.svg")), picture(&buffer, palette, title)));
    }
    for (name, keys, title) in PICTURES {
        for (ground, palette, suffix) in [(Ground::Dark, &DARK, "dark"), (Ground::Light, &LIGHT, "light")] {
            let mut sitting = Sitting::demo((110, 32), Theme::fixed(Colours::Indexed, ground));
            for c in keys.chars() {
                match c {
                    '\r' => sitting.key(Key::Enter),
                    '\u{13}' => sitting.key(Key::Ctrl('s')),
                    c => sitting.key(Key::Char(c)),
                }
            }
            let svg = picture(&sitting.buffer(), palette, title);
            all.push((folder.join(format!("{name}-{suffix}.svg")), svg));
        }
    }
    all
}

#[test]
fn the_pictures_are_of_the_present_screens() {
    for (path, svg) in drawn() {
        let kept = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(
            kept == svg,
            "{} is stale: run `cargo test --test it -- --ignored write_screenshots` and look at it",
            path.display()
        );
    }
}

#[test]
#[ignore = "writes the pictures"]
fn write_screenshots() {
    for (path, svg) in drawn() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("the folder");
        std::fs::write(path, svg).expect("the picture");
    }
}
