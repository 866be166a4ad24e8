//! Texts that drive terminals, turn what stands beside them, or run in spreadsheets, planted in every text of a car and of a
//! rubric, and looked for in everything the program prints, writes and draws.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;

use image::ImageFormat;
use serde_json::Value;
use tinworm::car::{Car, Change, Target};
use tinworm::report::cells;
use tinworm::rubric::{Library, builtin};
use tinworm::store::{Access, DataFolder};
use tinworm::text::is_hostile;
use tinworm::tui::keys::Key;
use tinworm::tui::world::World;

use crate::command_line::bench::{Bench, said};
use crate::photos::{PART, bytes, halves};
use crate::screens::{Sitting, dark};

/// A formula, a window's title, a direction override, a C1 sequence, separators, a byte order mark, a tag, and marks of HTML.
const POISON: &str = "=1+cmd|' /C calc'!A0\u{1b}]0;owned\u{7}\u{202e}gpj\u{9b}31m\u{2028}\r\t\n\u{feff}\u{200b}\u{e0041}<b onload=x>&\"'";

/// Texts that hold a place in the structure: another value makes another car of them.
const STRUCTURE: [&str; 7] = ["layout", "climate", "storage", "check", "repair", "part", "chosen"];

/// How much is poisoned.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Dose {
    /// What people write freely.
    Free,
    /// Everything but the layout.
    AllButLayout,
    /// Everything that a car's file can hold.
    All,
}

/// A bench with a car in which every list has something in it.
fn full() -> (Bench, Car) {
    let bench = Bench::with_car();
    fs::write(bench.path("a.png"), bytes(&halves(9, 9), ImageFormat::Png)).unwrap();
    for args in [
        &[
            "found",
            "estate",
            PART,
            "boot=4",
            "--note",
            "split",
            "--date",
            "2026-11-20",
        ] as &[&str],
        &["found", "estate", "lower-arm@front-left", "metal=3", "--note", "flakes"],
        &[
            "found",
            "estate",
            "track-rod-end@front-right",
            "boot=4",
            "--note",
            "both",
        ],
        &["photo", "estate", PART, "boot", "a.png"],
        &[
            "part",
            "estate",
            PART,
            "--torque",
            "ball stud nut=45",
            "--source",
            "manual",
            "--note",
            "new in spring",
        ],
        &[
            "part",
            "estate",
            "brake-pads@front-left",
            "--limit",
            "lining=2",
            "--source",
            "stamped",
        ],
        &["order", "estate", "track-rod-end@front-right", "--price", "18"],
        &[
            "done",
            "estate",
            "renew-track-rod-end",
            PART,
            "--hours",
            "1",
            "--note",
            "easy",
            "--torque",
            "ball stud nut=40",
            "--fitted",
            "rod end",
        ],
        &[
            "leave",
            "estate",
            "renew-lower-arm",
            "lower-arm@front-left",
            "--hours",
            "3",
            "--sheared",
            "pinch bolt",
            "--did",
            "cut it",
            "--extra",
            "clean=0.5",
            "--buy",
            "bolt=6,3",
            "--note",
            "waits",
        ],
        &["set", "estate", "--tool", "ball joint splitter"],
        &["tick", "estate", "lower-ball-joint@front-left"],
    ] {
        let out = bench.run(args);
        assert!(out.status.success(), "{args:?}: {}", said(&out));
    }
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let mut car = data.open("estate", Access::Read).unwrap().car().clone();
    car.profile.sessions.targets.push(Target {
        name: "inspection".to_owned(),
        date: "2027-03-01".parse().unwrap(),
    });
    (bench, car)
}

/// Every text of a value with the way to it.
fn texts(value: &Value, way: &str, found: &mut Vec<String>) {
    match value {
        Value::String(_) => found.push(way.to_owned()),
        Value::Array(items) => items
            .iter()
            .enumerate()
            .for_each(|(n, item)| texts(item, &format!("{way}/{n}"), found)),
        Value::Object(fields) => fields.iter().for_each(|(name, field)| {
            texts(
                field,
                &format!("{way}/{}", name.replace('~', "~0").replace('/', "~1")),
                found,
            );
        }),
        _ => {}
    }
}

