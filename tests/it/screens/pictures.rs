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

fn drawn() -> Vec<(PathBuf, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("screenshots");
    let mut all = Vec::new();
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
