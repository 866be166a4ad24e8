//! The real program on the command line: the whole loop, what it refuses and how, and what it prints.

#![allow(clippy::unwrap_used, clippy::panic)]

pub(crate) mod bench;
mod fixings;
mod hours;
mod paper;
pub(crate) mod paper_sheets;
mod sheets;
mod wishes;
mod worksheets;
mod yard;

use std::path::Path;
use std::process::Stdio;

use tinworm::rubric::builtin;
use tinworm::store::{Access, DataFolder};

use bench::{Bench, KEPT, TODAY, said};

/// Fills a cell alike for every check of a kind; tread and pads are measured at several points.
fn alike(
    grade: &'static str,
    tread: &'static str,
    pads: &'static str,
    other: &'static str,
    answer: &'static str,
) -> impl Fn(&str, &str, &str) -> &'static str {
    move |_, check, kind| match (check, kind) {
        ("tread", _) => tread,
        ("lining", _) => pads,
        ("age", _) if grade == "5" => "12",
        (_, "grade 0 to 5") => grade,
        (_, "yes or no") => answer,
        _ => other,
    }
}

#[test]
fn the_whole_loop_from_a_new_car_to_a_plan() {
    let bench = Bench::with_car();
    let path = bench.filled("sheet.csv", |part, check, kind| match (part, check) {
        ("track-rod-end@front-left", "boot") => "5",
        ("lower-ball-joint@front-left", _) if kind.starts_with("grade") => "4",
        ("caliper@front-left", "leak") => "no",
        ("brake-pads@front-left", "lining") => "4,5/5,0",
        ("tyre@front-left", "tread") => "inner 4.1; middle 5.0; outer 5.2",
        ("tyre@front-left", "age") => "4",
        (_, "play") => "0.2",
        _ if kind.starts_with("grade") => "1",
        _ => "",
    });
    let entered = bench.text(&[
        "enter",
        "estate",
        path.to_str().unwrap(),
        "--date",
        "2026-11-21",
        "--odometer",
        "184200",
    ]);
    assert!(entered.contains("read as inner 4.5, outer 5 mm"), "{entered}");

    let standing = bench.json(&["standing", "estate", "--json"]);
    let ranked = standing["ranked"].as_array().unwrap();
    assert_eq!(ranked[0]["rank"]["place"], 1);
    assert!(
        ranked
            .iter()
            .all(|p| p["reason"].as_str().is_some_and(|r| !r.is_empty()))
    );
    let of = |part: &str| {
        ranked.iter().find(|p| p["id"] == part).unwrap()["points"]
            .as_f64()
            .unwrap()
    };
    assert!(of("lower-ball-joint@front-left") > of("lower-ball-joint@front-right"));

    let text = bench.text(&["standing", "estate"]);
    assert!(text.contains("never says that a car is safe"));
    assert!(text.lines().all(|l| tinworm::text::width(l) <= 100));
    assert!(!text.contains('\u{1b}'), "no colour into a pipe");
    let csv = bench.text(&["standing", "estate", "--csv"]);
    assert_eq!(csv.lines().count(), KEPT.len() + 1);

    let sides = bench.text(&["sides", "estate"]);
    assert!(
        sides.contains("Lower ball joint, front") && sides.contains("the left"),
        "{sides}"
    );

    let decline = bench.text(&["decline", "estate", "track-rod-end@front-left", "boot"]);
    assert!(
        decline.contains("2026-11-21: grade 5") && decline.contains("limit"),
        "{decline}"
    );

    let plan = bench.json(&["plan", "estate", "--json"]);
    let visits = plan["visits"].as_array().unwrap();
    assert!(!visits.is_empty());
    assert!(visits[0]["cautions_in_words"].as_array().is_some_and(|c| !c.is_empty()));
    let plan = bench.text(&["plan", "estate"]);
    for word in ["Why here", "Buy", "Tighten", "You lack", "Visit 1", "After it"] {
        assert!(plan.contains(word), "{word}:\n{plan}");
    }

    let cars = bench.json(&["cars", "--json"]);
    assert_eq!(cars[0]["last_survey"], "2026-11-21");
    assert!(cars[0]["next_visit"].is_string());
}

