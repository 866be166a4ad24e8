//! A whole car as one file: there and back, and every archive that must not come in.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};

use image::ImageFormat;
use tar::{Builder, EntryType, Header};
use tempfile::TempDir;
use tinworm::picture;
use tinworm::store::{Access, DataFolder, Limits};

use crate::command_line::bench::{Bench, said};
use crate::photos::{PART, bytes, graded, halves, with_place};

/// A bench with a car that has grades, photos, a repair and wishes, and its archive.
fn archived() -> (Bench, PathBuf) {
    let bench = graded();
    for (name, data) in [
        ("a.jpg", with_place()),
        ("b.png", bytes(&halves(9, 9), ImageFormat::Png)),
    ] {
        fs::write(bench.path(name), data).unwrap();
        bench.text(&["photo", "estate", PART, "boot", name]);
    }
    bench.text(&[
        "done",
        "estate",
        "renew-track-rod-end",
        PART,
        "--hours",
        "1.5",
        "--date",
        "2026-11-24",
    ]);
    bench.text(&["pin", "estate", "lower-arm@front-left", "2026-12-12"]);
    let file = bench.path("estate.tar");
    let out = bench.run(&["archive", "estate", file.to_str().unwrap()]);
    assert!(out.status.success(), "{}", said(&out));
    assert!(
        said(&out).contains("in 1 photo the camera wrote down the place"),
        "{}",
        said(&out)
    );
    (bench, file)
}

/// The entries of an archive: name and bytes.
fn entries(file: &Path) -> Vec<(String, Vec<u8>)> {
    let mut tar = tar::Archive::new(fs::File::open(file).unwrap());
    tar.entries()
        .unwrap()
        .map(|entry| {
            let mut entry = entry.unwrap();
            let name = entry.path().unwrap().to_str().unwrap().to_owned();
            let mut bytes = Vec::new();
            std::io::Read::read_to_end(&mut entry, &mut bytes).unwrap();
            (name, bytes)
        })
        .collect()
}

/// Adds an entry of any name and kind.
fn add(tar: &mut Builder<Vec<u8>>, name: &[u8], kind: EntryType, claimed: u64, bytes: &[u8]) {
    let mut head = Header::new_ustar();
    head.as_old_mut().name[..name.len()].copy_from_slice(name);
    head.set_entry_type(kind);
    head.set_size(claimed);
    head.set_mode(0o777);
    if kind.is_symlink() || kind.is_hard_link() {
        head.set_link_name("/etc/passwd").unwrap();
    }
    head.set_cksum();
    tar.append(&head, bytes).unwrap();
}

fn packed(entries: &[(String, Vec<u8>)]) -> Builder<Vec<u8>> {
    let mut tar = Builder::new(Vec::new());
    for (name, bytes) in entries {
        add(&mut tar, name.as_bytes(), EntryType::Regular, bytes.len() as u64, bytes);
    }
    tar
}

/// Tries to take in an archive where there is no car yet; what it says, after making sure that nothing was left.
fn refused(bytes: &[u8], limits: Limits) -> String {
    let place = TempDir::new().unwrap();
    let file = place.path().join("x.tar");
    fs::write(&file, bytes).unwrap();
    let cars = place.path().join("cars");
    let data = DataFolder::find(Some(&cars)).unwrap();
    let error = data.import(&file, None, limits).unwrap_err().to_string();
    let left: Vec<_> = fs::read_dir(&cars).unwrap().collect();
    assert!(left.is_empty(), "{error}: {left:?}");
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 2, "{error}");
    error
}

