//! How growth moves damage from cell to cell: gamma kernels on a ladder of mean growths, shared by all checks.
//!
//! Over a stretch of clock y grows by Gamma(shape m/κ, scale κ), m its mean. From a point the mass moved k cells up is what the
//! distribution adds over that cell, u(k). From a filled cell a growth of k + s cells, 0 ≤ s < 1, moves a share s of it k + 1 cells up
//! and the rest k: the mass moved k cells up is u(k) − v(k) + v(k − 1), v(k) the mean of s over the cell times u(k). For shapes ≪ 1
//! nearly everything stays in the first cell.
//!
//! Kernels are reckoned once for means a step h = 0.3·√κ in ln m apart (not below 0.02, not above 0.07); a mean between two rungs
//! mixes both so that the mean is kept. That adds at most (h·m/2)² to the variance κ·m of a growth: for κ of 0.005 and more a fortieth of
//! it at m = 1, and less for smaller growths.

use std::collections::HashMap;
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

use super::gamma_steps::{GammaSteps, Step};
use super::levels::LevelAhead;
use super::likelihoods::Likelihoods;
use super::prior::{Prior, Shape};
use super::scale::{self, Scale};
use super::wide::{dot, sum};
use crate::rubric::LetsGo;

/// Cells of y; the last takes everything beyond.
pub(super) const CELLS: usize = 400;
/// Width of a cell.
pub(super) const CELL: f64 = scale::TOP / CELLS as f64;
/// The smallest mean growth of the ladder; below it kernels are proportional to the mean.
const LEAST: f64 = 1e-4;
/// The largest; beyond it everything ends in the last cell.
const MOST: f64 = 64.0;
/// Tails thinner than this are cut.
const TAIL: f64 = 1e-12;

/// Kernels and pushed-back functions already reckoned, shared by all checks; cheap to make, may be shared between threads.
#[derive(Debug, Default)]
pub struct Kernels {
    ladders: RwLock<HashMap<u64, Arc<Ladder>>>,
    shapes: RwLock<HashMap<[u64; 5], Arc<Shape>>>,
    likelihoods: Arc<Likelihoods>,
}

impl Kernels {
    /// Nothing reckoned yet.
    #[must_use]
    pub fn new() -> Kernels {
        Kernels::default()
    }

    pub(super) fn ladder(&self, jumpiness: f64) -> Arc<Ladder> {
        let key = jumpiness.to_bits();
        if let Some(ladder) = self.ladders.read().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return Arc::clone(ladder);
        }
        let mut ladders = self.ladders.write().unwrap_or_else(PoisonError::into_inner);
        let ladder = || Arc::new(Ladder::new(jumpiness, Arc::clone(&self.likelihoods)));
        Arc::clone(ladders.entry(key).or_insert_with(ladder))
    }

    /// The grid of rates and the weights on it, the same for all priors that differ only in their life.
    pub(super) fn shape(&self, prior: &Prior) -> Arc<Shape> {
        let key = prior.shape_key();
        if let Some(shape) = self.shapes.read().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return Arc::clone(shape);
        }
        let mut shapes = self.shapes.write().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(shapes.entry(key).or_insert_with(|| Arc::new(Shape::new(prior))))
    }
}

/// Where a mean growth stands on the ladder.
#[derive(Debug, Clone, Copy)]
pub(super) enum Place {
    /// Below the first rung: this share of the first rung's kernel, the rest stays.
    Below(f64),
    /// Between rung `.0` and the next, with this share of the next.
    Between(usize, f64),
    /// Beyond the last rung.
    Above,
}

impl Place {
    /// The rungs whose kernels are mixed, and what each counts; what they lack to one stays where it is. `None` beyond the last.
    pub(super) fn rungs(self) -> Option<[(usize, f64); 2]> {
        match self {
            Place::Below(share) => Some([(0, share), (0, 0.0)]),
            Place::Between(rung, share) => Some([(rung, 1.0 - share), (rung + 1, share)]),
            Place::Above => None,
        }
    }
}

/// What one mean growth does.
#[derive(Debug)]
pub(super) struct Growth {
    /// Mass moved k cells up, from `first` on.
    pub(super) cells: Vec<f64>,
    /// The smallest k with any mass.
    pub(super) first: usize,
    /// Mass moved beyond the grid from any cell.
    pub(super) beyond: f64,
    /// P(moved at least CELLS − i cells) for i from `CELLS + 1 − passing.len()` to CELLS: chances of passing a level, in the order of
    /// the cells. Below that i it is `beyond`.
    passing: Vec<f64>,
}

