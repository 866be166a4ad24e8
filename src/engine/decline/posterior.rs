//! What the looks say of a check now, and what follows for any later day.

use std::sync::{Arc, OnceLock};

use super::kernels::{CELL, CELLS};
use super::likelihoods::multiply_rows;
use super::look::Observation;
use super::outlook::{Ask, Hump, Outlook, RateRow};
use super::prior::{CarFactor, Humps, RateGrid};
use super::quantile::{from_cells, from_points, twice_as_fine};
use super::rows::Row;
use super::wide::dot;
use crate::engine::normal::point;
use crate::rubric::LetsGo;

/// Clock units beyond which nothing is foretold.
const HORIZON: f64 = 512.0;

/// What is known of a check now: the joint distribution of its rate and its damage.
///
/// Nothing after now is learned from: [`past`](Posterior::past) and the others ask what the part will do by itself.
#[derive(Debug, Clone)]
pub struct Posterior {
    pub(super) outlook: Arc<Outlook>,
    /// What each row counts; Σ count·total = 1.
    pub(super) counts: Vec<f64>,
    humps: Arc<Humps>,
    marginal: OnceLock<Vec<f64>>,
    rates: Vec<f64>,
}

impl Posterior {
    pub(super) fn new(outlook: Arc<Outlook>, factor: &CarFactor) -> Posterior {
        let humps = outlook.shape.mixed(factor);
        Posterior::weighed(outlook, humps)
    }

    fn weighed(outlook: Arc<Outlook>, humps: Arc<Humps>) -> Posterior {
        let at = |weights: &[f64], rate: usize| weights.get(rate).copied().unwrap_or(0.0);
        let count = |row: &RateRow| match row.hump {
            Hump::Both => at(&humps.ordinary, row.rate) + at(&humps.quickened, row.rate),
            Hump::Ordinary => at(&humps.ordinary, row.rate),
            Hump::Quickened => at(&humps.quickened, row.rate),
        };
        let mut counts: Vec<f64> = outlook.rows.iter().map(count).collect();
        let all: f64 = counts.iter().zip(&outlook.rows).map(|(c, r)| c * r.total).sum();
        counts.iter_mut().for_each(|c| *c /= all.max(1e-300));
        let mut rates = vec![0.0; outlook.grid.count];
        for (row, count) in outlook.rows.iter().zip(&counts) {
            if let Some(rate) = rates.get_mut(row.rate) {
                *rate += count * row.total;
            }
        }
        Posterior {
            outlook,
            counts,
            humps,
            marginal: OnceLock::new(),
            rates,
        }
    }

    fn marginal(&self) -> &[f64] {
        self.marginal.get_or_init(|| {
            let mut marginal = vec![0.0; CELLS];
            for (row, count) in self.outlook.rows.iter().zip(&self.counts) {
                row.row.add_to(&mut marginal, *count);
            }
            marginal
        })
    }

    /// The p point of the damage now.
    #[must_use]
    pub fn damage(&self, p: f64) -> f64 {
        self.outlook.scale.damage(from_cells(self.marginal(), CELL, p))
    }

    /// Mean damage now.
    #[must_use]
    pub fn damage_mean(&self) -> f64 {
        self.average(|damage| damage)
    }

    /// Standard deviation of the damage now.
    #[must_use]
    pub fn damage_sd(&self) -> f64 {
        let mean = self.damage_mean();
        self.average(|damage| (damage - mean).powi(2)).sqrt()
    }

    /// Average over the damage now; cells count with their middles.
    fn average(&self, of: impl Fn(f64) -> f64) -> f64 {
        let at = |i: usize, shift: f64| of(self.outlook.scale.damage((i as f64 + 0.5) * CELL + shift));
        if !self.outlook.straight {
            return self.marginal().iter().enumerate().map(|(i, m)| m * at(i, 0.0)).sum();
        }
        let of_row = |row: &Row| -> f64 {
            row.cells
                .iter()
                .enumerate()
                .map(|(i, m)| m * at(i + row.first, row.shift))
                .sum()
        };
        (self.outlook.rows.iter().zip(&self.counts))
            .map(|(row, count)| count * of_row(&row.row))
            .sum()
    }

    /// The p point of the rate: growth of y in a unit of clock.
    #[must_use]
    pub fn rate(&self, p: f64) -> f64 {
        let RateGrid { first, step, .. } = self.outlook.grid;
        from_points(&twice_as_fine(&self.rates), first, 0.5 * step, p).exp()
    }

