//! Simulation-based calibration and coverage: parts are drawn from the model itself, looked at, and judged; what is true of them
//! must fall into every tenth of what is said of them equally often, and eight times in ten between the 10 and 90 % points.
//!
//! Drawn are rate (quickened or not), start (fitted new, age unknown, somebody's belief, treated), one to five surveys at irregular gaps,
//! path, grades or readings; only parts that still hold are kept. Judged are damage now, rate, damage a unit of clock ahead, and the
//! clock until the limit (the draw's own first passage, by the distribution function of the gamma process).
#![allow(clippy::unwrap_used, clippy::panic)]

use rand::distr::Distribution;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;
use statrs::distribution::{Gamma, LogNormal, Normal};
use statrs::function::gamma::gamma_ur;
use tinworm::engine::decline::{CarFactor, Filter, Kernels, Observation, Posterior, Prior, Start};
use tinworm::rubric::{LetsGo, Quickened, USUAL_EDGES};

/// 99 % point of chi-square with 9 degrees of freedom (tables: 21.666).
const CHI_SQUARE_9: f64 = 21.666;
/// Its point at 1 − 0.01/32: one chance in a hundred that any of 32 such figures is larger (scipy: 30.863).
const CHI_SQUARE_9_OF_32: f64 = 30.863;
const AHEAD: f64 = 1.0;

/// One kind of check and how it is looked at.
struct Kind {
    name: &'static str,
    /// κ and ρ.
    jumpiness: f64,
    quickening: f64,
    /// Scatter of a grade, or of a reading.
    graded: bool,
    sd: f64,
    start: From,
}

/// How the part's story begins.
#[derive(Clone, Copy)]
enum From {
    New,
    Unknown,
    Belief,
    Treated,
    NewOrUnknown,
}

const KINDS: [Kind; 8] = [
    Kind {
        name: "graded, new or unknown age",
        jumpiness: 0.03,
        quickening: 1.0,
        graded: true,
        sd: 0.12,
        start: From::NewOrUnknown,
    },
    Kind {
        name: "graded, jumpy",
        jumpiness: 0.3,
        quickening: 1.0,
        graded: true,
        sd: 0.12,
        start: From::NewOrUnknown,
    },
    Kind {
        name: "measured, unknown age",
        jumpiness: 0.03,
        quickening: 1.0,
        graded: false,
        sd: 0.05,
        start: From::Unknown,
    },
    Kind {
        name: "measured, jumpy, fitted new",
        jumpiness: 0.3,
        quickening: 1.0,
        graded: false,
        sd: 0.08,
        start: From::New,
    },
    Kind {
        name: "measured, quickening",
        jumpiness: 0.03,
        quickening: 3.0,
        graded: false,
        sd: 0.04,
        start: From::NewOrUnknown,
    },
    Kind {
        name: "graded, treated",
        jumpiness: 0.03,
        quickening: 1.0,
        graded: true,
        sd: 0.12,
        start: From::Treated,
    },
    Kind {
        name: "graded, somebody's belief",
        jumpiness: 0.1,
        quickening: 1.0,
        graded: true,
        sd: 0.12,
        start: From::Belief,
    },
    Kind {
        name: "graded, straight lines",
        jumpiness: 0.0,
        quickening: 1.0,
        graded: true,
        sd: 0.12,
        start: From::Unknown,
    },
];

const LIFE: f64 = 8.0;
const TREATED_TO: f64 = 0.2;
const BELIEF: (f64, f64) = (0.35, 0.15);

impl Kind {
    fn prior(&self) -> Prior {
        Prior {
            life: LIFE,
            spread: 0.6,
            quickened: Quickened::default(),
            jumpiness: self.jumpiness,
            quickening: self.quickening,
        }
    }

    fn grow(&self, rate: f64, clock: f64, random: &mut Pcg64Mcg) -> f64 {
        if self.jumpiness == 0.0 {
            return rate * clock;
        }
        let shape = rate * clock / self.jumpiness;
        // Shapes below what the sampler takes give nothing that can be told from nothing.
        if shape < 1e-6 {
            0.0
        } else {
            Gamma::new(shape, 1.0 / self.jumpiness).unwrap().sample(random)
        }
    }

    /// Damage of a y: φ⁻¹(y) = (ρ^y − 1)/(ρ − 1).
    fn damage(&self, y: f64) -> f64 {
        if self.quickening == 1.0 {
            y
        } else {
            (self.quickening.powf(y) - 1.0) / (self.quickening - 1.0)
        }
    }

