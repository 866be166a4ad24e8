//! The decline filter against an independent reference: `tests/golden/decline_cases.json`.
#![allow(clippy::unwrap_used, clippy::panic)]

use serde_json::Value;
use tinworm::engine::decline::{CarFactor, Filter, Kernels, Observation, Posterior, Prior, Start};
use tinworm::rubric::{LetsGo, Quickened};

/// Probabilities: within this, or 1 % of their value.
const PROBABILITY: f64 = 0.003;
/// Quantiles of damage: within a cell of the grid, or 1 % of their value.
const CELL: f64 = 0.01;

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn numbers(v: &Value) -> Vec<Option<f64>> {
    v.as_array().unwrap().iter().map(Value::as_f64).collect()
}

struct Misses {
    case: String,
    found: Vec<String>,
    worst: std::collections::BTreeMap<&'static str, (f64, String)>,
}

impl Misses {
    /// Notes how far `got` is from `wanted`, as a share of what is allowed.
    fn near(&mut self, what: &'static str, got: f64, wanted: f64, absolute: f64, relative: f64) {
        let allowed = absolute.max(relative * wanted.abs());
        let used = (got - wanted).abs() / allowed;
        let text = format!(
            "{}: {what} {got:.5} for {wanted:.5} ({used:.2} of what is allowed)",
            self.case
        );
        if used > self.worst.get(what).map_or(-1.0, |w| w.0) {
            self.worst.insert(what, (used, text.clone()));
        }
        if used.is_nan() || used > 1.0 {
            self.found.push(text);
        }
    }
}

fn bands(v: &Value) -> [f64; 5] {
    let edges: Vec<f64> = v.as_array().unwrap().iter().map(number).collect();
    edges.try_into().unwrap()
}

fn posterior(case: &Value, edges: [f64; 5], kernels: &Kernels) -> (Posterior, f64) {
    let pace = &case["pace"];
    let prior = Prior {
        life: number(&case["life"]),
        spread: number(&case["life_sd"]),
        quickened: Quickened {
            share: number(&pace["prob"]),
            times: number(&pace["factor"]),
            spread: number(&pace["sd"]),
        },
        jumpiness: number(&case["kappa"]),
        quickening: 1.0,
    };
    let start = &case["start"];
    let start = match start["kind"].as_str().unwrap() {
        "known" => Start::New {
            elapsed: number(&start["tau"]),
        },
        "unknown" => Start::Unknown,
        _ => Start::Belief {
            mean: number(&start["mean"]),
            sd: number(&start["sd"]),
        },
    };
    let mut filter = Filter::new(&prior, start, kernels);
    let mut clock = 0.0;
    for seen in case["obs"].as_array().unwrap() {
        let tau = number(&seen["tau"]);
        filter.advance(tau - clock);
        clock = tau;
        let sd = number(&seen["sd"]);
        let seen = match seen["kind"].as_str().unwrap() {
            "grade" => Observation::Grade {
                edges,
                grade: seen["grade"].as_u64().unwrap() as usize,
                sd,
            },
            _ => Observation::Reading {
                damage: number(&seen["damage"]),
                sd,
            },
        };
        filter.observe(&seen, 0.0);
    }
    filter.advance(number(&case["now"]) - clock);
    let none = CarFactor::none();
    (filter.posterior(&none, &[level(case)]), filter.log_evidence(&none))
}

fn level(case: &Value) -> LetsGo {
    LetsGo {
        median: number(&case["fails"]["median"]),
        spread: number(&case["fails"]["sd"]),
    }
}

#[test]
fn agrees_with_the_reference_on_every_case() {
    let golden: Value = serde_json::from_str(include_str!("../golden/decline_cases.json")).unwrap();
    let edges = bands(&golden["bands"]);
    let kernels = Kernels::new();
    let cases = golden["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 22);
    let mut misses = Misses {
        case: String::new(),
        found: Vec::new(),
        worst: Default::default(),
    };
    for case in cases {
        misses.case = case["name"].as_str().unwrap().to_owned();
        let expect = &case["expect"];
        let (now, evidence) = posterior(case, edges, &kernels);
        let level = level(case);
        misses.near(
            "quickened",
            now.quickened(),
            number(&expect["quickened"]),
            PROBABILITY,
            0.01,
        );
        misses.near("log_evidence", evidence, number(&expect["log_evidence"]), 0.01, 0.0);
        misses.near(
            "rate_mean",
            now.rate_mean(),
            number(&expect["rate_mean"]),
            PROBABILITY,
            0.01,
        );
        misses.near(
            "damage_mean",
            now.damage_mean(),
            number(&expect["damage_mean"]),
            PROBABILITY,
            0.01,
        );
        misses.near(
            "damage_sd",
            now.damage_sd(),
            number(&expect["damage_sd"]),
            PROBABILITY,
            0.01,
        );
        let points = [0.1, 0.5, 0.9];
        for (p, wanted) in points.iter().zip(numbers(&expect["damage_q10_50_90"])) {
            misses.near("damage points", now.damage(*p), wanted.unwrap(), CELL, 0.01);
        }
        for (p, wanted) in points.iter().zip(numbers(&expect["rate_q10_50_90"])) {
            misses.near("rate points", now.rate(*p), wanted.unwrap(), 0.0, 0.01);
        }
        let ahead: Vec<f64> = case["ahead"].as_array().unwrap().iter().map(number).collect();
        for (i, ahead) in ahead.iter().enumerate() {
            let past = now.past(1.0, *ahead);
            misses.near("over_limit", past, number(&expect["over_limit"][i]), PROBABILITY, 0.01);
            misses.near(
                "fails",
                now.fails(&level, *ahead),
                number(&expect["fails"][i]),
                0.0005,
                0.03,
            );
        }
        for (p, wanted) in points.iter().zip(numbers(&expect["until_limit_q10_50_90"])) {
            match (now.until(1.0, *p), wanted) {
                (Some(got), Some(wanted)) => misses.near("until_limit", got, wanted, CELL, 0.01),
                (None, None) => {}
                (got, wanted) => misses
                    .found
                    .push(format!("{}: until {got:?} for {wanted:?}", misses.case)),
            }
        }
    }
    for (_, text) in misses.worst.values() {
        println!("{text}");
    }
    assert!(misses.found.is_empty(), "{}", misses.found.join("\n"));
}
