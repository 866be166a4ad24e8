//! Several cars: one list, one ranking, one calendar and budget, and a car that was sold.

use std::collections::BTreeSet;

use icalendar::{Calendar, Component};
use serde_json::Value;
use tinworm::car::Change;
use tinworm::store::{Access, DataFolder};

use super::bench::{Bench, said};

/// Three cars: one with two bad parts, one with one, one that nobody has looked at.
fn yard() -> Bench {
    let bench = Bench::with_car();
    for name in ["Roadster", "Van"] {
        bench.another(name);
    }
    let sheet = |name: &str, rows: &[(&str, &str, &str)]| {
        let mut text = "part,check,grade_or_reading\n".to_owned();
        for (part, check, value) in rows {
            text.push_str(&format!("{part},{check},{value}\n"));
        }
        std::fs::write(bench.path(name), text).unwrap();
    };
    let (left, right) = ("track-rod-end@front-left", "track-rod-end@front-right");
    sheet(
        "a.csv",
        &[
            (left, "boot", "5"),
            (left, "nut-thread", "5"),
            (right, "boot", "1"),
            ("lower-ball-joint@front-left", "boot", "4"),
        ],
    );
    sheet(
        "b.csv",
        &[(left, "boot", "1"), (right, "boot", "4"), (right, "nut-thread", "1")],
    );
    bench.text(&["enter", "estate", "a.csv", "--date", "2026-11-20", "--take-good"]);
    bench.text(&["enter", "roadster", "b.csv", "--date", "2026-11-20", "--take-good"]);
    bench
}

