//! The user's rubrics over the program's.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;

use tinworm::rubric::builtin;
use tinworm::store::{LibraryError, library, user_files};

#[test]
fn without_files_of_the_user_the_shipped_rubrics_are_in_force() {
    let config = tempfile::tempdir().unwrap();
    assert_eq!(
        library(Some(&config.path().join("rubrics"))).unwrap().all(),
        builtin::library().all()
    );
    fs::create_dir(config.path().join("rubrics")).unwrap();
    fs::write(config.path().join("rubrics/notes.txt"), "not a rubric").unwrap();
    fs::write(config.path().join("rubrics/.half.ron"), "(").unwrap();
    assert!(user_files(Some(&config.path().join("rubrics"))).unwrap().is_empty());
    assert_eq!(
        library(Some(&config.path().join("rubrics"))).unwrap().all(),
        builtin::library().all()
    );
}

#[test]
fn an_item_of_the_user_replaces_the_one_of_the_same_id_and_the_file_is_left_alone() {
    let config = tempfile::tempdir().unwrap();
    let folder = config.path().join("rubrics");
    fs::create_dir(&folder).unwrap();
    let climate = |name: &str| {
        format!(
            r#"(schema: 1, climates: [(id: "C9", name: "{name}", loss_from: 25.0, loss_to: 50.0, source: "judgement")])"#
        )
    };
    let later = format!("\u{feff}// kept\n{}", climate("by the sea"));
    fs::write(folder.join("a.ron"), climate("inland")).unwrap();
    fs::write(folder.join("b.ron"), &later).unwrap();
    let library = library(Some(&config.path().join("rubrics"))).unwrap();
    assert_eq!(library.climate("C9").unwrap().name, "by the sea");
    assert_eq!(
        library.all().climates.len(),
        builtin::library().all().climates.len() + 1
    );
    assert_eq!(fs::read_to_string(folder.join("b.ron")).unwrap(), later);
}

#[test]
fn every_mistake_of_every_file_is_told_with_its_place() {
    let config = tempfile::tempdir().unwrap();
    let folder = config.path().join("rubrics");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("a.ron"), b"(schema: 1,\n  climates: [\xff])").unwrap();
    fs::write(folder.join("b.ron"), "(schema: 1,\n  colours: [])").unwrap();
    fs::create_dir(folder.join("c.ron")).unwrap();
    let Err(LibraryError::Mistakes(mistakes)) = library(Some(&config.path().join("rubrics"))) else {
        panic!("no mistakes found");
    };
    let place = |file: &str| {
        let found = mistakes.iter().find(|m| m.file.ends_with(file)).unwrap();
        (found.line, found.column)
    };
    assert_eq!(place("a.ron"), (2, 14));
    assert_eq!(place("b.ron").0, 2);
    assert_eq!(place("c.ron"), (1, 1));
}

#[test]
fn a_file_where_the_folder_should_be_is_refused() {
    let config = tempfile::tempdir().unwrap();
    fs::write(config.path().join("rubrics"), "").unwrap();
    let error = library(Some(&config.path().join("rubrics"))).unwrap_err();
    assert!(matches!(error, LibraryError::Folder(_)), "{error}");
}
