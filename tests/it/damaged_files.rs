//! Files that are damaged or were never ours: cut anywhere, bits turned over, of another kind, far too large. No panic, no
//! hang, little memory, a place and advice in what is said, and the file left as it was.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use tinworm::car::{Car, Change};
use tinworm::report::filled;
use tinworm::rubric::{builtin, check, parse};
use tinworm::store::{Access, DataFolder, StoreError, fault_in};

use crate::cars::{copy_folder, day, done, look, profile, survey};

const FILES: [&str; 9] = [
    "journal",
    "state.ron",
    "profile.ron",
    "parts.ron",
    "surveys/2026-03-14.ron",
    "repairs.ron",
    "wishes.ron",
    "progress.ron",
    "earlier.ron",
];

/// A folder with a car that has something in every file.
fn car_on_disk() -> (tempfile::TempDir, DataFolder, Car) {
    let folder = tempfile::tempdir_in("/dev/shm")
        .or_else(|_| tempfile::tempdir())
        .unwrap();
    let data = DataFolder::find(Some(folder.path())).unwrap();
    let mut open = data.create(profile("Car")).unwrap();
    open.keep_from(day("2026-03-14"));
    open.record(Change::Profile(Box::new(profile("Car of before"))))
        .unwrap();
    open.record(Change::Profile(Box::new(profile("Car")))).unwrap();
    open.record_all(vec![
        survey("2026-03-14"),
        look("2026-03-14", "track-rod-end@front-left", "boot", 3),
    ])
    .unwrap();
    open.record(done("2026-04-01", "renew-track-rod-end")).unwrap();
    open.tidy().unwrap();
    open.record(done("2026-05-01", "grease")).unwrap();
    open.record(done("2026-06-01", "grease")).unwrap();
    let car = open.car().clone();
    drop(open);
    (folder, data, car)
}

/// Cut at each byte, every bit turned over, every byte replaced by a few others, pieces doubled.
fn mutations(whole: &[u8]) -> impl Iterator<Item = Vec<u8>> + '_ {
    let cuts = (0..whole.len()).map(|at| whole[..at].to_vec());
    let bits = (0..whole.len() * 8).map(|bit| {
        let mut bytes = whole.to_vec();
        bytes[bit / 8] ^= 1 << (bit % 8);
        bytes
    });
    let others = (0..whole.len()).flat_map(move |at| {
        [0, b'(', b'"', b'\n', 0xff].map(|other| {
            let mut bytes = whole.to_vec();
            bytes[at] = other;
            bytes
        })
    });
    let doubled = (0..whole.len()).step_by(7).map(|at| {
        let end = (at + 40).min(whole.len());
        [&whole[..end], &whole[at..]].concat()
    });
    cuts.chain(bits).chain(others).chain(doubled)
}

/// The whole text in other encodings, with other kinds in it, doubled and nested.
fn foreign(whole: &[u8]) -> Vec<Vec<u8>> {
    let text = String::from_utf8_lossy(whole);
    let utf_16 = |bytes: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(bytes).collect::<Vec<u8>>();
    let mut all = vec![
        utf_16(u16::to_le_bytes),
        [b"\xff\xfe".to_vec(), utf_16(u16::to_le_bytes)].concat(),
        utf_16(u16::to_be_bytes),
        [whole, b"\xe4\xf6\xfc caf\xe9"].concat(),
        text.replace("e", "\u{e9}").chars().map(|c| c as u8).collect(),
        [whole, whole].concat(),
        vec![0; whole.len()],
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec(),
        b"PK\x03\x04".to_vec(),
        b"{\"schema\": 1}".to_vec(),
        b"<html></html>".to_vec(),
        text.replace("schema: 1", "schema: 2").into_bytes(),
        text.replace("schema: 1", "schema: 4294967296").into_bytes(),
        text.replace("schema: 1", "schema: -1").into_bytes(),
        text.replace("schema: 1,", "schema: 1, schema: 1,").into_bytes(),
        text.replace("through", "thorough").into_bytes(),
        text.replace('\n', "\r\n").into_bytes(),
        text.replace('3', "1e999").into_bytes(),
        text.replace('3', "NaN").into_bytes(),
        text.replace('3', "\"three\"").into_bytes(),
    ];
    for open in ["(", "[", "{", "((((a:", "Some(", "/*", "\"", "r#\""] {
        all.push(open.repeat(100_000).into_bytes());
        all.push([whole, open.repeat(5_000).as_bytes()].concat());
    }
    all
}

