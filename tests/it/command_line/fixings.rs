//! `torque`, and the manual's tightening values of a car.

use super::*;

#[test]
fn torque_tells_all_of_a_thread_and_class() {
    let bench = Bench::empty();
    let text = bench.text(&["torque", "M12x1.5", "10.9", "--oiled"]);
    for word in [
        "M12x1.5, class 10.9, oiled",
        "never your car maker's figure",
        "99 N·m oiled; 132 N·m dry, 92 N·m with anti-seize paste",
        "73.1 kN",
        "core 10.16 mm",
        "VDI 2230",
        "ISO 898-7",
    ] {
        assert!(text.contains(word), "{word}:\n{text}");
    }
    assert!(!text.contains("Try in this order"), "{text}");
    assert_eq!(
        bench.text(&["torque", "m12", "x", "1,5", "10.9", "--oiled"]),
        text,
        "however it is written"
    );
    // At friction 0.14, M12x1.75 8.8 has 93 N·m and 41.9 kN in the tables of VDI 2230.
    let text = bench.text(&["torque", "M12", "8.8", "--friction", "0,14"]);
    assert!(text.contains("93 N·m and 42.0 kN at friction 0.14"), "{text}");
    let unnamed = bench.text(&["torque", "M12"]);
    assert!(unnamed.contains("No class was named: 8.8 is assumed"), "{unnamed}");
}

#[test]
fn torque_of_a_rusted_thread_says_what_is_likely_and_what_to_try() {
    let bench = Bench::empty();
    let text = bench.text(&["torque", "M10", "8.8", "--grade", "3"]);
    assert!(
        text.contains("more likely to shear than to turn") && text.contains("5 % of its core gone"),
        "{text}"
    );
    let at = |word: &str| text.find(word).unwrap_or_else(|| panic!("{word}:\n{text}"));
    assert!(at("soak it on two or three days") < at("Heat the nut") && at("Heat the nut") < at("Split the nut"));
    for word in ["brake hose", "fuel pipes", "airbag", "highly"] {
        assert!(text.contains(word) || word == "highly", "{word}:\n{text}");
    }
    assert!(text.contains("Do not heat an arm, knuckle"), "{text}");
    let json = bench.json(&["torque", "M10", "8.8", "--grade", "1", "--core-loss", "10%", "--json"]);
    assert_eq!(json["figures"]["rusted"]["core_lost"], 0.1);
    let breaking = json["figures"]["rusted"]["breaking"].as_f64().unwrap();
    assert!((breaking - 66.0 * 0.729).abs() < 0.2, "{breaking}");
    assert!(
        json["ladder"]
            .as_array()
            .is_some_and(|l| l.iter().all(|s| s["source"].is_string()))
    );
    // The worse the grade, the smaller the margin.
    let margin = |grade: &str| {
        let json = bench.json(&["torque", "M10", "8.8", "--grade", grade, "--json"]);
        json["figures"]["rusted"]["margin"].as_f64().unwrap()
    };
    let margins: Vec<f64> = ["0", "1", "2", "3", "4", "5"].map(margin).to_vec();
    assert!(margins.windows(2).all(|m| m[0] > m[1]), "{margins:?}");
}

#[test]
fn torque_checks_a_figure_and_names_the_likely_slip() {
    let bench = Bench::empty();
    let fine = bench.text(&["torque", "M12x1.25", "8.8", "--value", "85"]);
    assert!(fine.contains("plausible for M12x1.25 8.8"), "{fine}");
    let odd = bench.text(&["torque", "M10x1.25", "8.8", "--value", "85"]);
    let odd = odd.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        odd.contains("it is 63 lbf·ft in N·m") && odd.contains("It would fit M12x1.25 8.8"),
        "{odd}"
    );
    let feet = bench.text(&["torque", "M12x1.25", "8.8", "--value", "63 lbf-ft"]);
    assert!(
        feet.contains("63 lbf·ft (85 N·m)") && feet.contains("plausible"),
        "{feet}"
    );
    let low = bench.json(&["torque", "M12x1.25", "8.8", "--value", "24", "--json"]);
    assert_eq!(low["value"]["slip"]["OtherUnit"][0], "PoundFeet", "{low}");
    let hex = bench.text(&["torque", "--hex", "17", "--value", "47"]);
    assert!(
        hex.contains("M10x1.5") && hex.contains("older, DIN 931") && hex.contains("yes"),
        "{hex}"
    );
    let json = bench.json(&["torque", "--hex", "17", "--value", "47", "--json"]);
    assert!(json.as_array().is_some_and(|c| c.iter().any(|c| c["fits"] == true)));
    let odd = bench.text(&["torque", "M10", "8.8", "--hex", "19"]);
    assert!(odd.contains("not on M10x1.5"), "{odd}");
}

#[test]
fn torque_refuses_what_it_does_not_know_in_one_sentence() {
    let bench = Bench::empty();
    for (args, code, words) in [
        (vec!["torque", "M13", "8.8"], 3, "the nearest are M12x1.75"),
        (vec!["torque", "M12x1.5", "11.9"], 3, "did you mean `10.9`?"),
        (vec!["torque", "bolt"], 2, "`bolt` is no thread"),
        (vec!["torque"], 2, "name a thread"),
        (vec!["torque", "M12", "--value", "85 bar"], 2, "no unit of torque"),
        (vec!["torque", "M12", "--value=-5"], 2, "torque"),
        (
            vec!["torque", "M12", "--value", "99999999999999999999999"],
            2,
            "those are from 0.1 to 2000 N·m",
        ),
        (
            vec!["torque", "M12", "--value", "45-20000"],
            2,
            "those are from 0.1 to 2000 N·m",
        ),
        (
            vec!["torque", "--hex", "17", "--value", "0.05"],
            2,
            "those are from 0.1 to 2000 N·m",
        ),
        (vec!["torque", "M12x1.5", ""], 2, "leave the class out"),
        (vec!["torque", "", "--hex", "17"], 2, "write `M12x1.5 10.9`"),
        (vec!["torque", "M12", "--friction", "4"], 1, "0.04 to 1"),
        (vec!["torque", "M12", "--grade", "7"], 2, "7"),
        (
            vec!["torque", "M12", "--grade", "3", "--core-loss", "100"],
            2,
            "all of it",
        ),
        (vec!["torque", "--hex", "23"], 3, "usual on no thread"),
    ] {
        let out = bench.run(&args);
        assert_eq!(out.status.code(), Some(code), "{args:?}: {}", said(&out));
        assert!(
            said(&out).contains(words) && out.stdout.is_empty(),
            "{args:?}: {}",
            said(&out)
        );
    }
}

