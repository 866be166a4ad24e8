//! The bare scheduling problem: against known optima, against trying everything, and against rules that must hold.

#![allow(clippy::unwrap_used, clippy::panic)]

use serde_json::Value;
use tinworm::engine::plan::bound::bound;
use tinworm::engine::plan::exact::exact;
use tinworm::engine::plan::problem::{Job, Problem, Schedule};
use tinworm::engine::plan::search::search;

/// tests/golden/plan_instances.json: made with numpy, optima by CP-SAT (OR-Tools) with its proven bound.
fn golden() -> Vec<(String, Problem, f64)> {
    let file: Value = serde_json::from_str(include_str!("../golden/plan_instances.json")).unwrap();
    file["instances"].as_array().unwrap().iter().map(instance).collect()
}

fn instance(given: &Value) -> (String, Problem, f64) {
    assert_eq!(given["proved"], true);
    let access = given["access"].as_object().unwrap();
    let names: Vec<&String> = access.keys().collect();
    let numbers = |list: &Value| {
        list.as_array()
            .unwrap()
            .iter()
            .map(|n| n.as_f64().unwrap())
            .collect::<Vec<f64>>()
    };
    let repairs = given["repairs"].as_array().unwrap();
    let jobs = repairs
        .iter()
        .zip(given["exposure"].as_array().unwrap())
        .map(|(repair, exposure)| Job {
            hours: repair["hours"].as_f64().unwrap(),
            setups: repair["access"]
                .as_array()
                .unwrap()
                .iter()
                .map(|step| names.iter().position(|name| name.as_str() == step).unwrap())
                .collect(),
            exposure: numbers(exposure),
            earliest: 0,
            cost: 0.0,
            pinned: None,
        });
    let pair = |pair: &Value| (pair[0].as_u64().unwrap() as usize, pair[1].as_u64().unwrap() as usize);
    let problem = Problem {
        visit_hours: vec![given["visit_hours"].as_f64().unwrap(); given["visits"].as_u64().unwrap() as usize],
        setups: access.values().map(|hours| hours.as_f64().unwrap()).collect(),
        jobs: jobs.collect(),
        before: given["before"].as_array().unwrap().iter().map(pair).collect(),
        money: Vec::new(),
        stays_open: false,
    };
    (
        given["name"].as_str().unwrap().to_owned(),
        problem,
        given["best"].as_f64().unwrap(),
    )
}

#[test]
fn known_optima_are_met() {
    for (name, problem, best) in golden() {
        let started = std::time::Instant::now();
        let found = search(&problem, 1);
        let took = started.elapsed();
        let least = bound(&problem);
        let gap = found.exposure / best - 1.0;
        println!(
            "{name:14} best {best:9.4} found {:9.4} gap {:+.5} % bound {least:9.4} ({:.2} % below) proven {} {took:.2?}",
            found.exposure,
            100.0 * gap,
            100.0 * (1.0 - least / best),
            found.proven
        );
        let allowed = match problem.jobs.len() {
            0..=16 => 1e-9,
            17..=24 => 0.001,
            _ => 0.01,
        };
        assert!(
            gap <= allowed && gap >= -1e-9,
            "{name}: {} against {best}",
            found.exposure
        );
        assert!(least <= best + 1e-9, "{name}: bound {least} above {best}");
        assert!(!found.proven || gap <= 1e-9, "{name} is called proven");
        assert_eq!(keeps_the_rules(&problem, &found), Ok(()), "{name}");
        if problem.jobs.len() <= 12 {
            let exact = exact(&problem).unwrap();
            assert!(exact.proven && (exact.exposure / best - 1.0).abs() <= 1e-9, "{name}");
        }
    }
}

/// Checks a schedule against the written rules, from its visits alone.
fn keeps_the_rules(problem: &Problem, schedule: &Schedule) -> Result<(), String> {
    let total: f64 = problem
        .jobs
        .iter()
        .zip(&schedule.visit)
        .map(|(job, visit)| carried(job, *visit))
        .sum();
    if (total - schedule.exposure).abs() > 1e-6 * total.abs().max(1.0) {
        return Err(format!("says {} but carries {total}", schedule.exposure));
    }
    let may_end = completions(problem, &schedule.begins);
    if may_end.contains(&schedule.visit) {
        return Ok(());
    }
    Err(format!(
        "begun at {:?}, ended at {:?}, but only {may_end:?} keep the rules",
        schedule.begins, schedule.visit
    ))
}

fn carried(job: &Job, visit: Option<usize>) -> f64 {
    visit
        .or(job.exposure.len().checked_sub(1))
        .map_or(0.0, |at| job.exposure[at])
}

/// All ways in which jobs begun in the given visits may be completed; none if a rule is broken. There are several when more
/// than one of a visit's jobs could be the one that runs on. Written from the rules, with nothing shared with the solvers.
fn completions(problem: &Problem, begins: &[Option<usize>]) -> Vec<Vec<Option<usize>>> {
    for (job, begin) in begins.iter().enumerate() {
        let given = &problem.jobs[job];
        if begin.is_some_and(|begin| begin < given.earliest || given.pinned.is_some_and(|pinned| pinned != begin)) {
            return Vec::new();
        }
    }
    for visit in 0..problem.visit_hours.len().min(problem.money.len()) {
        let done = (0..begins.len()).filter(|&job| begins[job].is_some_and(|begin| begin <= visit));
        if done.map(|job| problem.jobs[job].cost).sum::<f64>() > problem.money[visit] + 1e-6 {
            return Vec::new();
        }
    }
    let mut all = Vec::new();
    let closed = vec![false; problem.setups.len()];
    go_through(problem, begins, 0, begins.to_vec(), None, closed, &mut all);
    all.retain(|ends| {
        let in_order = |&(first, second): &(usize, usize)| {
            begins[second].is_none_or(|begin: usize| ends[first].is_some_and(|end: usize| end <= begin))
        };
        problem.before.iter().all(in_order)
    });
    all
}

