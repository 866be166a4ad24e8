//! How long planning takes: `cargo bench --bench plan`.

use divan::{Bencher, black_box};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use tinworm::engine::plan::bound::bound;
use tinworm::engine::plan::problem::{Job, Problem};
use tinworm::engine::plan::search::search;

fn main() {
    divan::main();
}

/// A car with four corners: each repair needs its axle on stands and its wheel off, some toe set or brakes bled.
fn car(jobs: usize) -> Problem {
    let mut dice = Pcg64Mcg::seed_from_u64(jobs as u64);
    let visits = jobs / 2 + 2;
    let jobs: Vec<Job> = (0..jobs)
        .map(|_| {
            let corner = dice.random_range(0..4);
            let mut setups = vec![corner / 2, 2 + corner];
            if dice.random::<f64>() < 0.5 {
                setups.push(dice.random_range(6..9));
            }
            let weight = [1000.0, 100.0, 100.0, 10.0, 10.0, 1.0][dice.random_range(0..6)];
            let speed = dice.random_range(0.005..0.05);
            Job {
                with: None,
                hours: dice.random_range(0.2..3.0),
                setups,
                exposure: (1..=visits)
                    .map(|visit| weight * (1.0 - (-speed * visit as f64).exp()))
                    .collect(),
                earliest: 0,
                cost: 0.0,
                pinned: None,
            }
        })
        .collect();
    let before = (0..jobs.len() / 4).map(|pair| (pair, jobs.len() - 1 - pair)).collect();
    Problem {
        visit_hours: vec![5.0; visits],
        setups: vec![0.5, 0.5, 0.25, 0.25, 0.25, 0.25, 1.0, 0.7, 0.6],
        jobs,
        before,
        ..Problem::default()
    }
}

#[divan::bench(args = [8, 12, 24, 40], sample_count = 10, sample_size = 1)]
fn search_for_a_plan(bencher: Bencher, jobs: usize) {
    let problem = car(jobs);
    bencher.bench_local(|| search(black_box(&problem), 1));
}

#[divan::bench(args = [8, 12, 24, 40], sample_count = 10, sample_size = 1)]
fn bound_of_all_plans(bencher: Bencher, jobs: usize) {
    let problem = car(jobs);
    bencher.bench_local(|| bound(black_box(&problem)));
}

/// The hard case for the exact programme: many ways to fill each visit.
#[divan::bench(args = [12, 16, 20, 24], sample_count = 5, sample_size = 1)]
fn small_jobs_in_long_visits(bencher: Bencher, jobs: usize) {
    let mut problem = car(jobs);
    problem.visit_hours = vec![9.0; problem.visit_hours.len()];
    problem.jobs.iter_mut().for_each(|job| job.hours /= 2.0);
    bencher.bench_local(|| search(black_box(&problem), 1));
}