#[test]
fn the_parts_of_all_cars_stand_in_one_list() {
    let bench = yard();
    let all = bench.json(&["standing", "--all", "--json"]);
    assert_eq!((all["cars"].as_u64(), all["unseen"].as_u64()), (Some(3), Some(1)));
    let ranked = all["ranked"].as_array().unwrap();
    let cars: BTreeSet<&str> = ranked.iter().map(|p| p["car"].as_str().unwrap()).collect();
    assert_eq!(cars, BTreeSet::from(["estate", "roadster"]));
    let exposure: Vec<f64> = ranked.iter().map(|p| p["exposure"].as_f64().unwrap()).collect();
    assert!(exposure.windows(2).all(|w| w[0] >= w[1]));
    // The same parts that each car ranks by itself, with the exposure of a year.
    for car in ["estate", "roadster"] {
        let own = bench.json(&["standing", car, "--json"]);
        let own: BTreeSet<String> = own["ranked"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| p["id"].to_string())
            .collect();
        let of = ranked.iter().filter(|p| p["car"] == car).map(|p| p["part"].to_string());
        assert_eq!(of.collect::<BTreeSet<String>>(), own);
    }
    let csv = bench.text(&["standing", "--all", "--csv"]);
    assert_eq!(csv.lines().count(), ranked.len() + 1);
    let text = bench.text(&["standing", "--all"]);
    assert!(
        text.contains("Nothing has been seen of 1 car") && text.contains("never says that a car is safe"),
        "{text}"
    );

    // A car that cannot be read is named and left out, and the exit code says so.
    std::fs::write(bench.data().join("roadster").join("profile.ron"), "(nonsense").unwrap();
    let out = bench.run(&["standing", "--all", "--json"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(
        said(&out).contains("1 car cannot be read") && said(&out).contains("roadster: "),
        "{}",
        said(&out)
    );
    let rest: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert!(rest["ranked"].as_array().unwrap().iter().all(|p| p["car"] == "estate"));
    assert_eq!(rest["unread"][0]["car"], "roadster");
    for args in [
        vec!["standing"],
        vec!["standing", "estate", "--all"],
        vec!["plan"],
        vec!["plan", "x", "--all"],
        vec!["standing", "--all", "--on", "2026-11-21"],
        vec!["plan", "--all", "--on", "2026-11-21"],
    ] {
        assert_eq!(bench.run(&args).status.code(), Some(2), "{args:?}");
    }
}

/// The visits of a plan of all cars: day, car, cost, repairs.
fn visits(all: &Value) -> Vec<(String, String, f64, usize)> {
    let mut found = Vec::new();
    for car in all["cars"].as_array().unwrap() {
        for visit in car["plan"]["visits"].as_array().unwrap() {
            found.push((
                visit["date"].as_str().unwrap().to_owned(),
                car["car"].as_str().unwrap().to_owned(),
                visit["cost"].as_f64().unwrap(),
                visit["work"].as_array().unwrap().len(),
            ));
        }
    }
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found
}

#[test]
fn one_calendar_gives_each_session_to_one_car_and_the_worse_comes_first() {
    let bench = yard();
    let all = bench.json(&["plan", "--all", "--json"]);
    let made = visits(&all);
    assert!(made.len() >= 2, "{made:?}");
    let days: BTreeSet<&String> = made.iter().map(|v| &v.0).collect();
    assert_eq!(days.len(), made.len(), "no day has two visits: {made:?}");
    assert_eq!(made[0].1, "estate", "more exposure: {made:?}");
    assert!(made.iter().any(|v| v.1 == "roadster"));
    let work = |car: &str| made.iter().filter(|v| v.1 == car).map(|v| v.3).sum::<usize>();
    for car in ["estate", "roadster"] {
        let alone = bench.json(&["plan", car, "--json", "--quick"]);
        let alone = alone["visits"].as_array().unwrap().iter();
        assert_eq!(
            work(car),
            alone.map(|v| v["work"].as_array().unwrap().len()).sum::<usize>(),
            "{car}"
        );
    }
    for session in all["sessions"].as_array().unwrap() {
        let (day, car) = (session["date"].as_str().unwrap(), session["car"].as_str().unwrap());
        // Work that runs on keeps its car's next session.
        assert!(made.iter().any(|v| v.0.as_str() <= day && v.1 == car), "{session}");
    }
    let text = bench.text(&["plan", "--all"]);
    assert!(
        text.contains("rule of thumb") && text.contains("KEEP OFF THE ROAD"),
        "{text}"
    );
    let csv = bench.text(&["plan", "--all", "--csv"]);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    assert_eq!(&reader.headers().unwrap()[0], "car");
    assert_eq!(
        reader.records().filter(Result::is_ok).count(),
        work("estate") + work("roadster")
    );
    let calendar: Calendar = bench.text(&["export", "--calendar", "--all"]).parse().unwrap();
    let events: Vec<(String, String)> = calendar
        .components
        .iter()
        .filter_map(|c| c.as_event())
        .map(|e| (e.get_uid().unwrap().to_owned(), e.get_summary().unwrap().to_owned()))
        .collect();
    let uids: BTreeSet<&String> = events.iter().map(|e| &e.0).collect();
    assert_eq!(uids.len(), events.len(), "every event has an identity of its own");
    for name in ["Estate: visit", "Roadster: visit"] {
        assert!(events.iter().any(|e| e.1.starts_with(name)), "{name}: {events:?}");
    }
}

#[test]
fn a_day_that_two_repairs_are_fixed_to_goes_to_one_car_and_the_other_is_told() {
    let bench = yard();
    let day = "2026-12-12";
    bench.text(&["pin", "estate", "track-rod-end@front-left", day]);
    bench.text(&["pin", "roadster", "track-rod-end@front-right", day]);
    let all = bench.json(&["plan", "--all", "--json"]);
    let made = visits(&all);
    let of_day: Vec<&str> = made.iter().filter(|v| v.0 == day).map(|v| v.1.as_str()).collect();
    assert_eq!(of_day, ["estate"], "{made:?}");
    let missed = all["missed_pins"].as_array().unwrap();
    assert_eq!(missed.len(), 1, "{missed:?}");
    assert_eq!(
        (
            missed[0]["car"].as_str(),
            missed[0]["fixed_to"].as_str(),
            missed[0]["taken_by"].as_str()
        ),
        (Some("roadster"), Some(day), Some("estate"))
    );
    // Not sooner than it was asked for either.
    let planned = missed[0]["planned"].as_str().expect("a later day");
    assert!(planned > day, "{planned}");
    let text = bench
        .text(&["plan", "--all"])
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(
        text.contains(&format!(
            "is fixed to {day}, but estate has that session; it is planned for {planned}"
        )),
        "{text}"
    );
}

#[test]
fn what_is_fixed_to_a_day_beyond_the_calendar_is_not_done_sooner() {
    let bench = yard();
    let part = "track-rod-end@front-left";
    // The program refuses such a day; a file written by an earlier one may have it.
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let mut open = data.open("estate", Access::Write).unwrap();
    let mut wishes = open.car().wishes.clone();
    wishes
        .pinned
        .insert(part.parse().unwrap(), jiff::civil::date(2069, 12, 14));
    open.record_all(vec![Change::Wishes(wishes)]).unwrap();
    drop(open);
    let plan = bench.json(&["plan", "estate", "--json", "--quick"]);
    let not_placed = plan["not_placed"].as_array().unwrap();
    assert!(not_placed.iter().any(|n| n["part"] == part), "{not_placed:?}");
}

#[test]
fn one_budget_is_never_overdrawn_by_the_cars_together() {
    let bench = yard();
    let free = visits(&bench.json(&["plan", "--all", "--json"]));
    let total: f64 = free.iter().map(|v| v.2).sum();
    assert!(total > 0.0);
    // Half of it now, and the rest comes in by and by.
    let (half, monthly) = (total / 2.0, total / 12.0);
    bench.text(&[
        "set",
        "estate",
        "--budget",
        &format!("{half:.2}"),
        "--budget-per-month",
        "0",
    ]);
    bench.text(&[
        "set",
        "roadster",
        "--budget",
        "0",
        "--budget-per-month",
        &format!("{monthly:.2}"),
    ]);
    let all = bench.json(&["plan", "--all", "--json"]);
    let made = visits(&all);
    assert!(!made.is_empty());
    assert_eq!(all["budgets"].as_array().unwrap().len(), 1);
    assert_eq!(all["budgets"][0]["cars"].as_array().unwrap().len(), 2);
    let today: jiff::civil::Date = "2026-11-25".parse().unwrap();
    let mut gone = 0.0;
    for (day, car, cost, _) in &made {
        gone += cost;
        let date: jiff::civil::Date = day.parse().unwrap();
        let days = f64::from((date - today).get_days());
        // Not rounded down to whole months: no stricter than the program's own count.
        let there = half + monthly * (days / (365.25 / 12.0)) + 0.02;
        assert!(gone <= there, "{gone} of {there} on {day} for {car}: {made:?}");
    }
    assert!(
        made.last().unwrap().0 > free.last().unwrap().0,
        "money makes it wait: {made:?}"
    );
}

#[test]
fn a_sold_car_is_out_of_all_lists_and_comes_back_whole() {
    let bench = yard();
    let before = bench.json(&["export", "roadster", "--json"]);
    let told = bench.text(&["retire", "roadster"]);
    assert!(told.contains("nothing was deleted"), "{told}");
    let names = |args: &[&str]| -> Vec<String> {
        let cars = bench.json(args);
        cars.as_array()
            .unwrap()
            .iter()
            .map(|c| c["car"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(names(&["cars", "--json"]), ["estate", "van"]);
    assert_eq!(names(&["cars", "--retired", "--json"]), ["roadster"]);
    assert_eq!(bench.json(&["cars", "--retired", "--json"])[0]["retired"], "2026-11-25");
    assert!(bench.text(&["cars", "--retired"]).contains("--back"));
    let all = bench.json(&["standing", "--all", "--json"]);
    assert!(all["ranked"].as_array().unwrap().iter().all(|p| p["car"] == "estate"));
    let plan = bench.json(&["plan", "--all", "--json"]);
    assert!(plan["cars"].as_array().unwrap().iter().all(|c| c["car"] != "roadster"));
    assert!(!bench.text(&["export", "--calendar", "--all"]).contains("Roadster"));
    assert!(bench.text(&["retire", "roadster"]).contains("already"));
    // It can still be looked at by name, and comes back as it was.
    assert!(bench.text(&["standing", "roadster"]).contains("Standing of Roadster"));
    bench.text(&["retire", "roadster", "--back"]);
    // What stood before each of the two days' changes is kept beside it.
    let mut after = bench.json(&["export", "roadster", "--json"]);
    after["car"].as_object_mut().unwrap().remove("earlier");
    assert_eq!(after, before);
    assert_eq!(names(&["cars", "--json"]).len(), 3);
    assert_eq!(bench.run(&["retire", "nobody"]).status.code(), Some(3));
}

#[test]
fn the_list_of_cars_says_what_all_parts_carry() {
    let bench = yard();
    let cars = bench.json(&["cars", "--json"]);
    let standing = bench.json(&["standing", "estate", "--json"]);
    let sum: f64 = standing["ranked"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["points"].as_f64().unwrap())
        .sum();
    assert!((cars[0]["points"].as_f64().unwrap() - sum).abs() < 1e-9);
    assert!(cars[2]["points"].is_null(), "nothing has been seen of the van");
    assert!(bench.text(&["cars"]).contains("all parts"));
}