#[test]
fn another_machine_has_the_same_car() {
    let (here, file) = archived();
    let names: Vec<String> = entries(&file).into_iter().map(|(name, _)| name).collect();
    assert_eq!(names[0], "state.ron");
    assert!(names.iter().all(|n| !n.starts_with('/') && !n.contains("..")));
    let again = here.path("again.tar");
    here.text(&["archive", "estate", again.to_str().unwrap()]);
    assert_eq!(
        fs::read(&file).unwrap(),
        fs::read(&again).unwrap(),
        "equal cars give equal archives"
    );

    let there = Bench::empty();
    let text = there.text(&["import", file.to_str().unwrap()]);
    assert!(text.contains("as `estate`: 1 survey, 1 repair done"), "{text}");
    let open = |bench: &Bench, name: &str| {
        DataFolder::find(Some(&bench.data()))
            .unwrap()
            .open(name, Access::Write)
            .unwrap()
    };
    let (mine, theirs) = (open(&here, "estate"), open(&there, "estate"));
    assert_eq!(mine.car(), theirs.car());
    assert!(theirs.notices().is_empty());
    for name in &mine.car().surveys[0].looks[0].photos {
        assert_eq!(mine.photo(name).unwrap(), theirs.photo(name).unwrap());
    }
    drop((mine, theirs));
    // It can be worked on, and archived from there.
    there.text(&["archive", "estate", "back.tar"]);
    assert_eq!(fs::read(&file).unwrap(), fs::read(there.path("back.tar")).unwrap());
    there.text(&["found", "estate", PART, "boot=5"]);
    assert!(
        there
            .text(&["decline", "estate", PART, "boot"])
            .contains("2026-11-25: grade 5")
    );
}

#[test]
fn a_car_that_is_there_is_never_written_over() {
    let (bench, file) = archived();
    let before = bench.text(&["export", "estate", "--json"]);
    let file = file.to_str().unwrap();
    for name in [None, Some("Estate"), Some("ESTATE"), Some("es tate!")] {
        let mut args = vec!["import", file];
        args.extend(name.iter().flat_map(|n| ["--name", n]));
        let out = bench.run(&args);
        if name == Some("es tate!") {
            assert!(out.status.success(), "{}", said(&out));
            assert_eq!(bench.json(&["set", "es-tate", "--json"])["name"], "es tate!");
        } else {
            assert_eq!(out.status.code(), Some(1), "{name:?}");
            assert!(said(&out).contains("there is a car `estate` already"), "{}", said(&out));
        }
    }
    assert_eq!(bench.text(&["export", "estate", "--json"]), before);
    let names: Vec<_> = fs::read_dir(bench.data())
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert_eq!(names.len(), 2, "{names:?}");
    let out = bench.run(&["import", file, "--name", "  "]);
    assert_eq!(out.status.code(), Some(2));
}

#[test]
fn what_no_archive_of_a_car_holds_is_refused_with_its_name() {
    let (_bench, file) = archived();
    let good = entries(&file);
    let cases: [(&[u8], EntryType, &str); 20] = [
        (b"../../evil.ron", EntryType::Regular, "leads out of the car's folder"),
        (
            b"photos/../../evil",
            EntryType::Regular,
            "leads out of the car's folder",
        ),
        (b"..\\evil", EntryType::Regular, "leads out of the car's folder"),
        (b"/etc/cron.d/evil", EntryType::Regular, "absolute name"),
        (b"C:\\evil", EntryType::Regular, "absolute name"),
        (b"\\\\server\\evil", EntryType::Regular, "absolute name"),
        (b"photos/x", EntryType::Symlink, "is a link"),
        (b"photos", EntryType::Symlink, "is a link"),
        (b"profile.ron", EntryType::Link, "is a link"),
        (b"tty", EntryType::Char, "is a device"),
        (b"disk", EntryType::Block, "is a device"),
        (b"pipe", EntryType::Fifo, "is a device"),
        (b"surveys", EntryType::Directory, "is a folder"),
        (b"././@LongLink", EntryType::GNULongName, "of a kind"),
        (b"pax", EntryType::XHeader, "of a kind"),
        (b"profile.ron", EntryType::GNUSparse, "of a kind"),
        (b"journal", EntryType::Regular, "is no file of a car"),
        (b"photos/holiday.jpg", EntryType::Regular, "is no file of a car"),
        (b"surveys/2026-02-30.ron", EntryType::Regular, "is no file of a car"),
        (b"bad\xff.ron", EntryType::Regular, "not UTF-8"),
    ];
    for (name, kind, word) in cases {
        for first in [true, false] {
            let mut tar = if first { Builder::new(Vec::new()) } else { packed(&good) };
            add(&mut tar, name, kind, 0, b"");
            let error = refused(&tar.into_inner().unwrap(), Limits::default());
            assert!(
                error.contains(word) && error.contains("nothing was changed"),
                "{name:?}: {error}"
            );
            assert!(!error.chars().any(tinworm::text::is_hostile));
        }
    }
    let mut twice = packed(&good);
    add(
        &mut twice,
        b"profile.ron",
        EntryType::Regular,
        good[1].1.len() as u64,
        &good[1].1,
    );
    assert!(refused(&twice.into_inner().unwrap(), Limits::default()).contains("stands in it twice"));
    let mut escape = Builder::new(Vec::new());
    add(&mut escape, "\u{1b}[2J\u{202e}x".as_bytes(), EntryType::Regular, 0, b"");
    let error = refused(&escape.into_inner().unwrap(), Limits::default());
    assert!(!error.chars().any(tinworm::text::is_hostile), "{error:?}");
}

