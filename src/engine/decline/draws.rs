//! Draws from a posterior, for ranks and their uncertainty.

use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::kernels::{CELL, CELLS, Ladder, Place};
use super::levels::{chance, let_go_at};
use super::outlook::{Ask, RateRow};
use super::posterior::Posterior;

impl Posterior {
    /// `n` equally likely parts as they may be, and what would be answered of each: a list of `n` answers for each question.
    ///
    /// The parts are taken at even steps of the distribution, rate by rate and within a rate by damage, and listed in that
    /// order; [`dealt`] mixes them.
    #[must_use]
    pub fn drawn(&self, n: usize, asks: &[Ask]) -> Vec<Vec<f64>> {
        let mut columns: Vec<Vec<f64>> = asks.iter().map(|_| Vec::with_capacity(n)).collect();
        let weights = || self.outlook.rows.iter().zip(&self.counts);
        let all: f64 = weights().map(|(row, count)| row.total * count).sum();
        let step = all / n.max(1) as f64;
        let mut next = 0.5 * step;
        let mut sum = 0.0;
        let mut left = n;
        let mut picks: Vec<usize> = Vec::new();
        let mut table: Vec<f64> = Vec::new();
        for (row, count) in weights() {
            let after = sum + row.total * count;
            if after <= next {
                sum = after;
                continue;
            }
            picks.clear();
            for (cell, mass) in (row.row.first..).zip(&row.row.cells) {
                sum += mass * count;
                while next < sum && left > 0 {
                    picks.push(cell);
                    next += step;
                    left -= 1;
                }
            }
            let (Some(low), Some(high)) = (picks.first().copied(), picks.last().copied()) else {
                continue;
            };
            for (column, ask) in columns.iter_mut().zip(asks) {
                self.over_cells(row, ask, low, high, &mut table);
                column.extend(picks.iter().map(|cell| table.get(cell - low).copied().unwrap_or(1.0)));
            }
        }
        // Rounding may leave the very last ones over; they are like the last that was drawn.
        for column in &mut columns {
            let last = column.last().copied().unwrap_or(0.0);
            column.resize(n, last);
        }
        columns
    }

    /// The answers from one cell of a row to another.
    fn over_cells(&self, row: &RateRow, ask: &Ask, low: usize, high: usize, table: &mut Vec<f64>) {
        table.clear();
        let outlook = &self.outlook;
        let log_rate = outlook.grid.log(row.rate);
        let ladder = &outlook.ladder;
        match ask {
            Ask::Past { damage, ahead } => {
                let level = (outlook.scale.y(*damage) / CELL).min((CELLS - 1) as f64);
                let up = if *ahead > 0.0 { *ahead } else { 0.0 };
                if outlook.straight || up == 0.0 {
                    let level = level - (row.row.shift + log_rate.exp() * up) / CELL;
                    table.extend((low..=high).map(|cell| ((cell + 1) as f64 - level).clamp(0.0, 1.0)));
                    return;
                }
                let place = ladder.place(log_rate + up.ln());
                let (whole, part) = (level.max(0.0).floor(), level.max(0.0).fract());
                let start = (CELLS + low).saturating_sub(whole as usize);
                passing(ladder, place, start, high - low + 1, table);
                if part >= 1e-6 {
                    let mut farther = Vec::with_capacity(table.len());
                    passing(ladder, place, start.saturating_sub(1), table.len(), &mut farther);
                    for (near, far) in table.iter_mut().zip(farther) {
                        *near = (1.0 - part) * *near + part * far;
                    }
                }
            }
            Ask::Fails { level, ahead } => {
                if ahead.is_nan() || *ahead <= 0.0 {
                    table.resize(high - low + 1, 0.0);
                    return;
                }
                if outlook.straight {
                    let up = (log_rate + ahead.ln()).exp();
                    let f = |y: f64| let_go_at(level, outlook.scale.damage(y));
                    table.extend((low..=high).map(|cell| {
                        let y = (cell as f64 + 0.5) * CELL + row.row.shift;
                        chance(f(y + up) - f(y), f(y))
                    }));
                    return;
                }
                let chances = ladder.level(level, &outlook.scale);
                let (from, to) = chances.entries.needed(low, high);
                let of = |list: &[f64]| list.get(from..to).unwrap_or(&[]).to_vec();
                let mut entries = Vec::new();
                match ladder.place(log_rate + ahead.ln()) {
                    Place::Below(share) => entries.extend(of(chances.after(0, ladder)).iter().map(|p| p * share)),
                    Place::Between(rung, share) => {
                        let (a, b) = (of(chances.after(rung, ladder)), of(chances.after(rung + 1, ladder)));
                        entries.extend(a.iter().zip(&b).map(|(a, b)| (1.0 - share) * a + share * b));
                    }
                    Place::Above => entries.extend(of(chances.at_end())),
                }
                let cells = low..=high;
                table.extend(cells.map(|cell| chances.entries.at(&entries, from, cell).clamp(0.0, 1.0)));
            }
        }
    }
}

/// Chances of passing a level from cells one after the other, `start` being the first in the list of a growth.
fn passing(ladder: &Ladder, place: Place, start: usize, count: usize, into: &mut Vec<f64>) {
    let cells = start.min(CELLS)..(start + count).min(CELLS);
    match place {
        Place::Below(share) => {
            let growth = ladder.growth(0);
            into.extend(cells.map(|i| share * growth.passing(i)));
        }
        Place::Between(rung, share) => {
            let (a, b) = (ladder.growth(rung), ladder.growth(rung + 1));
            into.extend(cells.map(|i| (1.0 - share) * a.passing(i) + share * b.passing(i)));
        }
        Place::Above => {}
    }
    into.resize(count, 1.0);
}

/// The numbers below `n` in an order that the seed decides.
#[must_use]
pub fn dealt(n: u32, seed: u64) -> Vec<u32> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut order: Vec<u32> = (0..n).collect();
    for last in (1..order.len()).rev() {
        // The upper half of a product: even to one part in four billion.
        let other = (u64::from(random.next_u32()) * (last as u64 + 1)) >> 32;
        order.swap(last, usize::try_from(other).unwrap_or(last));
    }
    order
}
