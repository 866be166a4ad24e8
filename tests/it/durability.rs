//! The real program and the worst moments: killed while grading, the disk full, a folder or a file that may not be touched,
//! the clock set back, two programs on one car. What was acknowledged is on disk, and what is said is clear.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::io::Write;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use tinworm::rubric::builtin;
use tinworm::store::{Access, DataFolder};

use crate::cars::{copy_folder, day};
use crate::command_line::bench::{Bench, new_car};
use crate::terminal::{Session, yard_with_a_car};

/// The number before ` looked at` on a screen.
fn looked_at(text: &str) -> Option<usize> {
    let before = text.split(" looked at").next().filter(|b| b.len() < text.len())?;
    before.rsplit(|c: char| !c.is_ascii_digit()).next()?.parse().ok()
}

/// Grades the check on the screen, or says of a measured one why it was not seen.
fn grade(session: &mut Session) {
    let graded = session.screen.screen().contents().contains("0–5 grade");
    session.press(if graded { "3" } else { "xo" });
}

/// Grades at speed and kills the program at random moments: after each restart everything acknowledged is there.
fn killed(times: u32, seed: u64) {
    let began = Instant::now();
    let (folder, yard) = yard_with_a_car();
    let fresh = tempfile::tempdir().unwrap();
    copy_folder(folder.path(), fresh.path());
    let mut chance = Pcg64Mcg::seed_from_u64(seed);
    let (mut acknowledged, mut in_all, mut unasked, mut torn) = (0, 0, 0, 0);
    let mut begun = false;
    for kill in 0..times {
        let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
        if begun {
            session.press("r");
        } else {
            session.shows("Begin a survey");
            session.press("\t\t\tw\u{13}");
        }
        session.shows(&format!("{acknowledged} looked at"));
        begun = true;
        for _ in 0..chance.random_range(0..8) {
            grade(&mut session);
            acknowledged += 1;
            in_all += 1;
            session.shows(&format!("{acknowledged} looked at"));
        }
        match chance.random_range(0..4) {
            // While it is closing and writes its files anew.
            0 => session.press("\u{3}"),
            // While it writes a look down.
            _ => grade(&mut session),
        }
        std::thread::sleep(Duration::from_micros(chance.random_range(0..30_000)));
        session.kill();
        let frame = session.last_frame();
        let shown = looked_at(&frame).unwrap_or(acknowledged).max(acknowledged);
        let seen = yard
            .verify("Blue estate", builtin::library(), day("2100-01-01"))
            .unwrap();
        assert!(!seen.damaged(), "kill {kill}: {:#?}", seen.troubles);
        torn += usize::from(seen.troubles.iter().any(|t| t.file.ends_with("journal")));
        let open = yard.open("Blue estate", Access::Read).unwrap();
        let looks = open.car().surveys.first().map_or(0, |s| s.looks.len());
        assert!(
            looks >= shown,
            "kill {kill}: {looks} on disk, {shown} on screen\n{frame}"
        );
        assert!(
            looks <= acknowledged + 1,
            "kill {kill}: {looks} on disk after {acknowledged}"
        );
        unasked += looks - acknowledged;
        acknowledged = looks;
        if acknowledged > 60 {
            fs::remove_dir_all(folder.path().join("blue-estate")).unwrap();
            copy_folder(fresh.path(), folder.path());
            (acknowledged, begun) = (0, false);
        }
    }
    println!(
        "{times} kills survived in {:.0} s: {in_all} looks acknowledged on screen, none lost; {unasked} more were on disk \
         before the screen had said so; {torn} unfinished records, each noticed",
        began.elapsed().as_secs_f64()
    );
}

#[test]
fn killed_thirty_times_while_grading_every_look_on_the_screen_is_on_disk() {
    killed(30, 1);
}

#[test]
#[ignore = "takes minutes"]
fn killed_two_hundred_times_while_grading_every_look_on_the_screen_is_on_disk() {
    killed(200, 2);
}

fn there(program: &str, arguments: &[&str]) -> bool {
    Command::new(program)
        .args(arguments)
        .output()
        .is_ok_and(|o| o.status.success())
}

