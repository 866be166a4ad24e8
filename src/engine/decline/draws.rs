//! Draws from a posterior, for ranks and their uncertainty.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::kernels::{CELL, CELLS, Place};
use super::levels::{chance, let_go_at};
use super::outlook::{Ask, RateRow};
use super::posterior::Posterior;

impl Posterior {
    /// `n` equally likely parts as they may be, and what would be answered of each: a list of `n` answers for each question.
    ///
    /// The parts are taken at even steps of the distribution, rate by rate and within a rate by damage, and dealt out in an
    /// order that the seed alone decides: the same seed gives the same order whatever is known of the part.
    #[must_use]
    pub fn drawn(&self, n: usize, seed: u64, asks: &[Ask]) -> Vec<Vec<f64>> {
        let order = dealt(n, seed);
        let mut columns = vec![vec![0.0; n]; asks.len()];
        let all: f64 = (self.outlook.rows.iter().zip(&self.counts))
            .map(|(row, count)| row.total * count)
            .sum();
        let step = all / n.max(1) as f64;
        let mut next = 0usize;
        let mut sum = 0.0;
        let mut values = vec![0.0; asks.len()];
        for (row, count) in self.outlook.rows.iter().zip(&self.counts) {
            let weight = row.total * count;
            if sum + weight <= (next as f64 + 0.5) * step {
                sum += weight;
                continue;
            }
            let tables: Vec<Table> = asks.iter().map(|ask| self.table(row, ask)).collect();
            for (nth, mass) in row.row.cells.iter().enumerate() {
                sum += mass * count;
                if sum <= (next as f64 + 0.5) * step {
                    continue;
                }
                for (value, table) in values.iter_mut().zip(&tables) {
                    *value = table.at(row.row.first + nth);
                }
                while next < n && (next as f64 + 0.5) * step < sum {
                    let Some(place) = order.get(next) else { break };
                    for (column, value) in columns.iter_mut().zip(&values) {
                        if let Some(slot) = column.get_mut(*place) {
                            *slot = *value;
                        }
                    }
                    next += 1;
                }
            }
        }
        // Rounding may leave the very last ones over; they are like the last that was drawn.
        for place in order.iter().skip(next) {
            for (column, value) in columns.iter_mut().zip(&values) {
                if let Some(slot) = column.get_mut(*place) {
                    *slot = *value;
                }
            }
        }
        columns
    }

    /// The answers over the cells of a row.
    fn table(&self, row: &RateRow, ask: &Ask) -> Table {
        let outlook = &self.outlook;
        let log_mean = |ahead: f64| outlook.grid.log(row.rate) + ahead.ln();
        match ask {
            Ask::Past { damage, ahead } => {
                let level = (outlook.scale.y(*damage) / CELL).min((CELLS - 1) as f64);
                let up = if *ahead > 0.0 { *ahead } else { 0.0 };
                if outlook.straight || up == 0.0 {
                    let moved = (row.row.shift + outlook.grid.log(row.rate).exp() * up) / CELL;
                    return Table::Step(level - moved);
                }
                let ladder = &outlook.ladder;
                let passing = |rung: usize| ladder.growth(rung).passing.as_slice();
                // The chance from a cell `level − cell` under the level, at the end of the list.
                let mixed = |low: &[f64], high: &[f64], share: f64| {
                    low.iter().zip(high).map(|(a, b)| a * (1.0 - share) + b * share).collect()
                };
                let chances: Vec<f64> = match ladder.place(log_mean(up)) {
                    Place::Below(share) => passing(0).iter().map(|p| p * share).collect(),
                    Place::Between(rung, share) => mixed(passing(rung), passing(rung + 1), share),
                    Place::Above => vec![1.0; CELLS + 1],
                };
                Table::Passing { level, chances }
            }
            Ask::Fails { level, ahead } => {
                if ahead.is_nan() || *ahead <= 0.0 {
                    return Table::Step(f64::INFINITY);
                }
                if outlook.straight {
                    let up = log_mean(*ahead).exp();
                    let f = |y: f64| let_go_at(level, outlook.scale.damage(y));
                    let cells = (0..CELLS).map(|i| {
                        let y = (i as f64 + 0.5) * CELL + row.row.shift;
                        chance(f(y + up) - f(y), f(y))
                    });
                    return Table::Plain(cells.collect());
                }
                let ladder = &outlook.ladder;
                let chances = ladder.level(level, &outlook.scale);
                let after = |rung: usize| chances.after(rung, ladder);
                let entries: Vec<f64> = match ladder.place(log_mean(*ahead)) {
                    Place::Below(share) => after(0).iter().map(|p| p * share).collect(),
                    Place::Between(rung, share) => (after(rung).iter().zip(after(rung + 1)))
                        .map(|(a, b)| a * (1.0 - share) + b * share)
                        .collect(),
                    Place::Above => chances.at_end().to_vec(),
                };
                Table::Entries(chances.entries, entries)
            }
        }
    }
}

/// Answers over cells.
enum Table {
    /// 1 from this level in cells on, straight within a cell.
    Step(f64),
    /// Chances of passing a level, in cells, at the end of the list.
    Passing { level: f64, chances: Vec<f64> },
    Entries(super::levels::Entries, Vec<f64>),
    Plain(Vec<f64>),
}

impl Table {
    fn at(&self, cell: usize) -> f64 {
        match self {
            Table::Step(level) => ((cell + 1) as f64 - level).clamp(0.0, 1.0),
            Table::Passing { level, chances } => {
                let whole = level.floor();
                let share = level - whole;
                let at = |level: usize| {
                    if cell >= level {
                        return 1.0;
                    }
                    chances.get(CELLS + cell - level).copied().unwrap_or(0.0)
                };
                let whole = whole.max(0.0) as usize;
                (1.0 - share) * at(whole) + if share > 0.0 { share * at(whole + 1) } else { 0.0 }
            }
            Table::Entries(entries, table) => entries.at(table, cell).clamp(0.0, 1.0),
            Table::Plain(table) => table.get(cell).copied().unwrap_or(1.0),
        }
    }
}

/// The numbers below `n` in an order that the seed decides.
fn dealt(n: usize, seed: u64) -> Vec<usize> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut order: Vec<usize> = (0..n).collect();
    for last in (1..order.len()).rev() {
        order.swap(last, random.random_range(0..=last));
    }
    order
}
