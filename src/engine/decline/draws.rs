//! Draws from a posterior, for ranks and their uncertainty.

use std::sync::Arc;

use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::kernels::{CELL, CELLS, Ladder, Place};
use super::levels::{LevelAhead, chance, let_go_at};
use super::outlook::{Ask, Outlook, RateRow};
use super::posterior::Posterior;
use crate::rubric::LetsGo;

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
        let asked: Vec<Asked> = asks.iter().map(|ask| Asked::new(self, ask)).collect();
        let mut picks: Vec<Pick> = Vec::new();
        for (row, count) in weights() {
            let after = sum + row.total * count;
            if after <= next {
                sum = after;
                continue;
            }
            picks.clear();
            for (cell, mass) in (row.row.first..).zip(&row.row.cells) {
                sum += mass * count;
                let before = left;
                while next < sum && left > 0 {
                    next += step;
                    left -= 1;
                }
                if left < before {
                    picks.push(Pick {
                        cell,
                        times: before - left,
                    });
                }
            }
            let mut place: Option<(f64, Place)> = None;
            for (column, ask) in columns.iter_mut().zip(&asked) {
                let log_mean = self.outlook.grid.log(row.rate) + ask.log_ahead;
                // The days come again with the next level.
                let place = match place {
                    Some((of, known)) if of == log_mean => known,
                    _ => place.insert((log_mean, self.outlook.ladder.place(log_mean))).1,
                };
                self.picked(row, ask, (log_mean, place), &picks, column);
            }
        }
        // Rounding may leave the very last ones over; they are like the last that was drawn.
        for column in &mut columns {
            let last = column.last().copied().unwrap_or(0.0);
            column.resize(n, last);
        }
        columns
    }

    /// The answers of the cells picked of a row.
    fn picked(&self, row: &RateRow, ask: &Asked, growth: (f64, Place), picks: &[Pick], column: &mut Vec<f64>) {
        let Outlook { ladder, scale, .. } = &*self.outlook;
        let mut answer = |of: &dyn Fn(usize) -> f64| {
            for pick in picks {
                let answer = of(pick.cell);
                column.extend(std::iter::repeat_n(answer, pick.times));
            }
        };
        let (Some(first), Some(last)) = (picks.first(), picks.last()) else {
            return;
        };
        let (low, count) = (first.cell, last.cell - first.cell + 1);
        let (log_mean, place) = growth;
        match &ask.what {
            What::Nothing => answer(&|_| 0.0),
            What::Past { level, moving } if self.outlook.straight || !moving => {
                let up = if *moving { log_mean.exp() } else { 0.0 };
                let level = level - (row.row.shift + up) / CELL;
                answer(&|cell| ((cell + 1) as f64 - level).clamp(0.0, 1.0));
            }
            What::Past { level, .. } => {
                let (whole, part) = (level.max(0.0).floor(), level.max(0.0).fract());
                let start = (CELLS + low).saturating_sub(whole as usize);
                let mut table = passing(ladder, place, start, count);
                if part >= 1e-6 {
                    let farther = passing(ladder, place, start.saturating_sub(1), count);
                    for (near, far) in table.iter_mut().zip(farther) {
                        *near = (1.0 - part) * *near + part * far;
                    }
                }
                answer(&|cell| table.get(cell - low).copied().unwrap_or(1.0));
            }
            What::Fails { level, .. } if self.outlook.straight => {
                let up = log_mean.exp();
                let f = |y: f64| let_go_at(level, scale.damage(y));
                answer(&|cell| {
                    let y = (cell as f64 + 0.5) * CELL + row.row.shift;
                    chance(f(y + up) - f(y), f(y))
                });
            }
            What::Fails { chances, .. } => {
                let entries = chances.entries;
                let (from, to) = entries.needed(low, low + count - 1);
                let part = |table: &[f64]| table.get(from..to).unwrap_or(&[]).to_vec();
                let table = match place {
                    Place::Below(share) => {
                        let mut table = part(chances.after(0, ladder));
                        table.iter_mut().for_each(|p| *p *= share);
                        table
                    }
                    Place::Between(rung, share) => {
                        let mut table = part(chances.after(rung, ladder));
                        let next = chances.after(rung + 1, ladder).get(from..to).unwrap_or(&[]);
                        for (p, next) in table.iter_mut().zip(next) {
                            *p = (1.0 - share) * *p + share * next;
                        }
                        table
                    }
                    Place::Above => part(chances.at_end()),
                };
                answer(&|cell| entries.at(&table, from, cell).clamp(0.0, 1.0));
            }
        }
    }
}

/// A cell of a row, and how many of the parts drawn are in it.
struct Pick {
    cell: usize,
    times: usize,
}

/// A question, ready to be asked of row after row.
struct Asked {
    log_ahead: f64,
    what: What,
}

enum What {
    /// Nothing can have let go in no time.
    Nothing,
    Past {
        /// In cells.
        level: f64,
        moving: bool,
    },
    Fails {
        level: LetsGo,
        chances: Arc<LevelAhead>,
    },
}

impl Asked {
    fn new(of: &Posterior, ask: &Ask) -> Asked {
        let Outlook { scale, ladder, .. } = &*of.outlook;
        let (ahead, what) = match ask {
            Ask::Past { damage, ahead } => {
                let level = (scale.y(*damage) / CELL).min((CELLS - 1) as f64);
                let moving = *ahead > 0.0;
                (ahead, What::Past { level, moving })
            }
            Ask::Fails { ahead, .. } if ahead.is_nan() || *ahead <= 0.0 => (ahead, What::Nothing),
            Ask::Fails { level, ahead } => {
                let chances = ladder.level(level, scale);
                (ahead, What::Fails { level: *level, chances })
            }
        };
        let log_ahead = if *ahead > 0.0 { ahead.ln() } else { f64::NEG_INFINITY };
        Asked { log_ahead, what }
    }
}

/// The chances of moving at least CELLS − i cells, for so many i from `start` on.
fn passing(ladder: &Ladder, place: Place, start: usize, count: usize) -> Vec<f64> {
    let inside = CELLS.saturating_sub(start).min(count);
    let mut table = Vec::with_capacity(count);
    table.resize(inside, 0.0);
    match place {
        Place::Below(share) => ladder.growth(0).add_passing(share, start, &mut table),
        Place::Between(rung, share) => {
            ladder.growth(rung).add_passing(1.0 - share, start, &mut table);
            ladder.growth(rung + 1).add_passing(share, start, &mut table);
        }
        Place::Above => table.fill(1.0),
    }
    table.resize(count, 1.0);
    table
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