fn text_of(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

#[test]
fn a_record_is_synced_before_the_screen_says_so() {
    if !there("strace", &["-f", "true"]) {
        println!("skipped: there is no strace, or it may not trace");
        return;
    }
    let (folder, _) = yard_with_a_car();
    let trace = folder.path().join("trace");
    let above = [
        "strace",
        "-f",
        "-y",
        "-s",
        "4000",
        "-e",
        "trace=write,writev,fdatasync,fsync",
        "-o",
        trace.to_str().unwrap(),
    ];
    let mut session = Session::start_under(&above, &["open", "Blue estate"], &[], folder.path());
    session.shows("Begin a survey");
    session.press("\t\t\tw\u{13}");
    session.shows("0 looked at");
    for given in 1..=6 {
        grade(&mut session);
        session.shows(&format!("{given} looked at"));
    }
    session.press("\u{3}");
    session.ended();
    let trace = fs::read_to_string(&trace).unwrap();
    // Between a look's record and its sync nothing at all is written to the terminal.
    let (mut unsynced, mut records, mut frames_after) = (false, 0, 0);
    for line in trace.lines() {
        if line.contains("write(") && line.contains("/journal>") && line.contains("Look(") {
            assert!(!unsynced, "a record before the last one was synced: {line}");
            (unsynced, records) = (true, records + 1);
        } else if line.contains("fdatasync(") && line.contains("/journal>") || line.contains("fdatasync resumed") {
            unsynced &= !line.contains("= 0");
        } else if line.contains("/dev/pts/") && line.contains("write") {
            assert!(
                !unsynced,
                "the screen was written before the record was on disk: {line}"
            );
            frames_after += usize::from(records > 0);
        }
    }
    assert_eq!(records, 6);
    assert!(frames_after >= 6, "{frames_after}");
    println!("{records} records synced before any of {frames_after} writes to the screen after them");
}

#[test]
fn a_snapshot_is_synced_renamed_and_its_folder_synced() {
    if !there("strace", &["-f", "true"]) {
        println!("skipped: there is no strace, or it may not trace");
        return;
    }
    let bench = Bench::with_car();
    let sheet = bench.filled(
        "sheet.csv",
        |_, _, kind| if kind.starts_with("grade") { "1" } else { "" },
    );
    let trace = bench.path("trace");
    let output = Command::new("strace")
        .args([
            "-f",
            "-y",
            "-e",
            "trace=write,fdatasync,fsync,rename,renameat,renameat2",
            "-o",
        ])
        .arg(&trace)
        .arg(env!("CARGO_BIN_EXE_tinworm"))
        .args(["--today", "2026-11-25", "enter", "estate"])
        .arg(&sheet)
        .env("TINWORM_DATA", bench.data())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", text_of(&output));
    let trace = fs::read_to_string(&trace).unwrap();
    let lines: Vec<&str> = trace.lines().collect();
    let mut renamed = Vec::new();
    for (at, line) in lines.iter().enumerate().filter(|(_, l)| l.contains("rename")) {
        // renameat(5</folder>, ".state.ron.XEXvb5", 5</folder>, "state.ron") = 0
        let names: Vec<&str> = line.split('"').collect();
        let (temporary, name) = (names[1], names[3]);
        let folder = line.split(['<', '>']).nth(1).unwrap();
        let of_file = format!("{folder}/{temporary}>");
        let last_write = lines[..at]
            .iter()
            .rposition(|l| l.contains("write(") && l.contains(&of_file));
        let sync = lines[..at]
            .iter()
            .rposition(|l| l.contains("sync(") && l.contains(&of_file) && l.ends_with("= 0"));
        assert!(
            sync.is_some() && last_write < sync,
            "{name} was renamed before it was synced"
        );
        let next = lines[at + 1..].iter().find(|l| !l.contains("write(")).unwrap();
        assert!(
            next.contains("fsync(") && next.contains(&format!("<{folder}>")),
            "{line}\n{next}"
        );
        renamed.push(name.to_owned());
    }
    // The list of files after the files, the journal emptied last of all, then only copies.
    let place = |name: &str| renamed.iter().position(|n| n == name).unwrap();
    assert!(
        place("2026-11-25.ron") < place("state.ron") && place("state.ron") < place("journal"),
        "{renamed:?}"
    );
    println!(
        "{} files renamed, each synced before and its folder after",
        renamed.len()
    );
}

#[test]
fn a_folder_that_a_photo_needs_is_made_for_good() {
    if !there("strace", &["-f", "true"]) {
        println!("skipped: there is no strace, or it may not trace");
        return;
    }
    let bench = crate::photos::graded();
    let picture = crate::photos::bytes(&crate::photos::halves(9, 9), image::ImageFormat::Png);
    fs::write(bench.path("a.png"), picture).unwrap();
    let car = bench.data().join("estate");
    fs::remove_dir(car.join("photos")).unwrap();
    let trace = bench.path("trace");
    let output = Command::new("strace")
        .args(["-f", "-y", "-e", "trace=mkdir,mkdirat,fsync,renameat,rename", "-o"])
        .arg(&trace)
        .arg(env!("CARGO_BIN_EXE_tinworm"))
        .args(["photo", "estate", crate::photos::PART, "boot"])
        .arg(bench.path("a.png"))
        .env("TINWORM_DATA", bench.data())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", text_of(&output));
    let after = after_made(&trace, "/photos");
    let renamed = after.iter().position(|l| l.contains(".png")).unwrap();
    let (above, itself) = (synced(&after, &car), synced(&after, &car.join("photos")));
    assert!(above < renamed && renamed < itself, "{after:#?}");
}

#[test]
fn the_folders_of_a_first_car_are_made_for_good() {
    if !there("strace", &["-f", "true"]) {
        println!("skipped: there is no strace, or it may not trace");
        return;
    }
    let bench = Bench::empty();
    let trace = bench.path("trace");
    let output = Command::new("strace")
        .args(["-f", "-y", "-e", "trace=mkdir,mkdirat,fsync", "-o"])
        .arg(&trace)
        .arg(env!("CARGO_BIN_EXE_tinworm"))
        .arg("--data")
        .arg(bench.path("of/many/folders"))
        .args(new_car("Estate"))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", text_of(&output));
    for (made, above) in [("/of", ""), ("/many", "of"), ("/folders", "of/many")] {
        assert_eq!(synced(&after_made(&trace, made), &bench.path(above)), 0, "{made}");
    }
}

/// The calls traced after the one that made a folder whose path ends so.
fn after_made(trace: &Path, end: &str) -> Vec<String> {
    let trace = fs::read_to_string(trace).unwrap();
    let is_made = |line: &&str| line.contains("mkdir") && line.contains(&format!("{end}\"")) && line.ends_with("= 0");
    let made = trace.lines().position(|l| is_made(&l)).unwrap();
    trace.lines().skip(made + 1).map(str::to_owned).collect()
}

/// The place among calls traced of the sync of a folder.
fn synced(calls: &[String], folder: &Path) -> usize {
    let shown = format!("<{}>", folder.canonicalize().unwrap().display());
    calls
        .iter()
        .position(|l| l.contains("fsync(") && l.contains(&shown) && l.ends_with("= 0"))
        .unwrap()
}

/// Runs the program as the system's nobody; `None` where that cannot be done.
fn as_nobody(bench: &Bench, words: &[&str]) -> Option<Output> {
    let mut command = Command::new("setpriv");
    command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]);
    if !there(
        "setpriv",
        &[
            "--reuid=65534",
            "--regid=65534",
            "--clear-groups",
            env!("CARGO_BIN_EXE_tinworm"),
            "--version",
        ],
    ) {
        println!("skipped: the program cannot be run as another user");
        return None;
    }
    command
        .arg(env!("CARGO_BIN_EXE_tinworm"))
        .args(["--today", "2026-11-25"])
        .args(words)
        .env("TINWORM_DATA", bench.data())
        .env("TINWORM_RUBRICS", bench.path("none"))
        .output()
        .ok()
}