    fn y(&self, damage: f64) -> f64 {
        if self.quickening == 1.0 {
            damage
        } else {
            (1.0 + (self.quickening - 1.0) * damage).ln() / self.quickening.ln()
        }
    }

    /// A clock at which y passes 1, drawn; the path's own growth from `y`.
    fn passes(&self, rate: f64, y: f64, random: &mut Pcg64Mcg) -> f64 {
        let left = 1.0 - y;
        if self.jumpiness == 0.0 {
            return left / rate;
        }
        let u = random.random::<f64>();
        // P(passed by a clock h) = Q(R·h/κ, left/κ).
        let passed = |h: f64| gamma_ur((rate * h / self.jumpiness).max(1e-12), left / self.jumpiness);
        let (mut low, mut high) = (-30.0f64, 20.0f64);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if passed(middle.exp()) < u {
                low = middle
            } else {
                high = middle
            }
        }
        high.exp()
    }

    fn look(&self, y: f64, random: &mut Pcg64Mcg) -> Observation {
        let seen = self.damage(y) + Normal::new(0.0, self.sd).unwrap().sample(random);
        if self.graded {
            let grade = USUAL_EDGES.iter().filter(|edge| seen >= **edge).count();
            Observation::Grade {
                edges: USUAL_EDGES,
                grade,
                sd: self.sd,
            }
        } else {
            // Normal in damage; the filter carries the scatter to y by the slope where it is read, nearly the same.
            Observation::Reading {
                damage: seen,
                sd: self.sd,
            }
        }
    }
}

/// A part as it went.
struct Part {
    start: Start,
    looks: Vec<(f64, Observation)>,
    since: f64,
    rate: f64,
    now: f64,
    then: f64,
    passes: Option<f64>,
}

fn draw(kind: &Kind, random: &mut Pcg64Mcg) -> Part {
    let prior = kind.prior();
    let ordinary = LogNormal::new(-LIFE.ln(), prior.spread).unwrap();
    let quick = LogNormal::new((prior.quickened.times / LIFE).ln(), prior.quickened.spread).unwrap();
    let level = LogNormal::new(LetsGo::default().median.ln(), LetsGo::default().spread).unwrap();
    loop {
        let quickened = random.random::<f64>() < prior.quickened.share;
        let rate = if quickened {
            quick.sample(random)
        } else {
            ordinary.sample(random)
        };
        let from = match kind.start {
            From::NewOrUnknown if random.random::<bool>() => From::New,
            From::NewOrUnknown => From::Unknown,
            other => other,
        };
        let (start, mut y) = match from {
            From::New => {
                let elapsed = 10.0 * random.random::<f64>() + 1.0;
                let before = if quickened { ordinary.sample(random) } else { rate };
                (Start::New { elapsed }, kind.grow(before, elapsed, random))
            }
            From::Belief => {
                let belief = Normal::new(BELIEF.0, BELIEF.1).unwrap();
                let y = std::iter::repeat_with(|| belief.sample(random))
                    .find(|y| *y >= 0.0)
                    .unwrap();
                (
                    Start::Belief {
                        mean: BELIEF.0,
                        sd: BELIEF.1,
                    },
                    y,
                )
            }
            From::Treated => (Start::At { damage: TREATED_TO }, kind.y(TREATED_TO)),
            From::Unknown | From::NewOrUnknown => {
                // Flat on [0, 1] with weight 1, exponential beyond with weight 0.25.
                let u = random.random::<f64>() * 1.25;
                (
                    Start::Unknown,
                    if u < 1.0 {
                        u
                    } else {
                        1.0 - 0.25 * (1.0 - random.random::<f64>()).ln()
                    },
                )
            }
        };
        let surveys = random.random_range(1..=5);
        let mut looks = Vec::new();
        for nth in 0..surveys {
            let first = nth == 0 && !matches!(from, From::Treated);
            let gap = if first { 0.0 } else { 0.3 + 1.2 * random.random::<f64>() };
            y += kind.grow(rate, gap, random);
            looks.push((gap, kind.look(y, random)));
        }
        let since = 0.5 * random.random::<f64>();
        let now = y + kind.grow(rate, since, random);
        // Only parts that still hold are there to be looked at; and the grid ends at 4.
        if level.sample(random) > kind.damage(now) && now < 3.0 {
            let then = now + kind.grow(rate, AHEAD, random);
            let passes = (now < 1.0).then(|| kind.passes(rate, now, random));
            return Part {
                start,
                looks,
                since,
                rate,
                now: kind.damage(now),
                then: kind.damage(then),
                passes,
            };
        }
    }
}

