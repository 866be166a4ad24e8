//! What is believed of a part's pace before it is looked at.

use std::collections::VecDeque;
use std::sync::{Arc, PoisonError, RwLock};

use super::normal::density;
use super::wide::{add_scaled, dot};
use crate::rubric::{Decline, Quickened};

/// The prior of a check's rate and the shape of its decline.
///
/// The rate R (growth of y in a unit of clock) is log-normal with median 1/`life` and log-sd `spread`, or, with probability
/// `quickened.share`, log-normal with median `quickened.times`/`life` and log-sd `quickened.spread`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Typical life from new to limit, in clock units.
    pub life: f64,
    /// Log-sd of the ordinary rate.
    pub spread: f64,
    /// The share whose protection is gone, and how much faster they go.
    pub quickened: Quickened,
    /// κ, the scale of the gamma process: variance of the growth over its mean. Below 0.0001 the path is a straight line.
    pub jumpiness: f64,
    /// ρ, how many times faster the damage goes at its limit than when new.
    pub quickening: f64,
}

impl From<&Decline> for Prior {
    fn from(decline: &Decline) -> Prior {
        Prior {
            life: decline.life,
            spread: decline.spread,
            quickened: decline.quickened,
            jumpiness: decline.jumpiness,
            quickening: decline.quickening,
        }
    }
}

impl Prior {
    /// The same with every number inside what the grid can hold; what is not a number becomes the usual value.
    pub(super) fn sound(mut self) -> Prior {
        let within = |x: f64, low: f64, high: f64, usual: f64| if x.is_finite() { x.clamp(low, high) } else { usual };
        let usual = Quickened::default();
        self.life = within(self.life, 1e-6, 1e6, 12.0);
        self.spread = within(self.spread, 0.02, 3.0, 0.6);
        self.jumpiness = within(self.jumpiness, 0.0, 2.0, 0.03);
        self.quickened.share = within(self.quickened.share, 0.0, 1.0, usual.share);
        self.quickened.times = within(self.quickened.times, 1e-3, 1e3, usual.times);
        self.quickened.spread = within(self.quickened.spread, 0.02, 3.0, usual.spread);
        self
    }

    /// What two priors share whose weights differ only in where they stand.
    pub(super) fn shape_key(&self) -> [u64; 5] {
        let quickened = self.quickened;
        [
            self.spread,
            quickened.share,
            quickened.times,
            quickened.spread,
            self.jumpiness,
        ]
        .map(f64::to_bits)
    }
}

/// The grid of log rates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RateGrid {
    /// The lowest log rate.
    pub(super) first: f64,
    /// Step.
    pub(super) step: f64,
    /// How many rates.
    pub(super) count: usize,
}

impl RateGrid {
    /// A grid that holds both humps of the prior to 5.5 log-sd, fine enough for what looks can teach.
    ///
    /// The growth of y up to 1.5 fixes log R to no better than s = √(κ/1.5). A sum at even steps h over a normal curve of
    /// that sd is off by 2·exp(−2π²·s²/h²): at h = 0.9·s by less than a ten-billionth.
    pub(super) fn new(prior: &Prior) -> RateGrid {
        let quickened = prior.quickened;
        let has_quickened = quickened.share > 0.0;
        let reach = |spread: f64| 5.5 * spread;
        let mut low = -reach(prior.spread);
        let mut high = reach(prior.spread);
        let mut narrowest = prior.spread;
        if has_quickened {
            low = low.min(quickened.times.ln() - reach(quickened.spread));
            high = high.max(quickened.times.ln() + reach(quickened.spread));
            narrowest = narrowest.min(quickened.spread);
        }
        let wanted = (0.9 * (prior.jumpiness / 1.5).sqrt()).min(0.5 * narrowest);
        let step = wanted.clamp(0.01, 0.3).max((high - low) / 1600.0);
        let count = ((high - low) / step).ceil() as usize + 1;
        RateGrid {
            first: low - prior.life.ln(),
            step,
            count,
        }
    }

