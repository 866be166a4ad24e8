//! `choose` and `pin`: what may be wished for, and what is refused at once.

use tinworm::car::Wishes;

use super::*;

const ARM: &str = "lower-arm@front-left";
/// Done within a session.
const ROD: &str = "track-rod-end@front-left";
const PAINT: &str = "treat-lower-arm-rust";
const RENEW: &str = "renew-lower-arm";

fn wishes(bench: &Bench) -> Wishes {
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    data.open("estate", Access::Read).unwrap().car().wishes.clone()
}

/// What is planned on the arm, and what is said beside the plan.
fn planned(bench: &Bench) -> (Vec<String>, String) {
    let out = bench.run(&["plan", "estate", "--json", "--quick"]);
    assert!(out.status.success(), "{}", said(&out));
    let plan: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let visits = plan["visits"].as_array().unwrap().iter();
    let work = visits.flat_map(|v| v["work"].as_array().unwrap());
    let on_arm = work.filter(|w| w["covers"].as_array().unwrap().iter().any(|p| p == ARM));
    let repairs = on_arm.map(|w| w["repair"].as_str().unwrap().to_owned()).collect();
    (repairs, said(&out))
}

#[test]
fn a_treatment_that_comes_too_late_cannot_be_chosen() {
    let bench = Bench::with_car();
    bench.text(&["found", "estate", ARM, "metal=4"]);
    let supposed = format!("choose {ARM}={PAINT}");
    for args in [
        vec!["choose", "estate", ARM, PAINT],
        vec!["plan", "estate", "--if", &supposed],
        vec!["order", "estate", ARM, "--repair", PAINT],
    ] {
        let out = bench.run(&args);
        assert_eq!(out.status.code(), Some(1), "{args:?}: {}", said(&out));
        for words in [PAINT, ARM, "up to grade 3", "at grade 4", &format!("choose {RENEW}")] {
            assert!(said(&out).contains(words), "{args:?}, {words}: {}", said(&out));
        }
        assert!(out.stdout.is_empty(), "{args:?}");
    }
    assert!(wishes(&bench).chosen.is_empty());
    bench.text(&["choose", "estate", ARM, RENEW]);
    assert_eq!(wishes(&bench).chosen.len(), 1);
}

#[test]
fn a_treatment_chosen_in_time_is_planned_until_the_part_is_too_bad_for_it() {
    let bench = Bench::with_car();
    bench.text(&["found", "estate", ARM, "metal=3"]);
    bench.text(&["tick", "estate", ARM]);
    bench.text(&["choose", "estate", ARM, PAINT]);
    let (repairs, beside) = planned(&bench);
    assert_eq!((repairs, beside.as_str()), (vec![PAINT.to_owned()], ""));
    bench.text(&["found", "estate", ARM, "metal=5"]);
    let (repairs, beside) = planned(&bench);
    assert_eq!(repairs, [RENEW]);
    for words in ["chosen earlier is not planned", PAINT, "at grade 5", RENEW] {
        assert!(beside.contains(words), "{words}: {beside}");
    }
    bench.text(&["choose", "estate", ARM, RENEW]);
    let (repairs, beside) = planned(&bench);
    assert_eq!((repairs, beside.as_str()), (vec![RENEW.to_owned()], ""));
}

#[test]
fn a_repair_is_fixed_only_to_a_day_that_can_be_planned() {
    let bench = Bench::with_car();
    bench.text(&["set", "estate", "--sessions", "Saturday 6h"]);
    // 1098 days from 25 November 2026 end on 26 November 2029; this is the last Saturday of them.
    let last = "2029-11-24";
    for day in ["2026-11-24", "2029-11-25", "9999-12-31"] {
        let supposed = format!("pin {ARM}={day}");
        for args in [
            vec!["pin", "estate", ARM, day],
            vec!["plan", "estate", "--if", &supposed],
        ] {
            let out = bench.run(&args);
            assert_eq!(out.status.code(), Some(1), "{args:?}: {}", said(&out));
            let named = [day, TODAY, last].iter().all(|d| said(&out).contains(d));
            assert!(named && said(&out).lines().count() == 1, "{args:?}: {}", said(&out));
        }
    }
    assert!(wishes(&bench).pinned.is_empty());
    // And the last day that is named is one indeed.
    bench.text(&["tick", "estate", ROD]);
    bench.text(&["pin", "estate", ROD, last]);
    let plan = bench.json(&["plan", "estate", "--json", "--quick"]);
    let visits = plan["visits"].as_array().unwrap();
    let on_it = visits.iter().find(|v| v["date"] == last).expect("a visit on that day");
    assert_eq!(on_it["work"][0]["part"], ROD);
}
