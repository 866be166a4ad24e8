//! Our half of `tests/bench/peers.py`: the golden forecasts and plans, each timed as the median of repeated runs on one
//! thread, printed as lines of `kind, name, seconds, value`. With a name as argument only that one, so that the peer can be timed
//! next to it: a machine that others use is not equally fast for minutes.

use std::hint::black_box;
use std::time::Instant;

use serde_json::Value;
use tinworm::engine::decline::{Ask, CarFactor, Filter, Kernels, Observation, Posterior, Prior, Start};
use tinworm::engine::plan::problem::{Job, Problem};
use tinworm::engine::plan::search::search;
use tinworm::rubric::{LetsGo, Quickened};

fn main() {
    let decline: Value = read(include_str!("../golden/decline_cases.json"));
    let kernels = Kernels::new();
    let wanted: Option<String> = std::env::args().skip(1).find(|a| !a.starts_with('-'));
    let skip = |name: &str| wanted.as_ref().is_some_and(|wanted| wanted != name);
    for case in list(&decline["cases"]) {
        let edges: Vec<f64> = list(&decline["bands"]).iter().map(number).collect();
        let edges: [f64; 5] = edges.try_into().unwrap_or_default();
        let name = case["name"].as_str().unwrap_or_default();
        if skip(name) {
            continue;
        }
        let value = answers(case, edges, &kernels);
        println!(
            "forecast;{name};{:.9};{value}",
            median(101, || black_box(answers(case, edges, &kernels)))
        );
    }
    let plans: Value = read(include_str!("../golden/plan_instances.json"));
    for given in list(&plans["instances"]) {
        let name = given["name"].as_str().unwrap_or_default();
        if skip(name) {
            continue;
        }
        let problem = problem(given);
        let found = search(&problem, 1).exposure;
        println!(
            "plan;{name};{:.9};{found}",
            median(5, || black_box(search(&problem, 1).exposure))
        );
    }
}

fn median(runs: usize, mut run: impl FnMut() -> f64) -> f64 {
    let mut times: Vec<f64> = (0..runs)
        .map(|_| {
            let begun = Instant::now();
            run();
            begun.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times.get(runs / 2).copied().unwrap_or_default()
}

fn read(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_default()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_default()
}

/// Everything the golden file asks of a case; the chance to be past the limit after the second stretch stands for all.
fn answers(case: &Value, edges: [f64; 5], kernels: &Kernels) -> f64 {
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
    let start = match start["kind"].as_str() {
        Some("known") => Start::New {
            elapsed: number(&start["tau"]),
        },
        Some("belief") => Start::Belief {
            mean: number(&start["mean"]),
            sd: number(&start["sd"]),
        },
        _ => Start::Unknown,
    };
    let mut filter = Filter::new(&prior, start, kernels);
    let mut clock = 0.0;
    for seen in list(&case["obs"]) {
        filter.advance(number(&seen["tau"]) - clock);
        clock = number(&seen["tau"]);
        let sd = number(&seen["sd"]);
        let seen = if seen["kind"] == "grade" {
            let grade = usize::try_from(seen["grade"].as_u64().unwrap_or_default()).unwrap_or_default();
            Observation::Grade { edges, grade, sd }
        } else {
            Observation::Reading {
                damage: number(&seen["damage"]),
                sd,
            }
        };
        filter.observe(&seen, 0.0);
    }
    filter.advance(number(&case["now"]) - clock);
    let level = LetsGo {
        median: number(&case["fails"]["median"]),
        spread: number(&case["fails"]["sd"]),
    };
    let now: Posterior = filter.posterior(&CarFactor::none(), &[level]);
    let ahead: Vec<f64> = list(&case["ahead"]).iter().map(number).collect();
    let mut sum = now.damage_mean() + now.rate_mean() + now.quickened();
    for p in [0.1, 0.5, 0.9] {
        sum += now.damage(p) + now.rate(p) + now.until(1.0, p).unwrap_or_default();
    }
    let past = ahead.iter().map(|ahead| Ask::Past {
        damage: 1.0,
        ahead: *ahead,
    });
    let fails = ahead.iter().map(|ahead| Ask::Fails { level, ahead: *ahead });
    sum += now.answers(&past.chain(fails).collect::<Vec<_>>()).iter().sum::<f64>();
    black_box(sum);
    ahead.get(1).map_or(0.0, |ahead| now.past(1.0, *ahead))
}

fn problem(given: &Value) -> Problem {
    let access: Vec<(&String, f64)> = given["access"]
        .as_object()
        .into_iter()
        .flatten()
        .map(|(name, hours)| (name, number(hours)))
        .collect();
    let jobs = list(&given["repairs"])
        .iter()
        .zip(list(&given["exposure"]))
        .map(|(repair, exposure)| Job {
            hours: number(&repair["hours"]),
            with: None,
            setups: list(&repair["access"])
                .iter()
                .filter_map(|step| access.iter().position(|(name, _)| Some(name.as_str()) == step.as_str()))
                .collect(),
            exposure: list(exposure).iter().map(number).collect(),
            earliest: 0,
            cost: 0.0,
            pinned: None,
        });
    let index = |value: &Value| usize::try_from(value.as_u64().unwrap_or_default()).unwrap_or_default();
    let visits = index(&given["visits"]);
    Problem {
        visit_hours: vec![number(&given["visit_hours"]); visits],
        setups: access.iter().map(|(_, hours)| *hours).collect(),
        jobs: jobs.collect(),
        before: list(&given["before"])
            .iter()
            .map(|pair| (index(&pair[0]), index(&pair[1])))
            .collect(),
        ..Problem::default()
    }
}
