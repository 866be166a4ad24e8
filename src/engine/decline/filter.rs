//! The filter: mass over (log rate, y), moved by the clock and multiplied by looks.

use std::sync::Arc;

use super::kernels::{CELL, CELLS, Kernels, Ladder};
use super::levels::let_go;
use super::likelihoods::LikelihoodTable;
use super::look::Observation;
use super::normal::{between, density};
use super::outlook::{Hump, Outlook, RateRow};
use super::posterior::Posterior;
use super::prior::{CarFactor, Prior, RateGrid, Shape};
use super::rows::{Mover, Row, add};
use super::scale::{Scale, TOP};
use super::wide::{dot, multiply};
use crate::rubric::LetsGo;

/// Where a path starts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Start {
    /// Fitted new: y = 0, this many clock units before the first look (or before now, if never looked at).
    ///
    /// If it has quickened, that time ran at an ordinary rate of its own.
    New {
        /// Clock units since it was fitted.
        elapsed: f64,
    },
    /// Age unknown: flat on \[0, 1\], falling as exp(−(y − 1)/0.25) beyond.
    Unknown,
    /// Somebody's belief: normal, cut at 0.
    Belief {
        /// Mean damage.
        mean: f64,
        /// Its standard deviation.
        sd: f64,
    },
    /// Exactly this damage: what a treatment resets to.
    At {
        /// The damage.
        damage: f64,
    },
}

/// Below this κ the path is a straight line.
const STRAIGHT: f64 = 1e-4;
/// A rate that weighs less than this share of the heaviest, whatever the car's pace, is given up.
const NEGLIGIBLE: f64 = 1e-11;
/// What a look is worth that nothing before it can explain.
const IMPOSSIBLE: f64 = 1e-250;

/// A check's history so far: for each rate the mass of paths over y, before the prior of the rate is applied.
///
/// The prior comes in only where something is read, so that one filter serves every pace factor of the car: a factor A
/// turns the rate R into R·A, which shifts the prior of log R by ln A.
/// With [`Start::New`] the earlier life of a quickened part goes at the rubric's ordinary pace whatever the factor.
#[derive(Debug)]
pub struct Filter {
    prior: Prior,
    scale: Scale,
    grid: RateGrid,
    shape: Arc<Shape>,
    ladder: Arc<Ladder>,
    /// While set all mass is at this y, as the single cell of each row.
    point: Option<f64>,
    /// One for each rate, or a single one that is that of all as long as nothing has grown.
    ordinary: Vec<Row>,
    /// Rows of quickened parts, where their start differs.
    quickened: Option<Vec<Row>>,
    log_scale: f64,
    mover: Mover,
}

impl Clone for Filter {
    fn clone(&self) -> Filter {
        Filter {
            prior: self.prior,
            scale: self.scale,
            grid: self.grid,
            shape: Arc::clone(&self.shape),
            ladder: Arc::clone(&self.ladder),
            point: self.point,
            ordinary: self.ordinary.clone(),
            quickened: self.quickened.clone(),
            log_scale: self.log_scale,
            mover: Mover::new(),
        }
    }
}

impl Filter {
    /// A path that starts so, not looked at yet.
    ///
    /// Numbers outside what makes sense are brought to the nearest that does; one that is not a number counts as usual.
    #[must_use]
    pub fn new(prior: &Prior, start: Start, kernels: &Kernels) -> Filter {
        let mut prior = prior.sound();
        if prior.jumpiness < STRAIGHT {
            prior.jumpiness = 0.0;
        }
        let scale = Scale::new(prior.quickening);
        let shape = kernels.shape(&prior);
        let grid = shape.grid(prior.life);
        let at = |y: f64| {
            let row = Row {
                cells: vec![1.0],
                ..Row::default()
            };
            (Some(y.clamp(0.0, TOP - CELL)), vec![row])
        };
        let (point, ordinary) = match start {
            Start::New { .. } => at(0.0),
            Start::At { damage } => at(if damage.is_finite() { scale.y(damage) } else { TOP }),
            Start::Unknown => (None, vec![unknown()]),
            Start::Belief { mean, sd } => (None, vec![belief(&scale, mean, sd)]),
        };
        let mut filter = Filter {
            prior,
            scale,
            grid,
            shape,
            ladder: kernels.ladder(prior.jumpiness),
            point,
            ordinary,
            quickened: None,
            log_scale: 0.0,
            mover: Mover::new(),
        };
        if let Start::New { elapsed } = start {
            filter.advance(elapsed);
            if filter.point.is_none() && prior.quickened.share > 0.0 {
                let weights = filter.shape.humps(0.0).ordinary;
                let total: f64 = weights.iter().sum();
                let mut before = vec![0.0; CELLS];
                for (row, weight) in filter.ordinary.iter().zip(&weights) {
                    row.add_to(&mut before, weight / total.max(1e-300));
                }
                let mut before = Row {
                    cells: before,
                    ..Row::default()
                };
                before.trim(1e-15);
                filter.quickened = Some(vec![before; grid.count]);
            }
        }
        filter
    }