fn open_to_all(path: &Path, folder: u32, file: u32) {
    let mode = if path.is_dir() { folder } else { file };
    if path.is_dir() {
        for entry in fs::read_dir(path).unwrap() {
            open_to_all(&entry.unwrap().path(), folder, file);
        }
    }
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

#[test]
fn a_folder_that_may_only_be_read_is_read_and_what_cannot_be_written_is_said() {
    let bench = Bench::with_car();
    open_to_all(bench.data().parent().unwrap(), 0o555, 0o444);
    let part = "track-rod-end@front-left";
    let Some(read) = as_nobody(&bench, &["part", "estate"]) else {
        return;
    };
    assert_eq!(read.status.code(), Some(0), "{}", text_of(&read));
    for words in [&["tick", "estate", part][..], &["set", "estate", "--budget", "5"]] {
        let output = as_nobody(&bench, words).unwrap();
        let said = text_of(&output);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(
            said.contains("nothing was changed") && said.contains("cannot be written"),
            "{said}"
        );
    }
    let output = as_nobody(&bench, &new_car("Other")).unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", text_of(&output));
    open_to_all(bench.data().parent().unwrap(), 0o755, 0o644);
    assert!(bench.run(&["verify", "estate"]).status.success());
}

#[test]
fn a_file_that_becomes_unreadable_is_named_and_nothing_is_lost() {
    let bench = Bench::with_car();
    open_to_all(bench.data().parent().unwrap(), 0o777, 0o666);
    for file in ["repairs.ron", "journal", "state.ron"] {
        let path = bench.data().join("estate").join(file);
        let before = fs::read(&path).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o000)).unwrap();
        for words in [
            &["standing", "estate"][..],
            &["tick", "estate", "tyre@front-left"],
            &["verify", "estate"],
            &["verify", "estate", "--repair"],
        ] {
            let Some(output) = as_nobody(&bench, words) else { return };
            let said = text_of(&output);
            assert!(matches!(output.status.code(), Some(1 | 4)), "{words:?}: {said}");
            assert!(
                said.contains(file) && said.contains("Permission denied"),
                "{words:?}: {said}"
            );
        }
        fs::set_permissions(&path, fs::Permissions::from_mode(0o666)).unwrap();
        assert_eq!(fs::read(&path).unwrap(), before);
        assert!(bench.run(&["verify", "estate"]).status.success());
    }
}

