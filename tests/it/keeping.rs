//! Generations, `verify`, repair and `restore`: what is damaged is named, put right from what was kept, and never lost.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tinworm::car::{Car, Change};
use tinworm::rubric::builtin;
use tinworm::store::{Access, DataFolder, StoreError, Verified};

use crate::cars::{day, done, look, profile, survey};

fn data() -> (tempfile::TempDir, DataFolder) {
    let folder = tempfile::tempdir().unwrap();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    (folder, data)
}

/// A car whose parts the built-in rubrics know.
fn known() -> tinworm::car::Profile {
    let mut profile = profile("Car");
    profile.layout = vec!["rack".to_owned(), "front-strut".to_owned(), "front-drive".to_owned()];
    profile
}

/// A car with two snapshots and one record after them.
fn with_a_past(data: &DataFolder) -> Car {
    let mut open = data.create(known()).unwrap();
    open.record_all(vec![
        survey("2026-03-14"),
        look("2026-03-14", "track-rod-end@front-left", "boot", 3),
    ])
    .unwrap();
    open.tidy().unwrap();
    open.record(look("2026-03-14", "track-rod-end@front-right", "boot", 2))
        .unwrap();
    open.record(done("2026-04-01", "renew-track-rod-end")).unwrap();
    open.tidy().unwrap();
    open.record(done("2026-05-01", "renew-track-rod-end")).unwrap();
    open.car().clone()
}

fn verified(data: &DataFolder) -> Verified {
    data.verify("car", builtin::library(), day("2026-11-25")).unwrap()
}

fn opened(data: &DataFolder) -> Car {
    let open = data.open("car", Access::Write).unwrap();
    assert_eq!(open.read_only(), None);
    open.car().clone()
}