impl Growth {
    /// P(moved at least CELLS − i cells) for an i up to CELLS.
    #[inline]
    pub(super) fn passing_at(&self, i: usize) -> f64 {
        let near = (i + self.passing.len()).checked_sub(CELLS + 1);
        near.and_then(|near| self.passing.get(near))
            .copied()
            .unwrap_or(self.beyond)
    }

    /// Σ mass·P(moved at least CELLS − i cells) over masses that stand at i = `from` and on.
    pub(super) fn passed(&self, masses: &[f64], from: usize) -> f64 {
        let start = CELLS + 1 - self.passing.len();
        let (far, near) = masses.split_at(start.saturating_sub(from).min(masses.len()));
        let far = if self.beyond > 0.0 { self.beyond * sum(far) } else { 0.0 };
        let chances = self
            .passing
            .get((from + masses.len() - near.len()).saturating_sub(start)..);
        far + dot(near, chances.unwrap_or(&[]))
    }
}

/// The kernels of one κ.
#[derive(Debug)]
pub(super) struct Ladder {
    jumpiness: f64,
    /// Step in ln m.
    rung: f64,
    /// How much more a rung's mean is than the one below, as a share of that.
    above: f64,
    growths: Box<[OnceLock<Growth>]>,
    points: Box<[OnceLock<Growth>]>,
    steps: GammaSteps,
    levels: RwLock<HashMap<[u64; 3], Arc<LevelAhead>>>,
    /// The same for all κ.
    pub(super) likelihoods: Arc<Likelihoods>,
}

impl Ladder {
    fn new(jumpiness: f64, likelihoods: Arc<Likelihoods>) -> Ladder {
        let rung = (0.3 * jumpiness.sqrt()).clamp(0.02, 0.07);
        let rungs = ((MOST / LEAST).ln() / rung).ceil() as usize + 1;
        let empty = || (0..rungs).map(|_| OnceLock::new()).collect();
        Ladder {
            jumpiness,
            rung,
            above: rung.exp_m1(),
            growths: empty(),
            points: empty(),
            steps: GammaSteps::new(CELL / jumpiness.max(1e-9), CELLS + 1),
            levels: RwLock::default(),
            likelihoods,
        }
    }

    /// The place of a mean growth, given its logarithm.
    pub(super) fn place(&self, log_mean: f64) -> Place {
        let position = (log_mean - LEAST.ln()) / self.rung;
        if position.is_nan() || position < 0.0 {
            return Place::Below((position * self.rung).exp().min(1.0));
        }
        let rung = position.floor();
        if rung >= (self.growths.len() - 1) as f64 {
            return Place::Above;
        }
        let share = ((position - rung) * self.rung).exp_m1() / self.above;
        Place::Between(rung as usize, share)
    }

    fn mean(&self, rung: usize) -> f64 {
        LEAST * (rung as f64 * self.rung).exp()
    }

    /// The growth from a filled cell at a rung.
    pub(super) fn growth(&self, rung: usize) -> &Growth {
        let rung = rung.min(self.growths.len() - 1);
        self.growths[rung].get_or_init(|| from_cell(self.mean(rung), self.jumpiness, &self.steps))
    }

    /// The growth from a point on a cell's lower edge at a rung.
    pub(super) fn point(&self, rung: usize) -> &Growth {
        let rung = rung.min(self.points.len() - 1);
        self.points[rung].get_or_init(|| from_point(self.mean(rung) / self.jumpiness, &self.steps))
    }

    /// The chance functions of a level at which parts let go.
    pub(super) fn level(&self, level: &LetsGo, scale: &Scale) -> Arc<LevelAhead> {
        let key = [
            level.median.to_bits(),
            level.spread.to_bits(),
            scale.quickening().to_bits(),
        ];
        if let Some(found) = self.levels.read().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return Arc::clone(found);
        }
        let mut levels = self.levels.write().unwrap_or_else(PoisonError::into_inner);
        let rungs = self.growths.len();
        Arc::clone(
            levels
                .entry(key)
                .or_insert_with(|| Arc::new(LevelAhead::new(level, scale, rungs))),
        )
    }
}

