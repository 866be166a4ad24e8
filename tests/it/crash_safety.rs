//! However the program ends and whatever single byte of the journal is damaged: a car is opened as it was before or after
//! a change, or refused by name of file and line. Never anything else.
#![allow(clippy::unwrap_used, clippy::panic)]

mod any;

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use proptest::prelude::*;
use tinworm::car::{Car, Change, PartNote, Wishes};
use tinworm::store::{Access, DataFolder, OpenCar, StoreError};

use any::any_change;

use crate::cars::{copy_folder, day, done, look, profile, survey};

/// A folder in memory where there is one: these tests open a car thousands of times, and each time the disk is waited for.
fn quick_folder() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm")
        .or_else(|_| tempfile::tempdir())
        .unwrap()
}

/// Changes of every kind; the ones that would hurt if applied twice are among them.
fn story() -> Vec<Vec<Change>> {
    let part = "track-rod-end@front-left";
    let mut other = profile("Märchen 物語 🚗 \"quoted\"");
    other.yearly_km = 0.1 + 0.2;
    vec![
        vec![survey("2026-03-14"), look("2026-03-14", part, "play", 3)],
        vec![done("2026-04-01", "replace-track-rod-end")],
        vec![done("2026-04-01", "replace-track-rod-end")],
        vec![Change::Undone(0)],
        vec![look("2026-03-14", part, "boot", 5)],
        vec![survey("2027-03-20"), look("2027-03-20", part, "boot", 0)],
        vec![Change::Profile(Box::new(other))],
        vec![Change::Part(
            part.parse().unwrap(),
            PartNote {
                note: "two\nlines".to_owned(),
                ..PartNote::default()
            },
        )],
        vec![
            Change::Torque(part.parse().unwrap(), torque("castle nut", "33 lbf·ft + 90°")),
            Change::Torque("tyre@rear".parse().unwrap(), torque("bolt", "100-120 N·m")),
        ],
        vec![Change::NoTorque("tyre@rear".parse().unwrap(), "bolt".to_owned())],
        vec![Change::Unlook {
            survey: day("2026-03-14"),
            part: part.parse().unwrap(),
            check: "play".to_owned(),
        }],
        vec![Change::Wishes(Wishes {
            ticked: vec![part.parse().unwrap()],
            ..Wishes::default()
        })],
        vec![done("2026-03-01", "grease")],
        vec![Change::Undone(1)],
        vec![survey("2028-03-18"), first_look("2028-03-18", part)],
        vec![Change::Unbegun(day("2028-03-18"))],
    ]
}

fn first_look(date: &str, part: &str) -> Change {
    Change::FirstLook {
        survey: day(date),
        asks: Some(vec![tinworm::car::Asked {
            part: part.parse().unwrap(),
            check: "play".to_owned(),
        }]),
    }
}

fn torque(fixing: &str, typed: &str) -> tinworm::car::OwnTorque {
    tinworm::car::OwnTorque {
        fixing: fixing.to_owned(),
        torque: tinworm::units::Torque::parse(typed).unwrap(),
        source: "manual, \"chapter 7\"".to_owned(),
    }
}

/// A car whose snapshot holds the first records of the story and whose journal holds the rest; with the car as it was
/// after the snapshot and after each later record.
fn half_way(data: &DataFolder, in_snapshot: usize) -> Vec<Car> {
    let mut open = data.create(profile("Car")).unwrap();
    let mut states = Vec::new();
    for (at, changes) in story().into_iter().enumerate() {
        if at == in_snapshot {
            open.tidy().unwrap();
            states.push(open.car().clone());
        }
        open.record_all(changes).unwrap();
        if at >= in_snapshot {
            states.push(open.car().clone());
        }
    }
    states
}

/// Opens the car for writing, and makes sure that it can go on from there.
fn goes_on(data: &DataFolder, expected: &Car) {
    let mut open = data.open("car", Access::Write).unwrap();
    assert_eq!(open.car(), expected);
    open.record(done("2028-01-01", "later")).unwrap();
    let after = open.car().clone();
    drop(open);
    let mut open = data.open("car", Access::Write).unwrap();
    assert_eq!(open.car(), &after);
    assert!(open.notices().is_empty(), "{:?}", open.notices());
    open.tidy().unwrap();
    drop(open);
    assert_eq!(data.open("car", Access::Read).unwrap().car(), &after);
}

