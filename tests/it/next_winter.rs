//! The next winter: what moved, what was forecast from what was known, and how well that did.
#![allow(clippy::unwrap_used, clippy::panic)]

use proptest::prelude::*;
use tinworm::car::{Car, Change, RepairDone};
use tinworm::demo;
use tinworm::engine::next_winter::{
    BAD, BadParts, Forecast, Share, bad_parts, calibration, calibration_of, compare, event, forecasts, two_surveys,
};
use tinworm::rubric::{PartId, builtin};
use tinworm::units::Grade;

use crate::cars::{day, look, survey};
use crate::command_line::bench::{Bench, said};

const THEN: &str = "2025-11-20";
const NOW: &str = "2026-11-20";

/// A car of few parts with two surveys a year apart, and looks of both.
fn two_winters() -> Bench {
    let bench = Bench::with_car();
    let first = bench.filled("first.csv", |part, check, kind| match (part, check) {
        ("track-rod-end@front-left", "boot") => "3",
        ("lower-arm@front-right", _) if kind == "grade 0 to 5" => "4",
        _ if kind == "grade 0 to 5" => "1",
        _ => "",
    });
    let second = bench.filled("second.csv", |part, check, kind| match (part, check) {
        ("track-rod-end@front-left", "boot") => "5",
        ("lower-arm@front-right", "metal") => "0",
        ("lower-arm@front-right", _) if kind == "grade 0 to 5" => "4",
        _ if kind == "grade 0 to 5" => "1",
        _ => "",
    });
    bench.text(&["enter", "estate", first.to_str().unwrap(), "--date", THEN]);
    bench.text(&["enter", "estate", second.to_str().unwrap(), "--date", NOW]);
    bench
}

#[test]
fn two_surveys_are_told_against_each_other() {
    let bench = two_winters();
    let text = bench.text(&["compare", "estate"]);
    assert!(
        text.contains(&format!("The survey of {NOW} against that of {THEN}")),
        "{text}"
    );
    assert!(
        text.contains("Really worse") && text.contains("Track rod end, front left, boot"),
        "{text}"
    );
    let json = bench.json(&["compare", "estate", "--json"]);
    let moved = json["moved"].as_array().unwrap();
    let of = |part: &str, check: &str| moved.iter().find(|m| m["part"] == part && m["check"] == check).unwrap();
    let boot = of("track-rod-end@front-left", "boot");
    assert_eq!((&boot["from"], &boot["to"]), (&3.into(), &5.into()));
    assert!(boot["probability"].as_f64().unwrap() >= 0.9);
    // Much better without a repair: asked about, not believed in silence.
    if let Some(metal) = moved
        .iter()
        .find(|m| m["part"] == "lower-arm@front-right" && m["to"] == 0)
    {
        assert_eq!(metal["too_good"], true);
        assert!(
            text.replace('\n', " ")
                .contains("Was something done that is not recorded"),
            "{text}"
        );
    }
    // The table of every check, read by another reader.
    let csv = bench.text(&["compare", "estate", "--csv"]);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let rows = reader.records().map(Result::unwrap).count();
    assert!(rows >= moved.len());
    // Forecast and outcome in words, with numbers that can be counted again.
    let bad = &json["bad_parts"];
    assert!(bad["forecast"].as_u64().unwrap() >= 1, "{bad}");
    assert!(
        text.replace('\n', " ").contains(&format!("{} did (", bad["came"])),
        "{text}"
    );
    // A repair between takes the part out of what moved and out of what was forecast.
    bench.text(&[
        "done",
        "estate",
        "renew-track-rod-end",
        "track-rod-end@front-left",
        "--date",
        "2026-05-02",
    ]);
    let json = bench.json(&["compare", "estate", "--json"]);
    let none = |list: &str| {
        let list = json[list].as_array().unwrap();
        list.iter().all(|m| m["part"] != "track-rod-end@front-left")
    };
    assert!(none("moved") && none("forecasts"));
    assert_eq!(json["repaired"][0]["part"], "track-rod-end@front-left");
    assert_eq!(json["repaired"][0]["before"], 3);
    assert_eq!(json["repaired"][0]["after"], 5);
}