fn from_cell(mean: f64, jumpiness: f64, steps: &GammaSteps) -> Growth {
    let mut masses = Vec::with_capacity(64);
    let (mut sum, mut before) = (0.0, 0.0);
    for Step { adds, part } in steps.of(mean / jumpiness).take(CELLS) {
        masses.push((adds - part + before).max(0.0));
        before = part;
        sum += adds;
        if 1.0 - sum < TAIL {
            break;
        }
    }
    masses.push(before);
    finish(masses)
}

fn from_point(shape: f64, steps: &GammaSteps) -> Growth {
    let mut masses = Vec::with_capacity(64);
    let mut sum = 0.0;
    for Step { adds, .. } in steps.of(shape).take(CELLS) {
        masses.push(adds);
        sum += adds;
        if 1.0 - sum < TAIL {
            break;
        }
    }
    finish(masses)
}

fn finish(mut masses: Vec<f64>) -> Growth {
    masses.truncate(CELLS);
    let total: f64 = masses.iter().sum();
    let beyond = if masses.len() == CELLS {
        (1.0 - total).max(0.0)
    } else {
        0.0
    };
    let norm = total + beyond;
    if norm > 0.0 {
        masses.iter_mut().for_each(|m| *m /= norm);
    }
    let beyond = if norm > 0.0 { beyond / norm } else { 1.0 };
    // From the largest growth that has any mass down to none.
    let mut passing = Vec::with_capacity(masses.len());
    let mut sum = beyond;
    for mass in masses.iter().rev() {
        sum += mass;
        passing.push(sum.min(1.0));
    }
    let first = masses.iter().position(|m| *m > 1e-15).unwrap_or(0);
    masses.drain(..first);
    masses.shrink_to_fit();
    Growth {
        cells: masses,
        first,
        beyond,
        passing,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;

    /// The mean of a gamma growth is kept by the cells, whatever its shape, and no mass is lost.
    #[test]
    fn kernels_keep_mass_and_mean() {
        for jumpiness in [0.003, 0.03, 0.3] {
            let ladder = Ladder::new(jumpiness, Arc::default());
            for log_mean in [-7.0f64, -4.0, -2.0, -0.7] {
                let Place::Between(rung, _) = ladder.place(log_mean) else {
                    continue;
                };
                let growth = ladder.growth(rung);
                let total: f64 = growth.cells.iter().sum::<f64>() + growth.beyond;
                let mean: f64 = growth
                    .cells
                    .iter()
                    .enumerate()
                    .map(|(k, m)| (k + growth.first) as f64 * CELL * m)
                    .sum();
                assert!((total - 1.0).abs() < 1e-9, "{jumpiness} {log_mean}: {total}");
                let wanted = ladder.mean(rung);
                assert!(
                    (mean / wanted - 1.0).abs() < 1e-4,
                    "{jumpiness} {log_mean}: {mean} for {wanted}"
                );
            }
        }
        assert!((scale::TOP - CELL * CELLS as f64).abs() < 1e-12);
    }

    /// Chances that a gamma process passes its limit, against scipy and mpmath values: see the file.
    #[test]
    fn passing_from_a_point_agrees_with_published_first_passage_values() {
        let golden: serde_json::Value =
            serde_json::from_str(include_str!("../../../tests/golden/first_passage.json")).unwrap();
        let mut points = 0;
        for case in golden["gamma"].as_array().unwrap() {
            let get = |name: &str| case[name].as_f64().unwrap();
            let (a, b, c, t, x, limit) = (get("a"), get("b"), get("c"), get("t_now"), get("x_now"), get("D"));
            let level = ((limit - x) / limit / CELL).round() as usize;
            for point in case["points"].as_array().unwrap() {
                let clock = (t + point["h"].as_f64().unwrap()).powf(c) - t.powf(c);
                let (mean, jumpiness) = (a * b * clock / limit, b / limit);
                let growth = from_point(mean / jumpiness, &GammaSteps::new(CELL / jumpiness, CELLS + 1));
                let (got, wanted) = (growth.passing_at(CELLS - level), point["F"].as_f64().unwrap());
                assert!((got - wanted).abs() < 1e-9, "{}: {got} for {wanted}", case["id"]);
                points += 1;
            }
        }
        assert_eq!(points, 30);
    }
}