#[test]
fn a_car_unseen_all_new_and_all_worn_out_gets_clear_answers() {
    let bench = Bench::with_car();
    let plan = bench.text(&["plan", "estate"]);
    assert!(plan.contains("First look at what nobody has seen"), "{plan}");
    assert!(plan.contains("nothing has been seen of this car yet"), "{plan}");
    let standing = bench.json(&["standing", "estate", "--json"]);
    assert!(standing["ranked"].as_array().unwrap().is_empty());
    assert_eq!(standing["look_first"].as_array().unwrap().len(), KEPT.len());

    let path = bench.filled("new.csv", alike("0", "8/8/8", "10/10", "0", "no"));
    bench.text(&["enter", "estate", path.to_str().unwrap(), "--date", "2026-11-01"]);
    let standing = bench.json(&["standing", "estate", "--json"]);
    assert!(standing["notice"].as_array().unwrap().is_empty());
    let plan = bench
        .text(&["plan", "estate"])
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let others = plan.replace(tinworm::report::words::ORDERS_WORK_ONLY, "");
    assert!(others.len() < plan.len(), "the sentence stands on every plan");
    assert!(!others.to_lowercase().contains("safe"), "{others}");

    let path = bench.filled("worn.csv", alike("5", "1/1/1", "1/1", "2", "yes"));
    bench.text(&["enter", "estate", path.to_str().unwrap(), "--date", "2026-11-20"]);
    let standing = bench.text(&["standing", "estate"]);
    assert!(standing.contains("KEEP OFF THE ROAD"), "{standing}");
    assert!(
        standing.contains("What changed at the survey of 2026-11-20"),
        "{standing}"
    );
    let plan = bench.json(&["plan", "estate", "--json"]);
    assert!(!plan["visits"].as_array().unwrap().is_empty());
    assert!(!plan["notice"].as_array().unwrap().is_empty());
}

#[test]
fn profile_and_parts_can_be_changed() {
    let bench = Bench::with_car();
    let profile = bench.json(&[
        "set",
        "estate",
        "--laid-up",
        "--tool",
        "ball joint splitter",
        "--budget",
        "400",
        "--budget-per-month",
        "50",
        "--sessions",
        "Sat,Sun 4h",
        "--next-survey",
        "2027-04-01",
        "--unit",
        "miles",
        "--json",
    ]);
    assert_eq!(profile["in_use"], "LaidUp");
    assert_eq!(
        profile["sessions"]["weekdays"],
        serde_json::json!(["Saturday", "Sunday"])
    );
    assert_eq!(profile["budget"]["in_hand"], 400.0);
    assert_eq!(
        profile["yearly_km"], 6000.0,
        "the unit changes what is shown, not how far it goes"
    );
    assert_eq!(
        bench.json(&["set", "estate", "--no-tool", "ball joint splitter", "--json"])["tools"],
        serde_json::json!([])
    );

    let part = "track-rod-end@front-left";
    bench.text(&["part", "estate", part, "--fitted", "2021-04-10"]);
    bench.text(&[
        "part",
        "estate",
        part,
        "--limit",
        "play=0.5",
        "--source",
        "workshop manual",
    ]);
    let note = bench.json(&["part", "estate", part, "--json"])["note"].clone();
    assert_eq!(note["fitted"], "2021-04-10");
    assert_eq!(note["limits"][0]["limit"], 0.5);
    let sheet = bench.text(&["sheet", "estate", "--csv"]);
    assert!(
        sheet.contains("play,\"Track rod end, front left – Play\",reading,mm,,0,0.5"),
        "{sheet}"
    );

    bench.text(&["part", "estate", part, "--not-fitted"]);
    assert!(!bench.text(&["sheet", "estate", "--csv"]).contains(part));
    bench.text(&["part", "estate", part, "--is-fitted"]);
    assert!(bench.text(&["sheet", "estate", "--csv"]).contains(part));
    bench.text(&["part", "estate", "upper-arm@front-left", "--add"]);
    assert!(
        bench
            .text(&["sheet", "estate", "--csv"])
            .contains("upper-arm@front-left")
    );
    bench.text(&["part", "estate", "upper-arm@front-left", "--remove"]);
    assert!(
        !bench
            .text(&["sheet", "estate", "--csv"])
            .contains("upper-arm@front-left")
    );

    for (args, code, words) in [
        (vec!["part", "estate", part, "--limit", "play=-1"], 2, "below zero"),
        (vec!["part", "estate", part, "--limit", "boot=3"], 1, "not measured"),
        (
            vec!["part", "estate", "brake-pads@front-left", "--limit", "lining=12"],
            1,
            "wrong side",
        ),
        (
            vec!["part", "estate", "track-rod-ent@front-left", "--add"],
            3,
            "did you mean `track-rod-end`",
        ),
        (vec!["part", "estate", part, "--fitted", "2027-01-01"], 1, "future"),
        (
            vec!["part", "estate", "upper-arm@front-left", "--fitted", "2020-01-01"],
            3,
            "--add",
        ),
        (vec!["set", "estate", "--climate", "C9"], 2, "there are C1"),
        (
            vec!["set", "estate", "--layout", "steering=rak"],
            2,
            "did you mean `rack`",
        ),
        (vec!["set", "estate", "--sessions", "Someday"], 2, "neither a day"),
    ] {
        let out = bench.run(&args);
        assert_eq!(out.status.code(), Some(code), "{args:?}: {}", said(&out));
        assert!(said(&out).contains(words), "{args:?}: {}", said(&out));
    }
}

