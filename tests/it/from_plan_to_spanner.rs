//! A winter's work through the command line: from the car's arrival to the last visit, with a strip-down surprise, a late part, a
//! sheared bolt and a budget cut.

#![allow(clippy::unwrap_used, clippy::panic)]

use serde_json::Value;

use super::command_line::bench::{Bench, said};

const END: &str = "track-rod-end@front-left";

/// The visit that does something to a part: its number and what is said of it.
fn visit_of<'p>(plan: &'p Value, part: &str) -> Option<(usize, &'p Value)> {
    let visits = plan["visits"].as_array().unwrap();
    let does = |visit: &&Value| {
        let work = visit["work"].as_array().unwrap();
        work.iter()
            .any(|w| w["covers"].as_array().unwrap().iter().any(|p| p == part))
    };
    let at = visits.iter().position(|v| does(&v))?;
    Some((at + 1, &visits[at]))
}

/// A text without its line breaks.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn day_of(visit: &Value) -> &str {
    visit["date"].as_str().unwrap()
}

#[test]
fn from_arrival_to_the_last_visit() {
    let bench = Bench::with_car();
    // Arrival: looked at once.
    let path = bench.filled("sheet.csv", |part, check, kind| match (part, check) {
        (END, "boot") => "5",
        (END, "play") => "1.4",
        ("track-rod-end@front-right", "boot") => "2",
        ("lower-ball-joint@front-left", "boot") => "4",
        ("lower-arm@front-left", "metal") => "4",
        ("brake-pads@front-left", "lining") => "8,5/8,0",
        ("tyre@front-left", "tread") => "inner 7.1; middle 7.0; outer 7.2",
        ("tyre@front-left", "age") => "2",
        ("caliper@front-left", "leak") => "no",
        (_, "play") => "0.1",
        _ if kind.starts_with("grade") => "1",
        _ => "",
    });
    bench.text(&[
        "enter",
        "estate",
        path.to_str().unwrap(),
        "--date",
        "2026-11-21",
        "--odometer",
        "184200",
    ]);
    bench.text(&[
        "set",
        "estate",
        "--sessions",
        "Saturday 6h",
        "--sessions",
        "Wednesday 2h",
        "--not-free",
        "2026-12-23..2027-01-03",
        "--budget",
        "600",
        "--budget-per-month",
        "50",
        "--target",
        "before the inspection=2027-03-01",
    ]);
    let plan = bench.json(&["plan", "estate", "--json"]);
    let (_, first) = visit_of(&plan, END).expect("the track rod end is planned");
    let arrives = day_of(first).to_owned();
    assert!(visit_of(&plan, "lower-arm@front-left").is_some());
    assert_eq!(plan["targets"][0]["name"], "before the inspection");
    assert!(
        plan["pace_in_words"]
            .as_str()
            .unwrap()
            .contains("none of yours is known"),
        "{}",
        plan["pace_in_words"]
    );

    // The late part: ordered, promised, not there.
    bench.text(&["order", "estate", END, "--expected", "2026-12-02", "--price", "24"]);
    let parts = bench.text(&["parts", "estate", "--csv"]);
    assert!(parts.contains("expected on 2026-12-02"), "{parts}");
    let late = bench.json_on("2026-12-04", &["plan", "estate", "--json", "--quick"]);
    let (_, visit) = visit_of(&late, END).unwrap();
    assert!(day_of(visit) > "2026-12-05", "{} instead of {arrives}", day_of(visit));
    let told = bench.text_on("2026-12-04", &["plan", "estate", "--quick"]);
    assert!(
        told.contains("Late parts") && told.contains("which has passed"),
        "{told}"
    );
    let earlier = bench.json_on(
        "2026-12-04",
        &["plan", "estate", "--json", "--if", &format!("in-hand {END}")],
    );
    let (before, after) = (&earlier["exposure_before"], &earlier["exposure_after"]);
    assert!(after.as_f64() <= before.as_f64(), "{before} {after}");
    bench.text_on("2026-12-05", &["order", "estate", END, "--in-hand"]);
    let there = bench.json_on("2026-12-05", &["plan", "estate", "--json", "--quick"]);
    assert_eq!(day_of(visit_of(&there, END).unwrap().1), "2026-12-05");

    // The track rod end is done; hours teach, what was paid is its cost.
    let done = bench.text_on(
        "2026-12-05",
        &[
            "done",
            "estate",
            "renew-track-rod-end",
            END,
            "--hours",
            "5",
            "--fitted",
            "track rod end",
            "--found",
            "track-rod-end@front-right boot=5",
        ],
    );
    assert!(done.contains("Taken into the survey of 2026-12-05"), "{done}");
    let kept = bench.json_on("2026-12-05", &["done", "estate", "--json"]);
    assert_eq!(kept[0]["cost"], 24.0, "what was paid for the part");
    assert!(kept[0]["planned_hours"].as_f64().unwrap() > 0.5);
    let taught = bench.json_on("2026-12-05", &["plan", "estate", "--json", "--quick"]);
    assert_eq!(taught["pace"]["jobs"], 1);
    assert!(taught["pace"]["times"].as_f64().unwrap() > 1.0);
    // The surprise: the other side's boot is split too, and the plan adapts.
    assert!(
        visit_of(&plan, "track-rod-end@front-right").is_none(),
        "it was no work at arrival"
    );
    assert!(
        visit_of(&taught, "track-rod-end@front-right").is_some(),
        "found split, it is"
    );

    // The arm is begun, its bolt shears: it stands open, and carries the notice until it is closed.
    let (_, arm) = visit_of(&taught, "lower-arm@front-left").unwrap();
    let day = day_of(arm).to_owned();
    let repair = arm["work"]
        .as_array()
        .unwrap()
        .iter()
        .find(|w| {
            w["covers"]
                .as_array()
                .unwrap()
                .iter()
                .any(|p| p == "lower-arm@front-left")
        })
        .unwrap()["repair"]
        .as_str()
        .unwrap()
        .to_owned();
    let part = "lower-arm@front-left";
    let left = bench.text_on(
        &day,
        &[
            "leave",
            "estate",
            &repair,
            part,
            "--hours",
            "3",
            "--did",
            "nuts off",
            "--sheared",
            "pinch bolt=2",
            "--buy",
            "pinch bolt=6,9",
            "--hours-left",
            "2",
        ],
    );
    assert!(
        left.contains("stands open") && left.contains("not to be driven"),
        "{left}"
    );
    let open = bench.json_on(&day, &["plan", "estate", "--json", "--quick"]);
    let notice = open["notice"].to_string();
    assert!(notice.contains("begun and not finished"), "{notice}");
    let (_, closing) = visit_of(&open, part).unwrap();
    let work = closing["work"].as_array().unwrap();
    let job = work
        .iter()
        .find(|w| w["because"] == "StandsOpen")
        .expect("it is closed");
    assert!(
        (job["hours"].as_f64().unwrap() - 4.0).abs() < 1e-6,
        "two to go, two for the bolt: {job}"
    );
    assert!(day_of(closing) > day.as_str(), "the bolt comes first");
    let text = bench.text_on(&day, &["plan", "estate", "--quick"]);
    assert!(
        text.contains("Stands open") && flat(&text).contains("make good the sheared pinch bolt"),
        "{text}"
    );
    let refused = bench
        .command_on(&day)
        .args(["leave", "estate", &repair, part, "--sheared", "no such bolt"])
        .output();
    let refused = refused.unwrap();
    assert!(
        !refused.status.success() && said(&refused).contains("is no fixing"),
        "{}",
        said(&refused)
    );

    // The budget is cut: what costs money waits, and the plan says what the cut costs.
    let before = bench.json_on(&day, &["plan", "estate", "--json", "--quick"]);
    bench.text_on(&day, &["set", "estate", "--budget", "0", "--budget-per-month", "15"]);
    let poor = bench.json_on(&day, &["plan", "estate", "--json"]);
    assert!(poor["exposure"].as_f64() >= before["exposure"].as_f64());
    let costs = poor["limits"].to_string();
    assert!(costs.contains("Without the budget"), "{costs}");
    bench.text_on(&day, &["set", "estate", "--budget", "800"]);

    // On to the last visit.
    let mut day = day;
    let mut visits = 0;
    loop {
        let plan = bench.json_on(&day, &["plan", "estate", "--json", "--quick"]);
        let Some(next) = plan["visits"].as_array().unwrap().first() else {
            break;
        };
        day = day_of(next).to_owned();
        if let Some(last) = next["runs_on"].as_array().and_then(|days| days.last()) {
            day = last.as_str().unwrap().to_owned();
        }
        assert!(
            !("2026-12-23".."2027-01-04").contains(&day.as_str()),
            "{day} is a holiday"
        );
        let mut args = vec!["done", "estate", "--visit", "1"];
        if next["booking"].is_null() {
            args.extend(["--hours", "6"]);
        }
        // The plan of that day has the same first visit, or one that is no later.
        bench.text_on(&day, &args);
        visits += 1;
        assert!(visits < 12, "it does not end");
    }
    assert!(visits >= 2, "the arm and the right track rod end at least");
    let end = bench.json_on(&day, &["plan", "estate", "--json", "--quick"]);
    assert_eq!(end["stands_open"].as_array().unwrap().len(), 0);
    assert!(!end["notice"].to_string().contains("begun and not finished"));
    let log = bench.json_on(&day, &["done", "estate", "--json"]);
    assert!(log.as_array().unwrap().len() >= 3);
    let listed = bench.text_on(&day, &["done", "estate"]);
    assert!(flat(&listed).contains("the rubrics' hours, from"), "{listed}");
    assert!(
        bench
            .text_on(&day, &["parts", "estate"])
            .contains("No planned repair needs anything")
    );
}

