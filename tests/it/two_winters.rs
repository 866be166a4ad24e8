//! Two winters of a car through the command line alone: a sheet, what it said, a plan, an order, work done, the next year's sheet
//! with only what is due, and everything on paper. Every file is read by a reader that is not ours; `tests/story/check.py` reads the same
//! files with other readers, when `TINWORM_STORY` names a folder for them to be left in.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use icalendar::{Calendar, Component, DatePerhapsTime};

use crate::command_line::bench::Bench;
use crate::command_line::paper_sheets::page;

const CAR: &str = "Blue estate";
/// The parts the story is told with; the others are said not to be fitted.
const TOLD: [&str; 6] = [
    "track-rod-end@front-left",
    "track-rod-end@front-right",
    "lower-ball-joint@front-left",
    "lower-ball-joint@front-right",
    "brake-pads@front-left",
    "tyre@front-left",
];

/// A sheet filled in by part, check and kind, as a spreadsheet would; gives how many rows there were.
fn fill(from: &Path, to: &Path, fill: impl Fn(&str, &str, &str) -> &'static str) -> usize {
    let mut reader = csv::Reader::from_path(from).unwrap();
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|h| h == name).unwrap();
    let mut writer = csv::WriterBuilder::new().delimiter(b';').from_path(to).unwrap();
    writer.write_record(&header).unwrap();
    let mut rows: Vec<Vec<String>> = reader
        .records()
        .map(|row| row.unwrap().iter().map(str::to_owned).collect())
        .collect();
    // Whoever filled it in had sorted it.
    rows.reverse();
    for row in &mut rows {
        let cell = fill(&row[at("part")], &row[at("check")], &row[at("kind")]);
        cell.clone_into(&mut row[at("grade_or_reading")]);
        writer.write_record(&*row).unwrap();
    }
    writer.flush().unwrap();
    rows.len()
}

/// The days of the visits in a calendar, by its own reader.
fn visit_days(text: &str) -> Vec<String> {
    let calendar: Calendar = text.parse().unwrap();
    let mut days: Vec<String> = calendar
        .components
        .iter()
        .filter_map(|part| part.as_event())
        .filter(|event| event.get_uid().is_some_and(|uid| uid.starts_with("visit-")))
        .map(|event| match event.get_start() {
            Some(DatePerhapsTime::Date(day)) => day.to_string(),
            other => panic!("not a whole day: {other:?}"),
        })
        .collect();
    days.sort();
    days
}

