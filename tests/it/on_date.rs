//! Any past day: the same as a copy of the car made from only what was recorded until then.
#![allow(clippy::unwrap_used, clippy::panic)]

use tinworm::car::{Buying, Change, Purchase};
use tinworm::store::{Access, DataFolder};

use crate::cars::{copy_folder, day};
use crate::command_line::bench::{Bench, said};

const FIRST: &str = "2025-11-20";
const THEN: &str = "2025-11-25";

/// A car with one survey; then its folder as it was copied under another name; then a year more.
fn a_year_later() -> Bench {
    let bench = Bench::with_car();
    let on = |day: &str, args: &[&str]| bench.text_on(day, args);
    // As `order` keeps it; whether the plan has the repair is not what is tested here.
    let bought = |date: &str, status: Buying| {
        let data = DataFolder::find(Some(&bench.data())).unwrap();
        let mut open = data.open("estate", Access::Write).unwrap();
        open.keep_from(day(date));
        let part = "track-rod-end@front-left".parse().unwrap();
        let purchase = Purchase::new(part, "renew-track-rod-end", "track rod end").now_is(status, day(date), 18.0);
        open.record(Change::Buy(purchase)).unwrap();
    };
    let first = bench.filled("first.csv", |part, check, kind| match (part, check) {
        ("track-rod-end@front-left", "boot") => "4",
        ("lower-arm@front-left", _) if kind == "grade 0 to 5" => "4",
        _ if kind == "grade 0 to 5" => "1",
        _ => "",
    });
    on(FIRST, &["enter", "estate", first.to_str().unwrap()]);
    on(
        FIRST,
        &["set", "estate", "--sessions", "Saturday 6h", "--budget", "200"],
    );
    on(THEN, &["tick", "estate", "track-rod-end@front-right"]);
    let copy = bench.data().join("copy");
    std::fs::create_dir(&copy).unwrap();
    copy_folder(&bench.data().join("estate"), &copy);
    std::fs::remove_file(copy.join("lock")).ok();

    on(
        "2025-12-02",
        &[
            "set",
            "estate",
            "--laid-up",
            "--yearly",
            "1000",
            "--sessions",
            "Sunday 3h",
        ],
    );
    on("2025-12-02", &["set", "estate", "--tool", "ball joint splitter"]);
    on("2025-12-03", &["tick", "estate", "lower-arm@front-right"]);
    bought(
        "2025-12-03",
        Buying::Ordered {
            expected: day("2025-12-20"),
        },
    );
    on(
        "2025-12-03",
        &["part", "estate", "track-rod-end@front-left", "--fitted", "2021-04-10"],
    );
    bought("2025-12-04", Buying::InHand);
    on(
        "2026-01-10",
        &[
            "done",
            "estate",
            "renew-track-rod-end",
            "track-rod-end@front-left",
            "--hours",
            "2",
        ],
    );
    let second = bench.filled("second.csv", |_, _, kind| if kind == "grade 0 to 5" { "2" } else { "" });
    on(
        "2026-11-20",
        &["enter", "estate", second.to_str().unwrap(), "--odometer", "190000"],
    );
    bench
}

fn but_the_first_line(text: &str) -> &str {
    text.split_once('\n').unwrap().1
}

#[test]
fn a_past_day_is_what_a_copy_of_that_day_says() {
    let bench = a_year_later();
    for args in [
        &["standing"][..],
        &["sides"],
        &["decline", "track-rod-end@front-left"],
        &["plan", "--quick"],
        &["parts"],
    ] {
        let of = |car: &'static str| {
            let mut all = args.to_vec();
            all.insert(1, car);
            all
        };
        let mut back = of("estate");
        back.extend(["--on", THEN]);
        let back = bench.text(&back);
        assert!(back.starts_with(&format!("As known on {THEN}:")), "{back}");
        let copy = bench.text_on(THEN, &of("copy"));
        assert_eq!(but_the_first_line(&back), copy, "{args:?}");
        assert_ne!(
            but_the_first_line(&back),
            bench.text(&of("estate")),
            "{args:?}: it has changed since"
        );
    }
    // The report says so in its first line itself.
    let back = bench.text(&["report", "estate", "--charts", "1", "--on", THEN]);
    assert!(
        back.starts_with(&format!("Report on Estate, as known on that day, {THEN}\n")),
        "{back}"
    );
    let copy = bench.text_on(THEN, &["report", "copy", "--charts", "1"]);
    assert_eq!(but_the_first_line(&back), but_the_first_line(&copy));
    // Machine forms have no room for a line: it is said beside them.
    let out = bench.run(&["standing", "estate", "--json", "--on", THEN]);
    assert!(said(&out).contains(&format!("As known on {THEN}")), "{}", said(&out));
    let json: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(json["today"], THEN);
}

#[test]
fn days_in_between_know_what_was_said_until_their_evening() {
    let bench = a_year_later();
    let car = DataFolder::find(Some(&bench.data())).unwrap();
    let car = car.open("estate", Access::Read).unwrap().car().clone();
    let on = |date: &str| car.as_known_on(day(date));
    assert!(on("2025-12-01").profile.tools.is_empty());
    assert_eq!(on("2025-12-02").profile.tools, ["ball joint splitter"]);
    assert_eq!(on("2025-12-01").profile.yearly_km, 6000.0);
    assert_eq!(on("2025-12-02").profile.yearly_km, 1000.0);
    assert_eq!(on("2025-12-02").wishes.ticked.len(), 1);
    assert_eq!(on("2025-12-03").wishes.ticked.len(), 2);
    assert!(on("2025-12-02").progress.purchases.is_empty());
    assert!(!on("2025-12-03").progress.purchases.is_empty());
    assert_ne!(on("2025-12-03").progress, on("2025-12-04").progress);
    assert!(on("2026-01-09").repairs.is_empty() && on("2026-01-10").repairs.len() == 1);
    assert_eq!(on("2026-11-19").surveys.len(), 1);
    let fitted = |date: &str| {
        on(date)
            .parts
            .get(&"track-rod-end@front-left".parse().unwrap())
            .and_then(|n| n.fitted)
    };
    assert_eq!(
        (fitted("2025-12-02"), fitted("2025-12-03")),
        (None, Some(day("2021-04-10")))
    );
    // What was put away survives tidying and is what it was.
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    data.open("estate", Access::Write).unwrap().tidy().unwrap();
    assert!(bench.data().join("estate/earlier.ron").is_file());
    assert_eq!(*data.open("estate", Access::Read).unwrap().car(), car);
}

#[test]
fn a_day_before_anything_or_still_to_come_is_refused() {
    let bench = a_year_later();
    let run = |args: &[&str]| {
        let out = bench.run(args);
        (out.status.code(), said(&out))
    };
    let (code, words) = run(&["standing", "estate", "--on", "2020-01-01"]);
    assert_eq!(code, Some(1));
    assert!(
        words.contains(&format!("the first thing recorded of it is of {FIRST}")),
        "{words}"
    );
    let (code, words) = run(&["standing", "estate", "--on", "2030-01-01"]);
    assert_eq!(code, Some(2));
    assert!(words.contains("still to come"), "{words}");
    let (code, words) = run(&["tick", "estate", "lower-arm@front-left", "--on", THEN]);
    assert_eq!(code, Some(2));
    assert!(words.contains("--on goes with"), "{words}");
    let (code, _) = run(&["calibration", "estate", "--on", THEN]);
    assert_eq!(code, Some(1), "nothing to hold a forecast against on that day");
}
