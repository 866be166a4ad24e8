//! A temporary folder with the real program on it.

use std::process::{Command, Output, Stdio};

use tempfile::TempDir;
use tinworm::car::{Change, PartNote};
use tinworm::rubric::builtin;
use tinworm::store::{Access, DataFolder};

/// The day on which these tests take place.
pub const TODAY: &str = "2026-11-25";

/// Few parts, so that each run reckons quickly: graded, measured at one and at several points, and yes or no.
pub const KEPT: [&str; 9] = [
    "track-rod-end@front-left",
    "track-rod-end@front-right",
    "lower-arm@front-left",
    "lower-arm@front-right",
    "lower-ball-joint@front-left",
    "lower-ball-joint@front-right",
    "brake-pads@front-left",
    "caliper@front-left",
    "tyre@front-left",
];

/// A folder for a test to work in, and the program on it.
pub struct Bench {
    folder: TempDir,
}

impl Bench {
    pub fn empty() -> Bench {
        Bench {
            folder: TempDir::new().unwrap(),
        }
    }

    /// A bench with one car of few parts, called `estate`.
    pub fn with_car() -> Bench {
        let bench = Bench::empty();
        let out = bench.run(&new_car("Estate"));
        assert!(out.status.success(), "{}", said(&out));
        bench.keep_few("estate");
        bench
    }

    /// Makes another car of few parts.
    pub fn another(&self, name: &str) {
        let out = self.run(&new_car(name));
        assert!(out.status.success(), "{}", said(&out));
        self.keep_few(&name.to_lowercase());
    }

    /// Takes all parts off a car but a few.
    pub fn keep_few(&self, car: &str) {
        let data = DataFolder::find(Some(&self.data())).unwrap();
        let mut open = data.open(car, Access::Write).unwrap();
        let gone = PartNote {
            not_fitted: true,
            ..PartNote::default()
        };
        let parts = open.car().part_ids(builtin::library());
        let changes = parts
            .into_iter()
            .filter(|id| !KEPT.contains(&id.to_string().as_str()))
            .map(|id| Change::Part(id, gone.clone()))
            .collect();
        open.record_all(changes).unwrap();
        assert_eq!(open.car().part_ids(builtin::library()).len(), KEPT.len());
    }

    pub fn data(&self) -> std::path::PathBuf {
        self.folder.path().join("cars")
    }

    pub fn path(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join(name)
    }

    pub fn command(&self) -> Command {
        self.command_on(TODAY)
    }

    /// The program as if it were some day.
    pub fn command_on(&self, day: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tinworm"));
        command
            .current_dir(self.folder.path())
            .arg("--data")
            .arg(self.data())
            .args(["--today", day])
            .env("COLUMNS", "100")
            .env("TINWORM_RUBRICS", self.path("no-rubrics"))
            .env_remove("NO_COLOR")
            .stdin(Stdio::null());
        command
    }

    pub fn run(&self, args: &[&str]) -> Output {
        self.command().args(args).output().unwrap()
    }

    /// What a run prints; it must succeed.
    pub fn text(&self, args: &[&str]) -> String {
        let out = self.run(args);
        assert!(out.status.success(), "{args:?}: {}", said(&out));
        String::from_utf8(out.stdout).unwrap()
    }

    /// What a run prints on a day; it must succeed.
    pub fn text_on(&self, day: &str, args: &[&str]) -> String {
        let out = self.command_on(day).args(args).output().unwrap();
        assert!(out.status.success(), "{day} {args:?}: {}", said(&out));
        String::from_utf8(out.stdout).unwrap()
    }

    pub fn json_on(&self, day: &str, args: &[&str]) -> serde_json::Value {
        serde_json::from_str(&self.text_on(day, args)).unwrap()
    }

    pub fn json(&self, args: &[&str]) -> serde_json::Value {
        serde_json::from_str(&self.text(args)).unwrap()
    }

    /// The car's blank sheet with cells filled in by part and check.
    pub fn filled(&self, name: &str, fill: impl Fn(&str, &str, &str) -> &'static str) -> std::path::PathBuf {
        let blank = self.text(&["sheet", "estate", "--csv"]);
        let mut reader = csv::Reader::from_reader(blank.as_bytes());
        let header = reader.headers().unwrap().clone();
        let at = |name: &str| header.iter().position(|h| h == name).unwrap();
        let path = self.path(name);
        let mut writer = csv::Writer::from_path(&path).unwrap();
        writer.write_record(&header).unwrap();
        for row in reader.records() {
            let row = row.unwrap();
            assert_eq!(&row[at("grade_or_reading")], "", "the sheet is blank");
            let mut cells: Vec<String> = row.iter().map(str::to_owned).collect();
            let part = cells[at("part")].clone();
            let check = cells[at("check")].clone();
            let kind = cells[at("kind")].clone();
            cells[at("grade_or_reading")] = fill(&part, &check, &kind).to_owned();
            writer.write_record(&cells).unwrap();
        }
        writer.flush().unwrap();
        path
    }
}

pub fn new_car(name: &str) -> Vec<&str> {
    let mut args = vec![
        "new", "--name", name, "--built", "1988", "--yearly", "6000", "--salted", "11-3",
    ];
    for layout in [
        "steering=rack",
        "steering-assistance=unassisted",
        "front-suspension=front-strut",
        "rear-suspension=rear-twist-beam",
        "anti-roll-bars=front-anti-roll-bar",
        "body=unitary-with-subframe",
        "drive=front-drive",
        "front-brakes=front-disc",
        "rear-brakes=rear-drum",
        "brake-assistance=vacuum-servo",
        "seat-belts=all-belts",
    ] {
        args.extend(["--layout", layout]);
    }
    args
}

/// What a run says beside its output.
pub fn said(out: &Output) -> String {
    String::from_utf8_lossy(&out.stderr).into_owned()
}