#[test]
fn a_wish_that_is_supposed_is_not_kept_and_one_that_is_wrong_is_explained() {
    let bench = Bench::with_car();
    bench.text(&["found", "estate", END, "boot=5", "play=1.4"]);
    let text = bench.text(&[
        "plan",
        "estate",
        "--if",
        "hours=3",
        "--if",
        &format!("pin {END}=2027-01-09"),
    ]);
    assert!(
        text.contains("nothing is kept") && flat(&text).contains("points more until Saturday 2027-01-"),
        "{text}"
    );
    assert!(bench.text(&["set", "estate"]).contains("Saturday, 6 h"));
    let alternatives = bench.text(&["plan", "estate", "--alternatives", END]);
    assert!(
        flat(&alternatives).to_lowercase().contains("renew the track rod end"),
        "{alternatives}"
    );
    bench.text(&["drop", "estate", END]);
    let plan = bench.text(&["plan", "estate", "--quick"]);
    assert!(flat(&plan).contains("you left it out"), "{plan}");
    bench.text(&["drop", "estate", END, "--off"]);
    for (supposed, code, words) in [
        ("hours=40", 2, "not between"),
        ("pim x=1", 2, "did you mean `pin`"),
        ("pin track-rod-end@front-left", 2, "needs a name"),
        ("pin track-rod-end@front-left=2026-01-01", 1, "is past"),
        ("drop track-rod-ent@front-left", 3, "did you mean"),
        ("budget=much", 2, "not a number"),
    ] {
        let out = bench.run(&["plan", "estate", "--if", supposed]);
        assert_eq!(out.status.code(), Some(code), "{supposed}: {}", said(&out));
        assert!(said(&out).contains(words), "{supposed}: {}", said(&out));
    }
    for (args, code, words) in [
        (vec!["found", "estate", END, "boots=5"], 3, "has no check"),
        (vec!["found", "estate", END, "boot=7"], 1, "boot=7"),
        (vec!["order", "estate", END, "--only", "no such"], 3, "it needs"),
        (
            vec!["leave", "estate", "renew-track-rod-end", END, "--closed"],
            3,
            "stands open",
        ),
        (vec!["done", "estate", "--visit", "9"], 3, "no visit number 9"),
        (vec!["set", "estate", "--target", "nothing"], 3, "to take back"),
    ] {
        let out = bench.run(&args);
        assert_eq!(out.status.code(), Some(code), "{args:?}: {}", said(&out));
        assert!(said(&out).contains(words), "{args:?}: {}", said(&out));
    }
}