#[test]
fn every_file_of_a_car_with_any_damage_is_read_or_refused_with_a_place() {
    let (folder, data, _) = car_on_disk();
    let (mut tried, mut refused) = (0, 0);
    for file in FILES {
        let whole = fs::read(folder.path().join("car").join(file)).unwrap();
        assert_eq!(fault_in(file, &whole), None, "{file}");
        for bytes in mutations(&whole).chain(foreign(&whole)) {
            tried += 1;
            if let Some(what) = fault_in(file, &bytes) {
                refused += 1;
                assert!(what.len() > 3 && what.len() < 2_000, "{what}");
            }
        }
    }
    println!("{tried} damaged files of a car read: {refused} refused, the others say something else that can be");
    assert!(tried > 20_000, "{tried}");
    // The whole way, from disk: a sample of the cuts, and all the foreign ones.
    let mut opened = 0;
    for file in FILES {
        let path = folder.path().join("car").join(file);
        let whole = fs::read(&path).unwrap();
        let cuts = (0..whole.len()).step_by(17).map(|at| whole[..at].to_vec());
        for bytes in cuts.chain(foreign(&whole)) {
            fs::write(&path, &bytes).unwrap();
            opened += 1;
            let seen = data.verify("car", builtin::library(), day("2026-11-25")).unwrap();
            for trouble in &seen.troubles {
                assert!(!trouble.advice.is_empty() && !trouble.what.is_empty());
            }
            match data.open("car", Access::Read) {
                Ok(open) => assert!(
                    !seen.damaged() || !open.notices().is_empty(),
                    "{file}: {:?}",
                    seen.troubles
                ),
                Err(error) => {
                    assert!(seen.damaged(), "{file}: {error}");
                    let newer = matches!(error, StoreError::Newer { .. });
                    assert!(newer || error.to_string().contains(file), "{error}");
                }
            }
            assert_eq!(fs::read(&path).unwrap(), bytes, "{file} was changed by looking at it");
        }
        fs::write(&path, &whole).unwrap();
    }
    println!("{opened} damaged cars opened and verified from disk, their files left as they were");
}

#[test]
fn a_car_with_any_one_foreign_file_can_be_repaired() {
    let (before, _, car) = car_on_disk();
    let mut repaired = 0;
    for file in FILES.into_iter().filter(|f| *f != "journal") {
        let whole = fs::read(before.path().join("car").join(file)).unwrap();
        for bytes in foreign(&whole).into_iter().step_by(3) {
            let folder = tempfile::tempdir_in(before.path().parent().unwrap()).unwrap();
            copy_folder(before.path(), folder.path());
            let data = DataFolder::find(Some(folder.path())).unwrap();
            let path = folder.path().join("car").join(file);
            fs::write(&path, &bytes).unwrap();
            let newer = matches!(data.open("car", Access::Read), Err(StoreError::Newer { .. }));
            match data.repair("car") {
                Ok(said) if said.is_empty() => assert!(data.open("car", Access::Read).is_ok(), "{file}"),
                Ok(_) => {
                    repaired += 1;
                    assert_eq!(data.open("car", Access::Write).unwrap().car(), &car, "{file}");
                }
                Err(error) => {
                    assert!(newer, "{file}: {error}");
                    assert_eq!(fs::read(&path).unwrap(), bytes);
                }
            }
        }
    }
    println!("{repaired} cars repaired without loss");
    assert!(repaired > 50, "{repaired}");
}

/// A rubric of a component of one's own, from the developers' guide.
fn rubric() -> String {
    let guide = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md")).unwrap();
    let from = guide.split("```ron\n").nth(1).unwrap();
    from.split("```").next().unwrap().to_owned()
}

