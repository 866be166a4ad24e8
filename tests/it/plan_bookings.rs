//! Bookings with a trade in the bare scheduling problem: against trying everything, and against rules that must hold.

#![allow(clippy::unwrap_used)]

use tinworm::engine::plan::bound::bound;
use tinworm::engine::plan::exact::exact;
use tinworm::engine::plan::problem::{Job, Problem};
use tinworm::engine::plan::search::search;

use super::plan_search::{Dice, by_trying_everything, keeps_the_rules, random};

/// A random problem some jobs of which are booked with one of two trades.
fn with_trades(dice: &mut Dice) -> Problem {
    let mut problem = random(dice);
    let longest = if dice.below(2) == 0 { 120 } else { 250 };
    for job in &mut problem.jobs {
        job.with = [None, Some(3), Some(8)][dice.below(3)];
        if job.with.is_some() {
            job.hours = dice.tenths(0, longest);
        }
    }
    problem.booking_hours = (0..problem.visit_hours.len()).map(|_| dice.tenths(0, 170)).collect();
    problem
}

#[test]
fn nothing_better_is_found_by_trying_everything() {
    let mut dice = Dice(1842);
    let (mut run_on, mut shared, mut mixed, mut tight) = (0, 0, 0, 0);
    for number in 0..1200 {
        let problem = with_trades(&mut dice);
        let best = by_trying_everything(&problem);
        let found = exact(&problem).unwrap();
        assert_eq!(keeps_the_rules(&problem, &found), Ok(()), "{number}: {problem:#?}");
        assert!(
            found.proven && (found.exposure - best).abs() < 1e-6,
            "{number}: {} against {best} {problem:#?}",
            found.exposure
        );
        let least = bound(&problem);
        assert!(
            least <= best + 1e-9,
            "{number}: bound {least} above {best}: {problem:#?}"
        );
        assert!((search(&problem, number).exposure - best).abs() < 1e-6, "{number}");
        let booked = |job: usize| problem.jobs[job].with.is_some();
        let pairs = || (0..problem.jobs.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
        run_on += usize::from((0..problem.jobs.len()).any(|job| booked(job) && found.visit[job] != found.begins[job]));
        shared += usize::from(
            pairs().any(|(a, b)| booked(a) && found.begins[a].is_some() && found.begins[a] == found.begins[b]),
        );
        mixed += usize::from(pairs().any(|(a, b)| booked(a) && !booked(b)));
        tight += usize::from(least > 0.95 * best);
    }
    assert!(
        run_on > 100 && shared > 100 && mixed > 400,
        "too few odd cases: {run_on} run on, {shared} shared, {mixed} mixed"
    );
    println!("{run_on} run on, {shared} shared, {mixed} mixed, bound within 5 % in {tight}");
}

/// Two long jobs in different hands and two or three short ones: a visit that a long job ends in is in its hands, and what is
/// left of it is worth something to some jobs only.
#[test]
fn long_jobs_in_different_hands_leave_the_rest_of_their_last_visit_to_their_own() {
    let mut dice = Dice(6);
    let mut followed = 0;
    for number in 0..500 {
        let visits = 6;
        let jobs = 4 + dice.below(2);
        let listed = (0..jobs).map(|n| {
            let with = [None, Some(0)][if n < 2 { n } else { dice.below(2) }];
            let steps: Vec<f64> = (0..visits).map(|_| dice.tenths(0, 60)).collect();
            let hours = match (n < 2, with.is_some()) {
                (true, false) => dice.tenths(25, 80),
                (true, true) => dice.tenths(85, 200),
                (false, false) => dice.tenths(3, 20),
                (false, true) => dice.tenths(5, 70),
            };
            Job {
                setups: Vec::new(),
                exposure: (1..=visits).map(|to| steps[..to].iter().sum()).collect(),
                earliest: if dice.below(3) == 0 { dice.below(4) } else { 0 },
                ..job(hours, with, 0.0)
            }
        });
        let problem = Problem {
            jobs: listed.collect(),
            visit_hours: (0..visits).map(|_| dice.tenths(15, 40)).collect(),
            booking_hours: (0..visits).map(|_| dice.tenths(40, 120)).collect(),
            ..Problem::default()
        };
        let best = by_trying_everything(&problem);
        let found = exact(&problem).unwrap();
        assert_eq!(keeps_the_rules(&problem, &found), Ok(()), "{number}: {problem:#?}");
        assert!(
            (found.exposure - best).abs() < 1e-6,
            "{number}: {} against {best} {problem:#?}",
            found.exposure
        );
        assert!(bound(&problem) <= best + 1e-9, "{number}");
        let ends = |long: usize| found.visit[long].filter(|_| found.begins[long] != found.visit[long]);
        followed += usize::from((0..2).any(|long| ends(long).is_some() && found.begins[2..].contains(&ends(long))));
    }
    assert!(followed > 50, "too few that use the rest: {followed}");
}

#[test]
fn a_search_keeps_visits_in_one_pair_of_hands() {
    let mut dice = Dice(77);
    for number in 0..3 {
        let visits = 30;
        let jobs = (0..30).map(|_| {
            let with = [None, None, Some(0), Some(1)][dice.below(4)];
            let mut sum = 0.0;
            Job {
                hours: dice.tenths(5, if with.is_some() { 300 } else { 50 }),
                with,
                setups: (0..4).filter(|_| dice.below(2) == 0).collect(),
                exposure: (0..visits)
                    .map(|_| {
                        sum += dice.tenths(0, 60);
                        sum
                    })
                    .collect(),
                earliest: if with.is_some() { dice.below(6) } else { 0 },
                cost: dice.tenths(0, 400),
                pinned: (dice.below(12) == 0).then(|| 6 + dice.below(visits - 6)),
            }
        });
        let problem = Problem {
            jobs: jobs.collect(),
            visit_hours: vec![6.0; visits],
            booking_hours: vec![40.0; visits],
            setups: vec![0.5, 0.3, 1.0, 0.7],
            before: (0..8).map(|pair| (pair, pair + 9)).collect(),
            money: if number == 1 {
                (1..=visits).map(|v| 60.0 * v as f64).collect()
            } else {
                Vec::new()
            },
            stays_open: number == 2,
        };
        let found = search(&problem, number);
        assert_eq!(keeps_the_rules(&problem, &found), Ok(()), "{number}");
        let least = bound(&problem);
        assert!(least <= found.exposure + 1e-9);
        println!("{number}: {} bound {least}", found.exposure);
    }
}

fn job(hours: f64, with: Option<usize>, weight: f64) -> Job {
    Job {
        hours,
        with,
        setups: vec![0],
        exposure: (1..=5).map(|visit| weight * f64::from(visit)).collect(),
        earliest: 0,
        cost: 0.0,
        pinned: None,
    }
}

#[test]
fn a_booking_takes_its_visit_and_none_of_the_owners_hours() {
    let mut problem = Problem {
        visit_hours: vec![4.0; 5],
        booking_hours: vec![40.0; 5],
        setups: vec![1.0],
        jobs: vec![job(3.0, None, 5.0), job(3.0, None, 4.0), job(30.0, Some(1), 3.0)],
        ..Problem::default()
    };
    assert_eq!(search(&problem, 1).visit, [Some(0), Some(1), Some(2)]);
    // Two jobs of one trade share a booking; together they are worth more than either of the owner's.
    problem.jobs.push(job(10.0, Some(1), 3.0));
    assert_eq!(search(&problem, 1).visit, [Some(1), Some(2), Some(0), Some(0)]);
    // With another trade they do not.
    problem.jobs[3].with = Some(2);
    assert_eq!(search(&problem, 1).visit, [Some(0), Some(1), Some(2), Some(3)]);
    // More than a booking holds runs on, and the owner waits for the car.
    problem.jobs.truncate(3);
    problem.jobs[2] = job(90.0, Some(1), 9.0);
    let found = search(&problem, 1);
    assert_eq!(
        (found.begins[2], &found.visit[..]),
        (Some(2), &[Some(0), Some(1), Some(4)][..])
    );
}

/// Every job fills its visit, so that it is Smith's order, the largest weight first, whoever does it; more jobs than are
/// solved exactly.
#[test]
fn a_long_list_in_many_hands_follows_smith() {
    let mut dice = Dice(12);
    let visits = 30;
    let jobs: Vec<Job> = (0..visits)
        .map(|_| {
            let with = [None, Some(0), Some(1)][dice.below(3)];
            let hours = if with.is_some() { 25.0 } else { 4.0 };
            let weight = dice.tenths(1, 400);
            Job {
                exposure: (1..=visits).map(|visit| weight * visit as f64).collect(),
                ..job(hours, with, weight)
            }
        })
        .collect();
    let mut weights: Vec<f64> = jobs.iter().map(|job| job.exposure[0]).collect();
    weights.sort_by(|a, b| b.total_cmp(a));
    let best: f64 = weights.iter().zip(1..).map(|(weight, at)| weight * f64::from(at)).sum();
    let problem = Problem {
        jobs,
        visit_hours: vec![6.0; visits],
        booking_hours: vec![40.0; visits],
        setups: vec![0.5],
        ..Problem::default()
    };
    let found = search(&problem, 3);
    assert!(
        (found.exposure - best).abs() < 1e-9 * best,
        "{} against {best}",
        found.exposure
    );
    assert!(bound(&problem) <= best + 1e-9 * best);
}