/// The car with poison in every text that may hold any; how many there are.
fn poisoned(car: &Car, dose: Dose) -> (Car, usize) {
    let mut value = serde_json::to_value(car).unwrap();
    let mut ways = Vec::new();
    texts(&value, "", &mut ways);
    let mut planted = 0;
    for way in ways {
        let spared = match dose {
            Dose::Free => STRUCTURE.iter().any(|s| way.split('/').any(|step| step == *s)),
            Dose::AllButLayout => way.contains("/layout/"),
            Dose::All => false,
        };
        if spared || way.contains("/photos/") {
            continue;
        }
        let place = value.pointer_mut(&way).unwrap();
        let before = place.clone();
        // Not alone at the end: what would run in a spreadsheet stands at the beginning.
        *place = Value::String(format!("{POISON}{planted}"));
        if serde_json::from_value::<Car>(value.clone()).is_ok() {
            planted += 1;
        } else {
            *value.pointer_mut(&way).unwrap() = before;
        }
    }
    (serde_json::from_value(value).unwrap(), planted)
}

/// Keeps a car; gives the name of its folder.
fn keep(bench: &Bench, car: &Car) -> String {
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let photo = data.open("estate", Access::Read).unwrap();
    let name = photo.car().surveys[0].looks[0].photos[0].clone();
    let bytes = photo.photo(&name).unwrap();
    let mut open = data.create(car.profile.clone()).unwrap();
    fs::write(open.folder().join("photos").join(name), bytes).unwrap();
    let mut changes: Vec<Change> = car
        .parts
        .iter()
        .map(|(id, note)| Change::Part(id.clone(), note.clone()))
        .collect();
    for survey in &car.surveys {
        changes.push(Change::Survey {
            date: survey.date,
            odometer_km: survey.odometer_km,
            note: survey.note.clone(),
        });
        changes.extend(survey.looks.iter().map(|look| Change::Look {
            survey: survey.date,
            look: look.clone(),
        }));
    }
    changes.extend(car.repairs.iter().cloned().map(Change::Done));
    changes.push(Change::Wishes(car.wishes.clone()));
    changes.extend(car.progress.purchases.iter().cloned().map(Change::Buy));
    changes.extend(car.progress.open.iter().cloned().map(Change::Left));
    open.record_all(changes).unwrap();
    open.tidy().unwrap();
    open.name().to_owned()
}

/// What no reader of an output may meet.
fn assert_harmless(what: &str, text: &str) {
    let text = text.replace("\r\n", "\n");
    if let Some(bad) = text.chars().find(|c| *c != '\n' && is_hostile(*c)) {
        let at = text.find(bad).unwrap();
        let from = text[..at].char_indices().rev().nth(120).map_or(0, |(n, _)| n);
        panic!("{what}: U+{:04X} after {:?}", u32::from(bad), &text[from..at]);
    }
    let page = text.starts_with("<!DOCTYPE html>");
    assert!(!page || !text.contains("<b onload"), "{what}: a tag of somebody's");
}

fn assert_no_formula(what: &str, table: &str) {
    for row in csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .from_reader(table.as_bytes())
        .records()
    {
        for cell in &row.unwrap() {
            let runs = cell
                .trim_start()
                .starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']);
            assert!(!runs || cell.parse::<f64>().is_ok(), "{what}: {cell:?}");
            assert!(!cell.starts_with(['\t', '\r']), "{what}: {cell:?}");
        }
    }
}

