//! Photos on the Round: chosen, kept, looked at beside last time's, and not shown before the grade.

use std::fs;

use image::ImageFormat;
use ratatui::style::Color;
use tempfile::TempDir;
use tinworm::car::{Car, Change};
use tinworm::store::{Access, DataFolder};
use tinworm::tui::app::Msg;
use tinworm::tui::keys::{Input, Key};
use tinworm::tui::theme::{Colours, Ground, Theme};
use tinworm::tui::world::World;

use super::{Sitting, dark, fixture, plain};
use crate::photos::{bytes, halves};

/// A folder of pictures, and the fixture's car on disk with a survey begun.
fn sitting(size: (u16, u16), theme: Theme) -> (TempDir, Sitting) {
    let place = TempDir::new().unwrap();
    let pictures = place.path().join("pictures");
    fs::create_dir_all(pictures.join("winter")).unwrap();
    fs::write(pictures.join("boot-1.png"), bytes(&halves(40, 20), ImageFormat::Png)).unwrap();
    fs::write(pictures.join("boot-2.JPG"), bytes(&halves(40, 40), ImageFormat::Jpeg)).unwrap();
    fs::write(pictures.join("notes.txt"), "no picture").unwrap();
    fs::write(pictures.join("fake.png"), "no picture").unwrap();
    let data = DataFolder::find(Some(&place.path().join("cars"))).unwrap();
    let mut open = data.create(fixture::profile("Blue estate")).unwrap();
    for date in ["2026-04-10", "2026-11-21"] {
        let date = date.parse().unwrap();
        open.record(Change::Survey {
            date,
            odometer_km: None,
            note: String::new(),
        })
        .unwrap();
    }
    let sitting = Sitting::at(fixture::library(), World::car(open), size, theme);
    (place, sitting)
}

fn paste(sitting: &mut Sitting, words: &str) {
    sitting.tell(Msg::Input(Input::Paste(words.to_owned())));
}

fn photos(car: &Car) -> usize {
    car.surveys.iter().flat_map(|s| &s.looks).map(|l| l.photos.len()).sum()
}

/// The colours of all cells with a half block.
fn blocks(sitting: &Sitting) -> Vec<(Color, Color)> {
    let buffer = sitting.buffer();
    buffer
        .content
        .iter()
        .filter(|c| c.symbol() == "▀")
        .map(|c| (c.fg, c.bg))
        .collect()
}

#[test]
fn a_photo_is_chosen_by_its_path_and_kept_with_the_look() {
    let (place, mut sitting) = sitting((80, 24), dark());
    sitting.keys("r");
    sitting.keys("f");
    assert!(sitting.text().contains("Add a photo"), "{}", sitting.text());
    // As a terminal pastes a folder that was dropped on it.
    paste(&mut sitting, &format!("'{}/'", place.path().join("pictures").display()));
    let listed = sitting.text();
    for word in ["winter", "folder", "boot-1.png", "boot-2.JPG"] {
        assert!(listed.contains(word), "{word}: {listed}");
    }
    assert!(!listed.contains("notes.txt"), "{listed}");
    sitting.keys("b");
    sitting.key(Key::Tab);
    assert!(sitting.text().contains("pictures/boot-"), "{}", sitting.text());
    sitting.keys("2");
    sitting.key(Key::Enter);
    let text = sitting.text();
    assert!(text.contains("Photo 1 of this check kept, 40 by 40 points"), "{text}");
    assert!(text.contains("1 photo"), "{text}");
    assert_eq!(photos(&sitting.car()), 1);
    // Into a folder and a wrong file: said, and the choice stays open.
    sitting.keys("f");
    paste(&mut sitting, &format!("{}/w", place.path().join("pictures").display()));
    sitting.key(Key::Enter);
    assert!(sitting.text().contains("No folder or picture"), "{}", sitting.text());
    paste(
        &mut sitting,
        &format!("{}/fake.png", place.path().join("pictures").display()),
    );
    sitting.key(Key::Enter);
    assert!(
        sitting.text().contains("neither a JPEG nor a PNG"),
        "{}",
        sitting.text()
    );
    sitting.key(Key::Esc);
    assert_eq!(photos(&sitting.car()), 1);
    // On disk with the car, and not lost by a grade.
    sitting.keys("3");
    assert_eq!(photos(&sitting.car()), 1);
    drop(sitting);
    let data = DataFolder::find(Some(&place.path().join("cars"))).unwrap();
    assert_eq!(photos(data.open("blue-estate", Access::Read).unwrap().car()), 1);
}