    fn straight(&self) -> bool {
        self.prior.jumpiness == 0.0
    }

    /// The rows of ordinary parts, rate by rate.
    fn ordinary(&self) -> impl Iterator<Item = &Row> {
        let alike = self.ordinary.len() == 1;
        (0..self.grid.count).filter_map(move |rate| self.ordinary.get(if alike { 0 } else { rate }))
    }

    /// Gives back room that is not needed while it waits.
    pub(crate) fn tighten(&mut self) {
        for rows in [Some(&mut self.ordinary), self.quickened.as_mut()]
            .into_iter()
            .flatten()
        {
            rows.iter_mut().for_each(Row::tighten);
        }
        self.mover = Mover::new();
    }

    /// Lets the clock run by so many units; nothing happens unless that is more than zero.
    pub fn advance(&mut self, clock: f64) {
        if clock.is_nan() || clock <= 0.0 {
            return;
        }
        let log_clock = clock.min(1e12).ln();
        let grid = self.grid;
        let straight = self.straight();
        let point = self.point.take();
        if let [row] = &self.ordinary[..] {
            self.ordinary = vec![row.clone(); grid.count];
        }
        let (ladder, mover) = (&*self.ladder, &mut self.mover);
        for rows in [Some(&mut self.ordinary), self.quickened.as_mut()]
            .into_iter()
            .flatten()
        {
            for (i, row) in rows.iter_mut().enumerate() {
                let log_mean = grid.log(i) + log_clock;
                match (point, straight) {
                    (None, false) => mover.spread(row, ladder, ladder.place(log_mean)),
                    (None, true) => row.shift_by(log_mean.exp()),
                    (Some(y), true) => {
                        row.shift = y - 0.5 * CELL;
                        row.shift_by(log_mean.exp());
                    }
                    (Some(y), false) => {
                        let weight = row.total();
                        let edge = (y / CELL).floor();
                        let share = y / CELL - edge;
                        row.cells.clear();
                        let place = ladder.place(log_mean);
                        for (edge, share) in [(edge as usize, 1.0 - share), (edge as usize + 1, share)] {
                            if share > 1e-9 {
                                mover.spread_point(row, edge, weight * share, ladder, place);
                            }
                        }
                    }
                }
            }
        }
    }

    /// Takes a look into account, at y + `offset` (a survey graded harder is a positive offset, in y).
    ///
    /// A look that nothing before it can explain is believed all the same: the path goes on from what the look says.
    pub fn observe(&mut self, seen: &Observation, offset: f64) {
        let offset = if offset.is_finite() { offset } else { 0.0 };
        if let Some(y) = self.point {
            let likelihood = seen.likelihood(&self.scale, y + offset, y + offset);
            if likelihood > IMPOSSIBLE {
                self.log_scale += likelihood.ln();
            } else {
                self.restart(seen, offset);
            }
            return;
        }
        let table = LikelihoodTable::new(seen, self.scale, offset, &self.ladder.likelihoods);
        let shape = Arc::clone(&self.shape);
        let ceiling = &shape.ceiling;
        let total_ceiling: Vec<f64>;
        let ceilings: [&[f64]; 2] = if self.quickened.is_some() {
            [&ceiling.ordinary, &ceiling.quickened]
        } else {
            total_ceiling = ceiling
                .ordinary
                .iter()
                .zip(&ceiling.quickened)
                .map(|(n, q)| n + q)
                .collect();
            [&total_ceiling, &[]]
        };
        let kinds = [Some(&self.ordinary), self.quickened.as_ref()];
        let likelihoods = kinds.map(|rows| rows.into_iter().flatten().map(|row| table.of(row)).collect::<Vec<_>>());
        let (mut heaviest, mut most) = (0.0f64, 0.0f64);
        for ((rows, likelihoods), ceiling) in kinds.iter().zip(&likelihoods).zip(ceilings) {
            for ((row, likelihoods), ceiling) in rows.iter().copied().flatten().zip(likelihoods).zip(ceiling) {
                let total = dot(&row.cells, likelihoods);
                heaviest = heaviest.max(total);
                most = most.max(total * ceiling);
            }
        }
        if heaviest < IMPOSSIBLE {
            self.restart(seen, offset);
            return;
        }
        for ((rows, likelihoods), ceiling) in [Some(&mut self.ordinary), self.quickened.as_mut()]
            .into_iter()
            .zip(&likelihoods)
            .zip(ceilings)
        {
            let alike = rows.as_ref().is_some_and(|rows| rows.len() == 1);
            for ((row, likelihoods), ceiling) in rows.into_iter().flatten().zip(likelihoods).zip(ceiling) {
                multiply(&mut row.cells, likelihoods);
                let total = row.total();
                if !alike && total * ceiling < NEGLIGIBLE * most {
                    row.cells = Vec::new();
                    continue;
                }
                row.trim(1e-13 * total);
                row.cells.iter_mut().for_each(|m| *m /= heaviest);
                row.tighten();
            }
        }
        self.log_scale += heaviest.ln();
    }