#[test]
fn the_manuals_value_is_entered_once_and_wins_in_every_plan() {
    let bench = Bench::with_car();
    let part = "track-rod-end@front-left";
    let blank = bench.text(&["part", "estate", part]);
    assert!(
        blank.contains("ball stud nut") && blank.contains("______ N·m from your manual (guide"),
        "{blank}"
    );
    let out = bench.run(&[
        "part",
        "estate",
        part,
        "--torque",
        "Ball stud=60 N·m + 90°",
        "--source",
        "manual, chapter 7",
    ]);
    assert!(out.status.success() && said(&out).is_empty(), "{}", said(&out));
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(
        text.contains("60 N·m + 90°, your manual's (manual, chapter 7)"),
        "{text}"
    );
    let other = bench.text(&["part", "estate", "track-rod-end@front-right"]);
    assert!(
        other.contains("60 N·m + 90°, your manual's"),
        "the other side has it too: {other}"
    );
    let one = bench.text(&[
        "part",
        "estate",
        part,
        "--torque",
        "ball stud nut=40",
        "--this-side-only",
    ]);
    assert!(one.contains("40 N·m, your manual's"), "{one}");
    assert!(bench.text(&["part", "estate"]).contains("ball stud nut 60 N·m + 90°"));

    let path = bench.filled("sheet.csv", |part, check, kind| match (part, check) {
        ("track-rod-end@front-left", "boot") => "5",
        _ if kind.starts_with("grade") => "1",
        _ => "",
    });
    bench.text(&["enter", "estate", path.to_str().unwrap()]);
    let plan = bench.text(&["plan", "estate"]);
    let flat = plan.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains("ball stud nut, M12x1.25") && flat.contains("40 N·m, your manual's"),
        "{plan}"
    );
    assert!(
        flat.contains("______ N·m from your manual (guide"),
        "the lock nut's blank: {plan}"
    );
    let json = bench.json(&["plan", "estate", "--json"]);
    let visits = json["visits"].as_array().unwrap();
    let all: Vec<&serde_json::Value> = visits
        .iter()
        .flat_map(|v| v["tightening"].as_array().unwrap())
        .collect();
    let nut = all
        .iter()
        .find(|t| t["name"] == "ball stud nut" && t["part"] == part)
        .unwrap();
    assert_eq!(
        (&nut["manual_newton_metres"], &nut["manual"]["torque"]["value"]),
        (&40.0.into(), &40.0.into())
    );
    assert!(nut["guide"].as_f64().is_some() && nut["words"].as_str().unwrap().contains("your manual's"));
    assert!(
        all.iter()
            .any(|t| t["manual"].is_null() && t["words"].as_str().unwrap().contains("______"))
    );
    let csv = bench.text(&["plan", "estate", "--csv"]);
    assert!(
        csv.contains("ball stud nut: 40 N·m, manual") && csv.contains("not the maker's"),
        "{csv}"
    );

    let gone = bench.text(&["part", "estate", part, "--no-torque", "ball stud nut"]);
    assert!(!gone.contains("your manual's"), "{gone}");
    assert!(
        !bench.text(&["part", "estate"]).contains("ball stud nut 60"),
        "on both sides"
    );
    let out = bench.run(&["part", "estate", part, "--no-torque", "ball stud nut"]);
    assert_eq!(out.status.code(), Some(3), "{}", said(&out));
}

#[test]
fn an_odd_value_is_warned_about_and_kept_and_an_unknown_fixing_refused() {
    let bench = Bench::with_car();
    let part = "track-rod-end@front-left";
    let out = bench.run(&["part", "estate", part, "--torque", "ball stud nut=600"]);
    assert!(out.status.success());
    assert!(
        said(&out).contains("careful: ball stud nut: 600 N·m is") && said(&out).contains("Kept as typed"),
        "{}",
        said(&out)
    );
    let json = bench.json(&["part", "estate", part, "--json"]);
    assert_eq!(json["note"]["torques"][0]["torque"]["value"], 600.0);
    for (args, words) in [
        (vec!["--torque", "wing nut=40"], "has no fixing `wing nut`"),
        (vec!["--torque", "nut=40"], "the fixings are"),
        (vec!["--torque", "ball stud nut"], "needs a name, =, and a value"),
        (vec!["--torque", "ball stud nut=40 bar"], "no unit of torque"),
        (vec!["--source", "manual"], "give one with it"),
    ] {
        let args: Vec<&str> = ["part", "estate", part].into_iter().chain(args).collect();
        let out = bench.run(&args);
        assert!(
            !out.status.success() && said(&out).contains(words),
            "{args:?}: {}",
            said(&out)
        );
    }
    assert_eq!(
        bench.json(&["part", "estate", part, "--json"]),
        json,
        "nothing was changed"
    );
}
