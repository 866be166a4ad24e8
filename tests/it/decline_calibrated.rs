//! Simulation-based calibration: parts are drawn from the model itself, looked at, and judged; what is true of them must
//! fall into every tenth of what is said of them equally often.
#![allow(clippy::unwrap_used, clippy::panic)]

use rand::distr::Distribution;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;
use statrs::distribution::{Gamma, LogNormal, Normal};
use tinworm::engine::decline::{CarFactor, Filter, Kernels, Observation, Prior, Start};
use tinworm::rubric::{LetsGo, Quickened, USUAL_EDGES};

const DRAWS: usize = 1000;
/// 99 % point of chi-square with 9 degrees of freedom (tables: 21.666).
const CHI_SQUARE_9: f64 = 21.666;
const SCATTER: f64 = 0.12;

fn prior() -> Prior {
    Prior {
        life: 8.0,
        spread: 0.6,
        quickened: Quickened::default(),
        jumpiness: 0.03,
        quickening: 1.0,
    }
}

/// A part as it went: its start, what was seen at which clock, its rate, where it is now and where it will be.
struct Part {
    start: Start,
    looks: Vec<(f64, usize)>,
    rate: f64,
    now: f64,
    then: f64,
}

const SINCE: f64 = 0.4;
const AHEAD: f64 = 1.0;

fn grow(rate: f64, clock: f64, random: &mut Pcg64Mcg) -> f64 {
    Gamma::new(rate * clock / prior().jumpiness, 1.0 / prior().jumpiness)
        .unwrap()
        .sample(random)
}

fn draw(random: &mut Pcg64Mcg) -> Part {
    let prior = prior();
    let ordinary = LogNormal::new(-prior.life.ln(), prior.spread).unwrap();
    let quick = LogNormal::new((prior.quickened.times / prior.life).ln(), prior.quickened.spread).unwrap();
    let level = LogNormal::new(LetsGo::default().median.ln(), LetsGo::default().spread).unwrap();
    let scatter = Normal::new(0.0, SCATTER).unwrap();
    loop {
        let quickened = random.random::<f64>() < prior.quickened.share;
        let rate = if quickened {
            quick.sample(random)
        } else {
            ordinary.sample(random)
        };
        let (start, mut y) = if random.random::<bool>() {
            let elapsed = 10.0 * random.random::<f64>() + 1.0;
            let before = if quickened { ordinary.sample(random) } else { rate };
            (Start::New { elapsed }, grow(before, elapsed, random))
        } else {
            // Flat on [0, 1] with weight 1, exponential beyond with weight 0.25.
            let u = random.random::<f64>() * 1.25;
            let y = if u < 1.0 {
                u
            } else {
                1.0 - 0.25 * (1.0 - random.random::<f64>()).ln()
            };
            (Start::Unknown, y)
        };
        let looks = [0.0, 1.0, 1.5].map(|clock| {
            if clock > 0.0 {
                y += grow(rate, clock, random);
            }
            let seen = y + scatter.sample(random);
            (clock, USUAL_EDGES.iter().filter(|edge| seen >= **edge).count())
        });
        let now = y + grow(rate, SINCE, random);
        // Only parts that still hold are there to be looked at.
        if level.sample(random) > now {
            let then = now + grow(rate, AHEAD, random);
            return Part {
                start,
                looks: looks.to_vec(),
                rate,
                now,
                then,
            };
        }
    }
}

/// Which tenth of a distribution a truth falls into, given the nine points between the tenths.
fn tenth(truth: f64, points: impl Iterator<Item = f64>) -> usize {
    points.filter(|point| truth > *point).count()
}

fn chi_square(tenths: impl Iterator<Item = usize>) -> f64 {
    let mut counts = [0.0f64; 10];
    tenths.for_each(|t| counts[t] += 1.0);
    let expected = counts.iter().sum::<f64>() / 10.0;
    counts.iter().map(|c| (c - expected).powi(2) / expected).sum()
}

#[test]
fn truths_fall_evenly_into_what_is_said_of_them() {
    let mut random = Pcg64Mcg::seed_from_u64(20_261);
    let parts: Vec<Part> = (0..DRAWS).map(|_| draw(&mut random)).collect();
    let kernels = Kernels::new();
    let points: Vec<f64> = (1..10).map(|i| f64::from(i) / 10.0).collect();
    let tenths: Vec<[usize; 3]> = parts
        .par_iter()
        .map(|part| {
            let mut filter = Filter::new(&prior(), part.start, &kernels);
            for (clock, grade) in &part.looks {
                filter.advance(*clock);
                filter.observe(
                    &Observation::Grade {
                        edges: USUAL_EDGES,
                        grade: *grade,
                        sd: SCATTER,
                    },
                    0.0,
                );
            }
            filter.advance(SINCE);
            let now = filter.posterior(&CarFactor::none(), &[LetsGo::default()]);
            [
                tenth(part.now, points.iter().map(|p| now.damage(*p))),
                tenth(part.rate, points.iter().map(|p| now.rate(*p))),
                tenth(part.then, now.damage_ahead(AHEAD, &points).into_iter()),
            ]
        })
        .collect();
    for (i, what) in ["damage now", "rate", "damage ahead"].iter().enumerate() {
        let found = chi_square(tenths.iter().map(|t| t[i]));
        println!("{what}: {found:.1}");
        assert!(found < CHI_SQUARE_9, "{what}: chi-square {found:.1}");
    }
}