    /// Keeps what is known of the rate and starts the path anew from what the look alone says.
    fn restart(&mut self, seen: &Observation, offset: f64) {
        let mut alone = unknown();
        LikelihoodTable::new(seen, self.scale, offset, &self.ladder.likelihoods).multiply(&mut alone);
        let total = alone.total();
        if total > IMPOSSIBLE {
            alone.cells.iter_mut().for_each(|m| *m /= total);
            alone.trim(1e-14);
        } else {
            let y = match seen {
                Observation::Reading { damage, .. } => self.scale.y(*damage) - offset,
                _ => TOP,
            };
            let first = (y / CELL).clamp(0.0, (CELLS - 1) as f64) as usize;
            alone = Row {
                first,
                cells: vec![1.0],
                shift: 0.0,
            };
        }
        self.point = None;
        for rows in [Some(&mut self.ordinary), self.quickened.as_mut()]
            .into_iter()
            .flatten()
        {
            for row in rows {
                let weight = row.total();
                row.clone_from(&alone);
                row.cells.iter_mut().for_each(|m| *m *= weight);
            }
        }
        self.log_scale += IMPOSSIBLE.ln();
    }

    /// Probability of each cell of y now (cells of 0.01 from 0; the last takes everything beyond 4).
    #[must_use]
    pub fn predictive(&self, factor: &CarFactor) -> Vec<f64> {
        let mut marginal = vec![0.0; CELLS];
        if let Some(y) = self.point {
            filled_point(y, 1.0).add_to(&mut marginal, 1.0);
            return marginal;
        }
        self.for_each_row(factor, |row, weight| row.add_to(&mut marginal, weight));
        let total: f64 = marginal.iter().sum::<f64>().max(1e-300);
        marginal.iter_mut().for_each(|m| *m /= total);
        marginal
    }

    /// Every row with its weight.
    fn for_each_row(&self, factor: &CarFactor, mut of: impl FnMut(&Row, f64)) {
        let humps = self.shape.mixed(factor);
        let weights = humps.ordinary.iter().zip(&humps.quickened);
        match &self.quickened {
            None => (self.ordinary().zip(weights)).for_each(|(row, (n, q))| of(row, n + q)),
            Some(quickened) => {
                for ((row, other), (n, q)) in self.ordinary().zip(quickened).zip(weights) {
                    of(row, *n);
                    of(other, *q);
                }
            }
        }
    }

    /// How likely this look is now: a probability for a grade or an answer, a density (per unit of damage) for a reading.
    #[must_use]
    pub fn chance_of(&self, factor: &CarFactor, seen: &Observation, offset: f64) -> f64 {
        if let Some(y) = self.point {
            return seen.likelihood(&self.scale, y + offset, y + offset);
        }
        let table = LikelihoodTable::new(seen, self.scale, offset, &self.ladder.likelihoods);
        let (mut total, mut seen_so) = (0.0, 0.0);
        self.for_each_row(factor, |row, weight| {
            total += weight * row.total();
            seen_so += weight * table.chance(row);
        });
        seen_so / f64::max(total, 1e-300)
    }

    /// [`Filter::chance_of`] at several paces of the car, each at several offsets, one after the other; from the predictive
    /// distribution over cells.
    #[must_use]
    pub fn chances_at(&self, log_factors: &[f64], seen: &Observation, offsets: &[f64]) -> Vec<f64> {
        let factors = log_factors.iter().map(|pace| CarFactor::exactly(*pace));
        if self.point.is_some() {
            return factors
                .flat_map(|factor| offsets.iter().map(move |o| self.chance_of(&factor, seen, *o)))
                .collect();
        }
        let at = |offset: &f64| self.ladder.likelihoods.of(seen, &self.scale, *offset);
        let likelihoods: Vec<Arc<[f64]>> = offsets.iter().map(at).collect();
        factors
            .flat_map(|factor| {
                let predictive = self.predictive(&factor);
                likelihoods.iter().map(move |likelihood| dot(&predictive, likelihood))
            })
            .collect()
    }

