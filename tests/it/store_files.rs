//! Cars as folders: names, round trips, locks, and what is refused.
#![allow(clippy::unwrap_used, clippy::panic)]

use tinworm::store::{Access, DataFolder};

use crate::cars::{done, look, profile, survey};

#[test]
fn what_is_recorded_is_there_when_the_car_is_opened_again_tidied_or_not() {
    let folder = tempfile::tempdir().unwrap();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    let mut open = data.create(profile("Häßliches Entlein")).unwrap();
    assert_eq!(open.name(), "haessliches-entlein");
    open.record(survey("2026-03-14")).unwrap();
    open.record(look("2026-03-14", "track-rod-end@front-left", "play", 3))
        .unwrap();
    open.record(done("2026-04-01", "replace-track-rod-end")).unwrap();
    let car = open.car().clone();
    drop(open);
    let mut open = data.open("häßliches", Access::Write).unwrap();
    assert_eq!(open.car(), &car);
    open.tidy().unwrap();
    drop(open);
    let open = data.open("haess", Access::Read).unwrap();
    assert_eq!(open.car(), &car);
    assert!(walk(open.folder()).len() >= 8);
}

fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(walk(&path))
        } else {
            files.push(path)
        }
    }
    files.sort();
    files
}