    /// Mean rate: growth of y in a unit of clock.
    #[must_use]
    pub fn rate_mean(&self) -> f64 {
        self.rates
            .iter()
            .zip(self.outlook.grid.logs())
            .map(|(w, log)| w * log.exp())
            .sum()
    }

    /// Probability that it has quickened.
    #[must_use]
    pub fn quickened(&self) -> f64 {
        let quick = |row: &RateRow| match row.hump {
            Hump::Ordinary => 0.0,
            Hump::Quickened => 1.0,
            Hump::Both => {
                let at = |weights: &[f64]| weights.get(row.rate).copied().unwrap_or(0.0);
                let (n, q) = (at(&self.humps.ordinary), at(&self.humps.quickened));
                q / (n + q).max(1e-300)
            }
        };
        (self.outlook.rows.iter().zip(&self.counts))
            .map(|(row, count)| quick(row) * count * row.total)
            .sum::<f64>()
            .clamp(0.0, 1.0)
    }

    /// What the pace rests on: 1 − Var(log R | looks)/Var(log R), from 0, the rubric's usual life, to 1, its own looks.
    #[must_use]
    pub fn rests_on_looks(&self) -> f64 {
        let Humps { ordinary, quickened } = &*self.humps;
        let before: Vec<f64> = ordinary.iter().zip(quickened).map(|(n, q)| n + q).collect();
        let grid = &self.outlook.grid;
        (1.0 - log_variance(grid, &self.rates) / log_variance(grid, &before).max(1e-12)).clamp(0.0, 1.0)
    }

    /// Probability of each grade after `ahead` clock units, for bands with these inner edges in damage.
    #[must_use]
    pub fn grades(&self, edges: &[f64; 5], ahead: f64) -> [f64; 6] {
        let mut grades = [0.0; 6];
        let mut above = 1.0;
        for (grade, edge) in grades.iter_mut().zip(edges) {
            let past = self.past(*edge, ahead).min(above);
            *grade = above - past;
            above = past;
        }
        if let Some(last) = grades.last_mut() {
            *last = above;
        }
        grades
    }

    /// The answers to questions, in their order.
    #[must_use]
    pub fn answers(&self, asks: &[Ask]) -> Vec<f64> {
        let lists = self.outlook.answers(asks, None);
        self.sums(&lists).map(|p| p.clamp(0.0, 1.0)).collect()
    }