    /// The log rates, rising.
    pub(super) fn logs(&self) -> impl Iterator<Item = f64> + '_ {
        (0..self.count).map(|i| self.log(i))
    }

    /// One log rate.
    pub(super) fn log(&self, i: usize) -> f64 {
        self.first + self.step * i as f64
    }
}

/// A discrete distribution of ln(pace factor): how much faster than the rubric this car's clock wears things.
#[derive(Debug, Clone, PartialEq)]
pub struct CarFactor {
    /// Values of ln(factor).
    pub log_factors: Vec<f64>,
    /// Their weights, summing to 1.
    pub weights: Vec<f64>,
}

impl CarFactor {
    /// Exactly the rubric's pace.
    #[must_use]
    pub fn none() -> CarFactor {
        CarFactor::exactly(0.0)
    }

    /// This ln(factor) and no other.
    #[must_use]
    pub fn exactly(log_factor: f64) -> CarFactor {
        CarFactor {
            log_factors: vec![log_factor],
            weights: vec![1.0],
        }
    }

    /// ln(factor) ~ normal(0, sd) on 31 values within ±3 sd.
    #[must_use]
    pub fn prior(sd: f64) -> CarFactor {
        if sd.is_nan() || sd <= 0.0 {
            return CarFactor::none();
        }
        let z = (0..31).map(|i| (f64::from(i) - 15.0) / 5.0);
        let log_factors = z.clone().map(|z| z * sd).collect();
        let raw: Vec<f64> = z.map(density).collect();
        let total: f64 = raw.iter().sum();
        CarFactor {
            log_factors,
            weights: raw.iter().map(|w| w / total).collect(),
        }
    }
}

/// The mean and the log-sd of ln(pace factor) are kept to this: a twentieth of a pace nobody could tell, and every
/// check of a clock would be reckoned again for each look at another.
const PACE_STEP: f64 = 0.05;

impl CarFactor {
    /// The normal distribution of ln(factor) nearest to these weights on evenly spaced values, its mean and standard deviation
    /// rounded to a twentieth.
    pub(crate) fn rounded(log_factors: &[f64], weights: &[f64]) -> CarFactor {
        let pairs = || log_factors.iter().zip(weights);
        let total: f64 = weights.iter().sum::<f64>().max(1e-300);
        let mean = pairs().map(|(x, w)| x * w).sum::<f64>() / total;
        let sd = (pairs().map(|(x, w)| (x - mean).powi(2) * w).sum::<f64>() / total).sqrt();
        let to_step = |x: f64| (x / PACE_STEP).round() * PACE_STEP;
        // Narrower than half the spacing, a curve would fall between the values.
        let spacing = match log_factors {
            [a, b, ..] => b - a,
            _ => {
                return CarFactor {
                    log_factors: log_factors.to_vec(),
                    weights: weights.to_vec(),
                };
            }
        };
        let (mean, sd) = (to_step(mean), to_step(sd).max(0.5 * spacing));
        let raw: Vec<f64> = log_factors.iter().map(|x| density((x - mean) / sd)).collect();
        let total: f64 = raw.iter().sum::<f64>().max(1e-300);
        CarFactor {
            log_factors: log_factors.to_vec(),
            weights: raw.into_iter().map(|w| w / total).collect(),
        }
    }
}

/// Weights of the ordinary and of the quickened rate on a grid; each sums to its share.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Humps {
    pub(super) ordinary: Vec<f64>,
    pub(super) quickened: Vec<f64>,
}

/// So many lists of values of ln(pace factor) are remembered.
const KEPT: usize = 8;
/// So many averages over a pace are remembered.
const KEPT_MIXED: usize = 12;
/// Values of ln(pace factor), and the weights at each.
type Usual = (Vec<f64>, Arc<[Humps]>);

/// The weights of all priors that differ only in their life: they stand elsewhere and look alike.
#[derive(Debug)]
pub(super) struct Shape {
    /// With a life of one.
    prior: Prior,
    grid: RateGrid,
    /// The most each rate can weigh for ln(pace factor) between −1.2 and 1.2 (three log-sd of the usual 0.4).
    pub(super) ceiling: Humps,
    /// For the values of ln(pace factor) asked about so far: those of every car.
    usual: RwLock<Vec<Usual>>,
    /// Averages over the paces asked about last: those of one car, which the checks of a clock mostly share.
    mixed: RwLock<VecDeque<(CarFactor, Arc<Humps>)>>,
}