#[test]
fn two_winters_of_a_car_through_the_command_line_alone() {
    let bench = Bench::empty();
    let first = "2026-11-21";
    let run = |day: &str, args: &[&str]| bench.text_on(day, args);
    run(
        first,
        &[
            "new",
            "--name",
            CAR,
            "--built",
            "1988",
            "--like",
            "front-drive-hatchback",
            "--yearly",
            "6000",
            "--salted",
            "11-3",
            "--sessions",
            "Saturday 6h",
            "--next-survey",
            "2027-10-30",
            "--budget",
            "400",
            "--budget-per-month",
            "50",
        ],
    );
    let listed = bench.json_on(first, &["part", CAR, "--json"]);
    let parts: Vec<String> = listed
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["part"].as_str().unwrap().to_owned())
        .collect();
    assert!(TOLD.iter().all(|told| parts.contains(&(*told).to_owned())), "{parts:?}");
    for part in parts.iter().filter(|p| !TOLD.contains(&p.as_str())) {
        run(first, &["part", CAR, part, "--not-fitted"]);
    }

    // The first look round.
    run(first, &["sheet", CAR, "--csv", "--out", "first-sheet.csv"]);
    run(first, &["sheet", CAR, "--html", "--out", "first-sheet.html"]);
    let path = |name: &str| bench.path(name);
    let whole = fill(
        &path("first-sheet.csv"),
        &path("first-filled.csv"),
        |part, check, kind| match (part, check) {
            ("track-rod-end@front-left", "boot") => "5",
            ("lower-ball-joint@front-right", _) if kind.starts_with("grade") => "3",
            (_, "lining") => "8,0/8,5",
            (_, "tread") => "6/6/6",
            (_, "age") => "3",
            (_, "play") => "0,1",
            _ if kind.starts_with("grade") => "1",
            _ => "no",
        },
    );
    let preview = run(
        first,
        &["enter", CAR, "first-filled.csv", "--odometer", "184200", "--preview"],
    );
    assert!(
        preview.contains(&format!("{whole} new, 0 changed, 0 the same")),
        "{preview}"
    );
    run(first, &["enter", CAR, "first-filled.csv", "--odometer", "184200"]);

    // What to do, in which session, and the work itself.
    let plan = bench.json_on(first, &["plan", CAR, "--json", "--quick"]);
    let end = "track-rod-end@front-left";
    let visit = plan["visits"]
        .as_array()
        .unwrap()
        .iter()
        .find(|v| v["work"].as_array().unwrap().iter().any(|w| w["part"] == end))
        .unwrap();
    let day = visit["date"].as_str().unwrap().to_owned();
    run(
        "2026-11-23",
        &["order", CAR, end, "--expected", "2026-11-27", "--price", "24"],
    );
    run("2026-11-27", &["order", CAR, end, "--in-hand"]);
    let worksheet = run("2026-11-27", &["worksheet", CAR, "--html"]);
    std::fs::write(path("worksheet.html"), &worksheet).unwrap();
    run(
        &day,
        &[
            "done",
            CAR,
            "renew-track-rod-end",
            end,
            "--hours",
            "2",
            "--odometer",
            "184300",
        ],
    );

    // The next autumn: only what is due.
    let second = "2027-10-30";
    run(second, &["sheet", CAR, "--csv", "--due", "--out", "due-sheet.csv"]);
    run(second, &["sheet", CAR, "--html", "--due", "--out", "due-sheet.html"]);
    let due = fill(
        &path("due-sheet.csv"),
        &path("due-filled.csv"),
        |part, _, kind| match part {
            "track-rod-end@front-left" if kind.starts_with("grade") => "0",
            "lower-ball-joint@front-right" if kind.starts_with("grade") => "4",
            _ if kind.starts_with("grade") => "2",
            _ => "",
        },
    );
    assert!(0 < due && due < whole, "{due} of {whole} are due");
    let mut reader = csv::Reader::from_path(path("due-sheet.csv")).unwrap();
    let due_parts: Vec<String> = reader.records().map(|r| r.unwrap()[1].to_owned()).collect();
    assert!(due_parts.iter().any(|p| p == end), "renewed and not seen since");
    run(second, &["enter", CAR, "due-filled.csv", "--odometer", "190100"]);
    let standing = bench.json_on(second, &["standing", CAR, "--json"]);
    let ranked = standing["ranked"].as_array().unwrap();
    let of = |part: &str| ranked.iter().find(|p| p["id"] == part).unwrap();
    assert!(of("lower-ball-joint@front-right")["points"].as_f64() > of(end)["points"].as_f64());
    assert_eq!(of(end)["worst"]["grade"], 0, "what was renewed counts from its renewal");

    // Everything on paper, and for other programs.
    run(second, &["report", CAR, "--html", "--out", "report.html"]);
    run(second, &["export", CAR, "--json", "--out", "export.json"]);
    run(second, &["export", "--schema", "--out", "export.schema.json"]);
    run(second, &["export", CAR, "--calendar", "--alarms", "--out", "plan.ics"]);
    run(second, &["export", CAR, "--csv", "tables"]);
    run(second, &["plan", "--all", "--csv"]);
    run(second, &["export", "--calendar", "--all", "--out", "all.ics"]);

    for name in ["first-sheet.html", "due-sheet.html", "worksheet.html", "report.html"] {
        let text = std::fs::read_to_string(path(name)).unwrap();
        page(&text);
        assert!(text.contains("never says that a car is safe"), "{name}");
    }
    let read = |name: &str| std::fs::read_to_string(path(name)).unwrap();
    let schema: serde_json::Value = serde_json::from_str(&read("export.schema.json")).unwrap();
    let export: serde_json::Value = serde_json::from_str(&read("export.json")).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let wrong: Vec<String> = validator.iter_errors(&export).map(|e| e.to_string()).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    assert_eq!(export["car"]["surveys"].as_array().unwrap().len(), 2);
    assert_eq!(export["car"]["surveys"][0]["looks"].as_array().unwrap().len(), whole);
    assert_eq!(export["car"]["repairs"].as_array().unwrap().len(), 1);
    let mut planned: Vec<String> = Vec::new();
    for visit in export["plan"]["visits"].as_array().unwrap() {
        if visit["booking"].is_null() {
            planned.push(visit["date"].as_str().unwrap().to_owned());
            planned.extend(
                visit["runs_on"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|d| d.as_str().unwrap().to_owned()),
            );
        }
    }
    planned.sort();
    assert!(!planned.is_empty());
    assert_eq!(visit_days(&read("plan.ics")), planned);
    assert_eq!(visit_days(&read("all.ics")), planned, "one car alone is planned alike");
    let mut rows: BTreeMap<String, usize> = BTreeMap::new();
    for entry in std::fs::read_dir(path("tables")).unwrap() {
        let file = entry.unwrap().path();
        let count = csv::Reader::from_path(&file)
            .unwrap()
            .records()
            .filter(Result::is_ok)
            .count();
        rows.insert(file.file_name().unwrap().to_string_lossy().into_owned(), count);
    }
    assert_eq!(rows["standing.csv"], TOLD.len());
    assert_eq!(rows["repairs.csv"], 1);
    assert!(rows["surveys.csv"] > whole);

    if let Some(folder) = std::env::var_os("TINWORM_STORY").map(PathBuf::from) {
        std::fs::create_dir_all(&folder).unwrap();
        let files = [
            "first-sheet.csv",
            "due-sheet.csv",
            "first-sheet.html",
            "due-sheet.html",
            "worksheet.html",
        ];
        for name in files.into_iter().chain([
            "report.html",
            "export.json",
            "export.schema.json",
            "plan.ics",
            "all.ics",
        ]) {
            std::fs::copy(path(name), folder.join(name)).unwrap();
        }
        for name in rows.keys() {
            std::fs::copy(path("tables").join(name), folder.join(name)).unwrap();
        }
    }
}