    /// ln P(all looks so far); densities for readings, per unit of damage.
    #[must_use]
    pub fn log_evidence(&self, factor: &CarFactor) -> f64 {
        let humps = self.shape.mixed(factor);
        let (n, q) = self.totals();
        (dot(&n, &humps.ordinary) + dot(&q, &humps.quickened)).max(1e-300).ln() + self.log_scale
    }

    /// What the rows of ordinary and of quickened parts weigh.
    fn totals(&self) -> (Vec<f64>, Vec<f64>) {
        let n = match &self.ordinary[..] {
            [row] => vec![row.total(); self.grid.count],
            rows => rows.iter().map(Row::total).collect(),
        };
        let totals = |rows: &Vec<Row>| rows.iter().map(Row::total).collect();
        let q = self.quickened.as_ref().map_or_else(|| n.clone(), totals);
        (n, q)
    }

    /// ln P(all looks so far | ln factor) for each of these values of ln(pace factor).
    #[must_use]
    pub fn log_likelihood_by_factor(&self, log_factors: &[f64]) -> Vec<f64> {
        let (n, q) = self.totals();
        let mut sums = self.shape.sums(log_factors, &n, &q);
        sums.iter_mut().for_each(|p| *p = p.max(1e-300).ln() + self.log_scale);
        sums
    }

    /// What is known now, weighted by the chance Π(1 − F) that a part still holds at each level it could have let go at.
    #[must_use]
    pub fn posterior(&self, factor: &CarFactor, holds: &[LetsGo]) -> Posterior {
        Arc::new(self.outlook(holds)).at_pace(factor)
    }

    /// The same before the car's pace is weighed in.
    #[must_use]
    pub fn outlook(&self, holds: &[LetsGo]) -> Outlook {
        let mut holding = vec![1.0; CELLS];
        for level in holds {
            let let_go = let_go(level, &self.scale);
            holding.iter_mut().zip(let_go).for_each(|(h, f)| *h *= 1.0 - f);
        }
        let ceiling = &self.shape.ceiling;
        let mut rows = Vec::with_capacity(2 * self.grid.count);
        let mut push = |rate: usize, row: &Row, hump: Hump, ceiling: f64| {
            let row = self.point.map_or_else(|| row.clone(), |y| filled_point(y, row.total()));
            rows.push(RateRow::new(&self.grid, rate, row, hump, ceiling));
        };
        for (rate, row) in self.ordinary().enumerate() {
            let at = |weights: &[f64]| weights.get(rate).copied().unwrap_or(0.0);
            let (n, q) = (at(&ceiling.ordinary), at(&ceiling.quickened));
            match self.quickened.as_ref().and_then(|rows| rows.get(rate)) {
                Some(other) => {
                    push(rate, row, Hump::Ordinary, n);
                    push(rate, other, Hump::Quickened, q);
                }
                None => push(rate, row, Hump::Both, n + q),
            }
        }
        Outlook::new(
            self.scale,
            self.grid,
            (Arc::clone(&self.ladder), Arc::clone(&self.shape)),
            self.straight(),
            rows,
            &holding,
        )
    }
}

/// The filled cells nearest to a point.
fn filled_point(y: f64, weight: f64) -> Row {
    let place = y / CELL - 0.5;
    let first = place.floor().max(0.0);
    let share = (place - first).max(0.0);
    let mut row = Row {
        first: first as usize,
        cells: vec![weight * (1.0 - share)],
        shift: 0.0,
    };
    add(
        &mut row,
        &Row {
            first: first as usize + 1,
            cells: vec![weight * share],
            shift: 0.0,
        },
    );
    row
}

fn unknown() -> Row {
    normalised((0..CELLS).map(|i| {
        let y = (i as f64 + 0.5) * CELL;
        if y <= 1.0 { 1.0 } else { (-(y - 1.0) / 0.25).exp() }
    }))
}

fn belief(scale: &Scale, mean: f64, sd: f64) -> Row {
    if !mean.is_finite() {
        return unknown();
    }
    let centre = scale.y(mean).min(TOP);
    let sd = if sd.is_finite() {
        (sd * scale.slope(mean)).max(0.5 * CELL)
    } else {
        TOP
    };
    normalised((0..CELLS).map(|i| {
        let z = (i as f64 * CELL - centre) / sd;
        // By the density where it is no narrower than a cell: masses would add the cell's own scatter.
        if sd >= CELL {
            density(z + 0.5 * CELL / sd)
        } else {
            between(z, z + CELL / sd)
        }
    }))
}

fn normalised(cells: impl Iterator<Item = f64>) -> Row {
    let mut row = Row {
        cells: cells.collect(),
        ..Row::default()
    };
    let total = row.total();
    if total > 0.0 {
        row.cells.iter_mut().for_each(|m| *m /= total);
        row.trim(1e-15);
    } else {
        row.cells = vec![1.0];
    }
    row
}