#[test]
fn repairs_and_wishes_are_kept() {
    let bench = Bench::with_car();
    let part = "track-rod-end@front-left";
    let repair = builtin::library()
        .repairs_of("track-rod-end")
        .next()
        .unwrap()
        .id
        .as_str();
    bench.text(&["tick", "estate", part]);
    bench.text(&["choose", "estate", part, repair]);
    bench.text(&["pin", "estate", part, "2026-12-05"]);
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let car = || data.open("estate", Access::Read).unwrap().car().clone();
    let wishes = car().wishes;
    assert_eq!(wishes.ticked.len(), 1);
    assert_eq!(wishes.chosen.values().next().map(String::as_str), Some(repair));
    assert_eq!(wishes.pinned.len(), 1);
    bench.text(&["choose", "estate", part, "--off"]);
    assert!(car().wishes.chosen.is_empty());
    bench.text(&[
        "done",
        "estate",
        repair,
        part,
        "--date",
        "2026-11-24",
        "--hours",
        "1,5",
        "--cost",
        "24",
        "--note",
        "nut cut off",
    ]);
    assert!(car().wishes.ticked.is_empty(), "what was ticked is done");
    let done = bench.json(&["done", "estate", "--json"]);
    assert_eq!(
        (&done[0]["hours"], &done[0]["note"]),
        (&1.5.into(), &"nut cut off".into())
    );
    bench.text(&["done", "estate", "--undo", "1"]);
    assert!(car().repairs.is_empty());
    for (args, code) in [
        (vec!["done", "estate", "paint-it", part], 3),
        (
            vec!["done", "estate", "renew-lower-arm", "lower-ball-joint@front-left"],
            1,
        ),
        (vec!["done", "estate", repair, part, "--date", "2026-11-26"], 1),
        (vec!["done", "estate", "--undo", "7"], 3),
        (vec!["done", "estate", repair], 2),
        (vec!["pin", "estate", part, "2026-11-01"], 1),
        (vec!["tick", "estate", "nothing"], 3),
    ] {
        let out = bench.run(&args);
        assert_eq!(out.status.code(), Some(code), "{args:?}: {}", said(&out));
    }
}

#[test]
fn a_new_car_that_nobody_can_be_asked_about_lists_what_is_missing() {
    let bench = Bench::empty();
    let out = bench.run(&["new", "--layout", "steering=rack"]);
    assert_eq!(out.status.code(), Some(2));
    let text = said(&out);
    assert!(
        text.contains("--name NAME") && text.contains("--layout front-suspension=PIECE"),
        "{text}"
    );
    assert!(!text.contains("--layout steering="), "{text}");
    assert!(!bench.data().exists(), "nothing half-made");
    assert!(bench.text(&["cars"]).contains("no car yet"));
}

#[test]
fn a_mistyped_folder_of_rubrics_is_no_empty_one() {
    let bench = Bench::with_car();
    let file = bench.path("axle.ron");
    std::fs::write(&file, "(schema: 1)").unwrap();
    let missing = bench.path("ruburics");
    for folder in [&missing, &file] {
        for args in [
            vec!["rubrics", "check"],
            vec!["rubrics", "list"],
            vec!["plan", "estate"],
            vec!["cars"],
        ] {
            let out = bench
                .command()
                .arg("--rubrics")
                .arg(folder)
                .args(&args)
                .output()
                .unwrap();
            assert_eq!(out.status.code(), Some(3), "{args:?}: {}", said(&out));
            assert!(
                said(&out).starts_with(&format!("tinworm: --rubrics: {} is no folder", folder.display())),
                "{}",
                said(&out)
            );
            assert!(out.stdout.is_empty(), "{args:?}");
        }
    }
    // One that only the environment names may be missing: every test here runs so.
    assert!(bench.text(&["rubrics", "check"]).contains("0 files of your own"));
}