#[test]
fn a_journal_cut_anywhere_gives_the_car_as_it_was_after_the_last_whole_record() {
    let folder = quick_folder();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    let states = half_way(&data, 3);
    let path = folder.path().join("car/journal");
    let whole = fs::read(&path).unwrap();
    assert_eq!(states.len(), 14);
    for cut in 0..=whole.len() {
        fs::write(&path, &whole[..cut]).unwrap();
        let lines = whole[..cut].iter().filter(|b| **b == b'\n').count();
        assert_eq!(
            data.open("car", Access::Read).unwrap().car(),
            &states[lines],
            "cut at {cut}"
        );
        let open = data.open("car", Access::Write).unwrap();
        assert_eq!(open.car(), &states[lines], "cut at {cut}");
        let torn = cut > 0 && whole[cut - 1] != b'\n';
        assert_eq!(open.notices().len(), usize::from(torn), "cut at {cut}");
        drop(open);
        if cut % 61 == 0 {
            let copy = quick_folder();
            copy_folder(folder.path(), copy.path());
            goes_on(&DataFolder::find(Some(copy.path())).unwrap(), &states[lines]);
        }
    }
}

#[test]
fn one_damaged_byte_takes_back_the_last_record_or_is_refused_by_its_line() {
    let folder = quick_folder();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    let states = half_way(&data, 3);
    let path = folder.path().join("car/journal");
    let whole = fs::read(&path).unwrap();
    let records = states.len() - 1;
    for at in 0..whole.len() {
        let kinds: [fn(u8) -> u8; 5] = [|b| b ^ 1, |_| b'\n', |b| b ^ 0x20, |_| 0, |_| 0xff];
        for (kind, damage) in kinds.into_iter().enumerate() {
            let mut bytes = whole.clone();
            bytes[at] = damage(bytes[at]);
            if bytes == whole {
                continue;
            }
            fs::write(&path, &bytes).unwrap();
            let line = whole[..at].iter().filter(|b| **b == b'\n').count() + 1;
            let seen = data.open("car", Access::Read).unwrap();
            assert_eq!(seen.car(), &states[line - 1], "byte {at}");
            assert_eq!(seen.notices().len(), 1, "byte {at}");
            assert_eq!(fs::read(&path).unwrap(), bytes, "reading changed the journal");
            // Opening for writing waits for the disk each time: two kinds of damage are enough for it.
            if kind > 1 {
                continue;
            }
            // A child that another test is just starting holds every lock of this process until it becomes its program.
            let opened = loop {
                match data.open("car", Access::Write) {
                    Ok(open) if open.read_only().is_some() => std::thread::yield_now(),
                    opened => break opened,
                }
            };
            match opened {
                Ok(open) => {
                    assert_eq!(line, records, "byte {at}: only the last record may be taken back");
                    assert_eq!(open.car(), &states[records - 1], "byte {at}");
                    assert_eq!(open.notices().len(), 1);
                }
                Err(StoreError::JournalDamaged { line: named, aside, .. }) => {
                    assert_eq!(named, line, "byte {at}");
                    assert_eq!(fs::read(aside.unwrap()).unwrap(), bytes);
                    assert_eq!(fs::read(&path).unwrap(), bytes, "a refused journal was changed");
                }
                Err(error) => panic!("byte {at}: {error}"),
            }
            for entry in fs::read_dir(folder.path().join("car")).unwrap() {
                let path = entry.unwrap().path();
                if path.to_string_lossy().contains("damaged") {
                    fs::remove_file(path).unwrap();
                }
            }
        }
    }
}