#[test]
fn too_many_too_large_and_wrong_contents_are_refused() {
    let (_bench, file) = archived();
    let good = entries(&file);
    let all = Limits::default();
    let whole = fs::read(&file).unwrap();
    assert!(refused(&whole, Limits { files: 3, ..all }).contains("more than 3 files"));
    assert!(refused(&whole, Limits { file: 50, ..all }).contains("is too large"));
    assert!(refused(&whole, Limits { total: 1500, ..all }).contains("too large together"));
    // A head that claims much is refused before anything is read.
    let mut claims = Builder::new(Vec::new());
    let photo = good.last().unwrap().0.clone();
    add(
        &mut claims,
        photo.as_bytes(),
        EntryType::Regular,
        picture::LARGEST + 1,
        b"",
    );
    assert!(refused(&claims.into_inner().unwrap(), all).contains("is too large"));

    let with = |name: &str, bytes: Option<&[u8]>| {
        let changed: Vec<(String, Vec<u8>)> = good
            .iter()
            .filter(|(n, _)| n != name || bytes.is_some())
            .map(|(n, b)| (n.clone(), if n == name { bytes.unwrap().to_vec() } else { b.clone() }))
            .collect();
        assert!(good.iter().any(|(n, _)| n == name), "{name}");
        packed(&changed).into_inner().unwrap()
    };
    let other = bytes(&halves(3, 3), ImageFormat::Png);
    for (bytes, word) in [
        (with("state.ron", None), "state.ron is missing"),
        (with("profile.ron", None), "profile.ron is missing"),
        (
            with("surveys/2026-11-25.ron", None),
            "surveys/2026-11-25.ron is missing",
        ),
        (with(&photo, None), "is not in it, although a look has it"),
        (with(&photo, Some(b"no picture")), "neither a JPEG nor a PNG"),
        (with(&photo, Some(&other)), "does not match its name"),
        (
            with("profile.ron", Some(b"(schema: 1, through: 0, holds: (")),
            "profile.ron: line 1",
        ),
        (
            with("profile.ron", Some(b"(schema: 99, through: 0, holds: ())")),
            "newer tinworm",
        ),
        (
            with("wishes.ron", Some(b"\xff\xfe")),
            "wishes.ron: line 1, column 1: this is not valid UTF-8",
        ),
        (
            with("surveys/2026-11-25.ron", Some(&vec![b'('; 100_000])),
            "surveys/2026-11-25.ron",
        ),
    ] {
        let error = refused(&bytes, all);
        assert!(error.contains(word), "{word}: {error}");
        assert!(
            !error.contains(".new-"),
            "the hidden folder is nobody's business: {error}"
        );
    }
    assert!(refused(b"", all).contains("is empty, or no archive"));
    assert!(refused(&[b'x'; 5000], all).contains("no archive"));
    assert!(refused(&[0; 5000], all).contains("is empty, or no archive"));
}