#[test]
fn a_rubric_with_any_damage_is_read_or_every_mistake_has_a_place_and_a_remedy() {
    let whole = rubric().into_bytes();
    let look = |bytes: &[u8]| match parse::from_bytes("own.ron", bytes) {
        Err(mistake) => vec![mistake],
        Ok(source) => check::look(&[source]).1,
    };
    let bits = mutations(&whole)
        .enumerate()
        .filter(|(at, _)| *at < whole.len() || at % 5 == 0);
    let (mut tried, mut mistakes) = (0, 0);
    for bytes in bits.map(|(_, bytes)| bytes).chain(foreign(&whole)) {
        let lines = bytes.iter().filter(|b| **b == b'\n').count() + 1;
        tried += 1;
        for mistake in look(&bytes) {
            mistakes += 1;
            assert!((1..=lines).contains(&mistake.line) && mistake.column > 0, "{mistake}");
            assert!(!mistake.what.is_empty() && !mistake.fix.is_empty(), "{mistake}");
        }
    }
    println!("{tried} damaged rubrics read, {mistakes} mistakes with line, column and remedy");
    assert!(tried > 5_000, "{tried}");
}

#[test]
fn a_sheet_with_any_damage_is_read_or_its_bad_rows_are_named() {
    let car = tinworm::demo::car();
    let library = builtin::library();
    let sheet = "part,check,grade_or_reading,not_seen,note\r\n\
        track-rod-end@front-left,boot,3,,\"split, \"\"wet\"\"\"\r\n\
        track-rod-end@front-left,play,\"0,4\",,\r\n\
        tyre@front-left,tread,inner 4.1; middle 5.0; outer 5.2,,\r\n\
        track-rod-end@front-right,boot,,covered,\r\n";
    let whole = filled::read(sheet.as_bytes(), &car, library);
    assert!(whole.bad.is_empty() && whole.looks.len() == 4, "{:?}", whole.bad);
    let (mut tried, mut bad) = (0, 0);
    for bytes in mutations(sheet.as_bytes()).chain(foreign(sheet.as_bytes())) {
        let lines = bytes.iter().filter(|b| matches!(b, b'\n' | b'\r')).count() as u64 + 1;
        tried += 1;
        for row in filled::read(&bytes, &car, library).bad {
            bad += 1;
            assert!(
                (1..=lines).contains(&row.line) && !row.what.is_empty() && !row.fix.is_empty(),
                "{row}"
            );
        }
    }
    println!("{tried} damaged sheets read, {bad} bad rows with line and remedy");
    assert!(tried > 3_000, "{tried}");
}

/// Runs the program with at most 200 MB of memory of its own, and a minute of time.
fn within_limits(words: &[&str], data: &Path, rubrics: &Path) -> (Option<i32>, String) {
    let output = Command::new("sh")
        .args([
            "-c",
            "ulimit -d 204800 && exec timeout 300 \"$@\"",
            "sh",
            env!("CARGO_BIN_EXE_tinworm"),
        ])
        .args(words)
        .env("TINWORM_DATA", data)
        .env("TINWORM_RUBRICS", rubrics)
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
    (output.status.code(), text)
}