/// Every file of a folder with its bytes, but for the lock.
fn files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if !path.ends_with("lock") {
                found.push((path.clone(), fs::read(path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

#[test]
fn a_whole_car_has_no_trouble_and_looking_changes_nothing() {
    let (folder, data) = data();
    let car = with_a_past(&data);
    let before = files(folder.path());
    let seen = verified(&data);
    assert_eq!(seen.troubles, []);
    assert_eq!(seen.counted, (2, 2, 3));
    assert!(data.repair("car").unwrap().is_empty());
    assert_eq!(files(folder.path()), before);
    assert_eq!(opened(&data), car);
}

#[test]
fn any_one_damaged_or_missing_file_is_put_back_without_loss_and_kept_aside() {
    let names = [
        "state.ron",
        "profile.ron",
        "parts.ron",
        "repairs.ron",
        "wishes.ron",
        "progress.ron",
        "surveys/2026-03-14.ron",
    ];
    type Way = fn(&[u8]) -> Option<Vec<u8>>;
    let ways: [(&str, Way); 5] = [
        ("cut", |b| Some(b[..b.len() / 2].to_vec())),
        ("empty", |_| Some(Vec::new())),
        ("zeros", |b| Some(vec![0; b.len()])),
        ("missing", |_| None),
        ("foreign", |_| Some(b"\xff\xfe(\0s\0".to_vec())),
    ];
    for name in names {
        for (how, way) in ways {
            let (folder, data) = data();
            let car = with_a_past(&data);
            let path = folder.path().join("car").join(name);
            let damaged = way(&fs::read(&path).unwrap());
            match &damaged {
                Some(bytes) => fs::write(&path, bytes).unwrap(),
                None => fs::remove_file(&path).unwrap(),
            }
            assert!(data.open("car", Access::Write).is_err(), "{name} {how}");
            let seen = verified(&data);
            assert!(seen.damaged(), "{name} {how}");
            let trouble = seen.troubles.iter().find(|t| t.damage && t.file == path).unwrap();
            assert!(trouble.advice.contains("--repair"), "{trouble}");
            if how == "cut" {
                assert!(trouble.line > 0 && trouble.column > 0, "{trouble}");
            }
            let said = data.repair("car").unwrap().join("\n");
            assert_eq!(opened(&data), car, "{name} {how}: {said}");
            assert!(!verified(&data).damaged());
            if name != "state.ron" {
                assert!(said.contains("nothing of it is lost"), "{said}");
            }
            if let Some(bytes) = damaged {
                let aside = path.with_file_name(format!("{}.damaged-1", path.file_name().unwrap().to_string_lossy()));
                assert_eq!(fs::read(aside).unwrap(), bytes, "{name} {how}");
            }
        }
    }
}

#[test]
fn an_older_file_put_back_is_replaced_by_the_newer_copy() {
    let (folder, data) = data();
    let car = with_a_past(&data);
    let path = folder.path().join("car/repairs.ron");
    fs::copy(folder.path().join("car/generations/repairs/0.ron"), &path).unwrap();
    assert!(matches!(
        data.open("car", Access::Write),
        Err(StoreError::OutOfStep { .. })
    ));
    assert!(data.repair("car").unwrap().join("\n").contains("nothing of it is lost"));
    assert_eq!(opened(&data), car);
}

#[test]
fn a_journal_damaged_in_the_middle_is_kept_up_to_the_damage() {
    let (folder, data) = data();
    with_a_past(&data);
    let mut open = data.open("car", Access::Write).unwrap();
    let good = open.car().clone();
    open.record(done("2026-06-01", "one")).unwrap();
    open.record(done("2026-06-02", "two")).unwrap();
    drop(open);
    let path = folder.path().join("car/journal");
    let text = fs::read_to_string(&path).unwrap().replace("\"one\"", "\"eno\"");
    fs::write(&path, &text).unwrap();
    let seen = verified(&data);
    let trouble = seen.troubles.iter().find(|t| t.damage).unwrap();
    assert_eq!((trouble.file.clone(), trouble.line), (path.clone(), 2), "{trouble}");
    let said = data.repair("car").unwrap().join("\n");
    assert_eq!(opened(&data), good, "{said}");
    assert_eq!(
        fs::read_to_string(path.with_file_name("journal.damaged-1")).unwrap(),
        text
    );
}

#[test]
fn without_a_kept_copy_a_file_is_set_aside_and_without_a_profile_nothing_is_touched() {
    let (folder, data) = data();
    with_a_past(&data);
    fs::remove_dir_all(folder.path().join("car/generations")).unwrap();
    let survey = folder.path().join("car/surveys/2026-03-14.ron");
    fs::write(&survey, "(").unwrap();
    let said = data.repair("car").unwrap().join("\n");
    assert!(said.contains("goes on without it"), "{said}");
    assert!(opened(&data).surveys.is_empty());
    assert_eq!(opened(&data).repairs.len(), 2);
    assert_eq!(
        fs::read(survey.with_file_name("2026-03-14.ron.damaged-1")).unwrap(),
        b"("
    );

    fs::remove_dir_all(folder.path().join("car/generations")).unwrap();
    fs::write(folder.path().join("car/profile.ron"), "(").unwrap();
    let before = files(folder.path());
    let error = data.repair("car").unwrap_err();
    assert!(error.to_string().contains("no copy of it is kept"), "{error}");
    assert_eq!(files(folder.path()), before);
}

#[test]
fn what_a_newer_program_wrote_is_reported_and_never_repaired() {
    let (folder, data) = data();
    with_a_past(&data);
    fs::write(folder.path().join("car/repairs.ron"), "(schema: 9, holds: ())").unwrap();
    let before = files(folder.path());
    assert!(verified(&data).troubles[0].to_string().contains("newer tinworm"));
    assert!(matches!(data.repair("car"), Err(StoreError::LeftAlone { .. })));
    assert!(matches!(data.restore("car", 3), Err(StoreError::LeftAlone { .. })));
    assert_eq!(files(folder.path()), before);
}

#[test]
fn an_interrupted_repair_can_be_done_again() {
    let (folder, data) = data();
    let car = with_a_past(&data);
    let copy = tempfile::tempdir().unwrap();
    crate::cars::copy_folder(folder.path(), copy.path());
    fs::write(folder.path().join("car/profile.ron"), "(").unwrap();
    data.repair("car").unwrap();
    // Any number of the files written, the list of files and the journal not yet.
    let names = [
        "profile.ron",
        "parts.ron",
        "repairs.ron",
        "wishes.ron",
        "progress.ron",
        "surveys/2026-03-14.ron",
    ];
    for written in 1..names.len() {
        let crashed = tempfile::tempdir().unwrap();
        crate::cars::copy_folder(copy.path(), crashed.path());
        for name in &names[..written] {
            fs::copy(
                folder.path().join("car").join(name),
                crashed.path().join("car").join(name),
            )
            .unwrap();
        }
        let data = DataFolder::find(Some(crashed.path())).unwrap();
        assert!(verified(&data).damaged(), "{written}");
        data.repair("car").unwrap();
        assert_eq!(opened(&data), car, "{written}");
    }
}

#[test]
fn generations_are_bounded_and_each_gives_the_car_as_it_was() {
    let (folder, data) = data();
    let mut open = data.create(known()).unwrap();
    let mut states = vec![open.car().clone()];
    for n in 1..=12_i8 {
        let date = format!("2026-03-{n:02}");
        let changes = if n % 3 == 0 {
            vec![done(&date, "r")]
        } else {
            vec![survey(&date)]
        };
        open.record_all(changes).unwrap();
        open.tidy().unwrap();
        states.push(open.car().clone());
    }
    drop(open);
    let kept = data.generations("car").unwrap();
    assert_eq!(kept.iter().map(|g| g.number).collect::<Vec<_>>(), [12, 11, 10, 9, 8]);
    for generation in kept {
        assert_eq!(
            generation.car.unwrap(),
            states[usize::try_from(generation.number).unwrap()]
        );
        assert!(generation.written.is_some());
    }
    let count = |sub: &str| {
        fs::read_dir(folder.path().join("car/generations").join(sub))
            .unwrap()
            .count()
    };
    assert_eq!(count("state"), 5);
    assert_eq!(count("profile"), 1);
    assert!(count("repairs") <= 3, "{}", count("repairs"));
    assert_eq!(count("surveys/2026-03-01"), 1);
}

#[test]
fn restoring_goes_back_keeps_the_present_aside_and_can_itself_be_undone() {
    let (folder, data) = data();
    let car = with_a_past(&data);
    let back = data.generations("car").unwrap();
    assert_eq!(back.iter().map(|g| g.number).collect::<Vec<_>>(), [3, 1, 0]);
    let first = back[1].car.as_ref().unwrap().clone();
    let before = files(&folder.path().join("car"));
    let aside = data.restore("car", 1).unwrap();
    assert_eq!(opened(&data), first);
    assert_eq!(first.repairs.len(), 0);
    for (path, bytes) in before {
        let below = path.strip_prefix(folder.path().join("car")).unwrap();
        if !below.starts_with("generations") {
            assert_eq!(fs::read(aside.join(below)).unwrap(), bytes, "{}", below.display());
        }
    }
    // The record after the last snapshot is in the folder set aside; the snapshot itself is a generation still.
    data.restore("car", 3).unwrap();
    let again = opened(&data);
    assert_eq!(again.repairs.len(), car.repairs.len() - 1);
    assert_eq!(again.surveys, car.surveys);
    // A survey that the earlier car did not have goes.
    data.restore("car", 0).unwrap();
    assert!(opened(&data).surveys.is_empty());
    let mut open = data.open("car", Access::Write).unwrap();
    open.record(done("2026-07-01", "later")).unwrap();
    open.tidy().unwrap();
    drop(open);
    assert_eq!(opened(&data).repairs.len(), 1);
    assert_eq!(verified(&data).troubles.iter().filter(|t| t.damage).count(), 0);
    let error = data.restore("car", 77).unwrap_err();
    assert!(matches!(error, StoreError::NoGeneration { asked: 77, .. }), "{error}");
}

#[test]
fn what_does_not_fit_is_remarked_with_its_place_and_keeps_nobody_out() {
    let (folder, data) = data();
    let mut profile = known();
    profile.layout.push("flying-carpet".to_owned());
    let mut open = data.create(profile).unwrap();
    let mut changes = vec![
        survey("1980-01-01"),
        survey("2026-03-14"),
        look("2026-03-14", "track-rod-end@front-left", "shine", 3),
        look("2026-03-14", "wing@left", "feathers", 3),
        survey("2031-01-01"),
        done("2031-02-01", "polish"),
    ];
    if let Change::Survey { odometer_km, .. } = &mut changes[4] {
        *odometer_km = Some(5.0);
    }
    let gone = format!("{}.jpg", "5".repeat(64));
    let photo = |changes: &mut Vec<Change>, at: usize, name: &str| {
        if let Change::Look { look, .. } = &mut changes[at] {
            look.photos = vec![name.to_owned()];
        }
    };
    // A name that leads out of the folder is not even recorded.
    let mut leading_out = changes.clone();
    photo(&mut leading_out, 3, "../../etc/passwd");
    assert!(open.record_all(leading_out).is_err());
    photo(&mut changes, 2, &gone);
    open.record_all(changes).unwrap();
    open.tidy().unwrap();
    drop(open);
    let seen = verified(&data);
    assert!(!seen.damaged());
    let said: Vec<String> = seen.troubles.iter().map(ToString::to_string).collect();
    for (place, what) in [
        ("profile.ron:", "flying-carpet"),
        ("surveys/1980-01-01.ron:5:", "older than the car"),
        ("surveys/2026-03-14.ron:9:", "no rubric has the check `shine`"),
        ("surveys/2026-03-14.ron:9:", "is named but not there"),
        ("surveys/2026-03-14.ron:10:", "`feathers` of wing@left"),
        ("surveys/2031-01-01.ron:5:", "in the future"),
        ("surveys/2031-01-01.ron:6:", "odometer reads less"),
        ("repairs.ron:5:", "`polish` of 2031-02-01 is in the future"),
        ("repairs.ron:5:", "no rubric has the repair `polish`"),
    ] {
        assert!(
            said.iter().any(|s| s.contains(place) && s.contains(what)),
            "{place} {what}: {said:#?}"
        );
    }
    assert!(data.repair("car").unwrap().is_empty());
    fs::create_dir_all(folder.path().join("car/photos")).unwrap();
    fs::write(folder.path().join("car/photos").join(&gone), "x").unwrap();
    let said: Vec<String> = verified(&data).troubles.iter().map(ToString::to_string).collect();
    assert!(!said.iter().any(|s| s.contains("is named but not there")), "{said:?}");
}

#[test]
fn on_the_command_line_damage_is_exit_1_and_repair_and_restore_say_what_they_did() {
    let (folder, data) = data();
    with_a_past(&data);
    let run = |words: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_tinworm"))
            .args(words)
            .env("TINWORM_DATA", folder.path())
            .env("TINWORM_RUBRICS", folder.path().join("none"))
            .output()
            .unwrap();
        let text = format!(
            "{}{}",
            String::from_utf8_lossy(&output.stdout),
            String::from_utf8_lossy(&output.stderr)
        );
        (output.status.code().unwrap(), text)
    };
    let (code, text) = run(&["verify", "car"]);
    assert!(
        code == 0 && text.contains("car: whole; 2 looks, 2 repairs and 3 generations read"),
        "{text}"
    );
    let path = folder.path().join("car/repairs.ron");
    fs::write(&path, "(schema: 1,\n  through: x)").unwrap();
    let (code, text) = run(&["verify", "--all"]);
    assert!(code == 1 && text.contains("repairs.ron:2:11: "), "{text}");
    assert_eq!(fs::read(&path).unwrap(), b"(schema: 1,\n  through: x)");
    let (code, text) = run(&["verify", "car", "--repair"]);
    assert!(code == 0 && text.contains("repaired: repairs.ron: put back"), "{text}");
    assert!(text.contains("1 damaged file set aside"), "{text}");
    let (code, text) = run(&["restore", "car", "--list"]);
    assert!(code == 0 && text.contains("generation 1, written "), "{text}");
    let (code, text) = run(&["restore", "car", "--generation", "1"]);
    assert!(code == 0 && text.contains("set-aside-1"), "{text}");
    assert_eq!(run(&["restore", "car", "--generation", "99"]).0, 3);
    assert_eq!(run(&["restore", "car"]).0, 2);
    assert_eq!(run(&["verify"]).0, 2);
    assert_eq!(run(&["verify", "nobody"]).0, 3);
    let held = data.open("car", Access::Write).unwrap();
    assert_eq!(run(&["restore", "car", "--generation", "1"]).0, 4);
    drop(held);
}