#[test]
fn a_clock_set_back_loses_nothing_and_what_lies_ahead_is_remarked() {
    let bench = Bench::with_car();
    let sheet = bench.filled(
        "sheet.csv",
        |_, _, kind| if kind.starts_with("grade") { "2" } else { "" },
    );
    bench.text(&["enter", "estate", sheet.to_str().unwrap()]);
    let car = || {
        let data = DataFolder::find(Some(&bench.data())).unwrap();
        data.open("estate", Access::Read).unwrap().car().clone()
    };
    let before = car();
    for day in ["2026-11-24", "1970-01-01"] {
        for words in [
            &["standing", "estate"][..],
            &["plan", "estate"],
            &["sides", "estate"],
            &["report", "estate"],
        ] {
            let output = bench.command_on(day).args(words).output().unwrap();
            let said = text_of(&output);
            assert!(matches!(output.status.code(), Some(0 | 1)), "{day} {words:?}: {said}");
            assert!(!said.contains("panicked"), "{said}");
        }
        let output = bench.command_on(day).args(["verify", "estate"]).output().unwrap();
        assert!(
            output.status.success() && text_of(&output).contains("in the future"),
            "{}",
            text_of(&output)
        );
        assert_eq!(car(), before);
    }
    // Recording goes on, in the order of days.
    let output = bench
        .command_on("2026-11-20")
        .args(["enter", "estate"])
        .arg(&sheet)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", text_of(&output));
    let dates: Vec<String> = car().surveys.iter().map(|s| s.date.to_string()).collect();
    assert_eq!(dates, ["2026-11-20", "2026-11-25"]);
}