#[test]
fn a_lost_or_repeated_or_swapped_record_is_refused_by_its_line() {
    let folder = quick_folder();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    half_way(&data, 3);
    let path = folder.path().join("car/journal");
    let whole = fs::read_to_string(&path).unwrap();
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    let refused_at = |text: String| {
        fs::write(&path, text).unwrap();
        match data.open("car", Access::Write) {
            Err(StoreError::JournalDamaged { line, .. }) => line,
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(refused_at(lines[1..].concat()), 1);
    assert_eq!(refused_at([&lines[..2], &lines[3..]].concat().concat()), 3);
    assert_eq!(refused_at([&lines[..3], &lines[2..]].concat().concat()), 4);
    assert_eq!(refused_at([lines[1], lines[0]].concat()), 1);
}

#[test]
fn a_crash_between_any_two_files_of_a_snapshot_loses_nothing_and_repeats_nothing() {
    let before = quick_folder();
    let data = DataFolder::find(Some(before.path())).unwrap();
    let states = half_way(&data, 3);
    let last = states.last().unwrap();
    let after = quick_folder();
    copy_folder(before.path(), after.path());
    let tidied = DataFolder::find(Some(after.path())).unwrap();
    tidied.open("car", Access::Write).unwrap().tidy().unwrap();
    let pieces = [
        "profile.ron",
        "parts.ron",
        "repairs.ron",
        "wishes.ron",
        "surveys/2026-03-14.ron",
        "surveys/2027-03-20.ron",
    ];
    let all = (1_u32 << pieces.len()) - 1;
    // Whatever files had been replaced when the power went, in whatever order; then all and the state; then the journal.
    let mut crashes: Vec<(u32, &[&str])> = (0..=all).map(|set| (set, [].as_slice())).collect();
    crashes.push((all, &["state.ron"]));
    crashes.push((all, &["state.ron", "journal"]));
    for (set, more) in crashes {
        let crashed = quick_folder();
        copy_folder(before.path(), crashed.path());
        let replaced = pieces
            .iter()
            .enumerate()
            .filter(|(at, _)| set & (1 << at) != 0)
            .map(|(_, p)| p);
        for file in replaced.chain(more) {
            fs::copy(
                after.path().join("car").join(file),
                crashed.path().join("car").join(file),
            )
            .unwrap();
        }
        goes_on(&DataFolder::find(Some(crashed.path())).unwrap(), last);
    }
}

#[test]
fn a_survey_taken_back_stays_so_wherever_a_snapshot_is_interrupted_and_its_file_goes() {
    let date = "2028-03-18";
    let part = "track-rod-end@front-left";
    let before = quick_folder();
    let data = DataFolder::find(Some(before.path())).unwrap();
    let mut open = data.create(profile("Car")).unwrap();
    open.record_all(vec![survey(date), first_look(date, part)]).unwrap();
    open.record(look(date, part, "play", 3)).unwrap();
    open.tidy().unwrap();
    let file = format!("car/surveys/{date}.ron");
    assert!(before.path().join(&file).exists());
    let refused = open.record(Change::Unbegun(day(date))).unwrap_err().to_string();
    assert!(refused.contains("has looks"), "{refused}");
    // Looked once more and taken back, so that the journal speaks of looks of a survey whose file may be gone.
    open.record(look(date, part, "boot", 2)).unwrap();
    for check in ["boot", "play"] {
        open.record(Change::Unlook {
            survey: day(date),
            part: part.parse().unwrap(),
            check: check.to_owned(),
        })
        .unwrap();
    }
    open.record(Change::Unbegun(day(date))).unwrap();
    let last = open.car().clone();
    assert!(last.surveys.is_empty());
    drop(open);
    let after = quick_folder();
    copy_folder(before.path(), after.path());
    let tidied = DataFolder::find(Some(after.path())).unwrap();
    tidied.open("car", Access::Write).unwrap().tidy().unwrap();
    assert!(!after.path().join(&file).exists(), "its file is gone");
    let (library, today) = (tinworm::rubric::builtin::library(), day(date));
    assert!(
        tidied
            .verify("car", library, today)
            .unwrap()
            .troubles
            .iter()
            .all(|t| !t.damage)
    );
    // Before the list, after the list, after the file went.
    for (list, gone) in [(false, false), (true, false), (true, true)] {
        assert!(before.path().join(&file).exists());
        let crashed = quick_folder();
        copy_folder(before.path(), crashed.path());
        if list {
            let state = "car/state.ron";
            fs::copy(after.path().join(state), crashed.path().join(state)).unwrap();
        }
        if gone {
            fs::remove_file(crashed.path().join(&file)).unwrap();
        }
        let data = DataFolder::find(Some(crashed.path())).unwrap();
        assert_eq!(data.open("car", Access::Read).unwrap().car(), &last, "{list} {gone}");
        goes_on(&data, &last);
        assert!(!crashed.path().join(&file).exists(), "{list} {gone}");
    }
    goes_on(&tidied, &last);
    // Begun again on the same day, it is a new one.
    let mut open = data.open("car", Access::Write).unwrap();
    open.record(survey(date)).unwrap();
    let again = open.car().clone();
    drop(open);
    assert!(again.surveys[0].first_look.is_none() && again.surveys[0].looks.is_empty());
    goes_on(&data, &again);
}

#[test]
fn a_file_put_back_from_an_older_copy_is_noticed() {
    let folder = quick_folder();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    let older = quick_folder();
    half_way(&data, 3);
    copy_folder(folder.path(), older.path());
    data.open("car", Access::Write).unwrap().tidy().unwrap();
    for file in ["repairs.ron", "surveys/2026-03-14.ron"] {
        let path = folder.path().join("car").join(file);
        let newer = fs::read(&path).unwrap();
        fs::copy(older.path().join("car").join(file), &path).unwrap();
        let error = data.open("car", Access::Write).unwrap_err();
        assert!(matches!(error, StoreError::OutOfStep { .. }), "{error}");
        assert!(error.to_string().contains(file), "{error}");
        fs::remove_file(&path).unwrap();
        let error = data.open("car", Access::Write).unwrap_err();
        assert!(matches!(error, StoreError::Missing { .. }), "{error}");
        fs::write(&path, newer).unwrap();
    }
    data.open("car", Access::Write).unwrap();
    // The other way round: the journal is older than the files.
    fs::copy(older.path().join("car/state.ron"), folder.path().join("car/state.ron")).unwrap();
    let error = data.open("car", Access::Write).unwrap_err();
    assert!(matches!(error, StoreError::OutOfStep { .. }), "{error}");
}

/// Runs one of the helpers below in a process of its own.
fn helper(name: &str, folder: &Path) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args(["--exact", name, "--ignored", "--nocapture", "--test-threads=1"])
        .env("TINWORM_TEST_FOLDER", folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    command
}

fn helper_folder() -> Option<DataFolder> {
    let folder = std::env::var_os("TINWORM_TEST_FOLDER")?;
    Some(DataFolder::find(Some(Path::new(&folder))).unwrap())
}

#[test]
#[ignore = "run by the test below, which kills it"]
fn records_until_killed() {
    let Some(data) = helper_folder() else { return };
    let mut open = data.open("car", Access::Write).unwrap();
    let start = open.car().repairs.len();
    for n in start..100_000 {
        open.record(done("2026-04-01", &format!("repair-{n}"))).unwrap();
        println!("recorded {n}");
        if n % 7 == 6 {
            open.tidy().unwrap();
        }
    }
}

#[test]
fn a_program_killed_at_any_moment_keeps_every_record_it_had_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    drop(data.create(profile("Car")).unwrap());
    let mut acknowledged = 0;
    for round in 0..12_u64 {
        let mut child = helper("crash_safety::records_until_killed", folder.path())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let stop_after = 3 + round * 5 % 23;
        let mut seen = 0;
        for line in lines {
            let line = line.unwrap();
            // The test harness may print before and on the same line as the first record.
            if let Some((_, number)) = line.split_once("recorded ") {
                acknowledged = number.parse::<usize>().unwrap() + 1;
                seen += 1;
                if seen == stop_after {
                    std::thread::sleep(std::time::Duration::from_micros(round * 370));
                    child.kill().unwrap();
                }
            }
        }
        child.wait().unwrap();
        assert!(seen >= stop_after, "the helper recorded only {seen}");
        let open = data.open("car", Access::Write).unwrap();
        assert!(open.held_by().is_none(), "the lock outlived its program");
        let repairs = &open.car().repairs;
        assert!(
            repairs.len() == acknowledged || repairs.len() == acknowledged + 1,
            "{} of {acknowledged}",
            repairs.len()
        );
        for (n, repair) in repairs.iter().enumerate() {
            assert_eq!(repair.repair, format!("repair-{n}"));
        }
        acknowledged = repairs.len();
    }
    let strays = |folder: &Path| {
        let names = fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned());
        names.filter(|n| n.starts_with('.')).count()
    };
    assert_eq!(
        strays(&folder.path().join("car")),
        0,
        "half-written files were left behind"
    );
}