#[test]
fn broken_rubrics_are_named_by_line_and_column() {
    let bench = Bench::with_car();
    let folder = bench.path("mine");
    std::fs::create_dir(&folder).unwrap();
    let file = folder.join("axle.ron");
    std::fs::write(&file, "(\n    schema: 1,\n    layouts: [(id: \"odd\", choice: \"steering\", name: \"Odd\",\n        places: [(component: \"no-such-thing\", at: [\"front\"])])],\n)\n").unwrap();
    for args in [
        vec!["--rubrics", folder.to_str().unwrap(), "rubrics", "check"],
        vec!["rubrics", "check", file.to_str().unwrap()],
        vec!["--rubrics", folder.to_str().unwrap(), "plan", "estate"],
    ] {
        let out = bench.run(&args);
        assert_eq!(out.status.code(), Some(1), "{args:?}");
        let at = format!("{}:4:", file.display());
        assert!(
            said(&out)
                .lines()
                .any(|l| l.starts_with(&at) && l.contains("no-such-thing")),
            "{}",
            said(&out)
        );
        assert!(out.stdout.is_empty());
    }
    assert!(bench.text(&["rubrics", "check"]).contains("No mistake"));
    assert!(bench.text(&["rubrics", "list"]).contains("track-rod-end"));
    let page = bench.text(&["rubrics", "show", "track-rod-end"]);
    for word in [
        "Before you look",
        "The work",
        "What may happen",
        "Law: ",
        "guide",
        "0  ",
        "5  ",
    ] {
        assert!(page.contains(word), "{word}");
    }
    // Found by the name a mechanic uses, too.
    let by_name = bench.text(&["rubrics", "show", "outer-ball-joint"]);
    assert_eq!(by_name, bench.text(&["rubrics", "show", "lower-ball-joint"]));
    let out = bench.run(&["rubrics", "show", "track-rod-ent"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(said(&out).contains("did you mean `track-rod-end`"), "{}", said(&out));
}

#[test]
fn a_car_that_is_open_elsewhere_is_not_written_to() {
    let bench = Bench::with_car();
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let held = data.open("estate", Access::Write).unwrap();
    let out = bench.run(&["tick", "estate", "track-rod-end@front-left"]);
    assert_eq!(out.status.code(), Some(4), "{}", said(&out));
    assert!(said(&out).contains("another tinworm"), "{}", said(&out));
    bench.text(&["part", "estate"]);
    drop(held);
    bench.text(&["tick", "estate", "track-rod-end@front-left"]);
}

#[test]
fn a_reader_that_has_had_enough_ends_it_quietly() {
    let bench = Bench::with_car();
    let mut child = bench
        .command()
        .args(["rubrics", "list", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let out = child.wait_with_output().unwrap();
    assert!(out.status.success(), "{}", said(&out));
    assert!(out.stderr.is_empty(), "{}", said(&out));
}

#[test]
fn without_a_terminal_the_screens_name_the_command_that_prints() {
    let bench = Bench::empty();
    let out = bench.run(&[]);
    assert_eq!(out.status.code(), Some(2));
    assert!(
        said(&out).contains("tinworm cars") && said(&out).lines().count() == 1,
        "{}",
        said(&out)
    );
    assert!(out.stdout.is_empty(), "no escape codes into a pipe");
}

/// The words of a command line as a shell would split it.
fn words(line: &str) -> Vec<String> {
    let mut out = vec![String::new()];
    let mut quoted = false;
    for c in line.trim().chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => out.push(String::new()),
            c => out.last_mut().unwrap().push(c),
        }
    }
    out.retain(|w| !w.is_empty());
    out
}

#[test]
fn every_verb_has_an_example_that_works() {
    let bench = Bench::empty();
    let verbs = [
        "new",
        "set",
        "part",
        "torque",
        "sheet",
        "tick",
        "choose",
        "pin",
        "order",
        "parts",
        "plan",
        "leave",
        "done",
        "found",
        "drop",
        "cars",
        "enter",
        "standing",
        "sides",
        "decline",
        "torque",
        "rubrics",
        "rubrics list",
        "rubrics show",
        "rubrics check",
        "open",
        "demo",
    ];
    for verb in verbs {
        let mut args: Vec<&str> = verb.split(' ').collect();
        args.push("--help");
        let help = bench.text(&args);
        let (_, example) = help
            .split_once("Example:")
            .or_else(|| help.split_once("Examples:"))
            .unwrap_or_else(|| panic!("{verb} has no example:\n{help}"));
        let examples = example.split("\n\n").next().unwrap();
        let examples = examples.split_whitespace().collect::<Vec<_>>().join(" ");
        for line in examples
            .split("tinworm ")
            .skip(1)
            .map(|line| format!("tinworm {}", line.trim()))
        {
            let wanted = words(line.split(['>', '|']).next().unwrap());
            assert_eq!(wanted[0], "tinworm", "{verb}: {line}");
            // These need files, minutes of reckoning or a terminal; their words are parsed by the tests above.
            if ["enter", "open", "demo", "rubrics check"].contains(&verb) {
                continue;
            }
            let args: Vec<&str> = wanted.iter().skip(1).map(String::as_str).collect();
            let out = bench.run(&args);
            assert!(out.status.success(), "{line}: {}", said(&out));
        }
        if verb == "new" {
            bench.keep_few("blue-estate");
        }
    }
    assert!(Path::new(&bench.data()).join("blue-estate").is_dir());
}
