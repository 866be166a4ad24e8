//! A visit's hours are the same figure in every face.

use super::*;

#[test]
fn lists_sheets_and_reports_tell_the_same_hours_of_a_visit() {
    let bench = Bench::with_car();
    // An arm whose bolts nobody has seen: what they may cost draws mean and median apart.
    bench.text(&["tick", "estate", "lower-arm@front-left"]);
    let plan = bench.json(&["plan", "estate", "--json", "--quick"]);
    let visit = &plan["visits"][0];
    let hours = |name: &str| format!("{:.1} h", visit["hours"][name].as_f64().unwrap());
    let (mean, median, high) = (hours("mean"), hours("median"), hours("high"));
    assert!(mean != median && median != high, "{visit}");
    let in_full = format!("half the time no more than {median}, nine times in ten no more than {high}");
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let day = visit["date"].as_str().unwrap();
    for (args, in_list) in [
        (vec!["plan", "estate", "--quick"], true),
        (vec!["report", "estate"], true),
        (vec!["plan", "--all"], true),
        (vec!["worksheet", "estate", "1"], false),
        (vec!["export", "estate", "--calendar"], false),
    ] {
        let text = bench.text(&args).replace("\r\n ", "").replace("\\,", ",");
        if in_list {
            assert!(
                text.contains("Half the time a visit takes no more than the hours listed."),
                "{args:?}"
            );
            let line = text
                .lines()
                .find(|l| l.trim_start().starts_with('1') && l.contains(day))
                .unwrap_or_else(|| panic!("{args:?}: {text}"));
            assert!(line.contains(&median) && !line.contains(&mean), "{args:?}: {line}");
        }
        let text = flat(text);
        assert!(text.contains(&in_full), "{args:?}: {text}");
        assert!(!text.contains("on average"), "{args:?}");
    }
}
