//! Every command with every kind of wrong argument, and the program in every kind of odd surroundings: a defined exit code,
//! a sentence, no panic, and nothing changed that was not asked for.
#![allow(clippy::unwrap_used, clippy::panic)]

mod lines;

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::fs;
use std::io::Write;
use std::os::unix::ffi::OsStringExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tinworm::cli::Spoken;
use tinworm::store::{Access, DataFolder};

use lines::{RIGHT, command_lines, commands, is_of};

use crate::command_line::bench::Bench;

#[test]
fn every_command_there_is_stands_in_the_table() {
    for command in &commands()[1..] {
        assert!(
            RIGHT.iter().any(|line| is_of(line, command)),
            "`{}` stands in no line of the table",
            command.words.join(" ")
        );
    }
    // What is asked of the program is what a person is told: its help names the same commands.
    let help = text_of(
        &Command::new(env!("CARGO_BIN_EXE_tinworm"))
            .arg("--help")
            .output()
            .unwrap(),
    );
    let told = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let told: BTreeSet<&str> = told
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    let known: Vec<Spoken> = commands();
    let known: BTreeSet<&str> = known[1..].iter().map(|c| c.words[0].as_str()).collect();
    assert_eq!(told, known, "{help}");
    assert!(known.len() >= 30, "{known:?}");
}

#[test]
fn what_is_said_is_neither_passed_over_nor_taken_for_nothing() {
    let bench = Bench::with_car();
    let done = ["estate", "renew-track-rod-end", "track-rod-end@front-left"];
    let too_large = "99999999999999999999999";
    for (verb, words, said) in [
        // A repair's hours, and no repair.
        ("done", &["estate", "--hours", "3"][..], "--hours"),
        ("done", &["estate", "--undo", "1", "--cost", "3"], "--cost"),
        ("done", &["estate", "--found", "boot=4"], "--found"),
        ("done", &[&done[..], &["--fitted", " "]].concat(), "--fitted"),
        ("done", &[&done[..], &["--hours", too_large]].concat(), "--hours"),
        ("leave", &[&done[..], &["--buy", ""]].concat(), "--buy"),
        ("leave", &[&done[..], &["--did", " "]].concat(), "--did"),
        (
            "leave",
            &[&done[..], &["--hours-left", too_large]].concat(),
            "--hours-left",
        ),
        ("set", &["estate", "--tool", ""], "--tool"),
        ("set", &["estate", "--sessions", " "], "--sessions"),
        ("set", &["estate", "--currency", "no sign of money"], "--currency"),
        ("set", &["estate", "--yearly", too_large], "--yearly"),
        ("set", &["estate", "--budget", "1e300"], "--budget"),
        ("second-look", &["estate", "--json", "--csv"], "--csv"),
    ] {
        let output = bench.command().arg(verb).args(words).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{verb} {words:?}: {}", text_of(&output));
        assert!(
            text_of(&output).contains(said),
            "{verb} {words:?}: {}",
            text_of(&output)
        );
    }
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let car = data.open("estate", Access::Read).unwrap().car().clone();
    assert!(car.repairs.is_empty() && car.progress.open.is_empty() && car.surveys.is_empty());
}

#[test]
#[ignore = "run by the test below, in a process of its own"]
fn says_the_wrong_things() {
    let Some(folder) = std::env::var_os("TINWORM_TEST_FOLDER") else {
        return;
    };
    let folder = PathBuf::from(folder);
    std::env::set_current_dir(&folder).unwrap();
    let mut codes = fs::File::create(folder.join("codes")).unwrap();
    let mut say = |line: &[OsString]| {
        // Said before it is tried, so that the last one is known if the program ends.
        write!(codes, "{line:?}\t").unwrap();
        let mut words = vec![OsString::from("tinworm")];
        for (flag, value) in [
            ("--data", folder.join("cars").into_os_string()),
            ("--rubrics", folder.join("none").into_os_string()),
            ("--today", "2026-11-25".into()),
        ] {
            if !line.iter().any(|w| w == flag) {
                words.extend([flag.into(), value]);
            }
        }
        let code = tinworm::cli::run(words.into_iter().chain(line.iter().cloned()));
        writeln!(codes, "{code}").unwrap();
    };
    for line in RIGHT {
        say(&line.split(' ').map(OsString::from).collect::<Vec<_>>());
    }
    for line in command_lines().into_iter().step_by(step()) {
        say(&line);
    }
}

/// Of how many command lines one is tried.
fn step() -> usize {
    std::env::var("TINWORM_TEST_STEP")
        .ok()
        .and_then(|s| s.parse().ok())
        .unwrap_or(1)
}

