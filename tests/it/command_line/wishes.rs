//! `choose`: what may be wished for, and what is refused at once.

use tinworm::car::Wishes;

use super::*;

const ARM: &str = "lower-arm@front-left";
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
