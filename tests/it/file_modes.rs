//! What the program writes is its owner's alone, whatever the usual modes of the account are.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use image::ImageFormat;

use crate::command_line::bench::{Bench, TODAY, new_car};
use crate::photos::{PART, bytes, halves};

/// The program under an umask that lets everybody read.
fn run(bench: &Bench, args: &[&str]) {
    let mut command = Command::new("sh");
    let out = command
        .args([
            "-c",
            "umask 022 && exec \"$@\"",
            "sh",
            env!("CARGO_BIN_EXE_tinworm"),
            "--today",
            TODAY,
            "--data",
        ])
        .arg(bench.data())
        .args(args)
        .current_dir(bench.path("."))
        .env("TINWORM_RUBRICS", bench.path("no-rubrics"))
        .output()
        .unwrap();
    assert!(
        out.status.success(),
        "{args:?}: {}",
        String::from_utf8_lossy(&out.stderr)
    );
}

fn everything(below: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(below).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            everything(&path, found);
        }
        found.push(path);
    }
}

fn mode(path: &Path) -> u32 {
    fs::symlink_metadata(path).unwrap().permissions().mode() & 0o777
}

#[test]
fn files_are_0600_and_folders_0700_under_umask_022() {
    let bench = Bench::empty();
    fs::write(bench.path("a.png"), bytes(&halves(9, 9), ImageFormat::Png)).unwrap();
    run(&bench, &new_car("Estate"));
    bench.keep_few("estate");
    run(&bench, &["found", "estate", PART, "boot=4"]);
    run(&bench, &["photo", "estate", PART, "boot", "a.png"]);
    fs::create_dir(bench.path("out")).unwrap();
    run(
        &bench,
        &["report", "estate", "--html", "--photos", "--out", "out/report.html"],
    );
    run(&bench, &["export", "estate", "--json", "--out", "out/car.json"]);
    run(&bench, &["export", "estate", "--calendar", "--out", "out/plan.ics"]);
    run(&bench, &["export", "estate", "--csv", "out/deep/tables"]);
    run(&bench, &["archive", "estate", "out/estate.tar"]);
    // One that was there already with other modes is its owner's afterwards.
    fs::set_permissions(bench.path("out/car.json"), fs::Permissions::from_mode(0o644)).unwrap();
    run(&bench, &["export", "estate", "--json", "--out", "out/car.json"]);
    run(&bench, &["import", "out/estate.tar", "--name", "Other"]);
    let mut found = vec![bench.data()];
    everything(&bench.data(), &mut found);
    let cars = found.len();
    everything(&bench.path("out"), &mut found);
    for name in [
        "journal",
        "lock",
        "state.ron",
        "profile.ron",
        "2026-11-25.ron",
        "report.html",
        "repairs.csv",
        "estate.tar",
    ] {
        assert!(found.iter().any(|p| p.ends_with(name)), "{name} was not written");
    }
    assert!(found.iter().any(|p| p.extension().is_some_and(|e| e == "png")));
    for path in &found {
        let want = if path.is_dir() { 0o700 } else { 0o600 };
        assert_eq!(mode(path), want, "{}: {:o}", path.display(), mode(path));
    }
    println!("{} files and folders, {cars} of them of cars", found.len());
}