#[test]
fn every_command_with_a_sample_of_wrong_arguments_ends_with_a_defined_code() {
    // A prime: in each run of equal lines it falls on another.
    wrong_things_said(37);
}

#[test]
#[ignore = "takes minutes"]
fn every_command_with_every_kind_of_wrong_argument_ends_with_a_defined_code() {
    wrong_things_said(1);
}

fn wrong_things_said(step: usize) {
    let began = std::time::Instant::now();
    let bench = looked_round();
    fs::create_dir(bench.path("none")).unwrap();
    let sheet = bench.path("sheet.csv");
    bench.text(&["enter", "estate", sheet.to_str().unwrap(), "--date", "2026-08-20"]);
    fs::write(bench.path("again.csv"), graded_again(&bench)).unwrap();
    let picture = crate::photos::bytes(&crate::photos::halves(9, 9), image::ImageFormat::Png);
    fs::write(bench.path("a.png"), picture).unwrap();
    bench.text(&["archive", "estate", bench.path("estate.tar").to_str().unwrap()]);
    let output = Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "bad_arguments::says_the_wrong_things",
            "--ignored",
            "--nocapture",
            "--test-threads=1",
        ])
        .env("TINWORM_TEST_FOLDER", bench.path(""))
        .env("TINWORM_TEST_STEP", step.to_string())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .output()
        .unwrap();
    let errors = String::from_utf8_lossy(&output.stderr);
    let codes = String::from_utf8_lossy(&fs::read(bench.path("codes")).unwrap()).into_owned();
    let last = codes.lines().last().unwrap_or_default();
    assert!(
        output.status.success() && !errors.contains("panicked"),
        "after {last}\n{errors}"
    );
    let mut counted: BTreeMap<&str, usize> = BTreeMap::new();
    for (line, right) in codes.lines().zip(RIGHT) {
        // The screens need a terminal, and there is none.
        let due = if right.starts_with("open") { "2" } else { "0" };
        assert_eq!(line.rsplit('\t').next(), Some(due), "{line}\n{errors}");
    }
    for line in codes.lines().skip(RIGHT.len()) {
        let (asked, code) = line.rsplit_once('\t').unwrap();
        assert!(matches!(code, "0" | "1" | "2" | "3"), "{asked}: {code}");
        *counted.entry(code).or_default() += 1;
        if step == 1 && code == "0" {
            // Most are right after all: a name, a remark, a file of any name. To be read through by a person.
            println!("accepted: {}", asked.chars().take(200).collect::<String>());
        }
    }
    let tried = codes.lines().count() - RIGHT.len();
    assert_eq!(tried, command_lines().len().div_ceil(step));
    assert!(!errors.contains('\u{1b}') && !errors.contains('\u{202e}') && !errors.contains('\u{7}'));
    println!(
        "{tried} command lines in {:.0} s, by exit code: {counted:?}",
        began.elapsed().as_secs_f64()
    );
    // Whatever was accepted among it can be read again.
    let output = bench.run(&["verify", "estate"]);
    assert!(output.status.success(), "{}", text_of(&output));
}

/// The sheet of the checks drawn for a second look, each graded 2.
fn graded_again(bench: &Bench) -> Vec<u8> {
    let blank = bench.text(&["second-look", "estate", "--csv"]);
    let mut reader = csv::Reader::from_reader(blank.as_bytes());
    let header = reader.headers().unwrap().clone();
    let at = header.iter().position(|h| h == "grade_or_reading").unwrap();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header).unwrap();
    for row in reader.records() {
        let row = row.unwrap();
        let cells = row.iter().enumerate();
        writer
            .write_record(cells.map(|(n, cell)| if n == at { "2" } else { cell }))
            .unwrap();
    }
    writer.into_inner().unwrap()
}