/// Visit by visit; `running` is the job under way and its hours to go.
fn go_through(
    problem: &Problem,
    begins: &[Option<usize>],
    visit: usize,
    mut ends: Vec<Option<usize>>,
    running: Option<(usize, f64)>,
    ever_open: Vec<bool>,
    all: &mut Vec<Vec<Option<usize>>>,
) {
    let Some(&hours) = problem.visit_hours.get(visit) else {
        if running.is_none() {
            all.push(ends);
        }
        return;
    };
    let here: Vec<usize> = (0..begins.len()).filter(|&job| begins[job] == Some(visit)).collect();
    let mut used = 0.0;
    if let Some((job, left)) = running {
        if left > hours + 1e-6 {
            if here.is_empty() {
                go_through(
                    problem,
                    begins,
                    visit + 1,
                    ends,
                    Some((job, left - hours)),
                    ever_open,
                    all,
                );
            }
            return;
        }
        ends[job] = Some(visit);
        used = left;
    }
    let mut open = if problem.stays_open {
        ever_open
    } else {
        vec![false; problem.setups.len()]
    };
    for &job in &here {
        used += problem.jobs[job].hours;
        for &setup in &problem.jobs[job].setups {
            if !std::mem::replace(&mut open[setup], true) {
                used += problem.setups[setup];
            }
        }
    }
    let over = used - hours;
    if over <= 1e-6 {
        go_through(problem, begins, visit + 1, ends, None, open, all);
        return;
    }
    for &long in &here {
        // It must be longer than the visit; what is over is its own, and some of it is done here.
        let job = &problem.jobs[long];
        let alone: f64 = job.setups.iter().map(|&setup| problem.setups[setup]).sum();
        if alone + job.hours > hours + 1e-6 && over < job.hours - 1e-6 {
            go_through(
                problem,
                begins,
                visit + 1,
                ends.clone(),
                Some((long, over)),
                open.clone(),
                all,
            );
        }
    }
}

/// The least exposure of all ways to give each job a visit to begin in, or none.
fn by_trying_everything(problem: &Problem) -> f64 {
    let (jobs, choices) = (problem.jobs.len(), problem.visit_hours.len() + 1);
    let mut best = f64::INFINITY;
    let mut begins = vec![None; jobs];
    for number in 0..choices.pow(jobs as u32) {
        let mut rest = number;
        for begin in &mut begins {
            *begin = (rest % choices).checked_sub(1);
            rest /= choices;
        }
        for ends in completions(problem, &begins) {
            best = best.min(problem.jobs.iter().zip(ends).map(|(job, end)| carried(job, end)).sum());
        }
    }
    best
}

/// A small number from a fixed sequence (a linear congruence with Knuth's MMIX constants).
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % limit
    }
    fn tenths(&mut self, from: usize, to: usize) -> f64 {
        (from + self.below(to - from)) as f64 / 10.0
    }
}

fn random(dice: &mut Dice) -> Problem {
    let (jobs, visits) = (2 + dice.below(4), 2 + dice.below(3));
    let setups: Vec<f64> = (0..3).map(|_| dice.tenths(0, 15)).collect();
    let longest = if dice.below(2) == 0 { 30 } else { 110 };
    let one = |dice: &mut Dice| {
        let mut sum = 0.0;
        Job {
            hours: dice.tenths(1, longest),
            setups: (0..3).filter(|_| dice.below(2) == 0).collect(),
            exposure: (0..visits)
                .map(|_| {
                    sum += dice.tenths(0, 60);
                    sum
                })
                .collect(),
            earliest: if dice.below(4) == 0 { dice.below(visits + 1) } else { 0 },
            cost: dice.tenths(0, 40),
            pinned: (dice.below(6) == 0).then(|| dice.below(visits)),
        }
    };
    let listed: Vec<Job> = (0..jobs).map(|_| one(dice)).collect();
    let mut before = Vec::new();
    for _ in 0..dice.below(3) {
        let (first, second) = (dice.below(jobs), dice.below(jobs));
        if first < second {
            before.push((first, second));
        }
    }
    let mut saved = 0.0;
    let money = (0..visits)
        .map(|_| {
            saved += dice.tenths(0, 60);
            saved
        })
        .collect();
    Problem {
        visit_hours: (0..visits).map(|_| dice.tenths(20, 60)).collect(),
        setups,
        jobs: listed,
        before,
        money: if dice.below(3) == 0 { money } else { Vec::new() },
        stays_open: dice.below(2) == 0,
    }
}

#[test]
fn nothing_better_is_found_by_trying_everything() {
    let mut dice = Dice(20_261_124);
    let (mut run_on, mut left_out) = (0, 0);
    for number in 0..1500 {
        let problem = random(&mut dice);
        let best = by_trying_everything(&problem);
        let found = exact(&problem).unwrap();
        assert_eq!(keeps_the_rules(&problem, &found), Ok(()), "{number}: {problem:#?}");
        assert!(
            (found.exposure - best).abs() < 1e-6,
            "{number}: {} against {best} {problem:#?}",
            found.exposure
        );
        let least = bound(&problem);
        assert!(
            least <= best + 1e-9,
            "{number}: bound {least} above {best}: {problem:#?}"
        );
        run_on += usize::from(found.visit != found.begins);
        left_out += usize::from(found.visit.contains(&None));
    }
    assert!(
        run_on > 100 && left_out > 100,
        "too few odd cases: {run_on} run on, {left_out} with jobs left out"
    );
}
