//! `standing --all` on a yard of small cars: time per car for 250, 500 and 1,000 of them, as a ratio to the first, and the most memory the
//! program held.
//!
//! `cargo bench --bench yard`. The cars are written to a temporary folder first, which takes longer than reading them; `-- 40` divides all
//! three counts by 40, for a quick look.

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use tinworm::car::Change;
use tinworm::store::{DataFolder, OpenCar};

// The other benchmarks use more of it.
#[allow(dead_code)]
mod cars;

/// Checks and surveys of a small car.
const SMALL: (usize, usize) = (12, 2);

fn main() {
    let divide = std::env::args()
        .filter_map(|a| a.parse::<usize>().ok())
        .next()
        .unwrap_or(1)
        .max(1);
    let counts = [250, 500, 1000].map(|n: usize| (n / divide).max(1));
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut there = 0;
    let mut first = None;
    for count in counts {
        let data = DataFolder::find(Some(&folder.path().join("cars"))).expect("a place for cars");
        while there < count {
            write(&data, there as u64);
            there += 1;
        }
        let _ = standing(data.path());
        let runs: Vec<(Duration, u64, usize)> = (0..3).map(|_| standing(data.path())).collect();
        let best = runs.iter().map(|r| r.0).min().unwrap_or_default();
        let memory = runs.iter().map(|r| r.1).max().unwrap_or_default();
        let rows = runs.first().map_or(0, |r| r.2);
        let each = best.as_secs_f64() * 1e3 / count as f64;
        let first = *first.get_or_insert(each);
        println!(
            "{count:>5} cars, {rows:>6} parts: {:>7.2} s, {each:.2} ms a car, {:.2} times the first; at most {} MB",
            best.as_secs_f64(),
            each / first,
            memory / 1024
        );
    }
}

/// Writes a small car, its parts and looks as they were.
fn write(data: &DataFolder, seed: u64) {
    let car = cars::car(SMALL.0, SMALL.1, seed);
    let mut open: OpenCar = data.create(car.profile.clone()).expect("a car");
    let parts = car.parts.into_iter().map(|(id, note)| Change::Part(id, note));
    let mut changes: Vec<Change> = parts.collect();
    for survey in car.surveys {
        changes.push(Change::Survey {
            date: survey.date,
            odometer_km: survey.odometer_km,
            note: survey.note,
        });
        let date = survey.date;
        changes.extend(survey.looks.into_iter().map(|look| Change::Look { survey: date, look }));
    }
    open.record_all(changes).expect("recorded");
    open.tidy().expect("tidied");
}

/// Runs the program; gives its time, the most memory it held in kB, and how many parts it ranked.
fn standing(data: &std::path::Path) -> (Duration, u64, usize) {
    let begun = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_tinworm"))
        .args(["standing", "--all", "--csv", "--today"])
        .arg(cars::TODAY.to_string())
        .arg("--data")
        .arg(data)
        .env("TINWORM_RUBRICS", data.join("no-rubrics"))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    let status = format!("/proc/{}/status", child.id());
    let mut out = child.stdout.take().expect("its output");
    let reader = std::thread::spawn(move || {
        let mut text = String::new();
        let _ = std::io::Read::read_to_string(&mut out, &mut text);
        text.lines().count().saturating_sub(1)
    });
    let mut most = 0;
    let ended = loop {
        let held = std::fs::read_to_string(&status).unwrap_or_default();
        let peak = held.lines().find_map(|l| l.strip_prefix("VmHWM:"));
        let peak = peak.and_then(|l| l.trim().trim_end_matches("kB").trim().parse().ok());
        most = most.max(peak.unwrap_or(0));
        match child.try_wait().expect("its end") {
            Some(status) => break status,
            None => std::thread::sleep(Duration::from_millis(5)),
        }
    };
    let time = begun.elapsed();
    assert!(ended.success(), "{ended}");
    (time, most, reader.join().unwrap_or(0))
}