#[test]
fn a_photo_hung_on_a_look_is_taken_back_and_made_again() {
    let (place, mut sitting) = sitting((80, 24), dark());
    sitting.keys("r");
    let on_disk = |name: &str| {
        let data = DataFolder::find(Some(&place.path().join("cars"))).unwrap();
        let open = data.open("blue-estate", Access::Read).unwrap();
        (photos(open.car()), open.photo(name).is_ok())
    };
    for (nth, name) in ["boot-1.png", "boot-2.JPG"].into_iter().enumerate() {
        sitting.keys("f");
        paste(
            &mut sitting,
            &place.path().join("pictures").join(name).display().to_string(),
        );
        sitting.key(Key::Enter);
        assert_eq!(photos(&sitting.car()), nth + 1, "{}", sitting.text());
    }
    let both = (*sitting.car()).clone();
    let looks = both.surveys.iter().flat_map(|s| &s.looks);
    let names: Vec<String> = looks.flat_map(|l| l.photos.clone()).collect();
    sitting.keys("u");
    assert!(sitting.text().contains("Taken back: "), "{}", sitting.text());
    assert_eq!(
        on_disk(&names[1]),
        (1, true),
        "its file stays, so that it can come again"
    );
    sitting.keys("u");
    assert_eq!(photos(&sitting.car()), 0);
    assert!(
        sitting.car().surveys.iter().all(|s| s.looks.is_empty()),
        "the look that the photo began is gone with it"
    );
    sitting.keys("UU");
    assert_eq!(*sitting.car(), both, "{}", sitting.text());
    for name in &names {
        assert_eq!(on_disk(name), (2, true));
    }
}

#[test]
fn last_times_photo_stands_beside_once_there_is_a_grade() {
    let (place, mut sitting) = sitting((100, 30), dark());
    let pictures = place.path().join("pictures");
    sitting.keys("r");
    sitting.keys("f");
    paste(&mut sitting, &format!("{}/boot-1.png", pictures.display()));
    sitting.key(Key::Enter);
    // The same photo at the survey before, with a grade.
    let car = sitting.car();
    let mut look = car.surveys[1].looks[0].clone();
    look.seen = tinworm::car::Seen::Grade(fixture::grade(2));
    let before = "2026-04-10".parse().unwrap();
    let changed = sitting
        .world
        .record(vec![Change::Look { survey: before, look }])
        .unwrap();
    sitting.app.desk.lay(changed);
    sitting.keys("v");
    let hidden = sitting.text();
    assert!(
        hidden.contains("once this check is graded") && !hidden.contains("2026-04-10"),
        "{hidden}"
    );
    assert!(!hidden.contains("grade 2"));
    let one = blocks(&sitting);
    assert!(one.len() > 100, "{}", one.len());
    sitting.key(Key::Esc);
    sitting.keys("4");
    sitting.key(Key::Left);
    sitting.keys("v");
    let both = sitting.text();
    assert!(
        both.contains("2026-11-21: grade 4") && both.contains("2026-04-10: grade 2"),
        "{both}"
    );
    // Two halves in each of the two, the left one red and the right one blue, in colours of the indexed table.
    let buffer = sitting.buffer();
    let row: Vec<Color> = (0..100)
        .filter_map(|x| buffer.cell((x, 8)))
        .filter(|c| c.symbol() == "▀")
        .map(|c| c.fg)
        .collect();
    let mut runs = row.clone();
    runs.dedup();
    // A cell over the border of the halves is a mean of both.
    assert_eq!(runs.len(), 6, "{runs:?}");
    assert_eq!(runs[..3], runs[3..]);
    assert!(row.iter().all(|c| matches!(c, Color::Indexed(n) if *n >= 16)));
    sitting.keys("o");
    assert_eq!(sitting.opened.len(), 1);
    assert!(sitting.opened[0].starts_with(fs::canonicalize(place.path().join("cars/blue-estate/photos")).unwrap()));
    sitting.resize((60, 18));
    assert!(!blocks(&sitting).is_empty());
    sitting.keys("q");
    assert!(!sitting.left && blocks(&sitting).is_empty());
}

#[test]
fn a_preview_uses_the_colours_there_are() {
    let true_colour = Theme::fixed(Colours::Exact, Ground::Dark);
    let sixteen = Theme::fixed(Colours::Sixteen, Ground::Dark);
    let ascii = Theme { ascii: true, ..dark() };
    for (theme, shown) in [
        (true_colour, "rgb"),
        (dark(), "indexed"),
        (sixteen, "named"),
        (plain(), ""),
        (ascii, ""),
    ] {
        let (place, mut sitting) = sitting((80, 24), theme);
        sitting.keys("r");
        sitting.keys("f");
        paste(
            &mut sitting,
            &format!("{}/boot-1.png", place.path().join("pictures").display()),
        );
        sitting.key(Key::Enter);
        sitting.keys("v");
        let found = blocks(&sitting);
        if shown.is_empty() {
            assert!(found.is_empty());
            assert!(sitting.text().contains("No preview"), "{}", sitting.text());
            continue;
        }
        assert!(found.len() > 100, "{shown}: {}", found.len());
        for (fg, bg) in found {
            for colour in [fg, bg] {
                let right = match colour {
                    Color::Rgb(..) => shown == "rgb",
                    Color::Indexed(_) => shown == "indexed",
                    _ => shown == "named",
                };
                assert!(right, "{shown}: {colour:?}");
            }
        }
    }
}

#[test]
fn the_demo_says_why_it_has_no_photos() {
    let mut sitting = Sitting::new(fixture::library(), fixture::car("Blue estate"), (80, 24), dark());
    sitting.app.desk.keeping = tinworm::tui::desk::Keeping::Memory;
    sitting.keys("r");
    sitting.keys("f");
    assert!(!sitting.text().contains("Add a photo"), "{}", sitting.text());
}
