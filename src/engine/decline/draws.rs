//! Draws from a posterior, for ranks and their uncertainty.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::kernels::{CELL, CELLS, Place, chance, let_go_at};
use super::posterior::Posterior;
use crate::rubric::LetsGo;

/// One part as it may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// Growth of y in a unit of clock.
    pub rate: f64,
    /// y now.
    pub y: f64,
}

impl Posterior {
    /// `n` parts as they may be; the same seed gives the same draws.
    #[must_use]
    pub fn draws(&self, n: usize, seed: u64) -> Vec<Draw> {
        let mut ends = Vec::new();
        let mut places = Vec::new();
        let mut sum = 0.0;
        for row in &self.rows {
            for (i, mass) in row.row.cells.iter().enumerate() {
                sum += mass;
                ends.push(sum);
                places.push((row.rate, (i + row.row.first) as f64 * CELL + row.row.shift));
            }
        }
        let mut random = Pcg64Mcg::seed_from_u64(seed);
        (0..n)
            .filter_map(|_| {
                let u = random.random::<f64>() * sum;
                let inside: f64 = random.random();
                let at = ends.partition_point(|end| *end < u);
                let (rate, from) = places.get(at.min(places.len().saturating_sub(1)))?;
                Some(Draw {
                    rate: self.grid.log(*rate).exp(),
                    y: (from + inside * CELL).max(0.0),
                })
            })
            .collect()
    }

    /// P(damage ≥ `damage` after `ahead` clock units) for one draw.
    #[must_use]
    pub fn past_of(&self, draw: &Draw, damage: f64, ahead: f64) -> f64 {
        let level = self.scale.y(damage).min((CELLS - 1) as f64 * CELL);
        if draw.y >= level {
            return 1.0;
        }
        if ahead.is_nan() || ahead <= 0.0 {
            return 0.0;
        }
        if self.straight {
            return if draw.y + draw.rate * ahead >= level { 1.0 } else { 0.0 };
        }
        // Whole cells between the draw and the level, from a cell filled about the draw; split over two distances.
        let distance = (level - draw.y) / CELL + 0.5;
        let (whole, share) = (distance.floor(), distance.fract());
        let passing = |rung: usize| {
            let chances = &self.ladder.growth(rung).passing;
            let at = |k: f64| chances.get(CELLS.saturating_sub(k as usize)).copied().unwrap_or(0.0);
            at(whole) * (1.0 - share) + at(whole + 1.0) * share
        };
        match self.ladder.place((draw.rate * ahead).ln()) {
            Place::Below(share) => share * passing(0),
            Place::Between(rung, share) => (1.0 - share) * passing(rung) + share * passing(rung + 1),
            Place::Above => 1.0,
        }
    }

    /// Probability that one draw, which holds now, has let go after `ahead` clock units.
    #[must_use]
    pub fn fails_of(&self, draw: &Draw, level: &LetsGo, ahead: f64) -> f64 {
        if ahead.is_nan() || ahead <= 0.0 {
            return 0.0;
        }
        if self.straight {
            let f = |y: f64| let_go_at(level, self.scale.damage(y));
            let now = f(draw.y);
            return chance(f(draw.y + draw.rate * ahead) - now, now);
        }
        let chances = self.ladder.level(level, &self.scale);
        let cell = ((draw.y / CELL) as usize).min(CELLS - 1);
        let at = |table: &[f64]| table.get(cell).copied().unwrap_or(1.0);
        match self.ladder.place((draw.rate * ahead).ln()) {
            Place::Below(share) => share * at(chances.after(0, &self.ladder)),
            Place::Between(rung, share) => {
                (1.0 - share) * at(chances.after(rung, &self.ladder))
                    + share * at(chances.after(rung + 1, &self.ladder))
            }
            Place::Above => at(chances.at_end()),
        }
    }
}
