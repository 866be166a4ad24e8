//! Filled sheets: good ones, bad ones, and what spreadsheets make of them.

use std::io::Write;
use std::process::Stdio;

use tinworm::store::{Access, DataFolder};

use super::bench::{Bench, said};

#[test]
fn a_sheet_with_ten_mistakes_names_each_and_is_not_taken() {
    let bench = Bench::with_car();
    let sheet = "\u{feff}part;check;grade_or_reading;not_seen;note\r\n\
         track-rod-end@front-left;boot;2;;\r\n\
         track-rod-end@front-middle;boot;2;;\r\n\
         track-rod-end@rear-left;boot;2;;\r\n\
         track-rod-end@front-left;colour;2;;\r\n\
         track-rod-end@front-left;boot;3;;\r\n\
         track-rod-end@front-right;boot;6;;\r\n\
         lower-arm@front-left;metal;3,2 mm;;\r\n\
         track-rod-end@front-left;play;loose;;\r\n\
         brake-pads@front-left;lining;4,5;;\r\n\
         track-rod-end@front-right;play;-0,3;;\r\n\
         caliper@front-left;leak;;too dark;\r\n\
         track-rod-end@front-right;ball-stud;;;=1+1\r\n\
         ;;;;\r\n\
         \" lower-arm@front-right \"; metal ; 1 ;; '=scraped it \r\n";
    let path = bench.path("bad.csv");
    std::fs::write(&path, sheet).unwrap();
    let name = path.to_str().unwrap();
    let out = bench.run(&["enter", "estate", name]);
    assert_eq!(out.status.code(), Some(1));
    let text = said(&out);
    for (line, column) in [
        (3, "part"),
        (4, "part"),
        (5, "check"),
        (6, ""),
        (7, "grade_or_reading"),
        (8, "grade_or_reading"),
        (9, "grade_or_reading"),
        (10, "grade_or_reading"),
        (11, "grade_or_reading"),
        (12, "not_seen"),
        (13, "note"),
    ] {
        let start = match column {
            "" => format!("{name}:{line}: "),
            _ => format!("{name}:{line}: column {column}: "),
        };
        let found: Vec<&str> = text.lines().filter(|l| l.starts_with(&start)).collect();
        assert_eq!(found.len(), 1, "{start} in\n{text}");
        assert!(found[0].contains("; "), "says what to do: {}", found[0]);
    }
    assert_eq!(text.lines().filter(|l| l.starts_with(name)).count(), 11, "{text}");
    assert!(text.contains("nothing was taken"));
    let cars = bench.json(&["cars", "--json"]);
    assert!(cars[0]["last_survey"].is_null(), "nothing was taken");

    let taken = bench.text(&["enter", "estate", name, "--take-good"]);
    assert!(taken.contains("2 looks"), "{taken}");
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let car = data.open("estate", Access::Read).unwrap().car().clone();
    assert_eq!(car.surveys[0].looks.len(), 2);
    assert_eq!(
        car.surveys[0].looks[1].note, "=scraped it",
        "the apostrophe is taken off again"
    );
}

#[test]
fn spreadsheets_may_change_everything_but_the_values() {
    let bench = Bench::with_car();
    let forms: [(&str, Vec<u8>); 4] = [
        ("commas", b"part,check,grade_or_reading,note\ntyre@front-left,tread,\"4,1/5/5.2\",\n".to_vec()),
        ("sep", b"sep=;\r\nPart;Check;Grade or reading;Note\r\ntyre@front-left;tread;\"inner 4,1; middle 5; outer 5,2\";\r\n".to_vec()),
        ("tabs", b"part\tcheck\tgrade_or_reading\tnote\ntyre@front-left\ttread\t4.1 5.0 5.2 \t\n".to_vec()),
        ("latin", b"part;check;grade_or_reading;note\ntyre@front-left;tread;4,1/5/5,2;au\xdfen l\xe4nger\n".to_vec()),
    ];
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    for (n, (name, bytes)) in forms.iter().enumerate() {
        let path = bench.path(name);
        std::fs::write(&path, bytes).unwrap();
        let date = format!("2026-10-{:02}", n + 1);
        bench.text(&["enter", "estate", path.to_str().unwrap(), "--date", &date]);
        let car = data.open("estate", Access::Read).unwrap().car().clone();
        let survey = car.surveys.last().unwrap();
        assert_eq!(survey.date.to_string(), date);
        assert_eq!(
            survey.looks[0].seen,
            tinworm::car::Seen::Reading(vec![4.1, 5.0, 5.2]),
            "{name}"
        );
        if *name == "latin" {
            assert_eq!(survey.looks[0].note, "außen länger");
        }
    }
    // From the input, and again on the same day: replaced, not doubled.
    let mut child = bench
        .command()
        .args(["enter", "estate", "-", "--date", "2026-10-04"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(&forms[0].1).unwrap();
    assert!(child.wait_with_output().unwrap().status.success());
    let car = data.open("estate", Access::Read).unwrap().car().clone();
    assert_eq!(car.surveys.last().unwrap().looks.len(), 1);
}

#[test]
fn sheets_that_are_none_and_dates_that_cannot_be() {
    let bench = Bench::with_car();
    let file = |name: &str, text: &[u8]| {
        let path = bench.path(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let good = file(
        "good.csv",
        b"part,check,grade_or_reading\ntrack-rod-end@front-left,boot,1\n",
    );
    for (args, code, words) in [
        (vec!["enter", "estate", "nowhere.csv"], 3, "there is no file"),
        (vec!["enter", "estate", &file("empty.csv", b"")], 1, "empty"),
        (
            vec!["enter", "estate", &file("none.csv", b"part,check,grade_or_reading\n")],
            1,
            "no row is filled in",
        ),
        (
            vec!["enter", "estate", &file("head.csv", b"part,check\nx,y\n")],
            1,
            "no column `grade_or_reading`",
        ),
        (
            vec!["enter", "estate", &file("bin.csv", &[0xff, 0, 1, 2])],
            1,
            "no CSV text",
        ),
        (
            vec![
                "enter",
                "estate",
                &file(
                    "open.csv",
                    b"part,check,grade_or_reading\ntrack-rod-end@front-left,\"boot,1\n",
                ),
            ],
            1,
            "never closed",
        ),
        (
            vec![
                "enter",
                "estate",
                &file(
                    "split.csv",
                    b"part,check,grade_or_reading\ntrack-rod-end@front-left,play,0,2\n",
                ),
            ],
            1,
            "more cells",
        ),
        (vec!["enter", "estate", &good, "--date", "2026-11-26"], 1, "future"),
        (
            vec!["enter", "estate", &good, "--date", "1987-12-31"],
            1,
            "before the car was built",
        ),
        (vec!["enter", "estate", &good, "--date", "yesterday"], 2, "2026-03-14"),
        (
            vec!["enter", "estate", &good, "--odometer", "1,500"],
            2,
            "thousands mark",
        ),
        (vec!["enter", "roadster", &good], 3, "no car `roadster`"),
    ] {
        let out = bench.run(&args);
        assert_eq!(out.status.code(), Some(code), "{args:?}: {}", said(&out));
        assert!(said(&out).contains(words), "{args:?}: {}", said(&out));
        assert!(out.stdout.is_empty());
    }
    bench.text(&["enter", "estate", &good, "--date", "2026-06-01", "--odometer", "1000"]);
    let out = bench.run(&["enter", "estate", &good, "--date", "2026-07-01", "--odometer", "900"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(said(&out).contains("backwards"), "{}", said(&out));
}