    /// Each list summed with what its row counts.
    fn sums<'a>(&'a self, lists: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        lists
            .chunks(self.counts.len().max(1))
            .map(|list| dot(&self.counts, list))
    }

    /// How likely this would be seen now, and the answers if it were: a probability for a grade or an answer, a density for
    /// a reading. Without answers if it cannot be.
    #[must_use]
    pub fn answers_given(&self, seen: &Observation, asks: &[Ask]) -> (f64, Vec<f64>) {
        let lists = self.outlook.answers(asks, Some(seen));
        let mut sums = self.sums(&lists);
        let chance = sums.next().unwrap_or(0.0);
        if chance < 1e-250 {
            return (0.0, Vec::new());
        }
        (chance, sums.map(|sum| (sum / chance).clamp(0.0, 1.0)).collect())
    }

    fn answer(&self, ask: Ask) -> f64 {
        dot(&self.counts, &self.outlook.answers(&[ask], None)).clamp(0.0, 1.0)
    }

    /// P(damage ≥ `damage` after `ahead` clock units).
    #[must_use]
    pub fn past(&self, damage: f64, ahead: f64) -> f64 {
        self.answer(Ask::Past { damage, ahead })
    }

    /// Probability that a part which holds now has let go after `ahead` clock units: the average of
    /// (F(d') − F(d))/(1 − F(d)), F the distribution function of the damage at which it lets go.
    #[must_use]
    pub fn fails(&self, level: &LetsGo, ahead: f64) -> f64 {
        self.answer(Ask::Fails { level: *level, ahead })
    }

    /// Clock units until P(past `damage`) reaches `p`: 0 if it has, `None` beyond 512.
    ///
    /// Looked up at powers of 2^⅛ and, where the chance rises by more than a tenth from one to the next, at points between
    /// them; the last stretch is straight in the normal point of the chance over the logarithm of the clock.
    #[must_use]
    pub fn until(&self, damage: f64, p: f64) -> Option<f64> {
        // Quarters of an octave: −36 is 2⁻⁹ units, 36 is 2⁹, the horizon.
        const ENDS: f64 = 36.0;
        let ahead = |quarter: f64| (quarter / 4.0).exp2();
        let at = |quarter: f64| self.past(damage, ahead(quarter));
        let now = self.past(damage, 0.0);
        if now >= p {
            return Some(0.0);
        }
        let (mut low, mut high) = (-ENDS, ENDS);
        let (mut p_low, mut p_high) = (at(low), at(high));
        if p_high < p {
            return None;
        }
        if p_low >= p {
            let share = ((p - now) / (p_low - now).max(1e-300)).clamp(0.0, 1.0);
            return Some(share * ahead(low));
        }
        while high - low > 0.5 || (p_high - p_low > 0.1 && high - low > 1.0 / 64.0) {
            let middle = if high - low > 1.0 {
                (0.5 * (low + high)).floor()
            } else {
                0.5 * (low + high)
            };
            let p_middle = at(middle);
            if p_middle < p {
                (low, p_low) = (middle, p_middle);
            } else {
                (high, p_high) = (middle, p_middle);
            }
        }
        let (a, b) = (point(p_low), point(p_high));
        let share = if b > a { (point(p) - a) / (b - a) } else { 1.0 };
        Some(ahead(low + share.clamp(0.0, 1.0) * (high - low)).min(HORIZON))
    }

    /// These points of the damage after `ahead` clock units.
    #[must_use]
    pub fn damage_ahead(&self, ahead: f64, ps: &[f64]) -> Vec<f64> {
        if ahead.is_nan() || ahead <= 0.0 {
            return ps.iter().map(|p| self.damage(*p)).collect();
        }
        let scale = &self.outlook.scale;
        let below = |level: usize| 1.0 - self.past(scale.damage(level as f64 * CELL), ahead);
        ps.iter()
            .map(|p| {
                let (mut low, mut high) = (0usize, CELLS - 1);
                let (mut p_low, mut p_high) = (0.0, below(CELLS - 1));
                if *p >= p_high {
                    return scale.damage((CELLS - 1) as f64 * CELL);
                }
                while high - low > 1 {
                    let middle = usize::midpoint(low, high);
                    let p_middle = below(middle);
                    if p_middle <= *p {
                        (low, p_low) = (middle, p_middle);
                    } else {
                        (high, p_high) = (middle, p_middle);
                    }
                }
                let share = if p_high > p_low {
                    ((p - p_low) / (p_high - p_low)).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                scale.damage((low as f64 + share) * CELL)
            })
            .collect()
    }

    /// What would be known if this were seen now. A look that cannot be is left out.
    #[must_use]
    pub fn given(&self, seen: &Observation) -> Posterior {
        let mut rows = self.outlook.rows.clone();
        let of = &self.outlook;
        multiply_rows(
            rows.iter_mut().map(|r| &mut r.row),
            seen,
            of.scale,
            &of.ladder.likelihoods,
        );
        rows.iter_mut().for_each(|r| r.total = r.row.total());
        if (rows.iter().zip(&self.counts)).map(|(r, c)| c * r.total).sum::<f64>() < 1e-250 {
            return self.clone();
        }
        let kept = (Arc::clone(&of.ladder), Arc::clone(&of.shape));
        let outlook = Outlook::new(of.scale, of.grid, kept, of.straight, rows, &[1.0; CELLS]);
        Posterior::weighed(Arc::new(outlook), Arc::clone(&self.humps))
    }

    /// How likely this would be seen now: a probability for a grade or an answer, a density for a reading.
    #[must_use]
    pub fn chance_of(&self, seen: &Observation) -> f64 {
        self.answers_given(seen, &[]).0
    }
}

fn log_variance(grid: &RateGrid, weights: &[f64]) -> f64 {
    let total: f64 = weights.iter().sum::<f64>().max(1e-300);
    let mean = weights.iter().zip(grid.logs()).map(|(w, l)| w * l).sum::<f64>() / total;
    weights
        .iter()
        .zip(grid.logs())
        .map(|(w, l)| w * (l - mean).powi(2))
        .sum::<f64>()
        / total
}
