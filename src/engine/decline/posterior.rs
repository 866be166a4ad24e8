//! What the looks say of a check now, and what follows for any later day.

use std::sync::Arc;

use super::filter::multiply_rows;
use super::kernels::{CELL, CELLS, Ladder, Place, chance};
use super::look::Observation;
use super::normal::dot;
use super::prior::RateGrid;
use super::quantile::{from_cells, from_points, root_of_rising};
use super::rows::Row;
use super::scale::Scale;
use crate::rubric::LetsGo;

/// Rows lighter than this share of everything are left out.
const LIGHT: f64 = 1e-9;
/// Clock units beyond which nothing is foretold.
const HORIZON: f64 = 512.0;

/// Mass over y at one rate.
#[derive(Debug, Clone)]
pub(super) struct RateRow {
    /// Index of the rate.
    pub(super) rate: usize,
    /// The mass.
    pub(super) row: Row,
    /// The share of it that is quickened.
    pub(super) quick: f64,
}

/// What is known of a check now: the joint distribution of its rate and its damage.
///
/// Nothing after now is learned from: [`past`](Posterior::past) and the others ask what the part will do by itself.
#[derive(Debug, Clone)]
pub struct Posterior {
    pub(super) scale: Scale,
    pub(super) grid: RateGrid,
    pub(super) ladder: Arc<Ladder>,
    pub(super) straight: bool,
    pub(super) rows: Vec<RateRow>,
    marginal: Vec<f64>,
    rates: Vec<f64>,
    prior_variance: f64,
}

impl Posterior {
    pub(super) fn new(
        scale: Scale,
        grid: RateGrid,
        ladder: Arc<Ladder>,
        straight: bool,
        rows: Vec<RateRow>,
        before: &[f64],
    ) -> Posterior {
        let prior_variance = log_variance(&grid, before);
        Posterior::from_rows(scale, grid, ladder, straight, rows, prior_variance)
    }

    fn from_rows(
        scale: Scale,
        grid: RateGrid,
        ladder: Arc<Ladder>,
        straight: bool,
        mut rows: Vec<RateRow>,
        prior_variance: f64,
    ) -> Posterior {
        let all: f64 = rows.iter().map(|r| r.row.total()).sum();
        rows.retain(|r| r.row.total() > LIGHT * all);
        for row in &mut rows {
            let total = row.row.total();
            row.row.trim(1e-11 * total);
        }
        let kept: f64 = rows.iter().map(|r| r.row.total()).sum::<f64>().max(1e-300);
        let mut marginal = vec![0.0; CELLS];
        let mut rates = vec![0.0; grid.count];
        for row in &mut rows {
            row.row.cells.iter_mut().for_each(|m| *m /= kept);
            row.row.cells.shrink_to_fit();
            row.row.for_each_cell(|i, mass| marginal[i] += mass);
            if let Some(rate) = rates.get_mut(row.rate) {
                *rate += row.row.total();
            }
        }
        Posterior {
            scale,
            grid,
            ladder,
            straight,
            rows,
            marginal,
            rates,
            prior_variance,
        }
    }

    /// The p point of the damage now.
    #[must_use]
    pub fn damage(&self, p: f64) -> f64 {
        self.scale.damage(from_cells(&self.marginal, CELL, p))
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
        let at = |i: usize, shift: f64| of(self.scale.damage((i as f64 + 0.5) * CELL + shift));
        if !self.straight {
            return self.marginal.iter().enumerate().map(|(i, m)| m * at(i, 0.0)).sum();
        }
        let of_row = |row: &Row| -> f64 {
            row.cells
                .iter()
                .enumerate()
                .map(|(i, m)| m * at(i + row.first, row.shift))
                .sum()
        };
        self.rows.iter().map(|row| of_row(&row.row)).sum()
    }

    /// The p point of the rate: growth of y in a unit of clock.
    #[must_use]
    pub fn rate(&self, p: f64) -> f64 {
        from_points(&self.rates, self.grid.first, self.grid.step, p).exp()
    }