#[test]
#[ignore = "run by the test below on a tiny file system"]
fn records_until_the_disk_is_full() {
    let Some(data) = helper_folder() else { return };
    let mut open = data.create(profile("Car")).unwrap();
    let note = "x".repeat(900);
    let mut full = 0;
    for n in 0..2000 {
        let before = open.car().clone();
        let mut change = done("2026-04-01", &format!("repair-{n}"));
        if let Change::Done(done) = &mut change {
            done.note.clone_from(&note);
        }
        let outcome = open.record(change);
        if n % 50 == 49 {
            // May fail as well; must not lose anything.
            let _ = open.tidy();
        }
        if outcome.is_err() {
            assert_eq!(open.car(), &before, "a refused change is in the car");
            full += 1;
            if full == 3 {
                break;
            }
        }
    }
    assert_eq!(full, 3, "the disk never filled");
    let car = open.car().clone();
    drop(open);
    let open = data.open("car", Access::Write).unwrap();
    assert_eq!(open.car(), &car);
    println!("held out with {} repairs", car.repairs.len());
}

#[test]
fn a_full_disk_refuses_the_change_and_loses_nothing() {
    let folder = quick_folder();
    let inner = helper("crash_safety::records_until_the_disk_is_full", folder.path());
    let mut command = Command::new("unshare");
    command
        .args(["--map-root-user", "--mount", "sh", "-c"])
        .arg(
            r#"mount -t tmpfs -o size=512k none "$TINWORM_TEST_FOLDER" || { echo "no tiny disk"; exit 0; }; exec "$@""#,
        )
        .arg("sh")
        .arg(inner.get_program())
        .args(inner.get_args())
        .env("TINWORM_TEST_FOLDER", folder.path());
    // Where no private mount is allowed, there is nothing to test with.
    let Ok(output) = command.output() else { return };
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    if text.contains("no tiny disk") || errors.contains("unshare") {
        return;
    }
    assert!(
        output.status.success() && text.contains("held out with"),
        "{text}{errors}"
    );
}