#[test]
fn cut_or_flipped_anywhere_it_comes_in_whole_or_not_at_all() {
    let (_bench, file) = archived();
    let whole = fs::read(&file).unwrap();
    let place = TempDir::new().unwrap();
    let cars = place.path().join("cars");
    let data = DataFolder::find(Some(&cars)).unwrap();
    let x = place.path().join("x.tar");
    // Without the zeros at the end nothing is lost; anything less is noticed.
    let end = whole.len() - 1024;
    for cut in (0..end).step_by(512) {
        let error = refused(&whole[..cut], Limits::default());
        assert!(error.contains("nothing was changed"), "{cut}: {error}");
    }
    let mut taken = 0;
    for at in (0..end).step_by(331) {
        let mut turned = whole.clone();
        turned[at] ^= 1 << (at % 8);
        fs::write(&x, &turned).unwrap();
        match data.import(&x, Some("x"), Limits::default()) {
            Ok(name) => {
                // A letter in a note, or a byte that only fills up: then the car is whole.
                let open = data.open(&name, Access::Read).unwrap();
                for look in open.car().surveys.iter().flat_map(|s| &s.looks) {
                    look.photos.iter().for_each(|p| drop(open.photo(p).unwrap()));
                }
                fs::remove_dir_all(cars.join(name)).unwrap();
                taken += 1;
            }
            Err(_) => assert_eq!(fs::read_dir(&cars).unwrap().count(), 0, "{at}"),
        }
    }
    println!("{taken} of {} flips left a whole car", end / 331);
}

#[test]
fn a_photo_that_is_lost_is_named_and_no_archive_is_written() {
    let (bench, file) = archived();
    let folder = bench.data().join("estate/photos");
    let first = fs::read_dir(&folder).unwrap().next().unwrap().unwrap().path();
    fs::remove_file(&first).unwrap();
    fs::remove_file(&file).unwrap();
    let out = bench.run(&["archive", "estate", file.to_str().unwrap()]);
    assert_eq!(out.status.code(), Some(1));
    let name = first.file_name().unwrap().to_str().unwrap();
    assert!(
        said(&out).contains(name) && said(&out).contains("is missing"),
        "{}",
        said(&out)
    );
    assert!(!file.exists());
}

#[test]
fn a_damaged_car_is_not_carried_away_as_a_whole_one() {
    let (bench, file) = archived();
    let folder = bench.data().join("estate");
    let written = fs::read(&file).unwrap();
    let part = "lower-arm@front-right";
    bench.text(&["found", "estate", part, "metal=2", "--date", "2026-11-22"]);
    for (name, code) in [("repairs.ron", 1), ("surveys/2026-11-22.ron", 1), ("state.ron", 1)] {
        let path = folder.join(name);
        let whole = fs::read(&path).unwrap();
        for damaged in [&whole[..whole.len() / 2], b"\xff"] {
            fs::write(&path, damaged).unwrap();
            let out = bench.run(&["archive", "estate", file.to_str().unwrap()]);
            assert_eq!(out.status.code(), Some(code), "{name}: {}", said(&out));
            assert!(said(&out).contains(name), "{name}: {}", said(&out));
            assert_eq!(fs::read(&file).unwrap(), written, "the archive of before stays");
        }
        fs::remove_file(&path).unwrap();
        let out = bench.run(&["archive", "estate", file.to_str().unwrap()]);
        assert_eq!(out.status.code(), Some(code), "{name}: {}", said(&out));
        assert!(said(&out).contains("is missing"), "{name}: {}", said(&out));
        fs::write(&path, whole).unwrap();
    }
    // What stands before the damage of a journal can be looked at, but is not the whole.
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let mut open = data.open("estate", Access::Write).unwrap();
    for date in ["2026-11-23", "2026-11-24"] {
        open.record(crate::cars::survey(date)).unwrap();
    }
    drop(open);
    let journal = folder.join("journal");
    let whole = fs::read_to_string(&journal).unwrap();
    fs::write(&journal, whole.replacen("thaw", "frost", 1)).unwrap();
    assert!(bench.run(&["standing", "estate"]).status.success());
    let out = bench.run(&["archive", "estate", file.to_str().unwrap()]);
    assert_eq!(out.status.code(), Some(1), "{}", said(&out));
    assert!(said(&out).contains("journal:1"), "{}", said(&out));
    assert_eq!(fs::read(&file).unwrap(), written, "the archive of before stays");
    // Put right, it goes.
    fs::write(&journal, whole).unwrap();
    bench.text(&["archive", "estate", file.to_str().unwrap()]);
    assert_ne!(fs::read(&file).unwrap(), written);
}