fn text_of(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

/// A bench whose car has been looked round.
fn looked_round() -> Bench {
    let bench = Bench::with_car();
    let sheet = bench.filled(
        "sheet.csv",
        |_, _, kind| if kind.starts_with("grade") { "3" } else { "" },
    );
    bench.text(&["enter", "estate", sheet.to_str().unwrap()]);
    bench
}

#[test]
fn a_reader_that_stops_reading_is_no_mistake() {
    let bench = looked_round();
    for words in [
        &["report", "estate"][..],
        &["rubrics", "list", "--json"],
        &["--help"],
        &["export", "estate", "--json"],
    ] {
        let mut child = bench
            .command()
            .args(words)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(
            (output.status.code(), text_of(&output).as_str()),
            (Some(0), ""),
            "{words:?}"
        );
    }
    // Nowhere to print to at all, and nowhere to complain.
    let closed = |shell: &str| {
        Command::new("sh")
            .args(["-c", &format!("\"$0\" cars {shell}"), env!("CARGO_BIN_EXE_tinworm")])
            .env("TINWORM_DATA", bench.data())
            .status()
            .unwrap()
            .code()
    };
    assert!(matches!(closed(">&-"), Some(0 | 1)));
    assert_eq!(closed(">/dev/full"), Some(1));
    assert_eq!(closed(">/dev/full 2>/dev/full"), Some(1));
    assert!(matches!(closed("<&- >&- 2>&-"), Some(0 | 1)));
}

#[test]
fn odd_surroundings_change_nothing_in_what_is_printed() {
    let bench = looked_round();
    let plain = bench.text(&["standing", "estate"]);
    type Set = fn(&mut Command) -> &mut Command;
    let surroundings: [(&str, Set); 12] = [
        ("no HOME", |c| {
            c.env_remove("HOME")
                .env_remove("XDG_DATA_HOME")
                .env_remove("XDG_CONFIG_HOME")
        }),
        ("an empty HOME", |c| c.env("HOME", "")),
        ("HOME nowhere", |c| c.env("HOME", "/nowhere/at/all")),
        ("a dumb terminal", |c| c.env("TERM", "dumb")),
        ("no TERM", |c| c.env_remove("TERM")),
        ("locale C", |c| c.env("LC_ALL", "C").env("LANG", "C")),
        ("a locale that is none", |c| c.env("LC_ALL", "\u{1b}[31m")),
        ("NO_COLOR", |c| c.env("NO_COLOR", "1")),
        ("a time zone east", |c| c.env("TZ", "Pacific/Kiritimati")),
        ("a time zone west", |c| c.env("TZ", "Etc/GMT+12")),
        ("a time zone that is none", |c| c.env("TZ", "Nowhere/At_All")),
        ("a comma as decimal point", |c| c.env("LC_NUMERIC", "de_DE.UTF-8")),
    ];
    for (name, set) in surroundings {
        let output = set(&mut bench.command()).args(["standing", "estate"]).output().unwrap();
        assert!(output.status.success(), "{name}: {}", text_of(&output));
        assert_eq!(String::from_utf8_lossy(&output.stdout), plain, "{name}");
    }
    for columns in ["1", "0", "-1", "99999999999", "wide", "39", "4000"] {
        let output = bench
            .command()
            .env("COLUMNS", columns)
            .args(["plan", "estate", "--quick"])
            .output()
            .unwrap();
        assert!(output.status.success(), "{columns}: {}", text_of(&output));
    }
    for words in [&[][..], &["open", "estate"]] {
        let output = bench.command().args(words).env("TERM", "dumb").output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{}", text_of(&output));
        assert!(text_of(&output).contains("terminal"));
    }
}

#[test]
fn folders_and_files_may_be_called_anything() {
    let bench = looked_round();
    for name in [
        &b"\xff\xfe caf\xe9"[..],
        "物語 🚗".as_bytes(),
        b"-rf",
        b"a\nb",
        b"$(id)",
    ] {
        let odd = bench.path("").join(OsString::from_vec(name.to_vec()));
        crate::cars::copy_folder(&bench.data(), &{
            fs::create_dir(&odd).unwrap();
            odd.clone()
        });
        let run = |words: &[&str]| {
            let mut command = Command::new(env!("CARGO_BIN_EXE_tinworm"));
            command
                .arg(format_data(&odd))
                .args(["--today", "2026-11-25"])
                .args(words);
            command.output().unwrap()
        };
        for words in [
            &["standing", "estate"][..],
            &["verify", "--all"],
            &["tick", "estate", "tyre@front-left"],
        ] {
            let output = run(words);
            assert_eq!(output.status.code(), Some(0), "{odd:?} {words:?}: {}", text_of(&output));
        }
        assert_eq!(run(&["standing", "nobody"]).status.code(), Some(3));
        let file = odd.join(OsString::from_vec([name, b".csv"].concat()));
        fs::copy(bench.path("sheet.csv"), &file).unwrap();
        let output = Command::new(env!("CARGO_BIN_EXE_tinworm"))
            .arg(format_data(&odd))
            .args(["--today", "2026-11-25", "enter", "estate", "--"])
            .arg(&file)
            .output()
            .unwrap();
        assert!(output.status.success(), "{odd:?}: {}", text_of(&output));
    }
}

fn format_data(folder: &Path) -> OsString {
    let mut flag = OsString::from("--data=");
    flag.push(folder);
    flag
}

#[test]
fn sheets_and_rubrics_with_windows_line_ends_are_read_alike() {
    let bench = looked_round();
    let car = || {
        let data = DataFolder::find(Some(&bench.data())).unwrap();
        data.open("estate", Access::Read).unwrap().car().clone()
    };
    let before = car();
    let text = fs::read_to_string(bench.path("sheet.csv")).unwrap();
    for (name, ends) in [("crlf.csv", "\r\n"), ("cr.csv", "\r"), ("lf.csv", "\n")] {
        fs::write(bench.path(name), text.lines().collect::<Vec<_>>().join(ends)).unwrap();
        bench.text(&["enter", "estate", bench.path(name).to_str().unwrap()]);
        assert_eq!(car(), before, "{name}");
    }
    let guide = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md")).unwrap();
    let rubric = guide.split("```ron\n").nth(1).unwrap().split("```").next().unwrap();
    for (name, text) in [
        ("lf.ron", rubric.to_owned()),
        ("crlf.ron", rubric.replace('\n', "\r\n")),
        ("mark.ron", format!("\u{feff}{rubric}")),
    ] {
        fs::write(bench.path(name), text).unwrap();
        bench.text(&["rubrics", "check", bench.path(name).to_str().unwrap()]);
    }
    fs::write(
        bench.path("bad.ron"),
        rubric.replace("Critical", "Bad").replace('\n', "\r\n"),
    )
    .unwrap();
    let output = bench.run(&["rubrics", "check", bench.path("bad.ron").to_str().unwrap()]);
    let line = rubric.lines().position(|l| l.contains("Critical")).unwrap() + 1;
    assert!(
        text_of(&output).contains(&format!("bad.ron:{line}:")),
        "{}",
        text_of(&output)
    );
}

#[test]
fn leap_days_midnight_and_time_zones_give_the_day_that_is_meant() {
    let bench = Bench::with_car();
    let part = "track-rod-end@front-left";
    for (day, code) in [
        ("2028-02-29", 0),
        ("2024-02-29", 0),
        ("2027-02-29", 2),
        ("2100-02-29", 2),
        ("2026-11-31", 2),
    ] {
        let output = bench
            .command_on("2028-03-01")
            .args(["found", "estate", part, "boot=2", "--date", day])
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(code), "{day}: {}", text_of(&output));
    }
    for today in ["2028-02-29", "2026-12-31", "2026-03-29"] {
        for words in [
            &["standing", "estate"][..],
            &["plan", "estate", "--quick"],
            &["export", "estate", "--calendar"],
        ] {
            let output = bench.command_on(today).args(words).output().unwrap();
            assert!(output.status.success(), "{today} {words:?}: {}", text_of(&output));
        }
    }
    // The day of the person, not of Greenwich: between these two zones there is always a midnight.
    for zone in ["Pacific/Kiritimati", "Etc/GMT+12", "UTC"] {
        let here = || {
            let zone = jiff::tz::TimeZone::get(zone).unwrap();
            jiff::Timestamp::now().to_zoned_datetime(zone).date()
        };
        let before = here();
        let output = Command::new(env!("CARGO_BIN_EXE_tinworm"))
            .args(["tick", "estate", part])
            .env("TINWORM_DATA", bench.data())
            .env("TZ", zone)
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", text_of(&output));
        let output = Command::new(env!("CARGO_BIN_EXE_tinworm"))
            .args(["done", "estate", "renew-track-rod-end", part, "--hours", "1"])
            .env("TINWORM_DATA", bench.data())
            .env("TZ", zone)
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", text_of(&output));
        let said = text_of(&output);
        let after = here();
        assert!(
            said.contains(&before.to_string()) || said.contains(&after.to_string()),
            "{zone}: {said}"
        );
    }
}

#[test]
fn a_pipe_is_written_to_and_not_replaced() {
    let bench = looked_round();
    let pipe = bench.path("pipe");
    if !Command::new("mkfifo").arg(&pipe).status().is_ok_and(|s| s.success()) {
        println!("skipped: no named pipe can be made here");
        return;
    }
    let reader = Command::new("timeout")
        .arg("60")
        .arg("cat")
        .arg(&pipe)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    bench.text(&["report", "estate", "--no-worksheets", "--out", pipe.to_str().unwrap()]);
    let read = reader.wait_with_output().unwrap();
    assert!(String::from_utf8_lossy(&read.stdout).contains("Track rod end"));
    assert!(!fs::metadata(&pipe).unwrap().is_file());
}