impl Shape {
    pub(super) fn new(prior: &Prior) -> Shape {
        let prior = Prior { life: 1.0, ..*prior };
        let mut shape = Shape {
            prior,
            grid: RateGrid::new(&prior),
            ceiling: Humps {
                ordinary: Vec::new(),
                quickened: Vec::new(),
            },
            usual: RwLock::default(),
            mixed: RwLock::default(),
        };
        let mut most = shape.humps(0.0);
        for shift in [-1.2, -0.6, 0.6, 1.2] {
            let humps = shape.humps(shift);
            let higher = |most: &mut [f64], than: &[f64]| {
                most.iter_mut().zip(than).for_each(|(m, w)| *m = m.max(*w));
            };
            higher(&mut most.ordinary, &humps.ordinary);
            higher(&mut most.quickened, &humps.quickened);
        }
        shape.ceiling = most;
        shape
    }

    /// The grid for a life.
    pub(super) fn grid(&self, life: f64) -> RateGrid {
        RateGrid {
            first: self.grid.first - life.ln(),
            ..self.grid
        }
    }

    /// The weights when ln(pace factor) is `shift`.
    pub(super) fn humps(&self, shift: f64) -> Humps {
        let one = |centre: f64, spread: f64, share: f64| {
            let logs = self.grid.logs();
            let mut w: Vec<f64> = logs.map(|l| density((l - centre - shift) / spread)).collect();
            // By the sum, so that the total is kept on any grid.
            let total = w.iter().sum::<f64>().max(1e-300);
            w.iter_mut().for_each(|w| *w *= share / total);
            w
        };
        let quickened = self.prior.quickened;
        Humps {
            ordinary: one(0.0, self.prior.spread, 1.0 - quickened.share),
            quickened: one(quickened.times.ln(), quickened.spread, quickened.share),
        }
    }

    fn all(&self, log_factors: &[f64]) -> Arc<[Humps]> {
        let usual = self.usual.read().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, humps)) = usual.iter().find(|(of, _)| of.as_slice() == log_factors) {
            return Arc::clone(humps);
        }
        drop(usual);
        let humps: Arc<[Humps]> = log_factors.iter().map(|shift| self.humps(*shift)).collect();
        let mut usual = self.usual.write().unwrap_or_else(PoisonError::into_inner);
        if usual.len() < KEPT {
            usual.push((log_factors.to_vec(), Arc::clone(&humps)));
        }
        humps
    }

    /// The weights averaged over a factor.
    pub(super) fn mixed(&self, factor: &CarFactor) -> Arc<Humps> {
        let known = self.mixed.read().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, mixed)) = known.iter().find(|(of, _)| of == factor) {
            return Arc::clone(mixed);
        }
        drop(known);
        let none = || vec![0.0; self.grid.count];
        let mut mixed = Humps {
            ordinary: none(),
            quickened: none(),
        };
        let heaviest = factor.weights.iter().copied().fold(0.0, f64::max);
        for (humps, weight) in self.all(&factor.log_factors).iter().zip(&factor.weights) {
            if *weight > 1e-12 * heaviest {
                add_scaled(&mut mixed.ordinary, &humps.ordinary, *weight);
                add_scaled(&mut mixed.quickened, &humps.quickened, *weight);
            }
        }
        let mixed = Arc::new(mixed);
        let mut known = self.mixed.write().unwrap_or_else(PoisonError::into_inner);
        known.push_front((factor.clone(), Arc::clone(&mixed)));
        known.truncate(KEPT_MIXED);
        mixed
    }

    /// Σ weight·value for each of these values of ln(pace factor).
    pub(super) fn sums(&self, log_factors: &[f64], ordinary: &[f64], quickened: &[f64]) -> Vec<f64> {
        self.all(log_factors)
            .iter()
            .map(|humps| dot(ordinary, &humps.ordinary) + dot(quickened, &humps.quickened))
            .collect()
    }
}