/// Where a truth lies in a distribution: 0 to 9 by its tenths.
fn tenth(truth: f64, points: impl Iterator<Item = f64>) -> usize {
    points.filter(|point| truth > *point).count()
}

fn judge(kind: &Kind, part: &Part, even: f64, kernels: &Kernels) -> [usize; 4] {
    let points: Vec<f64> = (1..10).map(|i| f64::from(i) / 10.0).collect();
    let mut filter = Filter::new(&kind.prior(), part.start, kernels);
    for (gap, seen) in &part.looks {
        filter.advance(*gap);
        filter.observe(seen, 0.0);
    }
    filter.advance(part.since);
    let now: Posterior = filter.posterior(&CarFactor::none(), &[LetsGo::default()]);
    // The share of such parts that has passed by the clock at which this one did; those past already share what that is.
    let passed = match part.passes {
        Some(clock) => now.past(1.0, clock),
        None => even * now.past(1.0, 0.0),
    };
    [
        tenth(part.now, points.iter().map(|p| now.damage(*p))),
        tenth(part.rate, points.iter().map(|p| now.rate(*p))),
        tenth(part.then, now.damage_ahead(AHEAD, &points).into_iter()),
        tenth(passed, points.iter().copied()),
    ]
}

fn chi_square(tenths: impl Iterator<Item = usize>) -> (f64, f64) {
    let mut counts = [0.0f64; 10];
    tenths.for_each(|t| counts[t] += 1.0);
    let all = counts.iter().sum::<f64>();
    let expected = all / 10.0;
    let inside = 1.0 - (counts[0] + counts[9]) / all;
    (counts.iter().map(|c| (c - expected).powi(2) / expected).sum(), inside)
}

/// Chi-square and share inside 80 % of the four things judged; what goes beyond the bounds is told.
fn calibrate(kind: &Kind, draws: usize, bound: f64, seed: u64) -> Vec<String> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let parts: Vec<(Part, f64)> = (0..draws).map(|_| (draw(kind, &mut random), random.random())).collect();
    let kernels = Kernels::new();
    let tenths: Vec<[usize; 4]> = parts
        .par_iter()
        .map(|(part, even)| judge(kind, part, *even, &kernels))
        .collect();
    // Three and a half standard deviations of a share.
    let margin = 3.5 * (0.8 * 0.2 / draws as f64).sqrt();
    let mut beyond = Vec::new();
    let mut line = format!("{:28}", kind.name);
    for (i, what) in ["damage now", "rate", "damage ahead", "until the limit"]
        .iter()
        .enumerate()
    {
        let (chi, inside) = chi_square(tenths.iter().map(|t| t[i]));
        line.push_str(&format!("  {what} {chi:4.1} ({inside:.3})"));
        if chi > bound || (inside - 0.8).abs() > margin {
            beyond.push(format!(
                "{}, {what}: chi-square {chi:.1}, inside {inside:.3}",
                kind.name
            ));
        }
    }
    println!("{line}");
    beyond
}

#[test]
fn truths_fall_evenly_into_what_is_said_of_them() {
    println!("chi-square with 9 degrees of freedom (share inside 80 %), 1,000 draws; 99 % point 21.7");
    let beyond = calibrate(&KINDS[0], 1000, CHI_SQUARE_9, 20_261);
    assert!(beyond.is_empty(), "{beyond:?}");
}

#[test]
fn every_kind_of_check_is_calibrated() {
    println!("chi-square (share inside 80 %), 100 draws");
    let beyond: Vec<String> = KINDS
        .iter()
        .skip(1)
        .zip(1..)
        .flat_map(|(kind, seed)| calibrate(kind, 100, CHI_SQUARE_9_OF_32, seed))
        .collect();
    assert!(beyond.is_empty(), "{beyond:#?}");
}

/// The same with twenty times the draws, the kinds in turn from the last.
#[test]
#[ignore = "minutes: cargo test --release --test it -- --ignored --nocapture thousands_of_parts"]
fn thousands_of_parts_of_every_kind_are_calibrated() {
    println!("chi-square (share inside 80 %), 2,000 draws");
    let beyond: Vec<String> = KINDS
        .iter()
        .rev()
        .zip(100..)
        .flat_map(|(kind, seed)| calibrate(kind, 2000, CHI_SQUARE_9_OF_32, seed))
        .collect();
    assert!(beyond.is_empty(), "{beyond:#?}");
}
