//! Cars as folders: names, round trips, locks, and what is refused.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::Path;

use tinworm::car::{Car, Change, ChangeError, PartNote};
use tinworm::store::{Access, DataFolder, StoreError};

use crate::cars::{copy_folder, done, look, profile, survey};

fn data() -> (tempfile::TempDir, DataFolder) {
    let folder = tempfile::tempdir().unwrap();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    (folder, data)
}

/// A car `car` with a survey, a look and a repair, tidied.
fn one_car(data: &DataFolder) -> Car {
    let mut open = data.create(profile("Car")).unwrap();
    open.record(survey("2026-03-14")).unwrap();
    open.record(look("2026-03-14", "track-rod-end@front-left", "play", 3))
        .unwrap();
    open.record(done("2026-04-01", "replace-track-rod-end")).unwrap();
    open.tidy().unwrap();
    open.car().clone()
}

#[test]
fn what_is_recorded_is_there_when_the_car_is_opened_again_tidied_or_not() {
    let (_folder, data) = data();
    let odd = "Häßliches \"Entlein\"\n物語 🚗 \u{202e}\u{1b}[31m";
    let mut open = data.create(profile(odd)).unwrap();
    assert_eq!(open.name(), "haessliches-entlein-31m");
    open.record(survey("2026-03-14")).unwrap();
    let mut change = look("2026-03-14", "track-rod-end@front-left/upper", "play", 3);
    if let Change::Look { look, .. } = &mut change {
        look.note = "first line\nsecond \"line\" \\ \r\n\t物語 🚗 e\u{301}\u{0}".to_owned();
        look.photos = vec![format!("{}.jpg", "0f".repeat(32))];
    }
    open.record(change).unwrap();
    open.record(done("2026-04-01", "replace-track-rod-end")).unwrap();
    let car = open.car().clone();
    drop(open);
    let mut open = data.open(odd, Access::Write).unwrap();
    assert_eq!(open.car(), &car);
    open.tidy().unwrap();
    assert_eq!(fs::read(open.folder().join("journal")).unwrap(), b"");
    drop(open);
    let open = data.open("haess", Access::Read).unwrap();
    assert_eq!(open.car(), &car);
    assert!(open.car().surveys[0].looks[0].note.starts_with("first line\nsecond"));
}