#[test]
fn without_two_surveys_it_says_so() {
    let bench = Bench::with_car();
    let out = bench.run(&["compare", "estate"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(said(&out).contains("no survey has seen anything"), "{}", said(&out));
    let out = bench.run(&["calibration", "estate"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(
        said(&out).contains("two surveys at least two months apart"),
        "{}",
        said(&out)
    );
    let bench = two_winters();
    let out = bench.run(&["compare", "estate", "--from", "2024-01-01"]);
    assert!(
        said(&out).contains(&format!("there are those of {THEN}, {NOW}")),
        "{}",
        said(&out)
    );
    let out = bench.run(&["compare", "estate", "--from", NOW, "--to", THEN]);
    assert!(said(&out).contains("is not earlier than"), "{}", said(&out));
}

#[test]
fn the_calibration_is_honest_about_few_looks_and_stands_in_the_report() {
    let bench = two_winters();
    let text = bench.text(&["calibration", "estate"]).replace('\n', " ");
    let json = bench.json(&["calibration", "estate", "--json"]);
    let of = json["inside"]["of"].as_u64().unwrap();
    assert!(text.contains("Brier score for grade 4 or worse"), "{text}");
    assert_eq!(of < 30, text.contains("too few to say"), "{of} {text}");
    let words = text.find("Of ").unwrap();
    assert!(words < text.find("Brier").unwrap(), "words before numbers");
    let report = bench.text(&["report", "estate", "--charts", "0", "--no-worksheets"]);
    assert!(report.contains("How well the forecasts did on this car"));
    assert!(report.contains(&format!("The survey of {NOW} against that of {THEN}")));
}

fn forecast(part: &str, before: u8, grades: [f64; 6], seen: u8) -> Forecast {
    Forecast {
        part: part.parse().unwrap(),
        check: "boot".to_owned(),
        made: day(THEN),
        due: day(NOW),
        before: Grade::new(before),
        grades,
        seen: Grade::new(seen).unwrap(),
    }
}

#[test]
fn bands_counts_and_scores_follow_by_hand() {
    let grades = [0.05, 0.25, 0.4, 0.15, 0.1, 0.05];
    let one = forecast("track-rod-end@front-left", 2, grades, 3);
    let digits = |f: &Forecast| (f.band().0.digit(), f.band().1.digit());
    assert_eq!(digits(&one), (1, 4));
    assert!((one.promised() - 0.9).abs() < 1e-12 && one.inside());
    assert!((one.at_least(BAD) - 0.15).abs() < 1e-12);
    let bad = [0.0, 0.0, 0.0, 0.2, 0.5, 0.3];
    let all = [
        one,
        forecast("track-rod-end@front-right", 4, bad, 4),
        forecast("lower-arm@front-left", 3, bad, 3),
        forecast("lower-arm@front-right", 1, grades, 5),
    ];
    assert_eq!(
        bad_parts(&all),
        BadParts {
            forecast: 2,
            already: 1,
            came: 1,
            others: 2,
            others_came: 1
        }
    );
    let made = calibration_of(vec![(day(THEN), day(NOW), 4)], &all);
    assert_eq!((made.inside.count, made.inside.of), (3, 4));
    // Brier 1950: ((.15)² + (.2)² + (.8)² + (.85)²) / 4, against ½·½.
    assert!((made.bad.brier - (0.0225 + 0.04 + 0.64 + 0.7225) / 4.0).abs() < 1e-12);
    assert!((made.bad.brier_of_base - 0.25).abs() < 1e-12);
    assert_eq!(made.bad.bins.iter().map(|b| b.came.of).sum::<usize>(), 4);
    assert_eq!(made.worse.came.count, 2);
    assert!(event(&[]).bins.is_empty());
}

/// Wilson's interval as `scipy.stats.binomtest(k, n).proportion_ci(method='wilson')` gives it.
#[test]
fn the_interval_is_that_of_wilson() {
    for (k, n, low, high) in [
        (8, 10, 0.490_162_5, 0.943_317_8),
        (0, 10, 0.0, 0.277_532_8),
        (45, 50, 0.786_397_2, 0.956_524_0),
    ] {
        let share = Share::new(k, n);
        assert!(
            (share.low - low).abs() < 2e-4 && (share.high - high).abs() < 2e-4,
            "{share:?} for {low} {high}"
        );
    }
}

/// The checks of two parts of the demo car, so that a case reckons quickly.
fn small() -> Car {
    let mut car = Car::new(demo::car().profile);
    let library = builtin::library();
    let keep: Vec<PartId> = ["track-rod-end@front-left", "lower-arm@front-left"]
        .iter()
        .map(|p| p.parse().unwrap())
        .collect();
    for part in car.part_ids(library) {
        if !keep.contains(&part) {
            let gone = tinworm::car::PartNote {
                not_fitted: true,
                ..tinworm::car::PartNote::default()
            };
            car.apply(Change::Part(part, gone)).unwrap();
        }
    }
    car
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 12, ..ProptestConfig::default() })]

    /// Whatever is seen or done after the day a forecast was made for it to be told from, the forecast is the same.
    #[test]
    fn forecasts_never_look_at_later_surveys(
        then in 0..5_u8,
        due in 0..6_u8,
        later in 0..6_u8,
        odometer in 100_000.0..400_000.0_f64,
        repaired in any::<bool>(),
    ) {
        let library = builtin::library();
        let part = "track-rod-end@front-left";
        let mut car = small();
        for (date, grade) in [(THEN, then), (NOW, due)] {
            car.apply(survey(date)).unwrap();
            car.apply(look(date, part, "boot", grade)).unwrap();
            car.apply(look(date, "lower-arm@front-left", "bushes", grade)).ok();
        }
        let told = |car: &Car| -> Vec<[f64; 6]> {
            forecasts(car, library, day(THEN), day(NOW)).into_iter().map(|f| f.grades).collect()
        };
        let plain = told(&car);
        prop_assert!(!plain.is_empty());
        prop_assert!(plain.iter().all(|g| (g.iter().sum::<f64>() - 1.0).abs() < 1e-9));
        // The survey held against it says something else, and drove further.
        car.apply(look(NOW, part, "boot", later)).unwrap();
        car.apply(Change::Survey { date: day(NOW), odometer_km: Some(odometer), note: String::new() }).unwrap();
        // Another survey in between and one after, and a repair after.
        car.apply(survey("2026-03-01")).unwrap();
        car.apply(look("2026-03-01", part, "boot", later)).unwrap();
        car.apply(survey("2027-03-01")).unwrap();
        car.apply(look("2027-03-01", part, "boot", later)).unwrap();
        if repaired {
            let done = RepairDone::new(day("2027-01-01"), "renew-track-rod-end", part.parse().unwrap());
            car.apply(Change::Done(done)).unwrap();
        }
        prop_assert_eq!(told(&car), plain);
    }
}

#[test]
fn the_demo_car_tells_its_winter() {
    let (car, library) = (demo::car(), builtin::library());
    let (from, to) = two_surveys(&car, None, None, demo::today()).unwrap();
    assert_eq!((from, to), (demo::arrival(), demo::after_winter()));
    let told = compare(&car, library, from, to, demo::today());
    assert!(told.moved.iter().any(|m| m.is_real()));
    assert_eq!(told.repaired.len(), 5);
    let repaired: Vec<&PartId> = told.repaired.iter().map(|r| &r.part).collect();
    let hose: PartId = "brake-hose@front-left".parse().unwrap();
    assert!(repaired.contains(&&hose) && told.forecasts.iter().all(|f| f.part != hose));
    let how = calibration(&car, library, demo::today()).unwrap();
    assert_eq!(how.pairs, [(from, to, told.forecasts.len())]);
    println!(
        "demo: {} of {} inside, promised {:.2}, {:?}, Brier {:.3} against {:.3}",
        how.inside.count, how.inside.of, how.promised, how.bad_parts, how.bad.brier, how.bad.brier_of_base
    );
}
