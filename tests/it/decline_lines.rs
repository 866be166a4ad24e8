//! Straight lines (κ = 0) against quadrature: `tests/golden/path_posterior.json`.
#![allow(clippy::unwrap_used, clippy::panic)]

use serde_json::Value;
use tinworm::engine::decline::{CarFactor, Filter, Kernels, Observation, Prior, Start};
use tinworm::rubric::Quickened;

const EDGES: [f64; 5] = [0.1, 0.3, 0.5, 0.7, 0.9];

fn at<'a>(v: &'a Value, path: &str) -> &'a Value {
    path.split('.').fold(v, |v, name| &v[name])
}

fn number(v: &Value, path: &str) -> f64 {
    at(v, path).as_f64().unwrap()
}

#[test]
fn straight_lines_agree_with_quadrature() {
    let golden: Value = serde_json::from_str(include_str!("../golden/path_posterior.json")).unwrap();
    let kernels = Kernels::new();
    let mut misses = Vec::new();
    let mut worst = (0.0, String::new());
    let cases = golden["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 12);
    for case in cases {
        let prior = Prior {
            life: (-number(case, "prior.rate.mu")).exp(),
            spread: number(case, "prior.rate.s"),
            quickened: Quickened {
                share: 0.0,
                times: 1.0,
                spread: 1.0,
            },
            jumpiness: 0.0,
            quickening: 1.0,
        };
        let start = Start::Belief {
            mean: number(case, "prior.x0.mean"),
            sd: number(case, "prior.x0.sd"),
        };
        let mut filter = Filter::new(&prior, start, &kernels);
        let mut clock = 0.0;
        for seen in case["observations"].as_array().unwrap() {
            let tau = number(seen, "tau");
            filter.advance(tau - clock);
            clock = tau;
            let sd = number(seen, "sigma");
            let seen = match seen["kind"].as_str().unwrap() {
                "grade" => Observation::Grade {
                    edges: EDGES,
                    grade: seen["grade"].as_u64().unwrap() as usize,
                    sd,
                },
                _ => Observation::Reading {
                    damage: number(seen, "value"),
                    sd,
                },
            };
            filter.observe(&seen, 0.0);
        }
        let none = CarFactor::none();
        let now = filter.posterior(&none, &[]);
        let expected = &case["expected"];
        // `allowed` in the value's own size, and a floor for what is nearly nothing.
        let mut near = |what: &str, got: f64, wanted: f64, relative: f64, floor: f64| {
            let used = (got - wanted).abs() / (relative * wanted.abs()).max(floor);
            let text = format!(
                "{} {what}: {got:.6} for {wanted:.6} ({used:.2} of what is allowed)",
                case["id"]
            );
            if used > worst.0 {
                worst = (used, text.clone());
            }
            if used.is_nan() || used > 1.0 {
                misses.push(text);
            }
        };
        near(
            "evidence",
            filter.log_evidence(&none),
            number(expected, "log_evidence"),
            0.0,
            0.01,
        );
        near("rate", now.rate_mean(), number(expected, "R.mean"), 0.01, 0.0);
        for (name, p) in [("q05", 0.05), ("q50", 0.5), ("q95", 0.95)] {
            near(name, now.rate(p), number(&expected["R"], name), 0.01, 0.0);
            let from_start = number(&expected["first_tau"], name);
            if from_start > clock {
                let until = now.until(1.0, p).map_or(f64::NAN, |u| u + clock);
                near("limit", until, from_start, 0.01, 0.0);
            }
        }
        near("damage", now.damage_mean(), number(expected, "X_last.mean"), 0.01, 0.0);
        near("sd", now.damage_sd(), number(expected, "X_last.sd"), 0.01, 0.0);
        for chance in expected["p_exceed"].as_array().unwrap() {
            let ahead = number(chance, "tau") - clock;
            near("past", now.past(1.0, ahead), number(chance, "p"), 0.01, 0.003);
        }
    }
    println!("{}", worst.1);
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}