/// Every verb that prints or writes something of a car.
fn prints(bench: &Bench, car: &str) -> usize {
    let verbs: [&[&str]; 36] = [
        &["cars"],
        &["cars", "--csv"],
        &["cars", "--json"],
        &["sheet", car],
        &["sheet", car, "--brief"],
        &["sheet", car, "--csv"],
        &["standing", car],
        &["standing", car, "--csv"],
        &["standing", car, "--json"],
        &["sides", car],
        &["sides", car, "--csv"],
        &["sides", car, "--json"],
        &["decline", car, PART],
        &["decline", car, PART, "--csv"],
        &["decline", car, PART, "--json"],
        &["plan", car, "--quick"],
        &["plan", car, "--quick", "--csv"],
        &["plan", car, "--quick", "--json"],
        &["plan", car, "--alternatives", PART],
        &["plan", car, "--if", "hours=4"],
        &["parts", car],
        &["parts", car, "--csv"],
        &["parts", car, "--json"],
        &["worksheet", car, "1"],
        &["worksheet", car, "1", "--html"],
        &["report", car],
        &["report", car, "--markdown"],
        &["report", car, "--html", "--photos"],
        &["export", car, "--json"],
        &["export", car, "--calendar"],
        &["done", car],
        &["set", car],
        &["set", car, "--json"],
        &["part", car],
        &["part", car, PART],
        &["photo", car, "--list"],
    ];
    let mut printed = 0;
    for args in verbs {
        let out = bench.run(args);
        let code = out.status.code();
        assert!(matches!(code, Some(0 | 1 | 3)), "{args:?}: {code:?} {}", said(&out));
        assert_harmless(&format!("{args:?} beside the output"), &said(&out));
        let text = String::from_utf8(out.stdout).unwrap();
        assert_harmless(&format!("{args:?}"), &text);
        if args.contains(&"--csv") {
            assert_no_formula(&format!("{args:?}"), &text);
        }
        if args.contains(&"--json") && code == Some(0) {
            serde_json::from_str::<Value>(&text).unwrap();
        }
        printed += usize::from(code == Some(0));
        if args.iter().any(|a| a.starts_with("--") && *a != "--quick") {
            continue;
        }
        // The same on a terminal with colours.
        let coloured = bench.command().args(["--color", "always"]).args(args).output().unwrap();
        let text = String::from_utf8(coloured.stdout).unwrap();
        assert_harmless(&format!("{args:?} in colour"), &without_colours(&text));
    }
    for (file, args) in [
        (
            "report.html",
            &["report", car, "--html", "--photos", "--out", "report.html"] as &[&str],
        ),
        ("report.md", &["report", car, "--markdown", "--out", "report.md"]),
        ("report.txt", &["report", car, "--out", "report.txt"]),
        ("car.json", &["export", car, "--json", "--out", "car.json"]),
        (
            "plan.ics",
            &["export", car, "--calendar", "--alarms", "--out", "plan.ics"],
        ),
    ] {
        bench.text(args);
        assert_harmless(file, &fs::read_to_string(bench.path(file)).unwrap());
    }
    bench.text(&["export", car, "--csv", "tables"]);
    for entry in fs::read_dir(bench.path("tables")).unwrap() {
        let path = entry.unwrap().path();
        let table = fs::read_to_string(&path).unwrap();
        assert_harmless(path.to_str().unwrap(), &table);
        assert_no_formula(path.to_str().unwrap(), &table);
    }
    bench.text(&["archive", car, "car.tar"]);
    let mut tar = tar::Archive::new(fs::File::open(bench.path("car.tar")).unwrap());
    for entry in tar.entries().unwrap() {
        let name = entry.unwrap().path().unwrap().to_str().unwrap().to_owned();
        assert!(
            name.chars().all(|c| c.is_ascii_alphanumeric() || "-./".contains(c)),
            "{name}"
        );
    }
    printed
}

/// A text without the sequences that set a colour.
fn without_colours(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\u{1b}[") {
        out.push_str(before);
        let end = after
            .find(|c: char| !c.is_ascii_digit() && c != ';')
            .unwrap_or(after.len());
        if after[end..].starts_with('m') {
            rest = &after[end + 1..];
        } else {
            out.push('\u{1b}');
            rest = after;
        }
    }
    out.push_str(rest);
    out
}

