//! What is believed of a part's pace before it is looked at.

use super::normal::density;
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

    /// Weights of (ordinary, quickened) on a grid of log rates when ln(pace factor) is `shift`; each sums to its share.
    pub(super) fn weights(&self, grid: &RateGrid, shift: f64) -> (Vec<f64>, Vec<f64>) {
        let one = |centre: f64, spread: f64, share: f64| {
            let mut w: Vec<f64> = grid.logs().map(|l| density((l - centre - shift) / spread)).collect();
            // By the sum, so that the total is kept on any grid.
            let total = w.iter().sum::<f64>().max(1e-300);
            w.iter_mut().for_each(|w| *w *= share / total);
            w
        };
        let (middle, quick) = (-self.life.ln(), (self.quickened.times / self.life).ln());
        (
            one(middle, self.spread, 1.0 - self.quickened.share),
            one(quick, self.quickened.spread, self.quickened.share),
        )
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
    /// A grid that holds both humps of the prior to 5.5 log-sd, fine enough for what looks can teach: the growth of y up
    /// to 1.5 fixes log R to no better than √(κ/1.5).
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
        let wanted = (0.6 * (prior.jumpiness / 1.5).sqrt()).min(0.5 * narrowest);
        let step = wanted.clamp(0.01, 0.08).max((high - low) / 1600.0);
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
        CarFactor {
            log_factors: vec![0.0],
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

    /// Weights of (ordinary, quickened) on the grid, averaged over the factor.
    pub(super) fn mixed(&self, prior: &Prior, grid: &RateGrid) -> (Vec<f64>, Vec<f64>) {
        let (mut ordinary, mut quickened) = (vec![0.0; grid.count], vec![0.0; grid.count]);
        let heaviest = self.weights.iter().copied().fold(0.0, f64::max);
        for (shift, weight) in self.log_factors.iter().zip(&self.weights) {
            if *weight <= 1e-12 * heaviest {
                continue;
            }
            let (n, q) = prior.weights(grid, *shift);
            ordinary.iter_mut().zip(n).for_each(|(s, x)| *s += weight * x);
            quickened.iter_mut().zip(q).for_each(|(s, x)| *s += weight * x);
        }
        (ordinary, quickened)
    }
}