#[test]
fn files_of_any_size_are_refused_within_two_hundred_megabytes_and_without_a_hang() {
    let (folder, _, _) = car_on_disk();
    let none = folder.path().join("none");
    let began = Instant::now();
    let mut tried = 0;
    // Small enough to be read at all, and enough of it that time growing with the square would never end.
    let most = 2 << 20;
    let sealed = |body: &str| format!("{:08x} {body}\n", crc32fast_of(body.as_bytes()));
    let profile = fs::read_to_string(folder.path().join("car/profile.ron")).unwrap();
    let tools = profile.replace("\"torque wrench\"", &vec!["\"\""; most / 3 - 1000].join(","));
    let repairs = {
        let entry = r#"(date:"2026-04-01",repair:"",part:"a@front"),"#;
        format!("(schema:1,through:2,holds:[{}])", entry.repeat(most / entry.len() - 10))
    };
    let records: String = (4..).take(most / 40).map(|n| sealed(&format!("{n} []"))).collect();
    let large: Vec<(&str, Vec<u8>)> = vec![
        ("repairs.ron", vec![b'('; 100 << 20]),
        ("journal", vec![b'['; 100 << 20]),
        ("profile.ron", vec![0; 100 << 20]),
        ("state.ron", vec![b'('; most]),
        ("parts.ron", vec![b'['; most]),
        ("profile.ron", tools.into_bytes()),
        ("repairs.ron", repairs.into_bytes()),
        ("journal", b"0badc0de ".repeat(most / 9)),
        ("journal", [b"0badc0de ".repeat(most / 9 - 1), b"\n".to_vec()].concat()),
        ("journal", records.into_bytes()),
        ("surveys/2026-03-14.ron", b"(\n".repeat(most / 2)),
        ("wishes.ron", b"\"".repeat(most)),
    ];
    for (file, bytes) in large {
        let path = folder.path().join("car").join(file);
        let whole = fs::read(&path).unwrap();
        fs::write(&path, &bytes).unwrap();
        for words in [&["verify", "car"][..], &["standing", "car"]] {
            let (code, said) = within_limits(words, folder.path(), &none);
            assert!(
                matches!(code, Some(0 | 1)),
                "{file} {words:?}: {code:?} {}",
                said.get(..400).unwrap_or(&said)
            );
            assert!(
                code == Some(0) || said.contains(file),
                "{file}: {}",
                said.get(..400).unwrap_or(&said)
            );
            tried += 1;
        }
        assert_eq!(fs::metadata(&path).unwrap().len(), bytes.len() as u64);
        fs::write(&path, &whole).unwrap();
    }
    let rubrics = folder.path().join("rubrics");
    fs::create_dir(&rubrics).unwrap();
    for bytes in [
        vec![b'('; 100 << 20],
        vec![b'('; most],
        vec![b'['; 1 << 20],
        b"(schema: 1, ".repeat(1 << 16),
    ] {
        fs::write(rubrics.join("own.ron"), bytes).unwrap();
        let (code, said) = within_limits(&["rubrics", "check"], folder.path(), &rubrics);
        assert_eq!(code, Some(1), "{}", said.get(..400).unwrap_or(&said));
        assert!(said.contains("own.ron:1:"), "{}", said.get(..400).unwrap_or(&said));
        tried += 1;
    }
    let sheet = folder.path().join("sheet.csv");
    let head = b"part,check,grade_or_reading,not_seen,note\n";
    for rows in [
        vec![b','; 100 << 20],
        [&head[..], &b"a,b,3\n".repeat(600_000)].concat(),
        [&head[..], &b"\n,,".repeat(1_000_000)].concat(),
        [&head[..], &vec![b'"'; 3 << 20]].concat(),
        vec![b','; 3 << 20],
    ] {
        fs::write(&sheet, rows).unwrap();
        let words = ["enter", "car", sheet.to_str().unwrap(), "--today", "2026-11-25"];
        let (code, said) = within_limits(&words, folder.path(), &none);
        assert_eq!(code, Some(1), "{}", said.get(..400).unwrap_or(&said));
        assert!(
            said.contains("sheet.csv") && said.len() < 200_000,
            "{}",
            said.get(..400).unwrap_or(&said)
        );
        tried += 1;
    }
    println!(
        "{tried} runs on files of up to 100 MB within 200 MB of memory, {:.0} s in all",
        began.elapsed().as_secs_f64()
    );
}

/// CRC-32 of zlib and Ethernet, bit by bit.
fn crc32fast_of(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            (crc >> 1) ^ (0xEDB8_8320 & (crc & 1).wrapping_neg())
        })
    })
}

#[test]
fn what_fuzzing_found_interesting_is_read_without_a_panic() {
    let corpus = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fuzz/corpus"));
    let car = tinworm::demo::car();
    let mut replayed = 0;
    for kind in ["car", "rubric", "sheet"] {
        for entry in fs::read_dir(corpus.join(kind)).unwrap() {
            let bytes = fs::read(entry.unwrap().path()).unwrap();
            replayed += 1;
            match (kind, bytes.split_first()) {
                ("car", Some((which, bytes))) => {
                    // As the target of that fuzzing chooses.
                    let file = if *which == u8::MAX { 8 } else { usize::from(*which) % 8 };
                    let _ = fault_in(FILES[file], bytes);
                }
                ("rubric", _) => {
                    if let Ok(source) = parse::from_bytes("own.ron", &bytes) {
                        let _ = check::look(&[source]);
                    }
                }
                _ => {
                    let _ = filled::read(&bytes, &car, builtin::library());
                }
            }
        }
    }
    println!("{replayed} inputs that fuzzing found interesting read again");
    assert!(replayed >= 100, "{replayed}");
}