#[test]
fn the_files_can_be_read_by_people_and_do_not_change_without_reason() {
    let (folder, data) = data();
    one_car(&data);
    let read = |name: &str| fs::read_to_string(folder.path().join("car").join(name)).unwrap();
    insta::assert_snapshot!(read("surveys/2026-03-14.ron"), @r#"
    (
      schema: 1,
      through: 3,
      holds: (
        date: "2026-03-14",
        odometer_km: 123456.7,
        note: "after the thaw",
        looks: [
          (part: "track-rod-end@front-left", check: "play", seen: Grade(3), note: "", photos: []),
        ],
      ),
    )
    "#);
    insta::assert_snapshot!(read("state.ron"), @r#"
    (
      schema: 1,
      through: 3,
      files: [
        ("profile.ron", 0),
        ("parts.ron", 0),
        ("surveys/2026-03-14.ron", 3),
        ("repairs.ron", 3),
        ("wishes.ron", 0),
        ("progress.ron", 0),
      ],
    )
    "#);
    let untouched = fs::metadata(folder.path().join("car/surveys/2026-03-14.ron"))
        .unwrap()
        .modified()
        .unwrap();
    let mut open = data.open("car", Access::Write).unwrap();
    open.record(done("2026-05-01", "grease")).unwrap();
    // The checksum was reckoned with another program: zlib's crc32 of the text after it.
    insta::assert_snapshot!(read("journal"), @r#"10c34e6b 4 [Done((date:"2026-05-01",repair:"grease",part:"track-rod-end@front-left",odometer_km:0.3333333333333333,hours:1.5,cost:None,note:""))]"#);
    open.tidy().unwrap();
    let now = fs::metadata(folder.path().join("car/surveys/2026-03-14.ron"))
        .unwrap()
        .modified()
        .unwrap();
    assert_eq!(now, untouched, "a file that had not changed was written again");
}

#[test]
fn folders_are_named_after_cars_and_nothing_can_climb_out() {
    let (folder, data) = data();
    let longest = "x".repeat(300);
    for (name, expected) in [
        ("Rusty", "rusty"),
        ("rusty", "rusty-2"),
        ("RUSTY!", "rusty-3"),
        ("../../etc", "etc"),
        ("..", "car"),
        ("", "car-2"),
        ("物語", "car-3"),
        ("🚗", "car-4"),
        ("a/b\\c:d", "a-b-c-d"),
        ("Škoda Łódź Ærø", "skoda-lodz-aero"),
        ("CON", "con-car"),
        ("com1", "com1-car"),
        ("-.-", "car-5"),
        (longest.as_str(), &longest[..40]),
    ] {
        assert_eq!(data.create(profile(name)).unwrap().name(), expected, "{name:?}");
    }
    let names: Vec<String> = fs::read_dir(folder.path())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(names.len(), 14, "{names:?}");
    let (_folder, data) = self::data();
    data.create(profile("Rusty")).unwrap();
    data.create(profile("Rusty")).unwrap();
    for asked in ["..", ".", "/etc", "../x", "rusty/../rusty", "", " ", "nobody"] {
        let error = data.open(asked, Access::Write).unwrap_err();
        assert!(matches!(error, StoreError::NoSuchCar { .. }), "{asked}: {error}");
        assert!(error.to_string().contains("rusty-2"), "{error}");
    }
}

#[test]
fn a_car_answers_to_its_folder_its_own_name_and_the_beginning_of_either() {
    let (_folder, data) = data();
    for name in ["Green Van", "Greenhouse", "Old Friend", "old friend"] {
        data.create(profile(name)).unwrap();
    }
    let finds = |asked: &str| data.open(asked, Access::Read).map(|open| open.name().to_owned());
    assert_eq!(finds("green-van").unwrap(), "green-van");
    assert_eq!(finds("GREEN VAN").unwrap(), "green-van");
    assert_eq!(finds("greenh").unwrap(), "greenhouse");
    assert_eq!(finds("old-friend").unwrap(), "old-friend");
    for (asked, several) in [
        ("green", "green-van, greenhouse"),
        ("Old Friend", "old-friend, old-friend-2"),
    ] {
        let error = finds(asked).unwrap_err();
        assert!(matches!(error, StoreError::SeveralCars { .. }), "{error}");
        assert!(error.to_string().contains(several), "{error}");
    }
    let (_empty, data) = self::data();
    let error = data.open("any", Access::Read).unwrap_err().to_string();
    assert!(error.contains("there are no cars yet"), "{error}");
    assert!(data.cars().unwrap().is_empty());
}

#[test]
fn a_second_program_reads_only_and_says_who_writes() {
    let (_folder, data) = data();
    let mut first = data.create(profile("Car")).unwrap();
    first.record(survey("2026-03-14")).unwrap();
    let mut second = data.open("car", Access::Write).unwrap();
    assert_eq!(second.car(), first.car());
    assert_eq!(second.held_by().unwrap().process, Some(std::process::id()));
    let error = second.record(survey("2026-03-15")).unwrap_err();
    assert!(matches!(error, StoreError::ReadOnly { .. }), "{error}");
    assert!(error.to_string().contains(&std::process::id().to_string()), "{error}");
    assert!(second.tidy().is_err());
    let third = data.open("car", Access::Read).unwrap();
    assert!(third.held_by().is_none());
    first.record(survey("2026-03-16")).unwrap();
    drop(first);
    let mut fourth = data.open("car", Access::Write).unwrap();
    assert_eq!(fourth.read_only(), None);
    assert_eq!(fourth.car().surveys.len(), 2);
    fourth.record(survey("2026-03-17")).unwrap();
}

#[test]
fn somebody_who_reads_while_another_writes_sees_whole_records_in_order() {
    let (_folder, data) = data();
    drop(data.create(profile("Car")).unwrap());
    let writer = std::thread::spawn({
        let data = data.clone();
        move || {
            let mut open = data.open("car", Access::Write).unwrap();
            for n in 0..200 {
                open.record(done("2026-04-01", &format!("{n}"))).unwrap();
                if n % 5 == 0 {
                    open.tidy().unwrap();
                }
            }
        }
    });
    let mut seen = 0;
    while !writer.is_finished() {
        let open = data.open("car", Access::Read).unwrap();
        let repairs = &open.car().repairs;
        assert!(repairs.len() >= seen, "{} after {seen}", repairs.len());
        seen = repairs.len();
        assert!(repairs.iter().enumerate().all(|(n, r)| r.repair == n.to_string()));
    }
    writer.join().unwrap();
    assert_eq!(data.open("car", Access::Read).unwrap().car().repairs.len(), 200);
}

#[test]
fn a_refused_change_leaves_everything_as_it_was() {
    let (folder, data) = data();
    let car = one_car(&data);
    let mut open = data.open("car", Access::Write).unwrap();
    let refused = [
        vec![look("2026-03-15", "disc@front-left", "lip", 2)],
        vec![done("2026-05-01", "good"), Change::Undone(7)],
        vec![Change::Survey {
            date: "2026-05-01".parse().unwrap(),
            odometer_km: Some(f64::NAN),
            note: String::new(),
        }],
        vec![Change::Survey {
            date: "2026-05-01".parse().unwrap(),
            odometer_km: Some(-1.0),
            note: String::new(),
        }],
        vec![Change::Profile(Box::new({
            let mut profile = profile("Car");
            profile.salted_months = vec![13];
            profile
        }))],
        vec![torque("nut", f64::NAN, None)],
        vec![torque("nut", 0.0, None)],
        vec![torque("nut", 50.0, Some(40.0))],
        vec![Change::NoTorque("strut@front-left".parse().unwrap(), "nut".to_owned())],
        // Not a name that can be read back.
        vec![Change::Part(
            tinworm::rubric::PartId::new("Not An Id", tinworm::rubric::Station::default()),
            PartNote {
                added: true,
                ..PartNote::default()
            },
        )],
    ];
    for changes in refused {
        let error = open.record_all(changes.clone()).unwrap_err();
        assert!(
            matches!(error, StoreError::Change(_) | StoreError::BadValue(_)),
            "{changes:?}: {error}"
        );
        assert_eq!(open.car(), &car);
        assert_eq!(fs::read(folder.path().join("car/journal")).unwrap(), b"");
    }
    let error = open.record(Change::Undone(1)).unwrap_err();
    assert!(matches!(error, StoreError::Change(ChangeError::NoRepair(1))));
}

fn torque(fixing: &str, value: f64, up_to: Option<f64>) -> Change {
    let torque = tinworm::units::Torque {
        value,
        up_to,
        unit: tinworm::units::TorqueUnit::PoundFeet,
        angles: vec![90.0],
    };
    let own = tinworm::car::OwnTorque {
        fixing: fixing.to_owned(),
        torque,
        source: String::new(),
    };
    Change::Torque("strut@front-left".parse().unwrap(), own)
}

#[test]
fn tightening_values_are_kept_and_files_from_before_them_are_read() {
    let (folder, data) = data();
    one_car(&data);
    let file = folder.path().join("car/parts.ron");
    {
        let mut open = data.open("car", Access::Write).unwrap();
        open.record(torque("top nut", 33.0, Some(37.0))).unwrap();
        open.tidy().unwrap();
    }
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains("top nut") && text.contains("PoundFeet"), "{text}");
    let open = data.open("car", Access::Write).unwrap();
    let strut: tinworm::rubric::PartId = "strut@front-left".parse().unwrap();
    let own = open.car().torque(&strut, "top nut").unwrap().clone();
    assert_eq!(own.torque.to_string(), "33–37 lbf·ft (45–50 N·m) + 90°");
    drop(open);
    // As a program wrote it that knew no tightening values.
    let before = text.lines().map(|line| match line.find(", torques: [") {
        Some(at) => {
            let rest = &line[at + ", torques: [".len()..];
            let end = rest.rfind("],").unwrap_or_else(|| panic!("{line}"));
            format!("{}{}", &line[..at], &rest[end + 1..])
        }
        None => line.to_owned(),
    });
    let before = before.collect::<Vec<_>>().join("\n");
    assert!(!before.contains("torques"), "{before}");
    fs::write(&file, before).unwrap();
    let open = data.open("car", Access::Read).unwrap();
    assert!(open.notices().is_empty(), "{:?}", open.notices());
    assert!(open.car().parts[&strut].torques.is_empty());
}

#[test]
fn a_journal_taken_away_under_an_open_car_stops_recording() {
    let (folder, data) = data();
    one_car(&data);
    let mut open = data.open("car", Access::Write).unwrap();
    let car = open.car().clone();
    let gone = folder.path().join("elsewhere");
    fs::rename(folder.path().join("car"), &gone).unwrap();
    let error = open.record(done("2026-05-01", "lost")).unwrap_err();
    assert!(matches!(error, StoreError::Stopped { .. }), "{error}");
    assert!(open.tidy().is_err());
    assert_eq!(open.car(), &car);
    assert!(!folder.path().join("car").exists());
}

/// Puts `text` into a file of a fresh car and gives the errors of opening it for reading and for writing.
fn refused(file: &str, text: &[u8]) -> (String, StoreError, tempfile::TempDir) {
    let (folder, data) = data();
    one_car(&data);
    let path = folder.path().join("car").join(file);
    fs::write(&path, text).unwrap();
    let seen = data.open("car", Access::Read).unwrap_err();
    assert!(data.cars().unwrap()[0].car.is_err(), "a damaged car is not hidden");
    let error = data.open("car", Access::Write).unwrap_err();
    assert_eq!(fs::read(&path).unwrap(), text, "a damaged file was overwritten");
    (seen.to_string(), error, folder)
}

#[test]
fn a_file_that_cannot_be_understood_is_named_copied_and_refused() {
    let repairs = |what: &str| format!("(\n  schema: 1,\n  through: 3,\n  holds: [\n    {what},\n  ],\n)\n");
    let entry =
        |date: &str, hours: &str| format!(r#"(date: "{date}", repair: "r", part: "disc@front-left", hours: {hours})"#);
    let cases: Vec<(&str, Vec<u8>, &str, &str)> = vec![
        ("repairs.ron", b"(schema: 1, through: 3, holds: [\xff])".to_vec(), ":1:33", "UTF-8"),
        ("repairs.ron", b"".to_vec(), ":1:1", ""),
        ("repairs.ron", repairs(&entry("2026-02-30", "1.0")).into(), ":5:", "date"),
        ("repairs.ron", repairs(&entry("2026-02-03", "\"x\"")).into(), ":5:", "hours"),
        ("repairs.ron", repairs(&entry("2026-02-03", "NaN")).into(), "repairs.ron: ", "finite"),
        ("repairs.ron", repairs(&entry("2026-02-03", "-inf")).into(), "repairs.ron: ", "finite"),
        ("repairs.ron", repairs(&entry("2026-02-03", "1e999")).into(), "repairs.ron: ", "finite"),
        (
            "repairs.ron",
            repairs(&format!("{}, {}", entry("2026-02-03", "1"), entry("2026-02-02", "1"))).into(),
            "repairs.ron: ",
            "order of date",
        ),
        ("repairs.ron", b"(schema: 1, through: 3, holds: [], more: 1)".to_vec(), ":1:", "more"),
        ("repairs.ron", b"(schema: 0, through: 3, holds: [])".to_vec(), "repairs.ron: ", "schema 0"),
        ("repairs.ron", b"(through: 3, holds: [])".to_vec(), ":1:", "schema"),
        ("repairs.ron", b"(schema: -1, through: 3, holds: [])".to_vec(), ":1:", "schema"),
        ("repairs.ron", b"(schema: 1, through: 18446744073709551615, holds: [])".to_vec(), "repairs.ron: ", "no number"),
        ("state.ron", b"(schema: 1, through: 18446744073709551615, files: [])".to_vec(), "state.ron: ", "no number"),
        ("repairs.ron", b"(schema: 1, through: 3, holds: []) more".to_vec(), ":1:", ""),
        ("state.ron", b"(schema: 1, through: 3, files: [(\"../x\", 3)])".to_vec(), "state.ron: ", "../x"),
        (
            "surveys/2026-03-15.ron",
            b"(schema: 1, through: 1, holds: (date: \"2026-03-16\", odometer_km: None, looks: []))".to_vec(),
            "surveys/2026-03-15.ron: ",
            "2026-03-16",
        ),
        ("surveys/notes.ron", b"()".to_vec(), "surveys/notes.ron: ", "no date"),
        (
            "parts.ron",
            br#"(schema: 1, through: 0, holds: [(part: "disc@front", word: ()), (part: "disc@front", word: ())])"#.to_vec(),
            "parts.ron: ",
            "twice",
        ),
        (
            "wishes.ron",
            br#"(schema: 1, through: 0, holds: (ticked: [], chosen: [("disc@front", "a"), ("disc@front", "b")], pinned: []))"#
                .to_vec(),
            "wishes.ron: ",
            "twice",
        ),
    ];
    for (file, text, place, what) in cases {
        let (seen, error, _folder) = refused(file, &text);
        let StoreError::Unreadable { aside, file: named, .. } = &error else {
            panic!("{file}: {error}");
        };
        assert!(named.ends_with(file), "{error}");
        assert_eq!(fs::read(aside.as_ref().unwrap()).unwrap(), text);
        for message in [seen, error.to_string()] {
            assert!(
                message.contains(place) && message.contains(what),
                "{file}, {what}: {message}"
            );
            assert!(message.contains("nothing was overwritten"), "{message}");
        }
    }
}

#[test]
fn a_damaged_file_is_copied_once_however_often_it_is_tried() {
    let (_, _, folder) = refused("profile.ron", b"(schema: 1");
    let data = DataFolder::find(Some(folder.path())).unwrap();
    data.open("car", Access::Write).unwrap_err();
    data.open("car", Access::Write).unwrap_err();
    assert!(folder.path().join("car/profile.ron.damaged-1").exists());
    assert!(!folder.path().join("car/profile.ron.damaged-2").exists());
}

#[test]
fn what_a_newer_program_wrote_is_left_to_it() {
    for (file, text) in [
        ("state.ron", "(schema: 2, through: 3, files: [], colour: \"blue\")"),
        ("profile.ron", "(schema: 7, holds: (name: 3))"),
        ("surveys/2026-03-14.ron", "(schema: 2, through: 3, holds: ())"),
    ] {
        let (_, error, folder) = refused(file, text.as_bytes());
        assert!(matches!(error, StoreError::Newer { .. }), "{file}: {error}");
        assert!(error.to_string().contains("newer tinworm"), "{error}");
        assert!(!folder.path().join("car").join(format!("{file}.damaged-1")).exists());
    }
}

#[test]
fn what_is_missing_is_named() {
    for file in [
        "state.ron",
        "profile.ron",
        "parts.ron",
        "journal",
        "surveys/2026-03-14.ron",
        "surveys",
    ] {
        let (folder, data) = data();
        one_car(&data);
        let path = folder.path().join("car").join(file);
        if path.is_dir() {
            fs::remove_dir_all(&path).unwrap()
        } else {
            fs::remove_file(&path).unwrap()
        }
        let error = data.open("car", Access::Write).unwrap_err();
        assert!(matches!(error, StoreError::Missing { .. }), "{file}: {error}");
        assert!(error.to_string().contains(file), "{error}");
    }
    // Folders that a copy without empty folders leaves out, and the lock, are made again.
    let (folder, data) = data();
    drop(data.create(profile("Car")).unwrap());
    for sub in ["surveys", "photos"] {
        fs::remove_dir(folder.path().join("car").join(sub)).unwrap();
    }
    fs::remove_file(folder.path().join("car/lock")).unwrap();
    let mut open = data.open("car", Access::Write).unwrap();
    open.record(survey("2026-03-14")).unwrap();
    open.tidy().unwrap();
}

#[test]
fn files_folders_and_links_where_they_do_not_belong_are_refused() {
    let (folder, data) = data();
    one_car(&data);
    fs::write(folder.path().join("a-file"), "").unwrap();
    let error = data.open("a-file", Access::Write).unwrap_err();
    assert!(matches!(error, StoreError::NotAFolder(_)), "{error}");
    assert_eq!(data.cars().unwrap().len(), 1, "a file is no car");
    fs::create_dir(folder.path().join("empty")).unwrap();
    let cars = data.cars().unwrap();
    assert!(matches!(cars[1].car, Err(StoreError::Missing { .. })));
    let error = DataFolder::find(Some(&folder.path().join("a-file"))).unwrap_err();
    assert!(matches!(error, StoreError::NotAFolder(_)), "{error}");
    for file in ["journal", "profile.ron", "lock"] {
        let copy = tempfile::tempdir().unwrap();
        copy_folder(folder.path(), copy.path());
        let path = copy.path().join("car").join(file);
        fs::remove_file(&path).unwrap();
        fs::create_dir(&path).unwrap();
        let error = DataFolder::find(Some(copy.path()))
            .unwrap()
            .open("car", Access::Write)
            .unwrap_err();
        assert!(matches!(error, StoreError::NotAFile(_)), "{error}");
    }
}

#[cfg(unix)]
#[test]
fn links_that_lead_out_are_refused_and_nothing_is_written_through_them() {
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::symlink;
    let (outside, other) = data();
    one_car(&other);
    let (folder, data) = data();
    symlink(outside.path().join("car"), folder.path().join("linked")).unwrap();
    let error = data.open("linked", Access::Write).unwrap_err();
    assert!(matches!(error, StoreError::LeadsOutside { .. }), "{error}");
    assert!(matches!(
        data.cars().unwrap()[0].car,
        Err(StoreError::LeadsOutside { .. })
    ));
    one_car(&data);
    for name in ["journal", "profile.ron", "lock", "surveys"] {
        let copy = tempfile::tempdir().unwrap();
        fs::create_dir_all(copy.path().join("car")).unwrap();
        copy_folder(&folder.path().join("car"), &copy.path().join("car"));
        let path = copy.path().join("car").join(name);
        if path.is_dir() {
            fs::remove_dir_all(&path).unwrap()
        } else {
            fs::remove_file(&path).unwrap()
        }
        let target = outside.path().join("car").join(name);
        symlink(&target, &path).unwrap();
        let data = DataFolder::find(Some(copy.path())).unwrap();
        let error = data.open("car", Access::Write).unwrap_err();
        assert!(matches!(error, StoreError::LeadsOutside { .. }), "{name}: {error}");
    }
    let odd = folder.path().join(std::ffi::OsStr::from_bytes(b"odd-\xff"));
    fs::create_dir(&odd).unwrap();
    let cars = data.cars().unwrap();
    assert!(cars.iter().any(|c| matches!(c.car, Err(StoreError::OddName(_)))));
    // A pipe in place of a file must not make the program wait for ever.
    let pipe = folder.path().join("car/parts.ron");
    fs::remove_file(&pipe).unwrap();
    if std::process::Command::new("mkfifo")
        .arg(&pipe)
        .status()
        .is_ok_and(|s| s.success())
    {
        let error = data.open("car", Access::Write).unwrap_err();
        assert!(matches!(error, StoreError::NotAFile(_)), "{error}");
    }
}

#[cfg(unix)]
#[test]
fn a_folder_that_cannot_be_written_is_opened_for_reading() {
    use std::os::unix::fs::PermissionsExt;
    fn protect(path: &Path, folder_mode: u32, file_mode: u32) {
        for entry in fs::read_dir(path).unwrap() {
            let entry = entry.unwrap().path();
            if entry.is_dir() {
                protect(&entry, folder_mode, file_mode);
            } else {
                fs::set_permissions(&entry, fs::Permissions::from_mode(file_mode)).unwrap();
            }
        }
        fs::set_permissions(path, fs::Permissions::from_mode(folder_mode)).unwrap();
    }
    let (folder, data) = data();
    let car = one_car(&data);
    protect(folder.path(), 0o555, 0o444);
    // The system lets its administrator write everywhere.
    if fs::write(folder.path().join("probe"), "").is_err() {
        let mut open = data.open("car", Access::Write).unwrap();
        assert_eq!(open.car(), &car);
        assert!(open.read_only().unwrap().contains("cannot be written"));
        assert!(matches!(
            open.record(survey("2026-05-01")),
            Err(StoreError::ReadOnly { .. })
        ));
        assert!(data.create(profile("Another")).is_err());
    }
    protect(folder.path(), 0o755, 0o644);
    assert_eq!(data.cars().unwrap().len(), 1);
}

#[test]
#[ignore = "a measurement; run it in a release build"]
fn opening_time() {
    let (_folder, data) = data();
    let mut open = data.create(profile("Car")).unwrap();
    for year in 2000..2020 {
        let date = format!("{year}-03-14");
        let looks = (0..150).map(|n| look(&date, &format!("part-{}@front-left", n / 4), &format!("check-{n}"), 3));
        open.record_all(std::iter::once(survey(&date)).chain(looks).collect())
            .unwrap();
    }
    let time = |what: &str, times: u32, mut work: Box<dyn FnMut() + '_>| {
        let start = std::time::Instant::now();
        (0..times).for_each(|_| work());
        println!("{what}: {:?}", start.elapsed() / times);
    };
    drop(open);
    time(
        "open with all in the journal",
        20,
        Box::new(|| drop(data.open("car", Access::Write).unwrap())),
    );
    let mut open = data.open("car", Access::Write).unwrap();
    time("tidy 20 surveys", 1, Box::new(|| open.tidy().unwrap()));
    time(
        "record a look",
        100,
        Box::new(|| {
            open.record(look("2019-03-14", "part-1@front-left", "check-5", 4))
                .unwrap()
        }),
    );
    drop(open);
    time(
        "open tidied for writing",
        20,
        Box::new(|| drop(data.open("car", Access::Write).unwrap())),
    );
    time(
        "open tidied for reading",
        20,
        Box::new(|| drop(data.open("car", Access::Read).unwrap())),
    );
}

#[test]
fn what_is_bought_and_open_is_kept_and_folders_of_before_still_open() {
    use tinworm::car::{Buying, OpenJob, Purchase};
    let (_folder, data) = data();
    let part: tinworm::rubric::PartId = "track-rod-end@front-left".parse().unwrap();
    let mut open = data.create(profile("Old")).unwrap();
    let before = open.car().clone();
    let name = open.name().to_owned();
    open.tidy().unwrap();
    drop(open);

    // As an earlier program left it: no file of what is bought and open, no fields that came later.
    let folder = std::fs::read_dir(data.path().join(&name)).unwrap();
    let paths: Vec<_> = folder.map(|e| e.unwrap().path()).collect();
    for path in paths.iter().filter(|p| p.extension().is_some_and(|e| e == "ron")) {
        if path.ends_with("progress.ron") {
            std::fs::remove_file(path).unwrap();
            continue;
        }
        let new = [
            "progress.ron",
            "hours_on:",
            "listed:",
            "days_off:",
            "targets:",
            "dropped:",
        ];
        let text = std::fs::read_to_string(path).unwrap();
        let old: Vec<&str> = text.lines().filter(|l| !new.iter().any(|n| l.contains(n))).collect();
        std::fs::write(path, old.join("\n") + "\n").unwrap();
    }
    let mut open = data.open(&name, Access::Write).unwrap();
    assert_eq!(*open.car(), before);

    let mut purchase = Purchase::new(part.clone(), "renew-track-rod-end", "track rod end");
    purchase.status = Buying::Ordered {
        expected: crate::cars::day("2026-05-01"),
    };
    purchase.price = Some(24.5);
    let job = OpenJob {
        part: part.clone(),
        repair: "renew-track-rod-end".to_owned(),
        since: crate::cars::day("2026-04-18"),
        hours_so_far: 1.25,
        hours_left: None,
        open_steps: vec!["front-wheel-off".to_owned()],
        did: vec!["nut off".to_owned()],
        extra: Vec::new(),
        note: "rain".to_owned(),
    };
    open.record_all(vec![Change::Buy(purchase), Change::Left(job)]).unwrap();
    let with = open.car().clone();
    assert_eq!((with.progress.purchases.len(), with.progress.open.len()), (1, 1));
    drop(open);
    let mut again = data.open(&name, Access::Write).unwrap();
    assert_eq!(*again.car(), with, "from the journal");
    again.tidy().unwrap();
    drop(again);
    let mut again = data.open(&name, Access::Write).unwrap();
    assert_eq!(*again.car(), with, "from the files");
    let nothing = Purchase::new(part.clone(), "renew-track-rod-end", "track rod end");
    again
        .record_all(vec![Change::Buy(nothing), Change::Closed(part.clone())])
        .unwrap();
    assert_eq!(again.car().progress, Default::default());
    assert!(
        again.record(Change::Closed(part)).is_err(),
        "nothing stands open any more"
    );
}