#[test]
fn a_sheet_is_judged_by_what_the_car_is_when_it_is_taken() {
    let bench = Bench::with_car();
    let sheet = bench.filled(
        "sheet.csv",
        |_, _, kind| if kind.starts_with("grade") { "2" } else { "" },
    );
    // One program has looked at the car and waits for its sheet; meanwhile another enters a survey.
    let waiting = |words: &[&str]| {
        let child = bench
            .command()
            .args(["enter", "estate", "-"])
            .args(words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // Until it reads its input; where that cannot be seen, for as long as it should take.
        let began = Instant::now();
        let reads =
            || fs::read_to_string(format!("/proc/{}/syscall", child.id())).is_ok_and(|s| s.starts_with("0 0x0 "));
        while !reads() && began.elapsed() < Duration::from_secs(5) {
            std::thread::sleep(Duration::from_millis(20));
        }
        child
    };
    let goes_on = |mut child: std::process::Child| {
        let bytes = fs::read(&sheet).unwrap();
        // One that has refused already reads no more.
        let _ = child.stdin.take().unwrap().write_all(&bytes);
        child.wait_with_output().unwrap()
    };
    let sheet_there = sheet.to_str().unwrap();
    let first = waiting(&["--date", "2026-11-24", "--odometer", "90000"]);
    bench.text(&[
        "enter",
        "estate",
        sheet_there,
        "--date",
        "2026-11-20",
        "--odometer",
        "100000",
    ]);
    let output = goes_on(first);
    assert_eq!(output.status.code(), Some(1), "{}", text_of(&output));
    assert!(text_of(&output).contains("run backwards"), "{}", text_of(&output));
    // The unit of its odometer is changed meanwhile: 200,000 of them are another distance.
    let second = waiting(&["--date", "2026-11-24", "--odometer", "200000"]);
    bench.text(&["set", "estate", "--unit", "miles"]);
    let output = goes_on(second);
    assert_eq!(output.status.code(), Some(0), "{}", text_of(&output));
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let car = data.open("estate", Access::Read).unwrap().car().clone();
    let read: Vec<_> = car.surveys.iter().map(|s| s.odometer_km.unwrap().round()).collect();
    assert_eq!(read, [100_000.0, 321_869.0]);
}

#[test]
fn two_programs_at_once_on_one_car_lose_nothing_and_say_who_has_it() {
    let (folder, yard) = yard_with_a_car();
    let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
    session.shows("Begin a survey");
    session.press("\t\t\tw\u{13}");
    session.shows("0 looked at");
    grade(&mut session);
    session.shows("1 looked at");
    let set = |money: u32| {
        Command::new(env!("CARGO_BIN_EXE_tinworm"))
            .args(["set", "Blue estate", "--budget", &money.to_string()])
            .args([
                "--not-free",
                &format!("2027-{:02}-{:02}", 1 + money / 28, 1 + money % 28),
            ])
            .env("TINWORM_DATA", folder.path())
            .output()
            .unwrap()
    };
    let output = set(1);
    let said = text_of(&output);
    assert_eq!(output.status.code(), Some(4), "{said}");
    assert!(said.contains("nothing was changed: another tinworm (process"), "{said}");
    session.press("\u{3}");
    session.ended();
    // Now in a crowd: whoever is let in is remembered, whoever is not is told so.
    let done: usize = std::thread::scope(|scope| {
        let crowd: Vec<_> = (0..3_u32)
            .map(|who| {
                scope.spawn(move || {
                    let codes = (0..8).map(|n| set(1 + who * 8 + n).status.code().unwrap());
                    codes
                        .inspect(|code| assert!(matches!(code, 0 | 4), "{code}"))
                        .filter(|c| *c == 0)
                        .count()
                })
            })
            .collect();
        crowd.into_iter().map(|t| t.join().unwrap()).sum()
    });
    let open = yard.open("Blue estate", Access::Read).unwrap();
    assert!(done > 0);
    assert_eq!(open.car().profile.sessions.except.len(), done);
    assert_eq!(open.car().surveys[0].looks.len(), 1);
    println!("24 changes asked for by three programs: {done} made and kept, the others refused with exit 4");
}

#[test]
fn a_full_disk_is_said_by_the_program_and_loses_nothing() {
    let bench = Bench::with_car();
    let script = r#"
        mkdir -p "$1/small" && mount -t tmpfs -o size=600k none "$1/small" || { echo "no small disk"; exit 0; }
        cp -r "$1/cars/." "$1/small/" || exit 9
        export TINWORM_DATA="$1/small"
        "$2" tick estate track-rod-end@front-left || exit 8
        dd if=/dev/zero of="$1/small/filler" bs=512 2>/dev/null
        "$2" set estate --note x 2>/dev/null
        "$2" done estate renew-track-rod-end track-rod-end@front-left --note "$(head -c 20000 /dev/zero | tr '\0' x)"
        echo "code $?"
        "$2" part estate >/dev/null; echo "read $?"
        rm "$1/small/filler"
        "$2" verify estate; echo "verify $?"
        "$2" tick estate track-rod-end@front-right; echo "again $?"
        "$2" plan estate --quick >/dev/full; echo "full $?"
    "#;
    let Ok(output) = Command::new("unshare")
        .args(["--map-root-user", "--mount", "sh", "-c", script, "sh"])
        .arg(bench.path(""))
        .arg(env!("CARGO_BIN_EXE_tinworm"))
        .output()
    else {
        println!("skipped: no small disk can be mounted here");
        return;
    };
    let said = text_of(&output);
    if said.contains("no small disk") || said.contains("unshare:") {
        println!("skipped: no small disk can be mounted here");
        return;
    }
    for words in [
        "code 1",
        "No space left",
        "read 0",
        "verify 0",
        "again 0",
        "full 1",
        "output cannot be written",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
}