/// Goes through every screen of a car and what can be laid over it.
fn draws(car: &Car, library: &Library) -> usize {
    let mut drawn = 0;
    for size in [(80, 24), (160, 50)] {
        let mut sitting = Sitting::at(library.clone(), World::memory(car.clone()), size, dark());
        let look = |sitting: &Sitting, what: &str| {
            for cell in &sitting.buffer().content {
                let bad = cell.symbol().chars().find(|c| is_hostile(*c));
                assert!(bad.is_none(), "{what}: {:?}", cell.symbol());
            }
        };
        for screen in ["r", "s", "l", "d", "p", "b", "c"] {
            sitting.keys(screen);
            for keys in ["", "v", "v", "i", "/", "N", "o", "x", "?", "t", "f", "m"] {
                sitting.keys(keys);
                look(&sitting, &format!("{screen}{keys}"));
                sitting.key(Key::PageDown);
                look(&sitting, &format!("{screen}{keys}, further down"));
                drawn += 2;
                // Whatever lies over the screen goes, and the screen comes back.
                if !sitting.left {
                    sitting.key(Key::Esc);
                    sitting.left = false;
                    sitting.keys(screen);
                }
            }
            sitting.key(Key::Enter);
            look(&sitting, &format!("{screen}, Enter"));
            for _ in 0..12 {
                sitting.key(Key::Down);
                look(&sitting, &format!("{screen}, below"));
            }
            sitting.key(Key::Esc);
            sitting.left = false;
            drawn += 13;
        }
    }
    drawn
}

#[test]
fn no_text_of_a_car_reaches_anything_raw() {
    let (bench, car) = full();
    let mut out = Vec::new();
    for dose in [Dose::Free, Dose::AllButLayout, Dose::All] {
        let (bad, planted) = poisoned(&car, dose);
        let name = keep(&bench, &bad);
        let printed = prints(&bench, &name);
        out.push(format!("{dose:?}: {planted} texts, {printed} commands succeeded"));
        assert!(planted > 20, "{planted}");
        assert!(dose != Dose::Free || printed >= 34, "{printed}");
    }
    println!("{}", out.join("\n"));
}

#[test]
fn no_text_of_a_car_reaches_the_screens_raw() {
    let (_bench, car) = full();
    for dose in [Dose::Free, Dose::AllButLayout] {
        let drawn = draws(&poisoned(&car, dose).0, builtin::library());
        println!("{dose:?}: {drawn} pictures");
    }
}

/// A rubric of one's own with poison in every text that is no id.
fn poisoned_rubric() -> String {
    let guide = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md")).unwrap();
    let (_, rest) = guide.split_once("```ron\n").unwrap();
    let (example, _) = rest.split_once("```").unwrap();
    let poison: String = POISON.chars().map(|c| format!("\\u{{{:x}}}", u32::from(c))).collect();
    let mut out = String::new();
    for (n, piece) in example.split('"').enumerate() {
        if n > 0 {
            out.push('"');
        }
        let sentence = n % 2 == 1 && piece.contains(' ');
        let named = n % 2 == 1 && (out.ends_with("name: \"") || out.ends_with("source: \""));
        if sentence || named {
            out.push_str(&poison);
        }
        out.push_str(piece);
    }
    out
}

