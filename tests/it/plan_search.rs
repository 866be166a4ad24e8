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
            with: None,
        });
    let pair = |pair: &Value| (pair[0].as_u64().unwrap() as usize, pair[1].as_u64().unwrap() as usize);
    let problem = Problem {
        visit_hours: vec![given["visit_hours"].as_f64().unwrap(); given["visits"].as_u64().unwrap() as usize],
        setups: access.values().map(|hours| hours.as_f64().unwrap()).collect(),
        jobs: jobs.collect(),
        before: given["before"].as_array().unwrap().iter().map(pair).collect(),
        ..Problem::default()
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
pub fn keeps_the_rules(problem: &Problem, schedule: &Schedule) -> Result<(), String> {
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
    if visit == problem.visit_hours.len() {
        if running.is_none() {
            all.push(ends);
        }
        return;
    }
    let here: Vec<usize> = (0..begins.len()).filter(|&job| begins[job] == Some(visit)).collect();
    let mut hands = here
        .iter()
        .copied()
        .chain(running.map(|(job, _)| job))
        .map(|job| problem.jobs[job].with);
    let first = hands.next().flatten();
    if !hands.all(|other| other == first) {
        return;
    }
    let hours = match first {
        None => problem.visit_hours[visit],
        Some(_) => problem.booking_hours[visit],
    };
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
        for &setup in set_ups(&problem.jobs[job]) {
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
        let alone: f64 = set_ups(job).iter().map(|&setup| problem.setups[setup]).sum();
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

fn set_ups(job: &Job) -> &[usize] {
    if job.with.is_none() { &job.setups } else { &[] }
}

/// The least exposure of all ways to give each job a visit to begin in, or none.
pub fn by_trying_everything(problem: &Problem) -> f64 {
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
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, limit: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % limit
    }
    pub fn tenths(&mut self, from: usize, to: usize) -> f64 {
        (from + self.below(to - from)) as f64 / 10.0
    }
}

pub fn random(dice: &mut Dice) -> Problem {
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
            with: None,
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
        booking_hours: Vec::new(),
    }
}

#[test]
fn nothing_better_is_found_by_trying_everything() {
    let mut dice = Dice(20_261_124);
    let (mut run_on, mut left_out) = (0, 0);
    for number in 0..1000 {
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

/// Jobs of whole hours in visits of one hour, so that the visit's number is the hour of completion: a job carries its weight
/// for each hour until it is done.
fn by_the_hour(jobs: &[(f64, usize)], before: &[(usize, usize)]) -> Problem {
    let hours: usize = jobs.iter().map(|&(_, hours)| hours).sum();
    let job = |&(weight, length): &(f64, usize)| Job {
        hours: length as f64,
        setups: Vec::new(),
        exposure: (1..=hours).map(|done| weight * done as f64).collect(),
        earliest: 0,
        cost: 0.0,
        pinned: None,
        with: None,
    };
    Problem {
        visit_hours: vec![1.0; hours],
        jobs: jobs.iter().map(job).collect(),
        before: before.to_vec(),
        ..Problem::default()
    }
}

/// The jobs, numbered from 1, in the order in which they are completed.
fn order(schedule: &Schedule) -> Vec<usize> {
    let mut jobs: Vec<usize> = (1..=schedule.visit.len()).collect();
    jobs.sort_by_key(|&job| schedule.visit[job - 1]);
    jobs
}

/// Smith's rule (1956), weight over hours, largest first; example of public lecture notes on Pinedo, Scheduling, section 3.1:
/// order 2 1 3 4, cost 333.
#[test]
fn without_set_ups_the_order_is_smiths() {
    let problem = by_the_hour(&[(6.0, 3), (11.0, 5), (9.0, 7), (5.0, 4)], &[]);
    for found in [exact(&problem).unwrap(), search(&problem, 7)] {
        assert_eq!(order(&found), [2, 1, 3, 4]);
        assert_eq!(found.exposure, 333.0);
    }
}

/// Chains 1-2-3-4 and 5-6-7 (Pinedo, lemma 3.1.3 and algorithm 3.1.4, same notes): published order 1 2 5 6 3 7 4, cost 1967;
/// 1942 without the chains.
#[test]
fn chains_are_kept_and_their_best_beginnings_done_first() {
    let jobs = [
        (6.0, 3),
        (18.0, 6),
        (12.0, 6),
        (8.0, 5),
        (8.0, 4),
        (17.0, 8),
        (18.0, 10),
    ];
    let chains = [(0, 1), (1, 2), (2, 3), (4, 5), (5, 6)];
    let found = exact(&by_the_hour(&jobs, &chains)).unwrap();
    assert_eq!((order(&found), found.exposure), (vec![1, 2, 5, 6, 3, 7, 4], 1967.0));
    assert_eq!(exact(&by_the_hour(&jobs, &[])).unwrap().exposure, 1942.0);
}

/// Two networks of pairs worked out by trying every order: 4 1 2 3 5 6 at 234, and 2 1 3 4 at 189.
#[test]
fn networks_of_pairs_are_kept() {
    let six = [(1.0, 2), (9.0, 4), (2.0, 1), (8.0, 3), (3.0, 2), (4.0, 5)];
    let found = search(&by_the_hour(&six, &[(0, 1), (0, 2), (1, 4), (2, 4), (3, 5)]), 1);
    assert_eq!((order(&found), found.exposure), (vec![4, 1, 2, 3, 5, 6], 234.0));
    let four = [(2.0, 4), (3.0, 2), (9.0, 3), (6.0, 6)];
    let found = search(&by_the_hour(&four, &[(0, 2), (1, 2), (1, 3)]), 1);
    assert_eq!((order(&found), found.exposure), (vec![2, 1, 3, 4], 189.0));
}

/// Smith's order again, with more jobs than can be solved exactly.
#[test]
fn a_long_list_without_set_ups_follows_smith_too() {
    let mut dice = Dice(3);
    let jobs: Vec<(f64, usize)> = (0..30)
        .map(|_| ((1 + dice.below(50)) as f64, 1 + dice.below(4)))
        .collect();
    let mut sorted = jobs.clone();
    sorted.sort_by(|a, b| (b.0 / b.1 as f64).total_cmp(&(a.0 / a.1 as f64)));
    let (mut hour, mut best) = (0, 0.0);
    for (weight, hours) in sorted {
        hour += hours;
        best += weight * hour as f64;
    }
    let problem = by_the_hour(&jobs, &[]);
    let found = search(&problem, 5);
    assert!(
        (found.exposure - best).abs() < 1e-9 * best,
        "{} against {best}",
        found.exposure
    );
    assert!(bound(&problem) <= best);
}

#[test]
fn more_hours_never_make_the_best_plan_worse() {
    let mut dice = Dice(99);
    for number in 0..300 {
        let mut problem = random(&mut dice);
        // A job longer than a visit may run on; longer visits take that leave away, so only the others must gain.
        let setups: f64 = problem.setups.iter().sum();
        let longest = problem.jobs.iter().map(|job| job.hours).fold(0.0, f64::max) + setups;
        problem
            .visit_hours
            .iter_mut()
            .for_each(|hours| *hours = hours.max(longest));
        let mut before = exact(&problem).unwrap().exposure;
        for _ in 0..3 {
            let visit = dice.below(problem.visit_hours.len());
            problem.visit_hours[visit] += dice.tenths(1, 30);
            let after = exact(&problem).unwrap().exposure;
            assert!(after <= before + 1e-9, "{number}: {before} became {after} {problem:#?}");
            before = after;
        }
    }
}

#[test]
fn a_search_keeps_every_rule_and_is_never_below_the_bound() {
    let mut dice = Dice(5);
    for number in 0..3 {
        let mut problem = random(&mut dice);
        while problem.jobs.len() < 26 {
            let more = random(&mut dice);
            let visits = problem.visit_hours.len();
            problem.visit_hours.extend(&more.visit_hours);
            problem.jobs.extend(more.jobs.into_iter().map(|mut job| {
                job.pinned = job.pinned.map(|pinned| pinned + visits);
                job
            }));
        }
        let visits = problem.visit_hours.len();
        for job in &mut problem.jobs {
            let mut last = 0.0;
            job.exposure = (0..visits)
                .map(|_| {
                    last += dice.tenths(0, 60);
                    last
                })
                .collect();
        }
        problem.before = (0..8).map(|pair| (pair, pair + 9)).collect();
        problem.money = if number % 2 == 0 {
            (1..=visits).map(|v| 4.0 * v as f64).collect()
        } else {
            Vec::new()
        };
        let found = search(&problem, number);
        assert_eq!(keeps_the_rules(&problem, &found), Ok(()), "{number}");
        assert!(bound(&problem) <= found.exposure + 1e-9);
        assert_eq!(
            search(&problem, number),
            found,
            "the same problem and seed give the same plan"
        );
    }
}

#[test]
fn empty_and_broken_problems_have_clear_answers() {
    let nothing = Problem::default();
    assert_eq!(
        search(&nothing, 1),
        Schedule {
            proven: true,
            ..Schedule::default()
        }
    );
    assert_eq!((bound(&nothing), exact(&nothing).unwrap().exposure), (0.0, 0.0));

    let mut circle = by_the_hour(
        &[(1.0, 1), (2.0, 1), (3.0, 1)],
        &[(0, 1), (1, 2), (2, 0), (1, 1), (7, 0), (0, 9)],
    );
    let found = search(&circle, 1);
    assert_eq!(
        found.visit,
        [Some(0), Some(1), Some(2)],
        "the pair that closes the circle is left out"
    );

    circle.visit_hours.clear();
    let found = search(&circle, 1);
    assert_eq!((found.visit, found.exposure, found.proven), (vec![None; 3], 18.0, true));
    assert_eq!(bound(&circle), 18.0);

    let mut odd = by_the_hour(&[(1.0, 1), (2.0, 1), (3.0, 1), (4.0, 1)], &[(0, 1)]);
    odd.jobs[0].hours = f64::NAN;
    odd.jobs[2].hours = -3.0;
    odd.jobs[2].setups = vec![4, 900];
    odd.jobs[3].pinned = Some(1000);
    odd.visit_hours.push(f64::NAN);
    odd.money = vec![-1.0];
    let found = search(&odd, 1);
    assert_eq!(
        found.visit,
        [None, None, Some(0), None],
        "no hours known, waits for it, free, pinned past the end"
    );
    assert_eq!(found.exposure, 4.0 + 8.0 + 3.0 + 16.0);
    assert!(bound(&odd) <= found.exposure);
}

#[test]
fn more_set_ups_than_can_be_shared_are_counted_to_each_job() {
    let mut problem = by_the_hour(&[(1.0, 1), (1.0, 1)], &[]);
    problem.visit_hours = vec![4.0, 4.0];
    problem.setups = vec![1.0; 130];
    for job in &mut problem.jobs {
        job.setups = vec![0, 129];
    }
    // Sharing both would take 4 h in one visit; 129 unshared makes it 5.
    let found = search(&problem, 1);
    assert_eq!(found.visit.iter().flatten().max(), Some(&1));
    assert!(!found.proven);
}

#[test]
fn a_job_longer_than_a_visit_runs_on_and_leaves_the_rest_of_its_last_one() {
    let job = |hours: f64, setups: &[usize], weight: f64| Job {
        hours,
        setups: setups.to_vec(),
        exposure: (1..=4).map(|visit| weight * f64::from(visit)).collect(),
        earliest: 0,
        cost: 0.0,
        pinned: None,
        with: None,
    };
    // 14 h and 1 h of set-up in visits of 6 h: 5 h, 6 h, 3 h; the 2 h job with the same set-up fits after it.
    let mut problem = Problem {
        visit_hours: vec![6.0; 4],
        setups: vec![1.0],
        jobs: vec![job(14.0, &[0], 100.0), job(2.0, &[0], 1.0), job(2.5, &[0], 0.1)],
        ..Problem::default()
    };
    problem.jobs[1].earliest = 1;
    problem.jobs[2].earliest = 1;
    let found = search(&problem, 1);
    assert_eq!(
        (found.begins, found.visit),
        (vec![Some(0), Some(2), Some(3)], vec![Some(2), Some(2), Some(3)])
    );
    // Left open, the set-up is paid once: 3 h + 2 h leave one hour, still too little for the third.
    problem.stays_open = true;
    assert_eq!(search(&problem, 1).visit, [Some(2), Some(2), Some(3)]);
    problem.jobs[2].hours = 1.0;
    assert_eq!(search(&problem, 1).visit, [Some(2), Some(2), Some(2)]);
}
