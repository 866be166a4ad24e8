//! Forms half filled in when the program ends without warning.

use tinworm::rubric::builtin;
use tinworm::store::{Access, DataFolder};

use super::*;

/// A yard on disk with a whole car of the shipped rubrics.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    drop(yard.create(fixture_profile()).expect("a car"));
    folder
}

/// Its car opened anew, as after a restart.
fn opened(folder: &tempfile::TempDir) -> Sitting {
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    let car = yard.open("blue-estate", Access::Write).expect("the car");
    Sitting::at(builtin::library().clone(), World::car(car), (80, 24), dark())
}

fn kept(folder: &tempfile::TempDir) -> bool {
    folder.path().join("blue-estate/drafts.ron").exists()
}

#[test]
fn a_note_being_typed_is_back_when_it_is_opened_again_and_only_there() {
    let folder = folder();
    let mut sitting = opened(&folder);
    sitting.key(Key::Ctrl('s'));
    sitting.keys("N");
    sitting.keys("wet");
    assert!(!kept(&folder), "a word is quickly typed again");
    sitting.keys(" round the seal, dri");
    // Ended without warning: what was typed since the last word may be lost, nothing else.
    drop(sitting);
    assert!(kept(&folder));
    let mut sitting = opened(&folder);
    sitting.key(Key::Right);
    sitting.keys("N");
    assert!(
        !sitting.text().contains("round the seal"),
        "another check: {}",
        sitting.text()
    );
    sitting.key(Key::Esc);
    sitting.key(Key::Left);
    sitting.keys("N");
    let text = sitting.text();
    assert!(
        text.contains("wet round the seal, ") && text.contains("is back"),
        "{text}"
    );
    assert!(
        sitting.car().surveys[0].looks.is_empty(),
        "nothing is accepted by itself"
    );
    sitting.keys("dripping");
    sitting.key(Key::Ctrl('s'));
    assert_eq!(sitting.car().surveys[0].looks[0].note, "wet round the seal, dripping");
    assert!(!kept(&folder), "what is saved is no draft any more");
    sitting.keys("N");
    assert!(!sitting.text().contains("is back"), "{}", sitting.text());
}

#[test]
fn what_is_thrown_away_does_not_come_back() {
    let folder = folder();
    let mut sitting = opened(&folder);
    sitting.key(Key::Ctrl('s'));
    sitting.keys("N");
    sitting.keys("all of this is wrong ");
    assert!(kept(&folder));
    sitting.key(Key::Esc);
    sitting.keys("y");
    assert!(!kept(&folder));
    sitting.keys("N");
    assert!(!sitting.text().contains("wrong"), "{}", sitting.text());
}

#[test]
fn a_form_of_many_lines_is_kept_with_its_choices_and_several_forms_beside_each_other() {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = || World::yard(DataFolder::find(Some(folder.path())).expect("a data folder"));
    let mut sitting = Sitting::at(builtin::library().clone(), yard(), (80, 24), dark());
    sitting.keys("n");
    sitting.key(Key::Enter);
    sitting.keys("Grandfather's saloon");
    sitting.key(Key::Tab);
    sitting.keys("1968");
    sitting.key(Key::Tab);
    sitting.key(Key::Right);
    sitting.key(Key::Tab);
    let before = sitting.text();
    drop(sitting);
    let mut sitting = Sitting::at(builtin::library().clone(), yard(), (80, 24), dark());
    sitting.keys("n");
    sitting.key(Key::Enter);
    let text = sitting.text();
    assert!(text.contains("Grandfather's saloon") && text.contains("1968"), "{text}");
    for _ in 0..3 {
        sitting.key(Key::Tab);
    }
    let form = |text: &str| text.lines().skip(1).take(20).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(form(&sitting.text()), form(&before));
    sitting.key(Key::Ctrl('s'));
    assert_eq!(sitting.car().profile.name, "Grandfather's saloon");
    assert!(!folder.path().join("drafts.ron").exists());
}

#[test]
fn a_file_of_drafts_that_cannot_be_read_is_no_draft_and_no_harm() {
    let folder = folder();
    for rubbish in [
        "",
        "(schema: 99, drafts: [])",
        "\u{0}\u{1b}[2J",
        "(schema: 1, drafts: [(of: \"x\", lines: [])])",
    ] {
        std::fs::write(folder.path().join("blue-estate/drafts.ron"), rubbish).expect("written");
        let mut sitting = opened(&folder);
        if sitting.text().contains("Begin a survey") {
            sitting.key(Key::Ctrl('s'));
        }
        sitting.keys("N");
        assert!(!sitting.text().contains("is back"), "{rubbish:?}: {}", sitting.text());
        sitting.keys("typed nevertheless ");
        drop(sitting);
        let mut sitting = opened(&folder);
        sitting.keys("N");
        assert!(
            sitting.text().contains("typed nevertheless"),
            "{rubbish:?}: {}",
            sitting.text()
        );
        sitting.key(Key::Esc);
        sitting.keys("y");
    }
}
