//! How long one check takes: filter with three looks, then what a report, a chart and a plan ask of it.

use std::hint::black_box;

use divan::Bencher;
use tinworm::engine::decline::{Ask, CarFactor, Filter, Kernels, Observation, Posterior, Prior, Start};
use tinworm::rubric::{LetsGo, Quickened, USUAL_EDGES};

fn main() {
    divan::main();
}

fn prior() -> Prior {
    Prior {
        life: 12.0,
        spread: 0.6,
        quickened: Quickened::default(),
        jumpiness: 0.03,
        quickening: 1.0,
    }
}

fn start(known: bool) -> Start {
    if known {
        Start::New { elapsed: 14.0 }
    } else {
        Start::Unknown
    }
}

fn three_looks(known: bool, kernels: &Kernels) -> Filter {
    let mut filter = Filter::new(&prior(), start(known), kernels);
    for (clock, grade) in [(0.0, 1), (1.1, 2), (0.9, 3)] {
        filter.advance(clock);
        filter.observe(
            &Observation::Grade {
                edges: USUAL_EDGES,
                grade,
                sd: 0.12,
            },
            0.0,
        );
    }
    filter.advance(0.3);
    filter
}

/// 150 answers: chances of passing the limit and letting go at 75 days, asked as the program asks, in a list.
fn answers(now: &Posterior) -> f64 {
    let level = LetsGo::default();
    let days = || (1..=75).map(|i| f64::from(i) * 0.05);
    let past = days().map(|ahead| Ask::Past { damage: 1.0, ahead });
    let asks: Vec<Ask> = past.chain(days().map(|ahead| Ask::Fails { level, ahead })).collect();
    now.answers(&asks).iter().sum()
}

#[divan::bench(args = [false, true])]
fn filter_of_three_looks(bencher: Bencher, known: bool) {
    let kernels = Kernels::new();
    three_looks(known, &kernels);
    bencher.bench_local(|| black_box(three_looks(known, &kernels)));
}

#[divan::bench(args = [false, true])]
fn posterior(bencher: Bencher, known: bool) {
    let filter = three_looks(known, &Kernels::new());
    let car = CarFactor::prior(0.4);
    bencher.bench_local(|| black_box(filter.posterior(&car, &[LetsGo::default()])));
}

#[divan::bench(args = [false, true])]
fn hundred_and_fifty_answers(bencher: Bencher, known: bool) {
    let now = three_looks(known, &Kernels::new()).posterior(&CarFactor::prior(0.4), &[LetsGo::default()]);
    answers(&now);
    bencher.bench_local(|| black_box(answers(&now)));
}

#[divan::bench(args = [false, true])]
fn all_of_one_check(bencher: Bencher, known: bool) {
    let kernels = Kernels::new();
    let car = CarFactor::prior(0.4);
    let run = || answers(&three_looks(known, &kernels).posterior(&car, &[LetsGo::default()]));
    run();
    bencher.bench_local(|| black_box(run()));
}

#[divan::bench]
fn all_of_the_first_check_of_its_kind(bencher: Bencher) {
    let car = CarFactor::prior(0.4);
    bencher.bench_local(|| {
        let kernels = Kernels::new();
        black_box(answers(
            &three_looks(true, &kernels).posterior(&car, &[LetsGo::default()]),
        ))
    });
}

#[divan::bench]
fn time_until_the_limit(bencher: Bencher) {
    let now = three_looks(true, &Kernels::new()).posterior(&CarFactor::none(), &[]);
    bencher.bench_local(|| black_box([0.1, 0.5, 0.9].map(|p| now.until(1.0, p))));
}

#[divan::bench]
fn pace_of_the_car(bencher: Bencher) {
    let filter = three_looks(true, &Kernels::new());
    let car = CarFactor::prior(0.4);
    bencher.bench_local(|| black_box(filter.log_likelihood_by_factor(&car.log_factors)));
}

#[divan::bench]
fn two_thousand_draws(bencher: Bencher) {
    let now = three_looks(true, &Kernels::new()).posterior(&CarFactor::none(), &[]);
    let asks = [Ask::Fails {
        level: LetsGo::default(),
        ahead: 1.0,
    }];
    bencher.bench_local(|| black_box(now.drawn(2000, &asks)));
}