    /// Mean rate: growth of y in a unit of clock.
    #[must_use]
    pub fn rate_mean(&self) -> f64 {
        self.rates
            .iter()
            .zip(self.grid.logs())
            .map(|(w, log)| w * log.exp())
            .sum()
    }

    /// Probability that it has quickened.
    #[must_use]
    pub fn quickened(&self) -> f64 {
        self.rows
            .iter()
            .map(|r| r.quick * r.row.total())
            .sum::<f64>()
            .clamp(0.0, 1.0)
    }

    /// What the pace rests on: 1 − Var(log R | looks)/Var(log R), from 0, the rubric's usual life, to 1, its own looks.
    #[must_use]
    pub fn rests_on_looks(&self) -> f64 {
        (1.0 - log_variance(&self.grid, &self.rates) / self.prior_variance.max(1e-12)).clamp(0.0, 1.0)
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

    /// P(damage ≥ `damage` after `ahead` clock units).
    #[must_use]
    pub fn past(&self, damage: f64, ahead: f64) -> f64 {
        let level = self.scale.y(damage) / CELL;
        if level.is_nan() || level <= 0.0 {
            return 1.0;
        }
        self.past_level(level, ahead).clamp(0.0, 1.0)
    }

    /// P(y / cell ≥ level after `ahead`).
    fn past_level(&self, level: f64, ahead: f64) -> f64 {
        // The last cell takes everything beyond, so nothing can be said of levels inside it.
        let level = level.min((CELLS - 1) as f64);
        let moving = ahead > 0.0;
        let log_ahead = if moving { ahead.ln() } else { f64::NEG_INFINITY };
        let nearest = level.round();
        let whole = if (level - nearest).abs() < 1e-6 {
            nearest
        } else {
            level.floor()
        };
        let share = (level - whole).max(0.0);
        let whole = whole as usize;
        let mut sum = 0.0;
        for row in &self.rows {
            let log_mean = self.grid.log(row.rate) + log_ahead;
            if self.straight {
                let up = if moving { log_mean.exp() } else { 0.0 };
                sum += row_past(&row.row, level - (row.row.shift + up) / CELL);
                continue;
            }
            let place = if moving {
                self.ladder.place(log_mean)
            } else {
                Place::Below(0.0)
            };
            sum += (1.0 - share) * self.row_passes(&row.row, whole, place);
            if share > 0.0 {
                sum += share * self.row_passes(&row.row, whole + 1, place);
            }
        }
        sum
    }

    /// Mass of a row that is at or past the lower edge of cell `level` after a growth.
    fn row_passes(&self, row: &Row, level: usize, place: Place) -> f64 {
        let split = level.saturating_sub(row.first).min(row.cells.len());
        let (under, over) = row.cells.split_at(split);
        let over: f64 = over.iter().sum();
        let passing = |rung: usize| {
            let chances = &self.ladder.growth(rung).passing;
            let from = (CELLS + row.first).saturating_sub(level);
            chances.get(from..).map_or(0.0, |chances| dot(under, chances))
        };
        over + match place {
            Place::Below(share) if share <= 0.0 => 0.0,
            Place::Below(share) => share * passing(0),
            Place::Between(rung, share) => (1.0 - share) * passing(rung) + share * passing(rung + 1),
            Place::Above => under.iter().sum(),
        }
    }

    /// Probability that a part which holds now has let go after `ahead` clock units: the average of
    /// (F(d') − F(d))/(1 − F(d)), F the distribution function of the damage at which it lets go.
    #[must_use]
    pub fn fails(&self, level: &LetsGo, ahead: f64) -> f64 {
        if ahead.is_nan() || ahead <= 0.0 {
            return 0.0;
        }
        let chances = self.ladder.level(level, &self.scale);
        let log_ahead = ahead.ln();
        let mut sum = 0.0;
        for row in &self.rows {
            let log_mean = self.grid.log(row.rate) + log_ahead;
            let weighted = |table: &[f64]| dot(&row.row.cells, table.get(row.row.first..).unwrap_or(&[]));
            if self.straight {
                let (now, then) = (row.row.shift / CELL, (row.row.shift + log_mean.exp()) / CELL);
                for (i, mass) in row.row.cells.iter().enumerate() {
                    let i = (i + row.row.first) as f64;
                    let (f, later) = (
                        between_cells(&chances.let_go, i + now),
                        between_cells(&chances.let_go, i + then),
                    );
                    sum += mass * chance(later - f, f);
                }
                continue;
            }
            sum += match self.ladder.place(log_mean) {
                Place::Below(share) => share * weighted(chances.after(0, &self.ladder)),
                Place::Between(rung, share) => {
                    (1.0 - share) * weighted(chances.after(rung, &self.ladder))
                        + share * weighted(chances.after(rung + 1, &self.ladder))
                }
                Place::Above => weighted(chances.at_end()),
            };
        }
        sum.clamp(0.0, 1.0)
    }

    /// Clock units until P(past `damage`) reaches `p`: 0 if it has, `None` beyond 512.
    #[must_use]
    pub fn until(&self, damage: f64, p: f64) -> Option<f64> {
        if self.past(damage, 0.0) >= p {
            return Some(0.0);
        }
        let (mut low, mut high) = (0.0, 1.0);
        while self.past(damage, high) < p {
            low = high;
            high *= 2.0;
            if high > HORIZON {
                return None;
            }
        }
        Some(root_of_rising(|ahead| self.past(damage, ahead) - p, low, high, 1e-4))
    }

    /// These points of the damage after `ahead` clock units.
    #[must_use]
    pub fn damage_ahead(&self, ahead: f64, ps: &[f64]) -> Vec<f64> {
        if ahead.is_nan() || ahead <= 0.0 {
            return ps.iter().map(|p| self.damage(*p)).collect();
        }
        let below = |level: usize| 1.0 - self.past_level(level as f64, ahead);
        ps.iter()
            .map(|p| {
                let (mut low, mut high) = (0usize, CELLS - 1);
                let (mut p_low, mut p_high) = (0.0, below(CELLS - 1));
                if *p >= p_high {
                    return self.scale.damage((CELLS - 1) as f64 * CELL);
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
                self.scale.damage((low as f64 + share) * CELL)
            })
            .collect()
    }

    /// What would be known if this were seen now. A look that cannot be is left out.
    #[must_use]
    pub fn given(&self, seen: &Observation) -> Posterior {
        let mut rows = self.rows.clone();
        multiply_rows(rows.iter_mut().map(|r| &mut r.row), seen, self.scale);
        if rows.iter().map(|r| r.row.total()).sum::<f64>() < 1e-250 {
            return self.clone();
        }
        Posterior::from_rows(
            self.scale,
            self.grid,
            Arc::clone(&self.ladder),
            self.straight,
            rows,
            self.prior_variance,
        )
    }

    /// How likely this would be seen now: a probability for a grade or an answer, a density for a reading.
    #[must_use]
    pub fn chance_of(&self, seen: &Observation) -> f64 {
        let mut rows = self.rows.clone();
        multiply_rows(rows.iter_mut().map(|r| &mut r.row), seen, self.scale);
        rows.iter().map(|r| r.row.total()).sum()
    }
}

/// Mass of a row of filled cells at or above a level, in cells; the last cell counts whole.
fn row_past(row: &Row, level: f64) -> f64 {
    row.cells
        .iter()
        .enumerate()
        .map(|(i, mass)| mass * ((i + row.first + 1) as f64 - level).clamp(0.0, 1.0))
        .sum()
}

/// A table over cells, straight between their middles.
fn between_cells(table: &[f64], place: f64) -> f64 {
    let place = place.clamp(0.0, (CELLS - 1) as f64);
    let cell = place.floor();
    let share = place - cell;
    let at = |i: usize| table.get(i.min(CELLS - 1)).copied().unwrap_or(1.0);
    at(cell as usize) * (1.0 - share) + at(cell as usize + 1) * share
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
