//! `worksheet` on the command line.

use super::bench::{Bench, said};

/// A bench whose car has work to do.
fn bench() -> Bench {
    let bench = Bench::with_car();
    let path = bench.filled("sheet.csv", |part, _, kind| match part {
        "track-rod-end@front-left" | "lower-ball-joint@front-left" if kind.starts_with("grade") => "5",
        _ if kind.starts_with("grade") => "1",
        _ => "",
    });
    bench.text(&["enter", "estate", path.to_str().unwrap()]);
    bench
}

#[test]
fn a_worksheet_is_found_by_number_day_or_none() {
    let bench = bench();
    let next = bench.text(&["worksheet", "estate"]);
    assert!(next.starts_with("Worksheet, visit 1 of "), "{next}");
    assert_eq!(bench.text(&["worksheet", "estate", "1"]), next);
    let day = bench.json(&["worksheet", "estate", "--json"])["date"]
        .as_str()
        .unwrap()
        .to_owned();
    assert_eq!(bench.text(&["worksheet", "estate", &day]), next);
    let page = bench.text(&["worksheet", "estate", "1", "--html"]);
    assert!(page.starts_with("<!DOCTYPE html>") && page.ends_with("</html>\n"));
}

#[test]
fn the_example_of_its_help_works() {
    let bench = bench();
    let help = bench.text(&["worksheet", "--help"]);
    let example = help
        .lines()
        .find(|l| l.trim().starts_with("tinworm worksheet"))
        .unwrap();
    assert_eq!(
        example.trim(),
        "tinworm worksheet \"Blue estate\" 1 --html > visit.html"
    );
    let out = bench.run(&["worksheet", "estate", "1", "--html"]);
    assert!(out.status.success(), "{}", said(&out));
}

#[test]
fn what_is_not_there_is_named_with_its_exit_code() {
    let bench = bench();
    for (words, code, named) in [
        (&["worksheet", "estate", "99"][..], 3, "no visit 99; it has 1 to "),
        (&["worksheet", "estate", "0"], 3, "no visit 0"),
        (
            &["worksheet", "estate", "1999-01-01"],
            3,
            "no visit on 1999-01-01; its days are ",
        ),
        (
            &["worksheet", "estate", "soon"],
            3,
            "neither the number of a visit nor a day",
        ),
        (&["worksheet", "nobody"], 3, "nobody"),
        (&["worksheet", "estate", "--html", "--json"], 2, "cannot be used with"),
        (&["worksheet"], 2, "required"),
    ] {
        let out = bench.run(words);
        assert_eq!(out.status.code(), Some(code), "{words:?}: {}", said(&out));
        assert!(said(&out).contains(named), "{words:?}: {}", said(&out));
        assert!(out.stdout.is_empty());
    }
}

#[test]
fn a_car_without_a_plan_has_no_worksheet() {
    let bench = Bench::with_car();
    let out = bench.run(&["worksheet", "estate"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(said(&out).contains("the plan has no visit"), "{}", said(&out));
}