#[derive(Debug, Clone)]
enum Step {
    Change(Change),
    Together(Vec<Change>),
    Tidy,
    Reopen,
}

fn any_step() -> impl Strategy<Value = Step> {
    prop_oneof![
        8 => any_change().prop_map(Step::Change),
        2 => prop::collection::vec(any_change(), 0..4).prop_map(Step::Together),
        1 => Just(Step::Tidy),
        1 => Just(Step::Reopen),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn any_history_is_the_same_on_disk_as_in_memory(steps in prop::collection::vec(any_step(), 1..40)) {
        let folder = quick_folder();
        let data = DataFolder::find(Some(folder.path())).unwrap();
        let mut open = Some(data.create(profile("Car")).unwrap());
        for step in steps {
            let car: &mut OpenCar = open.as_mut().unwrap();
            let before = car.car().clone();
            let outcome = match step {
                Step::Change(change) => car.record(change),
                Step::Together(changes) => car.record_all(changes),
                Step::Tidy => {
                    car.tidy().unwrap();
                    Ok(())
                }
                Step::Reopen => {
                    drop(open.take());
                    let again = data.open("car", Access::Write).unwrap();
                    prop_assert_eq!(again.car(), &before);
                    prop_assert!(again.notices().is_empty());
                    open = Some(again);
                    Ok(())
                }
            };
            if outcome.is_err() {
                prop_assert_eq!(open.as_ref().unwrap().car(), &before);
            }
        }
        let car = open.take().unwrap().car().clone();
        let seen = data.open("car", Access::Read).unwrap();
        prop_assert_eq!(seen.car(), &car);
        let mut again = data.open("car", Access::Write).unwrap();
        prop_assert_eq!(again.car(), &car);
        again.tidy().unwrap();
        drop(again);
        let seen = data.open("car", Access::Read).unwrap();
        prop_assert_eq!(seen.car(), &car);
    }
}