#[test]
fn no_text_of_a_rubric_reaches_anything_raw() {
    let (bench, mut car) = full();
    let folder = bench.path("no-rubrics");
    fs::create_dir(&folder).unwrap();
    let rubric = poisoned_rubric();
    assert!(rubric.matches("\\u{1b}").count() > 15);
    fs::write(folder.join("own.ron"), &rubric).unwrap();
    let checked = bench.run(&["rubrics", "check", folder.join("own.ron").to_str().unwrap()]);
    assert_harmless("rubrics check", &said(&checked));
    let Ok(library) = tinworm::store::library(Some(&folder)) else {
        // Refused is as good, as long as it is said harmlessly.
        assert_eq!(checked.status.code(), Some(1));
        return;
    };
    car.profile.layout.push("own-steering-damper".to_owned());
    let damper = library.components().iter().find(|c| c.id == "steering-damper").unwrap();
    assert!(damper.name.starts_with('='));
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let mut open = data.open("estate", Access::Write).unwrap();
    open.record(Change::Profile(Box::new(car.profile.clone()))).unwrap();
    drop(open);
    bench.text(&["found", "estate", "steering-damper@front", "rod=5"]);
    for args in [
        &["rubrics", "list"] as &[&str],
        &["rubrics", "show", "steering-damper"],
        &["rubrics", "list", "--csv"],
        &["rubrics", "list", "--json"],
    ] {
        let out = bench.run(args);
        let text = String::from_utf8(out.stdout.clone()).unwrap();
        assert_harmless(&format!("{args:?}"), &text);
        assert_harmless(&format!("{args:?}"), &said(&out));
        if args.contains(&"--csv") {
            assert_no_formula("rubrics list", &text);
        }
    }
    println!("{} commands succeeded", prints(&bench, "estate"));
    let car = data.open("estate", Access::Read).unwrap().car().clone();
    println!("{} pictures", draws(&car, &library));
}

#[test]
fn file_names_and_words_of_the_command_line_are_said_harmlessly() {
    let bench = Bench::with_car();
    bench.text(&["found", "estate", PART, "boot=4"]);
    let odd = "\u{1b}]0;owned\u{7}\u{202e}\u{9b}2J.png";
    fs::write(bench.path(odd), bytes(&halves(9, 9), ImageFormat::Png)).unwrap();
    let text = bench.text(&["photo", "estate", PART, "boot", odd]);
    assert_harmless("photo", &text);
    assert!(text.contains("9 by 9 points"));
    for args in [
        &["standing", odd] as &[&str],
        &["photo", "estate", PART, "boot", "missing\u{1b}[2J"],
        &["photo", "estate", PART, odd, "a.png"],
        &["photo", "estate", PART, "boot", "--remove", odd],
        &["import", odd],
        &["import", "missing\u{1b}[2J"],
        &["archive", "estate", "no\u{1b}[2J/such/folder"],
        &["enter", "estate", odd],
        &["set", "estate", "--no-tool", odd],
        &["plan", "estate", "--if", odd],
        &["decline", "estate", odd],
        &["found", "estate", PART, odd],
        &["torque", odd, "8.8"],
        &["report", "estate", "--out", "no\u{1b}[2J/such/folder"],
        &["export", "estate", "--csv", "/dev/null/\u{1b}[2J"],
        &["rubrics", "show", odd],
        &["rubrics", "check", odd],
        &["--rubrics", odd, "rubrics", "list"],
        &["--today", odd, "cars"],
        &["\u{1b}[2J"],
        &["cars", "--\u{1b}[2J"],
    ] {
        let out = bench.run(args);
        assert!(!out.status.success(), "{args:?}");
        assert!(!said(&out).trim().is_empty(), "{args:?} says nothing");
        assert_harmless(&format!("{args:?}"), &said(&out));
        assert_harmless(&format!("{args:?}"), &String::from_utf8_lossy(&out.stdout));
    }
}

#[test]
fn cells_that_would_run_are_guarded_and_numbers_are_not() {
    let row = |cell: &str| vec![cell.to_owned()];
    for (cell, want) in [
        ("=1+1", "'=1+1"),
        ("+1+1", "'+1+1"),
        ("-1+1", "'-1+1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "' =1"),
        ("\r=1", "␦=1"),
        ("\u{feff}=1", "␦=1"),
        ("＝1", "'＝1"),
        (" \u{a0}=1", "' \u{a0}=1"),
        ("-3.25", "-3.25"),
        ("+4", "+4"),
        ("1e-7", "1e-7"),
        ("-inf", "'-inf"),
        ("boot split", "boot split"),
    ] {
        let table = cells::csv(&["a"], &[row(cell)]);
        let read = csv::Reader::from_reader(table.as_bytes())
            .records()
            .next()
            .unwrap()
            .unwrap();
        assert_eq!(&read[0], want, "{cell:?}");
    }
}
